//! The hinge tube: knuckles, the pockets they turn in, the pin, and how far the link turns.

use super::Dims;
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::units::{Deg, Mm};
use serde::Serialize;

/// Bead at the end of the pin: its diameter over the pin's, its least excess over the bore, and how deep its cup is sunk,
/// as a share of the pin (common practice, no published source).
const BEAD: (f64, f64, f64) = (1.6, 0.20, 0.5);

/// Derived dimensions of a hinge tube, in the frame of the link. The tube's axis runs along y at (±p/2, z_h).
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HingeDims {
    /// p/2: the axis is on the boundary of the link's cell.
    pub axis_x: Mm,
    /// z_h: height of the axis.
    pub axis_z: Mm,
    /// Half of the tube's outside diameter.
    pub tube_radius: Mm,
    /// r_p = OD/2 + c_p: radius of the pocket for the neighbour's knuckle.
    pub pocket_radius: Mm,
    /// y_b = l_h (0.5 − k_f): where the outer knuckles begin.
    pub boundary: Mm,
    /// l_h/2: where they end.
    pub half_length: Mm,
    /// k_f l_h: length of an outer knuckle.
    pub outer_knuckle: Mm,
    /// l_h (1 − 2 k_f) − 2 c_k: length of the middle knuckle.
    pub middle_knuckle: Mm,
    /// Half width of the end wall at the skin: of the collet, or of its foot block.
    pub end_foot: Mm,
    /// Half width of the end wall at the height of the axis.
    pub end_face: Mm,
    /// b_t = OD/2 − (p/2 − end wall): how far the tube is let into its own end wall.
    pub let_in: Mm,
    /// (OD − bore)/2.
    pub tube_wall: Mm,
    /// bore − pin.
    pub pin_play: Mm,
    /// D_b = max(1.6 pin, bore + 0.20): diameter of the pin bead.
    pub pin_bead: Mm,
    /// (OD − D_b)/2: rim of tube left round the bead's recess.
    pub recess_rim: Mm,
    /// pin/2: depth of that recess.
    pub recess_depth: Mm,
    /// k_f l_h − recess depth: outer knuckle left behind the recess.
    pub behind_recess: Mm,
    /// p/2 − r_p − r_light: metal between pocket and light hole.
    pub behind_pocket: Mm,
    /// Metal between the pocket and the inside of the collet above the filled foot.
    pub pocket_to_inside: Mm,
    /// Metal between the pocket and the opening, its rounded corner included.
    pub pocket_to_opening: Mm,
    /// Where the pocket leaves the end wall, above: z_h + √(r_p² − (p/2 − end wall)²) for an upright wall.
    pub pocket_top: Mm,
    /// Metal between the pocket and the top of the foot block; `None` without a block.
    pub under_block_top: Option<Mm>,
    /// Distance of the rim of the light hole from the pavilion.
    pub fill_to_stone: Mm,
    /// Inward turn at which foot meets foot, 2 atan((p/2 − foot)/z_h).
    pub turn_inward: Deg,
    /// Outward turn at which finished claw meets claw, 2 atan((g/2)/(z_fin − z_h)).
    pub turn_outward: Deg,
}

