//! Distances between two groups of bodies, one standing still, one moving.
//!
//! A box of the moving tree is carried into the frame of what stands still by the absolute values of the rotation matrix
//! (the box around the turned box), so no tree is rebuilt for a pose.

use super::body::{Body, Level};
use super::place::{Place, Pose, Turn};
use super::triangle::{self, ROUNDING, Triangle};
use crate::mesh::bvh::{Aabb, Content};
use nalgebra::{Matrix3, Point3, Vector3};
use std::collections::BTreeMap;

/// A triangle of each group near one another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Near {
    /// Index of the still body and its face.
    pub still: (usize, u32),
    /// Index of the moving body and its face.
    pub moving: (usize, u32),
    /// The solids are no nearer than this along these triangles, mm; may be below zero.
    pub lower: f64,
    /// Distance of the triangles, mm.
    pub mesh: f64,
    /// The chords of both together, mm.
    pub chords: f64,
    /// The nearest points, in the frame of the still group.
    pub at: [Point3<f64>; 2],
}

impl Near {
    /// Unit vector from the still to the moving point; zero where they meet.
    #[must_use]
    pub fn direction(&self) -> Vector3<f64> {
        triangle::unit(&(self.at[1] - self.at[0]))
    }
}

/// What a visit wants next.
enum Next {
    /// Go on, looking no farther than this many mm between meshes less chords.
    Within(f64),
    /// Enough.
    Stop,
}

/// A moving body at a pose: its boxes and triangles in the frame of what stands still, made as they are asked for.
struct Posed<'a> {
    body: &'a Body,
    place: Place,
    /// The absolute values of the rotation.
    rows: Matrix3<f64>,
    motion: Motion<'a>,
}

struct PosedTriangle {
    at: Triangle,
    normal: Vector3<f64>,
    bounds: Aabb,
    moves: f64,
}

/// The motion to allow for at a pose: angle to either side, radians, and shift, mm.
#[derive(Clone, Copy)]
struct Motion<'a> {
    turn: &'a Turn,
    half: f64,
    slide: f64,
    /// The coordinate along which nothing moves, where there is one: 0, 1 or 2.
    level: Option<usize>,
}

