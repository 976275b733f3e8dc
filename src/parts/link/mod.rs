//! One link: a round collet with claws, side openings and the wire-loop joint at its ends.

mod design;
mod easing;
mod shape;
mod wear;

pub use easing::{Built, Easing, build};
pub use shape::{ClawShape, LinkShape, LoopJoint, OpeningShape, StoneShape};
pub use wear::{WearReading, wear_points};
