//! Defaults of the folding clasp, its chain and its hallmark.

use super::{Chain, NOISE, clean, down, near, through, up};
use crate::params::choice::{ClaspKind, JointKind};
use crate::params::dims::{Dims, SPRING, catch, over, strip};
use crate::params::table::Key as K;
use crate::trade::limits;
use crate::trade::mechanics::Mechanics;
use crate::trade::stones::PAVILION;
use std::f64::consts::PI;

/// Hand over wrist (estimate; it is to be measured).
const HAND: f64 = 1.22;
/// How far the culet must stay over the underside of the frame.
const CULET_OVER_FRAME: f64 = 0.05;
/// Play of a pin in its bore.
const PLAY: f64 = 0.04;
/// What the pavilion keeps clear of a hinge tube; the limit is 0.08.
const STONE_OVER_TUBE: f64 = 0.09;
/// Load along the clasp that the leaf is planned for, N; the limit is 100.
const BUCKLING: f64 = 110.0;
/// Force that opens the tongue, N: the geometric middle of what may open it, 3 to 8.
const OPENS: f64 = 4.9;
/// Slopes that hold the tongue, deg.
const HOLDS: std::ops::RangeInclusive<u8> = 55..=65;
/// Pull that opens a jump ring, N; the limit is 20.
const JUMP: f64 = 24.0;
/// Plate that stays between the two slots beside the strips, and between their feet.
const BETWEEN: (f64, f64) = (0.50, 0.24);

fn folding(c: &Chain<'_>) -> bool {
    ClaspKind::of(&c.v) == ClaspKind::Folding
}

fn metal(c: &Chain<'_>) -> Mechanics {
    c.v.mechanics()
}

fn axis(c: &Chain<'_>) -> f64 {
    match JointKind::of(&c.v) {
        JointKind::WireLoop => c.v[K::GrooveDepth] + c.v[K::WebHeight] / 2.0,
        JointKind::HingeTube => c.v[K::TubeHeight],
    }
}

/// Layers, hinges and lugs: they come before the collet's height, which keeps the stones clear of them.
pub(super) fn layers(c: &mut Chain<'_>, w: f64, wall: f64) {
    if !folding(c) {
        return;
    }
    c.set(K::Hand, (HAND * c.v[K::Wrist]).round());
    c.set(K::ClaspGap, 0.06);
    c.set(K::PlateThickness, if c.v[K::Diameter] >= 3.8 { 0.50 } else { 0.45 });
    let rail = c.set(K::RailWidth, near(0.15 * w).max(0.40));
    c.set(K::Cheek, near(0.085 * w).max(0.25));
    let pull = axis(c);
    hinges(c, w, rail, pull);
    let lug = if JointKind::of(&c.v) == JointKind::WireLoop {
        c.set(K::ClaspLug, near(wall).max(0.45))
    } else {
        c.v[K::TubeOuter] / 2.0
    };
    // The leaf, for the length that lets the hand through or holds the tongue, whichever is more.
    let (pitch, n) = (w + c.v[K::Gap], c.v[K::Count]);
    let inside = n * (pitch - 2.0 * pull * libm::tan(PI / n));
    let strip = spring_length(c, thickness(c, w)).max(4.0);
    let ends = 2.0 * (lug + 0.35 + c.v[K::ClaspTubeOuter] / 2.0);
    let long = ((c.v[K::Hand] + 5.0 - inside) / 2.0).max(2.0 * (strip + 3.0)) + ends;
    let leaf = c.given.get(K::ClaspCount).unwrap_or((long / pitch - NOISE).ceil()) * pitch - ends + 0.2;
    let width = (w - 2.0 * rail - 0.20).max(0.2);
    let cube = BUCKLING * 12.0 * leaf * leaf / (PI * PI * metal(c).modulus * width);
    // In steps of 0.05.
    c.set(K::LeafThickness, clean((20.0 * libm::cbrt(cube) - NOISE).ceil() / 20.0).max(0.50));
}

