//! The shortest chord from one point of the boundary.

use super::cuts::Cuts;
use super::hull::nearest;
use super::pair::{leaned, misses, pierced, real, tangent};
use super::prim::Bit;
use super::search::{Chord, Field, ROUNDING};
use crate::walls::cell::{ANGLE_PAD, angle};
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// What is known of the metal under one point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Under {
    /// No chord from the point is shorter.
    pub(super) lower: f64,
    /// Shortest chord found.
    pub(super) chord: Option<Chord>,
}

/// Planes that cut off what leans too far, for each facet; more gain little.
const CUTS: usize = 3;

/// Bounds of the least chord from a point of a facet of the exact boundary, its normals those of the facet at that point.
/// Facets are not halved: where a chord leans to its limit the interval stays as wide as the cuts leave it.
pub(super) fn under(f: &Field<'_>, prim: usize, at: &Point3<f64>) -> Under {
    let s = f.boundary;
    let at = s.exact(prim, at);
    let n = s.normal_near(prim, &at, &Vector3::zeros());
    let here = Bit {
        at: [at; 3],
        centre: at,
        radius: 0.0,
        axis: n,
        spread: 0.0,
        arc: [n; 2],
        pad: ANGLE_PAD,
        ..f.tree.bits[prim]
    };
    let delta = f.goal.delta + ANGLE_PAD;
    let mut land = Vec::new();
    f.zone.covering(&[at], &mut land);
    let mut found = Under { lower: f64::INFINITY, chord: None };
    let mut cap = f.goal.below;
    let mut stack = vec![(0_usize, 0.0)];
    let mut next = Vec::with_capacity(2);
    while let Some((k, gap)) = stack.pop() {
        if gap - ROUNDING >= cap - f.goal.tolerance {
            continue;
        }
        let Some(node) = f.tree.nodes.get(k) else { break };
        if let Some(c) = node.child {
            next.clear();
            for k in [c, c + 1] {
                let v = &f.tree.nodes[k];
                let gap = v.gap_from(&at);
                if gap - ROUNDING < cap - f.goal.tolerance && v.may_oppose_point(&at, &n, delta) {
                    next.push((k, gap));
                }
            }
            next.sort_by(|a, b| b.1.total_cmp(&a.1).then(b.0.cmp(&a.0)));
            stack.extend_from_slice(&next);
            continue;
        }
        for &j in &f.tree.order[node.range[0]..node.range[1]] {
            let (lower, chord) = facet(f, &here, j, cap, &land);
            found.lower = found.lower.min(lower);
            if let Some(c) = chord
                && c.length < cap
            {
                cap = c.length;
                found.chord = Some(c);
            }
        }
    }
    found.lower = found.lower.min(cap - f.goal.tolerance).max(0.0);
    found
}

