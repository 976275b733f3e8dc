//! Twist drills: the metric series and the number series.

use crate::units::Mm;

/// Hundredths of a millimetre at which the metric series stands below 1 mm: N.00, N.02, N.05, N.08 (BS 328, as listed by
/// Wikipedia, Drill bit sizes).
const BELOW_ONE: [u32; 4] = [0, 2, 5, 8];

/// Number drills 80 to 60, inches (public tables of number drills; 60 from memory).
pub(super) const NUMBERS: [(u32, f64); 16] = [
    (80, 0.0135),
    (79, 0.0145),
    (78, 0.016),
    (77, 0.018),
    (76, 0.020),
    (75, 0.021),
    (74, 0.0225),
    (73, 0.024),
    (72, 0.025),
    (71, 0.026),
    (70, 0.028),
    (69, 0.0292),
    (68, 0.031),
    (67, 0.032),
    (66, 0.033),
    (60, 0.040),
];

/// The metric series from 0.20 to 2.95 mm: below 1 mm in steps of 0.02 and 0.03, above in steps of 0.05.
#[must_use]
pub fn metric() -> Vec<Mm> {
    let small = (2..10).flat_map(|tenth| BELOW_ONE.map(|h| tenth * 10 + h));
    let large = (0..40).map(|k| 100 + 5 * k);
    small.chain(large).map(|hundredths| Mm(f64::from(hundredths) / 100.0)).collect()
}

/// A number drill's diameter.
#[must_use]
pub fn number(n: u32) -> Option<Mm> {
    NUMBERS.iter().find(|d| d.0 == n).map(|d| Mm(d.1 * 25.4))
}

/// The largest metric drill that does not cut a hole larger than this.
#[must_use]
pub fn metric_below(hole: Mm) -> Option<Mm> {
    // A hole of 0.40 is drilled with 0.40, whatever a sum of fractions made of it.
    metric().into_iter().rfind(|d| d.get() <= hole.get() + 1e-9)
}

/// Every number drill with its diameter, the thinnest first.
pub fn numbers() -> impl Iterator<Item = (u32, Mm)> {
    NUMBERS.iter().map(|d| (d.0, Mm(d.1 * 25.4)))
}

/// The largest number drill that does not cut a hole larger than this: its number and diameter.
#[must_use]
pub fn number_below(hole: Mm) -> Option<(u32, Mm)> {
    NUMBERS.iter().rev().map(|d| (d.0, Mm(d.1 * 25.4))).find(|d| d.1.get() <= hole.get() + 1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_series_climb_and_the_largest_that_fits_is_taken() {
        let all = metric();
        assert_eq!(all.len(), 72);
        assert!(all.windows(2).all(|w| w[0] < w[1]));
        assert_eq!(metric_below(Mm(0.405)), Some(Mm(0.40)));
        assert_eq!(metric_below(Mm(0.1)), None);
        assert_eq!(number_below(Mm(0.70)).map(|d| d.0), Some(71)); // no. 70 is 0.711
        assert!(NUMBERS.windows(2).all(|w| w[0].1 < w[1].1));
    }
}
