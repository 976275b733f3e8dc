//! The folding clasp: where its layers, hinges, lugs, tongue and side catches are.
//!
//! Clasp frame: x = 0 where the cell of its first stone begins, x = C where that of the last ends; y across, z = 0 the underside of
//! the line. Base plate, leaf and frame lie over each other, with a gap between. The back hinge (plate and leaf) is at the left,
//! the front hinge (leaf and frame) at the right.

use super::Dims;
use super::latch::LatchDims;
use super::side_catch::SideCatchDims;
use crate::params::choice::JointKind;
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::units::Mm;
use serde::Serialize;
use std::f64::consts::PI;

/// Play of a knuckle in the room cut for it, mm.
pub const KNUCKLE_ROOM: Mm = Mm(0.06);
/// Gap between two knuckles of a row, mm.
pub const KNUCKLE_GAP: Mm = Mm(0.04);
/// Height of the rails, mm.
pub const RAIL: Mm = Mm(0.55);
/// Gap between the leaf and each rail, mm.
pub const LEAF_BESIDE: Mm = Mm(0.10);
/// Metal behind the pocket in a lug for a hinge tube, mm.
const BEHIND_POCKET: f64 = 0.30;
/// Distance of the back hinge's tube from its lug, and of the front one's, mm.
const FROM_LUG: (f64, f64) = (0.10, 0.08);
/// How far the culet's side of a lug for a wire loop stands back from the collet's skin, mm.
const LUG_BACK: f64 = 0.02;
/// How far rails and cheeks stand back from the setting's width, so that claws do not just touch their sides, mm.
pub const STAND_BACK: Mm = Mm(0.02);
/// From the plate's side to the nearest side of a side catch's wire, mm.
pub const CATCH_BESIDE: Mm = Mm(0.05);
/// Half length of the room cut for a cheek and the end of its strip, mm.
pub const CHEEK_ROOM: Mm = Mm(1.0);
/// Underside of a cheek over the underside of the line, mm: it reaches under the snap ridge, which is to hold it.
pub const CHEEK_FOOT: Mm = Mm(0.02);
/// From a strip to its cheek, mm.
pub const STRIP_CLEAR: Mm = Mm(0.05);
/// Flat on the tip of the snap ridge, mm.
pub const RIDGE_FLAT: Mm = Mm(0.04);
/// Half length of a ledge, and the distance between it and the root of a strip, mm.
pub const LEDGE: (f64, f64) = (0.90, 0.20);
/// What the hallmark keeps clear of the feet of the strips, and of the slot for the front hinge, mm.
const MARK_CLEAR: (f64, f64) = (0.05, 0.36);
/// Bead of a pin: its diameter over the pin's, its least excess over the bore, depth of its cup as a share of the pin (common
/// practice, no published source).
const BEAD: (f64, f64, f64) = (1.6, 0.20, 0.5);

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
    /// z_U + 0.55: top of the rails.
    pub rail_top: Mm,
    /// z_c − z_U: culet over the underside of the frame.
    pub culet_over_frame: Mm,
    /// x of the outer face of the left lug; the right one lies as far from x = C.
    pub lug_outer: Mm,
    /// x_lug: its inner face. Wire loop p/2 − R(z_w) + t_lug + 0.02, hinge tube r_p + 0.30.
    pub lug_inner: Mm,
    /// z_lt: top of the right lug.
    pub lug_top: Mm,
    /// y_l: half width of the lugs.
    pub lug_half_width: Mm,
    /// rc = OD/2.
    pub tube_radius: Mm,
    /// x_K = x_lug + 0.10 + OD/2: axis of the back hinge.
    pub back_x: Mm,
    /// x_F = C − x_lug − 0.08 − OD/2: axis of the front hinge.
    pub front_x: Mm,
    /// y_b = l (0.5 − k_f): where the outer knuckles begin.
    pub boundary: Mm,
    /// L_m = √((x_F − x_K)² + (z_F − z_K)²): leaf between its hinges.
    pub leaf_length: Mm,
    /// W − 2 t_r − 0.20.
    pub leaf_width: Mm,
    /// Inner length + 2 L_m: what the hand has to pass through.
    pub open_length: Mm,
    /// That less the hand.
    pub hand_to_spare: Mm,
    /// R − √(R² − C²/4), R the radius of the inside: how far the middle of the clasp stands off the wrist.
    pub stand_off: Mm,
    /// z_p − z_F: how far the front hinge lies under the pull of the line.
    pub front_under_pull: Mm,
    /// z_K − z_p: how far the back hinge lies over it.
    pub back_over_pull: Mm,
    /// e = z_K − z_F: over-centre.
    pub over_centre: Mm,
    /// (OD − bore)/2.
    pub tube_wall: Mm,
    /// bore − pin.
    pub pin_play: Mm,
    /// D_b = max(1.6 pin, bore + 0.20).
    pub pin_bead: Mm,
    /// (OD − D_b)/2.
    pub recess_rim: Mm,
    /// pin/2.
    pub recess_depth: Mm,
    /// pin/4: what is left over the knuckle for the rivet.
    pub rivet_length: Mm,
    /// k_f l − recess depth.
    pub behind_recess: Mm,
    /// Pavilion over the tube of the back hinge, c(p/2 − x_K, z_K) − OD/2.
    pub stone_over_back: Mm,
    /// Pavilion over the tube of the front hinge.
    pub stone_over_front: Mm,
    /// Half width between the rails less half the row: room beside each row.
    pub beside_row: Mm,
    /// C/2: middle of ledges and side catches.
    pub middle: Mm,
    /// x of the root of each strip, where its foot begins.
    pub strip_root: Mm,
    /// x of the ridge near the free end of each strip.
    pub ridge: Mm,
    /// Half distance between the outer faces of the two strips, W/2 − 0.02 − cheek − 0.05.
    pub strip_outer: Mm,
    /// From the back hinge's room to the room of the cheeks.
    pub cheek_to_hinge: Mm,
    /// Width of plate left between the two slots beside the strips.
    pub plate_between: Mm,
    /// Width of plate left between the feet of the strips.
    pub feet_apart: Mm,
    /// t_P less the height of the snap ridge: 0.04 or more is needed to file it.
    pub ridge_spare: Mm,
    /// Height of the snap ridge over the strip, d_t + 0.05.
    pub ridge_height: Mm,
    /// x at which the hallmark field may begin.
    pub mark_from: Mm,
    /// Its longest length.
    pub mark_room: Mm,
    /// Its largest height, across the plate.
    pub mark_across: Mm,
    /// (tube − wire − 0.05)/2.
    pub catch_tube_wall: Mm,
    /// y of the side catches' axis, W/2 + d_u/2 + 0.05.
    pub catch_y: Mm,
    /// Its height, over the rails.
    pub catch_z: Mm,
    /// Euler load of the unsupported leaf, π² E I / L_m², N.
    pub leaf_buckling: f64,
    /// Where the wire of the side catches runs.
    pub side_catch: SideCatchDims,
    /// Forces and stresses of tongue and side catches.
    pub latch: LatchDims,
}

