//! The service passport: the pulled length at delivery, and what a later one tells.
//!
//! A joint that wears grows by exactly what its bearing metal and its wire or pin have lost together. So the growth of the line,
//! shared over its joints, lies between two cases: all of it went from the web (or tube), or half did.

use crate::params::Design;
use serde::Serialize;

/// What a line pulled out along a rule can be read to, mm (common practice, no published source).
const READ: f64 = 0.2;
/// Share of the bearing metal that may go.
const MAY_GO: f64 = 0.5;

/// What to write down at delivery.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Passport {
    /// Joints between the links and to the clasp, n − n_c + 1.
    pub joints: usize,
    /// Web, or wall of the tube, in each when new, mm.
    pub metal_mm: f64,
    /// Length the line has by design, pulled straight; the measured one at delivery counts, mm.
    pub design_length_mm: f64,
    /// By how much the line may grow before it is rehinged, mm: half the metal of every joint, as if none went from wire or pin.
    pub may_grow_mm: f64,
    /// How to measure.
    pub how: &'static str,
    /// A later measurement.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub later: Option<Later>,
}

/// What a later length tells.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Later {
    /// Pulled length at delivery, mm.
    pub delivered_mm: f64,
    /// Pulled length now, mm.
    pub now_mm: f64,
    /// Growth of one joint, error of reading included, mm.
    pub joint_grew_mm: [f64; 2],
    /// Gone from the web or tube, mm: at least half of the least growth, at most all of the largest.
    pub gone_mm: [f64; 2],
    /// The same as a share of what may go.
    pub used: [f64; 2],
    /// Length at which to rehinge, mm.
    pub rehinge_at_mm: f64,
    /// In one line.
    pub advice: &'static str,
}

/// What to write down for a design.
#[must_use]
pub fn passport(design: &Design) -> Passport {
    let d = design.dims();
    let metal = d.hinge.as_ref().map_or_else(|| d.wall_horizontal.get(), |h| h.tube_wall.get());
    let free = design.get(crate::params::Key::Count) - design.get(crate::params::Key::ClaspCount) + 1.0;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let joints = free.max(1.0) as usize;
    Passport {
        joints,
        metal_mm: metal,
        design_length_mm: d.line_length.get(),
        may_grow_mm: MAY_GO * metal * free.max(1.0),
        how: "clasp shut, line hung from one end with 100 g on the other, read along a steel rule to 0.2 mm; always the same way",
        later: None,
    }
}

impl Passport {
    /// With a later measurement.
    #[must_use]
    pub fn measured(mut self, delivered: f64, now: f64) -> Self {
        #[allow(clippy::cast_precision_loss)]
        let joints = self.joints as f64;
        let grew = now - delivered;
        // Two readings, each with its error.
        let joint = [(grew - 2.0 * READ).max(0.0) / joints, (grew + 2.0 * READ).max(0.0) / joints];
        let gone = [joint[0] / 2.0, joint[1]];
        let limit = MAY_GO * self.metal_mm;
        let used = gone.map(|g| g / limit);
        let advice = if grew < -2.0 * READ {
            "shorter than at delivery: measured another way, or links were taken out; measure again"
        } else if used[0] >= 1.0 {
            "rehinge now: half the metal has gone even if wire or pin took its share"
        } else if grew >= self.may_grow_mm {
            "rehinge: half the metal may have gone; open the worst joint and measure it"
        } else if used[1] >= 1.0 {
            "near the end: open the worst joint and measure it"
        } else {
            "sound; measure again in a year"
        };
        self.later = Some(Later {
            delivered_mm: delivered,
            now_mm: now,
            joint_grew_mm: joint,
            gone_mm: gone,
            used,
            rehinge_at_mm: delivered + self.may_grow_mm,
            advice,
        });
        self
    }
}
