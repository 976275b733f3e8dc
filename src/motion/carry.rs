//! A body that is carried round without turning, as the frame of the clasp is by its leaf: every point on an equal circle.

use super::advance::Play;
use super::block::{Blocked, blocked};
use super::near::{Near, Pair};
use super::place::Pose;
use crate::units::Deg;
use nalgebra::Vector3;

/// How it is carried: a bar from the fixed to the moving hinge turns about -y.
#[derive(Clone, Copy, Debug)]
pub(super) struct Carry {
    /// From the fixed to the moving hinge when the bar has not turned, mm; y is zero.
    pub(super) bar: Vector3<f64>,
    /// A shift along y that goes with all of it, mm.
    pub(super) beside: f64,
}

/// How far it goes.
#[derive(Clone, Debug)]
pub(super) struct Carried {
    /// Up to this angle of the bar every pose is proved free.
    pub(super) free_to: Deg,
    /// At this angle contact is proved.
    pub(super) blocked_at: Option<Deg>,
    /// Whether the limit of the search was reached without contact.
    pub(super) complete: bool,
    /// What is nearest at the end, nearest first.
    pub(super) stops: Vec<Near>,
}

/// First step, largest step and the step that ends the way, degrees of the bar.
const STEPS: [f64; 3] = [0.25, 10.0, 0.002];
/// Pieces of the way; more means that it creeps.
const PIECES: usize = 4000;
/// How far over the free angle contact is looked for first, degrees, how much farther each time, and how often.
const BEYOND: (f64, f64, u32) = (0.005, 1.35, 20);
/// Faces within this of the nearest count as what stops the movement, mm.
const TOGETHER: f64 = 0.002;

impl Carry {
    /// Where the body stands when the bar has turned by an angle.
    pub(super) fn pose(&self, at: Deg) -> Pose {
        let (s, c) = libm::sincos(at.radians());
        let b = &self.bar;
        // About -y: x goes towards +z.
        let shift = Vector3::new(b.x * (c - 1.0) - b.z * s, self.beside, b.x * s + b.z * (c - 1.0));
        Pose { angle: Deg(0.0), shift }
    }

    /// Carries from the pose at rest, which must be free, until something touches or the bar has turned by `limit`.
    pub(super) fn far(&self, pair: &Pair, limit: Deg) -> Carried {
        let length = self.bar.norm();
        let (mut at, mut step) = (Deg(0.0), STEPS[0]);
        let mut pieces = 0;
        let mut complete = false;
        while pieces < PIECES && step >= STEPS[2] {
            pieces += 1;
            let left = (limit - at).get();
            if left <= 0.0 {
                complete = true;
                break;
            }
            let turn = Deg(step.min(left));
            // From the middle of an arc no point of it is farther than half its length.
            if pair.free_around(&self.pose(at + turn * 0.5), length * turn.radians() / 2.0, 0.0) {
                at = if turn.get() < left { at + turn } else { limit };
                step = (step * 1.5).min(STEPS[1]);
            } else {
                step *= 0.5;
            }
        }
        let pose = self.pose(at);
        let nearest = pair.nearest(&pose, 1.0).map_or(0.0, |n| n.lower);
        let mut stops = if complete { Vec::new() } else { pair.all_within(&pose, nearest + TOGETHER) };
        stops.sort_by(|a, b| a.lower.total_cmp(&b.lower));
        let over = |k: u32| (0..k).fold(BEYOND.0, |o, _| o * BEYOND.1);
        let mut tries = (0..if complete { 0 } else { BEYOND.2 }).map(|k| at + Deg(over(k)));
        let blocked_at = tries.find(|a| {
            let pose = self.pose(*a);
            blocked(pair, &Play::NONE, Deg(0.0), &pose) == Blocked::Proved
        });
        Carried { free_to: at, blocked_at, complete, stops }
    }
}

#[cfg(test)]
mod tests {
    use super::super::body::Body;
    use super::super::place::Turn;
    use super::*;
    use crate::solid::tree::{prism, rounded_rectangle};
    use crate::solid::{Frame, Solid};
    use crate::units::Tolerance;
    use nalgebra::Point3;

    fn block(x: [f64; 2], z: [f64; 2]) -> Body {
        let side = ["left", "right", "front", "back"];
        let tree = prism(
            Frame::at(Point3::new(0.0, 0.0, z[0])),
            rounded_rectangle(x, [-1.0, 1.0], 0.0, side),
            z[1] - z[0],
            ["under", "top"],
        );
        Body::of("", &Solid::build(&tree).unwrap(), |_| Tolerance::new(1e-3).unwrap()).unwrap()
    }

    /// A block carried by a bar of 10 runs into a wall where its corner has come 0.5 nearer: 10 (1 - cos a) = 0.5; and with the
    /// wall 0.5 away and lower than the block has risen by then it goes round.
    #[test]
    fn a_block_on_a_bar_meets_a_wall_where_the_closed_form_says() {
        let turn = Turn { pivot: Point3::origin(), axis: Vector3::y(), home: Point3::origin() };
        let carry = Carry { bar: Vector3::new(10.0, 0.0, 0.0), beside: 0.0 };
        let pair = |top: f64| Pair {
            still: vec![block([-2.0, -0.5], [-1.0, top])],
            moving: vec![block([0.0, 1.0], [0.0, 1.0])],
            turn,
        };
        let want = libm::acos(1.0 - 0.05).to_degrees();
        let met = carry.far(&pair(9.0), Deg(180.0));
        assert!(met.free_to.get() <= want && want - met.free_to.get() < 0.01, "{:?} {want}", met.free_to);
        let at = met.blocked_at.unwrap().get();
        assert!(at >= want && at - want < 0.02, "{at} {want}");
        let round = carry.far(&pair(0.0), Deg(180.0));
        assert!(round.complete && round.blocked_at.is_none(), "{:?}", round.free_to);
        // With a shift along y that takes it past the wall's side it goes round as well.
        let past = Carry { beside: 2.1, ..carry };
        assert!(past.far(&pair(9.0), Deg(180.0)).complete);
    }
}
