//! Student's t distribution: the quantiles that confidence intervals are drawn with.
//!
//! P(|T| > t) = I_x(n/2, 1/2), x = n/(n + t^2), the regularised incomplete beta function, by its continued fraction
//! (Abramowitz and Stegun, 26.5.8 and 26.7.1).

/// Share of |T| above t, n degrees of freedom.
fn outside(t: f64, n: f64) -> f64 {
    beta(n / 2.0, 0.5, n / (n + t * t))
}

/// t with P(|T| <= t) = `inside`, for n degrees of freedom (at least 1); by halving, to the last digit that matters.
#[must_use]
pub fn two_sided(inside: f64, n: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1e6);
    for _ in 0..120 {
        let middle = 0.5 * (low + high);
        if outside(middle, n) > 1.0 - inside { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// The regularised incomplete beta function.
fn beta(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    let front =
        libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b) + a * libm::log(x) + b * libm::log(1.0 - x);
    let front = libm::exp(front);
    if x < (a + 1.0) / (a + b + 2.0) {
        front * fraction(a, b, x) / a
    } else {
        1.0 - front * fraction(b, a, 1.0 - x) / b
    }
}

/// The continued fraction of the incomplete beta function, by Lentz's method.
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let guard = |v: f64| if v.abs() < TINY { TINY } else { v };
    let (mut c, mut d) = (1.0, 1.0 / guard(1.0 - (a + b) * x / (a + 1.0)));
    let mut h = d;
    for m in 1..500 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut step = 1.0;
        for k in [even, odd] {
            d = 1.0 / guard(1.0 + k * d);
            c = guard(1.0 + k / c);
            step = c * d;
            h *= step;
        }
        if (step - 1.0).abs() < 1e-15 {
            break;
        }
    }
    h
}

#[cfg(test)]
mod tests {
    use super::two_sided;

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, critical values of Student's t, column 0.975 and 0.995.
    #[test]
    fn quantiles_are_those_of_the_handbook() {
        for (n, t95, t99) in [
            (1, 12.706, 63.657),
            (4, 2.776, 4.604),
            (10, 2.228, 3.169),
            (30, 2.042, 2.750),
            (100, 1.984, 2.626),
        ] {
            assert!((two_sided(0.95, f64::from(n)) - t95).abs() < 6e-4, "{n}");
            assert!((two_sided(0.99, f64::from(n)) - t99).abs() < 6e-4, "{n}");
        }
    }
}