/// Tube, pin, row and heights of both hinges.
fn hinges(c: &mut Chain<'_>, w: f64, rail: f64, pull: f64) {
    let (wall, rim) = (c.v.own().finished(&limits::TUBE), c.v.own().finished(&limits::RECESS_RIM));
    let pin_given = c.given.get(K::ClaspPin).or(c.given.get(K::ClaspTubeBore).map(|b| b - PLAY));
    let bore_given = c.given.get(K::ClaspTubeBore).or(pin_given.map(|p| p + PLAY));
    let needed = match (pin_given, bore_given) {
        (Some(p), Some(b)) => up((b + 2.0 * wall).max((1.6 * p).max(b + 0.20) + 2.0 * rim)),
        _ => 0.0,
    };
    let most = down(2.0 * pull.min(c.given.get(K::ClaspFront).unwrap_or(pull)));
    let tube = c.set(K::ClaspTubeOuter, near(0.42 * w).clamp(0.88, 1.20).min(most).max(needed));
    let room = (tube - 2.0 * wall).min(tube - 2.0 * rim - 0.20) - PLAY;
    let pin = bore_given.map_or(down(room.min((tube - 2.0 * rim) / 1.6).min(0.50)), |b| b - PLAY);
    let pin = c.set(K::ClaspPin, pin);
    let bore = c.set(K::ClaspTubeBore, pin + PLAY);
    c.set(K::ClaspOuterShare, 0.30);
    c.set(K::ClaspTubeRow, down(w - 2.0 * rail - 0.15).min(3.0));
    let front = c.set(K::ClaspFront, tube / 2.0);
    c.set(K::ClaspBack, up(pull.max(front + (bore - pin + 0.05).max(0.10))));
}

/// Whether stones over culet height `culet` clear leaf and hinges; `foot` and `tan` shape the collet.
pub(super) fn stones_clear(c: &Chain<'_>, [foot, tan]: [f64; 2], culet: f64) -> bool {
    if !folding(c) {
        return true;
    }
    let layers = c.v[K::PlateThickness] + 2.0 * c.v[K::ClaspGap] + c.v[K::LeafThickness];
    let half = (c.v[K::Width] + c.v[K::Gap]) / 2.0;
    let lug = match JointKind::of(&c.v) {
        JointKind::WireLoop => half - (foot + tan * axis(c)) + c.v[K::ClaspLug] + 0.02,
        JointKind::HingeTube => c.v[K::TubeOuter] / 2.0 + c.v[K::PocketClearance] + 0.30,
    };
    let radius = c.v[K::ClaspTubeOuter] / 2.0;
    let (sb, cb) = libm::sincos(libm::atan(2.0 * PAVILION));
    let over = |x: f64, z: f64| (half - x).abs() * sb - (z - culet) * cb - radius >= STONE_OVER_TUBE;
    culet >= layers + CULET_OVER_FRAME
        && over(lug + 0.10 + radius, c.v[K::ClaspBack])
        && over(lug + 0.08 + radius, c.v[K::ClaspFront])
}

fn thickness(c: &Chain<'_>, w: f64) -> f64 {
    let room = w / 2.0 - c.v[K::Cheek] - 0.07 - BETWEEN.0 / 2.0 - c.given.get(K::TongueSlot).unwrap_or(0.20);
    let usual = near(through(&[(2.0, 0.25), (2.6, 0.35), (3.1, 0.42)], w)).min(down(room));
    c.given.get(K::TongueThickness).unwrap_or(usual)
}

/// The shortest in half millimetres whose stress stays under its limit over the whole of its range.
fn spring_length(c: &Chain<'_>, thickness: f64) -> f64 {
    let snap = c.given.get(K::TongueSnap).unwrap_or(0.10);
    let holds = |l: &f64| strip(&c.v, thickness.max(0.0), *l, snap).1.high <= SPRING;
    (3..30).map(|i| f64::from(i) / 2.0).find(holds).unwrap_or(15.0)
}

