//! Where a body certainly cannot be: at an angle, whatever its shift within the play of the joint, it runs into what stands
//! still.
//!
//! Branch and bound over rectangles of shifts. A rectangle is done with when one point is found that lies inside a still body by
//! u and inside a moving body by v, in the middle of the rectangle, with u + v above its half diagonal: the balls of these radii
//! about the point, one in each body, then meet at every shift. Or when a stretch along one side of the rectangle, as long as that
//! side and with the point in its middle, lies inside one of the bodies by u all along, and u + v is above half of the other
//! side: for every shift there is a ball about a point of the stretch that meets the other. A wire along the shift is such a stretch.

use super::advance::Play;
use super::near::Pair;
use super::place::{Place, Pose};
use crate::units::Deg;
use nalgebra::{Point3, Vector3};

/// Rectangles looked at before the search is given up.
const RECTANGLES: usize = 400;
/// Half the shorter side of the smallest rectangle, mm.
const SMALLEST: f64 = 1e-5;
/// Witnesses kept for the next rectangle.
const KEPT: usize = 8;
/// Climbs tried for a rectangle.
const CLIMBS: usize = 6;
/// Steps to the side below this end the search for the middle of a lens, mm.
const LEAST_ASIDE: f64 = 2e-4;
/// A step that gains less than this is rounding, mm: along a straight lens, such as a pin's in its bore, it would never end.
const LEAST_GAIN: f64 = 1e-9;
/// First step of the climb to a deep point, mm; the last is a quarter of half the rectangle's shorter side.
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
        if looked > RECTANGLES {
            return Blocked::Open;
        }
        let middle =
            square.iter().zip(&play.along).fold(fixed, |s, (r, a)| s + a * f64::midpoint(r[0], r[1]));
        let half: Vec<f64> = square.iter().map(|r| 0.5 * (r[1] - r[0])).collect();
        let pose = Pose { angle, shift: middle };
        let place = pair.turn.place(&pose);
        let halve = match covers(pair, &place, &half, &play.along, &mut kept) {
            Cover::Whole => continue,
            Cover::Halve(k) => k,
        };
        if pair.free(&pose, &pose, 0.0) {
            return Blocked::Free(pose);
        }
        if half.iter().all(|h| *h <= SMALLEST) {
            return Blocked::Open;
        }
        let at = f64::midpoint(square[halve][0], square[halve][1]);
        let (mut low, mut high) = (square.clone(), square);
        low[halve][1] = at;
        high[halve][0] = at;
        todo.extend([low, high]);
    }
    Blocked::Proved
}

/// What was found of a rectangle.
enum Cover {
    /// No shift of it is free.
    Whole,
    /// Not decided; halving along this direction is the most promising.
    Halve(usize),
}

/// The part of a shift that lies along none of the play's directions.
fn across(play: &Play, pose: &Pose) -> Vector3<f64> {
    play.along.iter().fold(pose.shift, |s, a| s - a * s.dot(a))
}

/// Whether the moving bodies meet the still ones at every shift within `half` of this place along the play's directions.
fn covers(
    pair: &Pair,
    place: &Place,
    half: &[f64],
    along: &[Vector3<f64>],
    kept: &mut Vec<Witness>,
) -> Cover {
    let longest = usize::from(half.len() > 1 && half[1] > half[0]);
    let mut best = (0.0, longest);
    let mut take = |reach: Reach| match reach {
        Reach::Whole => true,
        Reach::Strip(depth, other) => {
            let share = depth / half[other].max(SMALLEST);
            if share > best.0 {
                best = (share, other);
            }
            false
        }
        Reach::None => false,
    };
    // Latest first; a point may be carried along by either body.
    for i in (0..kept.len()).rev() {
        let w = kept[i];
        for at in [w.at, place.point(&w.own)] {
            if take(reach(pair, place, &w, &at, half, along)) {
                let w = kept.remove(i);
                kept.push(w);
                return Cover::Whole;
            }
        }
    }
    for mut w in meetings(pair, place) {
        centre(pair, place, &mut w);
        climb(pair, place, half, &mut w);
        let done = take(reach(pair, place, &w, &w.at, half, along));
        if kept.len() >= KEPT {
            kept.remove(0);
        }
        kept.push(w);
        if done {
            return Cover::Whole;
        }
    }
    Cover::Halve(best.1)
}

/// What one point says of a rectangle of shifts.
enum Reach {
    /// Contact at every shift of it.
    Whole,
    /// Contact at every shift of a strip through its middle, so deep, which ends short of its sides along this direction.
    Strip(f64, usize),
    /// Nothing.
    None,
}

