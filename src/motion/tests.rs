//! Against closed forms on simple solids.

use super::*;
use crate::mesh::{FaceMesh, TriMesh};
use crate::solid::tree::{cylinder, prism, rounded_rectangle};
use crate::solid::{Frame, Solid, Tree};
use crate::units::{Deg, Tolerance};
use nalgebra::{Point3, Vector3};
use proptest::prelude::*;
use std::f64::consts::PI;

fn body(tree: &Tree, tolerance: f64) -> Body {
    let solid = Solid::build(tree).unwrap();
    Body::of("", &solid, |_| Tolerance::new(tolerance).unwrap()).unwrap()
}

fn block(x: [f64; 2], y: [f64; 2], z: [f64; 2]) -> Tree {
    let frame = Frame::at(Point3::new(0.0, 0.0, z[0]));
    prism(
        frame,
        rounded_rectangle(x, y, 0.0, ["back", "right", "front", "left"]),
        z[1] - z[0],
        ["low", "high"],
    )
}

fn about(axis: Vector3<f64>, at: [f64; 3]) -> Turn {
    Turn { pivot: Point3::from(at), axis, home: Point3::from(at) }
}

/// Two bars along y: the distance of their axes less both radii.
#[test]
fn two_cylinders_are_as_far_apart_as_their_axes_less_their_radii() {
    let bar = |x: f64, r: f64| {
        cylinder(
            Frame::with_axes(Point3::new(x, -1.0, 0.0), Vector3::z(), Vector3::x()),
            r,
            2.0,
            "side",
            ["a", "b"],
        )
    };
    let pair = Pair {
        still: vec![body(&bar(0.0, 0.5), 5e-4)],
        moving: vec![body(&bar(2.0, 0.7), 5e-4)],
        turn: about(Vector3::y(), [0.0, 0.0, 0.0]),
    };
    for angle in [0.0, 17.0, 63.0, 151.0] {
        let n = pair.nearest(&Pose { angle: Deg(angle), ..Pose::REST }, 5.0).unwrap();
        let want = 2.0 - 1.2;
        assert!(n.lower <= want && want <= n.mesh + n.chords, "{angle}: {n:?}");
        assert!(n.mesh + n.chords - n.lower < 2.1e-3);
        assert!(
            (n.direction() - pair.turn.place(&Pose { angle: Deg(angle), ..Pose::REST }).turn * Vector3::x())
                .norm()
                < 0.1
        );
    }
}

/// A ball by degrees of latitude and longitude, its corners on the sphere.
fn ball(r: f64, n: u32) -> Body {
    let mut mesh = TriMesh::default();
    for i in 0..=n {
        for j in 0..2 * n {
            let (s, c) = libm::sincos(PI * f64::from(i) / f64::from(n));
            let (t, u) = libm::sincos(PI * f64::from(j) / f64::from(n));
            mesh.positions.push(Point3::new(r * s * u, r * s * t, r * c));
        }
    }
    let at = |i: u32, j: u32| 2 * n * i + j % (2 * n);
    for i in 0..n {
        for j in 0..2 * n {
            mesh.triangles.push([at(i, j), at(i + 1, j), at(i + 1, j + 1)]);
            mesh.triangles.push([at(i, j), at(i + 1, j + 1), at(i, j + 1)]);
        }
    }
    mesh.face = vec![0; mesh.triangles.len()];
    // A facet's edges are at most as long as a step along a meridian and one along the equator together.
    let step = PI / f64::from(n);
    let chord = r * (1.0 - libm::cos(step * std::f64::consts::SQRT_2 / 2.0));
    Body::of_mesh("ball", FaceMesh { mesh, chord: vec![chord], ..FaceMesh::default() }, vec!["skin".into()])
}

#[test]
fn two_balls_are_as_far_apart_as_their_centres_less_their_radii() {
    let at = Vector3::new(1.1, -0.7, 1.3);
    let pair = Pair {
        still: vec![ball(0.6, 48)],
        moving: vec![ball(0.9, 48)],
        turn: Turn { pivot: Point3::origin(), axis: Vector3::z(), home: Point3::from(at) },
    };
    let want = at.norm() - 1.5;
    for angle in [0.0, 33.0, 77.7] {
        let n = pair.nearest(&Pose { angle: Deg(angle), ..Pose::REST }, 5.0).unwrap();
        assert!(n.lower <= want && want <= n.mesh + n.chords, "{want} {n:?}");
        assert!((n.direction() - at.normalize()).norm() < 0.1);
        assert_eq!(pair.moving[0].face_name(n.moving.1), "ball.skin");
    }
}

