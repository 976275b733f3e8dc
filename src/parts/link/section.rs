//! A link cut open along the middle of the line, to look into its joint.

use super::easing::Built;
use crate::solid::tree::{prism, rounded_rectangle};
use crate::solid::{Frame, Solid};
use nalgebra::Point3;

/// How far the cutter reaches, mm: beyond everything.
const BEYOND: f64 = 20.0;

/// The link without its half at -y; the whole link where the cut cannot be decided. The cut faces are called `cut`.
#[must_use]
pub fn cut_open(link: &Built) -> Solid {
    let half = prism(
        Frame::at(Point3::new(0.0, 0.0, -BEYOND)),
        rounded_rectangle([-BEYOND, BEYOND], [-BEYOND, 0.0], 0.0, ["cut"; 4]),
        2.0 * BEYOND,
        ["cut", "cut"],
    );
    Solid::build(&link.shape.tree().minus(vec![half])).unwrap_or_else(|_| link.solid.clone())
}
