//! What holds the clasp shut: the tongue and, independent of it, the side catches.
//!
//! Closed forms of small deflection, linear elastic. Strip: cantilever with a load at its end, F = 3 E I δ/L³,
//! σ = 3 E t δ/(2 L²). Bar of a side catch: simply supported with a load in the middle, F = 48 E I δ/b³, σ = 6 E d δ/b²
//! (Gere and Timoshenko, Mechanics of Materials, tables of deflections and slopes of beams). Force along the closing
//! direction over a slope: W = F (μ + tan α)/(1 − μ tan α), equilibrium on a wedge with friction (the usual formula of snap-fit
//! design guides). They are estimates: ±15 % is shown.

use super::clasp::CATCH_BESIDE;
use super::side_catch::{LEDGE_OVER, PROUD};
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::units::Mm;
use serde::Serialize;
use std::f64::consts::PI;

/// How far an estimate may be off either way, as a share (proposal).
pub const ESTIMATE: f64 = 0.15;
/// Play of a side catch under its ledge, mm.
pub const CATCH_PLAY: Mm = Mm(0.02);
/// Pull of the line the tongue must hold when the hinges are worn, N, and that wear as loss of over-centre, mm.
const WORN: (f64, f64) = (50.0, 0.2);

/// An estimate with its range.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Estimate {
    /// 15 % less than the closed form gives.
    pub low: f64,
    /// What it gives.
    pub usual: f64,
    /// 15 % more.
    pub high: f64,
}

impl Estimate {
    fn of(x: f64) -> Self {
        Self { low: x * (1.0 - ESTIMATE), usual: x, high: x * (1.0 + ESTIMATE) }
    }
}

/// Forces in N, stresses in MPa.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LatchDims {
    /// Bending stress of a strip when its ridge is pushed aside.
    pub tongue_stress: Estimate,
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
    /// Force on one bar to do so.
    pub catch_force: Estimate,
    /// Yield of the side catches: wire bent cold and never heated.
    pub catch_yield: f64,
    /// Height of the bump on the ledge's underside that the bar snaps past.
    pub catch_bump: Mm,
}

impl LatchDims {
    pub(crate) fn of(v: &Numbers, catch_z: f64, leaf: f64) -> Self {
        let metal = v.mechanics();
        let e = metal.modulus;
        let (t, l, snap) = (v[K::TongueThickness], v[K::TongueLength], v[K::TongueSnap]);
        let force = 3.0 * e * (v[K::PlateThickness] * t * t * t / 12.0) * snap / (l * l * l);
        let over = |angle: f64| {
            let (mu, tan) = (v[K::TongueFriction], libm::tan(angle.to_radians()));
            // A slope that friction locks cannot be passed by any force.
            if mu * tan < 1.0 { 2.0 * force * (mu + tan) / (1.0 - mu * tan) } else { f64::MAX }
        };
        let (d, b, lift) = (v[K::CatchWire], v[K::CatchBar], v[K::CatchSnap]);
        let height = catch_z - (v[K::PlateThickness] + LEDGE_OVER.get());
        let across = PROUD.max(d) - d / 2.0 - CATCH_BESIDE.get();
        Self {
            tongue_stress: Estimate::of(1.5 * e * t * snap / (l * l)),
            tongue_force: Estimate::of(force),
            close_force: Estimate::of(over(v[K::LeadAngle])),
            open_force: Estimate::of(over(v[K::HoldAngle])),
            worn_force: 2.0 * WORN.0 * WORN.1 / leaf,
            strip_yield: if v[K::TongueFixing] == 0.0 { metal.yield_hard } else { metal.yield_annealed },
            catch_stress: Estimate::of(6.0 * e * d * lift / (b * b)),
            catch_force: Estimate::of(48.0 * e * (PI * d * d * d * d / 64.0) * lift / (b * b * b)),
            catch_yield: metal.yield_hard,
            catch_bump: Mm(lift + CATCH_PLAY.get() - (libm::hypot(across, height) - height)),
        }
    }
}
