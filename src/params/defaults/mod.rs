//! From what the file gives to a number for every parameter: the defaults, derived from the stone where the
//! trade does so. All of them are common practice or proposals, no published source.

mod clasp;
mod collet;
mod joint;
mod master;
mod opening;

use super::choice::JointKind;
use super::dims::Dims;
use super::impossible;
use super::numbers::Numbers;
use super::rules;
use super::table::{Key as K, Kind, TABLE};
use super::text::Given;
use crate::trade::printers::{BORE_CLOSES, TRIAL_GAP};
use crate::trade::stones::round_carat;
use crate::units::Mm;
use std::f64::consts::PI;

/// Values are rounded to what a goldsmith measures.
const STEP: f64 = 0.01;
/// Noise of decimal fractions in doubles: a value this close to a step is on it.
const NOISE: f64 = 1e-9;
/// Ease aimed at between wrist and bracelet (10 to 18 is worn).
const EASE: f64 = 13.0;
/// Gap the count aims at, and the range the gap may be moved in to meet the length.
const GAP: (f64, f64, f64) = (0.08, 0.10, 0.20);
/// Setting widths tried beyond stone + 0.10 when the claws do not fit round a small stone.
const WIDENED: [f64; 13] = [0.0, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40, 0.45, 0.50, 0.55, 0.60];

fn near(x: f64) -> f64 {
    (x / STEP).round() * STEP
}
fn down(x: f64) -> f64 {
    (x / STEP + NOISE).floor() * STEP
}
fn up(x: f64) -> f64 {
    (x / STEP - NOISE).ceil() * STEP
}
/// Cuts the dust of decimal fractions off, so that 4.1 is 4.1.
fn clean(x: f64) -> f64 {
    (x * 1e6).round() / 1e6
}
/// Straight lines through the points, flat beyond both ends.
fn through(points: &[(f64, f64)], x: f64) -> f64 {
    let Some(first) = points.first() else { return 0.0 };
    let mut last = *first;
    if x <= last.0 {
        return last.1;
    }
    for p in points {
        if x <= p.0 {
            let s = if p.0 > last.0 { (x - last.0) / (p.0 - last.0) } else { 1.0 };
            return last.1 + s * (p.1 - last.1);
        }
        last = *p;
    }
    last.1
}

/// Steps the tube of a hinge is lifted by, where pocket and end wall would otherwise only touch.
const LIFTED: [f64; 4] = [0.0, 0.01, 0.02, 0.03];

/// By how much the plain rules are bent: the setting widened, the tube lifted, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Bent {
    pub(crate) widened: f64,
    lifted: f64,
}

/// A number for every parameter, and how the plain rules were bent for it.
///
/// The plain rules are tried first; only when they break a rule of severity refuse is a hinge tube lifted, and, where the
/// file leaves the width open, the setting widened in steps, for a small stone. Where nothing makes a link that can be
/// built, the plain rules stand.
pub(crate) fn resolve(given: &Given) -> (Numbers, Bent) {
    let mut best: Option<(usize, Numbers, Bent)> = None;
    for widened in WIDENED {
        for lifted in LIFTED {
            let bent = Bent { widened, lifted };
            let v = chain(given, bent);
            let d = Dims::of(&v);
            let whole = impossible::broken(&v, &d, true).is_empty();
            let faults = if whole { rules::refused(&v, &d).len() } else { usize::MAX };
            if best.as_ref().is_none_or(|b| faults < b.0) {
                best = Some((faults, v, bent));
            }
            if faults == 0 || d.hinge.is_none() || given.get(K::TubeHeight).is_some() {
                break;
            }
        }
        if best.as_ref().is_some_and(|b| b.0 == 0) || given.get(K::Width).is_some() {
            break;
        }
    }
    best.map_or_else(|| (Numbers::zero(&given.own), Bent::default()), |b| (b.1, b.2))
}

/// Whether a changed file is as wanted. The rules bent as for the unchanged one are tried first, which is cheap and mostly
/// tells; only what passes there is resolved in full.
pub(crate) fn would(given: &Given, bent: Bent, wanted: impl Fn(&Numbers, &Dims) -> bool) -> bool {
    let quick = chain(given, bent);
    if !wanted(&quick, &Dims::of(&quick)) {
        return false;
    }
    let (v, _) = resolve(given);
    wanted(&v, &Dims::of(&v))
}

