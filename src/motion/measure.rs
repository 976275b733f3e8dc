//! What is said of a joint: every movement with its bounds, beside the closed forms and the limits of the trade.

use super::closed::{ClosedForm, closed_form};
use super::joint::{Joint, MotionError, Movement};
use super::movers::movers;
use super::near::Near;
use super::place::Pose;
use super::told::{bounds, told};
use crate::params::Design;
use crate::params::Key;
use crate::parts::link::{Built, End, LinkShape, build};
use crate::solid::{BuildError, Frame};
use crate::units::{Deg, Mm};
use crate::walls::Judgement;
use nalgebra::{Point3, Vector3};
use serde::Serialize;

/// How far two girdles stay apart at rest, mm, the largest stones set (proposal).
pub const GIRDLES: f64 = 0.05;
/// What is in hand over the turn that the wrist asks, degrees (proposal).
pub const IN_HAND: f64 = 3.0;
/// A line that folds back farther than this kinks its joints, degrees (common practice, no published source).
pub const BACK: f64 = 10.0;
/// Sides of a joint nearer than this at rest rub, mm (proposal).
pub const RUBS: f64 = 0.005;
/// Pairs of faces named as what stops a movement.
const NAMED: usize = 4;
/// Poses of a path that are told.
const TOLD: usize = 9;

/// A joint measured.
#[derive(Clone, Debug, Serialize)]
pub struct JointMotion {
    /// `wire_loop` or `hinge_tube`.
    pub joint: &'static str,
    /// Which end of the link.
    pub end: &'static str,
    /// Diameter of the stones in it, mm: the largest of their tolerance.
    pub stones_mm: f64,
    /// Least distance between the two sides at rest, their play shared out, mm: bounds.
    pub at_rest_mm: [f64; 2],
    /// Where the neighbour then stands, mm from its place in a line pulled flat.
    pub rest_shift_mm: [f64; 3],
    /// The faces that are nearest at rest.
    pub at_rest_between: [String; 2],
    /// Distance of the two stones at rest, mm: bounds.
    pub stones_at_rest_mm: [f64; 2],
    /// Least distance of the two stones over all movements, mm: a lower bound.
    pub stones_moved_mm: f64,
    /// Least distance at the turn that the wrist asks, mm: bounds; absent where that turn is not reached.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on_wrist_mm: Option<[f64; 2]>,
    /// The movements.
    pub movements: Vec<Moved>,
    /// What the limits of the trade say of them.
    pub findings: Vec<MotionFinding>,
    /// What the measurement rests on.
    pub rests_on: &'static [&'static str],
}

/// One movement.
#[derive(Clone, Debug, Serialize)]
pub struct Moved {
    /// Which.
    pub movement: Movement,
    /// Up to this angle the way is proved free, degrees.
    pub free_to_deg: f64,
    /// By this angle contact is proved whatever the play, degrees; absent where it is not proved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub touches_by_deg: Option<f64>,
    /// Whether the search ended at its limit without contact.
    pub turns_freely: bool,
    /// Some poses of the proved path, from rest to its end.
    pub poses: Vec<PoseReport>,
    /// The faces that meet, nearest first: of the link with the wire or pin, and of its neighbour.
    pub between: Vec<[String; 2]>,
    /// Whether two stones, or a stone and metal, are among what meets.
    pub stones_stop: bool,
    /// The closed form, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closed_form: Option<ClosedForm>,
    /// Pass: the closed form lies where it says it should; fail: it does not; unverified: the bounds leave it open.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub agrees: Option<Judgement>,
}

/// A pose of the neighbour: turned about the axis of the joint (inward about +y, back about -y, sideways about +z, twist about
/// +x, right hand), then shifted.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct PoseReport {
    /// Angle, degrees, with its sign.
    pub deg: f64,
    /// Shift, mm.
    pub shift_mm: [f64; 3],
}

/// A joint and what was measured on it.
#[derive(Clone, Debug)]
pub struct Measured {
    /// The bodies.
    pub joint: Joint,
    /// The link that stands still, its joint at its right end.
    pub standing: Built,
    /// Its neighbour.
    pub neighbour: Built,
    /// Where each movement ends.
    pub ends: Vec<(Movement, Pose)>,
    /// What is said of it.
    pub report: JointMotion,
}

