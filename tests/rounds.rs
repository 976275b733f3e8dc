//! Wires, rings and balls as exact solids: volumes and areas against Pappus and Guldin, meshes through the gate, refusals.

#![allow(clippy::unwrap_used, clippy::panic)]

use colletline::mesh::{checked, exact::solid_mass, mass};
use colletline::parts::wires;
use colletline::solid::path::Path;
use colletline::solid::pipe::{End, ball, pipe};
use colletline::solid::tree::{prism, revolve, rounded_rectangle};
use colletline::solid::{BuildError, Frame, Solid};
use colletline::units::{Mm, Tolerance};
use nalgebra::{Matrix3, Point3, Vector3};
use std::f64::consts::PI;

fn askew() -> Frame {
    let z = Vector3::new(0.36, 0.48, 0.8);
    let x = Vector3::new(0.8, -0.6, 0.0);
    Frame::with_axes(Point3::new(3.0, -7.0, 11.0), x, z.cross(&x))
}

/// Exact volume and area, genus and mesh of a solid, where it stands and elsewhere.
fn holds(name: &str, solid: &Solid, volume: f64, area: f64, genus: i64) {
    for s in [solid.clone(), solid.moved(&askew())] {
        s.check().unwrap();
        s.whole().unwrap();
        assert_eq!(s.genus(), genus, "{name}");
        let m = solid_mass(&s);
        assert!((m.volume - volume).abs() < 1e-11 * volume, "{name}: {} {volume}", m.volume);
        assert!((m.area - area).abs() < 1e-11 * area, "{name}: {} {area}", m.area);
        assert!(m.volume_error < 1e-10 * volume, "{name}: {m:?}");
        for t in [0.02, 0.005] {
            let fine = checked(&s, Tolerance::new(t).unwrap()).unwrap_or_else(|e| panic!("{name}: {e}")).mesh;
            let got = mass::mass(&fine.mesh);
            assert!((got.volume - volume).abs() <= t * area, "{name}: {} {volume}", got.volume);
            // What lies between mesh and solid, at most so far off.
            let reach = s.vertices.iter().map(|v| (v - m.centre).norm()).fold(0.0, f64::max) + 1.0;
            assert!((got.centre - m.centre).norm() <= 2.0 * t * area * reach / volume, "{name}");
            // Every facet where it claims to be, seen at its middle and its sides.
            for (i, &f) in fine.mesh.face.iter().enumerate() {
                let c = fine.mesh.corners(i);
                let face = &s.faces[f as usize];
                let mean =
                    |w: [f64; 3]| Point3::from(c[0].coords * w[0] + c[1].coords * w[1] + c[2].coords * w[2]);
                let third = 1.0 / 3.0;
                for w in [[third; 3], [0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5]] {
                    assert!(face.surface.distance(&mean(w)) <= t, "{name} {}", face.name);
                }
                let n = (c[1] - c[0]).cross(&(c[2] - c[0]));
                assert!(n.dot(&face.normal(&mean([third; 3]))) > 0.0, "{name} {} turned", face.name);
            }
        }
    }
}

/// Volume and skin of a wire by Pappus and Guldin: section times the way of its middle.
fn wire(length: f64, r: f64) -> (f64, f64) {
    (PI * r * r * length, 2.0 * PI * r * length)
}

#[test]
fn ball_and_ring_have_the_handbook_volumes() {
    let r: f64 = 0.7;
    let b = ball(Point3::new(1.0, 2.0, 3.0), r, "ball").unwrap();
    holds("ball", &b, 4.0 / 3.0 * PI * r.powi(3), 4.0 * PI * r * r, 0);
    let m = solid_mass(&b).centre;
    assert!((m - Point3::new(1.0, 2.0, 3.0)).norm() < 1e-13);
    for (inner, d) in [(4.2, 0.35), (0.5, 1.0), (0.01, 1.0)] {
        let ring = wires::ring(Mm(inner), Mm(d)).unwrap();
        let (big, small) = ((inner + d) / 2.0, d / 2.0);
        holds("ring", &ring, 2.0 * PI * PI * big * small * small, 4.0 * PI * PI * big * small, 1);
    }
}

#[test]
fn wires_have_the_volume_of_their_middle_line() {
    let d: f64 = 0.55;
    let (v, a) = wire(2.0 * (3.0 - 0.9) + 2.0 * (1.5 - 0.9) + 2.0 * PI * 0.45, d / 2.0);
    holds("connecting wire", &wires::connecting_wire(Mm(3.0), Mm(1.5), Mm(0.45), Mm(d)).unwrap(), v, a, 1);
    let d: f64 = 0.4;
    let (v, a) = wire(7.0 + 2.0 * 2.5 + PI * 0.5, d / 2.0);
    holds("u", &wires::u_wire(Mm(8.0), Mm(3.0), Mm(0.5), Mm(d)).unwrap(), v, a + PI * d * d / 2.0, 0);
    // Bending a ring keeps its middle line.
    let (v, a) = wire(PI * (4.2 + 0.35), 0.175);
    let link = wires::loop_in_loop_link(Mm(4.2), Mm(0.35), Mm(0.7), Mm(0.8)).unwrap();
    holds("link", &link, v, a, 1);
}

