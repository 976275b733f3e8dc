//! Dual-tree branch and bound over pairs of primitives; per pair of faces the shortest chord and a proved lower bound.
//!
//! A pair of flat facets is a convex problem: chords are the hull of the differences of their corners, and the
//! conditions on both angles are circular cones. Its least chord without the cones is a lower bound, and if it meets
//! the conditions it is the answer. If not, the cone that it misses is cut along its tangent plane, which again gives a
//! lower bound; only what remains open is halved.
//!
//! Work is divided into tasks, and tasks into rounds of fixed size. All tasks of a round start from the bounds known
//! before it, and their results are merged in order: any number of threads gives the same bytes.

use super::cuts::Cuts;
use super::hull::{differences, nearest};
use super::prim::{Bit, Boundary, nearest_of_arc};
use super::sharp::{Corners, Zone, may_oppose};
use super::tree::Tree;
use crate::walls::cell::{ANGLE_PAD, angle};
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;
use std::cmp::Ordering;
use std::collections::{BTreeMap, BinaryHeap};
use std::f64::consts::{FRAC_PI_2, PI};

/// Taken off each distance, mm, for rounding: some hundred operations on coordinates below 100 mm.
const ROUNDING: f64 = 1e-12;
/// Parts of one pair of primitives looked at before it is left open, its distance entering the lower bound.
const BUDGET: usize = 2_000;
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
}

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
    /// Pairs of parts looked at.
    pub(super) looked: usize,
}

