//! Wire gauges.

use crate::units::Mm;

/// Diameter of an American wire gauge (AWG, Brown & Sharpe): 0.127 · 92^((36 − n)/39) mm (ASTM B258).
/// `None` outside 1 to 40.
#[must_use]
pub fn awg(n: u32) -> Option<Mm> {
    (1..=40).contains(&n).then(|| Mm(0.127 * libm::pow(92.0, (36.0 - f64::from(n)) / 39.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gauges_agree_with_the_printed_table() {
        // garlanchain.com B & S table.
        for (n, mm) in [
            (10, 2.588),
            (12, 2.052),
            (14, 1.628),
            (16, 1.291),
            (18, 1.024),
            (20, 0.812),
            (22, 0.644),
            (24, 0.511),
            (26, 0.405),
            (28, 0.321),
            (30, 0.255),
            (36, 0.127),
        ] {
            let d = awg(n).expect("in range").get();
            assert!((d - mm).abs() < 6e-4, "AWG {n}: {d}");
        }
        assert!(awg(0).is_none() && awg(41).is_none());
    }
}