impl HingeDims {
    /// No hinge tube at all: every value is no number, which no limit takes.
    pub(crate) const NONE: Self = Self {
        axis_x: Mm(f64::NAN),
        axis_z: Mm(f64::NAN),
        tube_radius: Mm(f64::NAN),
        pocket_radius: Mm(f64::NAN),
        boundary: Mm(f64::NAN),
        half_length: Mm(f64::NAN),
        outer_knuckle: Mm(f64::NAN),
        middle_knuckle: Mm(f64::NAN),
        end_foot: Mm(f64::NAN),
        end_face: Mm(f64::NAN),
        let_in: Mm(f64::NAN),
        tube_wall: Mm(f64::NAN),
        pin_play: Mm(f64::NAN),
        pin_bead: Mm(f64::NAN),
        recess_rim: Mm(f64::NAN),
        recess_depth: Mm(f64::NAN),
        behind_recess: Mm(f64::NAN),
        behind_pocket: Mm(f64::NAN),
        pocket_to_inside: Mm(f64::NAN),
        pocket_to_opening: Mm(f64::NAN),
        pocket_top: Mm(f64::NAN),
        under_block_top: None,
        fill_to_stone: Mm(f64::NAN),
        turn_inward: Deg(f64::NAN),
        turn_outward: Deg(f64::NAN),
    };
    pub(super) fn of(v: &Numbers, d: &Dims) -> Self {
        let block = (!d.shape.is_flat()).then(|| v[K::BlockHalfWidth]);
        let end = |z: f64| block.unwrap_or_else(|| d.outer_radius(Mm(z)).get());
        let (x, z) = (d.pitch.get() / 2.0, v[K::TubeHeight]);
        let (tube, bore, pin) = (v[K::TubeOuter], v[K::TubeBore], v[K::Pin]);
        let pocket = tube / 2.0 + v[K::PocketClearance];
        let (length, share, side) = (v[K::TubeLength], v[K::OuterShare], v[K::SideGap]);
        let (fill, light) = (v[K::FootFill], v[K::LightHole] / 2.0);
        let bead = (BEAD.0 * pin).max(bore + BEAD.1);
        let recess = BEAD.2 * pin;
        let across = x - end(z);
        let pocket_top = z + (pocket * pocket - across * across).max(0.0).sqrt();
        Self {
            axis_x: Mm(x),
            axis_z: Mm(z),
            tube_radius: Mm(tube / 2.0),
            pocket_radius: Mm(pocket),
            boundary: Mm(length * (0.5 - share)),
            half_length: Mm(length / 2.0),
            outer_knuckle: Mm(share * length),
            middle_knuckle: Mm(length * (1.0 - 2.0 * share) - 2.0 * side),
            end_foot: Mm(end(0.0)),
            end_face: Mm(end(z)),
            let_in: Mm(tube / 2.0 - across),
            tube_wall: Mm((tube - bore) / 2.0),
            pin_play: Mm(bore - pin),
            pin_bead: Mm(bead),
            recess_rim: Mm((tube - bead) / 2.0),
            recess_depth: Mm(recess),
            behind_recess: Mm(share * length - recess),
            behind_pocket: Mm(x - pocket - light),
            pocket_to_inside: Mm(to_inside(d, x, z, fill) - pocket),
            pocket_to_opening: Mm(to_opening(v, x, z, pocket)),
            pocket_top: Mm(pocket_top),
            under_block_top: block.map(|_| Mm(fill - pocket_top)),
            fill_to_stone: d.below_pavilion(Mm(light), Mm(fill)),
            turn_inward: Deg::from_radians(2.0 * libm::atan2(x - end(0.0), z)),
            turn_outward: Deg::from_radians(
                2.0 * libm::atan2(d.claw_gap(v) / 2.0, (d.claw_top - Mm(z)).get()),
            ),
        }
    }
}

/// Distance of the axis from the inside of the collet, which begins at the filled foot and leans outward.
fn to_inside(d: &Dims, x: f64, z: f64, fill: f64) -> f64 {
    let (px, pz) = (x - d.inner_radius(Mm(fill)).get(), z - fill);
    let t = d.taper_tan;
    // Along the wall from its lowest point; the nearest point lies there unless the foot of the normal is higher.
    let s = ((px * t + pz) / (1.0 + t * t)).max(0.0);
    libm::hypot(px - s * t, pz - s)
}

/// Distance between pocket and opening; negative where they meet.
fn to_opening(v: &Numbers, x: f64, z: f64, pocket: f64) -> f64 {
    let r = v[K::OpeningBur] / 2.0;
    let (low, high) = (v[K::OpeningBottom] + r, v[K::OpeningTop] - r);
    let near = z.max(low).min(high.max(low));
    libm::hypot(x - (v[K::OpeningWidth] / 2.0 - r), near - z) - r - pocket
}
