//! Every derived dimension of the link and its joint, in closed form.
//!
//! Link frame: origin in the centre of the underside, x along the line, y across, z away from the skin; mm.
//! The formulas are elementary geometry of cones, circles and bars; each is stated beside its field.

mod chain;
mod clasp;
mod hinge;
mod latch;
mod side_catch;
mod spread;
mod wire;

use super::choice::{ClaspKind, JointKind, Shape};
use super::numbers::Numbers;
use super::table::Key as K;
use crate::trade::stones::{CLAW_BEAD, CROWN, GIRDLE, PAVILION};
use crate::units::{Deg, Mm};
use serde::Serialize;
use std::f64::consts::{PI, SQRT_2};

pub use chain::{ChainDims, EYE_RIM, EYE_THICK};
pub use clasp::{
    CATCH_BESIDE, CHEEK_FOOT, CHEEK_ROOM, ClaspDims, KNUCKLE_GAP, KNUCKLE_ROOM, LEAF_BESIDE, LEDGE, RAIL,
    RIDGE_FLAT, RIVETS, STAND_BACK, STRIP_CLEAR,
};
pub use hinge::HingeDims;
pub use latch::{CATCH_PLAY, LatchDims};
pub(crate) use latch::{LOCKED, Off, SPRING, catch, over, strip};
pub use side_catch::{BUMP_SLOPE, LEDGE_OVER, SideCatchDims};
pub use spread::Estimate;
pub use wire::WireDims;

/// How deep the cone must have risen into a claw where the claw begins (proposal): less is a feather edge.
pub const CLAW_LET_IN: Mm = Mm(0.08);
/// Lowest height a claw begins at (proposal): below it the finger feels it.
pub const CLAW_LOWEST: Mm = Mm(0.30);
/// How far over the joint's axis a claw in a square corner begins (proposal): lower it would stop the link from bending.
pub const CLAW_OVER_AXIS: Mm = Mm(0.05);
/// How far a claw of a square or cushion collet stands proud of the straight rim: flush it would touch the rim's edge in
/// one point, which is no solid; 0.004 cannot be held at the bench.
pub const CLAW_PROUD: Mm = Mm(0.004);

/// Derived dimensions. Heights are z above the skin; radii are from the axis of the collet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dims {
    /// Outline of the collet.
    pub shape: Shape,
    /// Joint between two links.
    pub joint: JointKind,
    /// Angle α of the outer skin to the vertical.
    pub taper: Deg,
    /// tan α = (W/2 − R_b)/H.
    pub taper_tan: f64,
    /// w_q: wall on the diagonal of a square or cushion collet, t_n i − (r_q − r_qi)(i − 1), i = 1/sin(φ/2), φ the angle
    /// between two walls, cos φ = −sin² α.
    pub corner_wall: Option<Mm>,
    /// Half width of the rim, W/2.
    pub rim_radius: Mm,
    /// Outer radius at the skin, R_b.
    pub foot_radius: Mm,
    /// Wall measured horizontally: t_h = t_n/cos α. It is also the depth a of the web along the line.
    pub wall_horizontal: Mm,
    /// Height of the rim, H.
    pub rim: Mm,
    /// e_g = (D/2 − W/2 + m)/tan(bur/2): girdle above the rim.
    pub girdle_above_rim: Mm,
    /// z_g = H + e_g: the girdle plane.
    pub girdle: Mm,
    /// z_c = z_g − 0.43 D: tip of the pavilion.
    pub culet: Mm,
    /// z_t = z_g + 0.17 D: the table.
    pub table: Mm,
    /// β = atan(2 · 0.43): pavilion angle to the girdle plane.
    pub pavilion_angle: Deg,
    /// r_s = W/2 − m: edge of the seat at the rim.
    pub seat_radius: Mm,
    /// z_s: exact height where the seat cone meets the inner cone, H − (r_s − R_i(H))/(tan(bur/2) − tan α).
    pub seat_bottom: Mm,
    /// Distance between the pavilion and the seat's edge at the rim; the stone bears in the claws only.
    pub seat_clearance: Mm,
    /// r_c = √2 (W/2 − d_c/2): distance of the claw axes from the axis of the collet; 0.004 √2 more where the rim is
    /// straight, so that a claw crosses its edge instead of touching it in a point.
    pub claw_axis: Mm,
    /// b_c = D/2 − (r_c − d_c/2): how deep the stone is let into each claw.
    pub bite: Mm,
    /// b_c/d_c.
    pub bite_share: f64,
    /// Top of the raw claw, z_t + over.
    pub claw_top_raw: Mm,
    /// Top of the finished claw bead, z_g + girdle + 0.70 crown.
    pub claw_top: Mm,
    /// z_c0: where the claw begins, a cone of the collet's half width having risen 0.08 into it; at least 0.30, in a square
    /// corner at least z_p + 0.05, and with hinge tubes above the pocket, so that it clears the neighbour's knuckle.
    pub claw_foot: Mm,
    /// p = W + g.
    pub pitch: Mm,
    /// Radius of the corners of the opening, half of the bur.
    pub opening_corner: Mm,
    /// Least end metal beside the opening over its height: round √(R² − y_s²) − w_o/2, else R − w_o/2; negative where the
    /// opening runs through.
    pub end_metal: Mm,
    /// The same at the upper edge, where it is largest.
    pub end_metal_top: Mm,
    /// The sharpest edge between opening and skin, at the lower edge: round acos(w_o/2R); on a flat wall 90, and where the
    /// opening reaches into a corner acos((w_o/2 − R + r_q)/r_q).
    pub opening_edge: Deg,
    /// z_s − z2.
    pub over_opening: Mm,
    /// z_p: height of the axis the link turns on.
    pub joint_height: Mm,
    /// Least of all stops of the inward turn.
    pub turn_inward: Deg,
    /// Outward turn at which finished claw meets claw.
    pub turn_outward: Deg,
    /// Bore, web and wire, where the joint is a wire loop.
    pub wire: Option<WireDims>,
    /// Tube, pockets and pin, where the joint is a hinge tube.
    pub hinge: Option<HingeDims>,
    /// The folding clasp; `None` where it is a bought one.
    pub clasp: Option<ClaspDims>,
    /// Its safety chain.
    pub chain: Option<ChainDims>,
    /// n p.
    pub line_length: Mm,
    /// n (p − 2 z_w tan(π/n)): length inside the closed bracelet.
    pub inner_length: Mm,
    /// inner length − wrist.
    pub ease: Mm,
    /// Turn of each joint round the wrist, 360/n.
    pub turn_wrist: Deg,
    /// Turn of the joint beside the stiff clasp, asin(C/2R) + asin(p/2R), R = L_in/2π + z_w; `None` when the
    /// clasp is longer than the bracelet is wide.
    pub turn_clasp: Option<Deg>,
    /// p − D − t_D: gap between the largest stones at rest.
    pub girdle_gap: Mm,
    /// W − D − t_D.
    pub stone_inset: Mm,
}

