//! More closed forms, in the metal and in the air.

use super::tests::{ENDS, bar, meshed, turned, upright};
use super::*;
use crate::solid::tree::{Corner, cylinder, prism, taper};
use crate::solid::{Frame, Tree};
use nalgebra::Vector3;

fn along_y(corners: &[(f64, f64, &str)], length: f64) -> Tree {
    // A profile in x and z, seen from -y.
    let frame = Frame::with_axes(Point3::new(0.0, length, 0.0), Vector3::x(), Vector3::z());
    let profile = corners.iter().map(|&(x, z, name)| Corner { at: [x, z], arc: None, name: name.into() });
    prism(frame, profile.collect(), length, ENDS)
}

fn block() -> Tree {
    bar([-2.0, 2.0], [-2.0, 2.0], [0.0, 3.0])
}

/// Name and formula, body, truth.
pub(super) type Form = (&'static str, Tree, f64);

pub(super) fn metal() -> Vec<Form> {
    let slope = |s: f64| (1.0 + s * s).sqrt();
    let (s, c) = libm::sincos(50f64.to_radians());
    let (lean, limit) = (6f64.to_radians(), 15f64.to_radians());
    vec![
        // A chord of a circle that leans by a from both radii is 2 r cos a long; delta is 15 deg.
        ("round rod across: 2 r cos delta", upright(0.0, 0.0, 0.0, 0.3, 2.0, "side"), 0.6 * libm::cos(limit)),
        // Its normals rise by the slope, so that less of delta is left across.
        (
            "tapered rod: at the thin end, 2 r cos delta / cos slope",
            turned(0.0, (0.4, 0.0), (0.28, 2.0), "side"),
            0.56 * libm::cos(limit) * slope(0.06),
        ),
        (
            "drafted wall of 8 deg: t at the thin end",
            along_y(
                &[
                    (0.0, 0.0, "low"),
                    (3.0, 0.0, "thick"),
                    (3.0, 0.3 + 3.0 * libm::tan(8f64.to_radians()), "draft"),
                    (0.0, 0.3, "thin"),
                ],
                2.0,
            ),
            0.3,
        ),
        (
            // One direction only lies within delta of both normals.
            "wall that grows by 30 deg, twice delta: h / cos delta at its thin end",
            along_y(
                &[
                    (0.0, 0.0, "low"),
                    (3.0, 0.0, "thick"),
                    (3.0, 0.3 + 3.0 * libm::tan(30f64.to_radians()), "draft"),
                    (0.0, 0.3, "thin"),
                ],
                2.0,
            ),
            0.3 / libm::cos(limit),
        ),
        (
            "eccentric cones of one slope: (R - r - e) cos",
            turned(0.0, (1.2, 0.0), (1.4, 2.0), "skin").minus(vec![turned(
                0.07,
                (0.85, -0.5),
                (1.15, 2.5),
                "hole",
            )]),
            (1.2 - 0.9 - 0.07) / slope(0.1),
        ),
        (
            "conical hole within leaning planes of its slope: (h - r) cos",
            taper(Frame::at(Point3::origin()), [1.5, 0.1], 0.3, 2.0, ["skin", "corner"], ENDS)
                .minus(vec![turned(0.1, (1.0, -0.5), (1.3, 2.5), "hole")]),
            (1.5 - 1.05 - 0.1) / slope(0.1),
        ),
        (
            "bores that pass at 50 deg: d - r - s",
            block().minus(vec![
                cylinder(Frame::along(Point3::new(-5.0, 0.2, 1.0), &Vector3::x()), 0.4, 10.0, "one", ENDS),
                cylinder(
                    Frame::along(Point3::new(-5.0 * c, 0.2 - 5.0 * s, 2.0), &Vector3::new(c, s, 0.0)),
                    0.35,
                    10.0,
                    "two",
                    ENDS,
                ),
            ]),
            0.25,
        ),
        (
            "bore leaning 6 deg towards a side: at its mouth",
            block().minus(vec![cylinder(
                Frame::along(
                    Point3::new(0.8 - libm::tan(lean), 0.0, -1.0),
                    &Vector3::new(libm::sin(lean), 0.0, libm::cos(lean)),
                ),
                0.5,
                9.0,
                "bore",
                ENDS,
            )]),
            2.0 - (0.8 + 3.0 * libm::tan(lean) + 0.5 / libm::cos(lean)),
        ),
        (
            "closed round hollow: its flat end under the top",
            block().minus(vec![upright(0.4, -0.3, 0.9, 0.8, 1.85, "void")]),
            0.25,
        ),
        (
            "closed round hollow: its side from the side",
            block().minus(vec![upright(1.05, -0.3, 0.9, 0.7, 1.2, "void")]),
            0.25,
        ),
        (
            "fin between two slots: planes",
            block().minus(vec![
                bar([-0.9, -0.2], [-3.0, 3.0], [1.0, 4.0]),
                bar([0.12, 0.8], [-3.0, 3.0], [1.2, 4.0]),
            ]),
            0.32,
        ),
        (
            "stepped tube: the wider bore R - r",
            upright(0.0, 0.0, 0.0, 1.0, 2.0, "skin").minus(vec![
                upright(0.0, 0.0, -1.0, 0.5, 4.0, "bore"),
                upright(0.0, 0.0, 1.2, 0.78, 4.0, "recess"),
            ]),
            0.22,
        ),
    ]
}

pub(super) fn air() -> Vec<Form> {
    vec![
        ("slot: planes", block().minus(vec![bar([-0.1, 0.2], [-3.0, 3.0], [1.0, 4.0])]), 0.3),
        (
            "pin in a blind bore: r - s - e",
            block()
                .minus(vec![upright(0.0, 0.0, 0.5, 0.8, 5.0, "bore")])
                .plus(vec![upright(0.03, 0.04, 0.4, 0.55, 3.0, "pin")]),
            0.2,
        ),
        (
            "post before a wall: d - r",
            block()
                .minus(vec![bar([-1.0, 1.0], [-3.0, 3.0], [1.0, 4.0])])
                .plus(vec![upright(0.3, 0.2, 0.9, 0.5, 2.5, "post")]),
            0.2,
        ),
        (
            "conical post in a conical hole: (R - r) cos",
            block().minus(vec![turned(0.0, (0.9, 0.5), (1.2, 3.5), "hole")]).plus(vec![turned(
                0.0,
                (0.65, 0.4),
                (0.95, 3.4),
                "post",
            )]),
            // Slope 0.1 both; at z = 1: 0.95 and 0.71.
            0.24 / (1.0f64 + 0.01).sqrt(),
        ),
    ]
}

pub(super) fn proved(tree: &Tree, inside: bool) -> (Solid, Proof) {
    let solid = Solid::build(tree).unwrap();
    let fine = meshed(&solid, FINE);
    let q = Question {
        delta: Deg(15.0),
        below: Mm(9.0),
        count: 1,
        thick: ANY,
        tolerance: Mm(ENOUGH),
        work: WORK,
    };
    let p = of_solid(&solid, &fine, inside, &q);
    (solid, p)
}

#[test]
fn closed_forms_in_the_metal_and_in_the_air() {
    let pose = Frame::along(Point3::new(-0.8, 1.9, 0.3), &Vector3::new(1.2, 0.5, -0.7));
    for (inside, forms) in [(true, metal()), (false, air())] {
        for (name, tree, truth) in forms {
            for (k, tree) in [tree.clone(), tree.moved(&pose)].into_iter().enumerate() {
                let (_, p) = proved(&tree, inside);
                let (v, l) = (p.places[0].value.get(), p.lower.get());
                println!("{name} {k}: [{:.3} um] {:.3e} {}", 1e3 * (v - l), v - truth, p.looked);
                assert!(l <= truth + 1e-9 && truth <= v + 1e-9, "{name}: {l} {truth} {v}");
                assert!(v - l <= 2e-3, "{name}: {l} {v}");
                assert!((v - truth).abs() < 1e-9, "{name}: {v} {truth}");
            }
        }
    }
}

/// The designs to start from: nothing thinner than the thinnest place was missed within 2 um.
#[test]
fn thinnest_walls_of_the_designs_are_known_within_two_micrometres() {
    let mut seen = 0;
    for file in std::fs::read_dir("params").unwrap().flatten() {
        let path = file.path();
        if path.extension().is_none_or(|e| e != "jsonc") {
            continue;
        }
        let design = crate::params::read(&std::fs::read_to_string(&path).unwrap()).unwrap();
        let link = crate::parts::link::build(&crate::parts::link::LinkShape::finished(&design)).unwrap();
        let p = of_part(&link.solid, Deg(15.0), 1, &[]).unwrap();
        let width = p.places[0].value.get() - p.lower.get();
        println!("{} {width} {}", path.display(), p.looked);
        assert!((0.0..=2e-3).contains(&width), "{}: {width}", path.display());
        seen += 1;
    }
    assert!(seen >= 6, "{seen}");
}
