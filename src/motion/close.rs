//! The triangles that can come near one another while a body moves a little about a pose, found once and asked often.
//!
//! Where a movement creeps, near its end, hundreds of questions are asked within a few micrometres and hundredths of a degree. Every pair
//! of triangles that could matter to them is found by one walk that allows for so much motion; any other pair is proved farther apart
//! than all of them ask. The answers are those of the finest meshes.

use super::body::Level;
use super::near::{Listed, Near, Pair};
use super::place::Pose;
use super::triangle::ROUNDING;
use super::walk::{Motion, Next, Posed, Sifted, sift};

/// How much motion about a pose is allowed for: turn, radians, and shift, mm. Only speed hangs on it and on what follows.
const ROOM: [f64; 2] = [3e-3, 6e-3];
/// A way longer than this share of it is not worth a list: it is proved on rougher meshes or soon found barred.
const SHARE: f64 = 0.4;
/// Distances asked for at least, and how much farther than asked the list goes, mm.
const WITHIN: [f64; 2] = [2e-3, 1e-3];
/// Nothing so far away is listed, mm.
const FAR: f64 = 0.02;

/// A pair of bodies with what was found last.
pub(super) struct Close<'a> {
    pair: &'a Pair,
    found: Option<Found>,
}

struct Found {
    at: Pose,
    within: f64,
    pairs: Vec<Candidate>,
}

struct Candidate {
    still: (usize, u32),
    moving: (usize, u32),
    /// Distance by boxes and planes at the pose of the list less chords, mm.
    gap: f64,
    /// Greatest distance of the moving triangle from the axis, mm.
    arm: f64,
}

impl<'a> Close<'a> {
    pub(super) fn new(pair: &'a Pair) -> Self {
        Self { pair, found: None }
    }

    /// As [`Pair::free`] without anything to keep.
    pub(super) fn free(&mut self, from: &Pose, to: &Pose) -> bool {
        let (pose, motion) = self.pair.way(from, to);
        if self.found.as_ref().is_none_or(|f| !f.covers(&pose, &motion, 0.0)) {
            if self.pair.apart_by(&pose, motion, 0.0, &Level::ALL[..2]) {
                return true;
            }
            if motion.half > SHARE * ROOM[0] || motion.slide > SHARE * ROOM[1] || motion.level.is_none() {
                return self.pair.apart_by(&pose, motion, 0.0, &Level::ALL[2..]);
            }
            self.look(&pose, 0.0);
        }
        let mut free = true;
        self.each(&pose, motion, 0.0, &mut |_| {
            free = false;
            Next::Stop
        });
        free
    }

    /// The least distance at a pose, mm: its lower bound, at most `within`.
    pub(super) fn least(&mut self, pose: &Pose, within: f64) -> f64 {
        let still = Motion::new(&self.pair.turn, 0.0, 0.0, true);
        if let Some(limit) = self.found.as_ref().filter(|f| f.covers(pose, &still, 0.0)).map(|f| f.within) {
            let mut least = limit;
            self.each(pose, still, limit, &mut |n| {
                least = least.min(n.lower);
                Next::Within(least)
            });
            if least < limit {
                return least.min(within);
            }
        }
        self.pair.nearest(pose, within).map_or(within, |n| n.lower)
    }

    /// As [`Pair::all_within`].
    pub(super) fn all_within(&mut self, pose: &Pose, within: f64) -> Vec<Near> {
        if within > FAR {
            return self.pair.all_within(pose, within);
        }
        let still = Motion::new(&self.pair.turn, 0.0, 0.0, true);
        if self.found.as_ref().is_none_or(|f| !f.covers(pose, &still, within)) {
            self.look(pose, within);
        }
        let mut found = Listed::default();
        self.each(pose, still, within, &mut |n| {
            found.take(n);
            Next::Within(within)
        });
        found.all()
    }

    /// Lists what can come near about a pose.
    fn look(&mut self, at: &Pose, asked: f64) {
        let within = (asked + WITHIN[1]).max(WITHIN[0]);
        let (place, motion) =
            (self.pair.turn.place(at), Motion::new(&self.pair.turn, ROOM[0], ROOM[1], true));
        let mut pairs = Vec::new();
        for (j, body) in self.pair.moving.iter().enumerate() {
            let b = Posed::new(body, &place, motion);
            for (i, a) in self.pair.still.iter().enumerate() {
                sift(a, &b, &mut { within }, &mut |s, limit| {
                    pairs.push(Candidate {
                        still: (i, s.still),
                        moving: (j, s.moving),
                        gap: s.gap(a) - s.both - ROUNDING,
                        arm: motion.arm(body.tree.bounds_of(s.moving)),
                    });
                    Next::Within(limit)
                });
            }
        }
        // The nearest first: what bars a way is found soon.
        pairs.sort_by(|a, b| a.gap.total_cmp(&b.gap));
        self.found = Some(Found { at: *at, within, pairs });
    }

