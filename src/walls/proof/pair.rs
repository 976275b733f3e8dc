//! One pair of primitives, or of parts of them: bounds of its least chord, by cutting and halving.

use super::cuts::Cuts;
use super::hull::{differences, nearest};
use super::prim::{Bit, By, nearest_of_arc};
use super::search::{Between, Chord, Field, Found, ROUNDING, key};
use crate::walls::cell::{ANGLE_PAD, angle};
use nalgebra::{Point3, Vector3};
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::f64::consts::{FRAC_PI_2, PI};

/// Parts of one pair of primitives looked at before it is left open, its distance entering the lower bound.
const BUDGET: usize = 2_000;
/// The same where the pair may hold the thinnest place of all: a chord that leans as far as it may between curved faces is
/// bounded only as fast as their normals are told apart.
const LONG: usize = 12_000;

/// An edge is halved for the turn of its faces where that is more than this part of what its fan and the place leave open;
/// a choice for speed alone.
const EDGE: f64 = 16.0;

/// Whether the open angle conditions of a direction at the ends of a pair are those of real points.
pub(super) fn real(f: &Field<'_>, a: usize, b: usize, p: &Point3<f64>, q: &Point3<f64>) -> Option<Chord> {
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
pub(super) fn tangent(bit: &Bit, sign: f64, delta: f64, d: &Vector3<f64>) -> Option<Vector3<f64>> {
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
pub(super) fn misses(bit: &Bit, out: &Vector3<f64>, delta: f64, sway: f64) -> bool {
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

/// Narrows down the least chord between two primitives.
pub(super) fn refine(f: &Field<'_>, known: &Found, own: &mut Found, [a, b]: [Bit; 2]) {
    let whole = a.slack + b.slack;
    let (s, goal) = (f.boundary, &f.goal);
    let key = key(f, a.prim, b.prim);
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
        if order > LONG || (order > BUDGET && (parent >= known.least || known.least.is_infinite())) {
            open(own, parent);
            return;
        }
        let Some((lower, split)) = look(f, own, key, [&a, &b], limit) else { continue };
        let lower = lower.max(parent);
        let limit = own.cap.min(before).min(own.upper(key)) - goal.tolerance;
        if lower >= limit {
            continue;
        }
        // What the mesh leaves in doubt it may leave: it is little.
        if split == Split::Done || (whole > 0.0 && lower >= limit - whole) {
            open(own, lower);
            continue;
        }
        let (by, first) = match split {
            Split::At(by, first) => (by, first),
            Split::Done => (By::Length, a.radius >= b.radius),
        };
        for h in s.halves(if first { &a } else { &b }, by) {
            order += 1;
            heap.push(Open { lower, order, bits: if first { [h, b] } else { [a, h] } });
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Split {
    /// Its bound is as good as it gets.
    Done,
    /// The first bit, or the second.
    At(By, bool),
}

/// Bound of a pair of bits and how to go on; `None` if it holds no chord shorter than the limit.
fn look(
    f: &Field<'_>,
    own: &mut Found,
    key: (u32, u32),
    [a, b]: [&Bit; 2],
    limit: f64,
) -> Option<(f64, Split)> {
    let (s, goal) = (f.boundary, &f.goal);
    let slack = a.slack + b.slack;
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
    if f.zone.covers(pa, pb) || f.corners.hold(f, [a.prim, b.prim], [pa, pb], slack) {
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
        return Some((lower, Split::At(By::Fan, fa >= fb)));
    }
    // So small that halving settles nothing, unless the pair is as near as it is small.
    if rho < slack + goal.tolerance / 4.0 && far > 8.0 * rho {
        return Some((lower, Split::Done));
    }
    // A chord that leans to its limit is bounded only as closely as the normals are known. Along an edge they count once
    // its fan and the place are known as well.
    let known_less = fa.max(fb).max(sway) / EDGE;
    let turn =
        |bit: &Bit, fan: f64| Some(s.turn_half(bit)).filter(|&t| fan == 0.0 || t > known_less).unwrap_or(0.0);
    let (ta, tb) = (turn(a, fa), turn(b, fb));
    if ta.max(tb) * far * libm::sin(goal.delta) > goal.tolerance / 4.0 {
        return Some((lower, Split::At(By::Turn, ta >= tb)));
    }
    Some((lower, Split::At(By::Length, a.radius >= b.radius)))
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
        // Between faces that meet at twice delta only the direction half way between their normals is left.
        let (n, m) = (s.normal_near(b, &q, &d), -s.normal_near(a, &p, &-d));
        if angle(&d, &n) > f.goal.delta
            && let Some(half) = (n + m).try_normalize(1e-3)
        {
            d = half * d.norm();
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
pub(super) fn leaned(d: &Vector3<f64>, axis: &Vector3<f64>, delta: f64) -> Vector3<f64> {
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
pub(super) fn pierced(t: &super::prim::Prim, p: &Point3<f64>, d: &Vector3<f64>) -> Option<Point3<f64>> {
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
