//! The folding clasp.
//!
//! Clasp frame: x = 0 where the cell of its first stone begins, x = C where that of the last ends; z = 0 the underside of the
//! line. Base plate, leaf and frame lie over each other, with a gap between.

use super::Dims;
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::units::Mm;
use serde::Serialize;

/// Derived dimensions of the folding clasp.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClaspDims {
    /// C = n_c p: length of the closed clasp.
    pub length: Mm,
    /// t_P + c_v: underside of the leaf.
    pub leaf_bottom: Mm,
    /// t_P + c_v + t_M.
    pub leaf_top: Mm,
    /// z_U = t_P + 2 c_v + t_M: underside of the frame, where its collets are cut off.
    pub frame_bottom: Mm,
    /// z_c − z_U: culet over the underside of the frame.
    pub culet_over_frame: Mm,
}

impl ClaspDims {
    pub(crate) fn of(v: &Numbers, d: &Dims) -> Self {
        let leaf_bottom = Mm(v[K::PlateThickness] + v[K::ClaspGap]);
        let leaf_top = leaf_bottom + Mm(v[K::LeafThickness]);
        let frame_bottom = leaf_top + Mm(v[K::ClaspGap]);
        Self {
            length: d.pitch * v[K::ClaspCount],
            leaf_bottom,
            leaf_top,
            frame_bottom,
            culet_over_frame: d.culet - frame_bottom,
        }
    }
}
