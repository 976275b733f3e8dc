//! Every derived dimension of the link and its joint, in closed form.
//!
//! Link frame: origin in the centre of the underside, x along the line, y across, z away from the skin; mm.
//! The formulas are elementary geometry of cones, circles and bars; each is stated beside its field.

use super::numbers::Numbers;
use super::table::{Key as K, Part};
use crate::trade::stones::{CLAW_BEAD, CROWN, GIRDLE, PAVILION};
use crate::units::{Deg, Mm};
use serde::Serialize;
use std::f64::consts::{PI, SQRT_2};

/// How deep the cone must have risen into a claw where the claw begins (proposal): less is a feather edge.
pub const CLAW_LET_IN: Mm = Mm(0.08);
/// Lowest height a claw begins at (proposal): below it the finger feels it.
pub const CLAW_LOWEST: Mm = Mm(0.30);
/// Half-angle steps of a bisection: 60 halvings of a right angle are below the last bit of a degree.
const HALVINGS: usize = 60;

/// Derived dimensions. Heights are z above the skin; radii are from the axis of the collet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dims {
    /// A square or cushion collet: radii are half widths.
    pub square: bool,
    /// tan α = (W/2 − R_b)/H of the outer skin, α its angle to the vertical.
    pub taper: Deg,
    /// tan α itself.
    pub taper_tan: f64,
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
    /// r_c = √2 (W/2 − d_c/2): distance of the claw axes from the axis of the collet.
    pub claw_axis: Mm,
    /// b_c = D/2 − (r_c − d_c/2): how deep the stone is let into each claw.
    pub bite: Mm,
    /// b_c/d_c.
    pub bite_share: f64,
    /// Top of the raw claw, z_t + over.
    pub claw_top_raw: Mm,
    /// Top of the finished claw bead, z_g + girdle + 0.70 crown.
    pub claw_top: Mm,
    /// z_c0: where the claw begins, the cone having risen 0.08 into it, at least 0.30.
    pub claw_foot: Mm,
    /// p = W + g.
    pub pitch: Mm,
    /// Radius of the corners of the opening, half of the bur.
    pub opening_corner: Mm,
    /// Least end metal beside the opening, √(R² − y_s²) − w_o/2 over the height of the opening; negative where
    /// the opening runs through.
    pub end_metal: Mm,
    /// The same at the upper edge, where it is largest.
    pub end_metal_top: Mm,
    /// acos(w_o/2R) at the lower edge: the sharpest edge between opening and skin.
    pub opening_edge: Deg,
    /// z_s − z2.
    pub over_opening: Mm,
    /// Depth of the web along the line, a = t_h.
    pub web_depth: Mm,
    /// z_w = d_g + h_web/2: middle of the web, the axis the link turns on.
    pub web_middle: Mm,
    /// x_w = R(z_w) − a/2.
    pub web_x: Mm,
    /// z_b0 = d_g + h_web: floor of the bore.
    pub bore_floor: Mm,
    /// z_b1 = z_b0 + h_b: roof of the bore.
    pub bore_roof: Mm,
    /// z_s − z_b1.
    pub crown_over_bore: Mm,
    /// y_s − w_b/2.
    pub beside_bore: Mm,
    /// h_in = d_g − t_f + h_web: height of the opening of the loop.
    pub loop_height: Mm,
    /// √((h_web − 2r)² + (a − 2r)²) + 2r: longest diagonal of the web with its dressed edges.
    pub web_diagonal: Mm,
    /// w_f = π d_w²/(4 t_f): width of the hammered leg, its section kept.
    pub flat_width: Mm,
    /// Gap between two feet at the height of the web, p − 2 R(z_w).
    pub base_gap: Mm,
    /// S = gap + 2a: inner span of the loop.
    pub loop_span: Mm,
    /// Inward turn at which the web binds in the loop; 90 when it turns freely.
    pub turn_web: Deg,
    /// Inward turn at which the wire meets the roof of the bore.
    pub turn_roof: Deg,
    /// Inward turn at which foot meets foot.
    pub turn_base: Deg,
    /// Least of the three.
    pub turn_inward: Deg,
    /// Outward turn at which finished claw meets claw.
    pub turn_outward: Deg,
    /// Distance of the loop's inner corner from the pavilion, (R_i(z_w) − d_w) sin β − (z_b0 + d_w − z_c) cos β.
    pub wire_to_stone: Mm,
    /// R_i(z_w) − d_w: half the room between the two loops in one link.
    pub loop_to_middle: Mm,
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
    /// z_p: height of the axis the link turns on, middle of the web or of the hinge tube.
    pub joint_height: Mm,
    /// Metal across the corner of a square collet, w_q = t_n i − (r_q − r_qi)(i − 1), i = 1/sin(φ/2), φ = 180° − acos(sin²α)
    /// the angle between two sides.
    pub corner_wall: Mm,
    /// Straight part of half a flat end at the foot: half width less the corner.
    pub flat_end: Mm,
    /// Radius of the pockets the neighbour's knuckles turn in.
    pub pocket_radius: Mm,
    /// Wall of the hinge tube.
    pub tube_wall: Mm,
    /// b_t = OD/2 − (p/2 − half width at the axis): how deep the tube is let into the end wall.
    pub tube_let_in: Mm,
    /// y_b = l (0.5 − k): where the outer knuckles begin.
    pub knuckle_boundary: Mm,
    /// Width of the middle knuckle.
    pub middle_knuckle: Mm,
    /// Width of an outer knuckle, k l.
    pub outer_knuckle: Mm,
    /// Diameter of the pin bead, the larger of 1.6 pin and bore + 0.20.
    pub pin_bead: Mm,
    /// Metal round the pin bead's cup, (OD − bead)/2.
    pub bead_rim: Mm,
    /// Outer knuckle left behind the cup, which is half a pin deep.
    pub behind_cup: Mm,
    /// Metal between pocket and light hole, p/2 − r_p − light/2.
    pub behind_pocket: Mm,
    /// Metal between pocket and opening, z1 − z_h − √(r_p² − (p/2 − w_o/2)²).
    pub over_pocket: Mm,
    /// Wall left behind a pocket that stands over the filled foot, p/2 − √(r_p² − (h_fill − z_h)²) − R_i(h_fill); infinite
    /// where the pocket ends below the fill.
    pub over_fill: Mm,
    /// Culet over the filled foot.
    pub culet_over_fill: Mm,
}

