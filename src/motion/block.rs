//! Where a body certainly cannot be: at an angle, whatever its shift within the play of the joint, it runs into what stands
//! still.
//!
//! Branch and bound over the shifts. For a square of shifts it is enough to find one point that lies inside a still body by
//! u and inside a moving body by v, in the middle of the square, with u + v above the square's half diagonal: the balls
//! of these radii about the point, one in each body, then meet at every shift of the square.

use super::advance::Play;
use super::near::Pair;
use super::place::{Place, Pose};
use crate::units::Deg;
use nalgebra::{Point3, Vector3};

/// Squares looked at before the search is given up.
const SQUARES: usize = 3000;
/// Half diagonal of the smallest square, mm.
const SMALLEST: f64 = 1e-4;
/// Witnesses kept for the next square.
const KEPT: usize = 8;
/// Climbs tried for a square.
const CLIMBS: usize = 6;
/// First step of the climb to a deep point, mm; the last is a sixteenth of the square's half diagonal.
const CLIMB: f64 = 0.02;

/// A point inside both: body indices, and the point in the still frame.
#[derive(Clone, Copy, Debug)]
struct Witness {
    still: usize,
    moving: usize,
    /// In the frame of what stands still.
    at: Point3<f64>,
    /// The same point in the frame of the moving body.
    own: Point3<f64>,
}

/// What is known of an angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Blocked {
    /// No shift is free.
    Proved,
    /// This pose is free.
    Free(Pose),
    /// Neither could be proved.
    Open,
}

/// Whether the body runs into something at this angle whatever its shift within the play.
#[must_use]
pub fn blocked(pair: &Pair, play: &Play, angle: Deg, near: &Pose) -> Blocked {
    let mut kept: Vec<Witness> = Vec::new();
    let fixed = if play.along.is_empty() { near.shift } else { across(play, near) };
    // Where the body came from first: if nothing is proved there, nothing else need be looked at.
    let here = |a: &Vector3<f64>| near.shift.dot(a);
    let mut todo: Vec<Vec<[f64; 2]>> = vec![play.reach.clone()];
    if !play.along.is_empty() {
        todo.push(play.along.iter().map(|a| [here(a) - SMALLEST, here(a) + SMALLEST]).collect());
    }
    let mut looked = 0;
    while let Some(square) = todo.pop() {
        looked += 1;
        if looked > SQUARES {
            return Blocked::Open;
        }
        let middle =
            square.iter().zip(&play.along).fold(fixed, |s, (r, a)| s + a * f64::midpoint(r[0], r[1]));
        let half = 0.5 * square.iter().map(|r| (r[1] - r[0]) * (r[1] - r[0])).sum::<f64>().sqrt();
        let pose = Pose { angle, shift: middle };
        let place = pair.turn.place(&pose);
        if covers(pair, &place, half, &mut kept) {
            continue;
        }
        if pair.nearest(&pose, 1.0).is_none_or(|n| n.lower > 0.0) {
            return Blocked::Free(pose);
        }
        if half <= SMALLEST || square.is_empty() {
            return Blocked::Open;
        }
        let longest =
            usize::from(square.len() > 1 && square[1][1] - square[1][0] > square[0][1] - square[0][0]);
        let at = f64::midpoint(square[longest][0], square[longest][1]);
        let (mut low, mut high) = (square.clone(), square);
        low[longest][1] = at;
        high[longest][0] = at;
        todo.extend([low, high]);
    }
    Blocked::Proved
}

/// The part of a shift that lies along none of the play's directions.
fn across(play: &Play, pose: &Pose) -> Vector3<f64> {
    play.along.iter().fold(pose.shift, |s, a| s - a * s.dot(a))
}

/// Whether the moving bodies meet the still ones at every shift within `half` of this place.
fn covers(pair: &Pair, place: &Place, half: f64, kept: &mut Vec<Witness>) -> bool {
    // Latest first; a point may be carried along by either body.
    for i in (0..kept.len()).rev() {
        let w = kept[i];
        for at in [w.at, place.point(&w.own)] {
            if depth(pair, place, &w, &at) > half {
                let w = kept.remove(i);
                kept.push(w);
                return true;
            }
        }
    }
    for mut w in meetings(pair, place) {
        if climb(pair, place, half, &mut w) > half {
            if kept.len() >= KEPT {
                kept.remove(0);
            }
            kept.push(w);
            return true;
        }
    }
    false
}

/// u + v of a point, both certain; where one is not inside, the less of the two.
fn depth(pair: &Pair, place: &Place, w: &Witness, at: &Point3<f64>) -> f64 {
    let (Some(a), Some(b)) = (pair.still.get(w.still), pair.moving.get(w.moving)) else {
        return f64::NEG_INFINITY;
    };
    let (u, v) = (a.certain_depth(at), b.certain_depth(&place.back(at)));
    if u > 0.0 && v > 0.0 { u + v } else { u.min(v) }
}

/// Moves a point to where it lies deeper, until it is deep enough; returns how deep. It is moved towards the inside of either body,
/// which levels u and v, and along the axes.
fn climb(pair: &Pair, place: &Place, enough: f64, w: &mut Witness) -> f64 {
    let (Some(a), Some(b)) = (pair.still.get(w.still), pair.moving.get(w.moving)) else {
        return f64::NEG_INFINITY;
    };
    let mut best = depth(pair, place, w, &w.at);
    let mut step = CLIMB.max(enough);
    let last = (enough / 4.0).max(SMALLEST / 4.0);
    while step > last && best <= enough {
        let (into_a, into_b) = (a.inward(&w.at).1, place.turn * b.inward(&place.back(&w.at)).1);
        let from = w.at;
        for way in [
            into_a,
            into_b,
            Vector3::x(),
            -Vector3::x(),
            Vector3::y(),
            -Vector3::y(),
            Vector3::z(),
            -Vector3::z(),
        ] {
            let at = from + way * step;
            let d = depth(pair, place, w, &at);
            if d > best {
                (best, w.at) = (d, at);
            }
        }
        if w.at == from {
            step *= 0.5;
        }
    }
    w.own = place.back(&w.at);
    best
}

/// Places to start a climb from, the most promising first.
fn meetings(pair: &Pair, place: &Place) -> Vec<Witness> {
    let witness = |(still, moving, at)| {
        let w = Witness { still, moving, at, own: place.back(&at) };
        (depth(pair, place, &w, &at), w)
    };
    let mut all: Vec<(f64, Witness)> = pair.meetings(place).into_iter().map(witness).collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    all.into_iter().take(CLIMBS).map(|w| w.1).collect()
}
