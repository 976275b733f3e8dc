//! Derived dimensions of the examples against closed forms computed elsewhere.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::params::folder;
use colletline::params::{Key, read};

/// Derived dimensions against hand-computed values of two published-nowhere but hand-checked designs: closed forms of
/// the formulas stated beside each field, evaluated independently; last digit as printed.
#[test]
fn derived_dimensions_are_those_of_the_closed_forms() {
    let near =
        |a: f64, b: f64, digits: i32| assert!((a - b).abs() <= 0.51 * 10f64.powi(-digits), "{a} is not {b}");
    let files = folder("params");
    let design = |n: &str| read(&files.iter().find(|f| f.0 == n).unwrap().1).unwrap();
    let a = design("line-4.0-platinum");
    let d = a.dims();
    for (got, want, digits) in [
        (d.girdle.0, 3.00, 2),
        (d.culet.0, 1.28, 2),
        (d.table.0, 3.68, 2),
        (d.seat_bottom.0, 2.518651, 6),
        (d.wall_horizontal.0, 0.503587, 6),
        (d.claw_axis.0, 2.227386, 6),
        (d.claw_foot.0, 0.936553, 6),
        (d.wire.as_ref().unwrap().web_x.0, 1.558206, 6),
        (d.claw_top.0, 3.506, 3),
        (d.end_metal.0, 0.404, 3),
        (d.opening_edge.0, 46.5, 1),
        (d.turn_inward.0, 29.2, 1),
        // With the web's share of the play, as the solids turn (tests/swings.rs).
        (d.turn_outward.0, 2.4, 1),
        (d.wire.as_ref().unwrap().wire_to_stone.0, 0.25, 2),
        (d.line_length.0, 176.40, 2),
        (d.inner_length.0, 171.68, 2),
        (d.ease.0, 13.7, 1),
        (d.bite_share, 0.26, 2),
    ] {
        near(got, want, digits);
    }
    let b = design("line-2.5-yellow");
    let d = b.dims();
    for (got, want, digits) in [
        (d.seat_bottom.0, 2.209853, 6),
        (d.wall_horizontal.0, 0.421924, 6),
        (d.claw_axis.0, 1.378858, 6),
        (d.claw_top.0, 2.91625, 5),
        (d.end_metal.0, 0.415, 3),
        (d.opening_edge.0, 59.6, 1),
        (d.turn_inward.0, 28.2, 1),
        (d.turn_outward.0, 2.9, 1),
        (d.wire.as_ref().unwrap().wire_to_stone.0, 0.32, 2),
        (d.line_length.0, 178.20, 2),
        (d.inner_length.0, 174.24, 2),
    ] {
        near(got, want, digits);
    }
    assert_eq!(a.get(Key::Count), 42.0);
}

/// The folding clasp of four designs: the same closed forms written in another language, and checked there on solids of another
/// kernel.
#[test]
fn clasp_dimensions_are_those_of_the_closed_forms() {
    let files = folder("params");
    let design = |n: &str| read(&files.iter().find(|f| f.0 == n).unwrap().1).unwrap();
    let near = |name: &str, a: f64, b: f64, digits: i32| {
        assert!((a - b).abs() <= 0.51 * 10f64.powi(-digits), "{name}: {a} is not {b}");
    };
    // C, x_K, x_F, 2 L_m, open, pavilion over K, stand-off; stress of strip and catch, closing, opening, buckling; rings, wire.
    type Set = (&'static str, [f64; 7], [f64; 5], (usize, f64));
    let sets: [Set; 3] = [
        (
            "line-4.0-platinum",
            [21.0, 1.51, 19.51, 36.0, 207.7, 0.187, 2.10],
            [294., 284., 1.4, 3.8, 144.],
            (22, 321.),
        ),
        (
            "line-2.5-yellow",
            [18.9, 1.34, 17.58, 32.5, 206.7, 0.105, 1.66],
            [312., 214., 1.4, 5.0, 127.],
            (20, 292.),
        ),
        (
            "line-3.0-silver-cushion",
            [19.5, 1.66, 17.86, 32.4, 210.5, 0.113, 1.73],
            [202., 202., 1.0, 4.3, 131.],
            (17, 283.),
        ),
    ];
    for (name, place, force, chain) in sets {
        let d = design(name);
        let c = d.dims().clasp.as_ref().unwrap();
        let l = &c.latch;
        for (got, want, digits) in [
            (c.length.0, place[0], 6),
            (c.back_x.0, place[1], 2),
            (c.front_x.0, place[2], 2),
            (2.0 * c.leaf_length.0, place[3], 1),
            (c.open_length.0, place[4], 1),
            (c.stone_over_back.0, place[5], 3),
            (c.stand_off.0, place[6], 2),
            (l.tongue_stress.usual, force[0], 0),
            (l.catch_stress.usual, force[1], 0),
            (l.close_force.usual, force[2], 1),
            (l.open_force.usual, force[3], 1),
            (c.leaf_buckling, force[4], 0),
        ] {
            near(name, got, want, digits);
        }
        let made = d.dims().chain.as_ref().unwrap();
        assert_eq!(made.rings, chain.0, "{name}");
        near(name, made.wire.0, chain.1, 0);
    }
}

/// Set S and set C of the trade's own arithmetic, hand-checked on solids of another kernel: the same closed forms written
/// in another language.
#[test]
fn square_and_cushion_dimensions_are_those_of_the_closed_forms() {
    let near =
        |a: f64, b: f64, digits: i32| assert!((a - b).abs() <= 0.51 * 10f64.powi(-digits), "{a} is not {b}");
    let files = folder("params");
    let design = |n: &str| read(&files.iter().find(|f| f.0 == n).unwrap().1).unwrap();
    let s = design("line-4.0-platinum-square");
    let d = s.dims();
    let wire = d.wire.as_ref().unwrap();
    for (got, want, digits) in [
        (d.wall_horizontal.0, 0.501456, 6),
        (d.seat_bottom.0, 2.531888, 6),
        (d.claw_axis.0, 2.233043, 6),
        (d.claw_foot.0, 0.80, 6),
        (wire.web_x.0, 1.646545, 6),
        (d.corner_wall.unwrap().0, 0.603, 3),
        (d.end_metal.0, 0.401, 3),
        (d.opening_edge.0, 90.0, 6),
        (d.turn_inward.0, 27.3, 1),
    ] {
        near(got, want, digits);
    }
    let c = design("line-3.0-silver-cushion");
    let d = c.dims();
    let hinge = d.hinge.as_ref().unwrap();
    for (got, want, digits) in [
        (d.wall_horizontal.0, 0.453765, 6),
        (d.seat_bottom.0, 2.465887, 6),
        (d.claw_axis.0, 1.667358, 6),
        (d.claw_foot.0, 1.329617, 6),
        (hinge.pocket_radius.0, 0.66, 6),
        (hinge.boundary.0, 0.42, 6),
        (d.corner_wall.unwrap().0, 0.551, 3),
        (d.end_metal.0, 0.406, 3),
        (hinge.recess_rim.0, 0.232, 3),
        (hinge.pin_bead.0, 0.736, 3),
        (hinge.tube_wall.0, 0.35, 2),
        (d.turn_inward.0, 68.9, 1),
        // Two claws, each 0.004 proud of its straight rim: 2 atan((0.15 - 0.008)/2/2.660); flush it would be 3.23.
        (d.turn_outward.0, 3.06, 2),
        (d.turn_wrist.0, 6.4, 1),
        (d.turn_clasp.unwrap().0, 22.9, 1),
        (d.inner_length.0, 178.10, 2),
    ] {
        near(got, want, digits);
    }
}
