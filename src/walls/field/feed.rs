//! Heavy places of a part, and the thinnest metal on the widest way to each from where it is fed.
//!
//! Heuvers' circles: the circles that fit in the sections of a casting must not shrink on the way to the feeder, or what lies behind
//! the narrow place freezes last and draws on nothing (giessereilexikon.com, Heuvers' circle method). Here they are spheres.

use super::{Field, Sphere};
use crate::units::Mm;
use crate::walls::Interval;
use nalgebra::Point3;
use rayon::prelude::*;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// A heavy place: the metal is thicker there than all about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heavy {
    /// The largest sphere that fits.
    pub sphere: Sphere,
    /// Where the widest way to it from the feed is narrowest.
    pub neck: Neck,
}

/// The narrowest place of the widest way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Neck {
    /// Middle of the largest sphere that passes, on the grid.
    pub at: Point3<f64>,
    /// Its radius: no larger sphere passes than the upper end, one of the lower end does.
    pub radius: Interval,
}

impl Neck {
    /// What both this and an earlier bound allow.
    fn within(&self, o: &Self) -> Self {
        let lower = Mm(self.radius.lower.get().max(o.radius.lower.get()));
        let upper = Mm(self.radius.upper.get().min(o.radius.upper.get()).max(lower.get()));
        Self { at: self.at, radius: Interval { lower, upper } }
    }
}

/// A place where metal flows in: all metal within a distance of a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feed {
    /// The point.
    pub at: Point3<f64>,
    /// The distance, mm.
    pub reach: f64,
}

/// Width to which a sphere is searched, mm.
const ENOUGH: f64 = 4e-3;

/// A point of the grid in a queue, the larger value first, then the lower number.
#[derive(PartialEq)]
struct Next(f64, usize, usize);

impl Eq for Next {}
impl PartialOrd for Next {
    fn partial_cmp(&self, o: &Self) -> Option<Ordering> {
        Some(self.cmp(o))
    }
}
impl Ord for Next {
    fn cmp(&self, o: &Self) -> Ordering {
        self.0.total_cmp(&o.0).then(o.1.cmp(&self.1)).then(o.2.cmp(&self.2))
    }
}