impl<'a> Motion<'a> {
    /// Turning by `half` to either side and shifting by `slide`, square to the axis or not.
    fn new(turn: &'a Turn, half: f64, slide: f64, square: bool) -> Self {
        let level = (0..3).find(|k| square && turn.axis[*k].abs() >= 1.0 - 1e-15);
        Self { turn, half, slide, level }
    }
    /// How far the points of a box, in the body's frame, may move, mm.
    fn of(&self, b: &Aabb) -> f64 {
        if self.half <= 0.0 {
            return self.slide;
        }
        let (centre, half) = middle(b);
        self.slide + (self.turn.arm(&centre) + half.norm()) * self.half
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
    fn new(body: &'a Body, place: &Place, motion: Motion<'a>) -> Self {
        Self { body, place: *place, rows: place.turn.abs(), motion }
    }
    /// The box around a node's turned box, and how far its points may move.
    fn node(&self, n: u32) -> (Aabb, f64) {
        let own = &self.body.tree.nodes[n as usize].bounds;
        let (c, h) = middle(own);
        let (c, h) = (self.place.turn * c.coords + self.place.shift, self.rows * h);
        (Aabb { min: (c - h).into(), max: (c + h).into() }, self.motion.of(own))
    }
    fn triangle(&self, t: u32) -> PosedTriangle {
        let own = self.body.triangle(t);
        let at = [self.place.point(&own[0]), self.place.point(&own[1]), self.place.point(&own[2])];
        let moves = self.motion.of(&Aabb::around(&own));
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

/// Calls `visit` for triangle pairs whose distance less chords less motion is within the limit that it returned last.
/// False when it said stop.
fn walk(
    still: (usize, &Body),
    moving: (usize, &Posed),
    limit: &mut f64,
    visit: &mut dyn FnMut(Near) -> Next,
) -> bool {
    let (a, b) = (still.1, moving.1);
    let chords = a.largest + b.body.largest + ROUNDING;
    let gap = |m: u32, n: u32| {
        let (bounds, moves) = b.node(n);
        b.motion.apart(&a.tree.nodes[m as usize].bounds, &bounds, moves) - chords
    };
    let mut stack: Vec<(u32, u32, f64)> = Vec::new();
    if !a.tree.nodes.is_empty() && !b.body.tree.nodes.is_empty() {
        stack.push((0, 0, gap(0, 0)));
    }
    while let Some((m, n, d)) = stack.pop() {
        if d > *limit {
            continue;
        }
        let size = |x: &Aabb| (x.max[0] - x.min[0]).max(x.max[1] - x.min[1]).max(x.max[2] - x.min[2]);
        let (na, nb) = (a.tree.nodes[m as usize], b.body.tree.nodes[n as usize]);
        let halves = match (na.content, nb.content) {
            (Content::Leaf(f, t), Content::Leaf(g, u)) => {
                let body = b.body;
                for &j in &body.tree.items[g as usize..u as usize] {
                    let q = b.triangle(j);
                    for &i in &a.tree.items[f as usize..t as usize] {
                        let both = a.chord_of(i) + b.body.chord_of(j);
                        let within = *limit + both + ROUNDING;
                        let mut apart = b.motion.apart(a.tree.bounds_of(i), &q.bounds, q.moves);
                        if apart > within {
                            continue;
                        }
                        let p = a.triangle(i);
                        for n in [&a.normal_of(i), &q.normal] {
                            apart = apart.max(gap_along(n, &p, &q.at) - q.moves * b.motion.share(n));
                        }
                        if apart > within {
                            continue;
                        }
                        let (mesh, x, y) = triangle::nearest(&p, &q.at);
                        let lower = apart.max(mesh - q.moves) - both - ROUNDING;
                        if lower > *limit {
                            continue;
                        }
                        let near = Near {
                            still: (still.0, a.face_of(i)),
                            moving: (moving.0, b.body.face_of(j)),
                            lower,
                            mesh,
                            chords: both,
                            at: [x, y],
                        };
                        match visit(near) {
                            Next::Within(l) => *limit = l,
                            Next::Stop => return false,
                        }
                    }
                }
                continue;
            }
            (Content::Inner(l, r), Content::Inner(..)) if size(&na.bounds) >= size(&nb.bounds) => {
                [(l, n), (r, n)]
            }
            (Content::Inner(l, r), Content::Leaf(..)) => [(l, n), (r, n)],
            (_, Content::Inner(l, r)) => [(m, l), (m, r)],
        };
        let [(m0, n0), (m1, n1)] = halves;
        let (d0, d1) = (gap(m0, n0), gap(m1, n1));
        // The nearer one last, so that it is looked at first.
        let (near, far) = if d0 < d1 { ((m0, n0, d0), (m1, n1, d1)) } else { ((m1, n1, d1), (m0, n0, d0)) };
        if far.2 <= *limit {
            stack.push(far);
        }
        if near.2 <= *limit {
            stack.push(near);
        }
    }
    true
}

/// Two groups of bodies, the second turning about an axis. Bodies of one group may overlap: together they are one.
#[derive(Clone, Debug)]
pub struct Pair {
    /// What stands still.
    pub still: Vec<Body>,
    /// What moves.
    pub moving: Vec<Body>,
    /// How it moves.
    pub turn: Turn,
}

impl Pair {
    fn posed(&self, place: &Place) -> Vec<Posed<'_>> {
        let motion = Motion::new(&self.turn, 0.0, 0.0, true);
        self.moving.iter().map(|b| Posed::new(b, place, motion)).collect()
    }

    /// The nearest triangles at a pose; `None` where nothing is nearer than `within` mm. The distance of the solids lies
    /// between its `lower` and its `mesh + chords`, as long as the meshes do not meet.
    #[must_use]
    pub fn nearest(&self, pose: &Pose, within: f64) -> Option<Near> {
        self.nearest_of(pose, within, &|_, _| true)
    }

    /// As [`Self::nearest`], among some pairs of bodies only.
    #[must_use]
    pub fn nearest_of(&self, pose: &Pose, within: f64, which: &dyn Fn(&Body, &Body) -> bool) -> Option<Near> {
        let mut best: Option<Near> = None;
        let mut limit = within;
        for (j, b) in self.posed(&self.turn.place(pose)).iter().enumerate() {
            for a in self.still.iter().enumerate().filter(|a| which(a.1, b.body)) {
                walk(a, (j, b), &mut limit, &mut |n| {
                    if best.is_none_or(|b| n.lower < b.lower) {
                        best = Some(n);
                    }
                    Next::Within(best.map_or(within, |b| b.lower))
                });
            }
        }
        best
    }

    /// Every pair of faces nearer than `within` mm at a pose, with the nearest triangles for each direction between them.
    #[must_use]
    pub fn all_within(&self, pose: &Pose, within: f64) -> Vec<Near> {
        self.listed(pose, within, &|b| b)
    }

    /// As [`Self::all_within`], on rougher meshes of the same solids: good for guesses only.
    pub(super) fn roughly_within(&self, pose: &Pose, within: f64, level: Level) -> Vec<Near> {
        self.listed(pose, within, &|b| b.at_level(level))
    }

    /// A lower bound of the distance at a pose on rougher meshes, at most `within` mm.
    pub(super) fn roughly_apart(&self, pose: &Pose, within: f64, level: Level) -> f64 {
        let motion = Motion::new(&self.turn, 0.0, 0.0, true);
        let place = self.turn.place(pose);
        let mut limit = within;
        for (j, b) in self.moving.iter().enumerate() {
            let b = Posed::new(b.at_level(level), &place, motion);
            for (i, a) in self.still.iter().enumerate() {
                let mut best = limit;
                walk((i, a.at_level(level)), (j, &b), &mut limit, &mut |n| {
                    best = best.min(n.lower);
                    Next::Within(best)
                });
            }
        }
        limit
    }

    fn listed<'a>(&'a self, pose: &Pose, within: f64, take: &dyn Fn(&'a Body) -> &'a Body) -> Vec<Near> {
        let place = self.turn.place(pose);
        let motion = Motion::new(&self.turn, 0.0, 0.0, true);
        let mut found: BTreeMap<_, Near> = BTreeMap::new();
        for (j, b) in self.moving.iter().enumerate() {
            let b = Posed::new(take(b), &place, motion);
            for (i, a) in self.still.iter().enumerate() {
                walk((i, take(a)), (j, &b), &mut { within }, &mut |n| {
                    #[allow(clippy::cast_possible_truncation)]
                    let d = n.direction().map(|x| (x * 6.0).round() as i8);
                    let seat = found.entry((n.still, n.moving, [d.x, d.y, d.z])).or_insert(n);
                    if n.lower < seat.lower {
                        *seat = n;
                    }
                    Next::Within(within)
                });
            }
        }
        found.into_values().collect()
    }

    /// For each two bodies whose meshes meet: the mean of the places where they do, and for each two of their faces the same.
    /// Where two surfaces cut a lens out of one another its middle is near the mean of its rim.
    #[must_use]
    pub(super) fn meetings(&self, place: &Place) -> Vec<(usize, usize, Point3<f64>)> {
        let mut bodies: BTreeMap<_, (Vector3<f64>, f64)> = BTreeMap::new();
        let mut faces: BTreeMap<_, (Vector3<f64>, f64)> = BTreeMap::new();
        for (j, b) in self.posed(place).iter().enumerate() {
            for a in self.still.iter().enumerate() {
                walk(a, (j, b), &mut { 0.0 }, &mut |n| {
                    if n.mesh <= 0.0 {
                        let seats = [
                            bodies.entry((n.still.0, n.moving.0)).or_default(),
                            faces.entry((n.still, n.moving)).or_default(),
                        ];
                        for (sum, count) in seats {
                            *sum += n.at[0].coords;
                            *count += 1.0;
                        }
                    }
                    Next::Within(0.0)
                });
            }
        }
        let mean = |(s, n): (Vector3<f64>, f64)| Point3::from(s / n);
        let bodies = bodies.into_iter().map(|((i, j), m)| (i, j, mean(m)));
        let faces = faces.into_iter().map(|((i, j), m)| (i.0, j.0, mean(m)));
        bodies.chain(faces).collect()
    }

    /// Whether the solids are proved apart by more than `keep` mm at every pose on the way between two.
    #[must_use]
    pub fn free(&self, from: &Pose, to: &Pose, keep: f64) -> bool {
        let half = 0.5 * (to.angle - from.angle).radians().abs();
        let shift = to.shift - from.shift;
        let square = shift.dot(&self.turn.axis) == 0.0;
        let motion = Motion::new(&self.turn, half, 0.5 * shift.norm(), square);
        self.apart_by(&from.toward(to, 0.5), motion, keep)
    }

    /// Whether the solids are proved apart by more than `keep` mm at a pose and at every other shift from it by at most `slide`
    /// square to the axis.
    #[must_use]
    pub fn free_around(&self, pose: &Pose, slide: f64, keep: f64) -> bool {
        self.apart_by(pose, Motion::new(&self.turn, 0.0, slide, true), keep)
    }

    /// What a rougher mesh proves is proved; what it does not is asked of the next finer one.
    fn apart_by(&self, pose: &Pose, motion: Motion, keep: f64) -> bool {
        let place = self.turn.place(pose);
        self.moving.iter().enumerate().all(|(j, b)| {
            self.still.iter().enumerate().all(|(i, a)| {
                Level::ALL.iter().any(|l| {
                    let b = Posed::new(b.at_level(*l), &place, motion);
                    walk((i, a.at_level(*l)), (j, &b), &mut { keep }, &mut |_| Next::Stop)
                })
            })
        })
    }
}
