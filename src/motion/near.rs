//! Distances between two groups of bodies, one standing still, one moving.
//!
//! A box of the moving tree is carried into the frame of what stands still by the absolute values of the rotation matrix
//! (the box around the turned box), so no tree is rebuilt for a pose.

use super::body::Body;
use super::place::{Place, Pose, Turn};
use super::triangle::{self, ROUNDING};
use crate::mesh::bvh::{Aabb, Bvh, Content};
use nalgebra::{Point3, Vector3};

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

/// The box around a turned and shifted box.
fn carried(b: &Aabb, place: &Place) -> Aabb {
    let centre = place.point(&Point3::from([0, 1, 2].map(|k| 0.5 * (b.min[k] + b.max[k]))));
    let half = Vector3::from([0, 1, 2].map(|k| 0.5 * (b.max[k] - b.min[k])));
    let e = place.turn.abs() * half;
    Aabb { min: [0, 1, 2].map(|k| centre[k] - e[k]), max: [0, 1, 2].map(|k| centre[k] + e[k]) }
}

/// How far the points of a box of the moving body may move while the angle changes by up to `half` radians to either
/// side and the shift by up to `slide`, mm.
fn sweep(b: &Aabb, turn: &Turn, half: f64, slide: f64) -> f64 {
    if half <= 0.0 {
        return slide;
    }
    let centre = Point3::from([0, 1, 2].map(|k| 0.5 * (b.min[k] + b.max[k])));
    let reach = Vector3::from([0, 1, 2].map(|k| 0.5 * (b.max[k] - b.min[k]))).norm();
    slide + (turn.arm(&centre) + reach) * half
}

/// How far two triangles are apart along a unit vector; zero where they overlap along it.
fn gap_along(n: &Vector3<f64>, p: &triangle::Triangle, q: &triangle::Triangle) -> f64 {
    let [a, b] = [p, q].map(|t| t.map(|x| n.dot(&x.coords)));
    let low = |x: &[f64; 3]| x[0].min(x[1]).min(x[2]);
    let high = |x: &[f64; 3]| x[0].max(x[1]).max(x[2]);
    (low(&b) - high(&a)).max(low(&a) - high(&b)).max(0.0)
}

