//! The parts of the bracelet: dimensions to exact solids.

pub mod clasp;
pub mod joint;
pub mod line;
pub mod link;
mod part;
pub mod stone;
pub mod wires;

pub use part::{Eased, Part, Route};
