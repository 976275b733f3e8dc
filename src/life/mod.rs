//! How long the line lasts and how hard it may be pulled: estimates, always as ranges, with their assumptions beside them.

pub mod passport;
pub mod strength;
pub mod wear;

use crate::params::Design;
use serde::Serialize;

/// Wear and strength of a design.
#[derive(Clone, Debug, Serialize)]
pub struct Life {
    /// Wear.
    pub wear: wear::Wear,
    /// Strength.
    pub strength: strength::Strength,
    /// Pulled length at which to rehinge, and how it is found.
    pub rehinge: passport::Rehinge,
}

/// Everything of this chapter.
#[must_use]
pub fn life(design: &Design) -> Life {
    Life {
        wear: wear::wear(design),
        strength: strength::strength(design),
        rehinge: passport::rehinge(design),
    }
}

/// Cuts the dust of binary fractions off, for display in JSON.
fn tidy(x: f64) -> f64 {
    (x * 1e6).round() / 1e6
}
