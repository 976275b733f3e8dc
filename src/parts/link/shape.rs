//! The dimensions of one link and its recipe.
//!
//! Frame: origin in the centre of the underside, x along the line, y across it, z away from the skin. The left end is
//! at -x, the front at +y. Names of faces:
//! - round collet: `collet.outside`, `collet.inside`; square: `collet.outside.right`, `.front`, `.left`, `.back`,
//!   `collet.corner.1` to `.4` (counter-clockwise from +x +y), `collet.inside.*`, `collet.hollow.1` to `.4`;
//! - `collet.rim`, `collet.underside`, `seat` (in collet and claws alike); `opening.front.*` and `opening.back.*`; `claw.1.*` to `claw.4.*`;
//! - wire loop: `bore.left.side`, `bore.left.roof`, `groove.left.side`, `groove.left.roof`, `web.left.*`, whose top is
//!   `bore.left.floor`. What stays of the groove's ceiling beside the web is part of `groove.left.roof`;
//! - hinge tube: `foot.top`, `foot.light`, `block.*`; `knuckle.left.side`, `knuckle.left.end`, `bore.left.side`,
//!   `pocket.left.roof`, `.side`, `.end`.

use super::{claws, collet, hinge, wire};
use crate::solid::Tree;
use crate::units::{Deg, Mm};

/// Everything that shapes the link, finished size. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct LinkShape {
    /// Plan of the collet.
    pub outline: Outline,
    /// Outer radius, or half width, at the underside.
    pub foot_radius: Mm,
    /// Outer radius, or half width, at the rim: half the setting width.
    pub rim_radius: Mm,
    /// Height of the collet.
    pub height: Mm,
    /// Thickness of the wall measured square to its skin.
    pub wall: Mm,
    /// Width of the flat rim outside the seat.
    pub rim_land: Mm,
    /// Full angle of the seat bur.
    pub bur_angle: Deg,
    /// The stone.
    pub stone: StoneShape,
    /// The claws.
    pub claw: ClawShape,
    /// The openings on the two long sides.
    pub opening: OpeningShape,
    /// The filled foot; needed for hinge tubes.
    pub foot: Option<Foot>,
    /// What the ends at -x and +x carry.
    pub ends: [End; 2],
}

/// Plan of the collet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outline {
    /// A cone.
    Round,
    /// Four leaning sides with round corners; a cushion has the larger radii.
    Square {
        /// Radius of the outer corners.
        corner: Mm,
        /// Radius of the inner corners.
        inner_corner: Mm,
    },
}

/// A foot filled from below.
#[derive(Clone, Debug, PartialEq)]
pub struct Foot {
    /// Height it is filled to.
    pub fill: Mm,
    /// Diameter of the hole that lets light to the stone.
    pub light: Mm,
    /// The square block a round collet stands on.
    pub block: Option<Block>,
}

/// A square block with upright walls, as high as the foot is filled.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// Half width along and across the line.
    pub half_width: Mm,
    /// Radius of its upright corners.
    pub corner: Mm,
}

/// What one end of the link carries.
#[derive(Clone, Debug, PartialEq)]
pub enum End {
    /// Nothing: the wall is whole.
    Plain,
    /// Bore, web and groove for a wire loop.
    Loop(LoopJoint),
    /// The two outer knuckles of a hinge, and the pocket for the neighbour's middle one.
    Pair(TubeJoint),
    /// The middle knuckle of a hinge, and the pockets for the neighbour's outer ones.
    Middle(TubeJoint),
}

/// The stone as the claws are cut for it.
#[derive(Clone, Debug, PartialEq)]
pub struct StoneShape {
    /// Girdle diameter.
    pub diameter: Mm,
    /// Height of the lower girdle edge above the underside.
    pub girdle: Mm,
    /// Thickness of the girdle.
    pub girdle_thickness: Mm,
    /// Height of the crown.
    pub crown: Mm,
    /// Diameter of the table.
    pub table: Mm,
}

/// Four upright round claws at 45 degrees.
#[derive(Clone, Debug, PartialEq)]
pub struct ClawShape {
    /// Diameter of the wire.
    pub diameter: Mm,
    /// Distance of a claw's axis from the middle of the link.
    pub circle: Mm,
    /// Height of the foot.
    pub foot: Mm,
    /// Height of the end.
    pub top: Mm,
}

