//! Closed forms and attacks.

use super::*;
use crate::walls::testkit::{circle, polygon, prism, rectangle};

fn asked(tolerance: f64) -> Question {
    Question { delta: Deg(15.0), below: Mm(9.0), count: 1, thick: ANY, tolerance: Mm(tolerance), work: WORK }
}

pub(super) fn meshed(s: &crate::solid::Solid, tol: f64) -> crate::mesh::FaceMesh {
    tessellate(s, Tolerance::new(tol).unwrap()).unwrap()
}

#[test]
fn a_slab_and_a_wedge_as_meshes() {
    let slab = meshed(&prism(&[rectangle(3.0, 2.0)], 0.4), 0.01).mesh;
    let p = of_mesh(&slab, &slab.face, &asked(1e-6)).unwrap();
    assert!((p.places[0].value.get() - 0.4).abs() < 1e-12 && p.sharp.is_empty(), "{p:?}");
    assert!(p.lower.get() >= 0.4 - 1.01e-6 && p.undecided.is_empty());
    // A blade of atan(1/4) = 14 deg: with a land of 0.1 beside its edge it is 0.1 tan thick; square to the floor.
    let s = prism(&[polygon(&[([0.0, 0.0], "floor"), ([2.0, 0.0], "thick"), ([2.0, 0.5], "roof")])], 0.3);
    let wedge = meshed(&s, 0.01).mesh;
    let start = std::time::Instant::now();
    let p = of_mesh(&wedge, &wedge.face, &asked(1e-4)).unwrap();
    println!("{:?} {p:?}", start.elapsed());
    assert!(p.sharp.iter().all(|s| s[0].x.abs() < 1e-12 && s[0].y.abs() < 1e-12));
    assert!(p.places[0].blade);
}

#[test]
fn an_eccentric_tube_as_a_mesh() {
    let tube =
        prism(&[circle("skin", [0.0; 2], 1.0, 0.3, true), circle("bore", [0.1, 0.05], 0.7, 1.1, false)], 2.0);
    let truth = 0.3 - libm::hypot(0.1, 0.05);
    for tol in [1e-3, 1e-4, 1e-5] {
        let m = meshed(&tube, tol).mesh;
        let start = std::time::Instant::now();
        let p = of_mesh(&m, &m.face, &asked(1e-5)).unwrap();
        println!(
            "{} {:?} {} {:?} {}",
            m.triangles.len(),
            start.elapsed(),
            p.looked,
            p.places[0],
            p.lower.get()
        );
        assert!((p.places[0].value.get() - truth).abs() < 2.0 * tol + 1e-9);
        assert!(p.places[0].value.get() - p.lower.get() < 1.1e-5);
    }
}

use crate::solid::tree::{cylinder, revolve, rounded_rectangle, taper};
use crate::solid::{Frame, Solid, Tree};
use nalgebra::Vector3;

pub(super) const ENDS: [&str; 2] = ["low", "high"];

pub(super) fn bar(x: [f64; 2], y: [f64; 2], z: [f64; 2]) -> Tree {
    let sides = rounded_rectangle(x, y, 0.0, ["front", "right", "back", "left"]);
    crate::solid::tree::prism(Frame::at(Point3::new(0.0, 0.0, z[0])), sides, z[1] - z[0], ENDS)
}

pub(super) fn upright(x: f64, y: f64, z: f64, r: f64, h: f64, name: &str) -> Tree {
    cylinder(Frame::at(Point3::new(x, y, z)), r, h, name, ENDS)
}

/// A turned body with straight flanks about an axis along z.
pub(super) fn turned(x: f64, low: (f64, f64), high: (f64, f64), name: &str) -> Tree {
    let profile =
        [(0.0, low.1, "low"), (low.0, low.1, name), (high.0, high.1, "high"), (0.0, high.1, "axis")];
    revolve(Frame::at(Point3::new(x, 0.0, 0.0)), &profile)
}

