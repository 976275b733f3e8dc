//! Combinations no link can be built from: refused with the parameter names, before any kernel runs.
//!
//! Each condition is a margin that must not be negative. They are grouped: when the outline itself is
//! impossible, what is cut into it is not judged.

mod clasp;
mod collet;
mod hinge;
mod wire;

use super::choice::JointKind;
use super::dims::Dims;
use super::numbers::Numbers;
use super::table::Key as K;
use crate::units::Mm;

/// Least metal or step a link may have to be a solid at all, in mm. No process keeps less, and it is ten times
/// the default chord error, so that no feature hides in the mesh. Far below every wall limit: the rules judge
/// what is thicker.
pub const SLIVER: Mm = Mm(0.05);
/// Least straight side left between two rounded corners, and least overlap of stone and seat, in mm: four times
/// the default chord error.
pub const LEDGE: Mm = Mm(0.02);
/// Least distance from a pose in which two surfaces only touch, in mm: the default chord error. Such a pose leaves an edge or
/// a slit that cannot be made; a step of a hundredth is beyond it.
pub const GRAZE: Mm = Mm(0.005);
/// Noise of decimal fractions in doubles; 0.60 − 0.55 is 0.05.
const NOISE: f64 = 1e-9;

/// One condition.
pub(crate) struct Condition {
    /// Part of the problem code after `impossible.`.
    pub(crate) code: &'static str,
    /// Conditions of a later stage are judged only when all earlier ones hold.
    pub(crate) stage: u8,
    /// Parameters that take part, the first one the usual to move.
    pub(crate) keys: &'static [K],
    /// Not negative when the link can be built.
    pub(crate) margin: fn(&Numbers, &Dims) -> f64,
    /// What is wrong, with numbers.
    pub(crate) say: fn(&Numbers, &Dims) -> String,
    /// Why it cannot be.
    pub(crate) why: &'static str,
}

/// The trial link: the finished link with bores, grooves and pockets opened by the printer's gap and offset.
pub(crate) fn trial(v: &Numbers) -> Numbers {
    let mut t = v.clone();
    let gap = v[K::TrialGap];
    let bore = gap + v[K::TrialBoreOffset];
    if JointKind::of(v) == JointKind::HingeTube {
        t[K::TubeBore] += 2.0 * bore;
        t[K::PocketClearance] += gap;
        t[K::SideGap] += gap;
        return t;
    }
    t[K::GrooveDepth] += gap;
    t[K::GrooveWidth] += 2.0 * gap;
    t[K::BoreWidth] += 2.0 * bore;
    t[K::BoreHeight] += 2.0 * bore;
    t[K::WebHeight] -= gap + bore;
    // The web is thinner, so its edges may not be rounder than before in proportion.
    let depth = Dims::of(v).wall_horizontal.get();
    let before = v[K::WebHeight].min(depth);
    let after = t[K::WebHeight].min(depth);
    if before > 0.0 && after < before {
        t[K::WebEdge] *= (after / before).max(0.0);
    }
    t
}

const S: f64 = SLIVER.get();
const L: f64 = LEDGE.get();

impl Condition {
    /// Whether it speaks of the trial print alone: the finished link can be built without it.
    pub(crate) fn of_trial(&self) -> bool {
        self.code.starts_with("trial_")
    }
}

/// The conditions that do not hold, of the first stage that has any; without those of the trial print where the file does
/// not ask for one.
pub(crate) fn broken(v: &Numbers, d: &Dims, trial: bool) -> Vec<&'static Condition> {
    let mut list = failing(v, d);
    if !trial {
        list.retain(|c| !c.of_trial());
    }
    list
}

/// Why the trial print cannot be made, if nothing else is wrong.
pub(crate) fn no_trial(v: &Numbers, d: &Dims) -> Option<String> {
    failing(v, d).iter().find(|c| c.of_trial()).map(|c| (c.say)(v, d))
}

fn failing(v: &Numbers, d: &Dims) -> Vec<&'static Condition> {
    let groups: [&'static [Condition]; 3] = [
        collet::CONDITIONS,
        if d.shape.is_flat() { collet::CORNERS } else { &[] },
        match d.joint {
            JointKind::WireLoop => wire::CONDITIONS,
            JointKind::HingeTube => hinge::CONDITIONS,
        },
    ];
    let block = if d.joint == JointKind::HingeTube && !d.shape.is_flat() { hinge::BLOCK } else { &[] };
    for stage in 0..=2 {
        // Written so that a margin that is no number counts as broken.
        let list: Vec<_> = groups
            .iter()
            .copied()
            .chain([block, clasp::CONDITIONS])
            .flatten()
            .filter(|c| {
                c.stage == stage
                    && (c.margin)(v, d).partial_cmp(&-NOISE).is_none_or(std::cmp::Ordering::is_lt)
            })
            .collect();
        if !list.is_empty() {
            return list;
        }
    }
    Vec::new()
}
