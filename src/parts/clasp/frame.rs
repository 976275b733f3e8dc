//! The frame U: the collets of the clasp, cut off under their seats, on two rails, with the left lug, the front hinge's outer
//! knuckles on a cross bar, the cheeks and the tubes of the side catches. Finished, or as it is cast: with metal left on every
//! surface.

use super::kit::{bar_x, bar_y, block, named, on_side};
use super::recess::{cutters, eye};
use super::shape::{CHEEK_HALF, ClaspShape, Hang};
use super::small::profile_x;
use crate::params::{CATCH_PLAY, CHEEK_FOOT, EYE_RIM, KNUCKLE_GAP, KNUCKLE_ROOM};
use crate::parts::link::{
    Bores, DIMPLE, End, GROOVE_SHALLOW, LinkShape, PILOT_SHARE, TubeJoint, knuckle_bore, knuckles, leave,
    narrowing, pockets, tube_marks, unset,
};
use crate::solid::{Frame, Tree};
use crate::units::Mm;
use nalgebra::{Point3, Vector3};

/// How far cutters reach beyond what they cut, mm.
const BEYOND: f64 = 1.0;
/// Room of a side catch's wire in its tube, on the radius, mm.
pub(super) const CATCH_BORE: f64 = 0.025;
/// Where the rails end before the boundary of the clasp, mm.
const RAIL_FROM: f64 = 0.30;
/// Room over the plate's lug, mm.
const LUG_ROOM: f64 = 0.10;
/// Half width of the legs that carry the front knuckles, mm.
const LEG: f64 = 0.28;
/// An opening whose floor lies lower than this over the cut runs out below: the rails take the place of its sill, mm.
const SILL: f64 = 0.35;

/// What is left on the surfaces of a frame, mm; nothing on the finished one.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Left {
    /// Outside, openings, underside, mating surfaces.
    pub(super) on: [f64; 4],
    /// What else a casting has in place of the finished one's.
    pub(super) cast: Option<Casting>,
}

/// The link as cast and the state of the bores.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Casting {
    pub(super) link: LinkShape,
    pub(super) bores: Bores,
    /// What a printed hole is opened by on its diameter.
    pub(super) hole: f64,
}

impl Casting {
    /// Diameter of a bore as cast.
    pub(super) fn bore(&self, finished: f64) -> f64 {
        match self.bores {
            Bores::Open => finished,
            Bores::Pilot => finished * PILOT_SHARE + self.hole,
            Bores::Dimple => DIMPLE.0.get(),
        }
    }
}

impl Casting {
    /// Diameter of a hole through thin metal: never a mark, which a hole so short does not need.
    fn through(&self, finished: f64) -> f64 {
        if self.bores == Bores::Open { finished } else { finished * PILOT_SHARE + self.hole }
    }
}

/// The finished frame.
pub(super) fn tree(s: &ClaspShape) -> Tree {
    left(s, &Left::default())
}

