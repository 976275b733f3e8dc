//! Nearest points by alternating projection: turns a good chord into a stationary one.

use super::cell::{Cell, Shape};
use crate::solid::{Curve, Solid};
use nalgebra::Point3;

/// Newton steps of a projection onto a curve; each squares the error near the foot.
const CURVE_STEPS: usize = 12;

/// The point nearest to `p` on what the cell is a piece of, near the cell: on the unbounded surface of a patch, on the
/// smooth part of an edge that holds the piece.
pub(super) fn foot(solid: &Solid, cell: &Cell, p: &Point3<f64>, near: f64) -> (Point3<f64>, f64) {
    match cell.shape {
        Shape::Corner => (cell.centre, 0.0),
        Shape::Patch { .. } => {
            let (d, n) = solid.faces[cell.face].surface.signed_distance(p);
            (p - n * d, 0.0)
        }
        Shape::Piece { edge, t } => {
            let c = &solid.edges[edge].curve;
            let t = curve_foot(c, p, if near.is_nan() { f64::midpoint(t[0], t[1]) } else { near });
            (c.point(t), t)
        }
    }
}

/// Parameter of a point of a curve at least as near to `p` as the one at `t`.
fn curve_foot(c: &Curve, p: &Point3<f64>, t: f64) -> f64 {
    let (mut t, end) = (t, c.end_parameter());
    let mut best = (c.point(t) - p).norm_squared();
    for _ in 0..CURVE_STEPS {
        let (x, d) = (c.point(t) - p, c.derivative(t));
        let speed = d.norm_squared();
        if speed <= 0.0 {
            break;
        }
        // Second derivative by a difference: it only steers, every step is checked.
        let h = end * 1e-6;
        let second = (c.derivative((t + h).min(end)) - c.derivative((t - h).max(0.0))) / (2.0 * h);
        let curvature = speed + x.dot(&second);
        let mut step = -x.dot(&d) / if curvature > 0.1 * speed { curvature } else { speed };
        let mut moved = false;
        // Halve until nearer; 2^-20 of a step is below what matters.
        for _ in 0..20 {
            let s = (t + step).clamp(0.0, end);
            let q = (c.point(s) - p).norm_squared();
            if q < best {
                (t, best, moved) = (s, q, true);
                break;
            }
            step *= 0.5;
        }
        if !moved {
            break;
        }
    }
    t
}

/// Alternates projections from a chord's first point for at most `rounds`; the chord never grows.
pub(super) fn settle(
    solid: &Solid,
    a: &Cell,
    b: &Cell,
    start: (Point3<f64>, Point3<f64>),
    rounds: usize,
) -> (Point3<f64>, Point3<f64>) {
    let (mut p, mut q) = start;
    let (mut tp, mut tq) = (f64::NAN, f64::NAN);
    let mut last = f64::INFINITY;
    for _ in 0..rounds {
        (q, tq) = foot(solid, b, &p, tq);
        (p, tp) = foot(solid, a, &q, tp);
        let now = (q - p).norm();
        // Below 1e-15 of a step nothing is left to gain in f64.
        if last - now < 1e-15 {
            break;
        }
        last = now;
    }
    (p, q)
}