/// Bound of the chords from a point to a facet, infinite where there is none that matters, and the best one tried.
fn facet(f: &Field<'_>, here: &Bit, j: usize, cap: f64, land: &[usize]) -> (f64, Option<Chord>) {
    const NONE: (f64, Option<Chord>) = (f64::INFINITY, None);
    let (s, b) = (f.boundary, &f.tree.bits[j]);
    let delta = f.goal.delta + ANGLE_PAD;
    if PI - angle(&here.axis, &b.axis) > b.spread + 2.0 * delta {
        return NONE;
    }
    let slack = s.prims[j].slack;
    let limit = cap - f.goal.tolerance;
    let at = here.centre;
    let d = b.centre - at;
    let (far, rho) = (d.norm(), b.radius + slack);
    if far - rho - ROUNDING >= limit {
        return NONE;
    }
    let sway = if far > rho { libm::asin(rho / far) } else { PI };
    if far > rho && (misses(here, &-d, delta, sway) || misses(b, &d, delta, sway)) {
        return NONE;
    }
    let corners = s.corners(b);
    if !land.is_empty() {
        let mut other = Vec::new();
        f.zone.covering(corners, &mut other);
        if land.iter().any(|c| other.binary_search(c).is_ok()) {
            return NONE;
        }
    }
    let mut room = [Vector3::zeros(); 3];
    for (r, q) in room.iter_mut().zip(corners) {
        *r = q - at;
    }
    let points = &room[..corners.len()];
    let n = nearest(points);
    let mut lower = n.lower - slack - ROUNDING;
    if lower >= limit {
        return NONE;
    }
    if let Some(c) = real(f, here.prim, j, &at, &(at + n.x)) {
        return (lower, Some(c));
    }
    let mut cuts = Cuts::new(points, slack);
    let mut x = n.x;
    for _ in 0..CUTS {
        let plane = [(b, 1.0), (here, -1.0)]
            .into_iter()
            .filter_map(|(bit, sign)| tangent(bit, sign, delta, &x))
            .min_by(|v, w| v.dot(&x).total_cmp(&w.dot(&x)));
        let Some(w) = plane.filter(|w| cuts.beyond(w, &x)) else { break };
        let Some((bound, m)) = cuts.add(w) else { return NONE };
        lower = lower.max(bound - slack - ROUNDING);
        if lower >= limit {
            return NONE;
        }
        x = m.x;
    }
    // A chord as near to that as the angles allow.
    let mut way = x;
    let mut best = None;
    for _ in 0..3 {
        let q = at + way;
        way = leaned(&way, &s.normal_near(j, &q, &way), f.goal.delta);
        way = leaned(&way, &-here.axis, f.goal.delta);
        let Some(q) = pierced(&s.prims[j], &at, &way) else { break };
        way = q - at;
        if let Some(c) = real(f, here.prim, j, &at, &q) {
            best = Some(c);
            break;
        }
    }
    (lower, best)
}

/// The shortest chord shorter than `below` from a point of a primitive.
pub(super) fn from_point(f: &Field<'_>, prim: usize, at: &Point3<f64>, below: f64) -> Option<Chord> {
    let s = f.boundary;
    let mut here = f.tree.bits[prim];
    here.at = [*at; 3];
    here.centre = *at;
    here.radius = 0.0;
    let delta = f.goal.delta;
    let mut best: Option<Chord> = None;
    let mut upper = below;
    let mut stack = vec![(0_usize, 0.0)];
    while let Some((n, gap)) = stack.pop() {
        if gap >= upper {
            continue;
        }
        let node = &f.tree.nodes[n];
        if let Some(c) = node.child {
            let mut next = Vec::with_capacity(2);
            for k in [c, c + 1] {
                let v = &f.tree.nodes[k];
                let gap = v.gap_from(at);
                if gap < upper && PI - angle(&here.axis, &v.axis) <= here.spread + v.spread + 2.0 * delta {
                    next.push((k, gap));
                }
            }
            next.sort_by(|a, b| b.1.total_cmp(&a.1).then(b.0.cmp(&a.0)));
            stack.extend(next);
            continue;
        }
        for &j in &f.tree.order[node.range[0]..node.range[1]] {
            if j == prim {
                continue;
            }
            let b = &f.tree.bits[j];
            if PI - angle(&here.axis, &b.axis) > here.spread + b.spread + 2.0 * delta {
                continue;
            }
            for q in candidates(s.corners(b), at, &here.axis) {
                if let Some(c) = real(f, prim, j, at, &q)
                    && c.length < upper
                {
                    upper = c.length;
                    best = Some(c);
                }
            }
        }
    }
    best
}

/// Points of a triangle that a chord from a point may end at: the nearest, and where the normal pierces it.
fn candidates(t: &[Point3<f64>], p: &Point3<f64>, normal: &Vector3<f64>) -> Vec<Point3<f64>> {
    let d: Vec<Vector3<f64>> = t.iter().map(|q| q - p).collect();
    let n = nearest(&d);
    let mut out = vec![p + n.x];
    if let [a, b, c] = t {
        let m = (b - a).cross(&(c - a));
        let down = normal.dot(&m);
        if down != 0.0 {
            let q = p + normal * ((a - p).dot(&m) / down);
            let inside =
                [(a, b), (b, c), (c, a)].iter().all(|(x, y)| (**y - **x).cross(&(q - **x)).dot(&m) >= 0.0);
            if inside {
                out.push(q);
            }
        }
    }
    out
}