/// A square bar turns about a corner line of a second one until their faces meet: a wedge of known angle.
#[test]
fn a_flap_stops_where_the_closed_form_says() {
    // Flap 0.1 thick above the axis, wall at x = -0.3: the flap's upper far edge (r, 0.1) meets the wall's top edge or face.
    let wall = block([-2.0, -0.3], [-1.0, 1.0], [-1.0, 3.0]);
    let flap = block([0.2, 2.0], [-0.5, 0.5], [-0.05, 0.05]);
    let pair = Pair {
        still: vec![body(&wall, 1e-4)],
        moving: vec![body(&flap, 1e-4)],
        turn: about(Vector3::y(), [0.0; 3]),
    };
    // Turning by -t lifts the flap: corner (2.0, 0.05) goes to x = 2 cos t - 0.05 sin t = -0.3 at first contact.
    let want = libm::acos(-0.3 / libm::hypot(2.0, 0.05)) - libm::atan2(0.05, 2.0);
    let s = swing(&pair, &Play::NONE, &Pose::REST, Deg(-180.0));
    let hit = s.blocked_at.unwrap();
    assert!(
        s.free_to.radians() >= -want && hit.radians() <= -want,
        "{:?} {hit:?} {}",
        s.free_to,
        want.to_degrees()
    );
    // Contact is looked for a tenth of a degree over what is free.
    assert!((s.free_to - hit).get() < 0.1 + 1e-9, "{:?} {hit:?}", s.free_to);
    assert_eq!(pair.still[0].face_name(s.stops[0].still.1), "right");
    // The edge that meets the wall belongs to several faces of the flap.
    let edge = pair.turn.place(s.path.last().unwrap()).back(&s.stops[0].at[1]);
    assert!((edge.x - 2.0).abs() < 1e-3 && (edge.z - 0.05).abs() < 1e-3, "{edge}");
}

/// A rectangle a by h in a straight channel of clear width c, free to shift: binds where
/// a sin t + h cos t = c (elementary).
fn channel(a: f64, h: f64, c: f64) -> (Pair, Play, f64) {
    let sides =
        [block([-3.0, 3.0], [-1.0, 1.0], [c / 2.0, 1.0]), block([-3.0, 3.0], [-1.0, 1.0], [-1.0, -c / 2.0])];
    let bar = block([-a / 2.0, a / 2.0], [-0.5, 0.5], [-h / 2.0, h / 2.0]);
    let pair = Pair {
        still: sides.iter().map(|t| body(t, 1e-4)).collect(),
        moving: vec![body(&bar, 1e-4)],
        turn: about(Vector3::y(), [0.0; 3]),
    };
    let play = Play { along: vec![Vector3::x(), Vector3::z()], reach: vec![[-0.2, 0.2], [-0.1, 0.1]] };
    let diagonal = libm::hypot(a, h);
    (pair, play, libm::atan2(h, a) + libm::asin(c / diagonal) - 2.0 * libm::atan2(h, a))
}

#[test]
fn a_bar_in_a_channel_binds_where_the_closed_form_says_wherever_it_starts() {
    let (pair, play, want) = channel(0.9, 0.5, 0.56);
    for lift in [0.0, 0.02, -0.015] {
        let from = settled(&pair, &play, &Pose { angle: Deg(0.0), shift: Vector3::new(0.0, 0.0, lift) });
        assert!(from.shift.z.abs() < 1e-3, "{from:?}");
        let s = swing(&pair, &play, &from, Deg(80.0));
        let hit = s.blocked_at.unwrap();
        assert!(
            s.free_to.radians() <= want && want <= hit.radians(),
            "{:?} {:?} {hit:?}",
            s.free_to,
            want.to_degrees()
        );
        assert!((hit - s.free_to).get() < 0.2, "{:?} {hit:?}", s.free_to);
        assert!(s.stops.len() >= 2);
    }
    // Held above the middle it binds sooner.
    let held =
        swing(&pair, &Play::NONE, &Pose { angle: Deg(0.0), shift: Vector3::new(0.0, 0.0, 0.02) }, Deg(80.0));
    assert!(held.blocked_at.unwrap().radians() < want);
}

#[test]
fn what_is_free_is_never_called_blocked() {
    let (pair, play, want) = channel(0.9, 0.5, 0.56);
    for share in [0.0, 0.5, 0.9] {
        let found = blocked(&pair, &play, Deg(want.to_degrees() * share), &Pose::REST);
        assert!(matches!(found, Blocked::Free(_)), "{share}: {found:?}");
    }
    assert_eq!(blocked(&pair, &play, Deg(want.to_degrees() + 1.0), &Pose::REST), Blocked::Proved);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]
    /// Channels of random size: the closed form lies in the interval, and no pose of the path has a corner of the bar
    /// outside the channel.
    #[test]
    fn random_channels(a in 0.4..1.5_f64, h in 0.2..0.6_f64, gap in 0.02..0.12_f64) {
        let (pair, play, want) = channel(a, h, h + gap);
        prop_assume!(want.is_finite() && a > h + gap);
        let s = swing(&pair, &play, &Pose::REST, Deg(90.0));
        prop_assert!(s.free_to.radians() <= want);
        prop_assert!(s.blocked_at.is_some_and(|b| b.radians() >= want), "{:?} {:?} {}", s.free_to, s.blocked_at, want.to_degrees());
        for p in &s.path {
            let place = pair.turn.place(p);
            for (x, z) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
                let q = place.point(&Point3::new(x * a / 2.0, 0.0, z * h / 2.0));
                prop_assert!(q.z.abs() < (h + gap) / 2.0);
            }
        }
    }
}
