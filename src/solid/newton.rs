//! Points common to several surfaces.

use super::surface::Surface;
use nalgebra::{Point3, Vector3};

/// Residual at which a point counts as lying on all surfaces, mm: well above rounding at part size (1e-15), well
/// below the 1e-7 that the contract of a solid allows.
const ON_ALL: f64 = 2e-10;

/// A component of a gradient that remains after the stronger ones are projected out, below which the equation adds
/// nothing (surfaces tangent or the same).
const DEPENDENT: f64 = 1e-4;

/// The point common to all surfaces that is reached from `start` by moving as little as possible.
///
/// One or two surfaces: a minimum-norm step; three or more: the three strongest equations. `None` when there is no
/// common point within 1 mm.
#[must_use]
pub fn common_point(surfaces: &[Surface], start: &Point3<f64>) -> Option<Point3<f64>> {
    let mut p = *start;
    let mut equations = Vec::with_capacity(surfaces.len());
    for _ in 0..60 {
        equations.clear();
        equations.extend(surfaces.iter().map(|s| s.signed_distance(&p)));
        let worst = equations.iter().map(|e| e.0.abs()).fold(0.0, f64::max);
        let step = minimum_norm_step(&mut equations);
        p += step;
        if !p.coords.iter().all(|c| c.is_finite()) || (p - start).norm() > 1.0 {
            return None;
        }
        // Quadratic convergence: at 1e-13 only rounding is left.
        if worst < 1e-13 || step.norm() < 1e-14 {
            break;
        }
    }
    surfaces.iter().all(|s| s.distance(&p) < ON_ALL).then_some(p)
}

/// Smallest x with gradient . x = -value for all equations, by Gram and Schmidt on the rows, strongest first.
fn minimum_norm_step(rows: &mut Vec<(f64, Vector3<f64>)>) -> Vector3<f64> {
    let mut x = Vector3::zeros();
    for _ in 0..rows.len().min(3) {
        // The first row that is stronger by more than noise wins, so that equal rows are taken in order.
        let mut best = (0, -1.0);
        for (i, r) in rows.iter().enumerate() {
            let m = r.1.norm();
            if m > best.1 + 1e-9 {
                best = (i, m);
            }
        }
        if best.1 < DEPENDENT {
            break;
        }
        let (value, gradient) = rows.swap_remove(best.0);
        let direction = gradient / best.1;
        let along = -value / best.1;
        x += direction * along;
        for r in rows.iter_mut() {
            let w = r.1.dot(&direction);
            r.1 -= direction * w;
            r.0 += w * along;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_surfaces_meet_where_the_closed_form_says() {
        // Cylinder of radius 1 about z, planes x = 0.6 and z = 0.25: (0.6, 0.8, 0.25).
        let s = [
            Surface::cone(&Point3::origin(), &Vector3::z(), 1.0, 0.0),
            Surface::plane(&Point3::new(0.6, 0.0, 0.0), &Vector3::x()),
            Surface::plane(&Point3::new(0.0, 0.0, 0.25), &Vector3::z()),
        ];
        let p = common_point(&s, &Point3::new(0.5, 0.9, 0.3)).unwrap();
        assert!((p - Point3::new(0.6, 0.8, 0.25)).norm() < 1e-14);
    }

    #[test]
    fn parallel_planes_have_no_common_point() {
        let s = [0.0, 0.1].map(|z| Surface::plane(&Point3::new(0.0, 0.0, z), &Vector3::z()));
        assert!(common_point(&s, &Point3::origin()).is_none());
    }
}
