//! What a wire loop must allow: web, bore and groove.

use super::{Condition, L, NOISE, S, trial};
use crate::params::dims::{Dims, WireDims};
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::units::Mm;

/// The wire's dimensions. These conditions are judged only of a link with wire loops; of another all lengths are no
/// number, and no condition on them holds.
fn w(d: &Dims) -> WireDims {
    d.wire.clone().unwrap_or(WireDims::NONE)
}

/// How far a channel of this width stays inside the cavity, as a margin.
fn channel(v: &Numbers, d: &Dims, z: Mm, width: f64) -> f64 {
    let (r, half) = (d.inner_radius(z).get(), width / 2.0);
    // The two channels meet the cavity at this distance; twice SLIVER keeps them apart and the cavity whole.
    if r <= 0.0 || half >= r {
        half.min(-NOISE).min(r - half) - NOISE
    } else if d.shape.is_flat() {
        // The channel must leave some of the long side's inner face beside it.
        (r - half - 2.0 * S).min(r - v[K::InnerCornerRadius])
    } else {
        (r * r - half * half).sqrt() - 2.0 * S
    }
}

/// How much metal of the web's depth is left where its bar meets the wall, as a margin.
fn bar_in_wall(v: &Numbers, d: &Dims) -> f64 {
    // The bar is straight, the wall leans and, where it is round or has a corner, recedes at the bar's ends.
    let y = v[K::BoreWidth] / 2.0 + L;
    let r = d.outer_radius(Mm(v[K::GrooveDepth])).get();
    let skin = if d.shape.is_flat() {
        let corner = v[K::CornerRadius];
        let beyond = (y - (r - corner)).max(0.0);
        r - corner + (corner * corner - beyond * beyond).max(0.0).sqrt()
    } else {
        (r * r - y * y).max(0.0).sqrt()
    };
    skin - (w(d).web_x.get() + S)
}

/// Conditions of links with wire loops.
pub(super) const CONDITIONS: &[Condition] = &[
    Condition {
        code: "flat_thicker_than_wire",
        stage: 0,
        keys: &[K::WireFlat, K::Wire],
        margin: |v, _| v[K::Wire] - v[K::WireFlat],
        say: |v, _| {
            format!("the hammered leg {:.2} mm is thicker than its wire {:.2} mm", v[K::WireFlat], v[K::Wire])
        },
        why: "hammering only makes it thinner",
    },
    Condition {
        code: "web_edge",
        stage: 0,
        keys: &[K::WebEdge, K::WebHeight, K::Wall],
        margin: |v, d| v[K::WebHeight].min(w(d).web_depth.get()) - 2.0 * v[K::WebEdge] - L,
        say: |v, d| {
            format!(
                "the web edge radius {:.2} mm is more than half of the web ({:.2} high, {:.2} mm deep)",
                v[K::WebEdge],
                v[K::WebHeight],
                w(d).web_depth.get()
            )
        },
        why: "two rounded edges must leave 0.02 of straight side between them",
    },
    Condition {
        code: "bore_not_as_high_as_wide",
        stage: 0,
        keys: &[K::BoreHeight, K::BoreWidth],
        margin: |v, _| {
            let up = v[K::BoreHeight] - v[K::BoreWidth];
            if up.abs() <= NOISE { 0.0 } else { up - L }
        },
        say: |v, _| format!("the bore is {:.2} mm high and {:.2} mm wide", v[K::BoreHeight], v[K::BoreWidth]),
        why: "a bore is round (height = width) or drawn up by at least 0.02",
    },
    Condition {
        code: "bore_roof_above_seat",
        stage: 1,
        keys: &[K::BoreHeight, K::Height, K::WebHeight, K::GrooveDepth],
        margin: |_, d| w(d).crown_over_bore.get() - S,
        say: |_, d| {
            format!(
                "the bore reaches {:.2} mm up, the seat begins at {:.2} mm",
                w(d).bore_roof.get(),
                d.seat_bottom.get()
            )
        },
        why: "the bore may not break into the seat",
    },
    Condition {
        code: "bore_wider_than_collet",
        stage: 1,
        keys: &[K::BoreWidth, K::Width, K::Wall, K::FootHalfWidth],
        margin: |v, d| channel(v, d, w(d).bore_floor, v[K::BoreWidth]).min(bar_in_wall(v, d)),
        say: |v, d| {
            format!(
                "a bore {:.2} mm wide does not fit a collet of {:.2} mm inside at that height",
                v[K::BoreWidth],
                2.0 * d.inner_radius(w(d).bore_floor).get()
            )
        },
        why: "the bore must end in the cavity and the web must stand in the wall",
    },
    Condition {
        code: "groove_wider_than_foot",
        stage: 1,
        keys: &[K::GrooveWidth, K::FootHalfWidth, K::Wall],
        margin: |v, d| channel(v, d, Mm(0.0), v[K::GrooveWidth]),
        say: |v, d| {
            format!(
                "a groove {:.2} mm wide does not fit a foot of {:.2} mm inside",
                v[K::GrooveWidth],
                2.0 * d.inner_radius(Mm(0.0)).get()
            )
        },
        why: "the groove must end in the cavity and leave the long sides standing",
    },
    Condition {
        code: "opening_meets_bore",
        stage: 1,
        keys: &[K::OpeningStop, K::BoreWidth, K::GrooveWidth],
        margin: |v, d| {
            let groove = v[K::OpeningStop] - v[K::GrooveWidth] / 2.0;
            let under = v[K::OpeningBottom] - v[K::GrooveDepth];
            w(d).beside_bore.get().min(groove.max(under)) - S
        },
        say: |v, _| {
            format!(
                "the opening is cut to {:.2} mm from the middle, the bore is {:.2} mm wide",
                v[K::OpeningStop],
                v[K::BoreWidth]
            )
        },
        why: "metal must be left between the opening and the bore or groove",
    },
    Condition {
        code: "trial_web",
        stage: 2,
        keys: &[K::TrialGap, K::TrialBoreOffset, K::WebHeight],
        margin: |v, _| trial(v)[K::WebHeight] - 3.0 * S,
        say: |v, _| {
            format!("gap and offset of the trial print leave a web of {:.2} mm", trial(v)[K::WebHeight])
        },
        why: "less than 0.15 does not print",
    },
    Condition {
        code: "trial_bore",
        stage: 2,
        keys: &[K::TrialGap, K::TrialBoreOffset, K::OpeningStop, K::Height, K::WebHeight, K::WebEdge],
        margin: |v, _| {
            let t = trial(v);
            let d = Dims::of(&t);
            let floor = channel(&t, &d, w(&d).bore_floor, t[K::BoreWidth]);
            let groove = channel(&t, &d, Mm(0.0), t[K::GrooveWidth]);
            let beside = t[K::OpeningStop] - t[K::GrooveWidth] / 2.0;
            let under = t[K::OpeningBottom] - t[K::GrooveDepth];
            let j = w(&d);
            let cut = (j.crown_over_bore.get() - S).min(j.beside_bore.get() - S).min(beside.max(under) - S);
            let edges = t[K::WebHeight].min(j.web_depth.get()) - 2.0 * t[K::WebEdge] - L;
            cut.min(floor).min(groove).min(bar_in_wall(&t, &d)).min(edges)
        },
        say: |v, _| {
            let t = trial(v);
            format!(
                "on the trial link the bore grows to {:.2} x {:.2} mm and breaks into the seat, the opening or the sides",
                t[K::BoreWidth],
                t[K::BoreHeight]
            )
        },
        why: "the trial link must be whole as well",
    },
];
