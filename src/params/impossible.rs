//! Combinations no link can be built from: refused with the parameter names, before any kernel runs.
//!
//! Each condition is a margin that must not be negative. They are grouped: when the outline itself is
//! impossible, what is cut into it is not judged.

use super::dims::Dims;
use super::numbers::Numbers;
use super::table::{Key as K, Part};
use crate::units::Mm;

/// Least metal or step a link may have to be a solid at all, in mm. No process keeps less, and it is ten times
/// the default chord error, so that no feature hides in the mesh. Far below every wall limit: the rules judge
/// what is thicker.
pub const SLIVER: Mm = Mm(0.05);
/// Least straight side left between two rounded corners, and least overlap of stone and seat, in mm: four times
/// the default chord error.
pub const LEDGE: Mm = Mm(0.02);
/// Noise of decimal fractions in doubles; 0.60 − 0.55 is 0.05.
const NOISE: f64 = 1e-9;

/// One condition.
pub(crate) struct Condition {
    /// Part of the problem code after `impossible.`.
    pub(crate) code: &'static str,
    /// Conditions of a later stage are judged only when all earlier ones hold.
    pub(crate) stage: u8,
    /// The links it speaks of.
    pub(crate) part: Part,
    /// Parameters that take part, the first one the usual to move.
    pub(crate) keys: &'static [K],
    /// Not negative when the link can be built.
    pub(crate) margin: fn(&Numbers, &Dims) -> f64,
    /// What is wrong, with numbers.
    pub(crate) say: fn(&Numbers, &Dims) -> String,
    /// Why it cannot be.
    pub(crate) why: &'static str,
}

/// The trial link: the finished link with bores and grooves opened by the printer's gap and offset.
pub(crate) fn trial(v: &Numbers) -> Numbers {
    let mut t = v.clone();
    let gap = v[K::TrialGap];
    let bore = gap + v[K::TrialBoreOffset];
    t[K::GrooveDepth] += gap;
    t[K::GrooveWidth] += 2.0 * gap;
    t[K::BoreWidth] += 2.0 * bore;
    t[K::BoreHeight] += 2.0 * bore;
    t[K::WebHeight] -= gap + bore;
    t[K::TubeBore] += 2.0 * bore;
    t[K::PocketClearance] += gap;
    t[K::SideGap] += gap;
    // The web is thinner, so its edges may not be rounder than before in proportion.
    let depth = Dims::of(v).web_depth.get();
    let before = v[K::WebHeight].min(depth);
    let after = t[K::WebHeight].min(depth);
    if before > 0.0 && after < before {
        t[K::WebEdge] *= (after / before).max(0.0);
    }
    t
}

/// Smallest half width of the cavity a channel of this width must stay inside of, as a margin.
fn channel(v: &Numbers, radius: Mm, width: f64) -> f64 {
    let (r, half) = (radius.get(), width / 2.0);
    if v.has(Part::Square) {
        // The inside is straight between its corners, which lean with the wall: 1.1 covers 20 degrees.
        return r - 1.1 * v[K::InnerCornerRadius] - half - SLIVER.get();
    }
    // The two channels meet the cavity at √(R_i² − (width/2)²); twice SLIVER keeps them apart and the cavity whole.
    if r <= 0.0 || half >= r {
        half.min(-NOISE).min(r - half) - NOISE
    } else {
        (r * r - half * half).sqrt() - 2.0 * SLIVER.get()
    }
}

/// How much metal of the web's depth is left where its bar meets the round wall, as a margin.
fn bar_in_wall(v: &Numbers, d: &Dims) -> f64 {
    // The bar is straight, the wall is round and leans: at the bar's ends the skin lies further in.
    let y = v[K::BoreWidth] / 2.0 + LEDGE.get();
    let r = d.outer_radius(Mm(v[K::GrooveDepth])).get();
    let skin = if d.square { r } else { (r * r - y * y).max(0.0).sqrt() };
    skin - (d.web_x.get() + SLIVER.get())
}

const S: f64 = SLIVER.get();
const L: f64 = LEDGE.get();