/// How far the claws of a square collet stand proud of the rim. A claw exactly flush with a straight edge touches it in one
/// point, which is no solid; 0.004 is far below what a bench can hold.
pub const CLAW_PROUD: Mm = Mm(0.004);

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
    /// Normal distance of a point (radius x, height z) below the pavilion cone; negative inside the stone.
    #[must_use]
    pub fn below_pavilion(&self, x: Mm, z: Mm) -> Mm {
        let (s, c) = libm::sincos(self.pavilion_angle.radians());
        Mm(x.get() * s - (z - self.culet).get() * c)
    }
    /// End metal beside the opening at height z, √(R(z)² − y_s²) − w_o/2 for a stop y_s and width w_o.
    #[must_use]
    pub fn end_metal_at(&self, z: Mm, stop: Mm, width: Mm) -> Mm {
        let r = self.outer_radius(z).get();
        let out = if self.square { r } else { (r * r - stop.get() * stop.get()).max(0.0).sqrt() };
        Mm(out - width.get() / 2.0)
    }

    /// Computes everything from a full set of numbers.
    pub(crate) fn of(v: &Numbers) -> Self {
        let (d, w, h) = (v[K::Diameter], v[K::Width], v[K::Height]);
        let rim = w / 2.0;
        let tan = (rim - v[K::FootHalfWidth]) / h;
        let cos = 1.0 / (1.0 + tan * tan).sqrt();
        let a = v[K::Wall] / cos;
        let outer = |z: f64| v[K::FootHalfWidth] + z * tan;
        let inner = |z: f64| outer(z) - a;

        let bur = Deg(v[K::BurAngle] / 2.0).tan();
        let seat = rim - v[K::RimLand];
        let above = (d / 2.0 - seat) / bur;
        let girdle = h + above;
        let culet = girdle - PAVILION * d;
        let beta = libm::atan(2.0 * PAVILION);
        let seat_bottom = h - (seat - inner(h)) / (bur - tan);
        let seat_clearance = (d / 2.0 - seat) * (1.0 / bur - 2.0 * PAVILION) * libm::cos(beta);
        let table = girdle + (GIRDLE + CROWN) * d;

        let dc = v[K::ClawDiameter];
        let (square, hinged) = (v.has(Part::Square), v.has(Part::Tube));
        let proud = if square { CLAW_PROUD.get() } else { 0.0 };
        let claw_axis = SQRT_2 * (rim - dc / 2.0 + proud);
        let bite = d / 2.0 - (claw_axis - dc / 2.0);
        let risen = claw_axis - dc / 2.0 + CLAW_LET_IN.get() - v[K::FootHalfWidth];
        let pitch = w + v[K::Gap];
        let middle = v[K::GrooveDepth] + v[K::WebHeight] / 2.0;
        let zp = if hinged { v[K::TubeHeight] } else { middle };
        let tube = v[K::TubeOuter] / 2.0;
        let pocket = tube + v[K::PocketClearance];
        // Let into the corner of a square, clear of the neighbour's knuckles on a hinge.
        let lowest = CLAW_LOWEST.get().max(if square { zp + 0.05 } else { 0.0 });
        let lowest = lowest.max(if hinged { zp + pocket } else { 0.0 });
        let claw_foot = if tan > 0.0 { (risen / tan).max(lowest) } else { f64::MAX };
        let claw_top = girdle + GIRDLE * d + CLAW_BEAD * CROWN * d;

        let (z1, z2, ys, wo) = (v[K::OpeningBottom], v[K::OpeningTop], v[K::OpeningStop], v[K::OpeningWidth]);
        let out = |z: f64| if square { outer(z) } else { (outer(z) * outer(z) - ys * ys).max(0.0).sqrt() };
        let end = |z: f64| out(z) - wo / 2.0;
        let edge =
            if square { PI / 2.0 } else { libm::acos((wo / 2.0 / outer(z1).max(1e-9)).clamp(-1.0, 1.0)) };

        let (dg, hw, hb) = (v[K::GrooveDepth], v[K::WebHeight], v[K::BoreHeight]);
        let (dw, tf, r) = (v[K::Wire], v[K::WireFlat], v[K::WebEdge]);
        let (zw, zb0) = (dg + hw / 2.0, dg + hw);
        let zb1 = zb0 + hb;
        let xw = outer(zw) - a / 2.0;
        let loop_height = dg - tf + hw;
        let (ah, aw) = (hw - 2.0 * r, a - 2.0 * r);
        let core = (ah * ah + aw * aw).sqrt();
        let diagonal = core + 2.0 * r;
        let acos = |x: f64| libm::acos(x.clamp(-1.0, 1.0));
        let turn_web = if diagonal <= loop_height {
            90.0
        } else {
            (libm::atan2(aw, ah) - acos((loop_height - 2.0 * r) / core)).to_degrees()
        };
        let (ra, rb) = (hb + r, a - r - tan * (zb1 - zw));
        let turn_roof = (acos((dw + r) / (ra * ra + rb * rb).sqrt()) - libm::atan2(rb, ra)).to_degrees();
        let foot = v[K::FootHalfWidth];
        let turn_base = first_root(PI / 2.0, |t| {
            let (s, c) = libm::sincos(t);
            zw * s + (foot - xw) * c - (pitch - foot - xw)
        });
        let turn_base = turn_base.to_degrees();
        let block = v.has(Part::Block);
        let end_wall = |z: f64| if block { v[K::BlockHalfWidth] } else { outer(z) };
        let arm = claw_top - zw;
        let stop = v[K::Gap] + v[K::EndPlay];
        let turn_outward = first_root(0.6, |t| arm * libm::sin(t) - stop - (rim - xw) * (1.0 - libm::cos(t)));
        let n = v[K::Count];
        let inner_length = n * (pitch - 2.0 * zp * libm::tan(PI / n));
        let round = inner_length / (2.0 * PI) + zp;
        let clasp = v[K::ClaspCount] * pitch;
        let turn_clasp = (clasp <= 2.0 * round && pitch <= 2.0 * round)
            .then(|| Deg::from_radians(libm::asin(clasp / 2.0 / round) + libm::asin(pitch / 2.0 / round)));
        let (sb, cb) = libm::sincos(beta);
        let (turn_inward, turn_outward) = if hinged {
            let inward = libm::atan((pitch / 2.0 - end_wall(0.0)) / zp);
            let outward = libm::atan((v[K::Gap] / 2.0 - proud) / (claw_top - zp));
            (2.0 * inward.to_degrees(), 2.0 * outward.to_degrees())
        } else {
            (turn_web.min(turn_roof).min(turn_base), turn_outward.to_degrees())
        };
        let lean = 1.0 / cos;
        let sin2 = tan * tan * cos * cos;
        let ridge = 1.0 / libm::sin(PI / 2.0 - libm::acos(sin2) / 2.0);
        let (rq, rqi) = (v[K::CornerRadius], v[K::InnerCornerRadius]);
        let (l, k) = (v[K::TubeLength], v[K::OuterShare]);
        let (pin, tube_bore) = (v[K::Pin], v[K::TubeBore]);
        let bead = (1.6 * pin).max(tube_bore + 0.20);
        let fill = v[K::FootFill];
        let half = |r: f64, x: f64| (r * r - x * x).max(0.0).sqrt();

        Self {
            square,
            joint_height: Mm(zp),
            corner_wall: Mm(v[K::Wall] * ridge - (rq - rqi) * (ridge - 1.0)),
            flat_end: Mm(end_wall(0.0) - rq * if block { 1.0 } else { lean }),
            pocket_radius: Mm(pocket),
            tube_wall: Mm((v[K::TubeOuter] - tube_bore) / 2.0),
            tube_let_in: Mm(tube - (pitch / 2.0 - end_wall(zp))),
            knuckle_boundary: Mm(l * (0.5 - k)),
            middle_knuckle: Mm(l * (1.0 - 2.0 * k) - 2.0 * v[K::SideGap]),
            outer_knuckle: Mm(l * k),
            pin_bead: Mm(bead),
            bead_rim: Mm((v[K::TubeOuter] - bead) / 2.0),
            behind_cup: Mm(l * k - pin / 2.0),
            behind_pocket: Mm(pitch / 2.0 - pocket - v[K::LightHole] / 2.0),
            over_pocket: Mm(z1 - zp - half(pocket, pitch / 2.0 - wo / 2.0)),
            over_fill: Mm(if zp + pocket > fill {
                pitch / 2.0 - half(pocket, fill - zp) - inner(fill)
            } else {
                f64::INFINITY
            }),
            culet_over_fill: Mm(culet - fill),
            taper: Deg::from_radians(libm::atan(tan)),
            taper_tan: tan,
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
            seat_clearance: Mm(seat_clearance),
            claw_axis: Mm(claw_axis),
            bite: Mm(bite),
            bite_share: bite / dc,
            claw_top_raw: Mm(table + v[K::ClawOver]),
            claw_top: Mm(claw_top),
            claw_foot: Mm(claw_foot),
            pitch: Mm(pitch),
            opening_corner: Mm(v[K::OpeningBur] / 2.0),
            end_metal: Mm(end(z1).min(end(z2))),
            end_metal_top: Mm(end(z1).max(end(z2))),
            opening_edge: Deg::from_radians(edge),
            over_opening: Mm(seat_bottom - z2),
            web_depth: Mm(a),
            web_middle: Mm(zw),
            web_x: Mm(xw),
            bore_floor: Mm(zb0),
            bore_roof: Mm(zb1),
            crown_over_bore: Mm(seat_bottom - zb1),
            beside_bore: Mm(ys - v[K::BoreWidth] / 2.0),
            loop_height: Mm(loop_height),
            web_diagonal: Mm(diagonal),
            flat_width: Mm(PI * dw * dw / (4.0 * tf)),
            base_gap: Mm(pitch - 2.0 * outer(zw)),
            loop_span: Mm(pitch - 2.0 * outer(zw) + 2.0 * a),
            turn_web: Deg(turn_web),
            turn_roof: Deg(turn_roof),
            turn_base: Deg(turn_base),
            turn_inward: Deg(turn_inward),
            turn_outward: Deg(turn_outward),
            wire_to_stone: Mm((inner(zw) - dw) * sb - (zb0 + dw - culet) * cb),
            loop_to_middle: Mm(inner(zw) - dw),
            line_length: Mm(n * pitch),
            inner_length: Mm(inner_length),
            ease: Mm(inner_length - v[K::Wrist]),
            turn_wrist: Deg(360.0 / n),
            turn_clasp,
            girdle_gap: Mm(pitch - d - v[K::StoneTolerance]),
            stone_inset: Mm(w - d - v[K::StoneTolerance]),
        }
    }
}

/// The place in 0..end where f, negative at 0, turns positive; `end` when it never does.
fn first_root(end: f64, f: impl Fn(f64) -> f64) -> f64 {
    if f(end) <= 0.0 {
        return end;
    }
    let (mut lo, mut hi) = (0.0, end);
    for _ in 0..HALVINGS {
        let mid = 0.5 * (lo + hi);
        if f(mid) > 0.0 { hi = mid } else { lo = mid }
    }
    0.5 * (lo + hi)
}
