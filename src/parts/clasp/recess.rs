//! Recesses for the two ends of a hinge's pin, and the eyes that the safety chain hangs in.

use super::kit::{Stretch, bar_x};
use super::shape::{ClaspShape, Row};
use crate::params::{EYE_RIM, EYE_THICK};
use crate::solid::tree::{ArcTo, Corner, prism, revolve};
use crate::solid::{BuildError, Frame, Solid, Tree};
use nalgebra::{Point3, Vector3};

/// How far cutters reach beyond what they cut, mm.
const BEYOND: f64 = 0.05;
/// How deep an eye is let into rail or plate, mm.
const LET_IN: f64 = 0.25;
/// How far an eye stands off what is beside and over its foot, mm.
const OFF: f64 = 0.05;

/// The ball of a cup at the front end of a row: its middle along y, its radius.
fn ball(s: &ClaspShape, row: &Row) -> (f64, f64) {
    (row.half + s.pin.bead / 2.0 - s.pin.sunk, s.pin.bead / 2.0)
}

/// What is cut from the outer knuckles of a row: at the front the cone through the two circles of the bead's cup, which
/// [`cups`] makes a ball's; at the back the countersink of the rivet, 90 deg, 1.5 times the pin.
pub(super) fn cutters(s: &ClaspShape, row: &Row) -> Vec<Tree> {
    let bore = row.bore / 2.0;
    let (middle, ball) = ball(s, row);
    let at = |r: f64| middle - (ball * ball - r * r).max(0.0).sqrt();
    let mouth = (ball * ball - (middle - row.half) * (middle - row.half)).max(0.0).sqrt();
    let rivet = 0.75 * s.pin.wire;
    vec![
        cone("cup", row, 1.0, [bore, at(bore)], [mouth, row.half]),
        cone("countersink", row, -1.0, [bore, row.half - (rivet - bore)], [rivet, row.half]),
    ]
}

/// A cone about the axis of a row through two circles, given as radius and distance from the middle, on one side of it; it reaches
/// beyond both.
fn cone(name: &str, row: &Row, side: f64, inner: [f64; 2], outer: [f64; 2]) -> Tree {
    let slope = (outer[1] - inner[1]) / (outer[0] - inner[0]);
    let beyond = |r: f64, by: f64| [r + by, inner[1] + (r + by - inner[0]) * slope];
    let (low, high) = (beyond(inner[0], -inner[0] / 2.0), beyond(outer[0], BEYOND));
    let frame = Frame::with_axes(Point3::new(row.at[0], 0.0, row.at[1]), Vector3::z(), Vector3::x() * side);
    revolve(
        frame,
        &[(0.0, low[1], name), (low[0], low[1], name), (high[0], high[1], name), (0.0, high[1], "")],
    )
}

/// Makes the cup of a row a ball's.
pub(super) fn cups(solid: Solid, s: &ClaspShape, row: &Row) -> Result<Solid, BuildError> {
    let (middle, ball) = ball(s, row);
    solid.with_ball_cup("cup", &Point3::new(row.at[0], middle, row.at[1]), ball)
}

/// An eye at the back (-y), upright across the line about x, its foot let into rail or plate between two heights, with so much left
/// on its surfaces; and its hole, of that diameter.
pub(super) fn eye(s: &ClaspShape, x: f64, middle: f64, foot: Stretch, (more, hole): (f64, f64)) -> [Tree; 2] {
    let finished = s.eye / 2.0 + EYE_RIM.get();
    let round = finished + more;
    let (low, high) = (middle - round, middle + round);
    let side = -(s.half_width + OFF);
    let (into, y) = (LET_IN - s.half_width, side - finished);
    let low = if (foot[0] - low).abs() < 1e-9 { foot[0] } else { low };
    let corner = |y: f64, z: f64, name: &str| Corner { at: [y, z], arc: None, name: format!("eye.{name}") };
    // Counter-clockwise seen from +x, y to the right: from the foot's lower corner up, over the round, and back.
    let mut profile = vec![
        corner(into, foot[0], "foot"),
        corner(into, foot[1], "foot"),
        corner(side, foot[1], "inside"),
        corner(side, high, "top"),
        Corner { arc: Some(ArcTo { centre: [y, middle], ccw: true }), ..corner(y, high, "round") },
        corner(y, low, "under"),
    ];
    if foot[0] - low > 1e-9 {
        profile.push(corner(side, low, "inside"));
        profile.push(corner(side, foot[0], "foot"));
    }
    let half = EYE_THICK.get() / 2.0 + more;
    let along = [x - half, x + half];
    let frame = Frame::with_axes(Point3::new(along[0], 0.0, 0.0), Vector3::y(), Vector3::z());
    let body = prism(frame, profile, along[1] - along[0], ["eye.left", "eye.right"]);
    let hole = bar_x("eye.hole", [y, middle], hole / 2.0, [along[0] - 0.2, along[1] + 0.2]);
    [body, hole]
}
