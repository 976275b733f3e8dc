//! Files that leave the bench: STL, 3MF, GLB, STEP; masters for casting and what goes with them.

pub mod compensation;
pub mod glb;
pub mod judged;
pub mod manifest;
pub mod pattern;
pub mod scene;
pub mod sheet;
pub mod step;
pub mod stl;
pub mod threemf;
