//! Links of every kind, built from bare dimensions.

use super::*;
use crate::mesh;
use crate::units::{Deg, Mm, Tolerance};

/// Girdle height over the rim, and the rest of the stone, from common proportions (girdle 2.5 %, crown 14.5 %, table 55 %).
fn stone(diameter: f64, rim: f64, land: f64, height: f64) -> StoneShape {
    StoneShape {
        diameter: Mm(diameter),
        girdle: Mm(height + diameter / 2.0 - rim + land),
        girdle_thickness: Mm(0.025 * diameter),
        crown: Mm(0.145 * diameter),
        table: Mm(0.55 * diameter),
    }
}

/// A square 4.0 link of platinum with a wire loop.
fn square() -> LinkShape {
    let j = LoopJoint {
        bore_width: Mm(0.60),
        bore_height: Mm(0.75),
        groove_depth: Mm(0.45),
        groove_width: Mm(0.62),
        web_height: Mm(0.60),
        web_edge: Mm(0.22),
    };
    LinkShape {
        outline: Outline::Square { corner: Mm(0.35), inner_corner: Mm(0.10) },
        foot_radius: Mm(1.84),
        rim_radius: Mm(2.05),
        height: Mm(2.75),
        wall: Mm(0.50),
        rim_land: Mm(0.30),
        bur_angle: Deg(90.0),
        stone: stone(4.0, 2.05, 0.30, 2.75),
        claw: ClawShape { diameter: Mm(0.95), circle: Mm(2.233), foot: Mm(0.80), top: Mm(3.506) },
        opening: OpeningShape {
            width: Mm(3.0),
            bottom: Mm(0.80),
            top: Mm(2.05),
            corner: Mm(0.50),
            stop: Mm(0.75),
        },
        foot: None,
        ends: [End::Loop(j.clone()), End::Loop(j)],
    }
}

/// A cushion 3.0 link of silver with hinge tubes.
fn cushion() -> LinkShape {
    let j = TubeJoint {
        axis: Mm(1.625),
        height: Mm(0.62),
        outer: Mm(1.20),
        bore: Mm(0.50),
        length: Mm(2.10),
        outer_share: 0.30,
        side_gap: Mm(0.04),
        pocket_clearance: Mm(0.06),
    };
    LinkShape {
        outline: Outline::Square { corner: Mm(0.35), inner_corner: Mm(0.15) },
        foot_radius: Mm(1.20),
        rim_radius: Mm(1.55),
        height: Mm(2.70),
        wall: Mm(0.45),
        rim_land: Mm(0.25),
        bur_angle: Deg(90.0),
        stone: stone(3.0, 1.55, 0.25, 2.70),
        claw: ClawShape { diameter: Mm(0.75), circle: Mm(1.667), foot: Mm(0.67), top: Mm(3.30) },
        opening: OpeningShape {
            width: Mm(1.9),
            bottom: Mm(1.20),
            top: Mm(2.05),
            corner: Mm(0.30),
            stop: Mm(0.80),
        },
        foot: Some(Foot { fill: Mm(1.10), light: Mm(1.0), block: None }),
        ends: [End::Middle(j.clone()), End::Pair(j)],
    }
}

/// The same as a round collet on a foot block.
fn block() -> LinkShape {
    let mut s = cushion();
    s.outline = Outline::Round;
    s.claw.foot = Mm(1.30);
    s.opening.stop = Mm(0.70);
    s.opening.width = Mm(1.4);
    s.foot = Some(Foot {
        fill: Mm(1.10),
        light: Mm(1.0),
        block: Some(Block { half_width: Mm(1.40), corner: Mm(0.30) }),
    });
    s
}

#[test]
fn every_kind_of_link_builds_and_meshes() {
    for (name, shape) in [("square", square()), ("cushion", cushion()), ("block", block())] {
        let t = std::time::Instant::now();
        let built = build(&shape).unwrap_or_else(|e| panic!("{name}: {e}"));
        let took = t.elapsed();
        let mesh = mesh::checked(&built.solid, Tolerance::new(0.005).unwrap())
            .unwrap_or_else(|e| panic!("{name}: {e}"));
        println!("{name} {took:?} {:?} {:?} {}", built.easings, built.effort, built.solid.faces.len());
        println!("{:?}", mesh.exact);
    }
}
