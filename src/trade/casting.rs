//! From pattern to metal: weight factors, sprues, shrinkage, units of weight.

/// Grams in a troy ounce and in a pennyweight (AU Enterprises, Weights).
pub const TROY_OUNCE_G: f64 = 31.1035;
/// Grams in a pennyweight, a twentieth of it (same source).
pub const PENNYWEIGHT_G: f64 = 1.555_18;
/// Grams in a carat, by definition.
pub const CARAT_G: f64 = 0.2;

/// Weight of metal over weight of pattern: the ratio of the densities. The density of the pattern is to be asked for:
/// injection wax is near 0.95, casting resins run from 1.05 to 1.15.
#[must_use]
pub fn pattern_to_metal(metal_density: f64, pattern_density: f64) -> f64 {
    metal_density / pattern_density
}

/// Metal melted over metal in the castings, for sprues and button (common practice, no published source; the range read
/// is 1.10, katkramer.com, to 1.50 for the button alone, orchid.ganoksin.com 27807).
pub const MELT_FACTOR: f64 = 1.6;

/// Metal still on a casting, mm over its whole skin: polish and filing (common practice, no published source).
pub const SKIN: f64 = 0.05;

/// Linear shrinkage of two stages one after the other, from the shares of each.
#[must_use]
pub fn chained_shrink(a: f64, b: f64) -> f64 {
    1.0 - (1.0 - a) * (1.0 - b)
}

/// Factor a pattern is made larger by for a linear shrinkage s: 1/(1 − s), not 1 + s.
#[must_use]
pub fn enlarged(shrink: f64) -> f64 {
    1.0 / (1.0 - shrink)
}
