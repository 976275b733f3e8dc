//! How long the line lasts and what it holds: wear at named points, strength along the chain of load, and the passport by which a
//! later measurement tells the wear. Everything here is an estimate and is shown with its range.

pub mod passport;
pub mod sheet;
pub mod strength;
pub mod wear;

#[cfg(test)]
mod tests;

use crate::params::{Design, Key};
use serde::Serialize;

/// The figures the wearer brings in; none of them is measured.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Assumptions {
    /// Mean pull on a swinging joint, N.
    pub load_n: f64,
    /// K of Archard's law in the form V = K F s/H.
    pub coefficient: f64,
    /// Swings a day.
    pub swings_per_day: f64,
    /// Angle of one swing.
    pub angle_deg: f64,
    /// Vickers hardness of the alloy, annealed.
    pub hardness_hv: f64,
    /// Where the hardness comes from.
    pub hardness_source: &'static str,
    /// Which of the two published forms of the law is meant.
    pub convention: &'static str,
}

impl Assumptions {
    /// From the file and the table of alloys.
    #[must_use]
    pub fn of(design: &Design) -> Self {
        let w = design.wearing();
        Self {
            load_n: design.get(Key::WearLoad),
            coefficient: design.get(Key::WearCoefficient),
            swings_per_day: design.get(Key::WearSwings),
            angle_deg: design.get(Key::WearAngle),
            hardness_hv: w.hardness,
            hardness_source: w.source,
            convention: "V = K F s/H, H = 9.807 HV in MPa; other books write V = K F s/(3 H)",
        }
    }
}

/// Wear, strength and what to measure later.
#[derive(Clone, Debug, Serialize)]
pub struct Life {
    /// What the years are reckoned from.
    pub assumptions: Assumptions,
    /// Every named wear point.
    pub wear_points: Vec<wear::WearPoint>,
    /// d ln(life)/d ln(dimension) of the first point that wears out, for every dimension that matters.
    pub sensitivities: Vec<wear::Sensitivity>,
    /// The chain of load.
    pub strength: strength::Strength,
    /// What may be measured later.
    pub passport: passport::Passport,
    /// What these figures are not.
    pub notes: [&'static str; 3],
}

/// Everything about a design's life.
#[must_use]
pub fn life(design: &Design) -> Life {
    Life {
        assumptions: Assumptions::of(design),
        wear_points: wear::points(design),
        sensitivities: wear::sensitivities(design),
        strength: strength::strength(design),
        passport: passport::passport(design),
        notes: [
            "Years are indicative: no wear coefficient of precious metal with a citable number is known. Compare variants of one \
             alloy only; hardness does not rank alloys.",
            "Loads are closed forms of sound metal, annealed after casting or soldering; porosity and a poor joint hold less. They \
             stand for no test: pull a sample.",
            "The measured length of the line, not the calendar, says when to rehinge.",
        ],
    }
}
