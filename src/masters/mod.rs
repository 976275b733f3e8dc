//! Files that leave the bench: STL, 3MF, GLB, STEP; masters for casting and what goes with them.

pub mod calibrate;
pub mod castings;
pub mod compensation;
pub mod coupon;
pub(crate) mod digits;
pub mod flow;
pub mod glb;
pub mod judged;
pub mod manifest;
pub mod pattern;
pub mod plate;
pub mod scene;
pub mod sheet;
pub mod sprue;
pub mod step;
pub mod stl;
pub mod stub;
mod student;
pub mod tag;
pub mod threemf;
