//! The largest spheres that fit in the metal.

use super::Field;
use crate::units::Mm;
use crate::walls::Interval;
use nalgebra::{Point3, Vector3};
use std::cmp::Ordering;
use std::collections::{BTreeSet, BinaryHeap};

/// Distances looked up in the search for one sphere at most; what is open then widens its interval.
const MOST: usize = 60_000;

/// A sphere that fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sphere {
    /// Its middle.
    pub centre: Point3<f64>,
    /// Its radius: the lower end is this sphere, the upper no sphere about here exceeds.
    pub radius: Interval,
}

/// A cube that may hold the middle of a larger sphere.
struct Cube {
    upper: f64,
    centre: Point3<f64>,
    half: f64,
    /// Distance of its middle from the surface, and whether that is known to lie in metal.
    depth: (f64, bool),
}

impl PartialEq for Cube {
    fn eq(&self, o: &Self) -> bool {
        self.cmp(o) == Ordering::Equal
    }
}
impl Eq for Cube {}
impl PartialOrd for Cube {
    fn partial_cmp(&self, o: &Self) -> Option<Ordering> {
        Some(self.cmp(o))
    }
}
impl Ord for Cube {
    fn cmp(&self, o: &Self) -> Ordering {
        let by = |a: f64, b: f64| a.total_cmp(&b);
        let (p, q) = (&self.centre, &o.centre);
        by(self.upper, o.upper)
            .then(by(self.half, o.half))
            .then(by(p.x, q.x))
            .then(by(p.y, q.y))
            .then(by(p.z, q.z))
    }
}

impl Field<'_> {
    /// The largest sphere of the whole part; `None` where no point of the grid lies in metal.
    #[must_use]
    pub fn largest(&self, tolerance: f64) -> Option<Sphere> {
        let all: Vec<usize> = (0..self.depth.len()).filter(|&i| self.depth[i] > 0.0).collect();
        self.sphere(&all, tolerance)
    }

    /// The largest sphere whose middle lies in the cells of some points, which must hold all about the deepest of them; by branch and
    /// bound, to a width of `tolerance`.
    #[must_use]
    pub fn sphere(&self, cells: &[usize], tolerance: f64) -> Option<Sphere> {
        let deepest =
            cells.iter().copied().max_by(|&a, &b| self.depth[a].total_cmp(&self.depth[b]).then(b.cmp(&a)))?;
        let (mut best, mut centre) = (self.depth[deepest], self.at(deepest));
        if best <= 0.0 {
            return None;
        }
        let diagonal = 1.732_050_808;
        let mut open: BinaryHeap<Cube> = BinaryHeap::new();
        for &i in cells {
            let (d, upper) = (self.depth[i], self.depth[i] + self.slack());
            if upper > best && d > 0.0 {
                open.push(Cube { upper, centre: self.at(i), half: self.step / 2.0, depth: (d, true) });
            }
        }
        let mut looked = 0;
        // A cell whose middle lies in air holds the middle of no larger sphere than that.
        let mut upper = self.slack();
        while let Some(c) = open.pop() {
            if c.upper <= best + tolerance || looked >= MOST {
                upper = upper.max(c.upper);
                break;
            }
            let half = c.half / 2.0;
            for k in 0..8_u8 {
                let s = [0, 1, 2].map(|a| if k >> a & 1 == 1 { half } else { -half });
                let p = c.centre + Vector3::from(s);
                looked += 1;
                let d = self.distance(&p);
                // A way shorter than the distance from the surface does not lead out of the metal.
                let inside = c.depth.1 && c.depth.0 > half * diagonal;
                if inside && d > best {
                    (best, centre) = (d, p);
                }
                let u = (d + half * diagonal).min(c.upper);
                if u > best + tolerance {
                    open.push(Cube { upper: u, centre: p, half, depth: (d, inside) });
                }
            }
        }
        let upper = upper.max(best + tolerance);
        Some(Sphere { centre, radius: Interval { lower: Mm(best), upper: Mm(upper) } })
    }

    /// The points about the deepest of a heavy place that may hold the middle of its largest sphere.
    pub(super) fn about(&self, peak: usize) -> Vec<usize> {
        let least = self.depth[peak] - 2.0 * self.slack();
        let (mut seen, mut out, mut next) = (BTreeSet::from([peak]), Vec::new(), vec![peak]);
        while let Some(i) = next.pop() {
            out.push(i);
            for (j, _) in self.around(i) {
                if self.depth[j] > 0.0 && self.depth[j] >= least && seen.insert(j) {
                    next.push(j);
                }
            }
        }
        out.sort_unstable();
        out
    }
}