impl Dims {
    /// Outer radius R(z) = R_b + z tan α.
    #[must_use]
    pub fn outer_radius(&self, z: Mm) -> Mm {
        self.foot_radius + z * self.taper_tan
    }
    /// Inner radius R_i(z) = R(z) − t_h, below the seat.
    #[must_use]
    pub fn inner_radius(&self, z: Mm) -> Mm {
        self.outer_radius(z) - self.wall_horizontal
    }
    /// How far a rounded square of half width `half` and corner cylinders of radius r reaches on its diagonal, measured level:
    /// √2 (half − r/cos α) + r √(1 + 2 tan² α).
    #[must_use]
    pub fn diagonal(&self, half: Mm, r: Mm) -> Mm {
        let t = self.taper_tan;
        Mm(SQRT_2 * (half.get() - r.get() * (1.0 + t * t).sqrt()) + r.get() * (1.0 + 2.0 * t * t).sqrt())
    }
    /// Normal distance of a point (radius x, height z) below the pavilion cone; negative inside the stone.
    #[must_use]
    pub fn below_pavilion(&self, x: Mm, z: Mm) -> Mm {
        let (s, c) = libm::sincos(self.pavilion_angle.radians());
        Mm(x.get() * s - (z - self.culet).get() * c)
    }

    /// Gap between the claws of two neighbours: that of the settings, less twice what a claw stands proud of a straight rim.
    fn claw_gap(&self, v: &Numbers) -> f64 {
        v[K::Gap] - if self.shape.is_flat() { 2.0 * CLAW_PROUD.get() } else { 0.0 }
    }