/// A limit applied to what was measured.
#[derive(Clone, Debug, Serialize)]
pub struct MotionFinding {
    /// The rule's name.
    pub rule: &'static str,
    /// Whether it binds.
    pub binds: bool,
    /// What it says.
    pub verdict: Judgement,
    /// In bench words.
    pub says: String,
    /// Where the limit comes from.
    pub source: &'static str,
    /// Parameters that move it, the usual one first.
    pub parameters: Vec<&'static str>,
}

const RESTS_ON: &[&str] = &[
    "facets count with the distance they may lie from their faces",
    "shifts square to the plane of a movement stay as at rest",
    "the wire is soldered to one link, the pin riveted into one; the wire's bends are balls and its lower leg is flat",
    "solder, polish and dirt are left out",
];

/// Why there is nothing to measure.
#[derive(Debug, thiserror::Error)]
pub enum MeasureError {
    /// Neither end carries a joint.
    #[error("neither end of the link carries a joint")]
    NoJoint,
    /// A body could not be made.
    #[error(transparent)]
    Motion(#[from] MotionError),
}

impl From<BuildError> for MeasureError {
    fn from(e: BuildError) -> Self {
        Self::Motion(MotionError::Build(e))
    }
}

/// The two links of a joint, the joint at the right end of the first: which end of the design's link that is, the
/// link, the neighbour where it differs.
fn links(design: &Design, link: &Built) -> Result<(&'static str, Built, Option<Built>), MeasureError> {
    let [left, right] = design.joints();
    // A link turned half round about z stands with its left end at the right.
    let (end, standing) = match (left, right) {
        (_, true) => ("right", link.clone()),
        (true, false) => {
            let ends = [link.shape.ends[1].clone(), link.shape.ends[0].clone()];
            let shape = LinkShape { ends, ..link.shape.clone() };
            let half = Frame::with_axes(Point3::origin(), -Vector3::x(), -Vector3::y());
            ("left", Built { solid: link.solid.moved(&half), shape, ..link.clone() })
        }
        (false, false) => return Err(MeasureError::NoJoint),
    };
    let other = match &standing.shape.ends[1] {
        End::Plain => return Err(MeasureError::NoJoint),
        End::Loop(j) => End::Loop(j.clone()),
        End::Pair(j) => End::Middle(j.clone()),
        End::Middle(j) => End::Pair(j.clone()),
    };
    if standing.shape.ends[0] == other {
        return Ok((end, standing, None));
    }
    let ends = [other, standing.shape.ends[1].clone()];
    let neighbour = build(&LinkShape { ends, ..standing.shape.clone() })?;
    Ok((end, standing, Some(neighbour)))
}

/// Measures the joint between a link and its neighbour in the line.
///
/// # Errors
/// See [`MeasureError`].
pub fn measure(design: &Design, link: &Built) -> Result<Measured, MeasureError> {
    let (end, standing, neighbour) = links(design, link)?;
    let larger = Mm(design.get(Key::StoneTolerance));
    let second = neighbour.as_ref().map_or(&standing.solid, |n| &n.solid);
    let joint = Joint::of(design, &standing.solid, second, larger)?;
    let stones = |pose: &Pose| {
        let between = |a: &super::Body, b: &super::Body| a.name == "stone" && b.name == "stone";
        joint.pair.nearest_of(pose, 100.0, &between).map_or([0.0; 2], |n| [n.lower, n.mesh + n.chords])
    };
    let rest = joint.pair.nearest(&joint.rest, 10.0);
    let mut stones_moved = stones(&joint.rest)[0];
    let mut on_wrist = None;
    let (mut movements, mut ends) = (Vec::new(), Vec::new());
    // Every other movement on the second core.
    let swings = std::thread::scope(|scope| {
        let joint = &joint;
        let two = scope.spawn(move || [Movement::Back, Movement::Sideways].map(|m| joint.swing(m)));
        let [first, last] = [Movement::Inward, Movement::Twist].map(|m| joint.swing(m));
        two.join().map(|[back, sideways]| [first, back, sideways, last])
    })
    .map_err(|_| MotionError::Died)?;
    for (m, s) in Movement::ALL.into_iter().zip(swings) {
        let pair = joint.turned_to(m);
        let between = |a: &super::Body, b: &super::Body| a.name == "stone" && b.name == "stone";
        for p in &s.path {
            let d = pair.nearest_of(p, stones_moved, &between).map_or(stones_moved, |n| n.lower);
            stones_moved = stones_moved.min(d);
        }
        if m == Movement::Inward {
            on_wrist = at_angle(&s.path, design.dims().turn_wrist).map(|p| joint.clearance(&p));
        }
        let closed = closed_form(design, m, larger);
        let (free, touches) = (s.free_to.get().abs(), s.blocked_at.map(|b| b.get().abs()));
        // Shifted to where it goes farthest, all that holds it back is nearest alike: a stone among it is a stop.
        let stones_stop = !s.complete && s.stops.iter().any(|n| is_stone(&joint, n));
        ends.push((m, s.path.last().copied().unwrap_or(joint.rest)));
        movements.push(Moved {
            movement: m,
            poses: spread(&s.path),
            free_to_deg: free,
            touches_by_deg: touches,
            turns_freely: s.complete,
            between: named(&joint, &s.stops),
            stones_stop,
            agrees: closed.as_ref().map(|c| c.agrees(free, touches)),
            closed_form: closed,
        });
    }
    let at_rest = stones(&joint.rest);
    let clear = joint.clearance(&joint.rest);
    let between = rest.map_or_else(Default::default, |n| names(&joint, &n));
    let mut findings = findings(design, &movements, at_rest, stones_moved);
    findings.push(rubs(clear, &between));
    findings.extend(movements.iter().filter_map(contradicted));
    let report = JointMotion {
        joint: if design.dims().wire.is_some() { "wire_loop" } else { "hinge_tube" },
        end,
        stones_mm: design.get(Key::Diameter) + larger.get(),
        at_rest_mm: clear,
        rest_shift_mm: joint.rest.shift.into(),
        at_rest_between: between,
        stones_at_rest_mm: at_rest,
        stones_moved_mm: stones_moved,
        on_wrist_mm: on_wrist,
        movements,
        findings,
        rests_on: RESTS_ON,
    };
    let neighbour = neighbour.unwrap_or_else(|| standing.clone());
    Ok(Measured { joint, standing, neighbour, ends, report })
}

/// Poses spread over a path, its ends among them.
fn spread(path: &[Pose]) -> Vec<PoseReport> {
    let last = path.len().saturating_sub(1);
    let n = last.clamp(1, TOLD - 1);
    (0..=n)
        .filter_map(|i| path.get(i * last / n))
        .map(|p| PoseReport { deg: p.angle.get(), shift_mm: p.shift.into() })
        .collect()
}

/// The pose of a path at an angle, `None` beyond its end.
fn at_angle(path: &[Pose], angle: Deg) -> Option<Pose> {
    path.windows(2).find_map(|w| {
        let (a, b) = (w[0].angle.get(), w[1].angle.get());
        (a <= angle.get() && angle.get() <= b && b > a)
            .then(|| w[0].toward(&w[1], (angle.get() - a) / (b - a)))
    })
}

fn names(joint: &Joint, n: &Near) -> [String; 2] {
    let name = |bodies: &[super::Body], (i, f): (usize, u32)| {
        bodies.get(i).map_or_else(String::new, |b| b.face_name(f))
    };
    [name(&joint.pair.still, n.still), name(&joint.pair.moving, n.moving)]
}

fn is_stone(joint: &Joint, n: &Near) -> bool {
    let stone = |b: Option<&super::Body>| b.is_some_and(|b| b.name == "stone");
    stone(joint.pair.still.get(n.still.0)) || stone(joint.pair.moving.get(n.moving.0))
}

/// The first few pairs of face names, none twice; pairs with a stone before the others.
fn named(joint: &Joint, stops: &[Near]) -> Vec<[String; 2]> {
    let mut out: Vec<[String; 2]> = Vec::new();
    let (stones, metal): (Vec<&Near>, Vec<&Near>) = stops.iter().partition(|n| is_stone(joint, n));
    for n in stones.into_iter().chain(metal) {
        let pair = names(joint, n);
        if out.len() < NAMED && !out.contains(&pair) {
            out.push(pair);
        }
    }
    out
}

/// Whether a movement reaches an angle.
fn reaches(m: &Moved, least: f64) -> Judgement {
    if m.free_to_deg >= least || m.turns_freely {
        Judgement::Pass
    } else if m.touches_by_deg.is_some_and(|t| t < least) {
        Judgement::Fail
    } else {
        Judgement::Unverified
    }
}

fn findings(design: &Design, moved: &[Moved], rest: [f64; 2], stones_moved: f64) -> Vec<MotionFinding> {
    let d = design.dims();
    let mut out = Vec::new();
    let find = |m: Movement| moved.iter().find(|x| x.movement == m);
    let wired = d.wire.is_some();
    let inward_by: Vec<&'static str> = if wired {
        vec!["joint.bore_height", "joint.web_edge", "joint.groove_depth"]
    } else {
        vec!["collet.foot_half_width", "joint.tube_height", "line.gap"]
    };
    if let Some(m) = find(Movement::Inward) {
        let wrist = d.turn_wrist.get() + IN_HAND;
        out.push(MotionFinding {
            rule: "turn.wrist",
            binds: true,
            verdict: reaches(m, wrist),
            says: format!("bends inward {}; the wrist asks {wrist:.1} with {IN_HAND:.0} in hand", bounds(m)),
            source: "polygon of n joints; what is in hand is a proposal",
            parameters: inward_by.clone(),
        });
        if let Some(turn) = d.turn_clasp {
            out.push(MotionFinding {
                rule: "turn.clasp",
                binds: false,
                verdict: reaches(m, turn.get()),
                says: format!(
                    "bends inward {}; beside the stiff clasp {:.1} is asked",
                    bounds(m),
                    turn.get()
                ),
                source: "chord of a circle",
                parameters: inward_by.iter().copied().chain(["clasp.count"]).collect(),
            });
        }
    }
    if let Some(m) = find(Movement::Back) {
        let verdict = if m.free_to_deg <= 0.0 || m.free_to_deg > BACK || m.turns_freely {
            Judgement::Fail
        } else if m.touches_by_deg.is_some_and(|t| t <= BACK) {
            Judgement::Pass
        } else {
            Judgement::Unverified
        };
        out.push(MotionFinding {
            rule: "turn.back",
            binds: false,
            verdict,
            says: format!("bends back {}; usual is some, up to {BACK:.0}", bounds(m)),
            source: "common practice, no published source",
            parameters: vec!["line.gap", "claw.over"],
        });
    }
    out.push(MotionFinding {
        rule: "stones.apart",
        binds: true,
        verdict: at_least(rest, GIRDLES),
        says: format!("largest stones {:.3} mm apart at rest, {GIRDLES:.2} asked; never nearer than {stones_moved:.3} in any movement", rest[0]),
        source: "proposal, no published source",
        parameters: vec!["line.gap", "collet.width", "stone.tolerance"],
    });
    for m in moved.iter().filter(|m| m.stones_stop) {
        out.push(MotionFinding {
            rule: "stones.stop",
            binds: false,
            verdict: Judgement::Fail,
            says: format!(
                "{} ends where {}, not metal on metal, at {}",
                m.movement.words(),
                if m.between.iter().any(|b| b.iter().all(|f| f.starts_with("stone"))) {
                    "stone meets stone"
                } else {
                    "a stone meets metal"
                },
                bounds(m)
            ),
            source: "proposal, no published source",
            parameters: vec!["collet.width", "line.gap", "collet.height"],
        });
    }
    out
}

