//! The parts of the bracelet: dimensions to exact solids.

pub mod clasp;
pub mod link;
mod part;

pub use part::{Part, Route};
