//! What is cut from hard stock: the tongue's strips, their rivets.

use super::kit::{along_x, bar_z, block, on_side};
use super::shape::{BEYOND_RIDGE, ClaspShape, RIDGE_HALF, TANG};
use crate::params::RIVETS;
use crate::solid::Tree;

/// A strip: blade with snap ridge, tang, half-lapped foot. Side 1 is the front one.
pub(super) fn strip(s: &ClaspShape, side: f64) -> Tree {
    let y = s.strip_outer;
    let blade = block(
        "strip",
        [s.ridge - BEYOND_RIDGE, s.root + TANG],
        on_side(side, [y - s.strip, y]),
        [0.0, s.plate],
    );
    let foot =
        block("foot", [s.root, s.root + s.foot[0]], on_side(side, [y - s.foot[1], y]), [0.0, s.plate / 2.0]);
    let holes = RIVETS.iter().enumerate().map(|(i, at)| {
        let place = [s.root + at, side * (y - s.foot[1] / 2.0)];
        bar_z(&format!("rivet.{}", i + 1), place, s.rivet / 2.0, [-1.0, s.plate + 1.0])
    });
    let mut p = s.ridge_profile(0.0).to_vec();
    p.push([y - s.strip / 2.0, p[3][1]]);
    p.push([y - s.strip / 2.0, p[0][1]]);
    let names = ["hold", "tip", "lead", "inside", "inside", "inside"];
    let ridge = profile_x("ridge", [s.ridge - RIDGE_HALF, s.ridge + RIDGE_HALF], &p, &names, side);
    blade.plus(vec![foot, ridge]).minus(holes.collect())
}

/// A prism along x over a polygon in (y, z) given for side 1, reflected for side -1.
pub(super) fn profile_x(name: &str, x: [f64; 2], polygon: &[[f64; 2]], names: &[&str], side: f64) -> Tree {
    let n = polygon.len();
    let pairs: Vec<([f64; 2], &str)> = if side > 0.0 {
        polygon.iter().copied().zip(names.iter().copied()).collect()
    } else {
        // Reversed, so that it stays counter-clockwise; a side keeps its name, which now stands with its other end.
        (0..n)
            .rev()
            .map(|i| {
                let [y, z] = polygon.get(i).copied().unwrap_or_default();
                ([-y, z], names.get((i + n - 1) % n).copied().unwrap_or_default())
            })
            .collect()
    };
    along_x(name, x, &pairs)
}

/// A rivet of a strip, as long as the plate is thick.
pub(super) fn rivet(s: &ClaspShape) -> Tree {
    bar_z("rivet", [0.0, 0.0], s.rivet / 2.0, [0.0, s.plate])
}