/// Every condition.
pub(crate) const CONDITIONS: &[Condition] = &[
    Condition {
        code: "taper",
        part: Part::Any,
        stage: 0,
        keys: &[K::FootHalfWidth, K::Width, K::Height],
        margin: |_, d| (d.taper.get() - 1.0).min(20.0 - d.taper.get()),
        say: |_, d| format!("the collet tapers by {:.1} deg; 1 to 20 deg can be built", d.taper.get()),
        why: "a straight tube or a funnel is another setting: claws would not stand on it, links would not bend",
    },
    Condition {
        code: "no_inside",
        part: Part::Any,
        stage: 0,
        keys: &[K::Wall, K::FootHalfWidth, K::Width],
        margin: |_, d| d.inner_radius(Mm(0.0)).get() - 2.0 * S,
        say: |_, d| {
            format!(
                "the wall leaves an inside of {:.2} mm radius at the foot; at least {:.2} mm is needed",
                d.inner_radius(Mm(0.0)).get(),
                2.0 * S
            )
        },
        why: "the collet is a ring, open below",
    },
    Condition {
        code: "rim_wider_than_wall",
        part: Part::Any,
        stage: 0,
        keys: &[K::RimLand, K::Wall],
        margin: |_, d| d.seat_radius.get() - d.inner_radius(d.rim).get() - S,
        say: |v, d| {
            format!(
                "the rim land {:.2} mm takes all of the wall {:.2} mm; no seat is left",
                v[K::RimLand],
                d.wall_horizontal.get()
            )
        },
        why: "the seat must cut at least 0.05 into the wall",
    },
    Condition {
        code: "stone_through_seat",
        part: Part::Any,
        stage: 0,
        keys: &[K::RimLand, K::Width, K::Diameter],
        margin: |v, d| (v[K::Diameter] - v[K::StoneTolerance]) / 2.0 - d.seat_radius.get() - L,
        say: |v, d| {
            format!(
                "the smallest stone ({:.2} mm) falls through the seat, which is {:.2} mm wide",
                v[K::Diameter] - v[K::StoneTolerance],
                2.0 * d.seat_radius.get()
            )
        },
        why: "the stone must be wider than the edge of the seat",
    },
    Condition {
        code: "flat_thicker_than_wire",
        part: Part::Loop,
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
        part: Part::Loop,
        stage: 0,
        keys: &[K::WebEdge, K::WebHeight, K::Wall],
        margin: |v, d| v[K::WebHeight].min(d.web_depth.get()) - 2.0 * v[K::WebEdge] - L,
        say: |v, d| {
            format!(
                "the web edge radius {:.2} mm is more than half of the web ({:.2} high, {:.2} mm deep)",
                v[K::WebEdge],
                v[K::WebHeight],
                d.web_depth.get()
            )
        },
        why: "two rounded edges must leave 0.02 of straight side between them",
    },
    Condition {
        code: "bore_not_as_high_as_wide",
        part: Part::Loop,
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
        code: "clasp_longer_than_line",
        part: Part::Any,
        stage: 0,
        keys: &[K::ClaspCount, K::Count],
        margin: |v, _| v[K::Count] / 2.0 - v[K::ClaspCount],
        say: |v, _| format!("{:.0} of {:.0} stones ride on the clasp", v[K::ClaspCount], v[K::Count]),
        why: "at most half of the bracelet can be stiff",
    },
    Condition {
        code: "claws_meet",
        part: Part::Any,
        stage: 1,
        keys: &[K::ClawDiameter, K::Width],
        margin: |v, _| v[K::Width] - 2.0 * v[K::ClawDiameter] - 2.0 * S,
        say: |v, _| {
            format!(
                "two claws of {:.2} mm leave no light on a side of {:.2} mm",
                v[K::ClawDiameter],
                v[K::Width]
            )
        },
        why: "neighbouring claws must stay apart",
    },
    Condition {
        code: "claw_off_stone",
        part: Part::Any,
        stage: 1,
        keys: &[K::ClawDiameter, K::Width, K::Diameter],
        margin: |v, d| d.bite.get() - v[K::StoneTolerance] / 2.0 - L,
        say: |_, d| format!("the claws stand outside the stone: bite {:.2} mm", d.bite.get()),
        why: "a claw must overlap the smallest stone to hold it",
    },
    Condition {
        code: "claw_cut_through",
        part: Part::Any,
        stage: 1,
        keys: &[K::ClawDiameter, K::Width, K::Diameter],
        margin: |v, d| v[K::ClawDiameter] - d.bite.get() - v[K::StoneTolerance] / 2.0 - S,
        say: |v, d| {
            format!("the stone cuts {:.2} mm into claws of {:.2} mm", d.bite.get(), v[K::ClawDiameter])
        },
        why: "something of the claw must be left behind the girdle",
    },
    Condition {
        code: "claw_off_collet",
        part: Part::Any,
        stage: 1,
        keys: &[K::ClawDiameter, K::FootHalfWidth, K::Width],
        margin: |_, d| (d.rim - d.claw_foot).get() - 4.0 * S,
        say: |_, d| {
            format!(
                "the claws stand outside the collet: it only reaches into them at {:.2} mm of {:.2} mm height",
                d.claw_foot.get().min(99.0),
                d.rim.get()
            )
        },
        why: "a claw needs at least 0.20 of height to be joined on",
    },
    Condition {
        code: "claw_inside_collet",
        part: Part::Round,
        stage: 1,
        keys: &[K::ClawDiameter, K::Wall, K::Width],
        margin: |v, d| d.claw_axis.get() - v[K::ClawDiameter] / 2.0 - d.inner_radius(d.rim).get() - L,
        say: |v, _| format!("claws of {:.2} mm break through the inside of the collet", v[K::ClawDiameter]),
        why: "a claw is let into the wall, not through it",
    },
    Condition {
        code: "bore_roof_above_seat",
        part: Part::Loop,
        stage: 1,
        keys: &[K::BoreHeight, K::Height, K::WebHeight, K::GrooveDepth],
        margin: |_, d| d.crown_over_bore.get() - S,
        say: |_, d| {
            format!(
                "the bore reaches {:.2} mm up, the seat begins at {:.2} mm",
                d.bore_roof.get(),
                d.seat_bottom.get()
            )
        },
        why: "the bore may not break into the seat",
    },
    Condition {
        code: "bore_wider_than_collet",
        part: Part::Loop,
        stage: 1,
        keys: &[K::BoreWidth, K::Width, K::Wall, K::FootHalfWidth],
        margin: |v, d| channel(v, d.inner_radius(d.bore_floor), v[K::BoreWidth]).min(bar_in_wall(v, d)),
        say: |v, d| {
            format!(
                "a bore {:.2} mm wide does not fit a collet of {:.2} mm inside at that height",
                v[K::BoreWidth],
                2.0 * d.inner_radius(d.bore_floor).get()
            )
        },
        why: "the bore must end in the cavity and the web must stand in the wall",
    },
    Condition {
        code: "groove_wider_than_foot",
        part: Part::Loop,
        stage: 1,
        keys: &[K::GrooveWidth, K::FootHalfWidth, K::Wall],
        margin: |v, d| channel(v, d.inner_radius(Mm(0.0)), v[K::GrooveWidth]),
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
        code: "opening_upside_down",
        part: Part::Any,
        stage: 1,
        keys: &[K::OpeningTop, K::OpeningBottom],
        margin: |v, _| v[K::OpeningTop] - v[K::OpeningBottom] - 4.0 * S,
        say: |v, _| format!("the opening runs from {:.2} to {:.2} mm", v[K::OpeningBottom], v[K::OpeningTop]),
        why: "its upper edge must lie at least 0.20 above its lower one",
    },
    Condition {
        code: "opening_above_seat",
        part: Part::Any,
        stage: 1,
        keys: &[K::OpeningTop, K::Height],
        margin: |_, d| d.over_opening.get() - S,
        say: |v, d| {
            format!(
                "the opening reaches {:.2} mm up, the seat begins at {:.2} mm",
                v[K::OpeningTop],
                d.seat_bottom.get()
            )
        },
        why: "the rim must stay whole above the opening",
    },
    Condition {
        code: "opening_bur",
        part: Part::Any,
        stage: 1,
        keys: &[K::OpeningBur, K::OpeningTop, K::OpeningWidth],
        margin: |v, _| {
            // Equal sizes make a full round end; a flat shorter than LEDGE between two corners is neither.
            let flat = |side: f64| {
                let f = side - v[K::OpeningBur];
                if f.abs() <= NOISE { 0.0 } else { f - L }
            };
            flat(v[K::OpeningTop] - v[K::OpeningBottom]).min(flat(v[K::OpeningWidth]))
        },
        say: |v, _| {
            format!(
                "a bur of {:.2} mm does not cut an opening {:.2} mm wide and {:.2} mm high",
                v[K::OpeningBur],
                v[K::OpeningWidth],
                v[K::OpeningTop] - v[K::OpeningBottom]
            )
        },
        why: "the bur must fit into the opening: as wide as it, or at least 0.02 less",
    },
    Condition {
        code: "opening_meets_bore",
        part: Part::Loop,
        stage: 1,
        keys: &[K::OpeningStop, K::BoreWidth, K::GrooveWidth],
        margin: |v, d| {
            let groove = v[K::OpeningStop] - v[K::GrooveWidth] / 2.0;
            let under = v[K::OpeningBottom] - v[K::GrooveDepth];
            d.beside_bore.get().min(groove.max(under)) - S
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
        code: "opening_blind",
        part: Part::Any,
        stage: 1,
        keys: &[K::OpeningStop, K::FootHalfWidth, K::Wall],
        margin: |v, d| d.inner_radius(Mm(v[K::OpeningBottom])).get() - v[K::OpeningStop] - S,
        say: |v, d| {
            format!(
                "the opening stops at {:.2} mm from the middle, where the inside is {:.2} mm wide",
                v[K::OpeningStop],
                d.inner_radius(Mm(v[K::OpeningBottom])).get()
            )
        },
        why: "it must break through into the collet",
    },
    Condition {
        code: "opening_knife",
        part: Part::Any,
        stage: 1,
        keys: &[K::OpeningWidth, K::OpeningStop, K::FootHalfWidth],
        margin: |v, d| {
            // Whole metal beside it everywhere, or run through everywhere, rounded corners included.
            let through = -d.end_metal_top.get() - v[K::OpeningBur] / 2.0;
            (d.end_metal.get() - S).max(through - S)
        },
        say: |_, d| {
            format!(
                "the opening leaves a knife edge of {:.2} to {:.2} mm at the end of the link",
                d.end_metal.get(),
                d.end_metal_top.get()
            )
        },
        why: "leave at least 0.05 beside the opening, or let it run through with its corners",
    },
    Condition {
        code: "corners_meet",
        part: Part::Cornered,
        stage: 0,
        keys: &[K::CornerRadius, K::FootHalfWidth],
        margin: |_, d| d.flat_end.get() - 2.0 * S,
        say: |v, d| {
            format!(
                "corners of {:.2} mm radius leave {:.2} mm of flat on each half of a side at the foot",
                v[K::CornerRadius],
                d.flat_end.get()
            )
        },
        why: "at least 0.10 of each half must stay flat: a rounder one is a round collet",
    },
    Condition {
        code: "inner_corners_meet",
        part: Part::Square,
        stage: 0,
        keys: &[K::InnerCornerRadius, K::Wall, K::FootHalfWidth],
        margin: |v, d| {
            let foot = if v.has(Part::Tube) { v[K::FootFill] } else { 0.0 };
            d.inner_radius(Mm(foot)).get() - 1.1 * v[K::InnerCornerRadius] - S
        },
        say: |v, _| format!("inner corners of {:.2} mm radius leave no flat inside", v[K::InnerCornerRadius]),
        why: "at least 0.05 of each half must stay flat inside",
    },
    Condition {
        code: "corner_wall",
        part: Part::Square,
        stage: 0,
        keys: &[K::InnerCornerRadius, K::CornerRadius, K::Wall],
        margin: |_, d| d.corner_wall.get() - 2.0 * S,
        say: |_, d| format!("the corner radii leave {:.2} mm of wall across a corner", d.corner_wall.get()),
        why: "the inner corner must be sharp enough to leave a wall",
    },
    Condition {
        code: "tube_wall",
        part: Part::Tube,
        stage: 0,
        keys: &[K::TubeBore, K::TubeOuter],
        margin: |_, d| d.tube_wall.get() - 2.0 * S,
        say: |v, _| {
            format!(
                "a bore of {:.2} mm leaves no wall in a tube of {:.2} mm",
                v[K::TubeBore],
                v[K::TubeOuter]
            )
        },
        why: "a tube needs at least 0.10 of wall to be one",
    },
    Condition {
        code: "pin_in_bore",
        part: Part::Tube,
        stage: 0,
        keys: &[K::Pin, K::TubeBore],
        margin: |v, _| v[K::TubeBore] - v[K::Pin] - 0.005,
        say: |v, _| format!("a pin of {:.2} mm does not enter a bore of {:.2} mm", v[K::Pin], v[K::TubeBore]),
        why: "the pin must turn in its bore",
    },
    Condition {
        code: "tube_below_skin",
        part: Part::Tube,
        stage: 0,
        keys: &[K::TubeHeight, K::TubeOuter],
        margin: |v, _| v[K::TubeHeight] - v[K::TubeOuter] / 2.0,
        say: |v, _| {
            format!(
                "a tube of {:.2} mm with its axis at {:.2} mm stands out of the underside",
                v[K::TubeOuter],
                v[K::TubeHeight]
            )
        },
        why: "the underside lies on the skin",
    },
    Condition {
        code: "knuckles_too_short",
        part: Part::Tube,
        stage: 0,
        keys: &[K::TubeLength, K::OuterShare, K::SideGap],
        margin: |_, d| d.middle_knuckle.get().min(d.outer_knuckle.get()) - 4.0 * S,
        say: |_, d| {
            format!(
                "the row leaves knuckles of {:.2} mm outside and {:.2} mm in the middle",
                d.outer_knuckle.get(),
                d.middle_knuckle.get()
            )
        },
        why: "a knuckle below 0.20 is no bearing",
    },
    Condition {
        code: "block_wider_than_setting",
        part: Part::Block,
        stage: 0,
        keys: &[K::BlockHalfWidth, K::Width],
        margin: |v, _| v[K::Width] / 2.0 - v[K::BlockHalfWidth],
        say: |v, _| {
            format!(
                "a foot block {:.2} mm wide stands out of a setting of {:.2} mm",
                2.0 * v[K::BlockHalfWidth],
                v[K::Width]
            )
        },
        why: "the blocks of two links would touch before the settings do",
    },
    Condition {
        code: "block_inside_collet",
        part: Part::Block,
        stage: 1,
        keys: &[K::BlockHalfWidth, K::FootFill, K::FootHalfWidth],
        margin: |v, d| v[K::BlockHalfWidth] - d.outer_radius(Mm(v[K::FootFill])).get() - LEDGE.get(),
        say: |v, d| {
            format!(
                "the foot block is {:.2} mm wide, the collet over it {:.2} mm",
                2.0 * v[K::BlockHalfWidth],
                2.0 * d.outer_radius(Mm(v[K::FootFill])).get()
            )
        },
        why: "the collet must stand on the block with 0.02 to spare",
    },
    Condition {
        code: "tube_off_wall",
        part: Part::Tube,
        stage: 1,
        keys: &[K::TubeOuter, K::FootHalfWidth, K::BlockHalfWidth, K::Gap],
        margin: |_, d| d.tube_let_in.get() - S,
        say: |_, d| format!("the tube is let {:.2} mm into the end of the link", d.tube_let_in.get()),
        why: "a knuckle needs at least 0.05 in the wall to be joined on",
    },
    Condition {
        code: "row_wider_than_end",
        part: Part::Tube,
        stage: 1,
        keys: &[K::TubeLength, K::CornerRadius, K::OuterShare],
        margin: |_, d| d.flat_end.get() - d.knuckle_boundary.get() - 4.0 * S,
        say: |_, d| {
            format!(
                "the outer knuckles begin {:.2} mm from the middle, the flat end reaches to {:.2} mm",
                d.knuckle_boundary.get(),
                d.flat_end.get()
            )
        },
        why: "each outer knuckle needs at least 0.20 of flat end behind it",
    },
    Condition {
        code: "foot_above_opening",
        part: Part::Tube,
        stage: 1,
        keys: &[K::FootFill, K::OpeningBottom],
        margin: |v, _| v[K::OpeningBottom] - v[K::FootFill] - L,
        say: |v, _| {
            format!(
                "the foot is filled to {:.2} mm, the opening begins at {:.2} mm",
                v[K::FootFill],
                v[K::OpeningBottom]
            )
        },
        why: "the opening must lie over the solid foot",
    },
    Condition {
        code: "foot_meets_stone",
        part: Part::Tube,
        stage: 1,
        keys: &[K::FootFill, K::Height],
        margin: |_, d| d.culet_over_fill.get() - L,
        say: |_, d| format!("the culet stands {:.2} mm over the filled foot", d.culet_over_fill.get()),
        why: "the stone must not rest on its culet",
    },
    Condition {
        code: "light_hole_wider_than_inside",
        part: Part::Tube,
        stage: 1,
        keys: &[K::LightHole, K::FootHalfWidth, K::Wall],
        margin: |v, d| {
            let foot = Mm(v[K::FootFill]);
            d.inner_radius(foot).get() - v[K::LightHole] / 2.0 - S
        },
        say: |v, d| {
            format!(
                "a light hole of {:.2} mm does not fit an inside of {:.2} mm",
                v[K::LightHole],
                2.0 * d.inner_radius(Mm(v[K::FootFill])).get()
            )
        },
        why: "some of the foot must be left round it",
    },
    Condition {
        code: "pocket_meets_light_hole",
        part: Part::Tube,
        stage: 1,
        keys: &[K::LightHole, K::Gap, K::TubeOuter, K::PocketClearance],
        margin: |_, d| d.behind_pocket.get() - S,
        say: |_, d| {
            format!("{:.2} mm of metal is left between the pocket and the light hole", d.behind_pocket.get())
        },
        why: "the pocket must not break into the light hole",
    },
    Condition {
        code: "pocket_meets_opening",
        part: Part::Tube,
        stage: 1,
        keys: &[K::OpeningBottom, K::OpeningWidth, K::TubeHeight, K::TubeOuter],
        margin: |_, d| d.over_pocket.get() - S,
        say: |_, d| {
            format!("{:.2} mm of metal is left between the pocket and the opening", d.over_pocket.get())
        },
        why: "the pocket must not break into the opening",
    },
    Condition {
        code: "pocket_meets_inside",
        part: Part::Tube,
        stage: 1,
        keys: &[K::FootFill, K::FootHalfWidth, K::Wall],
        margin: |_, d| d.over_fill.get() - S,
        say: |_, d| {
            format!("{:.2} mm of wall is left behind the pocket over the filled foot", d.over_fill.get())
        },
        why: "the pocket must not break into the inside of the collet",
    },
    Condition {
        code: "trial_hinge",
        part: Part::Tube,
        stage: 2,
        keys: &[K::TrialGap, K::TrialBoreOffset, K::TubeBore, K::PocketClearance],
        margin: |v, _| {
            let t = trial(v);
            let d = Dims::of(&t);
            let hinge = CONDITIONS.iter().filter(|c| c.part == Part::Tube && c.stage < 2);
            hinge.map(|c| (c.margin)(&t, &d)).fold(f64::INFINITY, f64::min)
        },
        say: |v, _| {
            let t = trial(v);
            format!(
                "on the trial link the bore grows to {:.2} mm, the pockets by {:.2} mm, and too little metal is left",
                t[K::TubeBore],
                v[K::TrialGap]
            )
        },
        why: "the trial link must be whole as well",
    },
    Condition {
        code: "trial_web",
        part: Part::Loop,
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
        part: Part::Loop,
        stage: 2,
        keys: &[K::TrialGap, K::TrialBoreOffset, K::OpeningStop, K::Height],
        margin: |v, _| {
            let t = trial(v);
            let d = Dims::of(&t);
            let floor = channel(&t, d.inner_radius(d.bore_floor), t[K::BoreWidth]);
            let groove = channel(&t, d.inner_radius(Mm(0.0)), t[K::GrooveWidth]);
            let beside = t[K::OpeningStop] - t[K::GrooveWidth] / 2.0;
            let under = t[K::OpeningBottom] - t[K::GrooveDepth];
            let cut = (d.crown_over_bore.get() - S).min(d.beside_bore.get() - S).min(beside.max(under) - S);
            let edges = t[K::WebHeight].min(d.web_depth.get()) - 2.0 * t[K::WebEdge] - L;
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

/// The conditions that do not hold, of the first stage that has any.
pub(crate) fn broken(v: &Numbers, d: &Dims) -> Vec<&'static Condition> {
    for stage in 0..=2 {
        // Written so that a margin that is no number counts as broken.
        let list: Vec<_> = CONDITIONS
            .iter()
            .filter(|c| {
                c.stage == stage
                    && v.has(c.part)
                    && (c.margin)(v, d).partial_cmp(&-NOISE).is_none_or(std::cmp::Ordering::is_lt)
            })
            .collect();
        if !list.is_empty() {
            return list;
        }
    }
    Vec::new()
}
