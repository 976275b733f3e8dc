//! Heavy places of a part, and the thinnest metal on the widest way to each from where it is fed.
//!
//! Heuvers' circles: the circles that fit in the sections of a casting must not shrink on the way to the feeder, or what lies behind
//! the narrow place freezes last and draws on nothing (giessereilexikon.com, Heuvers' circle method). Here they are spheres.

use super::cells::Cells;
use super::{Field, Sphere};
use crate::units::Mm;
use crate::walls::Interval;
use nalgebra::Point3;
use rayon::prelude::*;
use std::cmp::Ordering;

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
    /// About the middle of the largest sphere that passes.
    pub at: Point3<f64>,
    /// Its radius: no larger sphere passes than the upper end, one of the lower end does.
    pub radius: Interval,
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

impl Field<'_> {
    /// The heaviest places of the part, at most `count` of those that certainly stand out from the metal about them, the heaviest
    /// first, each with its neck on the way from the feed, known on the radius to `width`, and better where it would else stay open
    /// whether it is narrower than `share` of the place. Empty where no metal lies at the feed.
    #[must_use]
    pub fn heavy(&self, feed: &Feed, count: usize, width: f64, share: f64) -> Vec<Heavy> {
        let mut cells = Cells::new(self, &feed.at, feed.reach);
        if !cells.fed() {
            return Vec::new();
        }
        let peaks: Vec<usize> = self.peaks().into_iter().take(count).collect();
        let spheres: Vec<Option<Sphere>> =
            peaks.par_iter().map(|&p| self.sphere(&self.about(p), ENOUGH)).collect();
        let neck = |sphere: Sphere| {
            let r = sphere.radius;
            let open = |i: &Interval| i.upper >= r.lower * share && i.lower < r.upper * share;
            let way = cells.passage(&sphere.centre, width, open)?;
            // Nothing larger passes than fits at the end.
            let most = sphere.radius.upper.get();
            let radius = Interval {
                lower: Mm(way.radius.lower.get().clamp(0.0, most)),
                upper: Mm(way.radius.upper.get().clamp(0.0, most)),
            };
            Some(Heavy { sphere, neck: Neck { at: way.at, radius } })
        };
        spheres.into_iter().flatten().filter_map(neck).collect()
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
