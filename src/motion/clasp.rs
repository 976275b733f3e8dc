//! The folding clasp as bodies: what has how much room when it is shut, how far leaf and frame open before something touches, and
//! how far the tongue must give way.
//!
//! Three groups: the base plate with strips, rivets and the back pin; the leaf; the frame with its stones and the front pin. The
//! leaf turns about the back hinge; the frame goes with the front hinge and stays parallel to the plate, so that against the leaf it
//! turns about the front hinge and against the plate it is carried round. Pins stand in the middle of their bores.

use super::advance::Play;
use super::body::Body;
use super::carry::Carry;
use super::clasp_says::clasp_findings;
use super::joint::MotionError;
use super::measure::MotionFinding;
use super::near::{Near, Pair};
use super::place::{Pose, Turn};
use super::swing::swing;
use crate::mesh::MeshError;
use crate::params::{Design, Key};
use crate::parts::clasp::{ClaspPart, build};
use crate::parts::line::{self, Piece};
use crate::parts::stone;
use crate::solid::tree::cylinder;
use crate::solid::{Frame, Solid};
use crate::units::{Deg, Mm, Tolerance};
use nalgebra::{Point3, Vector3};
use serde::Serialize;

/// Facets of the faces that hinges turn on and of all others, mm off their faces at most; finest mesh first.
const CHORD: [[f64; 2]; 3] = [[0.0005, 0.002], [0.002, 0.006], [0.008, 0.02]];
/// What the clasp is made to open by, degrees.
pub const OPENS: f64 = 180.0;
/// How far one end alone is lifted to see what stops it, degrees.
const ONE_END: f64 = 30.0;
/// How far the bar of the frame turns while its ridge leaves the cheek at the longest, degrees.
const SNAP: f64 = 20.0;
/// Halvings of either bound of the tongue's way.
const HALVINGS: u32 = 8;
/// Gaps beyond this are not told apart, mm.
const FAR: f64 = 5.0;
/// Pairs of faces named as what stops a movement.
const NAMED: usize = 3;

/// Room between two parts when the clasp is shut.
#[derive(Clone, Debug, Serialize)]
pub struct RestGap {
    /// The two parts.
    pub parts: [&'static str; 2],
    /// Least distance, mm: bounds.
    pub gap_mm: [f64; 2],
    /// The faces it lies between.
    pub between: [String; 2],
}

/// One way the clasp moves.
#[derive(Clone, Debug, Serialize)]
pub struct ClaspMoved {
    /// Stable word for programs: `leaf_on_plate`, `frame_on_leaf`, `frame_over_plate`, `one_end_lifted`.
    pub movement: &'static str,
    /// What is asked of it, degrees; absent where nothing is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub asked_deg: Option<f64>,
    /// Up to this angle every pose is proved free, degrees.
    pub free_to_deg: f64,
    /// By this angle contact is proved, degrees; absent where it is not reached or not proved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub touches_by_deg: Option<f64>,
    /// Whether the search ended at its limit without contact.
    pub turns_freely: bool,
    /// The faces that meet, nearest first.
    pub between: Vec<[String; 2]>,
}

/// One strip of the tongue in its cheek; the other is its mirror image.
#[derive(Clone, Debug, Serialize)]
pub struct TongueMotion {
    /// The frame lifts so far before the ridge holds it, mm: bounds of the play.
    pub play_mm: [Option<f64>; 2],
    /// The faces that hold.
    pub between: Vec<[String; 2]>,
    /// The strip must give way so far for the frame to lift off, mm: bounds.
    pub gives_way_mm: [f64; 2],
    /// What the slot beside it leaves, mm.
    pub slot_mm: f64,
}

/// The clasp measured.
#[derive(Clone, Debug, Serialize)]
pub struct ClaspMotion {
    /// Room between the parts, shut.
    pub at_rest: Vec<RestGap>,
    /// The movements.
    pub movements: Vec<ClaspMoved>,
    /// The tongue.
    pub tongue: TongueMotion,
    /// What the limits of the trade say of them.
    pub findings: Vec<MotionFinding>,
    /// What the measurement rests on.
    pub rests_on: &'static [&'static str],
}

