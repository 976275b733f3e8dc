//! Defaults of the master: polish allowances by class of surface (common practice; 0.10 a side outside is a caster's guide),
//! bores; shrink is never assumed.

use super::{Chain, JointKind};
use crate::params::table::Key as K;

/// Smallest pilot hole that stays open in pattern and investment, mm (casters' guide: holes over 0.20 and no deeper than wide;
/// service guides for resin: holes under 0.5 may close).
const LEAST_PILOT: f64 = 0.40;
/// Thickest wall a pilot is cast through, mm (proposal).
const PILOT_DEPTH: f64 = 0.60;
/// Number of the word `dimple`.
const DIMPLE: f64 = 1.0;

pub(super) fn allowances(c: &mut Chain<'_>) {
    c.set(K::PolishOutside, 0.10);
    c.set(K::PolishOpenings, 0.05);
    c.set(K::PolishUnderside, 0.10);
    c.set(K::PolishMating, 0.03);
    let pilot = JointKind::of(&c.v) == JointKind::WireLoop
        && 0.75 * c.v[K::BoreWidth] >= LEAST_PILOT
        && c.v[K::Wall] <= PILOT_DEPTH;
    c.set(K::MasterBores, if pilot { 0.0 } else { DIMPLE });
    c.set(K::MetalShrink, 0.0);
    let all = c.set(K::PatternShrink, 0.0);
    for k in [K::PatternShrinkX, K::PatternShrinkY, K::PatternShrinkZ] {
        c.set(k, all);
    }
    c.set(K::HoleCloses, 0.0);
    let stub = c.set(K::SprueDiameter, 0.0);
    c.set(K::SprueLength, (2.0 * stub).max(2.0));
}
