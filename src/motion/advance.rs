//! How far a body can certainly turn: a path of poses, each piece proved free (conservative advancement with local
//! bounds of motion).
//!
//! Where the joint has play, the body is moved within it so that it goes as far as it can: at each pose the distances of all
//! near faces are linear in a small turn and shift, and the shift is chosen that keeps the least of them largest. The
//! choice is a guess, the piece of path it leads to is proved.

use super::body::Level;
use super::centre::{Distance, most_room};
use super::close::Close;
use super::near::{Near, Pair};
use super::place::Pose;
use crate::units::Deg;
use nalgebra::Vector3;

/// Play of a joint: shifts along up to two directions.
#[derive(Clone, Debug, PartialEq)]
pub struct Play {
    /// Unit vectors the body may shift along.
    pub along: Vec<Vector3<f64>>,
    /// Along each of them: no shift beyond these bounds can be reached, mm.
    pub reach: Vec<[f64; 2]>,
}

impl Play {
    /// None at all: the axis stands still.
    pub const NONE: Self = Self { along: Vec::new(), reach: Vec::new() };
}

/// A proved path.
#[derive(Clone, Debug)]
pub struct Path {
    /// Poses; between two neighbours every pose is free.
    pub poses: Vec<Pose>,
    /// Whether it ends because the limit asked for was reached.
    pub complete: bool,
    /// What is nearest at the end, nearest first: what stops the body.
    pub stops: Vec<Near>,
}

/// First step and largest step, degrees.
const STEPS: [f64; 2] = [0.25, 2.0];
/// Steps below this end the path, degrees: less a bench can neither see nor feel.
const LEAST_STEP: f64 = 0.02;
/// Pieces of a path; more means that it creeps.
const PIECES: usize = 4000;
/// How far a guess of a shift is trusted at first, mm, and below which it is given up.
const TRUST: [f64; 2] = [0.03, 1e-5];
/// How far it is trusted at first once the body has been loosened: it then stands in the middle of what room there is, mm.
const CAREFUL: f64 = 0.002;
/// Guesses for one piece, each trusted a quarter as far as the last.
const TRIES: usize = 4;
/// A body that has turned by less than this since it was loosened is not loosened again, degrees.
const WORTH: f64 = 0.1;
/// Guesses trusted less than this far are made on the meshes between the roughest and the finest, mm.
const FINE: f64 = 0.002;
/// And for turns shorter than this on the finest, radians: near the end a micrometre decides.
const SHORT: f64 = 0.002;
/// How often a piece is halved to prove it.
const BISECTIONS: u32 = 5;
/// Faces within this of the nearest count as what stops a movement, mm: about what facets may lie off their faces.
const TOGETHER: f64 = 0.002;

/// A pose with play shared out: where the least distance is largest. Starts at `from`, which need not be free.
#[must_use]
pub fn settled(pair: &Pair, play: &Play, from: &Pose) -> Pose {
    settling(pair, &mut Close::new(pair), play, from).last().copied().unwrap_or(*from)
}

/// The poses on the way there, each with more room than the one before; none where `from` has the most.
fn settling(pair: &Pair, close: &mut Close, play: &Play, from: &Pose) -> Vec<Pose> {
    let mut way = Vec::new();
    let mut pose = *from;
    let mut trust = TRUST[0];
    let mut best = close.least(&pose, 1.0);
    while trust > TRUST[1] && !play.along.is_empty() {
        let shift = guess(pair, close, play, &pose, 0.0, trust);
        let next = Pose { shift: pose.shift + shift, ..pose };
        let found = close.least(&next, 1.0);
        if found > best + 1e-7 {
            (pose, best) = (next, found);
            way.push(pose);
        } else {
            trust *= 0.5;
        }
    }
    way
}

/// Shifts a body that is stuck to where it has more room, as far as each shift is proved free; the poses on the way.
fn loosened(pair: &Pair, close: &mut Close, play: &Play, from: &Pose) -> Vec<Pose> {
    let mut at = *from;
    let mut out = settling(pair, close, play, from);
    let proved = out.iter().take_while(|next| {
        let free = way(close, &at, next, BISECTIONS);
        at = **next;
        free
    });
    let count = proved.count();
    out.truncate(count);
    out
}

