//! Simple bodies for tests of the kernel.

#![allow(dead_code, clippy::unwrap_used)]

use colletline::solid::tree::{cylinder, prism, rounded_rectangle};
use colletline::solid::{Frame, Tree};
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// Names of the two ends of a body.
pub const ENDS: [&str; 2] = ["low", "high"];

/// A cuboid.
pub fn bar(x: [f64; 2], y: [f64; 2], z: [f64; 2]) -> Tree {
    let frame = Frame::at(Point3::new(0.0, 0.0, z[0]));
    prism(frame, rounded_rectangle(x, y, 0.0, ["front", "right", "back", "left"]), z[1] - z[0], ENDS)
}

/// 4 x 4 x 3 mm.
pub fn block() -> Tree {
    bar([-2.0, 2.0], [-2.0, 2.0], [0.0, 3.0])
}

/// A round bar along z.
pub fn upright(x: f64, y: f64, z: f64, r: f64, h: f64) -> Tree {
    cylinder(Frame::at(Point3::new(x, y, z)), r, h, "round", ENDS)
}

/// A round bar along x through y = 0.
pub fn along_x(x: f64, z: f64, r: f64, h: f64) -> Tree {
    cylinder(Frame::along(Point3::new(x, 0.0, z), &Vector3::x()), r, h, "cross", ENDS)
}

/// 4 x 3 x 1 mm, corners rounded by 0.5 mm.
pub fn plate() -> Tree {
    let sides = ["front", "right", "back", "left"];
    prism(Frame::at(Point3::origin()), rounded_rectangle([-2.0, 2.0], [-1.5, 1.5], 0.5, sides), 1.0, ENDS)
}

/// Area of [`plate`]: 4 x 3 less what four corners of radius 0.5 lack.
pub fn plate_area() -> f64 {
    12.0 - (4.0 - PI) * 0.25
}

/// A round bar through a point, `back` behind it and `ahead` of it.
pub fn bar_along(d: Vector3<f64>, r: f64, back: f64, ahead: f64, name: &str) -> Tree {
    cylinder(Frame::along(Point3::from(d.normalize() * -back), &d), r, back + ahead, name, ENDS)
}
