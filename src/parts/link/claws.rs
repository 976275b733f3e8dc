//! Four upright claws, and what the seat bur and the stone take out of them.

use super::shape::LinkShape;
use crate::solid::tree::{cylinder, revolve};
use crate::solid::{Frame, Tree};
use nalgebra::Point3;

/// All four, cut for the stone.
pub(super) fn claws(shape: &LinkShape) -> Tree {
    uncut(shape).minus(vec![setting(shape)])
}

/// All four as they stand before setting.
pub(super) fn uncut(shape: &LinkShape) -> Tree {
    let c = &shape.claw;
    let r = c.circle.0 * std::f64::consts::FRAC_1_SQRT_2;
    let round = |(i, (x, y)): (usize, (f64, f64))| {
        let n = |part: &str| format!("claw.{}.{part}", i + 1);
        cylinder(
            Frame::at(Point3::new(x * r, y * r, c.foot.0)),
            c.diameter.0 / 2.0,
            c.top.0 - c.foot.0,
            &n("side"),
            [&n("foot"), &n("top")],
        )
    };
    let all = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)].into_iter().enumerate().map(round);
    Tree::Union(all.collect())
}

/// What the seat bur and the stone take out of the claws: the bur's cone up to the girdle, the girdle, the crown.
fn setting(shape: &LinkShape) -> Tree {
    let s = &shape.stone;
    let r = s.diameter.0 / 2.0;
    let apex = s.girdle.0 - r / (shape.bur_angle / 2.0).tan();
    let girdle = s.girdle.0 + s.girdle_thickness.0;
    revolve(
        Frame::at(Point3::origin()),
        &[
            (0.0, apex, "seat"),
            (r, s.girdle.0, "claw.girdle"),
            (r, girdle, "claw.crown"),
            (s.table.0 / 2.0, girdle + s.crown.0, "claw.table"),
            (0.0, girdle + s.crown.0, ""),
        ],
    )
}