/// Turns from `from`, which must be free, towards `limit` as far as every piece of the way is proved. Where it is stuck it is
/// shifted to where it has more room and turned on from there.
#[must_use]
pub fn advance(pair: &Pair, play: &Play, from: &Pose, limit: Deg) -> Path {
    let sign = if limit < from.angle { -1.0 } else { 1.0 };
    let mut poses = vec![*from];
    let (mut pose, mut step) = (*from, STEPS[0]);
    let mut complete = false;
    let mut loosened_at = None;
    let close = &mut Close::new(pair);
    while poses.len() < PIECES {
        if step < LEAST_STEP {
            let gained = loosened_at.is_none_or(|a: Deg| (pose.angle - a).get().abs() >= WORTH);
            let shifted = if gained { loosened(pair, close, play, &pose) } else { Vec::new() };
            let Some(last) = shifted.last() else { break };
            (pose, step, loosened_at) = (*last, STEPS[0], Some(pose.angle));
            poses.extend(shifted);
        }
        let left = (limit - pose.angle).get().abs();
        if left <= 0.0 {
            complete = true;
            break;
        }
        let turn = step.min(left);
        let trust = if loosened_at.is_some() { CAREFUL } else { TRUST[0] };
        let Some(next) = piece(pair, close, play, &pose, Deg(sign * turn), trust) else {
            step *= 0.5;
            continue;
        };
        pose = if turn < left { next } else { Pose { angle: limit, ..next } };
        poses.push(pose);
        step = (step * 1.5).min(STEPS[1]);
    }
    let nearest = pair.nearest(&pose, 1.0).map_or(0.0, |n| n.lower);
    let mut stops = pair.all_within(&pose, nearest + TOGETHER);
    stops.sort_by(|a, b| a.lower.total_cmp(&b.lower));
    Path { poses, complete, stops }
}

/// The next pose, `turn` further, if the way to it is proved free with some shift.
fn piece(
    pair: &Pair,
    close: &mut Close,
    play: &Play,
    from: &Pose,
    turn: Deg,
    mut trust: f64,
) -> Option<Pose> {
    let straight = Pose { angle: from.angle + turn, ..*from };
    if play.along.is_empty() {
        return close.free(from, &straight).then_some(straight);
    }
    for _ in 0..TRIES {
        let shift = guess(pair, close, play, from, turn.radians(), trust);
        let next = Pose { shift: from.shift + shift, ..straight };
        if way(close, from, &next, BISECTIONS) {
            return Some(next);
        }
        trust *= 0.25;
    }
    None
}

/// Whether the straight way between two poses is free, proved in halves where the whole is too long.
fn way(close: &mut Close, from: &Pose, to: &Pose, halvings: u32) -> bool {
    if close.free(from, to) {
        return true;
    }
    let middle = from.toward(to, 0.5);
    halvings > 0
        && close.free(&middle, &middle)
        && way(close, from, &middle, halvings - 1)
        && way(close, &middle, to, halvings - 1)
}

/// The shift of at most `trust` that keeps the least of all linearized distances largest after a small turn.
fn guess(pair: &Pair, close: &mut Close, play: &Play, at: &Pose, turn: f64, trust: f64) -> Vector3<f64> {
    let level = match trust > FINE {
        true => Level::Rough,
        false if turn.abs() > SHORT => Level::Medium,
        false => Level::Fine,
    };
    let reach = 2.0 * trust + turn.abs();
    let near = match level {
        Level::Fine => {
            let band = close.least(at, 1.0) + reach;
            close.all_within(at, band)
        }
        _ => pair.roughly_within(at, pair.roughly_apart(at, 1.0, level) + reach, level),
    };
    let pivot = pair.turn.home + at.shift;
    let [a, b] = [0, 1].map(|k| play.along.get(k).copied().unwrap_or_else(Vector3::zeros));
    let all: Vec<Distance> = near
        .iter()
        .map(|n| {
            let d = n.direction();
            let swing = pair.turn.axis.cross(&(n.at[1] - pivot)) * turn;
            Distance { now: n.lower + d.dot(&swing), along: [d.dot(&a), d.dot(&b)] }
        })
        .collect();
    let within = [(a, 0), (b, 1)].map(|(along, k)| {
        let now = at.shift.dot(&along);
        let [low, high] = play.reach.get(k).map_or([0.0; 2], |r| [r[0] - now, r[1] - now]);
        [low.clamp(-trust, trust), high.clamp(-trust, trust)]
    });
    let [x, z] = most_room(&all, within);
    a * x + b * z
}
