//! Rigid motion and reflection of a recipe do the same to its solid, and nothing else.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use crate::bodies;

use bodies::{along_x, bar, bar_along, plate, upright};
use colletline::mesh::exact::solid_mass;
use colletline::solid::tree::revolve;
use colletline::solid::{BuildError, Frame, Solid, Tree};
use nalgebra::{Point3, Vector3};
use proptest::prelude::*;
use std::collections::BTreeSet;

/// A part of every kind of surface and edge; `kind` chooses, `a` and `b` in 0..1 vary it.
fn part(kind: usize, a: f64, b: f64) -> Tree {
    let z = Vector3::z();
    match kind {
        // Planes, tangent cylinders, a cross hole: lines, circles, fitted curves.
        0 => plate()
            .minus(vec![
                upright(0.3 + 0.2 * a, 0.15, -1.0, 0.4, 3.0),
                along_x(-3.0, 0.5, 0.15 + 0.1 * b, 6.0),
            ])
            .plus(vec![upright(1.5, 1.0, -1.0, 0.5, 3.0)]),
        // Equal tubes: conics that cross.
        1 => bar_along(z, 1.0, 2.0, 2.0 + a, "run").plus(vec![bar_along(
            Vector3::new(1.0, 0.0, b - 0.5),
            1.0,
            0.0,
            3.0,
            "branch",
        )]),
        // A cone with a flat and a slot: hyperbolas.
        2 => revolve(
            Frame::at(Point3::origin()),
            &[(0.0, 0.0, "under"), (2.0, 0.0, "cone"), (1.0 + 0.5 * a, 2.0, "top"), (0.0, 2.0, "")],
        )
        .minus(vec![
            bar([1.1, 3.0], [-3.0, 3.0], [-1.0, 3.0]),
            bar([-3.0, 3.0], [-0.3, 0.2 * b], [1.0, 3.0]),
        ]),
        // Two bodies, one of them hollow.
        _ => bar([-2.0, 2.0], [-2.0, 2.0], [0.0, 3.0])
            .minus(vec![upright(0.0, 0.0, 1.0, 0.5 + a, 1.0)])
            .plus(vec![upright(5.0, b, 0.0, 0.5, 1.0)]),
    }
}

fn frame(turn: [f64; 3], at: [f64; 3]) -> Frame {
    let z = Vector3::from(turn);
    let z = if z.norm() < 0.1 { Vector3::z() } else { z };
    let f = Frame::along(Point3::from(at), &z);
    // Turned about its own z as well.
    let (s, c) = libm::sincos(turn[0] * 7.0 + turn[1]);
    Frame::with_axes(f.origin, f.x * c + f.y * s, f.y * c - f.x * s)
}

fn name_of(s: &str) -> &str {
    s.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end_matches('.')
}

/// Names without the numbers of like pieces, which follow the place.
fn names(s: &Solid) -> BTreeSet<String> {
    s.faces.iter().map(|f| name_of(&f.name).to_owned()).collect()
}

/// Corners where three surfaces meet at least; the others are where closed curves were cut.
fn corners(s: &Solid) -> Vec<Point3<f64>> {
    let mut around = vec![Vec::<usize>::new(); s.vertices.len()];
    for e in &s.edges {
        for v in e.ends {
            for f in e.faces {
                if !around[v].iter().any(|&g| s.faces[g].surface.same(&s.faces[f].surface)) {
                    around[v].push(f);
                }
            }
        }
    }
    (0..around.len()).filter(|&v| around[v].len() > 2).map(|v| s.vertices[v]).collect()
}

/// Each point of one list has one of the other within `near`, and they are as many.
fn same_points(a: &[Point3<f64>], b: &[Point3<f64>], near: f64) -> bool {
    a.len() == b.len() && a.iter().all(|p| b.iter().any(|q| (p - q).norm() < near))
}

