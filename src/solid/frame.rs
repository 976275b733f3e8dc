//! A right-handed orthonormal frame: where a primitive stands.

use super::surface::square_to;
use nalgebra::{Point3, Vector3};

/// Origin and three unit axes, right-handed, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Origin.
    pub origin: Point3<f64>,
    /// First axis.
    pub x: Vector3<f64>,
    /// Second axis.
    pub y: Vector3<f64>,
    /// Third axis.
    pub z: Vector3<f64>,
}

impl Frame {
    /// The world's axes at another origin.
    #[must_use]
    pub fn at(origin: Point3<f64>) -> Self {
        Self { origin, x: Vector3::x(), y: Vector3::y(), z: Vector3::z() }
    }
    /// Third axis along a direction, the first one square to it by a fixed rule.
    #[must_use]
    pub fn along(origin: Point3<f64>, direction: &Vector3<f64>) -> Self {
        let z = direction.normalize();
        let x = square_to(&z);
        Self { origin, x, y: z.cross(&x), z }
    }
    /// The axes given; the third follows from the first two, which must be unit and square to each other.
    #[must_use]
    pub fn with_axes(origin: Point3<f64>, x: Vector3<f64>, y: Vector3<f64>) -> Self {
        Self { origin, x, y, z: x.cross(&y) }
    }
    /// The world point with these coordinates in the frame.
    #[must_use]
    pub fn point(&self, x: f64, y: f64, z: f64) -> Point3<f64> {
        self.origin + self.x * x + self.y * y + self.z * z
    }
    /// The world vector with these components in the frame.
    #[must_use]
    pub fn vector(&self, v: &Vector3<f64>) -> Vector3<f64> {
        self.x * v.x + self.y * v.y + self.z * v.z
    }
    /// This frame, given in the coordinates of `outer`, as seen from the world.
    #[must_use]
    pub fn inside(&self, outer: &Self) -> Self {
        let o = self.origin;
        Self {
            origin: outer.point(o.x, o.y, o.z),
            x: outer.vector(&self.x),
            y: outer.vector(&self.y),
            z: outer.vector(&self.z),
        }
    }
    /// The frame that undoes this one: the world as seen from here.
    #[must_use]
    pub fn inverse(&self) -> Self {
        let o = self.origin.coords;
        let back = |v: &Vector3<f64>| Vector3::new(self.x.dot(v), self.y.dot(v), self.z.dot(v));
        let axis = |k: usize| Vector3::new(self.x[k], self.y[k], self.z[k]);
        Self { origin: Point3::from(-back(&o)), x: axis(0), y: axis(1), z: axis(2) }
    }
}