/// Bodies whose thinnest place has a closed form, one for each pair of kinds of surface and several for the common ones.
pub(super) fn bodies() -> Vec<(&'static str, Tree, f64)> {
    let block = || bar([-2.0, 2.0], [-2.0, 2.0], [0.0, 3.0]);
    vec![
        ("slab: planes, t", bar([0.0, 3.0], [0.0, 2.0], [0.0, 0.4]), 0.4),
        (
            "tube: coaxial cylinders, R - r",
            upright(0.0, 0.0, 0.0, 1.0, 2.0, "skin").minus(vec![upright(0.0, 0.0, -1.0, 0.7, 4.0, "bore")]),
            0.3,
        ),
        (
            "eccentric tube: R - r - e",
            upright(0.0, 0.0, 0.0, 1.0, 2.0, "skin").minus(vec![upright(0.06, 0.08, -1.0, 0.7, 4.0, "bore")]),
            0.2,
        ),
        (
            "two parallel bores: c - r1 - r2",
            block().minus(vec![
                upright(-0.6, 0.0, -1.0, 0.5, 5.0, "one"),
                upright(0.6, 0.1, -1.0, 0.45, 5.0, "two"),
            ]),
            libm::hypot(1.2, 0.1) - 0.95,
        ),
        (
            "bore beside a flat side: d - r",
            block().minus(vec![upright(1.2, 0.3, -1.0, 0.5, 5.0, "bore")]),
            0.3,
        ),
        (
            "blind hole over the floor: planes",
            block().minus(vec![upright(0.2, 0.3, 0.35, 0.8, 5.0, "hole")]),
            0.35,
        ),
        (
            "bores that pass at right angles: d - r1 - r2",
            block().minus(vec![
                upright(-0.3, -0.5, -1.0, 0.5, 5.0, "one"),
                cylinder(Frame::along(Point3::new(-5.0, 0.72, 1.4), &Vector3::x()), 0.4, 10.0, "two", ENDS),
            ]),
            1.22 - 0.9,
        ),
        (
            "hollow closed all round: plane to plane",
            block().minus(vec![bar([-1.0, 1.2], [-1.75, 1.0], [0.5, 2.2])]),
            0.25,
        ),
        (
            "shell between cones of one slope: t cos",
            revolve(
                Frame::at(Point3::origin()),
                &[(1.2, 0.0, "low"), (1.7, 0.0, "skin"), (2.0, 2.5, "high"), (1.5, 2.5, "inside")],
            ),
            0.5 / (1.0f64 + 0.12 * 0.12).sqrt(),
        ),
        (
            "conical hole in a cylinder: at the rim R - r",
            upright(0.0, 0.0, 0.0, 2.0, 2.0, "skin").minus(vec![turned(
                0.0,
                (1.2, -0.4),
                (1.75, 2.4),
                "cone",
            )]),
            2.0 - (1.2 + 0.55 * 2.4 / 2.8),
        ),
        (
            "conical hole beside a flat side: at the rim d - r",
            block().minus(vec![turned(0.3, (0.6, -0.5), (1.4, 3.5), "cone")]),
            1.7 - (0.6 + 0.8 * 3.5 / 4.0),
        ),
        (
            "two conical holes: at the rims c - r1 - r2",
            bar([-3.0, 3.0], [-2.0, 2.0], [0.0, 2.0]).minus(vec![
                turned(-1.1, (0.5, -0.5), (1.0, 2.5), "one"),
                turned(1.0, (0.45, -0.5), (0.9, 2.5), "two"),
            ]),
            2.1 - (0.5 + 0.5 * 2.5 / 3.0) - (0.45 + 0.45 * 2.5 / 3.0),
        ),
        (
            "leaning square shell: t cos",
            taper(Frame::at(Point3::origin()), [1.5, 0.1], 0.3, 2.0, ["skin", "corner"], ENDS).minus(vec![
                taper(
                    Frame::at(Point3::new(0.0, 0.0, -0.5)),
                    [1.05, 0.1],
                    0.25,
                    3.0,
                    ["inside", "inner"],
                    ENDS,
                ),
            ]),
            0.4 / (1.0f64 + 0.01).sqrt(),
        ),
    ]
}

#[test]
fn closed_forms_of_exact_solids_in_two_poses() {
    let pose = Frame::along(Point3::new(1.3, -0.7, 2.1), &Vector3::new(0.4, -1.1, 0.8));
    for (name, tree, truth) in bodies() {
        for tree in [tree.clone(), tree.moved(&pose)] {
            let solid = Solid::build(&tree).unwrap();
            let start = std::time::Instant::now();
            let p = of_part(&solid, Deg(15.0), 1, &[]).unwrap();
            let (v, l) = (p.places[0].value.get(), p.lower.get());
            println!("{name} {:?} {} [{l}] {v} {truth} sharp {}", start.elapsed(), p.looked, p.sharp.len());
            assert!(l <= truth + 1e-9 && truth <= v + 1e-9, "{name}: {l} {truth} {v}");
            assert!(v - l <= 2e-3, "{name}: {l} {v}");
            assert!((v - truth).abs() < 1e-9, "{name}: {v} {truth}");
        }
    }
}

