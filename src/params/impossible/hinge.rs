//! What a hinge tube must allow: pin in bore, tube on a wall, pocket in metal, foot under the opening.

use super::{Condition, GRAZE, L, NOISE, S, trial};
use crate::params::dims::{Dims, HingeDims};
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;
use crate::units::{Deg, Mm};

/// The hinge's dimensions. These conditions are judged only of a link with hinge tubes; of another all lengths are no
/// number, and no condition on them holds.
fn h(d: &Dims) -> HingeDims {
    d.hinge.clone().unwrap_or(HingeDims::NONE)
}

/// Not negative unless a cylinder of this radius about the hinge's axis just touches the edge between end wall and skin.
fn clear_of_foot_edge(h: &HingeDims, radius: f64) -> f64 {
    (libm::hypot((h.axis_x - h.end_foot).get(), h.axis_z.get()) - radius).abs() - GRAZE.get()
}

/// Not negative unless the bore just touches the end wall, which a drill run right through meets beside the knuckles.
fn bore_off_wall(v: &Numbers, d: &Dims, h: &HingeDims) -> f64 {
    let lean = if d.shape.is_flat() { libm::cos(d.taper.radians()) } else { 1.0 };
    (lean * (h.axis_x - h.end_face).get() - v[K::TubeBore] / 2.0).abs() - GRAZE.get()
}

/// Equal heights are one plane; a step of less than LEDGE is neither.
fn flush_or_apart(step: f64) -> f64 {
    if step.abs() <= NOISE { 0.0 } else { step.abs() - L }
}

/// Everything the opened joint of a trial print must still hold.
fn trial_margin(v: &Numbers) -> f64 {
    let t = trial(v);
    let d = Dims::of(&t);
    let j = h(&d);
    let metal = [j.behind_pocket, j.pocket_to_inside, j.pocket_to_opening]
        .iter()
        .chain(j.under_block_top.iter())
        .fold(f64::MAX, |a, m| a.min(m.get()));
    let touch = bore_off_wall(&t, &d, &j);
    let claws = (d.rim - d.claw_foot).get() - 4.0 * S;
    // 0.15 is the least that prints: tube and middle knuckle.
    let prints = j.tube_wall.get().min(j.middle_knuckle.get()) - 3.0 * S;
    (metal - S).min(touch).min(claws).min(prints)
}

