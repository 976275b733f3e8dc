//! Where a cone or cylinder comes near to touching another surface, in general position.
//!
//! Branch and bound over the angle and height of one surface, with the distance `f` from the other. Two surfaces whose
//! normals turn by at most `k1` and `k2` a millimetre have normals at angles that differ by at most `(k1 + k2) h` within `h`
//! of a point; `f` is constant to first order where the normals are parallel, and changes by at most
//! `h (sine + (k1 + k2) h)` else. So a cell is cleared, proved, if its normals cannot be parallel or its `f` cannot be
//! small. What cannot be cleared at the smallest size is a place of near tangency.

use super::surface::{Cone, Surface};
use nalgebra::{Point3, Vector3};

/// A part of a cone to be searched.
#[derive(Clone, Copy, Debug)]
pub struct Part {
    /// Angles from and to, radians.
    pub angle: [f64; 2],
    /// Heights from and to, mm.
    pub height: [f64; 2],
    /// Only places in this box count.
    pub low: Point3<f64>,
    /// Its upper corner.
    pub high: Point3<f64>,
}

/// A place of near tangency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Where, on the cone.
    pub at: Point3<f64>,
    /// Distance of the other surface there, mm; good to an eighth of the distance asked about.
    pub gap: f64,
}

/// Cells that may be looked at; two surfaces that need more are near each other over a whole area.
const BUDGET: usize = 20_000;

/// Radius at which a cone's normal is taken to turn no faster, mm: nearer to the apex than this no face may come anyway.
const APEX: f64 = 1e-3;

/// How fast a surface's normal turns at most within `h` of a point, radians a millimetre.
fn bend(s: &Surface, p: &Point3<f64>, h: f64) -> f64 {
    match s {
        Surface::Plane(_) => 0.0,
        Surface::Cone(c) => {
            let w = p - c.origin;
            let across = (w - c.axis * w.dot(&c.axis)).norm();
            c.cos_half_angle() / (across - h).max(APEX)
        }
        Surface::Torus(t) => 1.0 / (t.reach() - s.distance(p) - h).max(APEX),
    }
}

/// Places on `cone` inside `part` where `other` is within `near` mm of being tangent.
#[must_use]
pub fn places(cone: &Cone, other: &Surface, part: &Part, near: f64) -> Vec<Place> {
    let own = Surface::Cone(*cone);
    let mut out: Vec<Place> = Vec::new();
    let mut stack = vec![(part.angle, part.height)];
    let mut seen = 0;
    while let Some((a, v)) = stack.pop() {
        seen += 1;
        let (am, vm) = ((a[0] + a[1]) / 2.0, (v[0] + v[1]) / 2.0);
        let p = cone.at(am, vm);
        let widest = cone.radius_at(v[0]).abs().max(cone.radius_at(v[1]).abs());
        let (wide, long) = (widest * (a[1] - a[0]) / 2.0, (v[1] - v[0]) / 2.0 / cone.cos_half_angle());
        let h = libm::hypot(wide, long);
        if (0..3).any(|k| p[k] < part.low[k] - h || p[k] > part.high[k] + h) {
            continue;
        }
        let (f, normal) = other.signed_distance(&p);
        // The gradient of a distance has length one.
        if f.abs() - h > near {
            continue;
        }
        let sine = own.signed_distance(&p).1.cross(&normal).norm();
        let k = bend(&own, &p, h) + bend(other, &p, h);
        if sine > k * h || f.abs() - h * (sine + k * h) > near {
            continue;
        }
        // At this size the second bound is good to an eighth of `near`.
        let smallest = 0.25 * (near / k.max(1e-9)).sqrt();
        if h <= smallest || seen > BUDGET {
            // One place for all cells about it.
            if !out.iter().any(|o| (o.at - p).norm() < 8.0 * h) {
                out.push(Place { at: p, gap: f.abs() });
            }
            if seen > BUDGET {
                break;
            }
        } else if wide > long {
            stack.extend([([a[0], am], v), ([am, a[1]], v)]);
        } else {
            stack.extend([(a, [v[0], vm]), (a, [vm, v[1]])]);
        }
    }
    out
}

