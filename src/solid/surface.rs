//! Analytic surfaces: plane, cylinder, cone, sphere, torus. One type serves cylinder and cone (a cylinder is a cone of slope
//! zero), one sphere and torus (see [`super::torus`]).

use super::torus::Torus;
use nalgebra::{Point3, Vector3};

/// Two surfaces closer than this, in mm, are one surface.
///
/// Dimensions come from decimal text of four places or fewer, so distinct surfaces differ by 1e-4; sums and products of
/// such numbers carry noise near 1e-15. 1e-8 lies far from both.
pub const SAME: f64 = 1e-8;

/// An unbounded analytic surface in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Surface {
    /// All points with `normal . p = offset`.
    Plane(Plane),
    /// A right circular cone, or a cylinder when the slope is zero.
    Cone(Cone),
    /// A torus, or a sphere when its major radius is zero. No recipe has it: booleans do not know it yet.
    Torus(Torus),
}

/// `normal . p = offset`, the normal being a unit vector.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// Unit normal.
    pub normal: Vector3<f64>,
    /// Signed distance from the origin along the normal, mm.
    pub offset: f64,
}

/// Radius `radius + slope * h` at height `h` along `axis` from `origin`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cone {
    /// Point of the axis at height zero.
    pub origin: Point3<f64>,
    /// Unit vector along the axis.
    pub axis: Vector3<f64>,
    /// Unit vector square to the axis where the angle is zero.
    pub reference: Vector3<f64>,
    /// Radius at height zero, mm.
    pub radius: f64,
    /// Change of radius per unit of height; zero for a cylinder.
    pub slope: f64,
}

/// A unit vector square to `axis` that depends on nothing else.
#[must_use]
pub fn square_to(axis: &Vector3<f64>) -> Vector3<f64> {
    let helper = if axis.z.abs() < 0.9 { Vector3::z() } else { Vector3::x() };
    (helper - axis * helper.dot(axis)).normalize()
}

/// Whether a direction has to be turned round to point into the canonical half space.
fn points_backwards(a: &Vector3<f64>) -> bool {
    // A component below 1e-7 is noise in a unit vector; the next one decides.
    [a.z, a.y, a.x].into_iter().find(|c| c.abs() > 1e-7).is_some_and(|c| c < 0.0)
}

impl Plane {
    /// The plane through `point`, its normal turned into the canonical half space.
    #[must_use]
    pub fn canonical(point: &Point3<f64>, normal: &Vector3<f64>) -> Self {
        let n = normal.normalize();
        let n = if points_backwards(&n) { -n } else { n };
        Self { normal: n, offset: n.dot(&point.coords) }
    }
    /// In-plane axes; with the normal they are right-handed.
    #[must_use]
    pub fn axes(&self) -> (Vector3<f64>, Vector3<f64>) {
        let u = square_to(&self.normal);
        (u, self.normal.cross(&u))
    }
}

impl Cone {
    /// The cone with `radius` at `point` of its axis, in canonical form: the axis turned into the canonical half space,
    /// the origin the axis point closest to the world origin.
    #[must_use]
    pub fn canonical(point: &Point3<f64>, axis: &Vector3<f64>, radius: f64, slope: f64) -> Self {
        let (mut axis, mut slope) = (axis.normalize(), slope);
        if points_backwards(&axis) {
            axis = -axis;
            slope = -slope;
        }
        let h = -axis.dot(&point.coords);
        Self {
            origin: point + axis * h,
            axis,
            reference: square_to(&axis),
            radius: radius + slope * h,
            slope,
        }
    }
    /// True for a cylinder.
    #[must_use]
    pub fn is_cylinder(&self) -> bool {
        self.slope.abs() < SAME
    }
    /// Third axis: `axis x reference`.
    #[must_use]
    pub fn side(&self) -> Vector3<f64> {
        self.axis.cross(&self.reference)
    }
    /// Radius at a height above the origin, mm.
    #[must_use]
    pub fn radius_at(&self, height: f64) -> f64 {
        self.radius + self.slope * height
    }
    /// Cosine of the half angle at the apex; 1 for a cylinder.
    #[must_use]
    pub fn cos_half_angle(&self) -> f64 {
        1.0 / (1.0 + self.slope * self.slope).sqrt()
    }
    /// Angle in (-pi, pi] and height of a point.
    #[must_use]
    pub fn angle_height(&self, p: &Point3<f64>) -> (f64, f64) {
        let w = p - self.origin;
        (libm::atan2(w.dot(&self.side()), w.dot(&self.reference)), w.dot(&self.axis))
    }
    /// Unit vector square to the axis at an angle.
    #[must_use]
    pub fn spoke(&self, angle: f64) -> Vector3<f64> {
        self.reference * libm::cos(angle) + self.side() * libm::sin(angle)
    }
    /// The surface point at an angle and a height.
    #[must_use]
    pub fn at(&self, angle: f64, height: f64) -> Point3<f64> {
        self.origin + self.axis * height + self.spoke(angle) * self.radius_at(height)
    }
    /// The plane through the axis that holds the ruling at an angle.
    #[must_use]
    pub fn axial_plane(&self, angle: f64) -> Plane {
        let normal = self.side() * libm::cos(angle) - self.reference * libm::sin(angle);
        Plane::canonical(&self.origin, &normal)
    }
}