    /// Visits the listed pairs whose distance less chords less motion is within the limit that was returned last.
    fn each(&self, pose: &Pose, motion: Motion, mut limit: f64, visit: &mut dyn FnMut(Near) -> Next) {
        let Some(found) = &self.found else { return };
        let [turn, shift] = found.away(pose);
        let (turn, shift) = (turn + motion.half, shift + motion.slide);
        let place = self.pair.turn.place(pose);
        let posed: Vec<Posed> = self.pair.moving.iter().map(|b| Posed::new(b, &place, motion)).collect();
        for c in &found.pairs {
            if c.gap - c.arm * turn - shift > limit {
                continue;
            }
            let (a, b) = (&self.pair.still[c.still.0], &posed[c.moving.0]);
            let q = b.triangle(c.moving.1);
            let sifted = Sifted::of(a, c.still.1, b, c.moving.1, &q, limit);
            let near = sifted.and_then(|s| s.near((c.still.0, a), (c.moving.0, b.body), limit));
            match near.map(&mut *visit) {
                Some(Next::Within(l)) => limit = l,
                Some(Next::Stop) => return,
                None => {}
            }
        }
    }
}

impl Found {
    /// Turn, radians, and shift, mm, from the pose of the list.
    fn away(&self, pose: &Pose) -> [f64; 2] {
        [(pose.angle - self.at.angle).radians().abs(), (pose.shift - self.at.shift).norm()]
    }
    /// Whether every pair of triangles nearer than `within` on the way is listed.
    fn covers(&self, pose: &Pose, motion: &Motion, within: f64) -> bool {
        let [turn, shift] = self.away(pose);
        let square = motion.level.is_none_or(|k| (pose.shift - self.at.shift)[k] == 0.0);
        square
            && motion.level.is_some()
            && turn + motion.half <= ROOM[0]
            && shift + motion.slide <= ROOM[1]
            && within <= self.within
    }
}

#[cfg(test)]
mod tests {
    use super::super::body::Body;
    use super::super::place::Turn;
    use super::*;
    use crate::solid::tree::{cylinder, prism, rounded_rectangle};
    use crate::solid::{Frame, Solid};
    use crate::units::{Deg, Tolerance};
    use nalgebra::{Point3, Vector3};
    use proptest::prelude::*;

    /// A bar along y with 2 um of room in a straight slot, and one 2 um beside its end.
    fn bar_in_a_slot() -> Pair {
        let body =
            |tree| Body::of("", &Solid::build(&tree).unwrap(), |_| Tolerance::new(5e-4).unwrap()).unwrap();
        let side = ["back", "right", "front", "left"];
        let wall = |x: [f64; 2], y: [f64; 2]| {
            prism(
                Frame::at(Point3::new(0.0, 0.0, -1.0)),
                rounded_rectangle(x, y, 0.0, side),
                2.0,
                ["low", "high"],
            )
        };
        let frame = Frame::with_axes(Point3::new(0.0, -1.0, 0.0), Vector3::z(), Vector3::x());
        Pair {
            still: vec![
                body(wall([-1.0, -0.502], [-1.0, 1.0])),
                body(wall([0.502, 1.0], [-1.0, 1.0])),
                body(wall([-0.3, 0.3], [1.002, 1.5])),
            ],
            moving: vec![body(cylinder(frame, 0.5, 2.0, "bar", ["end", "end"]))],
            turn: Turn { pivot: Point3::origin(), axis: Vector3::z(), home: Point3::origin() },
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 64, rng_seed: proptest::test_runner::RngSeed::Fixed(4), ..ProptestConfig::default() })]
        /// Asked within its room and beyond, the list gives what the whole meshes give.
        #[test]
        fn the_list_answers_as_the_whole_meshes(
            ways in proptest::collection::vec((-0.2..0.2_f64, -0.008..0.008_f64, -0.008..0.008_f64), 2..6),
        ) {
            let pair = bar_in_a_slot();
            let mut close = Close::new(&pair);
            let mut last = Pose::REST;
            close.look(&last, 0.0);
            for (deg, x, y) in ways {
                let pose = Pose { angle: Deg(deg), shift: Vector3::new(x, y, 0.0) };
                let least = pair.nearest(&pose, 1.0).map_or(1.0, |n| n.lower);
                prop_assert!((close.least(&pose, 1.0) - least).abs() < 1e-12);
                let key = |n: &Near| (n.still, n.moving, n.lower.to_bits());
                let mut both = [close.all_within(&pose, least + 1e-3), pair.all_within(&pose, least + 1e-3)]
                    .map(|v| v.iter().map(key).collect::<Vec<_>>());
                both.iter_mut().for_each(|v| v.sort_unstable());
                prop_assert_eq!(&both[0], &both[1]);
                let fine = pair.free(&pose, &pose, 0.0);
                prop_assert_eq!(close.free(&pose, &pose), fine, "{}", least);
                // A short way is free on the list where it is on the meshes.
                let to = last.toward(&pose, 0.01);
                prop_assert_eq!(close.free(&last, &to), pair.free(&last, &to, 0.0));
                last = pose;
            }
        }
    }
}
