//! The collet: its body, what is cut from it for stone, light and openings.

use super::shape::{Block, Foot, LinkShape, Outline};
use crate::solid::tree::{cylinder, prism, revolve, rounded_rectangle, taper};
use crate::solid::{Frame, Tree};
use nalgebra::{Point3, Vector3};

/// How far cutters reach beyond what they cut, mm: clear of everything.
const BEYOND: f64 = 1.0;

/// The collet with its inside, its foot filled where that is asked for.
pub(super) fn body(shape: &LinkShape) -> Tree {
    match shape.outline {
        Outline::Round => {
            let block = shape.foot.as_ref().and_then(|f| f.block.as_ref().map(|b| block(f, b)));
            round(shape).plus(block.into_iter().collect())
        }
        Outline::Square { corner, inner_corner } => {
            let names = ["collet.outside", "collet.corner"];
            let full = [shape.foot_radius.0, shape.taper()];
            let at = Frame::at(Point3::origin());
            let ends = ["collet.underside", "collet.rim"];
            let solid = taper(at, full, corner.0, shape.height.0, names, ends);
            let from = shape.foot.as_ref().map_or(-BEYOND, |f| f.fill.0);
            let hollow = taper(
                Frame::at(Point3::new(0.0, 0.0, from)),
                [shape.inner(from), shape.taper()],
                inner_corner.0,
                shape.height.0 + BEYOND - from,
                ["collet.inside", "collet.hollow"],
                ["foot.top", "collet.above"],
            );
            solid.minus(vec![hollow, bur(shape)])
        }
    }
}

/// A turned collet: its seat is part of the profile.
fn round(shape: &LinkShape) -> Tree {
    let (zs, rs) = shape.seat_foot();
    let (h, rt) = (shape.height.0, shape.rim_radius.0);
    let mut profile = vec![
        (shape.foot_radius.0, 0.0, "collet.outside"),
        (rt, h, "collet.rim"),
        (rt - shape.rim_land.0, h, "seat"),
        (rs.0, zs.0, "collet.inside"),
    ];
    match &shape.foot {
        Some(f) => {
            profile.push((shape.inner(f.fill.0), f.fill.0, "foot.top"));
            profile.push((0.0, f.fill.0, ""));
            profile.push((0.0, 0.0, "collet.underside"));
        }
        None => profile.push((shape.inner(0.0), 0.0, "collet.underside")),
    }
    revolve(Frame::at(Point3::origin()), &profile)
}

fn block(foot: &Foot, block: &Block) -> Tree {
    let b = block.half_width.0;
    let sides = ["block.back", "block.right", "block.front", "block.left"];
    let profile = rounded_rectangle([-b, b], [-b, b], block.corner.0, sides);
    prism(Frame::at(Point3::origin()), profile, foot.fill.0, ["collet.underside", "foot.top"])
}

/// The seat bur: a cone whose edge in the plane of the rim leaves the rim land.
fn bur(shape: &LinkShape) -> Tree {
    let slope = (shape.bur_angle / 2.0).tan();
    let (h, edge) = (shape.height.0, shape.rim_radius.0 - shape.rim_land.0);
    let top = h + BEYOND;
    revolve(
        Frame::at(Point3::origin()),
        &[(0.0, h - edge / slope, "seat"), (edge + BEYOND * slope, top, "seat.above"), (0.0, top, "")],
    )
}

/// What is cut from the collet whatever its joint: openings and light hole.
pub(super) fn cuts(shape: &LinkShape) -> Vec<Tree> {
    let mut cuts = vec![opening_cut(shape, 1.0, "opening.front"), opening_cut(shape, -1.0, "opening.back")];
    if let Some(f) = &shape.foot {
        let length = f.fill.0 + 2.0 * BEYOND;
        let from = Frame::at(Point3::new(0.0, 0.0, -BEYOND));
        cuts.push(cylinder(from, f.light.0 / 2.0, length, "foot.light", ["foot.below", "foot.above"]));
    }
    cuts
}

fn opening_cut(shape: &LinkShape, side: f64, name: &str) -> Tree {
    let o = &shape.opening;
    let half = o.width.0 / 2.0;
    let n = |part: &str| format!("{name}.{part}");
    let (bottom, right, top, left) = (n("floor"), n("right"), n("roof"), n("left"));
    // Profile in (x, z), swept along +y from the stop, or along -y with x reversed.
    let (x, names) = if side > 0.0 {
        (-Vector3::x(), [&bottom, &left, &top, &right])
    } else {
        (Vector3::x(), [&bottom, &right, &top, &left])
    };
    let frame = Frame::with_axes(Point3::new(0.0, side * o.stop.0, 0.0), x, Vector3::z());
    let profile =
        rounded_rectangle([-half, half], [o.bottom.0, o.top.0], o.corner.0, names.map(String::as_str));
    // 1 mm beyond the rim is clear of everything.
    let length = shape.rim_radius.0 + 1.0 - o.stop.0;
    prism(frame, profile, length, [&n("stop"), &n("out")])
}
