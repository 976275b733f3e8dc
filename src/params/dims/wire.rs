//! The wire loop: bore, web, loop, and how far it lets the link turn.

use super::Dims;
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::units::{Deg, Mm};
use serde::Serialize;
use std::f64::consts::PI;

/// Half-angle steps of a bisection: 60 halvings of a right angle are below the last bit of a degree.
const HALVINGS: usize = 60;

/// Derived dimensions of a wire loop, in the frame of the link.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WireDims {
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
    /// Distance of the loop's inner corner from the pavilion, (R_i(z_w) − d_w) sin β − (z_b0 + d_w − z_c) cos β.
    pub wire_to_stone: Mm,
    /// R_i(z_w) − d_w: half the room between the two loops in one link.
    pub loop_to_middle: Mm,
}

impl WireDims {
    /// No wire loop at all: every value is no number, which no limit takes.
    pub(crate) const NONE: Self = Self {
        web_depth: Mm(f64::NAN),
        web_middle: Mm(f64::NAN),
        web_x: Mm(f64::NAN),
        bore_floor: Mm(f64::NAN),
        bore_roof: Mm(f64::NAN),
        crown_over_bore: Mm(f64::NAN),
        beside_bore: Mm(f64::NAN),
        loop_height: Mm(f64::NAN),
        web_diagonal: Mm(f64::NAN),
        flat_width: Mm(f64::NAN),
        base_gap: Mm(f64::NAN),
        loop_span: Mm(f64::NAN),
        turn_web: Deg(f64::NAN),
        turn_roof: Deg(f64::NAN),
        turn_base: Deg(f64::NAN),
        wire_to_stone: Mm(f64::NAN),
        loop_to_middle: Mm(f64::NAN),
    };
    pub(super) fn of(v: &Numbers, d: &Dims) -> Self {
        let a = d.wall_horizontal.get();
        let outer = |z: f64| d.outer_radius(Mm(z)).get();
        let (dg, hw, hb) = (v[K::GrooveDepth], v[K::WebHeight], v[K::BoreHeight]);
        let (dw, tf, r) = (v[K::Wire], v[K::WireFlat], v[K::WebEdge]);
        let (zw, zb0) = (dg + hw / 2.0, dg + hw);
        let zb1 = zb0 + hb;
        let xw = outer(zw) - a / 2.0;
        let pitch = d.pitch.get();
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
        let (ra, rb) = (hb + r, a - r - d.taper_tan * (zb1 - zw));
        let turn_roof = (acos((dw + r) / (ra * ra + rb * rb).sqrt()) - libm::atan2(rb, ra)).to_degrees();
        let foot = d.foot_radius.get();
        let turn_base = first_root(PI / 2.0, |t| {
            let (s, c) = libm::sincos(t);
            zw * s + (foot - xw) * c - (pitch - foot - xw)
        });
        let loop_to_middle = outer(zw) - a - dw;
        Self {
            web_depth: Mm(a),
            web_middle: Mm(zw),
            web_x: Mm(xw),
            bore_floor: Mm(zb0),
            bore_roof: Mm(zb1),
            crown_over_bore: d.seat_bottom - Mm(zb1),
            beside_bore: Mm(v[K::OpeningStop] - v[K::BoreWidth] / 2.0),
            loop_height: Mm(loop_height),
            web_diagonal: Mm(diagonal),
            flat_width: Mm(PI * dw * dw / (4.0 * tf)),
            base_gap: Mm(pitch - 2.0 * outer(zw)),
            loop_span: Mm(pitch - 2.0 * outer(zw) + 2.0 * a),
            turn_web: Deg(turn_web),
            turn_roof: Deg(turn_roof),
            turn_base: Deg::from_radians(turn_base),
            wire_to_stone: d.below_pavilion(Mm(loop_to_middle), Mm(zb0 + dw)),
            loop_to_middle: Mm(loop_to_middle),
        }
    }

    /// Least of the three inward stops.
    pub(super) fn turn_inward(&self) -> Deg {
        Deg(self.turn_web.get().min(self.turn_roof.get()).min(self.turn_base.get()))
    }

    /// Outward stop of finished claw on finished claw. Pulled apart by the play of the loop and leaned back, the tops of the claws
    /// come nearer by (z − z_w) sin θ − (W/2 − x_w)(1 − cos θ); the web, a bar with dressed edges r, reaches farther towards the
    /// end of the wire by (h_web/2 − r) sin θ − (a/2 − r)(1 − cos θ), and the play is less by as much.
    pub(super) fn turn_outward(&self, v: &Numbers, d: &Dims) -> Deg {
        let r = v[K::WebEdge];
        let arm = (d.claw_top - self.web_middle).get() + v[K::WebHeight] / 2.0 - r;
        let stop = d.claw_gap(v) + v[K::EndPlay];
        let lever = (d.rim_radius - self.web_x).get() + self.web_depth.get() / 2.0 - r;
        Deg::from_radians(first_root(0.6, |t| arm * libm::sin(t) - stop - lever * (1.0 - libm::cos(t))))
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
