//! Where every part of the bracelet is: laid straight, round the wrist, the clasp shut or open.
//!
//! World frame: that of the clasp's base plate, x along the line, z away from the skin. A [`Piece`] says which part stands where; its
//! frame is the image of the part's own frame.
//!
//! The line is a chain of rigid cells that turn about axes along y at the height of the joint, on the boundaries of the cells. Of a
//! wire loop that is the middle of the loop, whose play is left out.

use crate::params::{Design, Key};
use crate::solid::Frame;
use crate::units::Deg;
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// How the bracelet lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pose {
    /// The line straight, to the right of the shut clasp; the joint between clasp and last link is undone.
    Straight,
    /// Closed round the wrist, the clasp shut.
    Wrist,
    /// The line straight, to the right of the plate; the leaf swung open by this angle from 0 to 180 degrees, the frame parallel to
    /// the plate.
    Open(Deg),
}

/// One part in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Name of the part: `link`, `stone`, `joint`, or a part of the clasp such as `clasp.leaf`.
    pub part: &'static str,
    /// Which one of its kind, from 0. Stones count from the left end of the clasp, links and joints from its right end.
    pub number: usize,
    /// Image of the part's own frame.
    pub frame: Frame,
}

/// Turned by `angle` radians about +y (x towards -z) round the point (x, z), as the image of a frame.
fn turned(frame: &Frame, [x, z]: [f64; 2], angle: f64) -> Frame {
    let (s, c) = libm::sincos(angle);
    let to = Frame::with_axes(Point3::origin(), Vector3::new(c, 0.0, -s), Vector3::y());
    let about = to.point(x, 0.0, z);
    let to = Frame { origin: Point3::new(x - about.x, 0.0, z - about.z), ..to };
    frame.inside(&to)
}

/// How far the side catches are swung out while the clasp is open.
const CATCH_OUT: Deg = Deg(60.0);

/// Turned by `angle` radians about +x (y towards z) round the point (y, z).
fn swung([y, z]: [f64; 2], angle: f64) -> Frame {
    let (s, c) = libm::sincos(angle);
    let turn = Frame::with_axes(Point3::origin(), Vector3::x(), Vector3::new(0.0, c, s));
    let moved = turn.point(0.0, y, z);
    Frame { origin: Point3::new(0.0, y - moved.y, z - moved.z), ..turn }
}

fn shifted(x: f64, z: f64) -> Frame {
    Frame::at(Point3::new(x, 0.0, z))
}

/// Every part of the bracelet in its place. Of a bought clasp nothing is placed but the room it takes.
#[must_use]
pub fn pieces(design: &Design, pose: Pose) -> Vec<Piece> {
    let mut out = Vec::new();
    clasp(design, pose, &mut out);
    line(design, pose, &mut out);
    out
}

/// Links, their stones and the joints, from the right end of the clasp on.
fn line(design: &Design, pose: Pose, out: &mut Vec<Piece>) {
    let d = design.dims();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let (all, on_clasp) = (design.get(Key::Count) as usize, design.get(Key::ClaspCount) as usize);
    let (p, z) = (d.pitch.get(), d.joint_height.get());
    #[allow(clippy::cast_precision_loss)]
    let length = p * on_clasp as f64;
    let links = all.saturating_sub(on_clasp);
    let (turn, first) = match pose {
        Pose::Wrist => turns(p, length, links),
        Pose::Straight | Pose::Open(_) => (0.0, 0.0),
    };
    // The boundary of the next cell, as the image of a frame with the boundary at x = 0.
    let mut at = shifted(length, 0.0);
    for i in 0..=links {
        let angle = if i == 0 || i == links { first } else { turn };
        let here = Frame { ..shifted(0.0, 0.0) };
        // The joint lies half way between its two neighbours.
        out.push(Piece { part: "joint", number: i, frame: turned(&here, [0.0, z], angle / 2.0).inside(&at) });
        if i == links {
            break;
        }
        at = turned(&here, [0.0, z], angle).inside(&at);
        let link = shifted(p / 2.0, 0.0).inside(&at);
        out.push(Piece { part: "link", number: i, frame: link });
        out.push(Piece { part: "stone", number: on_clasp + i, frame: link });
        at = shifted(p, 0.0).inside(&at);
    }
}

/// Turn between two links, and between the clasp and a link, in radians, of the closed line: a polygon of `links` sides `p` and one
/// side `c` in one circle, found by halving its radius.
fn turns(p: f64, c: f64, links: usize) -> (f64, f64) {
    #[allow(clippy::cast_precision_loss)]
    let n = links as f64;
    let half = |side: f64, r: f64| libm::asin((side / 2.0 / r).min(1.0));
    let whole = |r: f64| n * half(p, r) + half(c, r);
    let (mut low, mut high) = (p.max(c) / 2.0, (n * p + c).max(1e-6));
    for _ in 0..200 {
        let mid = f64::midpoint(low, high);
        if whole(mid) > PI { low = mid } else { high = mid }
    }
    (2.0 * half(p, high), half(p, high) + half(c, high))
}

