//! From a checked design to the shape of its link.

use super::shape::{ClawShape, End, LinkShape, LoopJoint, OpeningShape, Outline, StoneShape};
use crate::params::{Design, Key};
use crate::trade::stones::{CROWN, GIRDLE, TABLE};
use crate::units::{Deg, Mm};

impl LinkShape {
    /// The finished link of a design.
    #[must_use]
    pub fn finished(design: &Design) -> Self {
        let d = design.dims();
        let mm = |k: Key| Mm(design.get(k));
        let diameter = mm(Key::Diameter);
        let joint = LoopJoint {
            bore_width: mm(Key::BoreWidth),
            bore_height: mm(Key::BoreHeight),
            groove_depth: mm(Key::GrooveDepth),
            groove_width: mm(Key::GrooveWidth),
            web_height: mm(Key::WebHeight),
            web_edge: mm(Key::WebEdge),
        };
        let [left, right] = design.joints();
        Self {
            outline: Outline::Round,
            foot: None,
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
            ends: [left, right].map(|j| if j { End::Loop(joint.clone()) } else { End::Plain }),
        }
    }

    /// The link as a printer is given it to try the joint: finished size, bores and grooves opened.
    #[must_use]
    pub fn trial(design: &Design) -> Self {
        Self::finished(&design.trial())
    }
}
