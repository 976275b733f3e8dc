//! Distance between the parallel surfaces two faces lie on, in closed form.

use super::interval::Interval;
use super::measure::{How, MeasureError, Measured};
use crate::solid::surface::SAME;
use crate::solid::{Face, Solid, Surface};
use crate::units::Mm;
use nalgebra::Point3;

/// Smallest of the distances between a surface of the first and one of the second set; every pair has to be parallel.
pub(super) fn level(solid: &Solid, a: &[usize], b: &[usize]) -> Result<Measured, MeasureError> {
    let mut best: Option<Measured> = None;
    for (f, g) in a.iter().flat_map(|&i| b.iter().map(move |&j| (&solid.faces[i], &solid.faces[j]))) {
        let (value, at) = between(solid, f, g)
            .ok_or_else(|| MeasureError::NotParallel { from: f.name.clone(), to: g.name.clone() })?;
        if best.as_ref().is_none_or(|m| Mm(value) < m.value) {
            best = Some(Measured {
                value: Mm(value),
                interval: Interval::exact(Mm(value)),
                at,
                between: [f.name.clone(), g.name.clone()],
                how: How::ClosedForm,
            });
        }
    }
    best.ok_or(MeasureError::NoPair)
}

/// Distance and a point of each surface, the first a corner of the first face; `None` if they are not parallel.
fn between(solid: &Solid, f: &Face, g: &Face) -> Option<(f64, [Point3<f64>; 2])> {
    let p = f.loops.first().and_then(|l| l.first()).map(|u| solid.vertices[solid.start_of(*u)])?;
    match (&f.surface, &g.surface) {
        (Surface::Plane(a), Surface::Plane(b)) => {
            // Canonical normals of parallel planes agree; hand-made ones may be opposite.
            let side = a.normal.dot(&b.normal).signum();
            if (a.normal - b.normal * side).norm() > SAME {
                return None;
            }
            let d = b.offset * side - a.offset;
            Some((d.abs(), [p, p + a.normal * d]))
        }
        (Surface::Cone(a), Surface::Cone(b)) => {
            let side = a.axis.dot(&b.axis).signum();
            let shift = b.origin - a.origin;
            let along = shift.dot(&a.axis);
            let slope = b.slope * side;
            if (a.axis - b.axis * side).norm() > SAME
                || (shift - a.axis * along).norm() > SAME
                || (a.slope - slope).abs() > SAME
            {
                return None;
            }
            // Normal distance of two parallel generators.
            let d = (b.radius - slope * along - a.radius) * a.cos_half_angle();
            let (angle, height) = a.angle_height(&p);
            let normal = f.surface.signed_distance(&a.at(angle, height)).1;
            Some((d.abs(), [p, p + normal * d]))
        }
        _ => None,
    }
}
