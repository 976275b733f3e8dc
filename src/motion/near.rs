//! Distances between two groups of bodies, one standing still, one moving.

use super::body::{Body, Level};
use super::place::{Place, Pose, Turn};
use super::triangle;
use super::walk::{Motion, Next, Posed, walk};
use nalgebra::{Point3, Vector3};
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

/// For each two faces and each direction between them the nearest triangles.
#[derive(Default)]
pub(super) struct Listed(BTreeMap<Seat, Near>);

/// Body and face of each side, and the direction between them in sixths.
type Seat = ([(usize, u32); 2], [i8; 3]);

impl Listed {
    pub(super) fn take(&mut self, n: Near) {
        #[allow(clippy::cast_possible_truncation)]
        let d = n.direction().map(|x| (x * 6.0).round() as i8);
        let seat = self.0.entry(([n.still, n.moving], [d.x, d.y, d.z])).or_insert(n);
        if n.lower < seat.lower {
            *seat = n;
        }
    }
    pub(super) fn all(self) -> Vec<Near> {
        self.0.into_values().collect()
    }
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
        let mut found = Listed::default();
        for (j, b) in self.moving.iter().enumerate() {
            let b = Posed::new(take(b), &place, motion);
            for (i, a) in self.still.iter().enumerate() {
                walk((i, take(a)), (j, &b), &mut { within }, &mut |n| {
                    found.take(n);
                    Next::Within(within)
                });
            }
        }
        found.all()
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
        let (middle, motion) = self.way(from, to);
        self.apart_by(&middle, motion, keep, &Level::ALL)
    }

    /// The middle of the way between two poses and the motion to either side of it.
    pub(super) fn way(&self, from: &Pose, to: &Pose) -> (Pose, Motion<'_>) {
        let half = 0.5 * (to.angle - from.angle).radians().abs();
        let shift = to.shift - from.shift;
        let square = shift.dot(&self.turn.axis) == 0.0;
        (from.toward(to, 0.5), Motion::new(&self.turn, half, 0.5 * shift.norm(), square))
    }

    /// Whether the solids are proved apart by more than `keep` mm at a pose and at every other shift from it by at most `slide`
    /// square to the axis.
    #[must_use]
    pub fn free_around(&self, pose: &Pose, slide: f64, keep: f64) -> bool {
        self.apart_by(pose, Motion::new(&self.turn, 0.0, slide, true), keep, &Level::ALL)
    }

    /// What a rougher mesh proves is proved; what it does not is asked of the next finer one.
    pub(super) fn apart_by(&self, pose: &Pose, motion: Motion, keep: f64, levels: &[Level]) -> bool {
        let place = self.turn.place(pose);
        self.moving.iter().enumerate().all(|(j, b)| {
            self.still.iter().enumerate().all(|(i, a)| {
                levels.iter().any(|l| {
                    let b = Posed::new(b.at_level(*l), &place, motion);
                    walk((i, a.at_level(*l)), (j, &b), &mut { keep }, &mut |_| Next::Stop)
                })
            })
        })
    }
}
