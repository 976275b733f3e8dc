//! Which triangles of two bodies are near one another, one of them at a pose and with a motion to allow for.
//!
//! A box of the moving tree is carried into the frame of what stands still by the absolute values of the rotation matrix
//! (the box around the turned box), so no tree is rebuilt for a pose.

use super::body::Body;
use super::near::Near;
use super::place::{Place, Turn};
use super::triangle::{self, ROUNDING, Triangle};
use crate::mesh::bvh::{Aabb, Content};
use nalgebra::{Matrix3, Point3, Vector3};

/// What a visit wants next.
pub(super) enum Next {
    /// Go on, looking no farther than this many mm between meshes less chords.
    Within(f64),
    /// Enough.
    Stop,
}

/// A moving body at a pose: its boxes and triangles in the frame of what stands still, made as they are asked for.
pub(super) struct Posed<'a> {
    pub(super) body: &'a Body,
    place: Place,
    /// The absolute values of the rotation.
    rows: Matrix3<f64>,
    motion: Motion<'a>,
}

pub(super) struct PosedTriangle {
    pub(super) at: Triangle,
    normal: Vector3<f64>,
    bounds: Aabb,
    moves: f64,
}

/// The motion to allow for at a pose: angle to either side, radians, and shift, mm.
#[derive(Clone, Copy)]
pub(super) struct Motion<'a> {
    turn: &'a Turn,
    pub(super) half: f64,
    pub(super) slide: f64,
    /// The coordinate along which nothing moves, where there is one: 0, 1 or 2.
    pub(super) level: Option<usize>,
}

impl<'a> Motion<'a> {
    /// Turning by `half` to either side and shifting by `slide`, square to the axis or not.
    pub(super) fn new(turn: &'a Turn, half: f64, slide: f64, square: bool) -> Self {
        let level = (0..3).find(|k| square && turn.axis[*k].abs() >= 1.0 - 1e-15);
        Self { turn, half, slide, level }
    }
    /// How far the points of a box, in the body's frame, may move, mm.
    fn of(&self, b: &Aabb) -> f64 {
        if self.half <= 0.0 {
            return self.slide;
        }
        self.slide + self.arm(b) * self.half
    }
    /// No point of a box, in the body's frame, is farther from the axis, mm.
    pub(super) fn arm(&self, b: &Aabb) -> f64 {
        let (centre, half) = middle(b);
        self.turn.arm(&centre) + half.norm()
    }
    /// How much of a motion can go along a unit vector.
    fn share(&self, n: &Vector3<f64>) -> f64 {
        self.level.map_or(1.0, |k| (1.0 - n[k] * n[k]).max(0.0).sqrt())
    }
    /// Least distance of two boxes when the points of one may move so far, mm; below zero where they may overlap.
    fn apart(&self, a: &Aabb, b: &Aabb, moves: f64) -> f64 {
        let x = (a.min[0] - b.max[0]).max(b.min[0] - a.max[0]).max(0.0);
        let y = (a.min[1] - b.max[1]).max(b.min[1] - a.max[1]).max(0.0);
        let z = (a.min[2] - b.max[2]).max(b.min[2] - a.max[2]).max(0.0);
        let g = [x, y, z];
        let all = x * x + y * y + z * z;
        match self.level {
            Some(k) if moves > 0.0 => {
                let beside = ((all - g[k] * g[k]).max(0.0).sqrt() - moves).max(0.0);
                let d = (beside * beside + g[k] * g[k]).sqrt();
                if d > 0.0 { d } else { all.sqrt() - moves }
            }
            _ => all.sqrt() - moves,
        }
    }
}

/// Middle and half size of a box.
#[inline]
fn middle(b: &Aabb) -> (Point3<f64>, Vector3<f64>) {
    (
        Point3::new(0.5 * (b.min[0] + b.max[0]), 0.5 * (b.min[1] + b.max[1]), 0.5 * (b.min[2] + b.max[2])),
        Vector3::new(0.5 * (b.max[0] - b.min[0]), 0.5 * (b.max[1] - b.min[1]), 0.5 * (b.max[2] - b.min[2])),
    )
}

impl<'a> Posed<'a> {
    pub(super) fn new(body: &'a Body, place: &Place, motion: Motion<'a>) -> Self {
        Self { body, place: *place, rows: place.turn.abs(), motion }
    }
    /// The box around a node's turned box, and how far its points may move.
    fn node(&self, n: u32) -> (Aabb, f64) {
        let own = &self.body.tree.nodes[n as usize].bounds;
        let (c, h) = middle(own);
        let (c, h) = (self.place.turn * c.coords + self.place.shift, self.rows * h);
        (Aabb { min: (c - h).into(), max: (c + h).into() }, self.motion.of(own))
    }
    pub(super) fn triangle(&self, t: u32) -> PosedTriangle {
        let own = self.body.triangle(t);
        let at = [self.place.point(&own[0]), self.place.point(&own[1]), self.place.point(&own[2])];
        let moves = self.motion.of(self.body.tree.bounds_of(t));
        let normal = self.place.turn * self.body.normal_of(t);
        PosedTriangle { at, normal, bounds: Aabb::around(&at), moves }
    }
}

/// How far two triangles are apart along a unit vector; zero where they overlap along it.
#[inline]
fn gap_along(n: &Vector3<f64>, p: &Triangle, q: &Triangle) -> f64 {
    let along = |t: &Triangle| (n.dot(&t[0].coords), n.dot(&t[1].coords), n.dot(&t[2].coords));
    let (a, b) = (along(p), along(q));
    let low = |x: (f64, f64, f64)| x.0.min(x.1).min(x.2);
    let high = |x: (f64, f64, f64)| x.0.max(x.1).max(x.2);
    (low(b) - high(a)).max(low(a) - high(b)).max(0.0)
}

