//! Defaults of the folding clasp.

use super::Chain;
use crate::params::choice::ClaspKind;
use crate::params::table::Key as K;
use crate::trade::metals::METALS;

/// How far the culet must stay over the underside of the frame.
pub(super) const CULET_OVER_FRAME: f64 = 0.05;

/// Thickness of plate and leaf: they come before the collet's height, which keeps the stones clear of them.
pub(super) fn layers(c: &mut Chain<'_>) {
    if ClaspKind::of(&c.v) != ClaspKind::Folding {
        return;
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let platinum = METALS.get(c.v[K::Alloy] as usize).is_some_and(|m| m.key.starts_with("platinum"));
    c.set(K::ClaspGap, 0.06);
    c.set(K::PlateThickness, if c.v[K::Diameter] >= 3.8 { 0.50 } else { 0.45 });
    c.set(K::LeafThickness, if platinum { 0.50 } else { 0.65 });
}

/// Height the culet must reach over the skin so that it clears the leaf; nothing where the clasp is a bought one.
pub(super) fn culet(c: &Chain<'_>) -> f64 {
    if ClaspKind::of(&c.v) == ClaspKind::Folding {
        c.v[K::PlateThickness] + 2.0 * c.v[K::ClaspGap] + c.v[K::LeafThickness] + CULET_OVER_FRAME
    } else {
        0.0
    }
}