impl Found {
    fn upper(&self, key: (u32, u32)) -> f64 {
        self.pairs.get(&key).and_then(|b| b.chord).map_or(f64::INFINITY, |c| c.length)
    }
    fn merge(&mut self, key: (u32, u32), b: Between) {
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
    pub(super) goal: Goal,
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
    let tasks = divided(f, &found);
    let (mut from, mut size) = (0, FIRST);
    while from < tasks.len() {
        let to = (from + size).min(tasks.len());
        let results: Vec<Found> = tasks[from..to]
            .par_iter()
            .map(|&(i, j)| {
                let mut t = Task { f, known: &found, own: Found { cap: found.cap, ..Found::default() } };
                t.descend(i, j);
                t.own
            })
            .collect();
        for r in results {
            found.looked += r.looked;
            for (k, b) in r.pairs {
                found.merge(k, b);
            }
        }
        found.tighten(&f.goal);
        (from, size) = (to, (2 * size).min(ROUND));
    }
    found
}

fn key(f: &Field<'_>, i: usize, j: usize) -> (u32, u32) {
    let (a, b) = (f.boundary.prims[i].face, f.boundary.prims[j].face);
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
        let mut stack = vec![(i, j, 0.0)];
        let mut next = Vec::with_capacity(3);
        while let Some((i, j, gap)) = stack.pop() {
            if gap - ROUNDING >= self.own.cap - self.f.goal.tolerance {
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
            && !may_oppose(self.f.boundary, a, b, shared, delta)
        {
            return;
        }
        let mut own = std::mem::take(&mut self.own);
        refine(self.f, self.known, &mut own, *a, *b);
        self.own = own;
    }
}

/// Whether the open angle conditions of a direction at the ends of a pair are those of real points.
fn real(f: &Field<'_>, a: usize, b: usize, p: &Point3<f64>, q: &Point3<f64>) -> Option<Chord> {
    let (p, q) = (f.boundary.exact(a, p), f.boundary.exact(b, q));
    let d = q - p;
    let length = d.norm();
    let delta = f.goal.delta;
    (length > 0.0
        && f.boundary.meets(a, &p, &-d, delta)
        && f.boundary.meets(b, &q, &d, delta)
        && !f.zone.covers(&[p], &[q]))
    .then_some(Chord { length, at: [p, q], prims: [a, b] })
}

/// Half space that holds every direction within `delta` of the normals of a bit (turned round for `sign` -1) and cuts
/// off `d`, if `d` lies far enough from all of them.
///
/// With n the nearest normal of the arc, its plane leans away from `d` only, so a cone about another normal of the arc, at
/// psi from n, stays inside if the sine of its half angle is at most cos psi times that of the plane.
fn tangent(bit: &Bit, sign: f64, delta: f64, d: &Vector3<f64>) -> Option<Vector3<f64>> {
    let arc = bit.arc.map(|n| n * sign);
    let n = nearest_of_arc(d, &arc);
    let away = angle(d, &n);
    let psi = angle(&n, &arc[0]).max(angle(&n, &arc[1]));
    let sine = libm::sin((delta + bit.pad).min(FRAC_PI_2)) / libm::cos(psi.min(FRAC_PI_2)).max(1e-9);
    if sine >= 1.0 {
        return None;
    }
    let half = libm::asin(sine) + ANGLE_PAD;
    if away <= half {
        return None;
    }
    let side = (d - n * d.dot(&n)).try_normalize(0.0)?;
    Some(n * libm::sin(half) - side * libm::cos(half))
}

/// Whether a direction, give or take `sway`, misses all normals of a bit by more than `delta`.
fn misses(bit: &Bit, out: &Vector3<f64>, delta: f64, sway: f64) -> bool {
    angle(out, &bit.axis) > bit.spread + delta + sway
        || angle(out, &nearest_of_arc(out, &bit.arc)) > bit.pad + delta + sway
}

struct Open {
    lower: f64,
    order: usize,
    bits: [Bit; 2],
}
impl Ord for Open {
    /// The heap gives the least bound first, and of equals the youngest.
    fn cmp(&self, o: &Self) -> Ordering {
        o.lower.total_cmp(&self.lower).then(self.order.cmp(&o.order))
    }
}
impl PartialOrd for Open {
    fn partial_cmp(&self, o: &Self) -> Option<Ordering> {
        Some(self.cmp(o))
    }
}
impl PartialEq for Open {
    fn eq(&self, o: &Self) -> bool {
        self.order == o.order
    }
}
impl Eq for Open {}

fn refine(f: &Field<'_>, known: &Found, own: &mut Found, a: Bit, b: Bit) {
    let (s, goal) = (f.boundary, &f.goal);
    let key = key(f, a.prim, b.prim);
    let slack = s.prims[a.prim].slack + s.prims[b.prim].slack;
    let before = known.upper(key);
    let open = |own: &mut Found, bound: f64| {
        own.merge(key, Between { chord: None, open: Some(bound.max(0.0)) });
    };
    let mut heap = BinaryHeap::new();
    heap.push(Open { lower: 0.0, order: 0, bits: [a, b] });
    let mut order = 0;
    while let Some(Open { lower: parent, bits: [a, b], .. }) = heap.pop() {
        own.looked += 1;
        let limit = own.cap.min(before).min(own.upper(key)) - goal.tolerance;
        if parent >= limit {
            return;
        }
        if order > BUDGET {
            open(own, parent);
            return;
        }
        let Some((lower, split)) = look(f, own, key, [&a, &b], limit, slack) else { continue };
        let lower = lower.max(parent);
        let limit = own.cap.min(before).min(own.upper(key)) - goal.tolerance;
        if lower >= limit {
            continue;
        }
        // What the mesh leaves in doubt, halving does not settle.
        if split == Split::Done || (slack > 0.0 && lower >= limit - slack) {
            open(own, lower);
            continue;
        }
        let (fan, first) = match split {
            Split::Fan(first) => (true, first),
            _ => (false, a.radius >= b.radius),
        };
        for h in s.halves(if first { &a } else { &b }, fan) {
            order += 1;
            heap.push(Open { lower, order, bits: if first { [h, b] } else { [a, h] } });
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Split {
    /// Its bound is as good as it gets.
    Done,
    /// The fan of the first bit, or the second.
    Fan(bool),
    /// The longer bit.
    Longer,
}

/// Bound of a pair of bits and how to go on; `None` if it holds no chord shorter than the limit.
fn look(
    f: &Field<'_>,
    own: &mut Found,
    key: (u32, u32),
    [a, b]: [&Bit; 2],
    limit: f64,
    slack: f64,
) -> Option<(f64, Split)> {
    let (s, goal) = (f.boundary, &f.goal);
    let delta = goal.delta + ANGLE_PAD;
    if PI - angle(&a.axis, &b.axis) > 2.0 * delta + a.spread + b.spread {
        return None;
    }
    let d = b.centre - a.centre;
    let (far, rho) = (d.norm(), a.radius + b.radius + slack);
    if far - rho - ROUNDING >= limit {
        return None;
    }
    let sway = if far > rho { libm::asin(rho / far) } else { PI };
    if far > rho && (misses(a, &-d, delta, sway) || misses(b, &d, delta, sway)) {
        return None;
    }
    let (pa, pb) = (s.corners(a), s.corners(b));
    if f.zone.covers(pa, pb) || f.corners.hold(pa, pb) {
        return None;
    }
    let mut room = [Vector3::zeros(); 9];
    let points = differences(pa, pb, &mut room);
    let n = nearest(points);
    let mut lower = (n.lower - slack - ROUNDING).max(0.0);
    if lower >= limit {
        return None;
    }
    let ends = |mix: &[(usize, f64)]| {
        let (mut p, mut q) = (Vector3::zeros(), Vector3::zeros());
        for &(k, w) in mix {
            p += pa[k / pb.len()].coords * w;
            q += pb[k % pb.len()].coords * w;
        }
        (Point3::from(p), Point3::from(q))
    };
    let (p, q) = ends(&n.mix[..n.count]);
    if offer(f, own, key, a.prim, b.prim, &p, &q).is_some() {
        // The least chord of the pair is a real one: nothing is left to look for.
        return Some((lower, Split::Done));
    }
    // Where the least chord leans too far, its cone is cut off there, as often as that helps.
    let mut cuts = Cuts::new(points, slack);
    let (mut x, mut p, mut q) = (n.x, p, q);
    while !cuts.full() {
        let plane = [(b, 1.0), (a, -1.0)]
            .into_iter()
            .filter_map(|(bit, sign)| tangent(bit, sign, delta, &x))
            .min_by(|v, w| v.dot(&x).total_cmp(&w.dot(&x)));
        // Within the slack the least chord may still count: cutting it off would prove nothing.
        let Some(w) = plane.filter(|w| cuts.beyond(w, &x)) else { break };
        let (bound, m) = cuts.add(w)?;
        lower = lower.max(bound - slack - ROUNDING);
        if lower >= limit {
            return None;
        }
        x = m.x;
        (p, q) = (Point3::origin(), Point3::origin());
        for (k, t) in m.mix.into_iter().enumerate().take(points.len()) {
            p += pa[k / pb.len()].coords * t;
            q += pb[k % pb.len()].coords * t;
        }
    }
    if let Some(length) = nudged(f, own, key, [a.prim, b.prim], p, q)
        && length - lower <= goal.tolerance + slack
    {
        return Some((lower, Split::Done));
    }
    // Where directions leave less doubt than a fan of normals, the fan is halved.
    let (fa, fb) = (s.fan_half(a), s.fan_half(b));
    if fa.max(fb) > 0.05 && fa.max(fb) > sway {
        return Some((lower, Split::Fan(fa >= fb)));
    }
    let done = rho < slack + goal.tolerance / 4.0;
    Some((lower, if done { Split::Done } else { Split::Longer }))
}

/// Offers a chord, and where it leans too far the nearest ones that lean less; the length of the shortest real one.
fn nudged(
    f: &Field<'_>,
    own: &mut Found,
    key: (u32, u32),
    [a, b]: [usize; 2],
    p: Point3<f64>,
    q: Point3<f64>,
) -> Option<f64> {
    let s = f.boundary;
    let mut best = offer(f, own, key, a, b, &p, &q);
    if best.is_some() {
        return best;
    }
    let (mut p, mut q) = (p, q);
    for round in 0..4 {
        let mut d = q - p;
        if d.norm() < 1e-9 {
            return best;
        }
        for _ in 0..6 {
            let n = s.normal_near(b, &q, &d);
            d = leaned(&d, &n, f.goal.delta);
            let m = -s.normal_near(a, &p, &-d);
            d = leaned(&d, &m, f.goal.delta);
        }
        let hit = if round % 2 == 0 {
            pierced(&s.prims[a], &q, &-d)
                .map(|x| (x, q))
                .or_else(|| pierced(&s.prims[b], &p, &d).map(|x| (p, x)))
        } else {
            pierced(&s.prims[b], &p, &d)
                .map(|x| (p, x))
                .or_else(|| pierced(&s.prims[a], &q, &-d).map(|x| (x, q)))
        };
        let Some(next) = hit else { break };
        (p, q) = next;
        if let Some(l) = offer(f, own, key, a, b, &p, &q) {
            best = Some(best.map_or(l, |x: f64| x.min(l)));
            break;
        }
    }
    best
}

/// A direction turned towards an axis until it lies within `delta` of it.
fn leaned(d: &Vector3<f64>, axis: &Vector3<f64>, delta: f64) -> Vector3<f64> {
    if angle(d, axis) <= delta {
        return *d;
    }
    match (d - axis * d.dot(axis)).try_normalize(0.0) {
        // A hair inside, so that rounding does not put it outside again.
        Some(side) => {
            (axis * libm::cos(delta * (1.0 - 1e-9)) + side * libm::sin(delta * (1.0 - 1e-9))) * d.norm()
        }
        None => *axis * d.norm(),
    }
}

/// Where a ray meets a triangle.
fn pierced(t: &super::prim::Prim, p: &Point3<f64>, d: &Vector3<f64>) -> Option<Point3<f64>> {
    if t.corners < 3 {
        return None;
    }
    let [a, b, c] = t.at;
    let m = (b - a).cross(&(c - a));
    let down = d.dot(&m);
    if down == 0.0 {
        return None;
    }
    let far = (a - p).dot(&m) / down;
    let q = p + d * far;
    let inside = [(a, b), (b, c), (c, a)].iter().all(|(x, y)| (y - x).cross(&(q - x)).dot(&m) >= 0.0);
    (far > 0.0 && inside).then_some(q)
}

/// Takes a chord if it is real; its length if so.
fn offer(
    f: &Field<'_>,
    own: &mut Found,
    key: (u32, u32),
    a: usize,
    b: usize,
    p: &Point3<f64>,
    q: &Point3<f64>,
) -> Option<f64> {
    let c = real(f, a, b, p, q)?;
    if c.length < own.upper(key) {
        own.merge(key, Between { chord: Some(c), open: None });
        if f.goal.count == 1 {
            own.cap = own.cap.min(c.length);
        }
    }
    Some(c.length)
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
                let gap = (v.lo - at).sup(&(at - v.hi)).sup(&Vector3::zeros()).norm();
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
