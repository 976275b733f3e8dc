//! Proportions of a round brilliant and the weight formula.

use crate::units::Mm;

/// Pavilion depth as a share of the diameter (Reinitz, Gilbertson, Geurts, GIA: 40.7° and 43.0 %).
pub const PAVILION: f64 = 0.43;
/// Crown height as a share of the diameter (same source: 14.5 %).
pub const CROWN: f64 = 0.145;
/// Girdle thickness as a share of the diameter (same source: 2.5 %).
pub const GIRDLE: f64 = 0.025;
/// Table as a share of the diameter (same source: 57 %).
pub const TABLE: f64 = 0.57;
/// Share of the crown height the finished claw bead reaches above the girdle (60-80 % in the GIA benchmark
/// "Setting a round center stone, platinum prong"; the middle is taken).
pub const CLAW_BEAD: f64 = 0.70;

/// Weight in carat of a round brilliant of this diameter: 0.0061 d³ · 0.60 depth · 1.03 for a slightly thick
/// girdle (gemgate.com, gemfacts.com).
#[must_use]
pub fn round_carat(diameter: Mm) -> f64 {
    let d = diameter.get();
    0.0061 * d * d * d * 0.60 * 1.03
}

/// Trade sizes of round brilliants: diameter in mm, least and largest weight in carat as the two tables print them
/// (aakashdiamonds.com, neweysjewellers.co.uk). They disagree at half a carat, 5.0 against 5.2 mm; the formula gives 5.1, and
/// 5.2 stands here. The rows of 1.1 and 1.2 mm in the first are misprints and left out.
pub const TRADE_SIZES: [(f64, f64, f64); 10] = [
    (1.3, 0.010, 0.010),
    (1.5, 0.015, 0.015),
    (2.0, 0.030, 0.035),
    (2.5, 0.050, 0.065),
    (3.0, 0.100, 0.110),
    (3.5, 0.170, 0.170),
    (4.0, 0.250, 0.250),
    (4.1, 0.250, 0.250),
    (5.2, 0.500, 0.500),
    (6.5, 1.000, 1.000),
];

/// The row of the trade sizes nearest to a diameter; the smaller at a tie.
#[must_use]
pub fn trade_size(diameter: Mm) -> (f64, f64, f64) {
    let off = |r: &(f64, f64, f64)| (r.0 - diameter.get()).abs();
    let first = TRADE_SIZES[0];
    TRADE_SIZES.iter().fold(first, |best, r| if off(r) + 1e-9 < off(&best) { *r } else { best })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_agree_with_the_trade_tables() {
        // aakashdiamonds.com and neweysjewellers.co.uk, ±8 % as their own spread.
        for (d, ct) in [(3.0, 0.105), (4.0, 0.25), (6.5, 1.00)] {
            assert!((round_carat(Mm(d)) / ct - 1.0).abs() < 0.08, "{d} mm: {}", round_carat(Mm(d)));
        }
    }

    #[test]
    fn proportions_follow_from_the_reference_angles() {
        // Table 57 %, crown 34.0°, pavilion 40.7° (GIA reference round).
        let half_tan = |d: f64| 0.5 * libm::tan(d.to_radians());
        assert!((half_tan(40.7) - PAVILION).abs() < 5e-4);
        assert!(((1.0 - 0.57) * half_tan(34.0) - CROWN).abs() < 5e-4);
    }
}