#[test]
fn a_bead_is_a_ball_less_its_cap() {
    // Cap of height h of a sphere: pi h^2 (3 R - h) / 3, its skin 2 pi R h (any handbook).
    let (l, d, bead) = (12.0, 0.5_f64, 0.8_f64);
    let (r, big) = (d / 2.0, bead / 2.0);
    let h = big - (big * big - r * r).sqrt();
    let (v, a) = wire(l, r);
    let volume = v + 4.0 / 3.0 * PI * big.powi(3) - PI * h * h * (3.0 * big - h) / 3.0;
    let area = a + PI * r * r + 4.0 * PI * big * big - 2.0 * PI * big * h;
    let pin = wires::pin(Mm(l), Mm(d), Mm(bead)).unwrap();
    holds("pin", &pin, volume, area, 0);
    // Moment of the ball beyond the wire's end about the ball's middle: integral of pi z (R^2 - z^2).
    let low = big - h;
    let moment = PI * (big.powi(4) / 4.0 - big * big * low * low / 2.0 + low.powi(4) / 4.0);
    let z = (v * l / 2.0 + moment + (volume - v) * (l + low)) / volume;
    assert!((solid_mass(&pin).centre - Point3::new(0.0, 0.0, z)).norm() < 1e-12);
    assert_eq!(pin.faces_named("pin.bead").len(), 1);
    assert_eq!(pin.faces_named("pin").len(), 2);
    // Half balls at both ends: a cylinder and one ball.
    let path = Path::start(Point3::origin(), &Vector3::x()).unwrap().line("w", 2.0).unwrap();
    let s = pipe(&path, 0.3, Some([End::Ball("a".into(), 0.3), End::Ball("b".into(), 0.3)])).unwrap();
    let (v, a) = wire(2.0, 0.3);
    holds("capsule", &s, v + 4.0 / 3.0 * PI * 0.027, a + 4.0 * PI * 0.09, 0);
}

#[test]
fn a_wire_bent_in_space_and_a_tight_hook() {
    let path = Path::start(Point3::origin(), &Vector3::x())
        .unwrap()
        .line("a", 3.0)
        .unwrap()
        .bend("b", &Vector3::z(), 1.0, 1.2)
        .unwrap()
        .bend("c", &Vector3::y(), 0.8, 2.0)
        .unwrap();
    let s = pipe(&path, 0.3, Some([End::Flat("x".into()), End::Flat("y".into())])).unwrap();
    let (v, a) = wire(3.0 + 1.2 + 1.6, 0.3);
    holds("space", &s, v, a + 2.0 * PI * 0.09, 0);
    let hook = Path::start(Point3::origin(), &Vector3::y()).unwrap().line("a", 2.0).unwrap();
    let hook = hook.bend("b", &Vector3::x(), 0.32, PI).unwrap().line("c", 1.0).unwrap();
    let s = pipe(&hook, 0.3, Some([End::Flat("x".into()), End::Flat("y".into())])).unwrap();
    let (v, a) = wire(3.0 + PI * 0.32, 0.3);
    holds("hook", &s, v, a + 2.0 * PI * 0.09, 0);
}

fn refused(got: Result<Solid, BuildError>, face: &str, word: &str) {
    match got {
        Err(BuildError::Primitive { face: f, detail }) => {
            assert!(f == face && detail.contains(word), "{f}: {detail}");
        }
        other => panic!("{face}, {word}: {other:?}"),
    }
}

