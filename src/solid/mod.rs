//! Exact solids: analytic surfaces, booleans, named faces. Knows nothing of bracelets.
//!
//! All coordinates are millimetres.

pub mod brep;
pub mod curve;
pub mod surface;

pub use brep::{Edge, EdgeUse, Face, Solid};
pub use curve::Curve;
pub use surface::{Cone, Plane, Surface};