impl Surface {
    /// The plane through `point`, canonical.
    #[must_use]
    pub fn plane(point: &Point3<f64>, normal: &Vector3<f64>) -> Self {
        Self::Plane(Plane::canonical(point, normal))
    }
    /// The cone with `radius` at `point` of its axis, canonical.
    #[must_use]
    pub fn cone(point: &Point3<f64>, axis: &Vector3<f64>, radius: f64, slope: f64) -> Self {
        Self::Cone(Cone::canonical(point, axis, radius, slope))
    }
    /// Signed distance, exact near the surface, and its unit gradient.
    ///
    /// Positive outside a cone and on the side a plane's normal points to. On a cone beyond its apex the distance is that
    /// to the mirrored nappe's generator: keep faces clear of the apex.
    #[must_use]
    pub fn signed_distance(&self, p: &Point3<f64>) -> (f64, Vector3<f64>) {
        match self {
            Self::Plane(s) => (s.normal.dot(&p.coords) - s.offset, s.normal),
            Self::Cone(s) => {
                let w = p - s.origin;
                let h = w.dot(&s.axis);
                let q = w - s.axis * h;
                let m = q.norm();
                // On the axis every direction is as good; below 1e-12 the quotient is noise.
                let e = if m > 1e-12 { q / m } else { s.reference };
                let c = s.cos_half_angle();
                ((m - s.radius_at(h)) * c, (e - s.axis * s.slope) * c)
            }
            Self::Torus(s) => s.signed_distance(p),
        }
    }
    /// Distance, mm.
    #[must_use]
    pub fn distance(&self, p: &Point3<f64>) -> f64 {
        self.signed_distance(p).0.abs()
    }
    /// Zero for the same surface, small for nearly the same, infinite for unrelated ones.
    #[must_use]
    pub fn gap(&self, other: &Self) -> f64 {
        // Directions weigh ten times: a part is at most about 10 mm across.
        match (self, other) {
            (Self::Plane(a), Self::Plane(b)) => {
                (a.normal - b.normal).norm() * 10.0 + (a.offset - b.offset).abs()
            }
            (Self::Cone(a), Self::Cone(b)) => {
                (a.axis - b.axis).norm() * 10.0
                    + (a.origin - b.origin).norm()
                    + (a.radius - b.radius).abs()
                    + (a.slope - b.slope).abs() * 10.0
            }
            (Self::Torus(a), Self::Torus(b)) if a.is_sphere() == b.is_sphere() => {
                // The axis of a sphere, and which way that of a torus points, belong to the face.
                let turn = if a.is_sphere() { 0.0 } else { a.axis.cross(&b.axis).norm() };
                turn * 10.0
                    + (a.centre - b.centre).norm()
                    + (a.major - b.major).abs()
                    + (a.minor - b.minor).abs()
            }
            _ => f64::INFINITY,
        }
    }
    /// Whether both are one surface within [`SAME`].
    #[must_use]
    pub fn same(&self, other: &Self) -> bool {
        self.gap(other) < SAME
    }
    /// Whether both are surfaces of revolution about one axis.
    #[must_use]
    pub fn coaxial(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Cone(a), Self::Cone(b)) => {
                (a.axis - b.axis).norm() < SAME && (a.origin - b.origin).norm() < SAME
            }
            _ => false,
        }
    }
    /// `plane`, `cylinder`, `cone`, `sphere` or `torus`.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Plane(_) => "plane",
            Self::Cone(c) if c.is_cylinder() => "cylinder",
            Self::Cone(_) => "cone",
            Self::Torus(t) if t.is_sphere() => "sphere",
            Self::Torus(_) => "torus",
        }
    }
}