/// Two triangles that boxes and planes leave within a limit.
pub(super) struct Sifted<'a> {
    pub(super) still: u32,
    pub(super) moving: u32,
    p: &'a Triangle,
    q: &'a PosedTriangle,
    /// They are no nearer than this, the motion taken off, mm.
    apart: f64,
    /// The chords of both, mm.
    pub(super) both: f64,
}

impl<'a> Sifted<'a> {
    /// A triangle of each body; `None` where their distance less chords less motion is beyond the limit.
    #[inline]
    pub(super) fn of(
        a: &'a Body,
        i: u32,
        b: &Posed,
        j: u32,
        q: &'a PosedTriangle,
        limit: f64,
    ) -> Option<Self> {
        let both = a.chord_of(i) + b.body.chord_of(j);
        let within = limit + both + ROUNDING;
        let mut apart = b.motion.apart(a.tree.bounds_of(i), &q.bounds, q.moves);
        if apart > within {
            return None;
        }
        let p = a.triangle(i);
        for n in [&a.normal_of(i), &q.normal] {
            apart = apart.max(gap_along(n, p, &q.at) - q.moves * b.motion.share(n));
        }
        (apart <= within).then_some(Self { still: i, moving: j, p, q, apart, both })
    }
    /// How far they are apart by boxes and planes where they stand, mm.
    pub(super) fn gap(&self, a: &Body) -> f64 {
        let boxes = a.tree.bounds_of(self.still).distance2(&self.q.bounds).sqrt();
        [&a.normal_of(self.still), &self.q.normal]
            .into_iter()
            .fold(boxes, |g, n| g.max(gap_along(n, self.p, &self.q.at)))
    }
    /// Their nearest points; `None` where they too are beyond the limit.
    #[inline]
    pub(super) fn near(&self, still: (usize, &Body), moving: (usize, &Body), limit: f64) -> Option<Near> {
        let (mesh, x, y) = triangle::nearest(self.p, &self.q.at);
        let lower = self.apart.max(mesh - self.q.moves) - self.both - ROUNDING;
        (lower <= limit).then(|| Near {
            still: (still.0, still.1.face_of(self.still)),
            moving: (moving.0, moving.1.face_of(self.moving)),
            lower,
            mesh,
            chords: self.both,
            at: [x, y],
        })
    }
}

/// Calls `visit` for triangle pairs whose distance less chords less motion is within the limit that it returned last.
/// False when it said stop.
pub(super) fn walk(
    still: (usize, &Body),
    moving: (usize, &Posed),
    limit: &mut f64,
    visit: &mut dyn FnMut(Near) -> Next,
) -> bool {
    sift(still.1, moving.1, limit, &mut |s, limit| {
        s.near(still, (moving.0, moving.1.body), limit).map_or(Next::Within(limit), &mut *visit)
    })
}

/// As [`walk`], for pairs that boxes and planes leave, with the limit that held when they were found.
pub(super) fn sift(a: &Body, b: &Posed, limit: &mut f64, visit: &mut dyn FnMut(Sifted, f64) -> Next) -> bool {
    let chords = a.largest + b.body.largest + ROUNDING;
    let gap = |m: u32, (bounds, moves): &(Aabb, f64)| {
        b.motion.apart(&a.tree.nodes[m as usize].bounds, bounds, *moves) - chords
    };
    // Two nodes, the second's box where it stands, their distance.
    let mut stack: Vec<(u32, u32, (Aabb, f64), f64)> = Vec::new();
    if !a.tree.nodes.is_empty() && !b.body.tree.nodes.is_empty() {
        let root = b.node(0);
        stack.push((0, 0, root, gap(0, &root)));
    }
    while let Some((m, n, at, d)) = stack.pop() {
        if d > *limit {
            continue;
        }
        let size = |x: &Aabb| (x.max[0] - x.min[0]).max(x.max[1] - x.min[1]).max(x.max[2] - x.min[2]);
        let (na, nb) = (&a.tree.nodes[m as usize], &b.body.tree.nodes[n as usize]);
        let halves = match (na.content, nb.content) {
            (Content::Leaf(f, t), Content::Leaf(g, u)) => {
                // Most triangles of a leaf are far from the other leaf's box already.
                let here = |i: &u32| b.motion.apart(a.tree.bounds_of(*i), &at.0, at.1) - chords <= *limit;
                let beside = &a.tree.items[f as usize..t as usize];
                let Some(first) = beside.iter().position(here) else { continue };
                let beside = &beside[first..];
                for &j in &b.body.tree.items[g as usize..u as usize] {
                    let q = b.triangle(j);
                    for &i in beside {
                        let Some(s) = Sifted::of(a, i, b, j, &q, *limit) else { continue };
                        match visit(s, *limit) {
                            Next::Within(l) => *limit = l,
                            Next::Stop => return false,
                        }
                    }
                }
                continue;
            }
            (Content::Inner(l, r), Content::Inner(..)) if size(&na.bounds) >= size(&nb.bounds) => {
                [(l, n, at), (r, n, at)]
            }
            (Content::Inner(l, r), Content::Leaf(..)) => [(l, n, at), (r, n, at)],
            (_, Content::Inner(l, r)) => [(m, l, b.node(l)), (m, r, b.node(r))],
        };
        let [(m, n, at), (o, p, to)] = halves;
        let (x, y) = ((m, n, at, gap(m, &at)), (o, p, to, gap(o, &to)));
        // The nearer one last, so that it is looked at first.
        let (near, far) = if x.3 < y.3 { (x, y) } else { (y, x) };
        if far.3 <= *limit {
            stack.push(far);
        }
        if near.3 <= *limit {
            stack.push(near);
        }
    }
    true
}
