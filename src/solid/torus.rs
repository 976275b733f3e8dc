//! Torus and sphere: one type serves both, a sphere is a torus of major radius zero.

use nalgebra::{Point3, Vector3};

use super::surface::square_to;

/// All points at `minor` from a circle of radius `major` about the axis; from the centre itself if `major` is zero.
///
/// Axis, reference and tube seam also fix the coordinates of a face ([`Torus::coordinates`]), so that one surface may be
/// written in several ways; [`super::Surface::gap`] knows that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Torus {
    /// Centre.
    pub centre: Point3<f64>,
    /// Unit vector along the axis. Of a sphere: from the centre to the middle of the face; the face must not reach the
    /// point opposite.
    pub axis: Vector3<f64>,
    /// Unit vector square to the axis where the angle is zero.
    pub reference: Vector3<f64>,
    /// Radius of the circle the tube follows, mm; zero for a sphere, else above `minor`.
    pub major: f64,
    /// Radius of the tube or sphere, mm.
    pub minor: f64,
    /// Angle round the tube, from the outer equator towards the axis, where the face is not, radians.
    pub tube_seam: f64,
}

impl Torus {
    /// A sphere whose face lies about the direction `towards`.
    #[must_use]
    pub fn sphere(centre: Point3<f64>, towards: &Vector3<f64>, radius: f64) -> Self {
        let axis = towards.normalize();
        Self { centre, axis, reference: square_to(&axis), major: 0.0, minor: radius, tube_seam: 0.0 }
    }
    /// True for a sphere.
    #[must_use]
    pub fn is_sphere(&self) -> bool {
        self.major == 0.0
    }
    /// Third axis: `axis x reference`.
    #[must_use]
    pub fn side(&self) -> Vector3<f64> {
        self.axis.cross(&self.reference)
    }
    /// Unit vector square to the axis at an angle.
    #[must_use]
    pub fn spoke(&self, angle: f64) -> Vector3<f64> {
        self.reference * libm::cos(angle) + self.side() * libm::sin(angle)
    }
    /// The surface point at an angle round the axis and one round the tube, 0 on the outer equator and a quarter turn on
    /// the side the axis points to (of a sphere: longitude and latitude).
    #[must_use]
    pub fn at(&self, angle: f64, tube: f64) -> Point3<f64> {
        let (s, c) = libm::sincos(tube);
        self.centre + self.spoke(angle) * (self.major + self.minor * c) + self.axis * (self.minor * s)
    }
    /// Least radius of a ball that touches the surface from inside or outside in two points, mm: within this distance every
    /// point has one nearest point of the surface, and normals `d` apart differ by at most `2 asin(d / 2 reach)`
    /// (Boissonnat, Lieutier, Wintraecken, "The reach, metric distortion, geodesic convexity and the variation of tangent
    /// spaces", J. Appl. Comput. Topology 3, 2019).
    #[must_use]
    pub fn reach(&self) -> f64 {
        if self.is_sphere() { self.minor } else { self.minor.min(self.major - self.minor) }
    }
    /// Signed distance, positive outside the tube, and its unit gradient. On the axis of a torus and in the centre of a
    /// sphere or tube, where every direction is as good, one of them is taken.
    #[must_use]
    pub fn signed_distance(&self, p: &Point3<f64>) -> (f64, Vector3<f64>) {
        // Below this a direction is noise, mm.
        const NOWHERE: f64 = 1e-12;
        let w = p - self.centre;
        let from = if self.is_sphere() {
            w
        } else {
            let q = w - self.axis * w.dot(&self.axis);
            let m = q.norm();
            w - if m > NOWHERE { q / m } else { self.reference } * self.major
        };
        let m = from.norm();
        (m - self.minor, if m > NOWHERE { from / m } else { self.axis })
    }
    /// Coordinates on a face whose seam round the axis is given. Of a torus: angle past the seam and angle past the tube
    /// seam, both in 0..2 pi. Of a sphere: the angle from the axis, laid off from the origin in the direction of the point
    /// (azimuthal equidistant map). Right-handed seen from outside the tube.
    #[must_use]
    pub fn coordinates(&self, p: &Point3<f64>, seam: f64) -> [f64; 2] {
        use std::f64::consts::TAU;
        let w = p - self.centre;
        let (x, y, z) = (w.dot(&self.reference), w.dot(&self.side()), w.dot(&self.axis));
        let m = libm::hypot(x, y);
        if self.is_sphere() {
            let polar = libm::atan2(m, z);
            let k = if m > 0.0 { polar / m } else { 0.0 };
            return [k * x, k * y];
        }
        let tube = libm::atan2(z, m - self.major);
        [(libm::atan2(y, x) - seam).rem_euclid(TAU), (tube - self.tube_seam).rem_euclid(TAU)]
    }
    /// The point at [`Torus::coordinates`].
    #[must_use]
    pub fn from_coordinates(&self, c: [f64; 2], seam: f64) -> Point3<f64> {
        if self.is_sphere() {
            let polar = libm::hypot(c[0], c[1]);
            let k = if polar > 0.0 { libm::sin(polar) / polar } else { 1.0 };
            let n = self.reference * (k * c[0]) + self.side() * (k * c[1]) + self.axis * libm::cos(polar);
            return self.centre + n * self.minor;
        }
        self.at(c[0] + seam, c[1] + self.tube_seam)
    }
    /// Proved bound, mm, of the distance between the surface and the facet whose corners have these points of the surface
    /// and these coordinates of one face.
    ///
    /// Sphere: a point of the facet is a mean of the corners, so its squared distance from the centre is `r^2` less the
    /// variance of the corners, which is at most a third of the longest side squared. Torus: by Taylor's theorem a mean of
    /// points of a map lies within half the greatest second derivative times the variance of the coordinates from the point
    /// of the mean coordinates, and a variance is at most a quarter of the range squared (Popoviciu).
    #[must_use]
    pub fn facet_bound(&self, points: &[Point3<f64>; 3], c: &[[f64; 2]; 3]) -> f64 {
        if self.is_sphere() {
            let long = (0..3).map(|i| (points[i] - points[(i + 1) % 3]).norm_squared()).fold(0.0, f64::max);
            let inner = self.minor * self.minor - long / 3.0;
            return if inner > 0.0 { self.minor - inner.sqrt() } else { self.minor };
        }
        let range = |k: usize| {
            let x = c.map(|c| c[k]);
            let (low, high) = (x[0].min(x[1]).min(x[2]), x[0].max(x[1]).max(x[2]));
            (low, high - low)
        };
        let ((_, u), (v0, v)) = (range(0), range(1));
        // Greatest cosine over the range: the middle's, and no more than half the range from there.
        let middle = v0 + v / 2.0 + self.tube_seam;
        let nearest = (angle_from_zero(middle) - v / 2.0).max(0.0);
        let around = self.major + self.minor * libm::cos(nearest);
        let sine = (libm::sin(middle).abs() + v / 2.0).min(1.0);
        (around * u * u + 2.0 * self.minor * sine * u * v + self.minor * v * v) / 8.0
    }
}

