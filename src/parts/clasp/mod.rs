//! The folding clasp: base plate, fall-away leaf, frame with stones, and what is cut from hard stock.
//!
//! Frame of all parts, shut: x = 0 where the cell of the clasp's first stone begins, y across, z = 0 the underside of the line.
//! Pins and rivets stand about the origin; [`crate::parts::line`] places them. Not on the solids yet: the cups of pin beads, the
//! eyes of the chain, dressed edges.

mod build;
mod frame;
mod kit;
mod leaf;
mod master;
mod plate;
mod shape;
mod small;

pub use build::{ClaspPart, build, recipe};
pub use master::FrameMaster;

#[cfg(test)]
mod tests;