/// Whether an interval lies above a limit.
fn at_least([low, high]: [f64; 2], least: f64) -> Judgement {
    if low >= least {
        Judgement::Pass
    } else if high < least {
        Judgement::Fail
    } else {
        Judgement::Unverified
    }
}

/// A joint whose sides nearly touch at rest rubs.
fn rubs(clear: [f64; 2], between: &[String; 2]) -> MotionFinding {
    MotionFinding {
        rule: "joint.rubs",
        binds: false,
        verdict: at_least(clear, RUBS),
        says: format!(
            "at rest no two sides are nearer than {:.3} mm; below {RUBS:.3} a joint rubs",
            clear[0].max(0.0)
        ),
        source: "proposal, no published source",
        parameters: movers(between),
    }
}

/// A closed form that the solids contradict: the rule that rests on it is then to be read from the solids.
fn contradicted(m: &Moved) -> Option<MotionFinding> {
    let form = m.closed_form.as_ref().filter(|_| m.agrees == Some(Judgement::Fail))?;
    Some(MotionFinding {
        rule: "turn.formula",
        binds: false,
        verdict: Judgement::Fail,
        says: format!(
            "{}: the formula gives {} deg, the solids {}; go by the solids",
            m.movement.words(),
            told(m).form.unwrap_or_default(),
            bounds(m)
        ),
        source: form.formula,
        parameters: m.between.first().map_or_else(Vec::new, movers),
    })
}
