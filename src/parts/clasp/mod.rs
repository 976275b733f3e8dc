//! The folding clasp: base plate, fall-away leaf, frame with stones, and what is cut from hard stock.
//!
//! Frame of all parts, shut: x = 0 where the cell of the clasp's first stone begins, y across, z = 0 the underside of the line.
//! Pins, rivets and what the chain is made of stand about the origin; [`crate::parts::line`] places pins and rivets. Not on the
//! solids yet: dressed edges.

mod bent;
mod build;
mod frame;
mod kit;
mod leaf;
mod master;
mod plate;
mod recess;
mod shape;
mod small;

pub use build::{ClaspPart, build, recipe};
pub use master::FrameMaster;

#[cfg(test)]
mod tests;
