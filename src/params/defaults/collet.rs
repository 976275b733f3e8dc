//! Defaults of the collet's body: corners, height and foot together, foot block.

use super::opening::{foot_fill, lower_edge};
use super::{Chain, clean, down, near, up};
use crate::params::choice::{JointKind, Shape};
use crate::params::dims::{CLAW_LET_IN, Dims};
use crate::params::impossible::GRAZE;
use crate::params::table::Key as K;
use crate::trade::stones::PAVILION;
use crate::units::{Deg, Mm};
use std::f64::consts::SQRT_2;

/// Taper of the skin, in degrees: least, and largest that still looks straight.
const TAPER: (f64, f64) = (4.0, 8.0);
/// Metal a default leaves over the bore; the limit is 0.30, the opening needs the rest.
const CROWN: f64 = 0.70;
/// Least height of the opening and metal over it that a default plans with.
const OPENING: (f64, f64) = (0.60, 0.45);

/// Corners of the collet or of its foot block.
pub(super) fn corners(c: &mut Chain<'_>, w: f64, wall: f64) {
    let shape = Shape::of(&c.v);
    let radius = match shape {
        Shape::Square => 0.09 * w,
        Shape::Cushion => 0.12 * w,
        Shape::Round => 0.30f64.min(0.15 * w),
    };
    if shape.is_flat() || JointKind::of(&c.v) == JointKind::HingeTube {
        let r = c.set(K::CornerRadius, near(radius));
        if shape.is_flat() {
            c.set(K::InnerCornerRadius, near(r - wall).min(near(0.2 * w)).max(0.10));
        }
    }
}

/// Height and foot together: the lowest collet on which stone, joint and opening all fit.
pub(super) fn height(c: &mut Chain<'_>, rim: f64, claw: f64) {
    let d = c.v[K::Diameter];
    let bur = Deg(c.v[K::BurAngle] / 2.0).tan();
    let seat = rim - c.v[K::RimLand];
    let inside_claw = SQRT_2 * (rim - claw / 2.0) - claw / 2.0 + CLAW_LET_IN.get();
    let hinge = JointKind::of(&c.v) == JointKind::HingeTube;
    let block = hinge && !Shape::of(&c.v).is_flat();
    // What the claws must stand above: the axis of a wire loop, the pocket of a hinge tube.
    let (axis, claws_over) = if hinge {
        let z = c.v[K::TubeHeight];
        (z, z + c.v[K::TubeOuter] / 2.0 + c.v[K::PocketClearance])
    } else {
        let z = c.v[K::GrooveDepth] + c.v[K::WebHeight] / 2.0;
        (z, z)
    };
    // The tube must reach 0.17 into its wall.
    let least_foot = rim + (c.v[K::Gap] - c.v[K::TubeOuter]) / 2.0 + 0.17;
    let foot = |h: f64| {
        let wanted = (rim - inside_claw) / (h - claws_over - 0.05).max(0.1);
        let tan = wanted.clamp(Deg(TAPER.0).tan(), Deg(TAPER.1).tan());
        // The block, not the cone, meets its neighbour: the cone leans as far as it may.
        let tan = if block { Deg(TAPER.1).tan() } else { tan };
        if hinge && !block {
            let most = ((rim - least_foot) / (h - axis).max(0.1)).max(Deg(1.5).tan());
            return down(rim - tan.min(most) * h);
        }
        down(rim - tan * h)
    };
    let given_foot = c.given.get(K::FootHalfWidth);
    let fits = |h: f64| {
        let r = given_foot.unwrap_or_else(|| foot(h));
        let tan = (rim - r) / h;
        let a = c.v[K::Wall] * (1.0 + tan * tan).sqrt();
        let seat_bottom = h - (seat - rim + a) / (bur - tan);
        let culet = h + (d / 2.0 - seat) / bur - PAVILION * d;
        let stone = if hinge {
            hinge_fits(c, [r, tan, a], h, seat_bottom, culet)
        } else {
            wire_fits(c, [r, tan, a], seat_bottom, culet)
        };
        stone && culet >= 0.65 && super::clasp::stones_clear(c, [r, tan], culet)
    };
    let (least, most) = (K::Height.spec().least, K::Height.spec().most);
    // A height that is given is not looked for; under a hinge tube's pocket there is none.
    let start = c.given.get(K::Height).map_or(if hinge { near(claws_over + 0.40) } else { least }, |_| most);
    let mut h = start.clamp(least, most);
    while h < most && !fits(h) {
        h = clean(h + 0.05);
    }
    let h = c.set(K::Height, h);
    c.set(K::FootHalfWidth, foot(h));
    let d = Dims::of(&c.v);
    let reach = d.diagonal(d.inner_radius(d.rim), Mm(c.v[K::InnerCornerRadius]));
    if d.shape.is_flat() && (reach - d.seat_radius).get().abs() < GRAZE.get() {
        // The seat would just graze the inner corners; a little sharper they lie clear of it.
        let sharper = c.v[K::InnerCornerRadius] - 0.03;
        c.set(K::InnerCornerRadius, sharper);
    }
}

