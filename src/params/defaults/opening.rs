//! Defaults of the openings and, with hinge tubes, of the filled foot under them.

use super::{Chain, NOISE, STEP, down, near, up};
use crate::params::choice::Shape;
use crate::params::dims::Dims;
use crate::params::table::Key as K;
use crate::trade::limits;
use crate::units::{Deg, Mm};

/// Step between the filled foot and the opening.
const STEP_UP: f64 = 0.10;
/// What a default leaves over the limit where metal is thinnest, for the rounding of other values.
const SPARE: f64 = 0.02;

/// Lower edge of the opening: a fifth of the width, 0.70 to 1.20.
pub(super) fn lower_edge(width: f64) -> f64 {
    near(0.2 * width).clamp(0.70, 1.20)
}

/// Height of the filled foot and of the opening over it: the lowest with enough metal round the pocket, for a collet of
/// inner and outer half widths `inner` and `outer` at a height.
pub(super) fn foot_fill(
    c: &Chain<'_>,
    inner: impl Fn(f64) -> f64,
    outer: impl Fn(f64) -> f64,
) -> Option<(f64, f64)> {
    let low_given = c.given.get(K::OpeningBottom);
    if let Some(f) = c.given.get(K::FootFill) {
        return Some((f, low_given.unwrap_or(f + STEP_UP)));
    }
    if let Some(low) = low_given {
        return Some((low - STEP_UP, low));
    }
    let pocket = c.v[K::TubeOuter] / 2.0 + c.v[K::PocketClearance];
    let (x, z) = ((c.v[K::Width] + c.v[K::Gap]) / 2.0, c.v[K::TubeHeight]);
    let block = !Shape::of(&c.v).is_flat();
    let given_block = c.given.get(K::BlockHalfWidth);
    let enough = |fill: f64| {
        let inside = libm::hypot(x - inner(fill), fill - z) - pocket;
        let across = x - given_block.unwrap_or_else(|| up(outer(fill) + 0.05));
        let top = z + (pocket * pocket - across * across).max(0.0).sqrt();
        inside >= c.v.own().finished(&limits::POCKET_TO_INSIDE) + SPARE
            && (!block || fill - top >= c.v.own().finished(&limits::UNDER_BLOCK_TOP))
    };
    let least = lower_edge(c.v[K::Width]) - STEP_UP;
    (0..80)
        .map(|i| near(least.max(z) + 0.05 * f64::from(i)))
        .find(|f| enough(*f))
        .map(|f| (f, near(f + STEP_UP)))
}

/// With a wire loop: over the lower rail, beside the bore.
pub(super) fn wire(c: &mut Chain<'_>, w: f64) {
    let low = c.set(K::OpeningBottom, lower_edge(w));
    let d = Dims::of(&c.v);
    let inside = d.inner_radius(Mm(low)).get();
    let half_bore = c.v[K::BoreWidth] / 2.0;
    let beside = near(0.11 * w).clamp(0.31, 0.45);
    let stop = c.set(K::OpeningStop, up((half_bore + beside).min((inside - 0.06).max(half_bore + 0.30))));
    frame(c, &d, low, stop, |_| true);
}

/// With a hinge tube: over the filled foot, clear of the pockets.
pub(super) fn hinge(c: &mut Chain<'_>, w: f64) {
    let low = c.set(K::OpeningBottom, c.v[K::FootFill] + STEP_UP);
    let d = Dims::of(&c.v);
    let inside = d.inner_radius(Mm(low)).get();
    let stop = c.set(K::OpeningStop, near(0.26 * w).min(down(inside - 0.06)));
    let mut v = c.v.clone();
    let clear = c.v.own().finished(&limits::POCKET_TO_OPENING);
    frame(c, &d, low, stop, move |size| {
        v[K::OpeningTop] = size.top;
        v[K::OpeningWidth] = size.width;
        v[K::OpeningBur] = size.bur;
        Dims::of(&v).hinge.is_none_or(|h| h.pocket_to_opening.get() >= clear)
    });
}

/// An opening tried.
struct Size {
    width: f64,
    top: f64,
    bur: f64,
}

/// Upper edge, width and bur: the widest opening that leaves end metal, an edge that does not cut, and what `clear` asks.
fn frame(c: &mut Chain<'_>, d: &Dims, low: f64, stop: f64, mut clear: impl FnMut(&Size) -> bool) {
    let top = c.set(K::OpeningTop, down(d.seat_bottom.get() - 0.45));
    let skin = d.outer_radius(Mm(low)).get().min(d.outer_radius(Mm(top)).get());
    let widest = if d.shape.is_flat() {
        // Short of the corner the edge is square.
        (2.0 * (skin - 0.40) - STEP).min(2.0 * (skin - c.v[K::CornerRadius] * 0.3))
    } else {
        let by_metal = 2.0 * ((skin * skin - stop * stop).max(0.0).sqrt() - 0.40) - STEP;
        by_metal.min(2.0 * skin * libm::cos(Deg(45.5).radians()))
    };
    let bur = |width: f64| {
        let bur = 0.8 * width.min(top - low);
        if bur >= 0.4 { (bur * 10.0 + NOISE).floor() / 10.0 } else { down(bur) }
    };
    let given = c.given.get(K::OpeningBur);
    let fits = (0..40)
        .map(|i| down(widest - 0.05 * f64::from(i)))
        .find(|w| *w > 0.3 && clear(&Size { width: *w, top, bur: given.unwrap_or_else(|| bur(*w)) }));
    let width = c.set(K::OpeningWidth, fits.unwrap_or(down(widest)));
    c.set(K::OpeningBur, bur(width));
}
