//! The parts of the bracelet: dimensions to exact solids.

pub mod link;
mod part;
pub mod wires;

pub use part::{Part, Route};
