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

/// For each face a family of parallel surfaces, planes or coaxial cones of one slope, and its place in it, mm: two faces of one
/// family are as far apart as their places differ. `None` for spheres, tori and other surfaces.
#[must_use]
pub fn levels(solid: &Solid) -> Vec<Option<(usize, f64)>> {
    let mut first: Vec<&Surface> = Vec::new();
    let mut place = |s| {
        let found = first.iter().enumerate().find_map(|(k, f)| Some((k, step(f, s)?)));
        if found.is_none() && step(s, s).is_some() {
            first.push(s);
            return Some((first.len() - 1, 0.0));
        }
        found
    };
    solid.faces.iter().map(|f| place(&f.surface)).collect()
}

/// How far the second surface lies beyond the first, signed; `None` if they are not parallel.
fn step(a: &Surface, b: &Surface) -> Option<f64> {
    match (a, b) {
        (Surface::Plane(a), Surface::Plane(b)) => {
            // Canonical normals of parallel planes agree; hand-made ones may be opposite.
            let side = a.normal.dot(&b.normal).signum();
            ((a.normal - b.normal * side).norm() <= SAME).then_some(b.offset * side - a.offset)
        }
        (Surface::Cone(a), Surface::Cone(b)) => {
            let side = a.axis.dot(&b.axis).signum();
            let shift = b.origin - a.origin;
            let along = shift.dot(&a.axis);
            let slope = b.slope * side;
            let coaxial = (a.axis - b.axis * side).norm() <= SAME && (shift - a.axis * along).norm() <= SAME;
            // Normal distance of two parallel generators.
            (coaxial && (a.slope - slope).abs() <= SAME)
                .then(|| (b.radius - slope * along - a.radius) * a.cos_half_angle())
        }
        _ => None,
    }
}

/// Distance and a point of each surface, the first a corner of the first face; `None` if they are not parallel.
fn between(solid: &Solid, f: &Face, g: &Face) -> Option<(f64, [Point3<f64>; 2])> {
    let p = f.loops.first().and_then(|l| l.first()).map(|u| solid.vertices[solid.start_of(*u)])?;
    let d = step(&f.surface, &g.surface)?;
    let normal = match &f.surface {
        Surface::Plane(a) => a.normal,
        Surface::Cone(a) => {
            let (angle, height) = a.angle_height(&p);
            f.surface.signed_distance(&a.at(angle, height)).1
        }
        _ => return None,
    };
    Some((d.abs(), [p, p + normal * d]))
}
