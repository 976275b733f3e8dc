//! The parts of the bracelet: dimensions to exact solids.

pub mod link;