/// Calls `visit` for triangle pairs whose distance less chords less motion is within the limit that it returned last.
fn walk(
    still: (usize, &Body),
    moving: (usize, &Body),
    place: &Place,
    motion: &dyn Fn(&Aabb) -> f64,
    limit: &mut f64,
    visit: &mut dyn FnMut(Near) -> Next,
) -> bool {
    let (a, b) = (still.1, moving.1);
    let chords = a.largest + b.largest;
    let node = |t: &Bvh, n: u32| t.nodes[n as usize];
    let gap = |m: u32, n: u32| {
        let bounds = &node(&b.tree, n).bounds;
        node(&a.tree, m).bounds.distance2(&carried(bounds, place)).sqrt() - motion(bounds) - chords - ROUNDING
    };
    let mut stack: Vec<(u32, u32, f64)> = Vec::new();
    if !a.tree.nodes.is_empty() && !b.tree.nodes.is_empty() {
        stack.push((0, 0, gap(0, 0)));
    }
    while let Some((m, n, d)) = stack.pop() {
        if d > *limit {
            continue;
        }
        let size = |x: &Aabb| [0, 1, 2].map(|k| x.max[k] - x.min[k]).into_iter().fold(0.0, f64::max);
        let (na, nb) = (node(&a.tree, m), node(&b.tree, n));
        let halves = match (na.content, nb.content) {
            (Content::Leaf(f, t), Content::Leaf(g, u)) => {
                for &j in &b.tree.items[g as usize..u as usize] {
                    let q = b.triangle(j).map(|p| place.point(&p));
                    let own = b.triangle(j);
                    let moves = motion(&Aabb::around(&own));
                    let normal = place.turn * b.normal_of(j);
                    for &i in &a.tree.items[f as usize..t as usize] {
                        let p = a.triangle(i);
                        let chords = a.chord_of(i) + b.chord_of(j);
                        let apart = Aabb::around(&p).distance2(&Aabb::around(&q)).sqrt();
                        if apart - chords - moves - ROUNDING > *limit {
                            continue;
                        }
                        let apart = gap_along(&a.normal_of(i), &p, &q).max(gap_along(&normal, &p, &q));
                        if apart - chords - moves - ROUNDING > *limit {
                            continue;
                        }
                        let (mesh, x, y) = triangle::nearest(&p, &q);
                        let lower = mesh - chords - moves - ROUNDING;
                        if lower > *limit {
                            continue;
                        }
                        let near = Near {
                            still: (still.0, a.face_of(i)),
                            moving: (moving.0, b.face_of(j)),
                            lower,
                            mesh,
                            chords,
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
        let mut next = halves.map(|(m, n)| (m, n, gap(m, n)));
        // The nearer one last, so that it is looked at first.
        if next[0].2 < next[1].2 {
            next.swap(0, 1);
        }
        stack.extend(next);
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
    fn bodies(&self) -> impl Iterator<Item = ((usize, &Body), (usize, &Body))> {
        self.still.iter().enumerate().flat_map(|a| self.moving.iter().enumerate().map(move |b| (a, b)))
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
        let place = self.turn.place(pose);
        let mut best: Option<Near> = None;
        let mut limit = within;
        for (a, b) in self.bodies().filter(|(a, b)| which(a.1, b.1)) {
            walk(a, b, &place, &|_| 0.0, &mut limit, &mut |n| {
                if best.is_none_or(|b| n.lower < b.lower) {
                    best = Some(n);
                }
                Next::Within(best.map_or(within, |b| b.lower))
            });
        }
        best
    }

    /// Every pair of faces nearer than `within` mm at a pose, with the nearest triangles for each direction between them.
    #[must_use]
    pub fn all_within(&self, pose: &Pose, within: f64) -> Vec<Near> {
        self.listed(pose, within, |b| b)
    }

    /// As [`Self::all_within`], on the rough meshes where there are any: good for guesses only.
    pub(super) fn roughly_within(&self, pose: &Pose, within: f64) -> Vec<Near> {
        self.listed(pose, within, |b| b.rough.as_deref().unwrap_or(b))
    }

    fn listed(&self, pose: &Pose, within: f64, take: fn(&Body) -> &Body) -> Vec<Near> {
        let place = self.turn.place(pose);
        let mut found: std::collections::BTreeMap<_, Near> = std::collections::BTreeMap::new();
        for (a, b) in self.bodies() {
            let (a, b) = ((a.0, take(a.1)), (b.0, take(b.1)));
            let mut limit = within;
            walk(a, b, &place, &|_| 0.0, &mut limit, &mut |n| {
                #[allow(clippy::cast_possible_truncation)]
                let d = n.direction().map(|x| (x * 6.0).round() as i8);
                let seat = found.entry((n.still, n.moving, [d.x, d.y, d.z])).or_insert(n);
                if n.lower < seat.lower {
                    *seat = n;
                }
                Next::Within(within)
            });
        }
        found.into_values().collect()
    }

    /// Places where the meshes meet, one for each two faces.
    #[must_use]
    pub(super) fn meetings(&self, place: &Place) -> Vec<Near> {
        let mut found: std::collections::BTreeMap<_, Near> = std::collections::BTreeMap::new();
        for (a, b) in self.bodies() {
            walk(a, b, place, &|_| 0.0, &mut { 0.0 }, &mut |n| {
                if n.mesh <= 0.0 {
                    found.entry((n.still, n.moving)).or_insert(n);
                }
                Next::Within(0.0)
            });
        }
        found.into_values().collect()
    }

    /// Whether the solids are proved apart by more than `keep` mm at every pose on the way between two.
    #[must_use]
    pub fn free(&self, from: &Pose, to: &Pose, keep: f64) -> bool {
        let middle = from.toward(to, 0.5);
        let place = self.turn.place(&middle);
        let half = 0.5 * (to.angle - from.angle).radians().abs();
        let slide = 0.5 * (to.shift - from.shift).norm();
        let motion = |b: &Aabb| sweep(b, &self.turn, half, slide);
        self.bodies().all(|(a, b)| walk(a, b, &place, &motion, &mut { keep }, &mut |_| Next::Stop))
    }
}
