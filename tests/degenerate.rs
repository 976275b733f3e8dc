//! Every degenerate way in which two simple bodies can meet: faces, edges, handles and volume of what comes out, or the
//! refusal by name.
//!
//! Volumes are closed forms of elementary geometry. A full turn of a cylinder or cone counts as two faces with two edges
//! between them, a full circle as two edges.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use crate::bodies;

use bodies::{ENDS, along_x, bar, bar_along, block, plate, plate_area, upright};
use colletline::mesh::exact::solid_mass;
use colletline::solid::tree::{Corner, cylinder, prism, revolve};
use colletline::solid::{BuildError, Frame, Solid, Tree};
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

type Case = (&'static str, Tree, [usize; 4], i64, f64);

/// Bodies, hollows, faces, edges; handles of all shells together; volume.
fn judge(cases: Vec<Case>) {
    let mut wrong = Vec::new();
    for (name, tree, counts, genus, closed_form) in cases {
        match Solid::build(&tree) {
            Ok(s) => {
                s.check().unwrap();
                s.to_truck().unwrap();
                let hollows = s.bodies().iter().map(|b| b.voids.len()).sum();
                let found = [s.bodies().len(), hollows, s.faces.len(), s.edges.len()];
                let v = solid_mass(&s).volume;
                let off = (v - closed_form).abs();
                if found != counts || s.genus() != genus || off.is_nan() || off > 1e-8 {
                    wrong.push(format!(
                        "{name}: {found:?} {} {v}, not {counts:?} {genus} {closed_form}",
                        s.genus()
                    ));
                }
            }
            Err(e) => wrong.push(format!("{name}: {e}")),
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn coplanar_and_identical() {
    judge(vec![
        (
            "pocket with its rim flush",
            block().minus(vec![bar([-1.0, 1.0], [-1.0, 1.0], [1.0, 3.0])]),
            [1, 0, 11, 24],
            0,
            40.0,
        ),
        (
            "pocket through",
            block().minus(vec![bar([-1.0, 1.0], [-1.0, 1.0], [0.0, 3.0])]),
            [1, 0, 10, 24],
            1,
            36.0,
        ),
        ("stacked", block().plus(vec![bar([-1.0, 1.0], [-1.0, 1.0], [3.0, 4.0])]), [1, 0, 11, 24], 0, 52.0),
        (
            "side by side",
            block().plus(vec![bar([2.0, 4.0], [-2.0, 2.0], [0.0, 3.0])]),
            [1, 0, 6, 12],
            0,
            72.0,
        ),
        (
            "overlapping with four sides flush",
            block().plus(vec![bar([1.0, 4.0], [-2.0, 2.0], [0.0, 3.0])]),
            [1, 0, 6, 12],
            0,
            72.0,
        ),
        ("itself", block().plus(vec![block()]), [1, 0, 6, 12], 0, 48.0),
        (
            "flush corner notch",
            block().minus(vec![bar([0.0, 2.0], [0.0, 2.0], [1.0, 3.0])]),
            [1, 0, 9, 21],
            0,
            40.0,
        ),
        (
            "closed hollow",
            block().minus(vec![bar([-1.0, 1.0], [-1.0, 1.0], [1.0, 2.0])]),
            [1, 1, 12, 24],
            0,
            44.0,
        ),
        ("two lumps", block().plus(vec![bar([3.0, 4.0], [0.0, 1.0], [0.0, 1.0])]), [2, 0, 12, 24], 0, 49.0),
        (
            "flush with a rounded side",
            plate().plus(vec![bar([-1.0, 1.0], [-1.5, 3.0], [0.0, 1.0])]),
            [1, 0, 14, 36],
            0,
            plate_area() + 3.0,
        ),
    ]);
    assert_eq!(Solid::build(&block().minus(vec![block()])).unwrap_err(), BuildError::Empty);
    assert_eq!(
        Solid::build(&block().minus(vec![bar([-3.0, 3.0], [-3.0, 3.0], [-1.0, 4.0])])).unwrap_err(),
        BuildError::Empty
    );
}

#[test]
fn one_cylinder_in_several_bodies() {
    let down = cylinder(Frame::along(Point3::new(0.0, 0.0, 4.0), &-Vector3::z()), 1.0, 3.0, "round", ENDS);
    let rod = |z: f64, h: f64| upright(0.0, 0.0, z, 1.0, h);
    judge(vec![
        ("end to end", rod(0.0, 2.0).plus(vec![rod(2.0, 2.0)]), [1, 0, 4, 6], 0, 4.0 * PI),
        ("overlapping", rod(0.0, 2.0).plus(vec![rod(1.0, 3.0)]), [1, 0, 4, 6], 0, 4.0 * PI),
        ("head to head", rod(0.0, 2.0).plus(vec![down]), [1, 0, 4, 6], 0, 4.0 * PI),
        (
            "tube with flush ends",
            upright(0.0, 0.0, 0.0, 2.0, 3.0).minus(vec![rod(0.0, 3.0)]),
            [1, 0, 6, 12],
            1,
            9.0 * PI,
        ),
        (
            "blind bore",
            upright(0.0, 0.0, 0.0, 2.0, 3.0).minus(vec![rod(1.0, 3.0)]),
            [1, 0, 7, 12],
            0,
            10.0 * PI,
        ),
        (
            "pin in its own bore",
            block().minus(vec![rod(-1.0, 5.0)]).plus(vec![rod(1.0, 1.0)]),
            [1, 0, 12, 24],
            0,
            48.0 - 2.0 * PI,
        ),
        (
            "bore filled from end to end",
            block().minus(vec![rod(-1.0, 5.0)]).plus(vec![rod(0.0, 3.0)]),
            [1, 0, 6, 12],
            0,
            48.0,
        ),
        (
            "a step in radius",
            rod(0.0, 2.0).plus(vec![upright(0.0, 0.0, 2.0, 1.5, 2.0)]),
            [1, 0, 7, 12],
            0,
            6.5 * PI,
        ),
        (
            "a disc inside",
            rod(0.0, 2.0).plus(vec![upright(0.0, 0.0, 0.5, 0.5, 1.0)]),
            [1, 0, 4, 6],
            0,
            2.0 * PI,
        ),
    ]);
}

#[test]
fn tangent_by_design() {
    judge(vec![
        // The post's side runs through the plate's corner; three quarters of a turn of it are inside the plate.
        (
            "a post on a round corner",
            plate().plus(vec![upright(1.5, 1.0, -1.0, 0.5, 3.0)]),
            [1, 0, 14, 36],
            0,
            plate_area() + PI / 2.0,
        ),
        (
            "cut to where the corner begins",
            plate().minus(vec![bar([1.5, 3.0], [-3.0, 3.0], [-1.0, 2.0])]),
            [1, 0, 8, 18],
            0,
            10.5 - (4.0 - PI) / 8.0,
        ),
        (
            "bore on an edge",
            block().minus(vec![upright(2.0, 2.0, -1.0, 0.5, 5.0)]),
            [1, 0, 7, 15],
            0,
            48.0 - 3.0 * PI / 16.0,
        ),
        (
            "bore open to one side",
            block().minus(vec![upright(2.0, 0.0, -1.0, 0.5, 5.0)]),
            [1, 0, 8, 18],
            0,
            48.0 - 3.0 * PI / 8.0,
        ),
    ]);
}

#[test]
fn cones_and_their_apex() {
    let at = |z: f64| Frame::at(Point3::new(0.0, 0.0, z));
    let frustum = |z: f64| {
        revolve(at(z), &[(0.0, 0.0, "floor"), (0.5, 0.0, "seat"), (1.0, 1.0, "top"), (0.0, 1.0, "")])
    };
    let tip = |z: f64| revolve(at(z), &[(0.0, 0.0, "seat"), (1.0, 1.0, "top"), (0.0, 1.0, "")]);
    let third = PI / 3.0;
    judge(vec![
        (
            "seat on a bore of its small end",
            block().minus(vec![upright(0.0, 0.0, -1.0, 0.5, 5.0), frustum(2.0)]),
            [1, 0, 10, 22],
            1,
            48.0 - PI / 2.0 - third * 1.75,
        ),
        (
            "countersink cut through its apex by the bore",
            block().minus(vec![tip(2.0), upright(0.0, 0.0, -1.0, 0.5, 5.0)]),
            [1, 0, 10, 22],
            1,
            48.0 - PI * 0.625 - third * 0.875,
        ),
    ]);
    // A face that ends in an apex has a corner where its surface has no normal: refused, not guessed.
    for (tree, what) in [(tip(0.0), "a cone"), (block().minus(vec![tip(2.0)]), "a conical pit")] {
        match Solid::build(&tree) {
            Ok(s) => {
                let v = solid_mass(&s).volume;
                let closed_form = if what == "a cone" { third } else { 48.0 - third };
                assert!((v - closed_form).abs() < 1e-9, "{what}: {v}");
            }
            Err(e) => assert!(e.to_string().contains("seat"), "{what}: {e}"),
        }
    }
}

#[test]
fn oblique_and_crossing() {
    let corner = |at| Corner { at, arc: None, name: "side".into() };
    let square = vec![corner([-9.0, -9.0]), corner([9.0, -9.0]), corner([9.0, 9.0]), corner([-9.0, 9.0])];
    let frame = Frame::along(Point3::new(0.0, 0.0, 3.0), &Vector3::new(0.3, 0.2, 1.0));
    let half = prism(frame, square, 9.0, ENDS);
    // Two bores that meet in the plane that cuts both in half: what they share is half below it.
    let n = 4000;
    let share: f64 = (0..n)
        .map(|i| {
            let t = -PI / 2.0 + PI * (f64::from(i) + 0.5) / f64::from(n);
            let (s, c) = libm::sincos(t);
            4.0 * (0.25 - 0.16 * s * s).sqrt() * 0.4 * c * 0.4 * c * PI / f64::from(n)
        })
        .sum();
    let bores = block().minus(vec![
        upright(0.0, 0.0, -1.0, 0.5, 5.0),
        along_x(-3.0, 1.5, 0.4, 6.0),
        bar([-3.0, 3.0], [-3.0, 3.0], [1.5, 4.0]),
    ]);
    let open = 24.0 - PI * 0.25 * 1.5 - PI * 0.16 * 4.0 / 2.0 + share / 2.0;
    judge(vec![
        ("an ellipse", upright(0.0, 0.0, 0.0, 1.0, 6.0).minus(vec![half]), [1, 0, 4, 6], 0, 3.0 * PI),
        ("two bores crossing in a plane", bores, [1, 0, 11, 30], 1, open),
        (
            "equal crossing bars",
            bar_along(Vector3::z(), 1.0, 3.0, 3.0, "up").plus(vec![bar_along(
                Vector3::x(),
                1.0,
                3.0,
                3.0,
                "across",
            )]),
            [1, 0, 12, 26],
            0,
            12.0 * PI - 16.0 / 3.0,
        ),
    ]);
}

#[test]
fn touching_without_thickness() {
    let tip = revolve(
        Frame::at(Point3::new(0.0, 0.0, 3.0)),
        &[(0.0, 0.0, "cone"), (0.5, 1.0, "top"), (0.0, 1.0, "")],
    );
    let cases = [
        ("a rod beside a wall", block().plus(vec![upright(3.0, 0.0, 1.0, 1.0, 1.0)]), "touch"),
        (
            "a bore whose wall has no thickness",
            block().minus(vec![upright(1.0, 0.0, -1.0, 1.0, 5.0)]),
            "touch",
        ),
        (
            "two rods side by side",
            upright(0.0, 0.0, 0.0, 1.0, 2.0).plus(vec![upright(2.0, 0.0, 0.0, 1.0, 2.0)]),
            "touch",
        ),
        (
            "a bore that just touches the wall from inside",
            upright(0.0, 0.0, 0.0, 2.0, 3.0).minus(vec![upright(1.0, 0.0, -1.0, 1.0, 5.0)]),
            "round and round",
        ),
        (
            "crossed rods",
            bar_along(Vector3::x(), 0.5, 2.0, 2.0, "low rod").plus(vec![cylinder(
                Frame::along(Point3::new(0.0, -2.0, 1.0), &Vector3::y()),
                0.5,
                4.0,
                "high rod",
                ENDS,
            )]),
            "touch",
        ),
        ("edge on edge", block().plus(vec![bar([2.0, 3.0], [2.0, 3.0], [0.0, 3.0])]), ""),
        ("corner on corner", block().plus(vec![bar([2.0, 3.0], [2.0, 3.0], [3.0, 4.0])]), ""),
        ("a tip on a face", block().plus(vec![tip]), ""),
        (
            "a bar bored through by its equal",
            bar_along(Vector3::z(), 1.0, 3.0, 3.0, "bar").minus(vec![bar_along(
                Vector3::x(),
                1.0,
                3.0,
                3.0,
                "bore",
            )]),
            "touch",
        ),
    ];
    for (what, tree, word) in cases {
        let e = Solid::build(&tree).expect_err(what).to_string();
        assert!(e.contains(word) && !e.contains("not sound"), "{what}: {e}");
    }
}

#[test]
fn thin_and_nearly_coincident() {
    let mut refused = Vec::new();
    for e in [1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2] {
        let cases: Vec<(&str, Tree, f64)> = vec![
            ("step", block().plus(vec![bar([1.0, 2.0 + e], [-1.0, 1.0], [1.0, 2.0])]), 48.0 + 2.0 * e),
            (
                "web",
                block().minus(vec![bar([-1.0, 2.0 - e], [-1.0, 1.0], [-1.0, 4.0])]),
                48.0 - 6.0 * (3.0 - e),
            ),
            ("bore wall", block().minus(vec![upright(1.0 - e, 0.0, -1.0, 1.0, 5.0)]), 48.0 - 3.0 * PI),
            (
                "bore open by",
                block().minus(vec![upright(1.0 + e, 0.0, -1.0, 1.0, 5.0)]),
                48.0 - 3.0 * (PI - segment(e)),
            ),
            (
                "step in radius",
                upright(0.0, 0.0, 0.0, 1.0, 2.0).plus(vec![upright(0.0, 0.0, 2.0, 1.0 + e, 2.0)]),
                2.0 * PI + 2.0 * PI * (1.0 + e) * (1.0 + e),
            ),
            (
                "tube wall",
                upright(0.0, 0.0, 0.0, 1.0 + e, 2.0).minus(vec![upright(0.0, 0.0, -1.0, 1.0, 4.0)]),
                2.0 * PI * (2.0 * e + e * e),
            ),
            (
                "gap between rods",
                upright(0.0, 0.0, 0.0, 1.0, 2.0).plus(vec![upright(2.0 + e, 0.0, 0.0, 1.0, 2.0)]),
                4.0 * PI,
            ),
        ];
        for (what, tree, closed_form) in cases {
            match Solid::build(&tree) {
                Ok(s) => {
                    let v = solid_mass(&s).volume;
                    assert!((v - closed_form).abs() < 1e-7, "{what} {e}: {v}, not {closed_form}");
                }
                Err(why) => {
                    let named = matches!(
                        why,
                        BuildError::Touching { .. }
                            | BuildError::NearlyCoincident { .. }
                            | BuildError::Undecided { .. }
                    );
                    assert!(named, "{what} {e}: {why}");
                    refused.push((what, e));
                }
            }
        }
    }
    // From ten nanometres up nothing is refused; a tenth of that, nobody can tell from nothing.
    assert!(refused.iter().all(|&(_, e)| e < 5e-6), "{refused:?}");
}

/// Area of the segment of a circle of radius 1 with rise `e`.
fn segment(e: f64) -> f64 {
    let half = libm::acos(1.0 - e);
    half - libm::sin(2.0 * half) / 2.0
}

#[test]
fn a_bore_close_to_a_conical_pit() {
    // The pit's wall has the normal (2, 0, -1) at (1, 0, 2); the bore along y keeps a wall of `e` there.
    let part = |e: f64| {
        let pit = revolve(
            Frame::at(Point3::new(0.0, 0.0, 1.0)),
            &[(0.0, 0.0, "floor"), (0.5, 0.0, "pit"), (1.5, 2.0, "top"), (0.0, 2.0, "")],
        );
        let axis = Point3::new(1.0, -3.0, 2.0) + Vector3::new(2.0, 0.0, -1.0).normalize() * (0.3 + e);
        block().minus(vec![pit, cylinder(Frame::along(axis, &Vector3::y()), 0.3, 6.0, "bore", ENDS)])
    };
    let closed_form = 48.0 - PI * 2.0 / 3.0 * (0.25 + 0.75 + 2.25) - PI * 0.09 * 4.0;
    for e in [1e-2, 1e-3, 1e-4, 1e-5] {
        let s = Solid::build(&part(e)).unwrap();
        let v = solid_mass(&s).volume;
        assert!((v - closed_form).abs() < 1e-9 && s.genus() == 1, "{e}: {v} {}", s.genus());
        // Broken through by as much: pit and bore are one hollow with three mouths.
        assert_eq!(Solid::build(&part(-e)).unwrap().genus(), 2, "{e}");
    }
    for e in [0.0, 1e-8, -1e-8] {
        let refusal = Solid::build(&part(e)).unwrap_err();
        assert!(
            matches!(&refusal, BuildError::Touching { faces, .. } if faces.contains(&"pit".to_owned())),
            "{refusal}"
        );
    }
}
