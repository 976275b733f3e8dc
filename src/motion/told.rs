//! The bounds of a movement as they are printed: rounded outwards, so that they stay bounds, and with as many digits as it takes to
//! show on which side of them a closed form lies.

use super::measure::Moved;

/// Digits after the point, at least and at most.
const DIGITS: [i32; 2] = [2, 9];

/// The angles of a movement in degrees, ready to print.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// Proved free up to here, rounded down.
    pub free_to: String,
    /// Contact proved by here, rounded up.
    pub touches_by: Option<String>,
    /// The closed form.
    pub form: Option<String>,
}

/// A movement's angles ready to print.
#[must_use]
pub fn told(m: &Moved) -> Told {
    digits(m.free_to_deg, m.touches_by_deg, m.closed_form.as_ref().map(|c| c.deg))
}

/// The bounds of a movement in words.
#[must_use]
pub fn bounds(m: &Moved) -> String {
    let t = told(m);
    match t.touches_by {
        Some(by) => format!("{} to {by} deg", t.free_to),
        None => format!("at least {} deg", t.free_to),
    }
}

fn digits(free: f64, touches: Option<f64>, form: Option<f64>) -> Told {
    let mut n = DIGITS[0];
    loop {
        let ten = 10.0_f64.powi(n);
        let (low, high) = ((free * ten).floor(), touches.map(|t| (t * ten).ceil()));
        let middle = form.map(|f| (f * ten).round());
        let shown = form.zip(middle).is_none_or(|(f, m)| {
            (m < low) == (f < free) && high.zip(touches).is_none_or(|(h, t)| (m > h) == (f > t))
        });
        if shown || n == DIGITS[1] {
            let print = |x: f64| format!("{:.*}", usize::try_from(n).unwrap_or(1), x / ten);
            return Told { free_to: print(low), touches_by: high.map(print), form: middle.map(print) };
        }
        n += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn said(free: f64, touches: f64, form: f64) -> [String; 3] {
        let t = digits(free, Some(touches), Some(form));
        [t.free_to, t.touches_by.unwrap(), t.form.unwrap()]
    }

    #[test]
    fn a_contradiction_is_seen_in_what_is_printed() {
        assert_eq!(said(3.312, 3.355, 3.34), ["3.31", "3.36", "3.34"]);
        assert_eq!(said(3.31, 3.3551, 3.358), ["3.310", "3.356", "3.358"]);
        assert_eq!(said(3.31, 3.3612, 3.3614), ["3.3100", "3.3612", "3.3614"]);
        assert_eq!(said(3.31, 3.36, 3.2), ["3.31", "3.36", "3.20"]);
        assert_eq!(said(3.31, 3.36, 3.31), ["3.31", "3.36", "3.31"]);
        let free = digits(120.0, None, Some(29.95));
        assert_eq!((free.free_to.as_str(), free.touches_by), ("120.00", None));
    }

    proptest! {
        /// What is printed are bounds still, and the form stands to them as it does in truth, to the last digit there is.
        #[test]
        fn what_is_printed_is_true(free in 0.0..90.0_f64, wide in 0.0..1.0_f64, off in -1.0..2.0_f64, close in 1e-8..1e-3_f64) {
            for form in [free + off, free - close, free + wide + close] {
                let [low, high, shown] = said(free, free + wide, form).map(|s| s.parse::<f64>().unwrap());
                prop_assert!(low <= free && free + wide <= high, "{low} {high}");
                prop_assert_eq!(shown < low, form < free);
                prop_assert_eq!(shown > high, form > free + wide);
                prop_assert!((shown - form).abs() <= 0.005 + 1e-9);
            }
        }
    }
}