/// A rounded rectangle cut from both long sides.
#[derive(Clone, Debug, PartialEq)]
pub struct OpeningShape {
    /// Width along the line.
    pub width: Mm,
    /// Lower edge.
    pub bottom: Mm,
    /// Upper edge.
    pub top: Mm,
    /// Radius of the corners.
    pub corner: Mm,
    /// Distance from the middle of the link where the cut ends.
    pub stop: Mm,
}

/// Bore, web and groove of one end.
#[derive(Clone, Debug, PartialEq)]
pub struct LoopJoint {
    /// Width of the bore.
    pub bore_width: Mm,
    /// Height of the bore; equal to its width for a round one.
    pub bore_height: Mm,
    /// Depth of the groove in the underside.
    pub groove_depth: Mm,
    /// Width of the groove.
    pub groove_width: Mm,
    /// Height of the web between groove and bore.
    pub web_height: Mm,
    /// Radius of the web's dressed edges.
    pub web_edge: Mm,
}

/// Knuckles, bore and pockets of a hinge, the same at both ends.
#[derive(Clone, Debug, PartialEq)]
pub struct TubeJoint {
    /// Distance of the hinge's axis from the middle of the link: half the pitch.
    pub axis: Mm,
    /// Height of the axis.
    pub height: Mm,
    /// Outside diameter of the tube.
    pub outer: Mm,
    /// Its bore.
    pub bore: Mm,
    /// Length of the whole row of knuckles.
    pub length: Mm,
    /// Share of the row that each outer knuckle takes.
    pub outer_share: f64,
    /// Gap between two knuckles.
    pub side_gap: Mm,
    /// Gap between a knuckle and the pocket it turns in.
    pub pocket_clearance: Mm,
}

impl LinkShape {
    /// Tangent of the skin's angle to the vertical.
    pub(in crate::parts) fn taper(&self) -> f64 {
        (self.rim_radius - self.foot_radius) / self.height
    }
    /// Outer radius or half width at a height.
    pub(super) fn outer(&self, z: f64) -> f64 {
        self.foot_radius.0 + self.taper() * z
    }
    /// Thickness of the wall measured level.
    #[must_use]
    pub fn level_wall(&self) -> Mm {
        self.wall * libm::hypot(1.0, self.taper())
    }
    /// Inner radius or half width at a height.
    pub(in crate::parts) fn inner(&self, z: f64) -> f64 {
        self.outer(z) - self.level_wall().0
    }
    /// Height and radius where the seat cone runs out into the inside of the collet (into the middle of its sides).
    #[must_use]
    pub fn seat_foot(&self) -> (Mm, Mm) {
        let slope = (self.bur_angle / 2.0).tan();
        let edge = self.rim_radius.0 - self.rim_land.0;
        // edge - slope (H - z) = inner(z)
        let z = (self.inner(0.0) - edge + slope * self.height.0) / (slope - self.taper());
        (Mm(z), Mm(self.inner(z)))
    }

    /// The recipe of the finished link.
    #[must_use]
    pub fn tree(&self) -> Tree {
        let sides = [(-1.0, "left"), (1.0, "right")];
        let mut cuts = collet::cuts(self);
        let (mut added, mut pockets, mut bores) = (Vec::new(), Vec::new(), Vec::new());
        for (end, (side, name)) in self.ends.iter().zip(sides) {
            match end {
                End::Plain => {}
                End::Loop(j) => {
                    cuts.push(wire::cut(self, j, side, name));
                    added.push(wire::web(self, j, side, name));
                }
                End::Pair(j) | End::Middle(j) => {
                    let pair = matches!(end, End::Pair(_));
                    pockets.extend(hinge::pockets(j, pair, side, name));
                    added.extend(hinge::knuckles(j, pair, side, name));
                    bores.push(hinge::bore(j, side, name));
                }
            }
        }
        let collet = collet::body(self).minus(cuts);
        if pockets.is_empty() {
            // Claws stand clear of a wire loop.
            added.push(claws::claws(self));
            return collet.plus(added);
        }
        collet.plus(vec![claws::claws(self)]).minus(pockets).plus(added).minus(bores)
    }
}