#[test]
fn what_cannot_be_bent_is_refused_by_name() {
    // Spindle: the bend's radius is the wire's or less.
    refused(wires::ring(Mm(0.0), Mm(1.0)), "ring", "cannot bend");
    refused(wires::ring(Mm(-0.5), Mm(1.0)), "ring", "cannot bend");
    refused(wires::connecting_wire(Mm(3.0), Mm(1.5), Mm(0.2), Mm(0.55)), "wire.bend", "cannot bend");
    refused(wires::connecting_wire(Mm(3.0), Mm(0.8), Mm(0.45), Mm(0.55)), "wire.end", "straight");
    refused(wires::pin(Mm(5.0), Mm(0.5), Mm(0.4)), "pin.bead", "does not hold");
    refused(wires::pin(Mm(-5.0), Mm(0.5), Mm(0.8)), "pin", "straight");
    refused(wires::pin(Mm(0.0), Mm(0.5), Mm(0.8)), "path", "length");
    refused(wires::loop_in_loop_link(Mm(1.0), Mm(0.35), Mm(0.7), Mm(0.8)), "link.leg", "straight");
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(ball(Point3::origin(), bad, "ball").is_err());
        assert!(wires::ring(Mm(4.0), Mm(bad)).is_err());
        assert!(wires::ring(Mm(bad), Mm(4.0)).is_err() || bad == 0.0);
    }
    // Two turns of a coil in one plane, and a hook whose tip runs through its shank.
    let path = Path::start(Point3::origin(), &Vector3::y()).unwrap();
    let coil = path.bend("coil", &Vector3::x(), 1.0, 2.0 * PI).unwrap().line("tail", 1.0).unwrap();
    refused(
        pipe(&coil, 0.1, Some([End::Flat("a".into()), End::Flat("b".into())])),
        "coil",
        "runs into itself",
    );
    let path = Path::start(Point3::origin(), &Vector3::y()).unwrap().line("shank", 3.0).unwrap();
    let hook = path.bend("bend", &Vector3::x(), 0.5, 1.5 * PI).unwrap().line("tip", 2.0).unwrap();
    refused(
        pipe(&hook, 0.1, Some([End::Flat("a".into()), End::Flat("b".into())])),
        "shank",
        "runs into itself",
    );
    // Not closed.
    let path = Path::start(Point3::origin(), &Vector3::y()).unwrap();
    assert!(path.bend("half", &Vector3::x(), 1.0, PI).unwrap().close().is_err());
}

/// Second moments of a fine mesh of a solid about its centre, mm5 (four corners of a tetrahedron: V/20 (sum p p' + s s'), s their sum).
fn second_moments(s: &Solid, t: f64) -> Matrix3<f64> {
    let centre = solid_mass(s).centre;
    let fine = checked(s, Tolerance::new(t).unwrap()).unwrap().mesh.mesh;
    (0..fine.triangles.len()).fold(Matrix3::zeros(), |sum, i| {
        let [a, b, c] = fine.corners(i).map(|p| p - centre);
        let all = a + b + c;
        let squares = a * a.transpose() + b * b.transpose() + c * c.transpose() + all * all.transpose();
        sum + squares * (a.dot(&b.cross(&c)) / 120.0)
    })
}

/// What may lie between the second moments of solid and mesh: a layer of the chord, at most so far from the centre.
fn layer(s: &Solid, t: f64) -> f64 {
    let m = solid_mass(s);
    let reach = s.vertices.iter().map(|v| (v - m.centre).norm()).fold(0.0, f64::max) + 1.0;
    2.0 * t * m.area * reach * reach
}

/// Name, kind and side of every face, in order.
fn faces(s: &Solid) -> Vec<(String, &'static str, bool)> {
    s.faces.iter().map(|f| (f.name.clone(), f.surface.kind(), f.outward)).collect()
}

/// Wires and balls, of each a twin reflected in the plane y = 0: rings, bends in space, beads, half balls, a cup in a block.
fn with_twins() -> Vec<(&'static str, [Solid; 2])> {
    let space = |y: f64| {
        let path =
            Path::start(Point3::new(0.3, 2.0 * y, 1.0), &Vector3::x()).unwrap().line("a", 3.0).unwrap();
        let path = path.bend("b", &Vector3::new(0.0, 0.6 * y, 0.8), 1.0, 1.2).unwrap();
        let end = |n: &str, r: f64| End::Ball(n.into(), r);
        pipe(&path.line("c", 1.0).unwrap(), 0.3, Some([end("ball", 0.3), end("bead", 0.5)])).unwrap()
    };
    let ring = |y: f64| {
        let path = Path::start(Point3::new(1.0, 0.5 * y, 0.0), &Vector3::new(0.0, 0.6 * y, 0.8)).unwrap();
        pipe(&path.bend("ring", &-Vector3::x(), 1.2, 2.0 * PI).unwrap().close().unwrap(), 0.25, None).unwrap()
    };
    let cup = |y: f64| {
        let at = Point3::new(0.9, 0.4 * y, 2.6);
        let half = (0.64_f64 - 0.36).sqrt();
        let (low, high) = (at.z - (0.64_f64 - 0.04).sqrt(), 2.0);
        let block = prism(
            Frame::at(Point3::new(0.0, 0.3 * y, 0.0)),
            rounded_rectangle([-2.0, 2.0], [-1.5, 1.5], 0.2, ["a", "b", "c", "d"]),
            2.0,
            ["under", "top"],
        );
        let cone = revolve(
            Frame::at(Point3::new(at.x, at.y, 0.0)),
            &[(0.0, low, "bottom"), (0.2, low, "cup"), (half, high, "above"), (0.0, high, "")],
        );
        Solid::build(&block.minus(vec![cone])).unwrap().with_ball_cup("cup", &at, 0.8).unwrap()
    };
    vec![
        ("space", [space(1.0), space(-1.0)]),
        ("ring", [ring(1.0), ring(-1.0)]),
        ("cup", [cup(1.0), cup(-1.0)]),
    ]
}