/// Knuth's MMIX constants: a test must not depend on a clock.
pub(super) fn random(seed: &mut u64) -> f64 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    f64::from(u32::try_from(*seed >> 33).unwrap()) / f64::from(1u32 << 31)
}

/// Cases tried; `COLLETLINE_VOIDS` asks for more.
fn voids() -> usize {
    std::env::var("COLLETLINE_VOIDS").ok().and_then(|n| n.parse().ok()).unwrap_or(24)
}

/// A void at a random place of a random part in a random pose, and the metal on all sides of it (closed forms): a box in a box,
/// a round hollow in a box, a round hollow in a rod, a tapered hollow in a box.
fn hidden(k: usize, r: &mut dyn FnMut(f64, f64) -> f64) -> (Tree, Vec<f64>) {
    let both = |a: &[f64], b: &[f64]| [a, b].concat();
    let (wide, deep, high) = (r(3.0, 5.0), r(2.6, 4.0), r(1.8, 2.6));
    let block = bar([0.0, wide], [0.0, deep], [0.0, high]);
    let (z, h) = (r(0.15, 0.9), r(0.2, 0.6));
    let ends = [z, high - z - h];
    match k % 4 {
        0 => {
            let (dx, dy) = (r(0.2, 1.0), r(0.2, 1.0));
            let (x, y) = (r(0.15, wide - dx - 0.15), r(0.15, deep - dy - 0.15));
            let sides = [x, y, wide - x - dx, deep - y - dy];
            (block.minus(vec![bar([x, x + dx], [y, y + dy], [z, z + h])]), both(&sides, &ends))
        }
        1 => {
            let q = r(0.15, 0.8);
            let (x, y) = (r(q + 0.15, wide - q - 0.15), r(q + 0.15, deep - q - 0.15));
            let sides = [x - q, y - q, wide - x - q, deep - y - q];
            (block.minus(vec![upright(x, y, z, q, h, "void")]), both(&sides, &ends))
        }
        2 => {
            let (big, q) = (r(1.2, 2.0), r(0.15, 0.5));
            let (turn, e) = (r(0.0, 6.0), r(0.0, big - q - 0.15));
            let void = upright(e * libm::cos(turn), e * libm::sin(turn), z, q, h, "void");
            let rod = upright(0.0, 0.0, 0.0, big, high, "skin");
            (rod.minus(vec![void]), both(&[big - e - q], &ends))
        }
        _ => {
            // The wide end of a taper of 0.2 decides: its rim lies 11 deg off square to the sides.
            let q = r(0.3, 0.7);
            let (x, y) = (r(q + 0.15, wide - q - 0.15), deep / 2.0);
            let void = revolve(
                Frame::at(Point3::new(x, y, 0.0)),
                &[(0.0, z, "low"), (q - 0.2 * h, z, "void"), (q, z + h, "high"), (0.0, z + h, "axis")],
            );
            (block.minus(vec![void]), both(&[x - q, y - q, wide - x - q, deep - y - q], &ends))
        }
    }
}

#[test]
fn a_void_hidden_anywhere_is_found() {
    let mut seed = 5;
    for k in 0..voids() {
        let mut r = |a: f64, b: f64| a + (b - a) * random(&mut seed);
        let (tree, walls) = hidden(k, &mut r);
        let truth = walls.iter().copied().fold(f64::INFINITY, f64::min);
        let pose = Frame::along(
            Point3::new(r(-3.0, 3.0), r(-3.0, 3.0), 1.0),
            &Vector3::new(r(-1.0, 1.0), r(-1.0, 1.0), 1.0),
        );
        let p = of_part(&Solid::build(&tree.moved(&pose)).unwrap(), Deg(15.0), 1, &[]).unwrap();
        let (v, l) = (p.places[0].value.get(), p.lower.get());
        // Of walls that are equal but for the width of the interval any may be told.
        assert!(walls.iter().any(|w| (v - w).abs() < 1e-6), "{k}: {truth} {v}");
        assert!(l <= truth + 1e-9 && truth <= v + 1e-6, "{k}: {l} {truth} {v}");
        assert!(v - l <= 2e-3, "{k}: {l} {v}");
    }
}