/// Absolute angle in 0..=pi.
fn angle_from_zero(a: f64) -> f64 {
    use std::f64::consts::{PI, TAU};
    let a = a.rem_euclid(TAU);
    if a > PI { TAU - a } else { a }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn some() -> [Torus; 3] {
        let axis = Vector3::new(0.3, -0.5, 0.8).normalize();
        let centre = Point3::new(1.0, 2.0, -0.5);
        let torus =
            Torus { centre, axis, reference: square_to(&axis), major: 1.5, minor: 0.4, tube_seam: 2.0 };
        [torus, Torus { minor: 1.4, tube_seam: -1.0, ..torus }, Torus::sphere(centre, &axis, 0.7)]
    }

    #[test]
    fn points_lie_on_the_surface_and_coordinates_lead_back() {
        for t in some() {
            for i in 1..12 {
                for j in 1..12 {
                    let c = if t.is_sphere() {
                        [0.25 * f64::from(i) - 1.5, 0.25 * f64::from(j) - 1.5]
                    } else {
                        [0.5 * f64::from(i), 0.5 * f64::from(j)]
                    };
                    let p = t.from_coordinates(c, 0.7);
                    assert!(t.signed_distance(&p).0.abs() < 1e-14, "{t:?} {c:?}");
                    let d = t.coordinates(&p, 0.7);
                    assert!((d[0] - c[0]).abs() + (d[1] - c[1]).abs() < 1e-12, "{t:?} {c:?} {d:?}");
                    // Right-handed seen from outside, by finite differences.
                    let h = 1e-6;
                    let u = t.from_coordinates([c[0] + h, c[1]], 0.7) - p;
                    let v = t.from_coordinates([c[0], c[1] + h], 0.7) - p;
                    assert!(u.cross(&v).dot(&t.signed_distance(&p).1) > 0.0);
                }
            }
        }
    }

    #[test]
    fn the_gradient_is_that_of_the_distance() {
        for t in some() {
            for i in 0..60 {
                let x = f64::from(i);
                let p = t.centre
                    + Vector3::new(libm::sin(x * 1.3), libm::cos(x * 2.1), libm::sin(x * 0.7 + 1.0)) * 2.0;
                let (d, n) = t.signed_distance(&p);
                let h = 1e-6;
                for k in 0..3 {
                    let mut e = Vector3::zeros();
                    e[k] = h;
                    let slope = (t.signed_distance(&(p + e)).0 - t.signed_distance(&(p - e)).0) / (2.0 * h);
                    assert!((slope - n[k]).abs() < 1e-7, "{t:?} {p}");
                }
                // The foot of the normal lies on the surface.
                assert!(t.signed_distance(&(p - n * d)).0.abs() < 1e-13);
            }
        }
    }

    #[test]
    fn facets_lie_within_their_bound_which_is_not_idle() {
        for t in some() {
            for i in 0..40 {
                let x = f64::from(i);
                let at = |k: f64| {
                    [2.0 + libm::sin(x + k) * 0.2, 1.0 + libm::cos(x * 1.7 + 2.0 * k) * 0.3 + x * 0.05]
                };
                let c =
                    [at(0.0), at(2.0), at(4.0)].map(|c| if t.is_sphere() { c.map(|x| x * 0.5) } else { c });
                let p = c.map(|c| t.from_coordinates(c, 0.0));
                let bound = t.facet_bound(&p, &c);
                let mut seen = 0.0_f64;
                for a in 0..=20 {
                    for b in 0..=20 - a {
                        let q = p[0]
                            + (p[1] - p[0]) * (f64::from(a) / 20.0)
                            + (p[2] - p[0]) * (f64::from(b) / 20.0);
                        seen = seen.max(t.signed_distance(&q).0.abs());
                    }
                }
                assert!(seen <= bound, "{t:?} {i}: {seen} {bound}");
                assert!(bound < 40.0 * seen + 1e-3, "{t:?} {i}: {seen} {bound}");
            }
        }
    }

    #[test]
    fn centre_and_axis_have_a_distance_too() {
        for t in some() {
            let (d, n) = t.signed_distance(&t.centre);
            assert!((n.norm() - 1.0).abs() < 1e-12);
            let expected = if t.is_sphere() { -t.minor } else { t.major - t.minor };
            assert!((d - expected).abs() < 1e-12);
        }
    }
}
