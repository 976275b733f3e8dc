//! One polyline per edge of the solid, shared by both its faces.

use super::MeshError;
use crate::solid::{Cone, Curve, Solid};
use nalgebra::Point3;

/// Steps per curve piece when angular extremes are looked for. A missed extreme costs shape only: what is meshed is the
/// polyline, and its crossings with rulings are found from the polyline itself.
const EXTREME_STEPS: u32 = 8;

/// An extreme as near as this to another point of the chain, as a part of a curve's piece or in mm, is not taken beside it: between the
/// two a curve as round as a collet leaves the ruling by less than a nanometre, which rounding to single precision may turn into a fold.
const SAME_PART: f64 = 1e-3;
const SAME: f64 = 1e-3;

/// Shortest piece as a part of the curve's parameter range; reached only by a curve whose bound does not shrink.
const SHORTEST_PIECE: f64 = 1e-9;

/// A piece that turns less than this, radians, has the half plane of any ruling it passes between its ends. A circle not
/// yet divided may turn further, and the plane that holds the half plane is then passed twice or not at all: its
/// crossings are found by the angle, which costs an arc tangent a step. Kept below pi by more than rounding.
const HALF_TURN: f64 = 3.0;

/// Points along an edge with their parameters, ends included.
#[derive(Clone, Debug)]
pub(super) struct Chain {
    pub(super) t: Vec<f64>,
    pub(super) p: Vec<Point3<f64>>,
}

impl Chain {
    fn insert(&mut self, at: usize, t: f64, p: Point3<f64>) {
        self.t.insert(at, t);
        self.p.insert(at, p);
    }
}

/// Whether an edge's points may wait for the rulings of its cones: lines need none, circles get theirs from the strips.
pub(super) fn waits(curve: &Curve) -> bool {
    matches!(curve, Curve::Line(..) | Curve::Arc(_))
}

/// Knots and angular extremes of one edge.
pub(super) fn start(solid: &Solid, edge: usize) -> Chain {
    let e = &solid.edges[edge];
    let mut t = e.curve.knots();
    if !waits(&e.curve) {
        let cones = e.faces.iter().filter_map(|&f| solid.faces[f].cone());
        let mut turns: Vec<f64> = cones.flat_map(|c| extremes(&e.curve, c)).collect();
        turns.sort_by(f64::total_cmp);
        for x in turns {
            // Extremes of the two cones may coincide, or lie beside a knot: one point is enough.
            let beside =
                |&k: &f64| (k - x).abs() <= SAME_PART || (e.curve.point(k) - e.curve.point(x)).norm() <= SAME;
            let at = t.partition_point(|&k| k < x);
            if !t[at.saturating_sub(1)..t.len().min(at + 1)].iter().any(beside) {
                t.insert(at, x);
            }
        }
    }
    let mut p: Vec<_> = t.iter().map(|&t| e.curve.point(t)).collect();
    let last = p.len() - 1;
    p[0] = solid.vertices[e.ends[0]];
    p[last] = solid.vertices[e.ends[1]];
    Chain { t, p }
}

/// Parameters where a curve turns back in the angle round a cone's axis.
fn extremes(curve: &Curve, cone: &Cone) -> Vec<f64> {
    // Sign of the angular speed.
    let speed = |t: f64| {
        let w = curve.point(t) - cone.origin;
        cone.axis.dot(&w.cross(&curve.derivative(t)))
    };
    let knots = curve.knots();
    let mut found = Vec::new();
    for k in knots.windows(2) {
        // A hair inside the piece: at a knot the derivative belongs to the next one.
        let at = |i: u32| {
            let x = f64::from(i) / f64::from(EXTREME_STEPS);
            k[0] + (k[1] - k[0]) * x.clamp(1e-9, 1.0 - 1e-9)
        };
        for i in 0..EXTREME_STEPS {
            let (mut lo, mut hi) = (at(i), at(i + 1));
            let (s_lo, s_hi) = (speed(lo), speed(hi));
            if s_lo * s_hi < 0.0 {
                for _ in 0..40 {
                    let mid = 0.5 * (lo + hi);
                    if speed(mid) * s_lo > 0.0 { lo = mid } else { hi = mid }
                }
                found.push(0.5 * (lo + hi));
            }
        }
    }
    found
}

/// Splits until every piece is proved to lie within `tol` of its chord. Returns whether anything was added.
pub(super) fn refine(chain: &mut Chain, curve: &Curve, tol: f64) -> Result<bool, MeshError> {
    if matches!(curve, Curve::Line(..)) {
        return Ok(false);
    }
    let shortest = curve.end_parameter() * SHORTEST_PIECE;
    let (mut t, mut p) = (Vec::with_capacity(chain.t.len()), Vec::with_capacity(chain.t.len()));
    t.push(chain.t[0]);
    p.push(chain.p[0]);
    for i in 1..chain.t.len() {
        // Depth first, left to right: the stack holds right ends still to be reached.
        let mut ends = vec![(chain.t[i], chain.p[i])];
        while let Some(&(t1, p1)) = ends.last() {
            let t0 = t[t.len() - 1];
            if curve.chord_bound(t0, t1) <= tol {
                t.push(t1);
                p.push(p1);
                ends.pop();
            } else {
                if (t1 - t0).is_nan() || t1 - t0 < shortest {
                    let q = p1.coords;
                    return Err(MeshError::Unbounded { at: [q.x, q.y, q.z] });
                }
                let mid = 0.5 * (t0 + t1);
                ends.push((mid, curve.point(mid)));
            }
        }
    }
    let grown = t.len() > chain.t.len();
    *chain = Chain { t, p };
    Ok(grown)
}