fn check_motion(tree: &Tree, to: &Frame, near: f64) -> Result<(), TestCaseError> {
    let here = Solid::build(tree).unwrap();
    let there = Solid::build(&tree.moved(to)).unwrap();
    prop_assert_eq!(here.faces.len(), there.faces.len());
    prop_assert_eq!(here.edges.len(), there.edges.len());
    prop_assert_eq!(here.genus(), there.genus());
    prop_assert_eq!(here.bodies().len(), there.bodies().len());
    let moved = here.moved(to);
    let lost = |a: &[Point3<f64>], b: &[Point3<f64>]| -> Vec<Point3<f64>> {
        let back = to.inverse();
        let far = |p: &&Point3<f64>| !b.iter().any(|q| (*p - q).norm() < near);
        a.iter().filter(far).map(|p| back.point(p.x, p.y, p.z)).collect()
    };
    let lost = [lost(&moved.vertices, &there.vertices), lost(&there.vertices, &moved.vertices)];
    prop_assert!(lost.concat().is_empty(), "{lost:?}");
    // Every face by its name, numbers included: its corners are the moved ones.
    for f in &moved.faces {
        let g = there.faces.iter().find(|g| g.name == f.name);
        prop_assert!(g.is_some(), "no {}", f.name);
        let of = |s: &Solid, f: &colletline::solid::Face| -> Vec<Point3<f64>> {
            f.loops.iter().flatten().map(|u| s.vertices[s.start_of(*u)]).collect()
        };
        prop_assert!(g.is_some_and(|g| same_points(&of(&moved, f), &of(&there, g), near)), "{}", f.name);
    }
    let (a, b) = (solid_mass(&here), solid_mass(&there));
    prop_assert!((a.volume - b.volume).abs() < 1e-9, "{} {}", a.volume, b.volume);
    prop_assert!((a.area - b.area).abs() < 1e-8, "{} {}", a.area, b.area);
    prop_assert!((to.point(a.centre.x, a.centre.y, a.centre.z) - b.centre).norm() < near);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 48,
        rng_seed: proptest::test_runner::RngSeed::Fixed(7),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_rigid_motion_moves_vertices_faces_and_mass(
        kind in 0..4_usize, a in 0.0..1.0_f64, b in 0.05..1.0_f64,
        turn in prop::array::uniform3(-1.0..1.0_f64), at in prop::array::uniform3(-30.0..30.0_f64),
    ) {
        check_motion(&part(kind, a, b), &frame(turn, at), 1e-9)?;
    }

    #[test]
    fn ten_metres_away_the_same_part_is_built(
        kind in 0..4_usize, a in 0.0..1.0_f64, b in 0.05..1.0_f64,
        turn in prop::array::uniform3(-1.0..1.0_f64), at in prop::array::uniform3(-1e4..1e4_f64),
    ) {
        // Coordinates of 1e4 are rounded to 2e-12; where surfaces meet at a small angle a corner is off by more.
        check_motion(&part(kind, a, b), &frame(turn, at), 1e-8)?;
    }

    #[test]
    fn a_reflected_recipe_gives_the_reflected_solid(
        kind in 0..4_usize, a in 0.0..1.0_f64, b in 0.05..1.0_f64,
        turn in prop::array::uniform3(-1.0..1.0_f64), at in prop::array::uniform3(-30.0..30.0_f64),
    ) {
        let tree = part(kind, a, b).moved(&frame(turn, at));
        let (here, there) = (Solid::build(&tree).unwrap(), Solid::build(&tree.mirrored()).unwrap());
        let flip = |p: &Point3<f64>| Point3::new(-p.x, p.y, p.z);
        let flipped: Vec<_> = corners(&here).iter().map(flip).collect();
        prop_assert!(same_points(&flipped, &corners(&there), 1e-9));
        prop_assert_eq!(names(&here), names(&there));
        prop_assert_eq!(here.genus(), there.genus());
        prop_assert_eq!(here.bodies().len(), there.bodies().len());
        let (a, b) = (solid_mass(&here), solid_mass(&there));
        prop_assert!((a.volume - b.volume).abs() < 1e-9, "{} {}", a.volume, b.volume);
        prop_assert!((a.area - b.area).abs() < 1e-8);
        prop_assert!((flip(&a.centre) - b.centre).norm() < 1e-9);
        // Twice is none.
        let again = Solid::build(&tree.mirrored().mirrored()).unwrap();
        prop_assert!(same_points(&here.vertices, &again.vertices, 1e-12));
    }
}

#[test]
fn a_refusal_far_away_says_where() {
    let tree = bar([-1.0, 1.0], [-1.0, 1.0], [0.0, 1.0]).plus(vec![bar([1.0, 2.0], [1.0, 2.0], [0.0, 1.0])]);
    let to = Frame::at(Point3::new(1000.25, 0.0, 0.0));
    match Solid::build(&tree.moved(&to)).unwrap_err() {
        BuildError::Undecided { near, .. } => assert!((near.x - 1001.25).abs() < 1e-9, "{near}"),
        e => panic!("{e}"),
    }
}
