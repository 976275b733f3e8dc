//! Stop block, key and drill guide: a box that the link stands in upright, held at rim, claws and knuckles.
//!
//! A window in front and back shows the opening, larger by the play all round; its outer face is the stop, a round number of
//! half millimetres from where the opening ends.

use super::{
    BEYOND, Bench, DUST, FLOOR, HABIT, Jig, Made, PROPOSAL, Size, Without, block, built, engraved, facing,
    judged,
};
use crate::params::Key;
use crate::parts::link::{End, LoopJoint, TubeJoint};
use crate::plan::tools::pilot;
use crate::solid::tree::{cylinder, prism, rounded_rectangle};
use crate::solid::{BuildError, Frame, Tree};
use nalgebra::{Point3, Vector3};

/// Step of the depth from the face of the block, mm.
const DEPTH_STEP: f64 = 0.5;
/// Rim of the key's head round its tongue, and the head's thickness, mm.
const HEAD: f64 = 1.5;
/// Least metal, here plastic, between a guide hole and a window, mm.
const BESIDE_WINDOW: f64 = 0.4;
/// Least guide in diameters of the drill.
const LEAST_GUIDE: f64 = 1.5;

/// A guide hole: where its axis runs, in the link's frame.
enum Axis {
    /// Along x, at this height over the middle.
    AlongX(f64),
    /// Along y, at this x and height.
    AlongY(f64, f64),
}

impl Bench<'_> {
    fn loops(&self) -> impl Iterator<Item = (f64, &LoopJoint)> {
        self.shape.ends.iter().zip([-1.0, 1.0]).filter_map(|(e, side)| match e {
            End::Loop(j) => Some((side, j)),
            _ => None,
        })
    }
    fn tubes(&self) -> impl Iterator<Item = (f64, &TubeJoint)> {
        self.shape.ends.iter().zip([-1.0, 1.0]).filter_map(|(e, side)| match e {
            End::Pair(j) | End::Middle(j) => Some((side, j)),
            _ => None,
        })
    }
    /// The guide hole's diameter and the drill's.
    fn drill(&self) -> Option<(f64, f64)> {
        let (_, take) = pilot(self.design, self.drills);
        take.map(|d| (d.get() + self.design.get(Key::JigClearance), d.get()))
    }
    fn guided(&self) -> f64 {
        self.drill().map_or(0.0, |(_, d)| d * self.design.get(Key::JigGuide))
    }
    /// Half the length of the box along x and across it, the same for stop block and drill guide.
    fn outside(&self) -> [f64; 2] {
        let pocket = self.pocket();
        let knuckle =
            self.tubes().map(|(_, j)| j.axis.get() + j.outer.get() / 2.0 + self.play).fold(pocket, f64::max);
        let guide = |hinged: bool| if hinged == self.shape.foot.is_some() { self.guided() } else { 0.0 };
        let stop = self.shape.opening.stop.get();
        let depth = pocket + self.wall.max(guide(true)) - stop;
        [
            (knuckle + self.wall).max(pocket + guide(false)),
            stop + (depth / DEPTH_STEP - DUST).ceil() * DEPTH_STEP,
        ]
    }
    /// How deep the opening ends under the face of the block.
    fn depth(&self) -> f64 {
        self.outside()[1] - self.shape.opening.stop.get()
    }
    /// The box with pocket, room for knuckles, windows, hole to push the link out, and numbers.
    fn nest(&self, front: &str) -> Tree {
        let [x, y] = self.outside();
        let (j, o) = (self.play, &self.shape.opening);
        let pocket = self.pocket();
        let top = o.top.get() + j + self.wall;
        let body = block([-x, x], [-y, y], [-FLOOR, top], "jig.side", ["jig.below", "jig.above"]);
        let pit = [0.0, top + BEYOND];
        let mut cuts =
            vec![block([-pocket, pocket], [-pocket, pocket], pit, "nest.side", ["nest.floor", "out"])];
        for (side, t) in self.tubes() {
            let (half, far) = (t.length.get() / 2.0 + j, t.axis.get() + t.outer.get() / 2.0 + j);
            let low = (t.height.get() - t.outer.get() / 2.0).min(0.0);
            let low = if low < 0.0 { low - j } else { 0.0 };
            let across = if side > 0.0 { [0.0, far] } else { [-far, 0.0] };
            cuts.push(block(across, [-half, half], [low, pit[1]], "nest.knuckle", ["nest.floor", "out"]));
        }
        let half = o.width.get() / 2.0 + j;
        let window = rounded_rectangle(
            [-half, half],
            [o.bottom.get() - j, o.top.get() + j],
            o.corner.get() + j,
            ["window.floor", "window.side", "window.roof", "window.side"],
        );
        cuts.push(prism(
            facing(1.0, Point3::new(0.0, -y - BEYOND, 0.0)),
            window,
            2.0 * (y + BEYOND),
            ["out", "out"],
        ));
        let push = Frame::at(Point3::new(0.0, 0.0, -FLOOR - BEYOND));
        let radius = self.shape.foot_radius.get() / 2.0;
        cuts.push(cylinder(push, radius, FLOOR + 2.0 * BEYOND, "push.hole", ["out", "out"]));
        cuts.extend(engraved(1.0, y, -FLOOR, front));
        cuts.extend(engraved(-1.0, y, -FLOOR, &self.stone()));
        body.minus(cuts)
    }
    fn guides(&self) -> Vec<Axis> {
        let mut out: Vec<Axis> =
            self.tubes().map(|(s, t)| Axis::AlongY(s * t.axis.get(), t.height.get())).collect();
        // As the plan has it: the pilot stands half the bore's width over the web.
        let over = |j: &LoopJoint| j.groove_depth.get() + j.web_height.get() + j.bore_width.get() / 2.0;
        out.extend(self.loops().next().map(|(_, j)| Axis::AlongX(over(j))));
        out
    }
}

