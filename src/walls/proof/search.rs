//! Dual-tree branch and bound over pairs of primitives; per pair of faces the shortest chord and a proved lower bound.
//!
//! A pair of flat facets is a convex problem: chords are the hull of the differences of their corners, and the
//! conditions on both angles are circular cones. Its least chord without the cones is a lower bound, and if it meets
//! the conditions it is the answer. If not, the cone that it misses is cut along its tangent plane, which again gives a
//! lower bound; only what remains open is halved.
//!
//! Work is divided into tasks, and tasks into rounds of fixed size. All tasks of a round start from the bounds known
//! before it, and their results are merged in order: any number of threads gives the same bytes.

use super::corner::Corners;
use super::pair::refine;
use super::point::from_point;
use super::prim::Boundary;
use super::sharp::{Zone, may_oppose};
use super::tree::Tree;
use crate::walls::cell::angle;
use nalgebra::Point3;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Taken off each distance, mm, for rounding: some hundred operations on coordinates below 100 mm.
pub(super) const ROUNDING: f64 = 1e-12;
/// Tasks the work is cut into.
const TASKS: usize = 1024;
/// Tasks in the first round; each round is twice as long, up to [`ROUND`].
const FIRST: usize = 8;
/// Tasks in a long round.
const ROUND: usize = 64;
/// Points from which a first guess is taken.
const SEEDS: usize = 64;

/// What is looked for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Goal {
    /// Largest angle between chord and normals, radians.
    pub(super) delta: f64,
    /// Longer chords do not matter, mm.
    pub(super) below: f64,
    /// Number of pairs of faces wanted.
    pub(super) count: usize,
    /// How far lower and upper bounds may stay apart, mm.
    pub(super) tolerance: f64,
    /// Work after which the search ends, in [`LOOK`]s and pairs of boxes.
    pub(super) work: usize,
}

/// What looking at a pair of parts counts; a pair of boxes counts one.
pub(super) const LOOK: usize = 40;

/// A chord between two points of the boundary.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Chord {
    pub(super) length: f64,
    pub(super) at: [Point3<f64>; 2],
    pub(super) prims: [usize; 2],
}

/// What is known of a pair of faces.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Between {
    /// Shortest chord found.
    pub(super) chord: Option<Chord>,
    /// Least bound of what was not followed further; infinite if there is nothing.
    pub(super) open: Option<f64>,
}

/// All that was found.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Found {
    pub(super) pairs: BTreeMap<(u32, u32), Between>,
    /// Pairs of faces not listed, or listed with a longer chord, have no chord shorter than this less the tolerance.
    pub(super) cap: f64,
    /// Length of the shortest chord of all, as known before the round.
    pub(super) least: f64,
    /// Pairs of parts looked at.
    pub(super) looked: usize,
    /// Pairs of boxes looked at.
    pub(super) boxes: usize,
    /// Nothing in what was left out when the work ended is shorter; nothing was left out if there is none.
    pub(super) rest: Option<f64>,
}

impl Found {
    fn spent(&self) -> usize {
        self.boxes.saturating_add(self.looked.saturating_mul(LOOK))
    }
    fn leave(&mut self, gap: f64) {
        self.rest = Some(self.rest.map_or(gap, |r| r.min(gap)));
    }
    pub(super) fn upper(&self, key: (u32, u32)) -> f64 {
        self.pairs.get(&key).and_then(|b| b.chord).map_or(f64::INFINITY, |c| c.length)
    }
    pub(super) fn merge(&mut self, key: (u32, u32), b: Between) {
        let e = self.pairs.entry(key).or_default();
        if let Some(c) = b.chord
            && e.chord.is_none_or(|x| c.length < x.length)
        {
            e.chord = Some(c);
        }
        if let Some(o) = b.open {
            e.open = Some(e.open.map_or(o, |x| x.min(o)));
        }
    }
    fn tighten(&mut self, goal: &Goal) {
        let mut all: Vec<f64> = self.pairs.values().filter_map(|b| b.chord).map(|c| c.length).collect();
        self.least = all.iter().copied().fold(f64::INFINITY, f64::min);
        if goal.count > 0 && all.len() >= goal.count {
            let (_, nth, _) = all.select_nth_unstable_by(goal.count - 1, f64::total_cmp);
            self.cap = self.cap.min(*nth);
        }
    }
}

/// What a search needs to know.
pub(super) struct Field<'a> {
    pub(super) boundary: &'a Boundary<'a>,
    pub(super) tree: &'a Tree,
    pub(super) zone: &'a Zone,
    pub(super) corners: &'a Corners,
    /// Group of each face; of a pair of groups one place is wanted. Empty: every face is a group of its own.
    pub(super) groups: &'a [u32],
    pub(super) goal: Goal,
}

struct Task<'a> {
    f: &'a Field<'a>,
    known: &'a Found,
    own: Found,
    /// Work that this task may take.
    allowed: usize,
}

