//! How far a body can certainly turn: a path of poses, each piece proved free (conservative advancement with local
//! bounds of motion).
//!
//! Where the joint has play, the body is moved within it so that it goes as far as it can: at each pose the distances of all
//! near faces are linear in a small turn and shift, and the shift is chosen that keeps the least of them largest. The
//! choice is a guess, the piece of path it leads to is proved.

use super::body::Level;
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
/// Guesses for one piece, each trusted a quarter as far as the last.
const TRIES: usize = 4;
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
    let mut pose = *from;
    let mut trust = TRUST[0];
    let least = |p: &Pose| pair.nearest(p, 1.0).map_or(1.0, |n| n.lower);
    let mut best = least(&pose);
    while trust > TRUST[1] && !play.along.is_empty() {
        let shift = guess(pair, play, &pose, 0.0, trust);
        let next = Pose { shift: pose.shift + shift, ..pose };
        let found = least(&next);
        if found > best + 1e-7 {
            (pose, best) = (next, found);
        } else {
            trust *= 0.5;
        }
    }
    pose
}

/// Turns from `from`, which must be free, towards `limit` as far as every piece of the way is proved.
#[must_use]
pub fn advance(pair: &Pair, play: &Play, from: &Pose, limit: Deg) -> Path {
    let sign = if limit < from.angle { -1.0 } else { 1.0 };
    let mut poses = vec![*from];
    let (mut pose, mut step) = (*from, STEPS[0]);
    let mut complete = false;
    while poses.len() < PIECES && step >= LEAST_STEP {
        let left = (limit - pose.angle).get().abs();
        if left <= 0.0 {
            complete = true;
            break;
        }
        let turn = step.min(left);
        let Some(next) = piece(pair, play, &pose, Deg(sign * turn)) else {
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
fn piece(pair: &Pair, play: &Play, from: &Pose, turn: Deg) -> Option<Pose> {
    let straight = Pose { angle: from.angle + turn, ..*from };
    if play.along.is_empty() {
        return pair.free(from, &straight, 0.0).then_some(straight);
    }
    let mut trust = TRUST[0];
    for _ in 0..TRIES {
        let shift = guess(pair, play, from, turn.radians(), trust);
        let next = Pose { shift: from.shift + shift, ..straight };
        if way(pair, from, &next, BISECTIONS) {
            return Some(next);
        }
        trust *= 0.25;
    }
    None
}

/// Whether the straight way between two poses is free, proved in halves where the whole is too long.
fn way(pair: &Pair, from: &Pose, to: &Pose, halvings: u32) -> bool {
    if pair.free(from, to, 0.0) {
        return true;
    }
    let middle = from.toward(to, 0.5);
    halvings > 0
        && pair.free(&middle, &middle, 0.0)
        && way(pair, from, &middle, halvings - 1)
        && way(pair, &middle, to, halvings - 1)
}

/// The shift of at most `trust` that keeps the least of all linearized distances largest after a small turn.
fn guess(pair: &Pair, play: &Play, at: &Pose, turn: f64, trust: f64) -> Vector3<f64> {
    let level = match trust > FINE {
        true => Level::Rough,
        false if turn.abs() > SHORT => Level::Medium,
        false => Level::Fine,
    };
    let band = pair.roughly_apart(at, 1.0, level) + 2.0 * trust + turn.abs();
    let near = pair.roughly_within(at, band, level);
    let pivot = pair.turn.home + at.shift;
    let rows: Vec<(f64, Vec<f64>)> = near
        .iter()
        .map(|n| {
            let d = n.direction();
            let swing = pair.turn.axis.cross(&(n.at[1] - pivot)) * turn;
            (n.lower + d.dot(&swing), play.along.iter().map(|a| d.dot(a)).collect())
        })
        .collect();
    let value = |x: &[f64]| {
        rows.iter()
            .map(|(c, g)| (c + g.iter().zip(x).map(|(g, x)| g * x).sum::<f64>(), g))
            .min_by(|a, b| a.0.total_cmp(&b.0))
    };
    let mut x = vec![0.0; play.along.len()];
    let mut best = (f64::NEG_INFINITY, x.clone());
    // Steps along the gradient of the least distance, ever shorter: sums of 0.97^k reach any place within the trust.
    let mut step = trust * 0.5;
    for _ in 0..160 {
        let Some((v, g)) = value(&x) else { break };
        if v > best.0 {
            best = (v, x.clone());
        }
        let size = g.iter().map(|g| g * g).sum::<f64>().sqrt();
        if size <= 1e-9 {
            break;
        }
        for ((x, g), (a, r)) in x.iter_mut().zip(g).zip(play.along.iter().zip(&play.reach)) {
            let now = at.shift.dot(a);
            *x = (*x + step * g / size).clamp(-trust, trust).clamp(r[0] - now, r[1] - now);
        }
        step *= 0.96;
    }
    best.1.iter().zip(&play.along).fold(Vector3::zeros(), |s, (x, a)| s + a * *x)
}