/// The nearest point where the two surfaces have one normal, and their distance there, mm. `None` where there is none
/// within `reach` mm.
#[must_use]
pub fn tangent_point(
    cone: &Cone,
    other: &Surface,
    from: &Point3<f64>,
    reach: f64,
) -> Option<(Point3<f64>, f64)> {
    // Steps for the derivative, mm: the square root of rounding.
    const STEP: f64 = 1e-6;
    // Normals parallel to this sine differ in height by its square.
    const PARALLEL: f64 = 1e-7;
    let own = Surface::Cone(*cone);
    let onto = |p: Point3<f64>| {
        let (d, n) = own.signed_distance(&p);
        p - n * d
    };
    let mut p = onto(*from);
    for _ in 0..20 {
        let n = own.signed_distance(&p).1;
        let t = cone.axis.cross(&n).try_normalize(1e-12)?;
        let frame = [t, n.cross(&t)];
        let tilt =
            |q: &Point3<f64>| -> Vector3<f64> { other.signed_distance(q).1.cross(&own.signed_distance(q).1) };
        let g = tilt(&p);
        if g.norm() < PARALLEL {
            return Some((p, other.distance(&p)));
        }
        // Least squares along the two tangents; a direction in which nothing changes is a common ruling.
        let d = frame.map(|u| (tilt(&onto(p + u * STEP)) - g) / STEP);
        let (a, b, c) = (d[0].norm_squared(), d[0].dot(&d[1]), d[1].norm_squared());
        let (x, y) = (-d[0].dot(&g), -d[1].dot(&g));
        let det = a * c - b * b;
        let step = if det > 1e-9 * (a + c) * (a + c) {
            frame[0] * ((x * c - y * b) / det) + frame[1] * ((y * a - x * b) / det)
        } else if a >= c {
            frame[0] * (x / a.max(1e-30))
        } else {
            frame[1] * (y / c)
        };
        p = onto(p + step);
        if !p.coords.iter().all(|c| c.is_finite()) || (p - from).norm() > reach {
            return None;
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn part(cone: &Cone, height: [f64; 2]) -> Part {
        let far = 100.0 + cone.radius;
        Part {
            angle: [0.0, TAU],
            height,
            low: Point3::new(-far, -far, -far),
            high: Point3::new(far, far, far),
        }
    }

    /// A cone about z of half angle atan(0.5) and a tube along y whose axis passes it at the distance where they touch, and
    /// then a gap more: at height h the cone's normal points along (2, 0, -1), so the tube of radius r whose axis goes
    /// through that point plus (r + gap) times the normal has just this gap.
    #[test]
    fn a_tube_beside_a_cone_is_found_with_its_gap() {
        let cone = Cone::canonical(&Point3::origin(), &Vector3::z(), 1.0, 0.5);
        let normal = Vector3::new(2.0, 0.0, -1.0).normalize();
        for gap in [0.0, 1e-4, -1e-4, 4e-3] {
            let centre = Point3::new(1.5, 0.0, 1.0) + normal * (0.7 + gap);
            let tube = Surface::cone(&centre, &Vector3::y(), 0.7, 0.0);
            let found = places(&cone, &tube, &part(&cone, [0.0, 3.0]), 5e-3);
            assert_eq!(found.len(), 1, "{gap}: {found:?}");
            let (p, exact) = tangent_point(&cone, &tube, &found[0].at, 1.0).unwrap();
            assert!((exact - gap.abs()).abs() < 1e-12, "{gap}: {exact}");
            assert!((p - Point3::new(1.5, 0.0, 1.0)).norm() < 1e-5);
            assert!((found[0].gap - gap.abs()).abs() < 5e-3 / 8.0);
            // Far below the gap there is nothing to find.
            if gap != 0.0 {
                assert!(places(&cone, &tube, &part(&cone, [0.0, 3.0]), gap.abs() / 10.0).is_empty());
            }
        }
    }

    #[test]
    fn a_plane_along_a_ruling_and_two_cones() {
        let cone = Cone::canonical(&Point3::origin(), &Vector3::z(), 1.0, 0.5);
        let normal = Vector3::new(2.0, 0.0, -1.0).normalize();
        let plane = Surface::plane(&(Point3::new(1.5, 0.0, 1.0) + normal * 1e-4), &normal);
        let found = places(&cone, &plane, &part(&cone, [0.0, 3.0]), 1e-3);
        assert!(!found.is_empty());
        for f in &found {
            assert!((tangent_point(&cone, &plane, &f.at, 1.0).unwrap().1 - 1e-4).abs() < 1e-12);
            assert!(f.at.y.abs() < 0.1 && f.at.x > 0.9);
        }
        // A cone that crosses the first one squarely has no such place.
        let other = Surface::cone(&Point3::new(0.0, 0.0, 1.5), &Vector3::x(), 0.4, 0.1);
        let s = places(&cone, &other, &part(&cone, [0.0, 3.0]), 1e-3);
        assert!(s.is_empty(), "{s:?}");
    }
}
