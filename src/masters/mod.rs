//! Files that leave the bench: STL, STEP.

pub mod step;
pub mod stl;