struct Chain<'g> {
    v: Numbers,
    given: &'g Given,
}

impl Chain<'_> {
    /// The given value, else the default, kept inside the range of the table.
    fn set(&mut self, k: K, default: f64) -> f64 {
        let s = k.spec();
        let bounded =
            if matches!(s.kind, Kind::Choice(_)) { default } else { default.clamp(s.least, s.most) };
        self.v[k] = self.given.get(k).unwrap_or_else(|| clean(bounded));
        self.v[k]
    }
}

fn chain(given: &Given, bent: Bent) -> Numbers {
    let mut c = Chain { v: Numbers::zero(&given.own), given };
    for s in &TABLE {
        if matches!(s.kind, Kind::Choice(_)) {
            c.set(s.key, 0.0);
        }
    }
    let d = c.set(K::Diameter, 4.0);
    let t = c.set(K::StoneTolerance, 0.05);
    c.set(K::Carat, (round_carat(Mm(d)) * 1e4).round() / 1e4);
    let wrist = c.set(K::Wrist, 165.0);
    let w = c.set(K::Width, up((d + 0.10).max(d + t + 0.05) + bent.widened));
    let rim = w / 2.0;
    let wall = c.set(
        K::Wall,
        near(through(&[(1.5, 0.40), (2.0, 0.40), (2.5, 0.42), (3.0, 0.45), (4.0, 0.50), (6.0, 0.60)], d)),
    );
    // The stone must lie wider than the seat's edge, however wide the setting.
    let land = near(through(&[(3.0, 0.25), (4.0, 0.30)], d)).max(up(rim - d / 2.0 + 0.12));
    c.set(K::RimLand, land.min(down(wall - 0.10)));
    c.set(K::BurAngle, 90.0);
    // Below 0.60 no claw; the slope outside the table keeps the bite near 0.28 of the wire.
    let claw = through(&[(2.0, 0.60), (2.5, 0.65), (3.0, 0.75), (4.0, 0.95), (6.0, 1.40)], d);
    let claw = c.set(K::ClawDiameter, near(claw));
    c.set(K::ClawOver, near(through(&[(2.5, 0.30), (4.0, 0.40)], d)));

    match JointKind::of(&c.v) {
        JointKind::WireLoop => {
            joint::wire(&mut c, w, wall);
            let axis = c.v[K::GrooveDepth] + c.v[K::WebHeight] / 2.0;
            line(&mut c, w, wrist, axis);
        }
        JointKind::HingeTube => {
            joint::hinge(&mut c, w, bent.lifted);
            let axis = c.v[K::TubeHeight];
            line(&mut c, w, wrist, axis);
            joint::light_hole(&mut c);
        }
    }
    clasp::layers(&mut c, w, wall);
    collet::corners(&mut c, w, wall);
    collet::height(&mut c, rim, claw);
    match JointKind::of(&c.v) {
        JointKind::WireLoop => opening::wire(&mut c, w),
        JointKind::HingeTube => {
            collet::block(&mut c);
            joint::tube_row(&mut c, w);
            opening::hinge(&mut c, w);
        }
    }
    clasp::finish(&mut c, w);
    c.set(K::WearLoad, 1.0);
    c.set(K::WearCoefficient, 1e-4);
    c.set(K::WearSwings, 1e4);
    c.set(K::WearAngle, 10.0);
    c.set(K::TrialGap, TRIAL_GAP.get());
    c.set(K::TrialBoreOffset, BORE_CLOSES.get());
    master::allowances(&mut c);
    c.set(K::JigPlay, 0.05);
    c.set(K::JigWall, 2.0);
    c.set(K::JigGuide, 3.0);
    c.set(K::JigClearance, 0.02);
    c.set(K::JigSpring, 3.0);
    c.v
}

fn line(c: &mut Chain<'_>, w: f64, wrist: f64, axis: f64) {
    let wanted = wrist + EASE + 2.0 * PI * axis;
    let pitch = w + c.given.get(K::Gap).unwrap_or(GAP.1);
    let n = c.set(K::Count, (wanted / pitch).round());
    c.set(K::Gap, near(wanted / n - w).clamp(GAP.0, GAP.2));
}