/// Tongue, side catches, chain, mark, and how many stones ride on the clasp.
pub(super) fn finish(c: &mut Chain<'_>, w: f64) {
    c.set(K::TolerancePitch, 0.03);
    c.set(K::ToleranceClasp, 0.10);
    if !folding(c) {
        let most = (c.v[K::Count] / 3.0).floor().max(1.0);
        c.set(K::ClaspCount, (20.0 / (w + c.v[K::Gap])).round().clamp(1.0, most));
        return;
    }
    let m = metal(c);
    let strip = c.set(K::TongueThickness, thickness(c, w));
    let snap = c.set(K::TongueSnap, 0.10);
    let outer = w / 2.0 - c.v[K::Cheek] - 0.07;
    c.set(K::TongueSlot, down(outer - strip - BETWEEN.0 / 2.0).min(0.30).max(2.0 * snap));
    c.set(K::TongueLength, spring_length(c, strip));
    c.set(K::LeadAngle, 30.0);
    c.set(K::TongueFriction, 0.25);
    let off = |angle: &f64| (over(&c.v, *angle).usual - OPENS).abs();
    let hold = HOLDS.map(f64::from).min_by(|a, b| off(a).total_cmp(&off(b)));
    c.set(K::HoldAngle, hold.unwrap_or(60.0));
    c.set(K::FootLength, 1.8);
    let foot = c.set(K::FootWidth, down(outer - BETWEEN.1 / 2.0).min(0.80));
    c.set(K::StripRivet, down(foot / 2.0).min(0.40));
    let wire = c.set(K::CatchWire, 0.40);
    let bar = c.set(K::CatchBar, 8.0);
    let holds = |snap: &f64| catch(&c.v, wire, bar, *snap).1.high <= SPRING;
    let snap = (4..=12).rev().map(|i| f64::from(i) * 0.005).find(holds);
    c.set(K::CatchSnap, clean(snap.unwrap_or(0.02)));
    c.set(K::CatchTube, wire + 0.50);
    let chain = c.set(K::ChainWire, if m.ultimate_annealed < 250.0 || w >= 3.2 { 0.40 } else { 0.35 });
    c.set(K::ChainRing, near(12.0 * chain));
    // The first of the usual wires whose ring does not pull open: plastic moment of a round section at the mean radius.
    let opens = |d: f64| 1.7 * m.ultimate_annealed * PI * d * d * d / 32.0 / (1.7 * d);
    let jump = (9..=16).map(|i| f64::from(i) / 10.0).find(|d| opens(*d) >= JUMP).unwrap_or(1.6);
    let jump = c.set(K::JumpWire, jump);
    c.set(K::JumpInner, near(2.4 * jump));
    count(c);
    let d = Dims::of(&c.v);
    let Some(k) = &d.clasp else { return };
    c.set(K::MarkLength, (2.0 * k.mark_room.get() + NOISE).floor() / 2.0);
    if c.given.get(K::MarkLength).is_none() {
        c.v[K::MarkLength] = c.v[K::MarkLength].min(6.0);
    }
    c.set(K::MarkHeight, down(k.mark_across.get()).min(1.5));
    c.set(K::MarkMethod, if c.v[K::PlateThickness] >= 0.50 { 0.0 } else { 1.0 });
}

/// The fewest stones with which the hand comes through and the parts find room.
fn count(c: &mut Chain<'_>) {
    if let Some(n) = c.given.get(K::ClaspCount) {
        c.set(K::ClaspCount, n);
        return;
    }
    let most = (c.v[K::Count] / 3.0).floor().max(2.0);
    let mut n = 2.0;
    let mut v = c.v.clone();
    while n < most {
        v[K::ClaspCount] = n;
        let fits = Dims::of(&v).clasp.is_some_and(|k| {
            k.hand_to_spare.get() >= 5.0
                && k.cheek_to_hinge.get() >= 0.10
                && k.mark_room.get() >= 4.0
                && k.side_catch.to_eye.get() >= 0.15
        });
        if fits {
            break;
        }
        n += 1.0;
    }
    c.set(K::ClaspCount, n);
}
