//! Folding clasps that cannot be built.

use super::{Condition, GRAZE, S};
use crate::params::dims::{ClaspDims, Dims};
use crate::params::numbers::Numbers;
use crate::params::table::Key as K;

/// Beyond every margin: a bought clasp has nothing to judge.
const FREE: f64 = 1.0;

fn of(d: &Dims, f: impl Fn(&ClaspDims) -> f64) -> f64 {
    d.clasp.as_ref().map_or(FREE, f)
}
fn say(d: &Dims, f: impl Fn(&ClaspDims) -> String) -> String {
    d.clasp.as_ref().map_or_else(String::new, f)
}

fn play(v: &Numbers) -> f64 {
    v[K::ClaspTubeBore] - v[K::ClaspPin]
}

/// In the order they are told.
pub(super) const CONDITIONS: &[Condition] = &[
    Condition {
        code: "clasp_pin_thicker_than_bore",
        stage: 2,
        keys: &[K::ClaspPin, K::ClaspTubeBore],
        margin: |v, d| of(d, |_| play(v) - 0.005),
        say: |v, _| {
            format!(
                "the pin of {:.2} does not go into the clasp's bore of {:.2}",
                v[K::ClaspPin],
                v[K::ClaspTubeBore]
            )
        },
        why: "a pin runs with 0.03 to 0.08 of play",
    },
    Condition {
        code: "clasp_no_tube",
        stage: 2,
        keys: &[K::ClaspTubeOuter, K::ClaspTubeBore, K::ClaspPin],
        margin: |_, d| of(d, |c| c.tube_wall.get().min(c.recess_rim.get()) - S),
        say: |v, d| {
            say(d, |c| {
                format!(
                    "a tube of {:.2} leaves {:.3} round the bead of {:.2} of the clasp's pin",
                    v[K::ClaspTubeOuter],
                    c.recess_rim.get(),
                    c.pin_bead.get()
                )
            })
        },
        why: "the bead is 1.6 times the pin and 0.20 larger than the bore, and lies inside the tube",
    },
    Condition {
        code: "clasp_tube_below_skin",
        stage: 2,
        keys: &[K::ClaspTubeOuter, K::ClaspFront, K::ClaspBack],
        margin: |v, d| of(d, |c| v[K::ClaspFront].min(v[K::ClaspBack]) - c.tube_radius.get()),
        say: |v, _| {
            format!(
                "a tube of {:.2} with its axis {:.2} over the skin stands out under the clasp",
                v[K::ClaspTubeOuter],
                v[K::ClaspFront].min(v[K::ClaspBack])
            )
        },
        why: "everything under the clasp is flush with the underside of the line",
    },
    Condition {
        code: "clasp_row_between_rails",
        stage: 2,
        keys: &[K::ClaspTubeRow, K::RailWidth],
        margin: |_, d| of(d, |c| c.beside_row.get() - GRAZE.get()),
        say: |v, d| {
            say(d, |c| {
                format!(
                    "a row of {:.2} does not turn between rails that leave {:.2}",
                    v[K::ClaspTubeRow],
                    v[K::ClaspTubeRow] + 2.0 * c.beside_row.get()
                )
            })
        },
        why: "the front hinge lies between the rails",
    },
    Condition {
        code: "clasp_knuckle",
        stage: 2,
        keys: &[K::ClaspTubeRow, K::ClaspOuterShare],
        margin: |_, d| of(d, |c| c.boundary.get() - 0.04 - 0.10),
        say: |v, d| {
            say(d, |c| {
                format!(
                    "a row of {:.2} leaves a middle knuckle of {:.2}",
                    v[K::ClaspTubeRow],
                    2.0 * c.boundary.get() - 0.08
                )
            })
        },
        why: "three knuckles need 0.20 of length for the middle one",
    },
    Condition {
        code: "clasp_too_short",
        stage: 2,
        keys: &[K::ClaspCount, K::TongueLength],
        margin: |_, d| of(d, |c| c.cheek_to_hinge.get() + 0.30),
        say: |v, d| {
            say(d, |c| {
                format!(
                    "a clasp of {:.2} has no room for a tongue of {:.2} between its hinges: the leaf would be longer than the frame",
                    c.length.get(),
                    v[K::TongueLength]
                )
            })
        },
        why: "hinge, cheeks, tongue, ledges, foot and hinge lie one after the other",
    },
    Condition {
        code: "clasp_foot_in_slot",
        stage: 2,
        keys: &[K::FootLength, K::ClaspCount],
        margin: |_, d| of(d, |c| c.mark_room.get() + 0.25 - S),
        say: |v, _| {
            format!(
                "the foot of {:.2} of a strip reaches into the slot for the front hinge",
                v[K::FootLength]
            )
        },
        why: "the foot is riveted into whole plate",
    },
    Condition {
        code: "clasp_strips_meet",
        stage: 2,
        keys: &[K::FootWidth, K::TongueSlot, K::TongueThickness, K::Cheek],
        margin: |_, d| of(d, |c| (c.plate_between.get() - 2.0 * S).min(c.feet_apart.get() - 2.0 * S)),
        say: |_, d| {
            say(d, |c| {
                format!(
                    "the plate keeps {:.2} between the slots of the strips and {:.2} between their feet",
                    c.plate_between.get(),
                    c.feet_apart.get()
                )
            })
        },
        why: "the plate is one piece",
    },
    Condition {
        code: "clasp_ridge",
        stage: 2,
        keys: &[K::HoldAngle, K::LeadAngle, K::TongueSnap, K::PlateThickness],
        margin: |_, d| of(d, |c| c.ridge_spare.get() + 0.03),
        say: |v, d| {
            say(d, |c| {
                format!(
                    "a ridge of {:.2} with slopes of {:.0} and {:.0} deg is higher than the plate of {:.2}",
                    c.ridge_height.get(),
                    v[K::LeadAngle],
                    v[K::HoldAngle],
                    v[K::PlateThickness]
                )
            })
        },
        why: "the snap ridge is filed from the height of its strip",
    },
    Condition {
        code: "clasp_cheek_gone",
        stage: 2,
        keys: &[K::Cheek, K::TongueSnap],
        margin: |v, d| of(d, |_| v[K::Cheek] - v[K::TongueSnap] - 0.02 - S),
        say: |v, _| {
            format!("a cheek of {:.2} is cut through by a snap of {:.2}", v[K::Cheek], v[K::TongueSnap])
        },
        why: "the ridge snaps into a groove in the cheek",
    },
    Condition {
        code: "clasp_rivet",
        stage: 2,
        keys: &[K::StripRivet, K::FootWidth],
        margin: |v, d| of(d, |_| v[K::FootWidth] - v[K::StripRivet] - 2.0 * S),
        say: |v, _| {
            format!("a rivet of {:.2} does not fit a foot of {:.2}", v[K::StripRivet], v[K::FootWidth])
        },
        why: "the rivet goes through the foot",
    },
    Condition {
        code: "clasp_catch",
        stage: 2,
        keys: &[K::CatchTube, K::CatchWire],
        margin: |_, d| of(d, |c| c.catch_tube_wall.get() - S),
        say: |v, _| {
            format!(
                "a side catch of {:.2} wire does not swing in a tube of {:.2}",
                v[K::CatchWire],
                v[K::CatchTube]
            )
        },
        why: "the tube is bored 0.05 wider than the wire",
    },
    Condition {
        code: "clasp_catch_too_long",
        stage: 2,
        keys: &[K::CatchBar, K::ClaspCount],
        margin: |_, d| of(d, |c| c.side_catch.to_eye.get() - 0.1),
        say: |v, d| {
            say(d, |c| {
                format!(
                    "a side catch of {:.2} is too long for the clasp of {:.2}",
                    v[K::CatchBar],
                    c.length.get()
                )
            })
        },
        why: "it must not reach the eyes of the chain, beside the middle of the outermost stones",
    },
    Condition {
        code: "clasp_catch_below_skin",
        stage: 2,
        keys: &[K::CatchWire, K::PlateThickness],
        margin: |_, d| of(d, |c| c.side_catch.over_skin.get()),
        say: |v, _| {
            format!(
                "a side catch of {:.2} wire under the ledge stands out under a plate of {:.2}",
                v[K::CatchWire],
                v[K::PlateThickness]
            )
        },
        why: "nothing of the clasp is lower than the underside of the line",
    },
    Condition {
        code: "clasp_catch_on_its_bump",
        stage: 2,
        keys: &[K::CatchSnap, K::CatchWire],
        margin: |_, d| of(d, |c| c.side_catch.bump_gap.get() - 0.005),
        say: |v, _| {
            format!(
                "a side catch of {:.2} wire does not come to rest behind a bump of {:.2}",
                v[K::CatchWire],
                v[K::CatchSnap]
            )
        },
        why: "at rest the bar lies free under its ledge",
    },
    Condition {
        code: "clasp_chain_ring",
        stage: 2,
        keys: &[K::ChainRing, K::ChainWire],
        margin: |v, d| of(d, |_| v[K::ChainRing] - 5.0 * v[K::ChainWire] - S),
        say: |v, _| {
            format!(
                "a ring of {:.2} inside in {:.2} wire cannot be drawn out and folded",
                v[K::ChainRing],
                v[K::ChainWire]
            )
        },
        why: "a loop-in-loop link is a ring with two eyes, folded in the middle over the next",
    },
    Condition {
        code: "clasp_jump_ring",
        stage: 2,
        keys: &[K::JumpInner, K::ChainWire],
        margin: |_, d| d.chain.as_ref().map_or(FREE, |c| c.jump_room.get()),
        say: |v, _| {
            format!("a jump ring of {:.2} inside does not go round its eye and the chain", v[K::JumpInner])
        },
        why: "it holds the rim of an eye, 0.40 by 0.50, and two strands of the chain",
    },
    Condition {
        code: "clasp_above_seat",
        stage: 2,
        keys: &[K::LeafThickness, K::PlateThickness, K::ClaspGap, K::Height],
        margin: |_, d| of(d, |c| (d.seat_bottom - c.frame_bottom).get() - S),
        say: |_, d| {
            say(d, |c| {
                format!(
                    "plate and leaf reach {:.2} over the skin, into the seats of the stones at {:.2}",
                    c.frame_bottom.get(),
                    d.seat_bottom.get()
                )
            })
        },
        why: "plate and leaf lie under the stones",
    },
];
