//! One link: a round or square collet with claws and side openings, and a wire loop or a hinge tube at its ends.

mod class;
mod claws;
mod collet;
mod design;
mod easing;
mod hinge;
mod master;
mod section;
mod shape;
mod wear;
mod wire;

pub(in crate::parts) use hinge::{bore as knuckle_bore, knuckles, pockets};

pub use class::{kind, of_setting, wall_class, words};
pub use easing::{Built, Easing, build};
pub use master::{Allowances, Bores, DIMPLE, Dimension, GROOVE_SHALLOW, Master, PILOT_SHARE};
pub(in crate::parts) use master::{leave, narrowing, tube_marks, unset};
pub use section::cut_open;
pub use shape::{
    Block, ClawShape, End, Foot, LinkShape, LoopJoint, OpeningShape, Outline, StoneShape, TubeJoint,
};
pub use wear::{WearReading, wear_points};

#[cfg(test)]
mod tests;
