//! The shortest vector of a small convex hull cut by planes, by way of the polygon on the last plane.

use super::hull::nearest;
use nalgebra::Vector3;

/// A point of the hull with how it is mixed from the corners.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mixed {
    pub(super) x: Vector3<f64>,
    pub(super) mix: [f64; 9],
}

/// Planes at most; what is still open then is halved.
const MOST: usize = 6;
/// Taken off each plane for rounding, mm: 1e-15 of parts of some millimetres, with a hundred operations in hand.
const ROUNDING: f64 = 1e-13;

/// Half spaces `w . x >= -slack`, and the least vector found in all of them.
pub(super) struct Cuts<'a> {
    points: &'a [Vector3<f64>],
    slack: f64,
    planes: Vec<Vector3<f64>>,
}

impl<'a> Cuts<'a> {
    pub(super) fn new(points: &'a [Vector3<f64>], slack: f64) -> Self {
        Self { points, slack: slack + ROUNDING, planes: Vec::with_capacity(MOST) }
    }

    pub(super) fn full(&self) -> bool {
        self.planes.len() >= MOST
    }

    /// Whether a vector lies beyond a plane.
    pub(super) fn beyond(&self, w: &Vector3<f64>, x: &Vector3<f64>) -> bool {
        w.dot(x) < -self.slack
    }

    /// Adds a plane that the least vector so far lies beyond; the new least vector then lies on it, since the length is
    /// convex. Gives a lower bound and that vector, or `None` if nothing is left.
    pub(super) fn add(&mut self, w: Vector3<f64>) -> Option<(f64, Mixed)> {
        let mut polygon = self.section(&w)?;
        for v in &self.planes {
            polygon = clipped(&polygon, v, self.slack);
            if polygon.is_empty() {
                return None;
            }
        }
        self.planes.push(w);
        let xs: Vec<Vector3<f64>> = polygon.iter().map(|m| m.x).collect();
        let n = nearest(&xs);
        let mut out = Mixed { x: n.x, mix: [0.0; 9] };
        for &(k, t) in &n.mix[..n.count] {
            for (o, m) in out.mix.iter_mut().zip(polygon[k].mix) {
                *o += t * m;
            }
        }
        Some((n.lower, out))
    }

    /// The hull on a plane, as a convex polygon in order.
    fn section(&self, w: &Vector3<f64>) -> Option<Vec<Mixed>> {
        let mut all = Vec::with_capacity(20);
        let height: Vec<f64> = self.points.iter().map(|p| w.dot(p) + self.slack).collect();
        if height.iter().all(|&h| h < 0.0) {
            return None;
        }
        for (i, &h) in height.iter().enumerate().filter(|h| *h.1 >= 0.0) {
            for (k, &g) in height.iter().enumerate().filter(|g| *g.1 < 0.0) {
                let t = h / (h - g);
                let mut mix = [0.0; 9];
                mix[i] = 1.0 - t;
                mix[k] = t;
                all.push(Mixed { x: self.points[i] + (self.points[k] - self.points[i]) * t, mix });
            }
        }
        Some(outline(w, all))
    }
}

/// Corners of the hull of points in one plane, in order (Andrew's monotone chain, 1979).
fn outline(normal: &Vector3<f64>, mut all: Vec<Mixed>) -> Vec<Mixed> {
    if all.len() < 4 {
        return all;
    }
    let u = crate::solid::surface::square_to(normal);
    let v = normal.cross(&u);
    let key = |m: &Mixed| (m.x.dot(&u), m.x.dot(&v));
    all.sort_by(|a, b| {
        let (p, q) = (key(a), key(b));
        p.0.total_cmp(&q.0).then(p.1.total_cmp(&q.1))
    });
    let turn = |a: &Mixed, b: &Mixed, c: &Mixed| {
        let (a, b, c) = (key(a), key(b), key(c));
        (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
    };
    let mut hull: Vec<Mixed> = Vec::with_capacity(all.len() + 1);
    for pass in 0..2 {
        let base = hull.len();
        for m in &all {
            while hull.len() >= base + 2 && turn(&hull[hull.len() - 2], &hull[hull.len() - 1], m) <= 0.0 {
                hull.pop();
            }
            hull.push(*m);
        }
        // The last point of a chain is the first of the other.
        hull.pop();
        if pass == 0 {
            all.reverse();
        }
    }
    // Points in a line leave no polygon: keep its ends.
    if hull.is_empty() { all } else { hull }
}

/// The part of a convex polygon (or segment, or point) on the inner side of a plane (Sutherland and Hodgman, 1974).
fn clipped(polygon: &[Mixed], w: &Vector3<f64>, slack: f64) -> Vec<Mixed> {
    let height = |m: &Mixed| w.dot(&m.x) + slack;
    let mut out = Vec::with_capacity(polygon.len() + 1);
    for (i, a) in polygon.iter().enumerate() {
        let b = &polygon[(i + 1) % polygon.len()];
        let (h, g) = (height(a), height(b));
        if h >= 0.0 {
            out.push(*a);
        }
        if (h >= 0.0) != (g >= 0.0) {
            let t = h / (h - g);
            let mut mix = a.mix;
            for (m, n) in mix.iter_mut().zip(b.mix) {
                *m += (n - *m) * t;
            }
            out.push(Mixed { x: a.x + (b.x - a.x) * t, mix });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]
        /// Whatever is mixed from the corners and lies inside all planes is not shorter than the bound.
        #[test]
        fn no_vector_inside_the_planes_is_shorter(
            v in prop::array::uniform32(-1.0f64..1.0), w in prop::array::uniform32(0.0f64..1.0), n in 4usize..9,
        ) {
            let at = |i: usize| Vector3::new(v[i % 32], v[(3 * i + 7) % 32], v[(5 * i + 11) % 32] + 1.2);
            let points: Vec<Vector3<f64>> = (0..n).map(at).collect();
            let mut cuts = Cuts::new(&points, 0.0);
            let mut x = nearest(&points).x;
            let mut planes = Vec::new();
            let mut lower = 0.0;
            let mut none = false;
            for k in 0..3 {
                let Some(plane) = Vector3::new(v[20 + 3 * k], v[21 + 3 * k], v[22 + 3 * k]).try_normalize(1e-3) else { continue };
                if !cuts.beyond(&plane, &x) { continue }
                planes.push(plane);
                match cuts.add(plane) {
                    None => { none = true; break }
                    Some((l, m)) => {
                        let y: Vector3<f64> = points.iter().zip(m.mix).map(|(p, t)| p * t).sum();
                        prop_assert!((y - m.x).norm() < 1e-9 && l <= m.x.norm() + 1e-12 && l >= lower - 1e-9);
                        (lower, x) = (l, m.x);
                    }
                }
            }
            for s in 0..20 {
                let t: Vec<f64> = (0..n).map(|i| w[(i * 7 + s) % 32].powi(3)).collect();
                let sum: f64 = t.iter().sum();
                let y: Vector3<f64> = points.iter().zip(&t).map(|(p, t)| p * (t / sum)).sum();
                if planes.iter().all(|p| p.dot(&y) >= 0.0) {
                    prop_assert!(!none && y.norm() >= lower - 1e-12, "{} {}", y.norm(), lower);
                }
            }
        }
    }
}
