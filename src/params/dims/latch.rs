//! What holds the clasp shut: the tongue and, independent of it, the side catches.
//!
//! Closed forms of small deflection, linear elastic. Strip: cantilever with a load at its end, F = 3 E I δ/L³,
//! σ = 3 E t δ/(2 L²). Bar of a side catch: simply supported with a load in the middle, F = 48 E I δ/b³, σ = 6 E d δ/b²
//! (Gere and Timoshenko, Mechanics of Materials, tables of deflections and slopes of beams). Force along the closing
//! direction over a slope: W = F (μ + tan α)/(1 − μ tan α), equilibrium on a wedge with friction (the usual formula of snap-fit
//! design guides). They are estimates; their ranges come from what is not known or not met exactly: [`Off`].

use super::clasp::CATCH_BESIDE;
use super::side_catch::{LEDGE_OVER, PROUD};
use super::spread::{Estimate, spread};
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::units::Mm;
use serde::Serialize;
use std::f64::consts::PI;

/// Play of a side catch under its ledge, mm.
pub const CATCH_PLAY: Mm = Mm(0.02);
/// Stress of a spring: at most this share of the yield of its temper (common practice for a clasp worked twice a day).
pub(crate) const SPRING: f64 = 0.70;
/// Pull of the line the tongue must hold when the hinges are worn, N, and that wear as loss of over-centre, mm.
const WORN: (f64, f64) = (50.0, 0.2);
/// Force of a slope that friction locks: none passes it, N.
pub(crate) const LOCKED: f64 = 1e6;

/// How far off each thing may be, either way (proposals, no published source).
pub(crate) struct Off;

impl Off {
    /// Young's modulus of the alloy at hand, as a share.
    const MODULUS: f64 = 0.05;
    /// Yield of the table for a temper, as a share. What a bench file gives is taken as it stands.
    const TEMPER: f64 = 0.10;
    /// Friction of the tongue.
    pub(crate) const FRICTION: f64 = 0.05;
    /// Ridge or bump as filed, mm.
    const SNAP: f64 = 0.01;
    /// Thickness of strip, plate and wire, mm.
    const STOCK: f64 = 0.01;
    /// Free length of a strip or bar, mm.
    const LENGTH: f64 = 0.05;
}

/// Forces in N, stresses in MPa.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LatchDims {
    /// Bending stress of a strip when its ridge is pushed aside.
    pub tongue_stress: Estimate,
    /// The same as a share of its yield.
    pub tongue_share: Estimate,
    /// Sideways force of one strip.
    pub tongue_force: Estimate,
    /// Force to close both.
    pub close_force: Estimate,
    /// Force to open both.
    pub open_force: Estimate,
    /// What that must be at least once the hinges are worn: 2 T e/L_m, T 50 N, e 0.2 mm.
    pub worn_force: f64,
    /// Yield of the strips after the last heat they saw: hard stock where they are fixed cold, annealed where soldered.
    pub strip_yield: f64,
    /// Bending stress of a side catch as its bar snaps past the bump.
    pub catch_stress: Estimate,
    /// The same as a share of its yield.
    pub catch_share: Estimate,
    /// Force on one bar to do so.
    pub catch_force: Estimate,
    /// Yield of the side catches: wire bent cold and never heated.
    pub catch_yield: f64,
    /// Height of the bump on the ledge's underside that the bar snaps past.
    pub catch_bump: Mm,
}

/// Stress as a share of the yield: the stress of a spring whose `sizes` are stock, length and snap, each off by `by`.
fn share(
    v: &Numbers,
    hard: bool,
    [sizes, by]: [[f64; 3]; 2],
    stress: fn([f64; 4]) -> f64,
) -> (Estimate, Estimate, f64) {
    let m = v.mechanics();
    let (limit, column) =
        if hard { (m.yield_hard, "yield_hard") } else { (m.yield_annealed, "yield_annealed") };
    let temper = if v.own().get("mechanics", m.key, column).is_some() { 0.0 } else { Off::TEMPER };
    let ([a, b, c], [da, db, dc]) = (sizes, by);
    let (at, off) = ([m.modulus, a, b, c], [Off::MODULUS * m.modulus, da, db, dc]);
    let of_yield = spread(
        |[e, a, b, c, limit]| stress([e, a, b, c]) / limit,
        [m.modulus, a, b, c, limit],
        [off[0], da, db, dc, temper * limit],
    );
    (spread(stress, at, off), of_yield, limit)
}

