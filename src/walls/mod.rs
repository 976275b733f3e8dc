//! Wall thickness of the exact solid: between named faces, and over the whole part.
//!
//! Definition. For boundary points p, q with outward normals N(p), N(q), the fan of normals at a reflex edge, and
//! d = (q - p) / |q - p|:
//!
//! `t_delta = inf { |q - p| : angle(d, -N(p)) <= delta and angle(d, N(q)) <= delta }`
//!
//! [`measure()`] takes it between two sets of named faces, [`proof`] over a whole part or mesh, [`thinnest()`] over all
//! pairs of faces of a small solid without a mesh (a second way to the same number), [`map`] looks under every point of a fine mesh, [`acute_edges`] lists where two faces meet in a blade, [`judge`] compares a result with a limit. Every result is an interval with a real
//! chord as its upper bound. How the lower bound is proved is told in `search.rs`. Limits of the proof:
//! - the contract of [`crate::solid::Solid`] is taken for granted, with edges within 1e-7 mm of their surfaces;
//! - rounding is covered by 1e-12 mm a bound, for coordinates below 100 mm, not by directed rounding;
//! - a ball of 1e-5 mm about the places where faces touch and may oppose each other is left out of [`thinnest()`] and
//!   listed; near them its searches may run out of their budget, and then [`PartWalls::proved`] is false;
//! - [`proof`] settles chords with both ends within 4 um (less where faces bend tightly) of one corner, between faces that
//!   meet there, by the directions at the corner, widened by what faces and edges can turn by so near to it (`proof/corner.rs`);
//! - [`thinnest()`] does not search the fan of normals at a vertex where only reflex edges meet (the bottom corner
//!   of a pocket) beyond the fans of its edges; [`proof`] does.

mod acute;
mod cell;
mod clearance;
pub mod field;
mod foot;
mod gap;
mod interval;
mod level;
mod measure;
pub mod proof;
mod region;
mod search;
mod thinnest;

#[cfg(test)]
mod testkit;
#[cfg(test)]
mod tests;

pub use acute::{AcuteEdge, acute_edges};
pub use clearance::{Placed, clearance};
pub use interval::{Interval, Judgement, judge};
pub use level::levels;
pub use measure::{DELTA_CAST, DELTA_WEAR, How, Kind, MeasureError, Measured, measure, measure_within};
pub use proof::map;
pub use thinnest::{Contact, PartWalls, Thinnest, thinnest};
