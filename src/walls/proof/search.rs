//! Dual-tree branch and bound over pairs of primitives; per pair of faces the shortest chord and a proved lower bound.
//!
//! A pair of flat facets is a convex problem: chords are the hull of the differences of their corners, and the
//! conditions on both angles are circular cones. Its least chord without the cones is a lower bound, and if it meets
//! the conditions it is the answer. If not, the cone that it misses is cut along its tangent plane, which again gives a
//! lower bound; only what remains open is halved.
//!
//! Work is divided into tasks, and tasks into rounds of fixed size. All tasks of a round start from the bounds known
//! before it, and their results are merged in order: any number of threads gives the same bytes. What a task has not
//! done with its slice of work it hands back, to be tasks of the next round.

use super::corner::Corners;
use super::pair::refine;
use super::point::from_point;
use super::prim::Boundary;
use super::sharp::{Zone, may_oppose};
use super::tree::Tree;
use crate::walls::cell::angle;
use nalgebra::Point3;
use rayon::prelude::*;
use std::collections::{BTreeMap, VecDeque};
use std::f64::consts::PI;

/// Taken off each distance, mm, for rounding: some hundred operations on coordinates below 100 mm.
pub(super) const ROUNDING: f64 = 1e-12;
/// Tasks the work is cut into.
const TASKS: usize = 1024;
/// Tasks in the first round; each round is twice as long, up to [`ROUND`].
const FIRST: usize = 8;
/// Tasks in a long round.
const ROUND: usize = 64;
/// Work after which a task hands back what it has left: a twentieth of a second or so.
const SLICE: usize = 1_000_000;
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
    /// Chords so many times as long as the shortest do not matter, unless shorter than the second number, mm.
    pub(super) thick: (f64, f64),
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
        let (times, always) = goal.thick;
        self.cap = self.cap.min((times * self.least).max(always));
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

/// A pair of nodes.
#[derive(Clone, Copy)]
struct Boxes {
    i: usize,
    j: usize,
    /// Distance of their boxes, mm.
    gap: f64,
}

impl Boxes {
    fn nodes(&self) -> (usize, usize) {
        (self.i, self.j)
    }
}

struct Task<'a> {
    f: &'a Field<'a>,
    known: &'a Found,
    own: Found,
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
    let mut tasks = VecDeque::from(divided(f, &found));
    let mut size = FIRST;
    while !tasks.is_empty() {
        let left = f.goal.work.saturating_sub(found.spent());
        if left == 0 {
            found.rest = tasks.iter().map(|t| t.gap).min_by(f64::total_cmp);
            break;
        }
        let round: Vec<Boxes> = tasks.drain(..size.min(tasks.len())).collect();
        let slice = SLICE.min(left / round.len() + 1);
        let results: Vec<(Found, Vec<Boxes>)> = round
            .par_iter()
            .map(|&start| {
                let own = Found { cap: found.cap, ..Found::default() };
                let mut t = Task { f, known: &found, own };
                let undone = t.descend(start, slice);
                (t.own, undone)
            })
            .collect();
        let mut back = Vec::new();
        for (own, undone) in results {
            found.looked += own.looked;
            found.boxes += own.boxes;
            for (k, b) in own.pairs {
                found.merge(k, b);
            }
            back.push(undone);
        }
        // The nearest lies last in what a task leaves, and comes first of all.
        back.into_iter().rev().flatten().for_each(|t| tasks.push_front(t));
        found.tighten(&f.goal);
        size = (2 * size).min(ROUND);
    }
    found
}

/// The group of a face.
pub(super) fn group_of(groups: &[u32], face: u32) -> u32 {
    groups.get(face as usize).copied().unwrap_or(face)
}

fn pair_of(a: u32, b: u32) -> (u32, u32) {
    (a.min(b), a.max(b))
}

pub(super) fn key(f: &Field<'_>, i: usize, j: usize) -> (u32, u32) {
    let of = |i: usize| group_of(f.groups, f.boundary.prims[i].face);
    pair_of(of(i), of(j))
}

/// Pairs of nodes that together hold all pairs of primitives, the nearest first.
fn divided(f: &Field<'_>, found: &Found) -> Vec<Boxes> {
    let mut now = vec![Boxes { i: 0, j: 0, gap: 0.0 }];
    loop {
        let mut next = Vec::new();
        let mut split = false;
        for &b in &now {
            split |= children(f, b, |_, _| found.cap, &mut next);
        }
        now = next;
        if !split || now.len() >= TASKS {
            break;
        }
    }
    now.sort_by(|a, b| a.gap.total_cmp(&b.gap).then(a.nodes().cmp(&b.nodes())));
    now
}

/// Pairs below a pair of nodes that may hold chords below the `cap` of the two; a pair of leaves stays itself and gives false.
fn children(
    f: &Field<'_>,
    Boxes { i, j, .. }: Boxes,
    cap: impl Fn(usize, usize) -> f64,
    out: &mut Vec<Boxes>,
) -> bool {
    let nodes = &f.tree.nodes;
    let mut add = |a: usize, b: usize| {
        let gap = nodes[a].gap(&nodes[b]);
        if gap - ROUNDING < cap(a, b) - f.goal.tolerance && !nodes[a].excludes(&nodes[b], f.goal.delta) {
            out.push(Boxes { i: a, j: b, gap });
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
    /// Chords between two nodes that are longer than this do not matter: of a pair of groups the shortest is wanted.
    fn cap(&self, i: usize, j: usize) -> f64 {
        let of = |k: usize| self.f.tree.nodes[k].group;
        let Some((a, b)) = of(i).zip(of(j)) else { return self.own.cap };
        let key = pair_of(a, b);
        self.own.cap.min(self.known.upper(key)).min(self.own.upper(key))
    }

    /// Follows a pair of boxes down; gives back what is left when its slice of work is spent.
    fn descend(&mut self, start: Boxes, slice: usize) -> Vec<Boxes> {
        let mut stack = vec![start];
        let mut next = Vec::with_capacity(3);
        while self.own.spent() < slice
            && let Some(b) = stack.pop()
        {
            let Boxes { i, j, gap } = b;
            if gap - ROUNDING >= self.cap(i, j) - self.f.goal.tolerance {
                continue;
            }
            self.own.boxes += 1;
            next.clear();
            if !children(self.f, b, |i, j| self.cap(i, j), &mut next) {
                if !next.is_empty() {
                    self.leaves(i, j);
                }
                continue;
            }
            // The nearest on top of the stack.
            next.sort_by(|a, b| b.gap.total_cmp(&a.gap).then(b.nodes().cmp(&a.nodes())));
            stack.extend_from_slice(&next);
        }
        stack
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
