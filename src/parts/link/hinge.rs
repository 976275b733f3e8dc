//! The end of a link for a hinge tube: knuckles, the pockets its neighbour's knuckles turn in, and the bore.
//!
//! One end carries the two outer knuckles, the other the middle one; the axis lies on the boundary of two links.

use super::shape::TubeJoint;
use crate::solid::tree::{ArcTo, Corner, cylinder, prism};
use crate::solid::{Frame, Tree};
use nalgebra::{Point3, Vector3};

/// How far the drill and the outer pockets run to the sides, mm: beyond everything.
const BEYOND: f64 = 10.0;
/// How far the pockets begin below the skin, mm: clear of it.
const BELOW: f64 = 1.0;

/// A bar about the hinge's axis between two places across the link.
fn bar(j: &TubeJoint, side: f64, radius: f64, y: [f64; 2], name: &str, end: &str) -> Tree {
    let from = Point3::new(side * j.axis.0, y[0], j.height.0);
    let frame = Frame::with_axes(from, Vector3::z(), Vector3::x());
    cylinder(frame, radius, y[1] - y[0], name, [end, end])
}

impl TubeJoint {
    /// Where the outer knuckles begin, measured from the middle of the row.
    pub(super) fn boundary(&self) -> f64 {
        self.length.0 * (0.5 - self.outer_share)
    }
    /// Width of the pocket between the outer knuckles, mm; the outer pockets run out to the sides.
    #[must_use]
    pub fn pocket(&self) -> f64 {
        2.0 * self.boundary()
    }
    /// Length of the longest knuckle, mm.
    #[must_use]
    pub fn longest_knuckle(&self) -> f64 {
        (self.length.0 / 2.0 - self.boundary()).max(2.0 * (self.boundary() - self.side_gap.0))
    }
    /// The stretches across the link that the outer knuckles take.
    fn outer_stretches(&self) -> [[f64; 2]; 2] {
        let (inner, outer) = (self.boundary(), self.length.0 / 2.0);
        [[inner, outer], [-outer, -inner]]
    }
}

/// Room for the neighbour's knuckles: round over the axis, open below it, so that no lip as thin as a knife stays under the
/// knuckle.
pub(in crate::parts) fn pockets(j: &TubeJoint, pair: bool, side: f64, end: &str) -> Vec<Tree> {
    let radius = j.outer.0 / 2.0 + j.pocket_clearance.0;
    let name = |part: &str| format!("pocket.{end}.{part}");
    let (roof, wall, flank, below) = (name("roof"), name("side"), name("end"), name("below"));
    let cut = |y: [f64; 2]| {
        // Profile in (x, z) about the axis, swept along y.
        let frame = Frame::with_axes(Point3::new(side * j.axis.0, y[1], 0.0), Vector3::x(), Vector3::z());
        let corner = |at, name: &str| Corner { at, arc: None, name: name.to_owned() };
        let arc = ArcTo { centre: [0.0, j.height.0], ccw: true };
        let profile = vec![
            corner([-radius, -BELOW], &below),
            corner([radius, -BELOW], &wall),
            Corner { at: [radius, j.height.0], arc: Some(arc), name: roof.clone() },
            corner([-radius, j.height.0], &wall),
        ];
        prism(frame, profile, y[1] - y[0], [&flank, &flank])
    };
    if pair {
        return vec![cut([-j.boundary(), j.boundary()])];
    }
    // Out through the sides: what would stay beside the neighbour's outer knuckles is a horn too thin to keep.
    let from = j.boundary() - j.side_gap.0;
    vec![cut([from, BEYOND]), cut([-BEYOND, -from])]
}

/// The knuckles of this end.
pub(in crate::parts) fn knuckles(j: &TubeJoint, pair: bool, side: f64, end: &str) -> Vec<Tree> {
    let (name, flank) = (format!("knuckle.{end}.side"), format!("knuckle.{end}.end"));
    let knuckle = |y| bar(j, side, j.outer.0 / 2.0, y, &name, &flank);
    if pair {
        return j.outer_stretches().map(knuckle).into();
    }
    let half = j.boundary() - j.side_gap.0;
    vec![knuckle([-half, half])]
}

/// The bore, drilled right through so that the pin can be drawn in from the side.
pub(in crate::parts) fn bore(j: &TubeJoint, side: f64, end: &str) -> Tree {
    let name = format!("bore.{end}.side");
    bar(j, side, j.bore.0 / 2.0, [-BEYOND, BEYOND], &name, "bore.out")
}
