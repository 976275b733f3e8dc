//! Gauss-Legendre samples along the edge curves.

use crate::solid::Curve;
use nalgebra::{Point3, Vector3};

/// Longest part of a circle integrated at once, radians: sine and cosine times a polynomial are then exact to rounding
/// at ten points.
const LONGEST_ARC: f64 = std::f64::consts::FRAC_PI_4;

/// Nodes and weights on -1..1 for `n` points: roots of the Legendre polynomial by Newton from the usual cosine guess.
pub(super) fn gauss(n: u32) -> Vec<(f64, f64)> {
    (1..=n)
        .map(|i| {
            let mut x = libm::cos(std::f64::consts::PI * (f64::from(i) - 0.25) / (f64::from(n) + 0.5));
            let mut slope = 1.0;
            for _ in 0..20 {
                let (mut p0, mut p1) = (1.0, x);
                for k in 2..=n {
                    let k = f64::from(k);
                    (p0, p1) = (p1, ((2.0 * k - 1.0) * x * p1 - (k - 1.0) * p0) / k);
                }
                slope = f64::from(n) * (x * p1 - p0) / (x * x - 1.0);
                let step = p1 / slope;
                x -= step;
                if step.abs() < 1e-16 {
                    break;
                }
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// A point of a curve and the step along it that its weight stands for.
pub(super) type Sample = (Point3<f64>, Vector3<f64>);

/// Samples for integrals along a whole curve.
pub(super) fn samples(curve: &Curve, rule: &[(f64, f64)]) -> Vec<Sample> {
    let mut breaks = curve.knots();
    if let Curve::Arc(a) = curve {
        let n = (a.sweep / LONGEST_ARC).ceil().clamp(1.0, 64.0);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let n = n as u32;
        breaks = (0..=n).map(|i| a.sweep * f64::from(i) / f64::from(n)).collect();
    }
    let mut out = Vec::with_capacity(rule.len() * breaks.len());
    for w in breaks.windows(2) {
        let (middle, half) = (0.5 * (w[0] + w[1]), 0.5 * (w[1] - w[0]));
        for &(x, weight) in rule {
            let t = middle + half * x;
            out.push((curve.point(t), curve.derivative(t) * (half * weight)));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rule_integrates_polynomials_up_to_its_degree() {
        // Abramowitz and Stegun, table 25.4: n = 2 has nodes 0.577350269189626, n = 10 has weight 0.295524224714753.
        assert!((gauss(2)[0].0 - 0.577_350_269_189_626).abs() < 1e-15);
        assert!(gauss(10).iter().any(|r| (r.1 - 0.295_524_224_714_753).abs() < 1e-15));
        for n in [10_u32, 16] {
            for power in 0..2 * n {
                let got: f64 = gauss(n).iter().map(|&(x, w)| w * x.powi(i32::try_from(power).unwrap())).sum();
                let exact = if power % 2 == 0 { 2.0 / f64::from(power + 1) } else { 0.0 };
                assert!((got - exact).abs() < 1e-14, "{n} {power}");
            }
        }
    }
}
