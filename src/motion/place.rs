//! Where a moving body stands: turned about an axis of its own, then shifted.

use crate::units::Deg;
use nalgebra::{Matrix3, Point3, Vector3};

/// The axis a body turns about. The body's own frame is its frame at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// A point of the axis, mm, in the body's frame.
    pub pivot: Point3<f64>,
    /// Unit vector along the axis.
    pub axis: Vector3<f64>,
    /// Where the pivot is when nothing is turned or shifted, mm, in the frame of what stands still.
    pub home: Point3<f64>,
}

/// A position of the moving body: turned by the right-hand rule, then shifted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Angle from the position at rest.
    pub angle: Deg,
    /// Shift of the pivot from its home, mm.
    pub shift: Vector3<f64>,
}

/// A rigid motion: rotation matrix and shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Rotation.
    pub turn: Matrix3<f64>,
    /// Shift after it, mm.
    pub shift: Vector3<f64>,
}

impl Pose {
    /// At rest.
    pub const REST: Self = Self { angle: Deg(0.0), shift: Vector3::new(0.0, 0.0, 0.0) };
    /// The pose a share of the way to another, 0 to 1.
    #[must_use]
    pub fn toward(&self, to: &Self, share: f64) -> Self {
        Self {
            angle: self.angle + (to.angle - self.angle) * share,
            shift: self.shift + (to.shift - self.shift) * share,
        }
    }
}

impl Turn {
    /// The rigid motion of a pose, after Rodrigues.
    #[must_use]
    pub fn place(&self, pose: &Pose) -> Place {
        let (s, c) = libm::sincos(pose.angle.radians());
        let k = self.axis.cross_matrix();
        let turn = Matrix3::identity() + k * s + (k * k) * (1.0 - c);
        Place { turn, shift: self.home.coords + pose.shift - turn * self.pivot.coords }
    }
    /// Distance of a point of the body from its axis, mm.
    #[must_use]
    pub fn arm(&self, p: &Point3<f64>) -> f64 {
        (p - self.pivot).cross(&self.axis).norm()
    }
}

impl Place {
    /// No motion.
    #[must_use]
    pub fn none() -> Self {
        Self { turn: Matrix3::identity(), shift: Vector3::zeros() }
    }
    /// The image of a point.
    #[must_use]
    pub fn point(&self, p: &Point3<f64>) -> Point3<f64> {
        Point3::from(self.turn * p.coords + self.shift)
    }
    /// The point whose image this is.
    #[must_use]
    pub fn back(&self, p: &Point3<f64>) -> Point3<f64> {
        Point3::from(self.turn.tr_mul(&(p.coords - self.shift)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_turn_about_y_takes_x_down() {
        let t =
            Turn { pivot: Point3::new(1.0, 0.0, 0.5), axis: Vector3::y(), home: Point3::new(3.0, 0.0, 0.5) };
        let place = t.place(&Pose { angle: Deg(90.0), shift: Vector3::new(0.1, 0.0, 0.0) });
        let p = place.point(&Point3::new(2.0, 1.0, 0.5));
        assert!((p - Point3::new(3.1, 1.0, -0.5)).norm() < 1e-12, "{p}");
        assert!((place.back(&p) - Point3::new(2.0, 1.0, 0.5)).norm() < 1e-12);
        assert!((t.arm(&Point3::new(2.0, 1.0, 0.5)) - 1.0).abs() < 1e-12);
    }
}