/// The stop block for the openings.
///
/// # Errors
/// The kernel's refusal.
pub(crate) fn openings(b: &Bench<'_>) -> Result<Made, BuildError> {
    let depth = b.depth();
    let solid = built(&b.nest(&format!("{:.0}", depth * 10.0)))?;
    let o = &b.shape.opening;
    Ok(Ok(Jig {
        name: "jig.openings",
        title: "stop block for the openings",
        count: 1,
        solid,
        sizes: vec![
            Size::of("play", "play of the link on each surface", b.play),
            Size::of("depth", "face of the block to the end of the opening", depth),
            Size::of("window_width", "window, wide", o.width.get() + 2.0 * b.play),
            Size::of("window_height", "window, high", o.top.get() - o.bottom.get() + 2.0 * b.play),
        ],
        numbers: format!(
            "in front the depth in tenths of a millimetre, {:.0}; behind the stone, {}",
            depth * 10.0,
            b.stone()
        ),
        rules: vec![b.wall_rule()],
        how: format!(
            "Stand the link in it, before or after the claws. Scribe through the window, front and back, {:.2} inside its edges. \
             Set the collar of the bur, or the stop on the file, at {depth:.1} mm from the tip: it meets the face of the block where \
             the opening ends. The window guides the hand, not the edge: a bur cuts plastic too. Push the link out from below.",
            b.play
        ),
    }))
}

/// The key that goes into an opening.
///
/// # Errors
/// The kernel's refusal.
pub(crate) fn key(b: &Bench<'_>) -> Result<Made, BuildError> {
    let title = "key for the openings";
    let t = b.tongue();
    if let Some(why) = t.missing() {
        return Ok(Err(Without { jig: "jig.key", title, why }));
    }
    let face = b.outside()[1];
    let half = t.half + HEAD;
    let head = block(
        [-half, half],
        [face, face + HEAD],
        [t.z[0] - HEAD, t.z[1] + HEAD],
        "key.head",
        ["key.head"; 2],
    );
    let solid = built(&head.plus(vec![t.tree(0.0, 1.0, face + HEAD / 2.0)]))?;
    Ok(Ok(Jig {
        name: "jig.key",
        title,
        count: 2,
        solid,
        sizes: vec![
            Size::of("play", "play in the opening on each surface", b.play),
            Size::of("length", "from under the head to the tip", face - t.tip),
            Size::of("width", "wide", 2.0 * t.half),
            Size::of("height", "high", t.z[1] - t.z[0]),
        ],
        numbers: "none, it is too small".to_owned(),
        rules: Vec::new(),
        how: "Through a window of stop block or drill guide into the opening, until the head lies on the block. Two of them, front and \
              back, keep the link square while it is drilled. Narrow enough to pass between the claws: without claws a wide opening \
              leaves it more play sideways."
            .to_owned(),
    }))
}

