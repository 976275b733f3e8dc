//! Two cones or cylinders about one sphere: they cross in two plane curves instead of one space curve.
//!
//! Monge's theorem: two surfaces of revolution of the second order that touch a common sphere along circles meet in two
//! conics. With `w` measured from the sphere's centre, each surface is `|w|^2 - rho^2 = l(w)^2`, the plane `l = 0` holding
//! its circle of contact; subtracting the two leaves `(l1 - l2)(l1 + l2) = 0`. Where both planes and both surfaces meet,
//! the surfaces touch each other and the two conics cross. Equal cylinders with crossing axes are the common case.

use super::surface::{Cone, Plane, SAME, Surface};
use nalgebra::{Point3, Vector3};

/// Axes whose directions differ by less than the angle of this sine have no crossing worth the name: with radii that agree
/// to [`SAME`] it would lie a tenth of a micrometre off.
const PARALLEL: f64 = 0.1;

/// The two planes that hold the common curve of two such surfaces, and the points where the surfaces touch.
#[derive(Clone, Debug, PartialEq)]
pub struct CommonSphere {
    /// Planes of the two conics.
    pub planes: [Plane; 2],
    /// Points where the conics cross; none if they miss each other.
    pub crossings: Vec<Point3<f64>>,
}

/// The contact plane of a cone with the sphere about a point of its axis: `direction . w + offset = 0`, and the radius of
/// that sphere, mm.
fn contact(c: &Cone, centre: &Point3<f64>) -> (Vector3<f64>, f64, f64) {
    let radius = c.radius_at((centre - c.origin).dot(&c.axis));
    let stretch = (1.0 + c.slope * c.slope).sqrt();
    (c.axis * stretch, radius * c.slope / stretch, radius / stretch)
}

/// The common sphere of two surfaces, if they have one within [`SAME`].
#[must_use]
pub fn common_sphere(a: &Surface, b: &Surface) -> Option<CommonSphere> {
    let (Surface::Cone(a), Surface::Cone(b)) = (a, b) else { return None };
    let cross = a.axis.cross(&b.axis);
    if cross.norm() < PARALLEL {
        return None;
    }
    let u = cross.normalize();
    let between = b.origin - a.origin;
    if between.dot(&u).abs() > SAME {
        return None;
    }
    // The axes meet here, both seen from halfway between them.
    let along = between.cross(&b.axis).dot(&cross) / cross.norm_squared();
    let centre = a.origin + a.axis * along + u * (between.dot(&u) / 2.0);
    let (l, e, rho) = contact(a, &centre);
    let (m, f, other) = contact(b, &centre);
    if rho <= 0.0 || (rho - other).abs() > SAME {
        return None;
    }
    let plane = |sign: f64| {
        let normal = l - m * sign;
        let length = normal.norm();
        let normal = normal / length;
        Plane { normal, offset: normal.dot(&centre.coords) - (e - f * sign) / length }
    };
    // The point of the axes' plane on both contact planes: a.axis . w = p, b.axis . w = q.
    let (p, q) = (-e / l.norm(), -f / m.norm());
    let cosine = a.axis.dot(&b.axis);
    let det = cross.norm_squared();
    let w = a.axis * ((p - cosine * q) / det) + b.axis * ((q - cosine * p) / det);
    let rise = rho * rho - w.norm_squared();
    let crossings = if rise > 0.0 {
        let t = u * rise.sqrt();
        vec![centre + w + t, centre + w - t]
    } else {
        Vec::new()
    };
    Some(CommonSphere { planes: [plane(1.0), plane(-1.0)], crossings })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_cylinders_cross_in_the_bisecting_planes() {
        let a = Surface::cone(&Point3::new(0.0, 0.0, 3.0), &Vector3::z(), 1.5, 0.0);
        let b = Surface::cone(&Point3::new(-2.0, 0.0, 0.5), &Vector3::x(), 1.5, 0.0);
        let s = common_sphere(&a, &b).unwrap();
        assert_eq!(s.crossings.len(), 2);
        for p in &s.crossings {
            assert!(a.distance(p) < 1e-15 && b.distance(p) < 1e-15);
            assert!((p - Point3::new(0.0, 0.0, 0.5)).norm() - 1.5 < 1e-15);
        }
        for p in &s.planes {
            assert!((p.normal.x.abs() - p.normal.z.abs()).abs() < 1e-15 && p.normal.y.abs() < 1e-15);
        }
        let thinner = Surface::cone(&Point3::origin(), &Vector3::x(), 1.5 - 1e-6, 0.0);
        assert!(common_sphere(&a, &thinner).is_none());
        let beside = Surface::cone(&Point3::new(0.0, 1e-6, 0.0), &Vector3::x(), 1.5, 0.0);
        assert!(common_sphere(&a, &beside).is_none());
    }

    #[test]
    fn a_cone_and_a_cylinder_about_one_sphere_share_points_of_both_planes() {
        // Sphere of radius 1 about the origin: cylinder along x of radius 1, cone along z with slope -0.4 whose radius at
        // height zero is sqrt(1 + 0.16).
        let cone = Surface::cone(&Point3::origin(), &Vector3::z(), 1.16_f64.sqrt(), -0.4);
        let tube = Surface::cone(&Point3::origin(), &Vector3::x(), 1.0, 0.0);
        let s = common_sphere(&cone, &tube).unwrap();
        for p in &s.crossings {
            assert!(cone.distance(p) < 1e-15 && tube.distance(p) < 1e-15);
        }
        // Points of the tube in either plane lie on the cone too.
        let Surface::Cone(t) = tube else { panic!() };
        for plane in &s.planes {
            for k in 0..24 {
                let angle = f64::from(k) * std::f64::consts::TAU / 24.0;
                let foot = t.at(angle, 0.0);
                let h = (plane.offset - plane.normal.dot(&foot.coords)) / plane.normal.dot(&t.axis);
                assert!(cone.distance(&t.at(angle, h)) < 1e-14, "{angle}");
            }
        }
    }
}