#[test]
fn no_random_chord_that_meets_the_normals_is_shorter_than_the_bound() {
    let mut seed = 11;
    for (name, tree, ..) in bodies().into_iter().skip(2).step_by(3) {
        let solid = Solid::build(&tree).unwrap();
        let p = of_part(&solid, Deg(15.0), 1, &[]).unwrap();
        let m = meshed(&solid, 1e-3).mesh;
        let mut feasible = 0;
        for _ in 0..30_000 {
            // A point of a random triangle, put on its surface.
            let mut pick = || {
                #[allow(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    clippy::cast_precision_loss
                )]
                let t = ((random(&mut seed) * m.triangles.len() as f64) as usize).min(m.triangles.len() - 1);
                let (a, b) = (random(&mut seed), random(&mut seed));
                let (a, b) = if a + b > 1.0 { (1.0 - a, 1.0 - b) } else { (a, b) };
                let [x, y, z] = m.corners(t);
                let q = x + (y - x) * a + (z - x) * b;
                let face = &solid.faces[m.face[t] as usize];
                let (d, n) = face.surface.signed_distance(&q);
                let q = q - n * d;
                (q, face.normal(&q))
            };
            let ((p0, n0), (p1, n1)) = (pick(), pick());
            let d = p1 - p0;
            let limit = 15f64.to_radians();
            let angle = crate::walls::cell::angle;
            if d.norm() > 0.0 && angle(&-d, &n0) <= limit && angle(&d, &n1) <= limit {
                feasible += 1;
                assert!(d.norm() >= p.lower.get() - 1e-12, "{name}: {} {}", d.norm(), p.lower.get());
            }
        }
        println!("{name}: {feasible} chords");
        assert!(feasible > 0, "{name}");
    }
}

#[test]
fn any_number_of_threads_gives_the_same() {
    let solid = Solid::build(&bodies().remove(6).1).unwrap();
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| of_part(&solid, Deg(15.0), 1, &[]).unwrap())
    };
    let one = run(1);
    assert!(one == run(2) && one == run(5));
}

/// A round block of n sides, 1 mm high, with a pit that ends in a point over the floor, and which corner that is.
fn pitted(n: u32, floor: f64) -> (TriMesh, u32) {
    let ring = |r: f64, z: f64| {
        (0..n).map(move |i| {
            let t = std::f64::consts::TAU * f64::from(i) / f64::from(n);
            Point3::new(r * libm::cos(t), r * libm::sin(t), z)
        })
    };
    let positions = ring(2.0, 0.0).chain(ring(2.0, 1.0)).chain(ring(0.1, 1.0));
    let positions = positions.chain([Point3::origin(), Point3::new(0.0, 0.0, floor)]).collect();
    let (middle, tip) = (3 * n, 3 * n + 1);
    let mut triangles = Vec::new();
    for i in 0..n {
        let j = (i + 1) % n;
        triangles.push([middle, j, i]);
        for k in [0, n] {
            triangles.extend([[k + i, k + j, k + n + j], [k + i, k + n + j, k + n + i]]);
        }
        triangles.push([2 * n + i, 2 * n + j, tip]);
    }
    (TriMesh { face: vec![0; triangles.len()], positions, triangles }, tip)
}

/// A corner of more facets than are looked at pair by pair counts as sharp. What is thicker than its land stays known to
/// be so; what is thinner is left to the list of sharp corners, which names it. Truth: from the point of the pit to the
/// floor.
#[test]
fn a_crowded_corner_counts_as_sharp() {
    for (n, floor, sharp) in [(300, 0.3, false), (1200, 0.3, true), (300, 0.05, false), (1200, 0.05, true)] {
        let (mesh, tip) = pitted(n, floor);
        let p = of_mesh(&mesh, &mesh.face, &Question { below: Mm(0.5), ..asked(1e-4) }).unwrap();
        let at = mesh.positions[tip as usize];
        assert_eq!(p.sharp.contains(&[at; 2]), sharp, "{n} {floor}");
        if sharp && floor < LAND {
            // Nearer to the point than its land the floor is not looked at; beyond it nothing is thinner.
            assert!(
                p.places.iter().all(|x| x.value.get() >= floor - 1e-9) && p.lower.get() >= floor - 1e-9,
                "{p:?}"
            );
        } else {
            let (v, l) = (p.places[0].value.get(), p.lower.get());
            assert!((v - floor).abs() < 1e-9 && l <= floor && v - l <= 1.01e-4, "{n}: {l} {v}");
        }
    }
}