const RESTS_ON: &[&str] = &[
    "facets count with the distance they may lie from their faces",
    "pins stand in the middle of their bores; the frame stays parallel to the plate while the leaf opens",
    "strips give way for the opening; that their way is free is measured on one of them, moved aside whole",
    "beads and rivets of pins, side catches, chain, the line's links, solder and polish are left out",
];

/// The clasp's bodies, shut, in the clasp's frame.
struct Parts {
    plate: Body,
    leaf: Body,
    frame: Body,
    strips: [Body; 2],
    pins: [Body; 2],
    stones: Vec<Body>,
}

/// Measures the clasp; `None` where it is a bought one. `larger` is added to the stones' diameter.
///
/// # Errors
/// See [`MotionError`].
pub fn measure_clasp(design: &Design, larger: Mm) -> Result<Option<ClaspMotion>, MotionError> {
    let Some(c) = design.dims().clasp.as_ref() else { return Ok(None) };
    let Some(parts) = Parts::of(design, larger)? else { return Ok(None) };
    let back = Point3::new(c.back_x.get(), 0.0, design.get(Key::ClaspBack));
    let front = Point3::new(c.front_x.get(), 0.0, design.get(Key::ClaspFront));
    let about = |p: Point3<f64>, axis: Vector3<f64>| Turn { pivot: p, axis, home: p };
    let carry = Carry { bar: front - back, beside: 0.0 };
    let still = about(Point3::origin(), Vector3::y());
    let fixed = |p: &Parts| vec![p.plate.clone(), p.pins[0].clone()];
    let lifted = |p: &Parts| [vec![p.frame.clone()], p.stones.clone()].concat();
    let with_pin = |p: &Parts| [lifted(p), vec![p.pins[1].clone()]].concat();

    let leaf_on_plate = Pair {
        still: [fixed(&parts), parts.strips.to_vec()].concat(),
        moving: vec![parts.leaf.clone()],
        turn: about(back, -Vector3::y()),
    };
    let frame_on_leaf =
        Pair { still: vec![parts.leaf.clone()], moving: with_pin(&parts), turn: about(front, Vector3::y()) };
    let over_plate = Pair { still: fixed(&parts), moving: with_pin(&parts), turn: still };
    let one_end = Pair {
        still: [fixed(&parts), vec![parts.leaf.clone()]].concat(),
        moving: lifted(&parts),
        turn: about(front, Vector3::y()),
    };
    // The leaf's two hinges on one core, the frame over the plate on the other.
    let (turned, carried) = std::thread::scope(|scope| {
        let second = scope.spawn(|| carry.far(&over_plate, Deg(OPENS)));
        let turned = [
            ("leaf_on_plate", Some(OPENS), &leaf_on_plate, OPENS),
            ("frame_on_leaf", Some(OPENS), &frame_on_leaf, OPENS),
            ("one_end_lifted", None, &one_end, ONE_END),
        ]
        .map(|(word, asked, pair, limit)| {
            let s = swing(pair, &Play::NONE, &Pose::REST, Deg(limit));
            let between = if s.complete { Vec::new() } else { named(pair, &s.stops) };
            ClaspMoved {
                movement: word,
                asked_deg: asked,
                free_to_deg: s.free_to.get(),
                touches_by_deg: s.blocked_at.map(Deg::get),
                turns_freely: s.complete,
                between,
            }
        });
        second.join().map(|c| (turned, c))
    })
    .map_err(|_| MotionError::Died)?;
    let [leaf, frame, one] = turned;
    let over = ClaspMoved {
        movement: "frame_over_plate",
        asked_deg: Some(OPENS),
        free_to_deg: carried.free_to.get(),
        touches_by_deg: carried.blocked_at.map(Deg::get),
        turns_freely: carried.complete,
        between: named(&over_plate, &carried.stops),
    };
    let mut report = ClaspMotion {
        at_rest: parts.gaps(),
        movements: vec![leaf, frame, over, one],
        tongue: tongue(design, &parts, carry, still),
        findings: Vec::new(),
        rests_on: RESTS_ON,
    };
    report.findings = clasp_findings(design, &report);
    Ok(Some(report))
}

