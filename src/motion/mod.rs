//! How far a joint swings before something touches.
//!
//! [`Joint`] is two links with their wire or pin and their stones; [`measure()`] says of each movement how far it goes, what
//! meets, and whether closed forms and limits of the trade agree. [`measure_clasp()`] does the same for the folding clasp.
//!
//! [`Pair`] is two groups of meshed solids, the second turning about an axis. [`swing()`] gives the angle of first contact as
//! an interval: up to its lower bound a path of poses is proved free, at its upper bound contact is proved. In both, each
//! facet counts with the distance that its mesh proves it may lie from its face. What is taken for granted:
//! - that distance bounds the way from the face to its facets as well as from the facets to the face, since facets and faces
//!   share their borders and lie over one another;
//! - rounding is covered by 1e-11 mm a distance, for coordinates below 100 mm, not by directed rounding.

mod advance;
mod block;
mod body;
mod carry;
mod centre;
mod clasp;
mod clasp_says;
mod close;
mod closed;
mod joint;
mod measure;
mod movers;
mod near;
mod place;
mod swing;
mod told;
mod triangle;
mod walk;

#[cfg(test)]
mod tests;

pub use advance::{Path, Play, advance, settled};
pub use block::{Blocked, blocked};
pub use body::Body;
pub use clasp::{ClaspMotion, ClaspMoved, RestGap, TongueMotion, measure_clasp, rest_gaps};
pub use clasp_says::words as clasp_words;
pub use closed::{ClosedForm, Is, closed_form};
pub use joint::{Joint, MotionError, Movement};
pub use measure::{JointMotion, MeasureError, Measured, MotionFinding, Moved, measure};
pub use movers::movers;
pub use near::{Near, Pair};
pub use place::{Place, Pose, Turn};
pub use swing::{Swing, swing};
pub use told::{Told, bounds, told};