/// Splits wherever the polyline passes one of the rulings (angles past the seam, ascending) of a cone. A point within
/// `merge` mm of a ruling counts as on it. Returns whether anything was added.
pub(super) fn split_at_rulings(
    chain: &mut Chain,
    curve: &Curve,
    cone: &Cone,
    seam: f64,
    rulings: &[f64],
    merge: f64,
) -> bool {
    let angle = |p: &Point3<f64>| (cone.angle_height(p).0 - seam).rem_euclid(std::f64::consts::TAU);
    let mut grown = false;
    let mut i = 0;
    let mut u0 = angle(&chain.p[0]);
    while i + 1 < chain.t.len() {
        let u1 = angle(&chain.p[i + 1]);
        let near = |a: f64, u: f64, p: &Point3<f64>| (a - u).abs() * distance_from_axis(cone, p) <= merge;
        // Rulings between the two points, in the order they are met.
        let (lo, hi) = (u0.min(u1), u0.max(u1));
        let first = rulings.partition_point(|&a| a <= lo);
        let last = rulings.partition_point(|&a| a < hi);
        let mut met: Vec<f64> = rulings
            .get(first..last)
            .unwrap_or_default()
            .iter()
            .copied()
            .filter(|&a| !near(a, u0, &chain.p[i]) && !near(a, u1, &chain.p[i + 1]))
            .collect();
        if u1 < u0 {
            met.reverse();
        }
        let end = (chain.t[i + 1], u1);
        for a in met {
            let t = if (u1 - u0).abs() < HALF_TURN {
                let n = cone.side() * libm::cos(seam + a) - cone.reference * libm::sin(seam + a);
                crossing(|t| (curve.point(t) - cone.origin).dot(&n), chain.t[i], end.0)
            } else {
                crossing(|t| angle(&curve.point(t)) - a, chain.t[i], end.0)
            };
            i += 1;
            chain.insert(i, t, curve.point(t));
            grown = true;
        }
        i += 1;
        u0 = u1;
    }
    grown
}

/// Distance of a point from a cone's axis, mm.
pub(super) fn distance_from_axis(cone: &Cone, p: &Point3<f64>) -> f64 {
    let w = p - cone.origin;
    (w - cone.axis * w.dot(&cone.axis)).norm()
}

/// Parameter between `t0` and `t1` where `f` changes sign: bracketed false position (Illinois), whose bracket never loses
/// the sign change.
fn crossing(f: impl Fn(f64) -> f64, t0: f64, t1: f64) -> f64 {
    let (mut a, mut b) = (t0, t1);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa * fb > 0.0 {
        return 0.5 * (a + b);
    }
    let mut side = 0;
    for _ in 0..60 {
        let c = if (fb - fa).abs() > 0.0 { (a * fb - b * fa) / (fb - fa) } else { 0.5 * (a + b) };
        // 1e-14 mm is the rounding of a coordinate of some 10 mm.
        let fc = f(c);
        if fc.abs() < 1e-14 || (b - a).abs() < 1e-15 {
            return c;
        }
        if fc * fa > 0.0 {
            (a, fa) = (c, fc);
            if side == -1 {
                fb *= 0.5;
            }
            side = -1;
        } else {
            (b, fb) = (c, fc);
            if side == 1 {
                fa *= 0.5;
            }
            side = 1;
        }
    }
    0.5 * (a + b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solid::curve::Arc;
    use nalgebra::Vector3;

    /// A circle of more than half a turn was once halved towards its end, once for each ruling it passes.
    #[test]
    fn a_circle_of_more_than_half_a_turn_is_cut_at_its_rulings() {
        let (origin, axis, x) = (Point3::origin(), Vector3::z(), Vector3::x());
        let cone = Cone { origin, axis, reference: x, radius: 2.0, slope: 0.0 };
        let seam = -0.5;
        for sweep in [1.0, 3.0, 3.2, 5.5] {
            let arc = Curve::Arc(Arc { centre: origin, x: x * 2.0, y: Vector3::y() * 2.0, sweep });
            let mut chain = Chain { t: vec![0.0, sweep], p: vec![arc.start(), arc.end()] };
            let rulings: Vec<f64> = (1..10).map(|i| 0.5 + sweep * f64::from(i) / 10.0).collect();
            assert!(split_at_rulings(&mut chain, &arc, &cone, seam, &rulings, 2e-6));
            assert_eq!(chain.t.len(), 11, "{sweep}");
            for (t, a) in chain.t[1..10].iter().zip(&rulings) {
                assert!((t - (a + seam)).abs() < 1e-13, "{sweep}: {t} {a}");
            }
            // Cut once, it is cut no further.
            assert!(!split_at_rulings(&mut chain, &arc, &cone, seam, &rulings, 2e-6));
        }
    }
}