/// Room between the parts of the shut clasp; `None` where it is a bought one.
///
/// # Errors
/// See [`MotionError`].
pub fn rest_gaps(design: &Design) -> Result<Option<Vec<RestGap>>, MotionError> {
    Ok(Parts::of(design, Mm(design.get(Key::StoneTolerance)))?.map(|p| p.gaps()))
}

/// The front strip against the frame: when its ridge holds, and how far it must be moved aside to let go.
fn tongue(design: &Design, parts: &Parts, carry: Carry, turn: Turn) -> TongueMotion {
    let pair = Pair { still: vec![parts.strips[0].clone()], moving: vec![parts.frame.clone()], turn };
    let held = carry.far(&pair, Deg(SNAP));
    let lift = |a: Deg| carry.pose(a).shift.z;
    // Moving the strip towards the middle is moving the frame outwards.
    let aside = |d: f64| Carry { beside: d, ..carry }.far(&pair, Deg(SNAP));
    let slot = design.get(Key::TongueSlot);
    let (mut no, mut yes) = (0.0, if held.complete { 0.0 } else { f64::INFINITY });
    if !held.complete && aside(slot).complete {
        yes = slot;
        let mut stays = 0.0;
        for _ in 0..HALVINGS {
            let trial = f64::midpoint(stays, yes);
            if aside(trial).complete { yes = trial } else { stays = trial }
        }
        let mut open = yes;
        for _ in 0..HALVINGS {
            let trial = f64::midpoint(no, open);
            if aside(trial).blocked_at.is_some() { no = trial } else { open = trial }
        }
    }
    TongueMotion {
        play_mm: [Some(lift(held.free_to)).filter(|_| !held.complete), held.blocked_at.map(lift)],
        between: named(&pair, &held.stops),
        gives_way_mm: [no, yes],
        slot_mm: slot,
    }
}

impl Parts {
    fn of(design: &Design, larger: Mm) -> Result<Option<Self>, MotionError> {
        let Some(c) = design.dims().clasp.as_ref() else { return Ok(None) };
        let shut = line::pieces(design, line::Pose::Straight);
        let solid = |part: ClaspPart| build(design, part).transpose().map(|p| p.map(|p| p.solid));
        // The frame takes as long as all others.
        let built = std::thread::scope(|scope| {
            let frame = scope.spawn(|| solid(ClaspPart::Frame));
            let others =
                [ClaspPart::Plate, ClaspPart::Leaf, ClaspPart::FrontStrip, ClaspPart::BackStrip].map(solid);
            frame.join().map(|f| (f, others))
        });
        let (frame, [plate, leaf, front, back]) = built.map_err(|_| MotionError::Died)?;
        let (Some(frame), Some(plate), Some(leaf), Some(front), Some(back)) =
            (frame?, plate?, leaf?, front?, back?)
        else {
            return Ok(None);
        };
        let stone = stone::build(design, larger.get())?;
        let placed = |name: &str, solid: &Solid, part: &str, number: usize| {
            let here = |p: &&Piece| p.part == part && p.number == number;
            shut.iter().find(here).map(|p| body(name, &solid.moved(&p.frame)))
        };
        let one = |name: &str, solid: &Solid, part: &str, number: usize| {
            placed(name, solid, part, number).unwrap_or_else(|| body(name, solid)).map_err(MotionError::from)
        };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let count = design.get(Key::ClaspCount) as usize;
        Ok(Some(Self {
            plate: one("plate", &plate, "clasp.plate", 0)?,
            leaf: one("leaf", &leaf, "clasp.leaf", 0)?,
            frame: one("frame", &frame, "clasp.frame", 0)?,
            strips: [
                one("strip", &front, "clasp.strip.front", 0)?,
                one("strip", &back, "clasp.strip.back", 0)?,
            ],
            pins: [pin(design, c.back_x, Key::ClaspBack)?, pin(design, c.front_x, Key::ClaspFront)?],
            stones: (0..count).map(|i| one("stone", &stone, "stone", i)).collect::<Result<_, _>>()?,
        }))
    }