#[test]
fn a_rigid_motion_moves_wires_balls_and_cups_and_changes_nothing() {
    let t = 0.002;
    let to = askew();
    let turn = Matrix3::from_columns(&[Vector3::x(), Vector3::y(), Vector3::z()].map(|e| to.vector(&e)));
    for (name, [here, _]) in with_twins() {
        let there = here.moved(&to);
        there.check().unwrap();
        assert_eq!(faces(&here), faces(&there), "{name}");
        assert_eq!((here.edges.len(), here.genus()), (there.edges.len(), there.genus()), "{name}");
        let (a, b) = (solid_mass(&here), solid_mass(&there));
        assert!((a.volume - b.volume).abs() < 1e-11 * a.volume, "{name}");
        assert!((a.area - b.area).abs() < 1e-11 * a.area, "{name}");
        assert!((to.point(a.centre.x, a.centre.y, a.centre.z) - b.centre).norm() < 1e-11, "{name}");
        let (m, n) = (second_moments(&here, t), second_moments(&there, t));
        assert!((turn * m * turn.transpose() - n).norm() <= 2.0 * layer(&here, t), "{name}");
        // Every edge of a face goes with its surface.
        for (f, g) in here.faces.iter().zip(&there.faces) {
            for u in f.loops.iter().flatten() {
                let c = &here.edges[u.edge].curve;
                let p = c.point(0.37 * c.end_parameter());
                assert!(g.surface.distance(&to.point(p.x, p.y, p.z)) < 1e-9, "{name} {}", f.name);
            }
        }
    }
}

#[test]
fn a_reflected_wire_ball_or_cup_is_the_reflection() {
    let t = 0.002;
    let mirror = Matrix3::from_diagonal(&Vector3::new(1.0, -1.0, 1.0));
    for (name, [here, there]) in with_twins() {
        let sorted = |s: &Solid| {
            let mut all = faces(s);
            all.sort();
            all
        };
        let kinds =
            |s: &Solid| sorted(s).into_iter().map(|f| (f.1, f.2)).collect::<std::collections::BTreeSet<_>>();
        assert_eq!(kinds(&here), kinds(&there), "{name}");
        assert_eq!(here.faces.len(), there.faces.len(), "{name}");
        assert_eq!((here.edges.len(), here.genus()), (there.edges.len(), there.genus()), "{name}");
        let (a, b) = (solid_mass(&here), solid_mass(&there));
        assert!((a.volume - b.volume).abs() < 1e-10 * a.volume, "{name}: {} {}", a.volume, b.volume);
        assert!((a.area - b.area).abs() < 1e-10 * a.area, "{name}");
        assert!((mirror * a.centre - b.centre).norm() < 1e-10, "{name}");
        let (m, n) = (second_moments(&here, t), second_moments(&there, t));
        assert!((mirror * m * mirror - n).norm() <= 2.0 * layer(&here, t), "{name}");
    }
}

/// Inertia of a ring about its axis m (R² + 3/4 r²) and across it m (R²/2 + 5/8 r²); of a ball 2/5 m R² (any handbook).
#[test]
fn ring_and_ball_have_the_handbook_inertia() {
    let t = 0.002;
    let inertia = |s: &Solid| {
        let m = second_moments(s, t);
        Matrix3::identity() * m.trace() - m
    };
    let (big, small) = (2.275, 0.175);
    let ring = wires::ring(Mm(4.2), Mm(0.35)).unwrap();
    let m = 2.0 * PI * PI * big * small * small;
    let i = inertia(&ring);
    let (along, across) =
        (m * (big * big + 0.75 * small * small), m * (big * big / 2.0 + 0.625 * small * small));
    let off = (i - Matrix3::from_diagonal(&Vector3::new(across, across, along))).norm();
    // A layer of the chord over the skin, and no more than a hundredth.
    assert!(off < layer(&ring, t) && off < 0.01 * along, "{i}");
    let b = ball(Point3::new(1.0, 2.0, 3.0), 0.7, "ball").unwrap();
    let want = 0.4 * 4.0 / 3.0 * PI * 0.7_f64.powi(5);
    assert!((inertia(&b) - Matrix3::identity() * want).norm() < 0.01 * want);
}
