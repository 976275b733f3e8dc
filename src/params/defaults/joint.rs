//! Defaults of both joints.

use super::{Chain, NOISE, STEP, down, near, up};
use crate::params::dims::Dims;
use crate::params::table::Key as K;
use crate::trade::limits;
use crate::units::Deg;
use std::f64::consts::PI;

/// Play of the pin in its bore; 0.03 to 0.08 is taken.
const PLAY: f64 = 0.04;
/// Thinnest and thickest tube that a default takes: round the least pin, and where more would only be heavy.
const TUBE: (f64, f64) = (0.88, 1.40);
/// Thickest pin a default takes; more adds nothing to a line bracelet's strength.
const PIN: f64 = 0.70;
/// Smallest light hole a default plans with.
const LIGHT: f64 = 0.30;

/// The wire loop: wire from the width, bore and groove from the wire, web high enough to turn.
pub(super) fn wire(c: &mut Chain<'_>, w: f64, wall: f64) {
    let wire = c.set(K::Wire, near(0.13 * w).max(0.22));
    let flat = c.set(K::WireFlat, near(0.76 * wire));
    let flat_width = PI * wire * wire / (4.0 * flat);
    c.set(K::EndPlay, 0.02);
    let bore = c.set(K::BoreWidth, (wire + 0.05).max(up(flat_width + 0.03)));
    c.set(K::BoreHeight, near(1.25 * bore));
    let groove = c.set(K::GrooveDepth, flat + 0.03);
    c.set(K::GrooveWidth, up(flat_width + 0.06));
    // Depth of the web: the wall measured horizontally, for the 6 degrees of a usual taper.
    let depth = wall / libm::cos(Deg(6.0).radians());
    let least = c.given.get(K::WebHeight).map_or(depth, |h| h.min(depth));
    let edge = c.set(K::WebEdge, near(0.43 * least));
    let turns = |h: f64| {
        let (x, y) = (h - 2.0 * edge, depth - 2.0 * edge);
        (x * x + y * y).sqrt() + 2.0 * edge <= groove - flat + h - 0.005
    };
    let height = (50..=75).map(|i| f64::from(i) * STEP).find(|h| turns(*h));
    c.set(K::WebHeight, height.unwrap_or_else(|| up(1.19 * depth).max(0.50)));
}

/// The hinge tube as far as it follows from the width: tube, pin, bore, height, clearances.
pub(super) fn hinge(c: &mut Chain<'_>, w: f64, lift: f64) {
    let (wall, rim) = (c.v.own().finished(&limits::TUBE), c.v.own().finished(&limits::RECESS_RIM));
    let clearance = c.set(K::PocketClearance, 0.06);
    c.set(K::SideGap, 0.04);
    c.set(K::OuterShare, 0.30);
    let pin_given = c.given.get(K::Pin).or(c.given.get(K::TubeBore).map(|b| b - PLAY));
    let bore_given = c.given.get(K::TubeBore).or(pin_given.map(|p| p + PLAY));
    // Pocket, light hole and the metal between them share the pitch.
    let behind = c.v.own().finished(&limits::BEHIND_POCKET);
    let pitch = w + c.given.get(K::Gap).unwrap_or(0.08);
    let most = down(pitch - 2.0 * (clearance + behind) - c.given.get(K::LightHole).unwrap_or(LIGHT));
    let block = !crate::params::choice::Shape::of(&c.v).is_flat();
    // A foot block is as high as the tube; a thinner one keeps it low.
    let share = if block { 0.34 } else { 0.39 };
    let wanted = near(share * w).min(most).clamp(TUBE.0, TUBE.1);
    let needed = match (pin_given, bore_given) {
        (Some(p), Some(b)) => up((b + 2.0 * wall).max((1.6 * p).max(b + 0.20) + 2.0 * rim)),
        _ => 0.0,
    };
    let tube = c.set(K::TubeOuter, wanted.max(needed));
    let room = (tube - 2.0 * wall).min(tube - 2.0 * rim - 0.20) - PLAY;
    let pin = bore_given.map_or(down(room.min((tube - 2.0 * rim) / 1.6).min(PIN)), |b| b - PLAY);
    let pin = c.set(K::Pin, pin);
    c.set(K::TubeBore, pin + PLAY);
    c.set(K::TubeHeight, up(tube / 2.0 + 0.02) + lift);
}

/// The light hole, as large as the pockets leave it; the pitch is known.
pub(super) fn light_hole(c: &mut Chain<'_>) {
    let pitch = c.v[K::Width] + c.v[K::Gap];
    let pocket = c.v[K::TubeOuter] / 2.0 + c.v[K::PocketClearance];
    let behind = c.v.own().finished(&limits::BEHIND_POCKET);
    c.set(K::LightHole, down(pitch - 2.0 * (pocket + behind)).min(1.0));
}

/// Length of the row of knuckles: the end walls and their corners are known.
pub(super) fn tube_row(c: &mut Chain<'_>, w: f64) {
    let d = Dims::of(&c.v);
    let Some(h) = &d.hinge else { return };
    let straight = 2.0 * (h.end_face.get() - c.v[K::CornerRadius] / 2.0);
    let least =
        up((h.recess_depth.get() + c.v.own().finished(&limits::BEHIND_RECESS)) / c.v[K::OuterShare] - NOISE);
    c.set(K::TubeLength, near(0.68 * w).min(down(straight)).max(least));
}