    /// Room between the parts that could touch, shut.
    fn gaps(&self) -> Vec<RestGap> {
        let one = std::slice::from_ref;
        let pairs: [([&'static str; 2], &[Body], &[Body]); 10] = [
            (["leaf", "frame"], one(&self.leaf), one(&self.frame)),
            (["plate", "leaf"], one(&self.plate), one(&self.leaf)),
            (["plate", "frame"], one(&self.plate), one(&self.frame)),
            (["strips", "frame"], &self.strips, one(&self.frame)),
            (["back pin", "plate"], one(&self.pins[0]), one(&self.plate)),
            (["back pin", "leaf"], one(&self.pins[0]), one(&self.leaf)),
            (["front pin", "frame"], one(&self.pins[1]), one(&self.frame)),
            (["front pin", "leaf"], one(&self.pins[1]), one(&self.leaf)),
            (["leaf", "stones"], one(&self.leaf), &self.stones),
            (["plate", "stones"], one(&self.plate), &self.stones),
        ];
        let turn = Turn { pivot: Point3::origin(), axis: Vector3::y(), home: Point3::origin() };
        pairs
            .into_iter()
            .map(|(parts, still, moving)| {
                let pair = Pair { still: still.to_vec(), moving: moving.to_vec(), turn };
                let near = pair.nearest(&Pose::REST, FAR);
                RestGap {
                    parts,
                    gap_mm: near.map_or([FAR, f64::INFINITY], |n| [n.lower, n.mesh + n.chords]),
                    between: near.map_or_else(Default::default, |n| names(&pair, &n)),
                }
            })
            .collect()
    }
}

/// The shank of a hinge's pin in its place, as long as the row; its bead lies in its cup and its rivet in the countersink.
fn pin(design: &Design, x: Mm, height: Key) -> Result<Body, MotionError> {
    let row = design.get(Key::ClaspTubeRow);
    let start = Point3::new(x.get(), -row / 2.0, design.get(height));
    let frame = Frame::with_axes(start, Vector3::z(), Vector3::x());
    let shank = cylinder(frame, design.get(Key::ClaspPin) / 2.0, row, "pin.side", ["pin.end", "pin.end"]);
    Ok(body("pin", &Solid::build(&shank)?)?)
}

/// A part as a body with its rougher meshes.
fn body(name: &str, solid: &Solid) -> Result<Body, MeshError> {
    let hinges = ["knuckle", "bore", "room", "pin", "ridge", "snap"];
    let of = |[hinge, other]: [f64; 2]| {
        Body::of(name, solid, |face| {
            let chord = if hinges.iter().any(|h| face.starts_with(h)) { hinge } else { other };
            // A constant above zero.
            Tolerance::new(chord).unwrap_or_else(|| unreachable!("a chord above zero"))
        })
    };
    Ok(of(CHORD[0])?.with_rough(of(CHORD[1])?.with_rough(of(CHORD[2])?)))
}

fn names(pair: &Pair, n: &Near) -> [String; 2] {
    let name = |b: &[Body], (i, f): (usize, u32)| b.get(i).map_or_else(String::new, |b| b.face_name(f));
    [name(&pair.still, n.still), name(&pair.moving, n.moving)]
}

/// The first few pairs of face names, none twice.
fn named(pair: &Pair, stops: &[Near]) -> Vec<[String; 2]> {
    let mut out: Vec<[String; 2]> = Vec::new();
    for n in stops {
        let pair = names(pair, n);
        if out.len() < NAMED && !out.contains(&pair) {
            out.push(pair);
        }
    }
    out
}