impl Field<'_> {
    /// The heaviest places of the part, at most `count` of those that certainly stand out from the metal about them, the heaviest
    /// first, each with its neck on the way from the feed. The grid is halved, where a wider way may be, until necks are known
    /// to `width` or that would take too many points. Empty where no metal lies at the feed.
    #[must_use]
    pub fn heavy(&self, feed: &Feed, count: usize, width: f64) -> Vec<Heavy> {
        let peaks: Vec<usize> = self.peaks().into_iter().take(count).collect();
        let spheres: Vec<Option<Sphere>> =
            peaks.par_iter().map(|&p| self.sphere(&self.about(p), ENOUGH)).collect();
        let spheres: Vec<Sphere> = spheres.into_iter().flatten().collect();
        let mut necks: Vec<Neck> = Vec::new();
        let mut finer: Option<Self> = None;
        loop {
            let grid = finer.as_ref().unwrap_or(self);
            let found = grid.necks(feed, &spheres);
            if found.len() != spheres.len() {
                break;
            }
            // What was proved on a rougher grid stays proved.
            necks = found.iter().enumerate().map(|(i, n)| necks.get(i).map_or(*n, |o| n.within(o))).collect();
            let open = necks.iter().map(|n| n.radius.width().get()).fold(0.0, f64::max);
            if open <= width {
                break;
            }
            let least = necks.iter().map(|n| n.radius.lower.get()).fold(f64::INFINITY, f64::min);
            let kept: Vec<bool> = grid.depth.iter().map(|d| d + grid.slack() >= least).collect();
            let Some(next) = grid.finer(&kept) else { break };
            finer = Some(next);
        }
        if necks.len() != spheres.len() {
            return Vec::new();
        }
        spheres.into_iter().zip(necks).map(|(sphere, neck)| Heavy { sphere, neck }).collect()
    }

    /// The necks on the way to some spheres, as far as this grid tells; none where no metal lies at the feed.
    fn necks(&self, feed: &Feed, spheres: &[Sphere]) -> Vec<Neck> {
        let Some(way) = self.widest(feed) else { return Vec::new() };
        let mut out = Vec::new();
        for s in spheres {
            let Some(&(value, at)) = self.nearest_point(&s.centre).and_then(|i| way.get(i)) else { break };
            // Between two points of the grid the depth may be less, and beside them more, by so much.
            let most = s.radius.upper.get();
            let around = |x: f64| Mm(if x.is_nan() { 0.0 } else { x.clamp(0.0, most) });
            let radius =
                Interval { lower: around(value - self.slack()), upper: around(value + self.slack()) };
            out.push(Neck { at: self.at(at), radius });
        }
        out
    }

    /// For each point the least depth on the way from the feed on which it is greatest, and where that is.
    fn widest(&self, feed: &Feed) -> Option<Vec<(f64, usize)>> {
        let mut out = vec![(f64::NEG_INFINITY, 0_usize); self.depth.len()];
        let mut open = BinaryHeap::new();
        for (i, (depth, seat)) in self.depth.iter().zip(&mut out).enumerate() {
            if *depth > 0.0 && (self.at(i) - feed.at).norm() <= feed.reach {
                // The feed itself is molten: what lies in it is not narrower than what it feeds.
                *seat = (f64::INFINITY, i);
                open.push(Next(f64::INFINITY, i, i));
            }
        }
        if open.is_empty() {
            return None;
        }
        while let Some(Next(value, i, neck)) = open.pop() {
            if value < out[i].0 {
                continue;
            }
            for (j, _) in self.around(i) {
                let d = self.depth[j];
                if d <= 0.0 {
                    continue;
                }
                let (v, at) = if d < value { (d, j) } else { (value, neck) };
                if v > out[j].0 {
                    out[j] = (v, at);
                    open.push(Next(v, j, at));
                }
            }
        }
        Some(out)
    }

    /// Points that are deepest of all about them and certainly stand out: on every way to a deeper one the depth sinks by more than
    /// the grid leaves open. The deepest of all is the first.
    fn peaks(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.depth.len()).filter(|&i| self.depth[i] > 0.0).collect();
        order.sort_by(|&a, &b| self.depth[b].total_cmp(&self.depth[a]).then(a.cmp(&b)));
        let mut parent = vec![usize::MAX; self.depth.len()];
        // Of each piece its root, which is also its deepest point, because points come in the order of their depth.
        fn root(parent: &mut [usize], mut i: usize) -> usize {
            while parent[i] != i {
                parent[i] = parent[parent[i]];
                i = parent[i];
            }
            i
        }
        let deeper =
            |a: usize, b: usize| self.depth[a].total_cmp(&self.depth[b]).then(b.cmp(&a)) == Ordering::Greater;
        let mut out = Vec::new();
        for &i in &order {
            parent[i] = i;
            let near: Vec<usize> = self.around(i).map(|n| n.0).filter(|&j| parent[j] != usize::MAX).collect();
            for j in near {
                let (a, b) = (root(&mut parent, i), root(&mut parent, j));
                if a == b {
                    continue;
                }
                let (high, low) = if deeper(a, b) { (a, b) } else { (b, a) };
                if self.depth[low] - self.depth[i] > 2.0 * self.slack() {
                    out.push(low);
                }
                parent[low] = high;
            }
        }
        // What no deeper piece ever took in: the deepest of each body.
        out.extend(order.iter().copied().filter(|&i| parent[i] == i));
        out.sort_by(|&a, &b| self.depth[b].total_cmp(&self.depth[a]).then(a.cmp(&b)));
        out
    }
}
