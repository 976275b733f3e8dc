//! The end of a link for a wire loop: groove, bore and the web between them.

use super::shape::{LinkShape, LoopJoint};
use crate::solid::surface::SAME;
use crate::solid::tree::{ArcTo, Corner, prism, rounded_rectangle};
use crate::solid::{Frame, Tree};
use nalgebra::{Point3, Vector3};

/// A radius well inside the cavity, where the cuts through an end wall may begin.
pub(super) fn cavity(shape: &LinkShape) -> f64 {
    shape.inner(0.0) * 0.5
}

/// Groove and slot of one end as one cutter: bore and web's room above the groove.
pub(super) fn cut(shape: &LinkShape, j: &LoopJoint, side: f64, name: &str) -> Tree {
    let from = cavity(shape);
    let length = shape.rim_radius.0 + 1.0 - from;
    // Profile in (y, z), swept along +x from inside the cavity, or along -x with y reversed.
    let y = Vector3::y() * side;
    let frame = Frame::with_axes(Point3::new(side * from, 0.0, 0.0), y, Vector3::z());
    let (half, wide) = (j.bore_width.0 / 2.0, j.groove_width.0 / 2.0);
    let floor = j.groove_depth.0;
    let spring = floor + j.web_height.0 + j.bore_height.0 - half;
    let part = |feature: &str, part: &str| format!("{feature}.{name}.{part}");
    let (wall, ledge, flank) = (part("groove", "side"), part("groove", "roof"), part("bore", "side"));
    let corner = |at, name: &str| Corner { at, arc: None, name: name.to_owned() };
    let mut profile = vec![
        // The cutter begins below the skin.
        corner([-wide, -1.0], &part("groove", "below")),
        corner([wide, -1.0], &wall),
    ];
    // Groove and bore of one width leave no ledge.
    let stepped = (wide - half).abs() > SAME;
    if stepped {
        profile.extend([corner([wide, floor], &ledge)]);
    }
    profile.push(corner([half, floor], &flank));
    profile.push(Corner {
        at: [half, spring],
        arc: Some(ArcTo { centre: [0.0, spring], ccw: true }),
        name: part("bore", "roof"),
    });
    profile.push(corner([-half, spring], &flank));
    profile.push(corner([-half, floor], if stepped { &ledge } else { &wall }));
    if stepped {
        profile.push(corner([-wide, floor], &wall));
    }
    prism(frame, profile, length, ["joint.inner", "joint.outer"])
}

/// The bar between groove and bore.
pub(super) fn web(shape: &LinkShape, j: &LoopJoint, side: f64, name: &str) -> Tree {
    let depth = shape.level_wall().0;
    let middle = shape.outer(j.groove_depth.0 + j.web_height.0 / 2.0) - depth / 2.0;
    let half = j.bore_width.0 / 2.0;
    // Profile in (x, z) away from the link's middle, swept across the bore.
    let frame = Frame::with_axes(Point3::new(0.0, side * half, 0.0), Vector3::x() * side, Vector3::z());
    let n = |part: &str| format!("web.{name}.{part}");
    let (under, outside, top, inside) =
        (format!("groove.{name}.roof"), n("outside"), format!("bore.{name}.floor"), n("inside"));
    let z = [j.groove_depth.0, j.groove_depth.0 + j.web_height.0];
    let mut profile = rounded_rectangle(
        [middle - depth / 2.0, middle + depth / 2.0],
        z,
        j.web_edge.0,
        [&under, &outside, &top, &inside],
    );
    for c in &mut profile {
        if c.arc.is_some() {
            c.name = n("edge");
        }
    }
    let end = format!("bore.{name}.side");
    prism(frame, profile, j.bore_width.0, [&end, &end])
}
