//! Exact solids: analytic surfaces, booleans, named faces. Knows nothing of bracelets.
//!
//! All coordinates are millimetres. A part is a [`Tree`] of unions and differences over turned profiles and prisms;
//! [`Solid::build`] turns it into a closed B-rep whose faces carry the names given in the tree, or refuses with the
//! faces concerned. Wires, rings and balls are put together without a boolean: see [`pipe`].

mod assemble;
mod ball_cup;
mod boolean;
pub mod brep;
mod build;
mod check;
pub mod common_sphere;
pub mod curve;
mod error;
mod frame;
mod guard;
mod lumps;
mod motion;
mod near_tangent;
mod newton;
mod nodes;
pub mod nurbs;
mod patches;
pub mod path;
pub mod pipe;
mod primitives;
mod registry;
pub mod surface;
mod taper;
mod topology;
pub mod torus;
mod trace;
pub mod tree;
pub mod truck;
mod truck_round;

pub use brep::{Edge, EdgeUse, Face, Lump, Solid};
pub use build::{Effort, Stage};
pub use curve::Curve;
pub use error::BuildError;
pub use frame::Frame;
pub use newton::common_point;
pub use surface::{Cone, Plane, Surface};
pub use torus::Torus;
pub use tree::Tree;
