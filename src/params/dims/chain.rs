//! The safety chain: single loop-in-loop.

use super::Dims;
use super::clasp::ClaspDims;
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::units::Mm;
use serde::Serialize;
use std::f64::consts::PI;

/// Thickness of the eyes that the chain hangs in, along the line, mm.
pub const EYE_THICK: Mm = Mm(0.50);
/// Metal round the hole of an eye, mm (proposal).
pub const EYE_RIM: Mm = Mm(0.40);
/// How much wider the hole is than the jump ring's wire, mm (proposal).
const EYE_PLAY: f64 = 0.15;
/// Wire lost to the saw and the joint of a ring, mm.
const KERF: f64 = 0.3;
/// What a chain that only guards the pins is longer than the open clasp, mm.
const SLACK: f64 = 6.0;
/// By how much a chain that keeps the bracelet on holds it smaller than the hand, mm.
const HOLDS: f64 = 10.0;

/// Derived dimensions of the safety chain.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChainDims {
    /// inner diameter over wire.
    pub aspect: f64,
    /// π (i + d): wire of one ring at its middle line.
    pub ring_wire: Mm,
    /// Length of a ring pulled flat, s + e + 2 d with e = 2 d, s = π(i + d)/2 − π(e + d)/2.
    pub flat_link: Mm,
    /// Length a ring adds, flat/2 − 2 d; to be confirmed on a sample of five rings.
    pub pitch: Mm,
    /// Length of the chain: guarding the pins C + 2 L_m + 6; keeping the bracelet on, the longest that does.
    pub length: Mm,
    /// Longest chain on which the open bracelet stays on: hand − 10 − L_in + C.
    pub longest_that_holds: Mm,
    /// Rings.
    pub rings: usize,
    /// Wire for all of them.
    pub wire: Mm,
    /// Hole of the two eyes, jump wire + 0.15.
    pub eye: Mm,
    /// How far an eye stands out from the clasp's side, 0.05 + hole + 2 rims.
    pub eye_proud: Mm,
    /// What is left inside a jump ring that holds the eye's rim and two strands of the chain.
    pub jump_room: Mm,
}

impl ChainDims {
    pub(crate) fn of(v: &Numbers, d: &Dims, clasp: &ClaspDims) -> Self {
        let (wire, inner) = (v[K::ChainWire], v[K::ChainRing]);
        let ring = PI * (inner + wire);
        let end = 2.0 * wire;
        let flat = ring / 2.0 - PI * (end + wire) / 2.0 + end + 2.0 * wire;
        let pitch = flat / 2.0 - 2.0 * wire;
        let holds = v[K::Hand] - HOLDS - d.inner_length.get() + clasp.length.get();
        let open = clasp.length.get() + 2.0 * clasp.leaf_length.get() + SLACK;
        let length = if v[K::ChainGuard] == 0.0 { open } else { holds.min(open) };
        // A chain of rings that add nothing has no count; the rules refuse such rings.
        let rings = if pitch > 0.05 { ((length - flat) / pitch).ceil().clamp(0.0, 1e4) + 1.0 } else { 0.0 };
        Self {
            aspect: inner / wire,
            ring_wire: Mm(ring),
            flat_link: Mm(flat),
            pitch: Mm(pitch),
            length: Mm(length),
            longest_that_holds: Mm(holds),
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            rings: rings as usize,
            wire: Mm(rings * (ring + KERF)),
            eye: Mm(v[K::JumpWire] + EYE_PLAY),
            eye_proud: Mm(0.05 + v[K::JumpWire] + EYE_PLAY + 2.0 * EYE_RIM.get()),
            jump_room: Mm(v[K::JumpInner] - libm::hypot(EYE_RIM.get(), EYE_THICK.get()) - 2.0 * wire),
        }
    }
}
