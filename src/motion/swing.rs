//! One movement of a joint: how far it goes, between which bounds, and what stops it.

use super::advance::{Path, Play, advance};
use super::block::{Blocked, blocked};
use super::near::{Near, Pair};
use super::place::Pose;
use crate::units::Deg;

/// The angle of first contact, as an interval.
#[derive(Clone, Debug)]
pub struct Swing {
    /// Every pose of a path up to this angle is proved free.
    pub free_to: Deg,
    /// At this angle contact is proved whatever the shift within the play; `None` where that was not reached or proved.
    pub blocked_at: Option<Deg>,
    /// Whether the limit of the search was reached without contact.
    pub complete: bool,
    /// The proved path.
    pub path: Vec<Pose>,
    /// What is nearest at its end, nearest first.
    pub stops: Vec<Near>,
}

/// How far over the free angle contact is looked for first, degrees; then twice as far, and so on.
const BEYOND: f64 = 0.1;
/// Doublings of it: up to 6.4 degrees.
const DOUBLINGS: u32 = 7;
/// Halvings between the last angle at which contact was not proved and the first at which it was.
const HALVINGS: u32 = 1;

/// Turns from a free pose towards `limit` until something touches.
#[must_use]
pub fn swing(pair: &Pair, play: &Play, from: &Pose, limit: Deg) -> Swing {
    let Path { poses, complete, stops } = advance(pair, play, from, limit);
    let end = poses.last().copied().unwrap_or(*from);
    let sign = if limit < from.angle { -1.0 } else { 1.0 };
    let touches = |over: f64| blocked(pair, play, end.angle + Deg(sign * over), &end) == Blocked::Proved;
    let first = (0..if complete { 0 } else { DOUBLINGS })
        .map(|k| BEYOND * f64::from(1_u32 << k))
        .find(|over| touches(*over));
    let blocked_at = first.map(|first| {
        let (mut open, mut proved) = (if first > BEYOND { first / 2.0 } else { 0.0 }, first);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(open, proved);
            if touches(middle) { proved = middle } else { open = middle }
        }
        end.angle + Deg(sign * proved)
    });
    Swing { free_to: end.angle, blocked_at, complete, path: poses, stops }
}
