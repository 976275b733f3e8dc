//! The side catches: where their wire runs. A U of hard wire, its bar under the ledge of the base plate, its two ends hooked into
//! the ends of a tube over the rail, about which it swings.

use super::Dims;
use super::clasp::{CATCH_BESIDE, STAND_BACK};
use super::latch::CATCH_PLAY;
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::units::Mm;
use serde::Serialize;
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// How far a ledge stands proud of the plate's side at least, mm.
pub(super) const PROUD: f64 = 0.40;
/// Height of a ledge's underside over the plate, mm.
pub const LEDGE_OVER: Mm = Mm(0.05);
/// Width of the slope of the bump at a ledge's outer edge, mm.
pub const BUMP_SLOPE: Mm = Mm(0.10);
/// Radius of a bend at the wire's middle line over the wire, where there is room for it: an inside radius of one wire (common
/// practice, no published source; hard wire bent tighter cracks).
const BEND: f64 = 1.5;
/// From a bend to the end of the tube, mm.
const TO_TUBE: f64 = 0.05;
/// Most that the tube is shortened at either end so that it does not graze a claw, mm; and the part of a hook inside the tube over the
/// wire at least (proposal).
const SHORTER: f64 = 0.35;
const HOOKED: f64 = 2.0;
/// Between the ends of the two hooks inside the tube at least, mm.
const HOOKS_APART: f64 = 0.20;

/// Derived dimensions of a side catch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SideCatchDims {
    /// How far the ledges stand proud of the plate's sides: 0.40, or the wire if that is thicker.
    pub ledge_proud: Mm,
    /// Radius of its bends at the middle line: 1.5 d, or half the legs' length.
    pub bend: Mm,
    /// From the middle line of the bar to that of the tube.
    pub leg: Mm,
    /// Straight piece of a hook from its bend to its end inside the tube, 0.40 + 2 d where the tube is long enough.
    pub hook: Mm,
    /// Half length of the tube.
    pub tube_half: Mm,
    /// Wire of one catch at its middle line: bar, two legs, two hooks, four bends.
    pub wire: Mm,
    /// Underside of the bar over the skin, clasp shut.
    pub over_skin: Mm,
    /// From the bar at rest to the bump it snaps past.
    pub bump_gap: Mm,
    /// From a bent end of the catch to the eye of the chain.
    pub to_eye: Mm,
}

impl SideCatchDims {
    /// Height of the tube's axis, middle of the clasp, height of the bump.
    pub(super) fn of(v: &Numbers, d: &Dims, z: f64, middle: f64, bump: f64) -> Self {
        let (wire, bar) = (v[K::CatchWire], v[K::CatchBar]);
        let ledge_proud = PROUD.max(wire);
        let under = v[K::PlateThickness] + LEDGE_OVER.get() - CATCH_PLAY.get() - wire / 2.0;
        let leg = z - under;
        let bend = (BEND * wire).min(leg / 2.0).min(bar / 4.0);
        let hook = (TO_TUBE + SHORTER + HOOKED * wire).min(bar / 2.0 - bend - HOOKS_APART / 2.0);
        Self {
            ledge_proud: Mm(ledge_proud),
            bend: Mm(bend),
            leg: Mm(leg),
            hook: Mm(hook),
            tube_half: Mm(tube_half(v, d, bar / 2.0 - bend - TO_TUBE, middle)),
            wire: Mm(bar - 2.0 * bend + 2.0 * (leg - 2.0 * bend) + 2.0 * hook + 2.0 * PI * bend),
            over_skin: Mm(under - wire / 2.0),
            bump_gap: Mm(bump_gap(ledge_proud - CATCH_BESIDE.get() - wire / 2.0, wire / 2.0, bump)),
            to_eye: Mm(middle
                - (bar + wire) / 2.0
                - d.pitch.get() / 2.0
                - super::chain::EYE_THICK.get() / 2.0),
        }
    }
}

/// From a bar of radius `r` about the origin to the bump's slope, whose low edge lies `across` beside the origin and `bump` under
/// the ledge's underside.
fn bump_gap(across: f64, r: f64, bump: f64) -> f64 {
    let top = r + CATCH_PLAY.get();
    let (a, b) = ([across - BUMP_SLOPE.get(), top], [across, top - bump.max(0.01)]);
    let (u, l2) = ([b[0] - a[0], b[1] - a[1]], BUMP_SLOPE.get() * BUMP_SLOPE.get() + bump * bump);
    let t = (-(a[0] * u[0] + a[1] * u[1]) / l2.max(1e-12)).clamp(0.0, 1.0);
    libm::hypot(a[0] + t * u[0], a[1] + t * u[1]) - r
}

/// Half length of the tubes: `most`, or a little less where their ends would graze a claw.
fn tube_half(v: &Numbers, d: &Dims, most: f64, middle: f64) -> f64 {
    let p = d.pitch.get();
    let r = v[K::ClawDiameter] / 2.0;
    let axis = d.claw_axis.get() * FRAC_1_SQRT_2;
    let back = (2.0 * r * STAND_BACK.get()).max(0.0).sqrt();
    let clear = |half: f64| {
        let at = middle - half;
        #[allow(clippy::cast_possible_truncation)]
        let mut stones = (0..v[K::ClaspCount] as i32).map(|i| (f64::from(i) + 0.5) * p);
        stones.all(|c| {
            [-axis, axis]
                .iter()
                .all(|a| [-r, -back, 0.0, back, r].iter().all(|e| (c + a + e - at).abs() > 0.03))
        })
    };
    (0..8).map(|i| most - 0.05 * f64::from(i)).find(|h| clear(*h)).unwrap_or(most)
}