/// Where the rivets of a strip stand from its root, mm.
pub const RIVETS: [f64; 2] = [0.65, 1.45];

impl ClaspDims {
    /// Where the four rivets of the strips stand, x and y, for feet of this width, mm: two at the front, two at the back.
    #[must_use]
    pub fn rivets(&self, foot_width: f64) -> [[f64; 2]; 4] {
        let y = self.strip_outer.get() - foot_width / 2.0;
        let [a, b] = RIVETS.map(|x| self.strip_root.get() + x);
        [[a, y], [b, y], [a, -y], [b, -y]]
    }
    pub(crate) fn of(v: &Numbers, d: &Dims) -> Self {
        let (p, w2) = (d.pitch.get(), v[K::Width] / 2.0);
        let c = p * v[K::ClaspCount];
        let leaf_bottom = v[K::PlateThickness] + v[K::ClaspGap];
        let leaf_top = leaf_bottom + v[K::LeafThickness];
        let frame_bottom = leaf_top + v[K::ClaspGap];
        let (lug_outer, lug_inner, lug_top, lug_half) = lugs(v, d);
        let radius = v[K::ClaspTubeOuter] / 2.0;
        let back = lug_inner + FROM_LUG.0 + radius;
        let front = c - lug_inner - FROM_LUG.1 - radius;
        let (zf, zk) = (v[K::ClaspFront], v[K::ClaspBack]);
        let leaf = libm::hypot(front - back, zf - zk);
        let row = v[K::ClaspTubeRow];
        let inside = d.inner_length.get() / (2.0 * PI);
        let stone = |x: f64, z: f64| d.below_pavilion(Mm((p / 2.0 - x).abs()), Mm(z)).get() - radius;
        let bore = v[K::ClaspTubeBore];
        let bead = (BEAD.0 * v[K::ClaspPin]).max(bore + BEAD.1);
        let middle = c / 2.0;
        let root = middle - LEDGE.0 - LEDGE.1;
        let ridge = root - v[K::TongueLength];
        let strip = w2 - STAND_BACK.get() - v[K::Cheek] - STRIP_CLEAR.get();
        let mark_from = root + v[K::FootLength] + MARK_CLEAR.0;
        let leaf_width = v[K::Width] - 2.0 * (v[K::RailWidth] + LEAF_BESIDE.get());
        let proud = v[K::TongueSnap] + STRIP_CLEAR.get();
        let slopes =
            1.0 / libm::tan(v[K::LeadAngle].to_radians()) + 1.0 / libm::tan(v[K::HoldAngle].to_radians());
        let metal = v.mechanics();
        let catch = [w2 + v[K::CatchWire] / 2.0 + CATCH_BESIDE.get(), frame_bottom + RAIL.get() + 0.05];
        let latch = LatchDims::of(v, catch[1], leaf);
        let inertia = leaf_width * v[K::LeafThickness] * v[K::LeafThickness] * v[K::LeafThickness] / 12.0;
        Self {
            length: Mm(c),
            leaf_bottom: Mm(leaf_bottom),
            leaf_top: Mm(leaf_top),
            frame_bottom: Mm(frame_bottom),
            rail_top: Mm(frame_bottom) + RAIL,
            culet_over_frame: d.culet - Mm(frame_bottom),
            lug_outer: Mm(lug_outer),
            lug_inner: Mm(lug_inner),
            lug_top: Mm(lug_top),
            lug_half_width: Mm(lug_half),
            tube_radius: Mm(radius),
            back_x: Mm(back),
            front_x: Mm(front),
            boundary: Mm(row * (0.5 - v[K::ClaspOuterShare])),
            leaf_length: Mm(leaf),
            leaf_width: Mm(leaf_width),
            open_length: d.inner_length + Mm(2.0 * leaf),
            hand_to_spare: d.inner_length + Mm(2.0 * leaf - v[K::Hand]),
            stand_off: Mm(inside - (inside * inside - c * c / 4.0).max(0.0).sqrt()),
            front_under_pull: d.joint_height - Mm(zf),
            back_over_pull: Mm(zk) - d.joint_height,
            over_centre: Mm(zk - zf),
            tube_wall: Mm((v[K::ClaspTubeOuter] - bore) / 2.0),
            pin_play: Mm(bore - v[K::ClaspPin]),
            pin_bead: Mm(bead),
            recess_rim: Mm(radius - bead / 2.0),
            recess_depth: Mm(BEAD.2 * v[K::ClaspPin]),
            rivet_length: Mm(v[K::ClaspPin] / 4.0),
            behind_recess: Mm(row * v[K::ClaspOuterShare] - BEAD.2 * v[K::ClaspPin]),
            stone_over_back: Mm(stone(back, zk)),
            stone_over_front: Mm(stone(c - front, zf)),
            beside_row: Mm(w2 - v[K::RailWidth] - row / 2.0),
            middle: Mm(middle),
            strip_root: Mm(root),
            ridge: Mm(ridge),
            strip_outer: Mm(strip),
            cheek_to_hinge: Mm(ridge - CHEEK_ROOM.get() - back - radius - KNUCKLE_ROOM.get()),
            plate_between: Mm(2.0 * (strip - v[K::TongueThickness] - v[K::TongueSlot])),
            feet_apart: Mm(2.0 * (strip - v[K::FootWidth])),
            ridge_spare: Mm(v[K::PlateThickness] - proud * slopes - RIDGE_FLAT.get()),
            ridge_height: Mm(proud),
            mark_from: Mm(mark_from),
            mark_room: Mm(front - radius - MARK_CLEAR.1 - mark_from),
            mark_across: Mm(v[K::Width] - 1.0),
            catch_tube_wall: Mm((v[K::CatchTube] - v[K::CatchWire] - 0.05) / 2.0),
            catch_y: Mm(catch[0]),
            catch_z: Mm(catch[1]),
            leaf_buckling: PI * PI * metal.modulus * inertia / (leaf * leaf),
            side_catch: SideCatchDims::of(v, d, catch[1], middle, latch.catch_bump.get()),
            latch,
        }
    }
}

/// Outer and inner face of the left lug, top of the right one, half width of both.
fn lugs(v: &Numbers, d: &Dims) -> (f64, f64, f64, f64) {
    match d.joint {
        JointKind::WireLoop => {
            let outer = d.pitch.get() / 2.0 - d.outer_radius(d.joint_height).get();
            let over = v[K::GrooveDepth] + v[K::WebHeight] + v[K::Wire] + 0.30;
            (outer, outer + v[K::ClaspLug] + LUG_BACK, over, v[K::BoreWidth] / 2.0 + 0.40)
        }
        JointKind::HingeTube => {
            let pocket = v[K::TubeOuter] / 2.0 + v[K::PocketClearance];
            let top = v[K::TubeHeight] + v[K::TubeOuter] / 2.0 + 0.05;
            (pocket.min(0.40), pocket + BEHIND_POCKET, top, v[K::TubeLength] / 2.0)
        }
    }
}