/// The parts of the folding clasp and its stones.
fn clasp(design: &Design, pose: Pose, out: &mut Vec<Piece>) {
    let d = design.dims();
    let Some(c) = &d.clasp else { return };
    let home = shifted(0.0, 0.0);
    let k = [c.back_x.get(), design.get(Key::ClaspBack)];
    let f = [c.front_x.get(), design.get(Key::ClaspFront)];
    let open = if let Pose::Open(a) = pose { a.radians() } else { 0.0 };
    // The leaf swings upwards about the back hinge; the frame goes with the front one and stays parallel.
    let leaf = turned(&home, k, -open);
    let front = leaf.point(f[0], 0.0, f[1]);
    let frame = shifted(front.x - f[0], front.z - f[1]);
    let mut add = |part, number, frame| out.push(Piece { part, number, frame });
    for part in ["clasp.plate", "clasp.strip.front", "clasp.strip.back"] {
        add(part, 0, home);
    }
    add("clasp.leaf", 0, leaf);
    add("clasp.frame", 0, frame);
    // The side catches swing outwards before the clasp opens.
    let out_by = open.min(CATCH_OUT.radians());
    for (part, side) in [("clasp.catch.front", 1.0), ("clasp.catch.back", -1.0)] {
        let swung = swung([side * c.catch_y.get(), c.catch_z.get()], side * out_by);
        add(part, 0, swung.inside(&frame));
    }
    add("clasp.pin", 0, shifted(k[0], k[1]));
    add("clasp.pin", 1, shifted(f[0], f[1]).inside(&frame));
    for (number, [x, y]) in c.rivets(design.get(Key::FootWidth)).into_iter().enumerate() {
        add("clasp.rivet", number, Frame::at(Point3::new(x, y, 0.0)));
    }
    let p = d.pitch.get();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    for number in 0..design.get(Key::ClaspCount) as usize {
        #[allow(clippy::cast_precision_loss)]
        let x = (number as f64 + 0.5) * p;
        add("stone", number, shifted(x, 0.0).inside(&frame));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::read;

    const A: &str = include_str!("../../params/line-4.0-platinum.jsonc");

    #[test]
    fn the_line_closes_round_the_wrist() {
        let design = read(A).unwrap();
        let z = design.dims().joint_height.get();
        let all = pieces(&design, Pose::Wrist);
        let joints: Vec<&Piece> = all.iter().filter(|p| p.part == "joint").collect();
        assert_eq!(joints.len(), 38);
        // The last joint comes back to the left end of the clasp.
        let end = joints[37].frame.point(0.0, 0.0, z);
        assert!((end - Point3::new(0.0, 0.0, z)).norm() < 1e-9, "{end}");
        // Links follow each other at the pitch, and bend inwards, towards -z.
        let links: Vec<&Piece> = all.iter().filter(|p| p.part == "link").collect();
        assert_eq!(links.len(), 37);
        assert!(links[0].frame.x.z < 0.0);
        for (a, b) in links.iter().zip(&links[1..]) {
            let (right, left) = (a.frame.point(2.1, 0.0, z), b.frame.point(-2.1, 0.0, z));
            assert!((right - left).norm() < 1e-9);
        }
        assert_eq!(all.iter().filter(|p| p.part == "stone").count(), 42);
    }

    #[test]
    fn the_turns_are_those_of_a_polygon_in_a_circle() {
        // A clasp as long as a link: a regular polygon.
        let (turn, first) = turns(4.2, 4.2, 41);
        assert!((turn - 2.0 * PI / 42.0).abs() < 1e-12 && (first - turn).abs() < 1e-12);
    }

    #[test]
    fn the_frame_lifts_bodily_and_the_line_gains_twice_the_leaf() {
        let design = read(A).unwrap();
        let c = design.dims().clasp.as_ref().unwrap();
        let frame = |a: f64| {
            let all = pieces(&design, Pose::Open(Deg(a)));
            all.into_iter().find(|p| p.part == "clasp.frame").unwrap().frame
        };
        assert!((frame(0.0).origin - Point3::origin()).norm() < 1e-12);
        assert!(frame(30.0).origin.z > 0.0 && (frame(30.0).x - Vector3::x()).norm() < 1e-12);
        let gain = 2.0 * (c.front_x - c.back_x).get();
        assert!((frame(180.0).origin.x + gain).abs() < 1e-9);
    }
}
