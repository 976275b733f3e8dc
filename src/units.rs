//! Lengths, angles and tolerances as types, so that a millimetre is never mistaken for a degree.

use serde::{Serialize, Serializer};
use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// A length in millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Mm(pub f64);

/// An angle in degrees.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Deg(pub f64);

/// A positive, finite length the result of an approximation may be wrong by.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Tolerance(f64);

impl Mm {
    /// The bare number of millimetres.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl Deg {
    /// The bare number of degrees.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
    /// The same angle in radians.
    #[must_use]
    pub fn radians(self) -> f64 {
        self.0.to_radians()
    }
    /// An angle given in radians.
    #[must_use]
    pub fn from_radians(a: f64) -> Self {
        Self(a.to_degrees())
    }
    /// Tangent of the angle.
    #[must_use]
    pub fn tan(self) -> f64 {
        libm::tan(self.radians())
    }
}

impl Tolerance {
    /// `None` unless `mm` is finite and above zero.
    #[must_use]
    pub fn new(mm: f64) -> Option<Self> {
        (mm.is_finite() && mm > 0.0).then_some(Self(mm))
    }
    /// The bare number of millimetres.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
    /// This tolerance times a factor above zero; itself if the product is not a tolerance.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self::new(self.0 * factor).unwrap_or(self)
    }
}

macro_rules! arithmetic {
    ($t:ident, $unit:literal) => {
        impl Add for $t {
            type Output = Self;
            fn add(self, o: Self) -> Self {
                Self(self.0 + o.0)
            }
        }
        impl Sub for $t {
            type Output = Self;
            fn sub(self, o: Self) -> Self {
                Self(self.0 - o.0)
            }
        }
        impl Neg for $t {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl Mul<f64> for $t {
            type Output = Self;
            fn mul(self, k: f64) -> Self {
                Self(self.0 * k)
            }
        }
        impl Div<f64> for $t {
            type Output = Self;
            fn div(self, k: f64) -> Self {
                Self(self.0 / k)
            }
        }
        impl Div for $t {
            type Output = f64;
            fn div(self, o: Self) -> f64 {
                self.0 / o.0
            }
        }
        impl Serialize for $t {
            fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
                s.serialize_f64(self.0)
            }
        }
        impl fmt::Display for $t {
            /// Two decimals unless a precision is given, then the unit.
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!("{:.*}", $unit), f.precision().unwrap_or(2), self.0)
            }
        }
    };
}
arithmetic!(Mm, " mm");
arithmetic!(Deg, "°");

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tolerance_is_above_zero_and_finite() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(Tolerance::new(bad).is_none(), "{bad}");
        }
        assert_eq!(Tolerance::new(0.005).map(Tolerance::get), Some(0.005));
    }

    #[test]
    fn lengths_print_with_their_unit() {
        assert_eq!(format!("{} {:.3}", Mm(0.5), Deg(45.0)), "0.50 mm 45.000°");
    }
}