/// Conditions of links with hinge tubes.
pub(super) const CONDITIONS: &[Condition] = &[
    Condition {
        code: "pin_thicker_than_bore",
        stage: 0,
        keys: &[K::TubeBore, K::Pin],
        margin: |_, d| h(d).pin_play.get(),
        say: |v, _| {
            format!("a pin of {:.2} mm does not go into a bore of {:.2} mm", v[K::Pin], v[K::TubeBore])
        },
        why: "the pin turns in the bore",
    },
    Condition {
        code: "bore_leaves_no_tube",
        stage: 0,
        keys: &[K::TubeBore, K::TubeOuter, K::Pin],
        margin: |_, d| h(d).tube_wall.get() - S,
        say: |v, _| {
            format!(
                "a bore of {:.2} mm leaves nothing of a tube of {:.2} mm",
                v[K::TubeBore],
                v[K::TubeOuter]
            )
        },
        why: "the knuckles are tube: at least 0.05 must be left round the bore",
    },
    Condition {
        code: "tube_below_skin",
        stage: 0,
        keys: &[K::TubeHeight, K::TubeOuter],
        margin: |_, d| (h(d).axis_z - h(d).tube_radius).get(),
        say: |v, _| {
            format!(
                "a tube of {:.2} mm at {:.2} mm height stands out below the link",
                v[K::TubeOuter],
                v[K::TubeHeight]
            )
        },
        why: "the knuckles would lie on the skin and lift the line",
    },
    Condition {
        code: "no_middle_knuckle",
        stage: 0,
        keys: &[K::TubeLength, K::OuterShare, K::SideGap],
        margin: |_, d| h(d).middle_knuckle.get() - 3.0 * S,
        say: |_, d| format!("the middle knuckle is {:.2} mm long", h(d).middle_knuckle.get()),
        why: "three knuckles share the row; the middle one needs at least 0.15",
    },
    Condition {
        code: "fill_above_opening",
        stage: 0,
        keys: &[K::FootFill, K::OpeningBottom],
        margin: |v, _| {
            let step = v[K::OpeningBottom] - v[K::FootFill];
            if step < -NOISE { step } else { flush_or_apart(step) }
        },
        say: |v, _| {
            format!(
                "the foot is filled to {:.2} mm, the opening begins at {:.2} mm",
                v[K::FootFill],
                v[K::OpeningBottom]
            )
        },
        why: "the filled foot ends flush with the opening, or at least 0.02 below it",
    },
    Condition {
        code: "tube_off_wall",
        stage: 1,
        keys: &[K::TubeOuter, K::FootHalfWidth, K::BlockHalfWidth, K::Gap],
        margin: |_, d| h(d).let_in.get() - S,
        say: |_, d| format!("the tube is let {:.2} mm into its end wall", h(d).let_in.get()),
        why: "a knuckle that does not reach into the wall falls off",
    },
    Condition {
        code: "tube_grazes_foot_edge",
        stage: 1,
        keys: &[K::TubeHeight, K::FootHalfWidth, K::BlockHalfWidth, K::TubeOuter],
        margin: |_, d| clear_of_foot_edge(&h(d), h(d).tube_radius.get()),
        say: |_, _| "the tube just touches the lower edge of its end wall".to_owned(),
        why: "it must clear that edge or bury it by 0.005",
    },
    Condition {
        code: "bore_grazes_wall",
        stage: 1,
        keys: &[K::TubeBore, K::FootHalfWidth, K::BlockHalfWidth, K::Gap],
        margin: |v, d| bore_off_wall(v, d, &h(d)),
        say: |_, _| "the bore just touches the end wall beside the knuckles".to_owned(),
        why: "the drill must miss the wall or cut it by 0.005, else it runs off",
    },
    Condition {
        code: "pocket_meets_light_hole",
        stage: 1,
        keys: &[K::LightHole, K::TubeOuter, K::Gap, K::Width],
        margin: |_, d| h(d).behind_pocket.get() - S,
        say: |_, d| {
            format!(
                "{:.2} mm are left between the pocket of the hinge tube and the light hole",
                h(d).behind_pocket.get()
            )
        },
        why: "metal must be left behind the pocket",
    },
    Condition {
        code: "pocket_meets_inside",
        stage: 1,
        keys: &[K::FootFill, K::TubeOuter, K::TubeHeight, K::Wall],
        margin: |_, d| h(d).pocket_to_inside.get() - S,
        say: |_, d| {
            format!(
                "{:.2} mm are left between the pocket of the hinge tube and the inside of the collet",
                h(d).pocket_to_inside.get()
            )
        },
        why: "the pocket may not break through into the collet: fill the foot higher or take a thinner tube",
    },
    Condition {
        code: "pocket_meets_opening",
        stage: 1,
        keys: &[K::OpeningBottom, K::OpeningWidth, K::TubeOuter, K::TubeHeight, K::OpeningStop],
        margin: |_, d| h(d).pocket_to_opening.get() - S,
        say: |_, d| {
            format!(
                "{:.2} mm are left between the pocket of the hinge tube and the opening",
                h(d).pocket_to_opening.get()
            )
        },
        why: "the pocket may not break into the opening",
    },
    Condition {
        code: "light_hole_wider_than_inside",
        stage: 1,
        keys: &[K::LightHole, K::Wall, K::FootHalfWidth],
        margin: |v, d| d.inner_radius(Mm(v[K::FootFill])).get() - v[K::LightHole] / 2.0 - S,
        say: |v, d| {
            format!(
                "a light hole of {:.2} mm leaves no foot in an inside of {:.2} mm",
                v[K::LightHole],
                2.0 * d.inner_radius(Mm(v[K::FootFill])).get()
            )
        },
        why: "the light hole goes through the filled foot, not through the wall",
    },
    Condition {
        code: "seat_bur_in_foot",
        stage: 1,
        keys: &[K::FootFill, K::Height, K::LightHole, K::RimLand],
        margin: |v, d| {
            // Where the bur's point is at the height of the fill, its cone must lie inside the light hole.
            let slope = Deg(v[K::BurAngle] / 2.0).tan();
            let point = d.rim.get() - d.seat_radius.get() / slope;
            v[K::LightHole] / 2.0 - (v[K::FootFill] - point) * slope - L
        },
        say: |v, d| {
            format!(
                "the point of the seat bur reaches into the foot filled to {:.2} mm of {:.2} mm height",
                v[K::FootFill],
                d.rim.get()
            )
        },
        why: "the seat may not cut the filled foot",
    },
    Condition {
        code: "trial_hinge",
        stage: 2,
        keys: &[K::TrialGap, K::TrialBoreOffset, K::TubeOuter, K::LightHole, K::FootFill],
        margin: |v, _| trial_margin(v),
        say: |v, _| {
            let t = trial(v);
            format!(
                "on the trial link the bore grows to {:.2} mm and the pocket clearance to {:.2} mm, and too little metal is left",
                t[K::TubeBore],
                t[K::PocketClearance]
            )
        },
        why: "the trial link must be whole as well, and less than 0.15 of tube does not print",
    },
];

