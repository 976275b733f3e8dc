//! The service passport: how long the line was when it was handed over, how long it is now, what is worn, when to rehinge.
//!
//! Metal worn off web and wire, or off pin and knuckle, makes the pulled line longer by as much at every joint; nothing else does
//! so slowly. Length is the one gauge of wear that needs no cutting.

use super::wear::MAY_GO;
use crate::params::{Design, JointKind};
use serde::Serialize;

/// A length is read within this, mm (steel rule, line pulled by hand; assumption).
pub const READING: f64 = 0.25;

/// When to rehinge.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Rehinge {
    /// Designed length, pulled: flat length and the play of the joints.
    pub pulled_mm: f64,
    /// Joints that grow.
    pub joints: usize,
    /// What each may grow by: the web's depth, or the tube's wall, half of it off each of the two that rub.
    pub each_mm: f64,
    /// Growth of the whole at which to rehinge.
    pub growth_mm: f64,
}

/// What a later reading says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Entry {
    /// As read at delivery.
    pub delivered_mm: f64,
    /// As read now.
    pub now_mm: f64,
    /// Growth, least to most within the readings' own error.
    pub growth_mm: [f64; 2],
    /// The same on each joint.
    pub each_mm: [f64; 2],
    /// Share of what may go that is gone.
    pub worn: [f64; 2],
    /// Pulled length at which to rehinge.
    pub rehinge_at_mm: f64,
    /// What to do, in words.
    pub advice: String,
}

/// When a design is to be rehinged.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn rehinge(design: &Design) -> Rehinge {
    let d = design.dims();
    let line = crate::plan::line::line(design);
    let each = match design.joint() {
        JointKind::WireLoop => d.wire.as_ref().map_or(0.0, |w| w.web_depth.get()),
        JointKind::HingeTube => d.hinge.as_ref().map_or(0.0, |h| h.tube_wall.get()),
    };
    Rehinge {
        pulled_mm: line.length_mm + line.spread.play_mm,
        joints: line.joints,
        each_mm: MAY_GO * each,
        growth_mm: MAY_GO * each * line.joints as f64,
    }
}

/// Reads two lengths against each other.
///
/// # Errors
/// In words, when they cannot be lengths of this line.
#[allow(clippy::cast_precision_loss)]
pub fn entry(design: &Design, delivered: f64, now: f64) -> Result<Entry, String> {
    let r = rehinge(design);
    let usual = r.pulled_mm;
    let near = |x: f64| (0.9 * usual..=1.15 * usual).contains(&x);
    for (what, x) in [("delivered", delivered), ("now", now)] {
        if !near(x) {
            let inches = near(x * 25.4);
            let hint =
                if inches { format!("; {:.1} if it was read in inches", x * 25.4) } else { String::new() };
            return Err(format!(
                "{what}: {x} mm is no length of this line, which is designed for {usual:.1} mm pulled{hint}"
            ));
        }
    }
    let growth = now - delivered;
    if growth < -2.0 * READING {
        return Err(format!(
            "the line is {:.2} mm shorter than at delivery: was it pulled both times, or shortened since?",
            -growth
        ));
    }
    let range = [(growth - 2.0 * READING).max(0.0), (growth + 2.0 * READING).max(0.0)];
    let each = range.map(|g| g / r.joints.max(1) as f64);
    let worn = range.map(|g| g / r.growth_mm);
    let at = delivered + r.growth_mm;
    let advice = if worn[0] >= 1.0 {
        format!("Rehinge now: at {at:.1} mm half of the bearing metal is gone.")
    } else if worn[1] >= 1.0 {
        format!(
            "At the limit of {at:.1} mm within the reading: look at each joint under the glass, the worst decides."
        )
    } else {
        format!("Read again in a year. Rehinge at {at:.1} mm, or when one joint gapes more than the others.")
    };
    Ok(Entry {
        delivered_mm: delivered,
        now_mm: now,
        growth_mm: range,
        each_mm: each,
        worn,
        rehinge_at_mm: at,
        advice,
    })
}