/// Of a strip of the tongue: its stress, that over its yield, its yield.
pub(crate) fn strip(v: &Numbers, thickness: f64, length: f64, snap: f64) -> (Estimate, Estimate, f64) {
    let at = [[thickness, length, snap], [Off::STOCK, Off::LENGTH, Off::SNAP]];
    share(v, v[K::TongueFixing] == 0.0, at, |[e, t, l, snap]| 1.5 * e * t * snap / (l * l))
}

/// Of a side catch: its stress, that over its yield, its yield. Its wire is bent cold and never heated.
pub(crate) fn catch(v: &Numbers, wire: f64, bar: f64, snap: f64) -> (Estimate, Estimate, f64) {
    let at = [[wire, bar, snap], [Off::STOCK, Off::LENGTH, Off::SNAP]];
    share(v, true, at, |[e, d, b, snap]| 6.0 * e * d * snap / (b * b))
}

/// Force of both strips over a slope of `angle`: plate, strip, length, snap and friction as the file has them.
pub(crate) fn over(v: &Numbers, angle: f64) -> Estimate {
    let tan = libm::tan(angle.to_radians());
    let e = v.mechanics().modulus;
    spread(
        |[e, h, t, l, snap, mu]| {
            let force = e * h * t * t * t * snap / (4.0 * l * l * l);
            // A slope that friction locks cannot be passed by any force.
            let open = 1.0 - mu * tan;
            if open > 0.0 { (2.0 * force * (mu + tan) / open).min(LOCKED) } else { LOCKED }
        },
        [
            e,
            v[K::PlateThickness],
            v[K::TongueThickness],
            v[K::TongueLength],
            v[K::TongueSnap],
            v[K::TongueFriction],
        ],
        [Off::MODULUS * e, Off::STOCK, Off::STOCK, Off::LENGTH, Off::SNAP, Off::FRICTION],
    )
}

impl LatchDims {
    pub(crate) fn of(v: &Numbers, catch_z: f64, leaf: f64) -> Self {
        let e = v.mechanics().modulus;
        let (t, l, snap) = (v[K::TongueThickness], v[K::TongueLength], v[K::TongueSnap]);
        let (d, b, lift) = (v[K::CatchWire], v[K::CatchBar], v[K::CatchSnap]);
        let height = catch_z - (v[K::PlateThickness] + LEDGE_OVER.get());
        let across = PROUD.max(d) - d / 2.0 - CATCH_BESIDE.get();
        let (tongue_stress, tongue_share, strip_yield) = strip(v, t, l, snap);
        let (catch_stress, catch_share, catch_yield) = catch(v, d, b, lift);
        Self {
            tongue_stress,
            tongue_share,
            tongue_force: spread(
                |[e, h, t, l, snap]| e * h * t * t * t * snap / (4.0 * l * l * l),
                [e, v[K::PlateThickness], t, l, snap],
                [Off::MODULUS * e, Off::STOCK, Off::STOCK, Off::LENGTH, Off::SNAP],
            ),
            close_force: over(v, v[K::LeadAngle]),
            open_force: over(v, v[K::HoldAngle]),
            worn_force: 2.0 * WORN.0 * WORN.1 / leaf,
            strip_yield,
            catch_stress,
            catch_share,
            catch_force: spread(
                |[e, d, b, lift]| 48.0 * e * (PI * d * d * d * d / 64.0) * lift / (b * b * b),
                [e, d, b, lift],
                [Off::MODULUS * e, Off::STOCK, Off::LENGTH, Off::SNAP],
            ),
            catch_yield,
            catch_bump: Mm(lift + CATCH_PLAY.get() - (libm::hypot(across, height) - height)),
        }
    }
}