/// Conditions of a round collet on a foot block.
pub(super) const BLOCK: &[Condition] = &[
    Condition {
        code: "block_wider_than_setting",
        stage: 0,
        keys: &[K::BlockHalfWidth, K::Width],
        margin: |v, d| d.rim_radius.get() - v[K::BlockHalfWidth] - L,
        say: |v, d| {
            format!(
                "the foot block ({:.2} mm half width) is not narrower than the setting ({:.2} mm)",
                v[K::BlockHalfWidth],
                d.rim_radius.get()
            )
        },
        why: "blocks wider than the settings would meet before the line bends",
    },
    Condition {
        code: "block_inside_collet",
        stage: 0,
        keys: &[K::BlockHalfWidth, K::FootHalfWidth, K::FootFill],
        margin: |v, d| v[K::BlockHalfWidth] - d.outer_radius(Mm(v[K::FootFill])).get() - L,
        say: |v, d| {
            format!(
                "the collet ({:.2} mm half width at the top of the block) bulges out of a foot block of {:.2} mm",
                d.outer_radius(Mm(v[K::FootFill])).get(),
                v[K::BlockHalfWidth]
            )
        },
        why: "the block gives the tube a flat wall only where it stands out of the round",
    },
    Condition {
        code: "block_corner",
        stage: 0,
        keys: &[K::CornerRadius, K::BlockHalfWidth],
        margin: |v, _| v[K::BlockHalfWidth] - v[K::CornerRadius] - 2.0 * S,
        say: |v, _| {
            format!(
                "corners of {:.2} mm leave nothing flat on a block of {:.2} mm half width",
                v[K::CornerRadius],
                v[K::BlockHalfWidth]
            )
        },
        why: "the tube needs a flat wall",
    },
    Condition {
        code: "pocket_above_block",
        stage: 1,
        keys: &[K::FootFill, K::TubeOuter, K::TubeHeight],
        margin: |_, d| h(d).under_block_top.map_or(0.0, |m| m.get()) - S,
        say: |v, d| {
            format!(
                "the pocket reaches {:.2} mm up the foot block, which is {:.2} mm high",
                h(d).pocket_top.get(),
                v[K::FootFill]
            )
        },
        why: "the pocket must end under the top of the block",
    },
    Condition {
        code: "slit_under_claws",
        stage: 1,
        keys: &[K::FootFill, K::FootHalfWidth, K::ClawDiameter],
        margin: |v, d| flush_or_apart(d.claw_foot.get() - v[K::FootFill]),
        say: |v, d| {
            format!(
                "the claws begin at {:.3} mm, the foot block ends at {:.3} mm",
                d.claw_foot.get(),
                v[K::FootFill]
            )
        },
        why: "they stand on one height or at least 0.02 apart: a thinner slit or step is neither",
    },
];