/// The frame with this left on it, in the place of the finished one.
pub(super) fn left(s: &ClaspShape, left: &Left) -> Tree {
    let [o, g, u, m] = left.on;
    let station = match &left.cast {
        None => cut_off(&s.link, s).tree(),
        Some(c) => unset(&cut_off(&c.link, s)),
    };
    let stations = (0..s.count).map(|i| {
        #[allow(clippy::cast_precision_loss)]
        let x = (i as f64 + 0.5) * s.pitch;
        named(station.clone(), &format!("stone{}", i + 1)).moved(&Frame::at(Point3::new(x, 0.0, s.cut - u)))
    });
    let mut body: Vec<Tree> = stations.collect();
    let mut grooves = Vec::new();
    let (k, f) = (&s.back, &s.front);
    let leg = f.boundary + KNUCKLE_GAP.get() - m;
    let front_end = f.half + m;
    for (side, word) in [(1.0, "front"), (-1.0, "back")] {
        let n = |part: &str| format!("{part}.{word}");
        let rail = on_side(side, [s.half_width - s.rail - g, s.side() + o]);
        body.push(block(
            &n("rail"),
            [RAIL_FROM - o, s.length - RAIL_FROM + o],
            rail,
            [s.cut - u, s.rail_top + g],
        ));
        let inner = s.half_width - s.rail + 0.1;
        let bar = [
            [leg, f.at[1]],
            [front_end, f.at[1]],
            [front_end, s.cut - u],
            [inner, s.cut - u],
            [inner, s.rail_top - 0.1 + g],
            [leg, s.rail_top - 0.1 + g],
        ];
        let names = ["foot", "outside", "under", "end", "top", "inside"];
        body.push(profile_x(&n("bar"), [f.at[0] - LEG - o, f.at[0] + LEG + o], &bar, &names, side));
        let cheek = on_side(side, [s.cheek_inner() - m, s.side() + o]);
        let along = [s.ridge - CHEEK_HALF - o, s.ridge + CHEEK_HALF + o];
        body.push(block(&n("cheek"), along, cheek, [CHEEK_FOOT.get() - u, s.cut + 0.1]));
        // A tenth deep, fitted to its strip: cut at the bench, never cast.
        if left.cast.is_none() {
            let groove = s.ridge_profile(CATCH_PLAY.get());
            grooves.push(profile_x(
                &n("snap"),
                [along[0] - BEYOND, along[1] + BEYOND],
                &groove,
                &["hold", "tip", "lead", "inside"],
                side,
            ));
        }
        let [y, z] = s.catch.at;
        let half = s.catch.tube_half + o;
        let tube = [s.middle - half, s.middle + half];
        body.push(bar_x(&n("tube"), [side * y, z], s.catch.tube / 2.0 + o, tube));
        match &left.cast {
            Some(c) if c.bores != Bores::Open => {
                grooves.extend(marks_x(&n("tube.bore"), [side * y, z], tube));
            }
            _ => {
                let bore = s.catch.wire / 2.0 + CATCH_BORE;
                grooves.push(bar_x(&n("tube.bore"), [side * y, z], bore, [tube[0] - 0.3, tube[1] + 0.3]));
            }
        }
    }
    let knuckle =
        |side: f64, word: &str| bar_y(word, f.at, f.radius + m, on_side(side, [f.boundary - m, front_end]));
    let gone = s.wall_gone(left.cast.as_ref().map_or(&s.link, |c| &c.link));
    // Room for the back hinge, for the leaf's front knuckle, and for the plate's lug under the last collet.
    let mut rooms = vec![
        bar_y("room.back", k.at, k.room() - m, [m - k.room_half(), k.room_half() - m]),
        bar_y("room.front", f.at, f.room() - m, [m - f.boundary, f.boundary - m]),
        block(
            "room.lug",
            [gone.min(s.length - s.lug[1] - KNUCKLE_ROOM.get() + m), s.length + BEYOND],
            [m - s.lug_half - KNUCKLE_ROOM.get(), s.lug_half + KNUCKLE_ROOM.get() - m],
            [-BEYOND, s.lug_top + LUG_ROOM - m],
        ),
    ];
    let lug = [s.lug[0] - o, s.lug[1] + g];
    if let Hang::Tube(j) = &s.hang {
        // The neighbour's outer knuckles turn here.
        let top = (j.height + j.outer / 2.0 + j.pocket_clearance).get() + 0.04 - m;
        rooms.push(block("room.line", [-BEYOND, lug[0]], [-10.0, 10.0], [-BEYOND, top]));
    }
    let lug_body = block("lug", lug, [-s.lug_half - o, s.lug_half + o], [-u, s.cut + 0.5]);
    // On the first stone's rail, the chain's eye between its claws.
    let rail = (s.cut + s.rail_top) / 2.0;
    let round = s.eye / 2.0 + EYE_RIM.get();
    let hole = left.cast.as_ref().map_or(s.eye, |c| c.through(s.eye));
    let [eye, eye_hole] =
        eye(s, s.pitch / 2.0, rail.max(round), [s.cut + 0.05, s.rail_top - 0.05], (o, hole));
    body.push(eye);
    grooves.push(eye_hole);
    // Bead and rivet of the pin are let in at the bench.
    if left.cast.is_none() {
        grooves.extend(cutters(s, f));
    }
    let frame = Tree::Union(body).minus(rooms);
    let added = vec![knuckle(1.0, "knuckle.front"), knuckle(-1.0, "knuckle.back")];
    match &left.cast {
        Some(c) if c.bores == Bores::Dimple => grooves.extend(marks_y("bore.front", f.at, front_end)),
        c => {
            let d = c.as_ref().map_or(f.bore, |c| c.bore(f.bore));
            grooves.push(bar_y("bore.front", f.at, d / 2.0, [-f.half - BEYOND, f.half + BEYOND]));
        }
    }
    match &s.hang {
        Hang::Legs { bore, middle, groove, depth } => {
            let x = [-BEYOND, lug[1] + 0.02];
            match &left.cast {
                Some(c) if c.bores == Bores::Dimple => {
                    grooves.push(mark("lug.bore", Point3::new(lug[0], 0.0, *middle), Vector3::x()));
                }
                c => {
                    let d = c.as_ref().map_or(*bore, |c| c.bore(*bore));
                    grooves.push(bar_x("lug.bore", [0.0, *middle], d / 2.0, x));
                }
            }
            let deep = if left.cast.is_some() { depth - GROOVE_SHALLOW.get() } else { *depth };
            grooves.push(block("lug.groove", x, [-groove / 2.0, groove / 2.0], [-BEYOND, deep]));
            frame.plus([added, vec![lug_body]].concat()).minus(grooves)
        }
        Hang::Tube(j) => {
            let mut j = j.clone();
            leave(&mut j, Mm(m));
            let at = |t: Tree| named(t, "lug");
            let lug = lug_body.minus(pockets(&j, false, -1.0, "left").into_iter().map(at).collect());
            match &left.cast {
                Some(c) if c.bores == Bores::Dimple => {
                    grooves.extend(tube_marks(&j, false, -1.0, "left", DIMPLE).into_iter().map(at));
                }
                c => {
                    let bore = Mm(c.as_ref().map_or(j.bore.get(), |c| c.bore(j.bore.get())));
                    grooves.push(at(knuckle_bore(&TubeJoint { bore, ..j.clone() }, -1.0, "left")));
                }
            }
            let row = knuckles(&j, false, -1.0, "left").into_iter().map(at).collect();
            frame.plus([added, vec![lug], row].concat()).minus(grooves)
        }
    }
}