    /// Computes everything from a full set of numbers.
    pub(crate) fn of(v: &Numbers) -> Self {
        let (shape, joint) = (Shape::of(v), JointKind::of(v));
        let (d, w, h) = (v[K::Diameter], v[K::Width], v[K::Height]);
        let rim = w / 2.0;
        let foot = v[K::FootHalfWidth];
        let tan = (rim - foot) / h;
        let cos = 1.0 / (1.0 + tan * tan).sqrt();
        let a = v[K::Wall] / cos;
        let outer = |z: f64| foot + z * tan;
        let (inner_rim, pitch) = (outer(h) - a, w + v[K::Gap]);

        let bur = Deg(v[K::BurAngle] / 2.0).tan();
        let seat = rim - v[K::RimLand];
        let above = (d / 2.0 - seat) / bur;
        let girdle = h + above;
        let culet = girdle - PAVILION * d;
        let beta = libm::atan(2.0 * PAVILION);
        let seat_bottom = h - (seat - inner_rim) / (bur - tan);
        let table = girdle + (GIRDLE + CROWN) * d;
        let claw_top = girdle + GIRDLE * d + CLAW_BEAD * CROWN * d;

        let (z1, z2) = (v[K::OpeningBottom], v[K::OpeningTop]);
        let beside = |z: f64| end_metal(shape, outer(z), v[K::OpeningStop], v[K::OpeningWidth]);
        let (low, high) = (beside(z1), beside(z2));

        let joint_height = match joint {
            JointKind::WireLoop => v[K::GrooveDepth] + v[K::WebHeight] / 2.0,
            JointKind::HingeTube => v[K::TubeHeight],
        };
        let dc = v[K::ClawDiameter];
        let proud = if shape.is_flat() { CLAW_PROUD.get() } else { 0.0 };
        let claw_axis = SQRT_2 * (rim - dc / 2.0 + proud);
        let bite = d / 2.0 - (claw_axis - dc / 2.0);
        let risen = claw_axis - dc / 2.0 + CLAW_LET_IN.get() - foot;
        let mut claw_foot = if tan > 0.0 { (risen / tan).max(CLAW_LOWEST.get()) } else { f64::MAX };
        if shape.is_flat() {
            claw_foot = claw_foot.max(joint_height + CLAW_OVER_AXIS.get());
        }
        if joint == JointKind::HingeTube {
            claw_foot = claw_foot.max(joint_height + v[K::TubeOuter] / 2.0 + v[K::PocketClearance]);
        }

        let n = v[K::Count];
        let inner_length = n * (pitch - 2.0 * joint_height * libm::tan(PI / n));
        let round = inner_length / (2.0 * PI) + joint_height;
        let clasp = v[K::ClaspCount] * pitch;
        let turn_clasp = (clasp <= 2.0 * round && pitch <= 2.0 * round)
            .then(|| Deg::from_radians(libm::asin(clasp / 2.0 / round) + libm::asin(pitch / 2.0 / round)));

        let mut out = Self {
            shape,
            joint,
            taper: Deg::from_radians(libm::atan(tan)),
            taper_tan: tan,
            corner_wall: shape.is_flat().then(|| corner_wall(v, tan)),
            rim_radius: Mm(rim),
            foot_radius: Mm(foot),
            wall_horizontal: Mm(a),
            rim: Mm(h),
            girdle_above_rim: Mm(above),
            girdle: Mm(girdle),
            culet: Mm(culet),
            table: Mm(table),
            pavilion_angle: Deg::from_radians(beta),
            seat_radius: Mm(seat),
            seat_bottom: Mm(seat_bottom),
            seat_clearance: Mm((d / 2.0 - seat) * (1.0 / bur - 2.0 * PAVILION) * libm::cos(beta)),
            claw_axis: Mm(claw_axis),
            bite: Mm(bite),
            bite_share: bite / dc,
            claw_top_raw: Mm(table + v[K::ClawOver]),
            claw_top: Mm(claw_top),
            claw_foot: Mm(claw_foot),
            pitch: Mm(pitch),
            opening_corner: Mm(v[K::OpeningBur] / 2.0),
            end_metal: Mm(low.min(high)),
            end_metal_top: Mm(low.max(high)),
            opening_edge: opening_edge(shape, outer(z1), v),
            over_opening: Mm(seat_bottom - z2),
            joint_height: Mm(joint_height),
            turn_inward: Deg(0.0),
            turn_outward: Deg(0.0),
            wire: None,
            hinge: None,
            clasp: None,
            chain: None,
            line_length: Mm(n * pitch),
            inner_length: Mm(inner_length),
            ease: Mm(inner_length - v[K::Wrist]),
            turn_wrist: Deg(360.0 / n),
            turn_clasp,
            girdle_gap: Mm(pitch - d - v[K::StoneTolerance]),
            stone_inset: Mm(w - d - v[K::StoneTolerance]),
        };
        match joint {
            JointKind::WireLoop => {
                let wire = WireDims::of(v, &out);
                out.turn_inward = wire.turn_inward();
                out.turn_outward = wire.turn_outward(v, &out);
                out.wire = Some(wire);
            }
            JointKind::HingeTube => {
                let hinge = HingeDims::of(v, &out);
                out.turn_inward = hinge.turn_inward;
                out.turn_outward = hinge.turn_outward;
                out.hinge = Some(hinge);
            }
        }
        out.clasp = (ClaspKind::of(v) == ClaspKind::Folding).then(|| ClaspDims::of(v, &out));
        out.chain = out.clasp.as_ref().map(|c| ChainDims::of(v, &out, c));
        out
    }
}

fn end_metal(shape: Shape, r: f64, stop: f64, width: f64) -> f64 {
    let skin = if shape.is_flat() { r } else { (r * r - stop * stop).max(0.0).sqrt() };
    skin - width / 2.0
}

fn opening_edge(shape: Shape, r: f64, v: &Numbers) -> Deg {
    let half = v[K::OpeningWidth] / 2.0;
    let share = if shape.is_flat() {
        let corner = v[K::CornerRadius];
        (half - r + corner).max(0.0) / corner.max(1e-9)
    } else {
        half / r.max(1e-9)
    };
    Deg::from_radians(libm::acos(share.clamp(-1.0, 1.0)))
}

fn corner_wall(v: &Numbers, tan: f64) -> Mm {
    let sin2 = tan * tan / (1.0 + tan * tan);
    // sin(φ/2) with cos φ = −sin² α.
    let i = 1.0 / ((1.0 + sin2) / 2.0).sqrt();
    Mm(v[K::Wall] * i - (v[K::CornerRadius] - v[K::InnerCornerRadius]) * (i - 1.0))
}
