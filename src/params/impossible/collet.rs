//! What any collet must allow: taper, inside, seat, claws, openings.

use super::{Condition, GRAZE, L, NOISE, S};
use crate::params::table::Key as K;
use crate::units::Mm;

/// Conditions of every link.
pub(super) const CONDITIONS: &[Condition] = &[
    Condition {
        code: "taper",
        stage: 0,
        keys: &[K::FootHalfWidth, K::Width, K::Height],
        margin: |_, d| (d.taper.get() - 1.0).min(20.0 - d.taper.get()),
        say: |_, d| format!("the collet tapers by {:.1} deg; 1 to 20 deg can be built", d.taper.get()),
        why: "a straight tube or a funnel is another setting: claws would not stand on it, links would not bend",
    },
    Condition {
        code: "no_inside",
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
        code: "clasp_longer_than_line",
        stage: 0,
        keys: &[K::ClaspCount, K::Count],
        margin: |v, _| v[K::Count] / 2.0 - v[K::ClaspCount],
        say: |v, _| format!("{:.0} of {:.0} stones ride on the clasp", v[K::ClaspCount], v[K::Count]),
        why: "at most half of the bracelet can be stiff",
    },
    Condition {
        code: "claws_meet",
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
        stage: 1,
        keys: &[K::ClawDiameter, K::Width, K::Diameter],
        margin: |v, d| d.bite.get() - v[K::StoneTolerance] / 2.0 - L,
        say: |_, d| format!("the claws stand outside the stone: bite {:.2} mm", d.bite.get()),
        why: "a claw must overlap the smallest stone to hold it",
    },
    Condition {
        code: "claw_cut_through",
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
        stage: 1,
        keys: &[K::ClawDiameter, K::Wall, K::Width],
        margin: |v, d| {
            // In a square corner the claw stands through the corner of the inside, and nothing is weakened.
            if d.shape.is_flat() {
                return 0.0;
            }
            d.claw_axis.get() - v[K::ClawDiameter] / 2.0 - d.inner_radius(d.rim).get() - L
        },
        say: |v, _| format!("claws of {:.2} mm break through the inside of the collet", v[K::ClawDiameter]),
        why: "a claw is let into the wall, not through it",
    },
    Condition {
        code: "opening_upside_down",
        stage: 1,
        keys: &[K::OpeningTop, K::OpeningBottom],
        margin: |v, _| v[K::OpeningTop] - v[K::OpeningBottom] - 4.0 * S,
        say: |v, _| format!("the opening runs from {:.2} to {:.2} mm", v[K::OpeningBottom], v[K::OpeningTop]),
        why: "its upper edge must lie at least 0.20 above its lower one",
    },
    Condition {
        code: "opening_above_seat",
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
        code: "opening_blind",
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
];

/// Conditions of collets with corners.
pub(super) const CORNERS: &[Condition] = &[
    Condition {
        code: "no_flat_wall",
        stage: 0,
        keys: &[K::CornerRadius, K::FootHalfWidth],
        margin: |v, d| d.foot_radius.get() - v[K::CornerRadius] - 2.0 * S,
        say: |v, d| {
            format!(
                "corners of {:.2} mm leave no straight wall on a foot of {:.2} mm half width",
                v[K::CornerRadius],
                d.foot_radius.get()
            )
        },
        why: "a square or cushion collet has four flat walls; one without is round",
    },
    Condition {
        code: "no_flat_inside",
        stage: 0,
        keys: &[K::InnerCornerRadius, K::FootHalfWidth, K::Wall],
        margin: |v, d| d.inner_radius(Mm(0.0)).get() - v[K::InnerCornerRadius] - 2.0 * S,
        say: |v, d| {
            format!(
                "inner corners of {:.2} mm do not fit an inside of {:.2} mm half width at the foot",
                v[K::InnerCornerRadius],
                d.inner_radius(Mm(0.0)).get()
            )
        },
        why: "the inside must keep 0.10 of straight wall",
    },
    Condition {
        code: "corner_wall",
        stage: 0,
        keys: &[K::InnerCornerRadius, K::CornerRadius, K::Wall],
        margin: |_, d| d.corner_wall.map_or(0.0, |w| w.get()) - S,
        say: |_, d| {
            format!(
                "the inside breaks through the corner: {:.2} mm are left",
                d.corner_wall.map_or(0.0, |w| w.get())
            )
        },
        why: "the corners must be closed",
    },
    Condition {
        code: "seat_grazes_inner_corner",
        stage: 1,
        keys: &[K::InnerCornerRadius, K::RimLand, K::Wall],
        margin: |v, d| {
            let reach = d.diagonal(d.inner_radius(d.rim), Mm(v[K::InnerCornerRadius]));
            (reach - d.seat_radius).get().abs() - GRAZE.get()
        },
        say: |_, d| {
            format!(
                "the edge of the seat ({:.3} mm from the middle) just grazes the inner corners",
                d.seat_radius.get()
            )
        },
        why: "it must clear them or cut them by 0.005",
    },
];