/// A mark for the drill in the face at `at`, whose inside lies along `inward`.
fn mark(name: &str, at: Point3<f64>, inward: Vector3<f64>) -> Tree {
    let (r, deep) = (DIMPLE.0.get() / 2.0, DIMPLE.1.get());
    let across = if inward.z.abs() < 0.5 { Vector3::z() } else { Vector3::x() };
    let frame = Frame::with_axes(at + inward * deep, across, -inward.cross(&across));
    narrowing(frame, r, deep + 0.3, &format!("{name}.mark"))
}

/// Marks at both ends of a bar along x.
fn marks_x(name: &str, [y, z]: [f64; 2], x: [f64; 2]) -> [Tree; 2] {
    [(x[0], 1.0), (x[1], -1.0)].map(|(x, to)| mark(name, Point3::new(x, y, z), Vector3::x() * to))
}

/// Marks at both ends of a bar along y about the middle.
fn marks_y(name: &str, [x, z]: [f64; 2], half: f64) -> [Tree; 2] {
    [1.0, -1.0].map(|side| mark(name, Point3::new(x, side * half, z), Vector3::y() * -side))
}

/// A collet with its claws from the cut upwards, standing on z = 0.
fn cut_off(link: &LinkShape, clasp: &ClaspShape) -> LinkShape {
    let mut s = link.clone();
    let z = clasp.cut;
    s.foot_radius = Mm(link.foot_radius.0 + link.taper() * z);
    s.height = Mm(link.height.0 - z);
    s.stone.girdle = Mm(link.stone.girdle.0 - z);
    s.claw.foot = Mm((link.claw.foot.0 - z).max(0.0));
    s.claw.top = Mm(link.claw.top.0 - z);
    s.opening.top = Mm(link.opening.top.0 - z);
    s.opening.bottom = Mm(link.opening.bottom.0 - z);
    if clasp.link.opening.bottom.0 - z < SILL {
        s.opening.bottom = Mm(-s.opening.corner.0 - 0.5);
    }
    s.foot = None;
    s.ends = [End::Plain, End::Plain];
    s
}
