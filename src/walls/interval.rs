//! A measured length with what is known about it, and what that says about a limit.

use crate::solid::surface::SAME;
use crate::units::Mm;

/// A length known to lie between two bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Never above the truth, mm.
    pub lower: Mm,
    /// Never below the truth, mm: the length of a real chord.
    pub upper: Mm,
}

/// What an interval says about a limit the length must reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Judgement {
    /// Every length the interval allows reaches the limit.
    Pass,
    /// No length the interval allows reaches it.
    Fail,
    /// The limit lies inside the interval, or a bound is no number.
    Unverified,
}

impl Interval {
    /// The interval of one known number.
    #[must_use]
    pub fn exact(value: Mm) -> Self {
        Self { lower: value, upper: value }
    }
    /// Upper bound less lower bound, mm.
    #[must_use]
    pub fn width(&self) -> Mm {
        self.upper - self.lower
    }
    /// Whether a length lies inside, ends included.
    #[must_use]
    pub fn holds(&self, length: Mm) -> bool {
        self.lower <= length && length <= self.upper
    }
}

/// Judges a length against the least it may be.
///
/// A wall short of its limit by less than [`SAME`] *is* at its limit: 0.88 less 0.38 is not 0.5 in binary, and a wall
/// designed at its limit passes. Dimensions of four decimals differ by 1e-4, so nothing real hides in 1e-8.
#[must_use]
pub fn judge(length: &Interval, limit: Mm) -> Judgement {
    let bar = limit.get() - SAME;
    // Comparisons with a NaN are false, so a broken bound ends as Unverified.
    if length.lower.get() >= bar && length.upper.get() >= length.lower.get() {
        Judgement::Pass
    } else if length.upper.get() < bar {
        Judgement::Fail
    } else {
        Judgement::Unverified
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_an_interval_clear_of_the_limit_is_decided() {
        let i = |a, b| Interval { lower: Mm(a), upper: Mm(b) };
        assert_eq!(judge(&i(0.30, 0.31), Mm(0.30)), Judgement::Pass);
        assert_eq!(judge(&i(0.28, 0.299), Mm(0.30)), Judgement::Fail);
        assert_eq!(judge(&i(0.299, 0.301), Mm(0.30)), Judgement::Unverified);
        assert_eq!(judge(&i(f64::NAN, 1.0), Mm(0.30)), Judgement::Unverified);
        assert_eq!(judge(&i(1.0, f64::NAN), Mm(0.30)), Judgement::Unverified);
    }

    #[test]
    fn a_wall_designed_at_its_limit_passes_in_spite_of_binary_fractions() {
        let web = 1.1 - 0.6;
        assert!(web != 0.5);
        assert_eq!(judge(&Interval::exact(Mm(web)), Mm(0.5)), Judgement::Pass);
        assert_eq!(judge(&Interval::exact(Mm(0.4999)), Mm(0.5)), Judgement::Fail);
    }
}
