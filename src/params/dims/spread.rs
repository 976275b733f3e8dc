//! An estimate with its range.

use serde::Serialize;

/// An estimate with its range.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Estimate {
    /// The least it is expected to be.
    pub low: f64,
    /// What the closed form gives.
    pub usual: f64,
    /// The most.
    pub high: f64,
}

/// The range of `f` about `at` when each of its numbers may be off by `by` either way, independently of the others: what each does
/// alone, added as the root of the squares (the usual propagation of independent tolerances, e.g. JCGM 100:2008, 5.1.2, here with
/// differences for derivatives, and either side for itself).
pub(crate) fn spread<const N: usize>(f: impl Fn([f64; N]) -> f64, at: [f64; N], by: [f64; N]) -> Estimate {
    let usual = f(at);
    let (mut down, mut up) = (0.0, 0.0);
    for i in 0..N {
        let moved = |by: f64| {
            let mut x = at;
            x[i] += by;
            f(x)
        };
        let (a, b) = (moved(by[i]), moved(-by[i]));
        let (less, more) = ((usual - a.min(b)).max(0.0), (a.max(b) - usual).max(0.0));
        down += less * less;
        up += more * more;
    }
    Estimate { low: (usual - down.sqrt()).max(0.0), usual, high: usual + up.sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A product of powers: relative deviations times the powers, as the root of squares, to first order (JCGM 100:2008, 5.1.6).
    #[test]
    fn of_a_product_of_powers() {
        let e = spread(|[a, b]| a * b * b * b, [2.0, 5.0], [0.02 * 0.01, 0.05 * 0.01]);
        let share = libm::hypot(1e-4, 3e-4);
        assert!((e.usual - 250.0).abs() < 1e-12);
        assert!((e.high / e.usual - 1.0 - share).abs() < 1e-3 * share, "{e:?}");
        assert!((1.0 - e.low / e.usual - share).abs() < 1e-3 * share, "{e:?}");
    }

    /// Where only one side moves it, only that side of the range is wide.
    #[test]
    fn of_what_bends_to_one_side() {
        let e = spread(|[a]| a * a, [0.0], [0.5]);
        assert_eq!([e.low, e.usual, e.high], [0.0, 0.0, 0.25]);
    }
}