fn wire_fits(c: &Chain<'_>, [r, tan, a]: [f64; 3], seat_bottom: f64, culet: f64) -> bool {
    let (wire, floor) = (c.v[K::Wire], c.v[K::GrooveDepth] + c.v[K::WebHeight]);
    let middle = c.v[K::GrooveDepth] + c.v[K::WebHeight] / 2.0;
    let low = c.given.get(K::OpeningBottom).unwrap_or_else(|| lower_edge(c.v[K::Width]));
    let (sb, cb) = libm::sincos(libm::atan(2.0 * PAVILION));
    let clear = (r + tan * middle - a - wire) * sb - (floor + wire - culet) * cb;
    seat_bottom >= floor + c.v[K::BoreHeight] + CROWN
        && seat_bottom >= low + OPENING.0 + OPENING.1
        && clear >= 0.15
}

fn hinge_fits(c: &Chain<'_>, [r, tan, a]: [f64; 3], h: f64, seat_bottom: f64, culet: f64) -> bool {
    let Some((fill, low)) = foot_fill(c, |z| r + tan * z - a, |z| r + tan * z) else { return false };
    let (sb, cb) = libm::sincos(libm::atan(2.0 * PAVILION));
    let light = c.v[K::LightHole] / 2.0;
    let rim = c.v[K::Width] / 2.0;
    let bur = Deg(c.v[K::BurAngle] / 2.0).tan();
    let point = h - (rim - c.v[K::RimLand]) / bur;
    let pocket_top = c.v[K::TubeHeight] + c.v[K::TubeOuter] / 2.0 + c.v[K::PocketClearance];
    seat_bottom >= low + OPENING.0 + OPENING.1
        && light * sb - (fill - culet) * cb >= 0.12
        && light - (fill - point) * bur >= 0.03
        && h - pocket_top >= 0.40
}

/// Half width of the foot block: just over the collet at its top.
pub(super) fn block(c: &mut Chain<'_>) {
    let (rim, foot, h) = (c.v[K::Width] / 2.0, c.v[K::FootHalfWidth], c.v[K::Height]);
    let tan = (rim - foot) / h;
    let fill = foot_fill(c, |z| foot + tan * z - c.v[K::Wall] * (1.0 + tan * tan).sqrt(), |z| foot + tan * z);
    let (fill, _) = fill.unwrap_or_else(|| {
        let top = c.v[K::TubeHeight] + c.v[K::TubeOuter] / 2.0 + c.v[K::PocketClearance] + 0.20;
        (up(top), up(top + 0.10))
    });
    let fill = c.set(K::FootFill, fill);
    if !Shape::of(&c.v).is_flat() {
        c.set(K::BlockHalfWidth, up(foot + tan * fill + 0.05));
    }
}
