//! Distance of whole surfaces in closed form, a lower bound for all faces on them.

use crate::solid::{Cone, Plane, Surface};

/// Directions that differ by less are parallel: rounding of a turned unit vector is 1e-15. What the difference can do to
/// a distance within [`REACH`] is taken off the bound.
const PARALLEL: f64 = 1e-12;
/// No point of a part lies farther than this from the origin of its surfaces, mm.
const REACH: f64 = 100.0;

/// A number no chord between the two surfaces is shorter than, mm; 0 where no closed form is known.
///
/// Parallel planes: difference of offsets. Plane along a cylinder: d - r. Parallel cylinders: c - r1 - r2 outside each
/// other, |r1 - r2| - e inside. Coaxial cones of one slope: difference of radii times the cosine of the half angle.
pub(super) fn gap(a: &Surface, b: &Surface) -> f64 {
    let g = match (a, b) {
        (Surface::Plane(p), Surface::Plane(q)) => planes(p, q),
        (Surface::Plane(p), Surface::Cone(c)) | (Surface::Cone(c), Surface::Plane(p)) => along(p, c),
        (Surface::Cone(c), Surface::Cone(d)) => cones(c, d),
        (Surface::Torus(_), _) | (_, Surface::Torus(_)) => None,
    };
    g.map_or(0.0, |x| (x - PARALLEL * REACH).max(0.0))
}

fn planes(p: &Plane, q: &Plane) -> Option<f64> {
    let side = p.normal.dot(&q.normal).signum();
    ((p.normal - q.normal * side).norm() < PARALLEL).then(|| (p.offset - q.offset * side).abs())
}

fn along(p: &Plane, c: &Cone) -> Option<f64> {
    (c.slope.abs() < PARALLEL && p.normal.dot(&c.axis).abs() < PARALLEL)
        .then(|| (p.normal.dot(&c.origin.coords) - p.offset).abs() - c.radius)
}

fn cones(c: &Cone, d: &Cone) -> Option<f64> {
    let side = c.axis.dot(&d.axis).signum();
    let slope = d.slope * side;
    if (c.axis - d.axis * side).norm() >= PARALLEL || (c.slope - slope).abs() >= PARALLEL {
        return None;
    }
    let shift = d.origin - c.origin;
    let h = shift.dot(&c.axis);
    let apart = (shift - c.axis * h).norm();
    let (r, s) = (c.radius, d.radius - slope * h);
    if c.slope.abs() < PARALLEL {
        Some((apart - r - s).max((r - s).abs() - apart))
    } else {
        (apart < PARALLEL).then(|| (r - s).abs() * c.cos_half_angle())
    }
}