/// The drill guide for the bores.
///
/// # Errors
/// The kernel's refusal.
pub(crate) fn bores(b: &Bench<'_>) -> Result<Made, BuildError> {
    let (jig, title) = ("jig.bores", "drill guide for the bores");
    let guides = b.guides();
    let why = |w: String| Ok(Err(Without { jig, title, why: w }));
    if guides.is_empty() {
        return why("the link has no joint to drill".to_owned());
    }
    let Some((hole, drill)) = b.drill() else {
        return why(format!(
            "the pilot of {:.2} mm is thinner than any drill at hand",
            pilot(b.design, b.drills).0.get()
        ));
    };
    let [x, y] = b.outside();
    let mut cuts = Vec::new();
    let mut beside = f64::MAX;
    let o = &b.shape.opening;
    for g in &guides {
        let (from, along, across, length) = match g {
            Axis::AlongX(z) => (Point3::new(-x - BEYOND, 0.0, *z), Vector3::y(), Vector3::z(), x),
            Axis::AlongY(at, z) => (Point3::new(*at, -y - BEYOND, *z), Vector3::z(), Vector3::x(), y),
        };
        if let Axis::AlongY(at, z) = g {
            let sideways = (at.abs() - o.width.get() / 2.0 - b.play).max(0.0);
            let below = (o.bottom.get() - b.play - z).max(0.0);
            beside = beside.min(libm::hypot(sideways, below) - hole / 2.0);
        }
        let frame = Frame::with_axes(from, along, across);
        cuts.push(cylinder(frame, hole / 2.0, 2.0 * (length + BEYOND), "guide", ["out", "out"]));
    }
    let hinged = b.shape.foot.is_some();
    let guided = if hinged { y } else { x } - b.pocket();
    let solid = built(&b.nest(&format!("{:.0}", drill * 100.0)).minus(cuts))?;
    let mut rules = vec![
        b.wall_rule(),
        judged("guided length of the drill", guided, LEAST_GUIDE * drill, HABIT, "jig.guide_length"),
    ];
    if beside < f64::MAX {
        rules.push(judged("between guide hole and window", beside, BESIDE_WINDOW, PROPOSAL, "jig.play"));
    }
    let mut sizes = vec![
        Size::of("play", "play of the link on each surface", b.play),
        Size::of("drill", "pilot drill", drill),
        Size::of("guide", "guide hole", hole),
        Size::of("guided", "guided length", guided),
    ];
    match guides.first() {
        Some(Axis::AlongX(z)) => {
            sizes.push(Size::of("axis_height", "axis over the underside, along the line", *z))
        }
        Some(Axis::AlongY(at, z)) => {
            sizes.push(Size::of("axis_height", "axis over the underside, across the line", *z));
            sizes.push(Size::of("axis_x", "axis from the middle of the link", at.abs()));
        }
        None => {}
    }
    let skin = b.shape.foot_radius.get()
        + guides.first().map_or(0.0, |g| match g {
            Axis::AlongX(z) => b.design.dims().taper_tan * z,
            Axis::AlongY(..) => 0.0,
        });
    let far = b.tubes().next().map_or(skin, |(_, t)| t.length.get() / 2.0);
    sizes.push(Size::of("air", "from the end of the guide to the work", b.pocket() - far));
    let where_to = if hinged {
        "For tubes that came closed or cast: drill each knuckle from its own side, then the whole row on the bench."
    } else {
        "Drill one end wall from each side, no farther than the inside of the collet; open to size on the pilot's axis."
    };
    Ok(Ok(Jig {
        name: jig,
        title,
        count: 1,
        solid,
        sizes,
        numbers: format!(
            "in front the drill in hundredths of a millimetre, {:.0}; behind the stone, {}",
            drill * 100.0,
            b.stone()
        ),
        rules,
        how: format!(
            "Stand the link in it, put a key through each window. Run the {drill:.2} drill through the guide first: printed holes close \
             up. {where_to} Oil the drill, do not force it: a guide worn oval is printed anew."
        ),
    }))
}
