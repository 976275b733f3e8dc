//! Closed forms, on exact solids in their own frame and in arbitrary poses.

use super::measure::{DELTA_WEAR, Kind, MeasureError, Measured, measure};
use super::testkit::{circle, drafted, moved, polygon, prism, rectangle};
use crate::solid::Solid;
use crate::units::{Deg, Mm};
use nalgebra::{Isometry3, Vector3};

const OPPOSED: Kind = Kind::Opposed { delta: DELTA_WEAR };

fn poses() -> Vec<Isometry3<f64>> {
    vec![
        Isometry3::identity(),
        Isometry3::new(Vector3::new(1.3, -0.7, 2.1), Vector3::new(0.4, -1.1, 0.8)),
        Isometry3::new(Vector3::new(-3.0, 5.0, 0.2), Vector3::new(-2.0, 0.3, 1.7)),
    ]
}

/// Asserts the closed form lies inside the interval, which is narrow, and that the chord is as long as it says.
fn expect(what: &str, s: &Solid, from: &[&str], to: &[&str], kind: Kind, truth: f64) -> Measured {
    let mut last = None;
    for pose in poses() {
        let start = std::time::Instant::now();
        let m = measure(&moved(s, &pose), from, to, kind);
        let m = m.unwrap_or_else(|e| panic!("{what}: {e}"));
        let back = measure(&moved(s, &pose), to, from, kind).unwrap();
        println!(
            "{what} {:.1?}: {:.12} [{:.3e} {:.3e}] {:?}",
            start.elapsed(),
            m.value.get(),
            (m.interval.lower.get() - truth),
            m.interval.upper.get() - truth,
            m.how
        );
        assert!((m.value.get() - truth).abs() < 1e-8, "{what}: {} for {truth}", m.value.get());
        assert!(m.interval.lower.get() <= truth + 1e-11 && m.interval.upper.get() >= truth - 1e-11, "{what}");
        assert!(m.interval.width() < Mm(2e-9), "{what}: {}", m.interval.width().get());
        assert!(((m.at[0] - m.at[1]).norm() - m.value.get()).abs() < 1e-12);
        assert!((back.value - m.value).get().abs() < 4e-9, "{what}: both ways");
        last = Some(m);
    }
    last.unwrap()
}

#[test]
fn slab_tube_and_eccentric_tube() {
    // Closed forms: t; R - r; R - r - e.
    let slab = prism(&[rectangle(3.0, 2.0)], 0.4);
    let m = expect("slab", &slab, &["bottom"], &["top"], OPPOSED, 0.4);
    assert_eq!(m.between, ["bottom", "top"]);
    expect("slab, sides", &slab, &["left"], &["right"], OPPOSED, 3.0);
    let tube =
        prism(&[circle("skin", [0.0; 2], 1.0, 0.3, true), circle("bore", [0.0; 2], 0.7, 1.1, false)], 2.0);
    expect("tube", &tube, &["bore"], &["skin"], OPPOSED, 0.3);
    for (e, angle) in [(0.12, 0.7f64), (0.12, 1.1), (0.03, 2.9)] {
        let c = [e * libm::cos(angle), e * libm::sin(angle)];
        let tube =
            prism(&[circle("skin", [0.0; 2], 1.0, 0.3, true), circle("bore", c, 0.7, 1.1, false)], 2.0);
        expect("eccentric tube", &tube, &["bore"], &["skin"], OPPOSED, 0.3 - e);
        expect("eccentric tube, plain", &tube, &["bore"], &["skin"], Kind::Shortest, 0.3 - e);
    }
}

#[test]
fn two_parallel_bores_and_the_drafted_shell() {
    // Closed forms: c - r1 - r2; t_h cos(half angle).
    let mut outline = vec![rectangle(4.0, 2.0)];
    outline.push(circle("bore.a", [1.0, 1.0], 0.5, 0.4, false));
    outline.push(circle("bore.b", [2.3, 1.2], 0.6, 0.0, false));
    let block = prism(&outline, 1.5);
    let c = (1.3f64 * 1.3 + 0.04).sqrt();
    expect("two bores", &block, &["bore.a"], &["bore.b"], OPPOSED, c - 1.1);
    expect("bore to side", &block, &["bore.a"], &["left"], OPPOSED, 0.5);
    expect("bore to side", &block, &["bore.b"], &["back"], OPPOSED, 0.2);
    let cup = drafted(
        &[circle("skin", [0.0; 2], 1.7, 0.3, true), circle("inside", [0.0; 2], 1.2, 1.1, false)],
        2.5,
        0.12,
    );
    expect("drafted shell", &cup, &["inside"], &["skin"], OPPOSED, 0.5 / (1.0 + 0.12f64 * 0.12).sqrt());
    expect("drafted shell", &cup, &["inside"], &["skin"], Kind::Level, 0.5 / (1.0 + 0.12f64 * 0.12).sqrt());
}

#[test]
fn a_wedge_has_an_opposed_chord_only_within_twice_delta() {
    // Closed form: two planes at dihedral theta admit a chord only if theta <= 2 delta. Here the thin end is 0.2 wide.
    let wedge = |theta: f64| {
        let t = libm::tan(theta.to_radians());
        prism(
            &[polygon(&[
                ([0.0, 0.0], "floor"),
                ([2.0, 0.0], "thick"),
                ([2.0, 0.2 + 2.0 * t], "roof"),
                ([0.0, 0.2], "thin"),
            ])],
            1.0,
        )
    };
    // Drafted by 5 degrees: shortest at the edge of the roof, square to the floor.
    let m = expect("drafted wall", &wedge(5.0), &["floor"], &["roof"], OPPOSED, 0.2);
    assert_eq!(m.between, ["floor", "roof"]);
    for theta in [29.0, 31.0] {
        let r = measure(&wedge(theta), &["floor"], &["roof"], OPPOSED);
        assert_eq!(r.is_ok(), theta < 30.0, "{theta}: {r:?}");
    }
    assert!(matches!(
        measure(&wedge(31.0), &["floor"], &["roof"], OPPOSED),
        Err(MeasureError::NothingOpposed { .. })
    ));
    expect("thin side", &wedge(31.0), &["floor"], &["roof"], Kind::Shortest, 0.2);
    // With delta 15 deg the wedge of 29 deg: the foot lies 0.2 sin 29 along.
    let t = measure(&wedge(29.0), &["floor"], &["roof"], Kind::Opposed { delta: Deg(15.0) }).unwrap();
    println!("{t:?}");
}

#[test]
fn names_and_sets_that_cannot_be_measured_are_errors() {
    let slab = prism(&[rectangle(3.0, 2.0)], 0.4);
    assert_eq!(measure(&slab, &["nope"], &["top"], OPPOSED), Err(MeasureError::NoFace("nope".into())));
    assert_eq!(measure(&slab, &["top"], &["top"], OPPOSED), Err(MeasureError::NoPair));
    assert!(matches!(
        measure(&slab, &["top"], &["left"], Kind::Level),
        Err(MeasureError::NotParallel { .. })
    ));
    assert!(matches!(measure(&slab, &["top"], &["left"], OPPOSED), Err(MeasureError::NothingOpposed { .. })));
    assert_eq!(measure(&slab, &["top"], &["left"], Kind::Shortest).unwrap().value, Mm(0.0));
    assert_eq!(measure(&slab, &["left"], &["right"], Kind::Level).unwrap().value, Mm(3.0));
}
