//! From a checked design to the shape of its link.

use super::shape::{
    Block, ClawShape, End, Foot, LinkShape, LoopJoint, OpeningShape, Outline, StoneShape, TubeJoint,
};
use crate::params::{Design, Key};
use crate::trade::stones::{CROWN, GIRDLE, TABLE};
use crate::units::{Deg, Mm};

/// Word number of a mirrored link in the list of link kinds.
const MIRRORED: usize = 3;

impl LinkShape {
    /// The finished link of a design.
    #[must_use]
    pub fn finished(design: &Design) -> Self {
        let d = design.dims();
        let mm = |k: Key| Mm(design.get(k));
        let diameter = mm(Key::Diameter);
        let square = design.word(Key::Shape) != 0;
        let hinged = design.word(Key::Joint) != 0;
        let corner = mm(Key::CornerRadius);
        Self {
            outline: if square {
                Outline::Square { corner, inner_corner: mm(Key::InnerCornerRadius) }
            } else {
                Outline::Round
            },
            foot: hinged.then(|| Foot {
                fill: mm(Key::FootFill),
                light: mm(Key::LightHole),
                block: (!square).then(|| Block { half_width: mm(Key::BlockHalfWidth), corner }),
            }),
            foot_radius: mm(Key::FootHalfWidth),
            rim_radius: d.rim_radius,
            height: mm(Key::Height),
            wall: mm(Key::Wall),
            rim_land: mm(Key::RimLand),
            bur_angle: Deg(design.get(Key::BurAngle)),
            stone: StoneShape {
                diameter,
                girdle: d.girdle,
                girdle_thickness: diameter * GIRDLE,
                crown: diameter * CROWN,
                table: diameter * TABLE,
            },
            claw: ClawShape {
                diameter: mm(Key::ClawDiameter),
                circle: d.claw_axis,
                foot: d.claw_foot,
                top: d.claw_top,
            },
            opening: OpeningShape {
                width: mm(Key::OpeningWidth),
                bottom: mm(Key::OpeningBottom),
                top: mm(Key::OpeningTop),
                corner: d.opening_corner,
                stop: mm(Key::OpeningStop),
            },
            ends: ends(design),
        }
    }

    /// The link as a printer is given it to try the joint: finished size, bores and grooves opened.
    #[must_use]
    pub fn trial(design: &Design) -> Self {
        Self::finished(&design.trial())
    }
}

/// What each end carries. The outer pair of a hinge stands at the right end, on a mirrored link at the left one.
fn ends(design: &Design) -> [End; 2] {
    let mm = |k: Key| Mm(design.get(k));
    let hinged = design.word(Key::Joint) != 0;
    let mirrored = design.word(Key::LinkKind) == MIRRORED;
    let [left, right] = design.joints();
    let end = |carries: bool, pair: bool| {
        if !carries {
            End::Plain
        } else if hinged {
            let j = TubeJoint {
                axis: design.dims().pitch / 2.0,
                height: mm(Key::TubeHeight),
                outer: mm(Key::TubeOuter),
                bore: mm(Key::TubeBore),
                length: mm(Key::TubeLength),
                outer_share: design.get(Key::OuterShare),
                side_gap: mm(Key::SideGap),
                pocket_clearance: mm(Key::PocketClearance),
            };
            if pair { End::Pair(j) } else { End::Middle(j) }
        } else {
            End::Loop(LoopJoint {
                bore_width: mm(Key::BoreWidth),
                bore_height: mm(Key::BoreHeight),
                groove_depth: mm(Key::GrooveDepth),
                groove_width: mm(Key::GrooveWidth),
                web_height: mm(Key::WebHeight),
                web_edge: mm(Key::WebEdge),
            })
        }
    };
    [end(left, mirrored), end(right, !mirrored)]
}