fn reach(
    pair: &Pair,
    place: &Place,
    w: &Witness,
    at: &Point3<f64>,
    half: &[f64],
    along: &[Vector3<f64>],
) -> Reach {
    let (Some(a), Some(b)) = (pair.still.get(w.still), pair.moving.get(w.moving)) else {
        return Reach::None;
    };
    let (u, v) = (a.certain_depth(at), b.certain_depth(&place.back(at)));
    if u <= 0.0 || v <= 0.0 {
        return Reach::None;
    }
    if u + v > half.iter().map(|h| h * h).sum::<f64>().sqrt() {
        return Reach::Whole;
    }
    let mut best = (0.0, None);
    for (k, other) in [(0, 1), (1, 0)] {
        let (Some(h), Some(e), Some(across)) = (half.get(k), along.get(k), half.get(other)) else { continue };
        let ends = [at - e * *h, at + e * *h];
        let in_still = a.certain_depth_along(&ends[0], &ends[1]);
        let in_moving = b.certain_depth_along(&place.back(&ends[0]), &place.back(&ends[1]));
        let still = if in_still > 0.0 { in_still + v } else { 0.0 };
        let moving = if in_moving > 0.0 { in_moving + u } else { 0.0 };
        let depth = still.max(moving);
        if depth > *across {
            return Reach::Whole;
        }
        if depth > best.0 {
            best = (depth, Some(other));
        }
    }
    best.1.map_or(Reach::None, |other| Reach::Strip(best.0, other))
}

/// u + v of a point, both certain; where one is not inside, the less of the two.
fn depth(pair: &Pair, place: &Place, w: &Witness, at: &Point3<f64>) -> f64 {
    let (Some(a), Some(b)) = (pair.still.get(w.still), pair.moving.get(w.moving)) else {
        return f64::NEG_INFINITY;
    };
    let (u, v) = (a.certain_depth(at), b.certain_depth(&place.back(at)));
    if u > 0.0 && v > 0.0 { u + v } else { u.min(v) }
}

/// Moves a point to the middle of the lens that two surfaces cut out of one another: to the side where the sum of both depths grows,
/// which no step across the lens changes, and each time half way between the surfaces.
fn centre(pair: &Pair, place: &Place, w: &mut Witness) {
    let (Some(a), Some(b)) = (pair.still.get(w.still), pair.moving.get(w.moving)) else {
        return;
    };
    let both = |at: &Point3<f64>| {
        let ((da, na), (db, nb)) = (a.inward(at), b.inward(&place.back(at)));
        (da, db, na, place.turn * nb)
    };
    // The point half way between the surfaces beside one, and the room between them there.
    let between = |at: &Point3<f64>| {
        let (da, db, na, nb) = both(at);
        let across = na - nb;
        if across.norm() < 1.0 {
            return (*at, da + db);
        }
        let at = at + across.normalize() * (0.5 * (db - da));
        let (da, db, ..) = both(&at);
        (at, da + db)
    };
    let (mut at, mut sum) = between(&w.at);
    let mut step = CLIMB;
    while step > LEAST_ASIDE {
        let (_, _, na, nb) = both(&at);
        let n = super::triangle::unit(&(na - nb));
        let e = n.cross(&if n.x.abs() < 0.7 { Vector3::x() } else { Vector3::y() });
        let e = super::triangle::unit(&e);
        let f = n.cross(&e);
        let from = at;
        for way in [e, -e, f, -f] {
            let (next, more) = between(&(from + way * step));
            if more > sum + LEAST_GAIN {
                (at, sum) = (next, more);
            }
        }
        if at == from {
            step *= 0.5;
        }
    }
    w.at = at;
}

/// Moves a point to where it lies deeper, until it is deep enough for the whole rectangle. It is moved towards the inside of either
/// body, which levels u and v, and along the axes.
fn climb(pair: &Pair, place: &Place, half: &[f64], w: &mut Witness) {
    let (Some(a), Some(b)) = (pair.still.get(w.still), pair.moving.get(w.moving)) else {
        return;
    };
    let enough = half.iter().map(|h| h * h).sum::<f64>().sqrt();
    let least = if half.is_empty() { 0.0 } else { half.iter().copied().fold(CLIMB, f64::min) };
    let mut best = depth(pair, place, w, &w.at);
    let mut step = CLIMB;
    let last = (least / 4.0).max(SMALLEST / 4.0);
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
            if d > best + LEAST_GAIN {
                (best, w.at) = (d, at);
            }
        }
        if w.at == from {
            step *= 0.5;
        }
    }
    w.own = place.back(&w.at);
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