/// Runs the search.
pub(super) fn search(f: &Field<'_>) -> Found {
    let mut found = Found { cap: f.goal.below, ..Found::default() };
    if f.tree.nodes.is_empty() {
        return found;
    }
    let step = (f.tree.order.len() / SEEDS).max(1);
    let seeds: Vec<usize> = f.tree.order.iter().copied().step_by(step).collect();
    let guesses: Vec<Option<Chord>> =
        seeds.par_iter().map(|&p| from_point(f, p, &f.tree.bits[p].centre, f.goal.below)).collect();
    for c in guesses.into_iter().flatten() {
        found.merge(key(f, c.prims[0], c.prims[1]), Between { chord: Some(c), open: None });
    }
    found.tighten(&f.goal);
    let tasks = divided(f, &found);
    let (mut from, mut size) = (0, FIRST);
    while from < tasks.len() {
        let to = (from + size).min(tasks.len());
        let left = f.goal.work.saturating_sub(found.spent());
        if left == 0 {
            // The nearest come first.
            let (i, j) = tasks[from];
            found.leave(f.tree.nodes[i].gap(&f.tree.nodes[j]));
            break;
        }
        let allowed = left / (to - from) + 1;
        let results: Vec<Found> = tasks[from..to]
            .par_iter()
            .map(|&(i, j)| {
                let own = Found { cap: found.cap, ..Found::default() };
                let mut t = Task { f, known: &found, own, allowed };
                t.descend(i, j);
                t.own
            })
            .collect();
        for r in results {
            found.looked += r.looked;
            found.boxes += r.boxes;
            if let Some(gap) = r.rest {
                found.leave(gap);
            }
            for (k, b) in r.pairs {
                found.merge(k, b);
            }
        }
        found.tighten(&f.goal);
        (from, size) = (to, (2 * size).min(ROUND));
    }
    found
}

pub(super) fn key(f: &Field<'_>, i: usize, j: usize) -> (u32, u32) {
    let of = |i: usize| {
        let face = f.boundary.prims[i].face;
        f.groups.get(face as usize).copied().unwrap_or(face)
    };
    let (a, b) = (of(i), of(j));
    (a.min(b), a.max(b))
}

/// Pairs of nodes that together hold all pairs of primitives, the nearest first.
fn divided(f: &Field<'_>, found: &Found) -> Vec<(usize, usize)> {
    let mut now = vec![(0, 0)];
    loop {
        let mut next = Vec::new();
        let mut split = false;
        for &(i, j) in &now {
            split |= children(f, i, j, found.cap, &mut next);
        }
        now = next.into_iter().map(|(i, j, _)| (i, j)).collect();
        if !split || now.len() >= TASKS {
            break;
        }
    }
    let gap = |&(i, j): &(usize, usize)| f.tree.nodes[i].gap(&f.tree.nodes[j]);
    now.sort_by(|a, b| gap(a).total_cmp(&gap(b)).then(a.cmp(b)));
    now
}

/// Pairs below a pair of nodes; a pair of leaves stays itself and gives false.
fn children(f: &Field<'_>, i: usize, j: usize, cap: f64, out: &mut Vec<(usize, usize, f64)>) -> bool {
    let nodes = &f.tree.nodes;
    let mut add = |a: usize, b: usize| {
        let gap = nodes[a].gap(&nodes[b]);
        if gap - ROUNDING < cap - f.goal.tolerance && !nodes[a].excludes(&nodes[b], f.goal.delta) {
            out.push((a, b, gap));
        }
    };
    let (u, v) = (&nodes[i], &nodes[j]);
    let longer = (u.hi - u.lo).norm_squared() >= (v.hi - v.lo).norm_squared();
    match (u.child, v.child) {
        (None, None) => {
            add(i, j);
            return false;
        }
        (Some(c), _) if i == j => {
            add(c, c);
            add(c + 1, c + 1);
            add(c, c + 1);
        }
        (Some(c), d) if d.is_none() || longer => {
            add(c, j);
            add(c + 1, j);
        }
        (_, Some(d)) => {
            add(i, d);
            add(i, d + 1);
        }
        (Some(_), None) => {}
    }
    true
}

impl Task<'_> {
    fn descend(&mut self, i: usize, j: usize) {
        let mut stack = vec![(i, j, self.f.tree.nodes[i].gap(&self.f.tree.nodes[j]))];
        let mut next = Vec::with_capacity(3);
        while let Some((i, j, gap)) = stack.pop() {
            if gap - ROUNDING >= self.own.cap - self.f.goal.tolerance {
                continue;
            }
            self.own.boxes += 1;
            if self.own.spent() > self.allowed {
                self.own.leave(gap);
                continue;
            }
            next.clear();
            if !children(self.f, i, j, self.own.cap, &mut next) {
                if !next.is_empty() {
                    self.leaves(i, j);
                }
                continue;
            }
            // The nearest on top of the stack.
            next.sort_by(|a, b| b.2.total_cmp(&a.2).then((b.0, b.1).cmp(&(a.0, a.1))));
            stack.extend_from_slice(&next);
        }
    }

    fn leaves(&mut self, i: usize, j: usize) {
        let (u, v) = (self.f.tree.nodes[i].range, self.f.tree.nodes[j].range);
        for x in u[0]..u[1] {
            for y in if i == j { x + 1 } else { v[0] }..v[1] {
                let (a, b) = (self.f.tree.order[x], self.f.tree.order[y]);
                self.primitives(a.min(b), a.max(b));
            }
        }
    }

    fn primitives(&mut self, i: usize, j: usize) {
        let (a, b) = (&self.f.tree.bits[i], &self.f.tree.bits[j]);
        let delta = self.f.goal.delta;
        if PI - angle(&a.axis, &b.axis) > a.spread + b.spread + 2.0 * delta {
            return;
        }
        let (p, q) = (&self.f.boundary.prims[i], &self.f.boundary.prims[j]);
        if let Some(&shared) = p.ids[..p.corners].iter().find(|v| q.ids[..q.corners].contains(v))
            && !may_oppose(self.f.boundary, a, b, shared, delta, 0.0)
        {
            return;
        }
        let mut own = std::mem::take(&mut self.own);
        refine(self.f, self.known, &mut own, [*a, *b]);
        self.own = own;
    }
}
