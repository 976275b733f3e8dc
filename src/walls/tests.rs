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
    // Closed form at 29 degrees: both conditions leave chords that lean 14 to 15 degrees; the shortest starts at the edge
    // of the roof and leans as little as it may: 0.2 / cos 14 deg. Both conditions bind, the slow case: the
    // budget ends the search, and the interval says so by its width.
    let start = std::time::Instant::now();
    let m = measure(&wedge(29.0), &["floor"], &["roof"], OPPOSED).unwrap();
    let truth = Mm(0.2 / libm::cos(14f64.to_radians()));
    println!("wedge 29: {:?} {:?}", start.elapsed(), m);
    assert!(m.interval.holds(truth) && m.interval.width() < Mm(1e-3), "{m:?}");
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

/// A rod of radius 1 about z from z = 0 to the plane z = 2 + x / 2; its upper edge is an ellipse in exact conic pieces.
fn oblique_rod(start: f64) -> Solid {
    use crate::solid::{Curve, Surface, curve::ConicPiece};
    use nalgebra::Point3;
    use std::f64::consts::{FRAC_1_SQRT_2, FRAC_PI_2, SQRT_2};
    let mut s = prism(&[circle("skin", [0.0; 2], 1.0, start, true)], 2.0);
    let lift = |p: Point3<f64>| Point3::new(p.x, p.y, 2.0 + 0.5 * p.x);
    s.vertices.iter_mut().filter(|p| p.z > 1.0).for_each(|p| *p = lift(*p));
    let ends: Vec<_> = s.vertices.clone();
    for e in &mut s.edges {
        let [a, b] = e.ends.map(|i| ends[i]);
        match &e.curve {
            Curve::Line(..) => e.curve = Curve::Line(a, b),
            Curve::Arc(_) if a.z > 0.5 => {
                let from = libm::atan2(a.y, a.x);
                let on = |t: f64, r: f64| lift(Point3::new(r * libm::cos(t), r * libm::sin(t), 0.0));
                let pieces = (0..2).map(|i| {
                    let t = from + FRAC_PI_2 * f64::from(i);
                    let last = if i == 0 { on(t + FRAC_PI_2, 1.0) } else { b };
                    let first = if i == 0 { a } else { on(t, 1.0) };
                    ConicPiece {
                        points: [first, on(t + FRAC_PI_2 / 2.0, SQRT_2), last],
                        weight: FRAC_1_SQRT_2,
                    }
                });
                e.curve = Curve::Conic(pieces.collect());
            }
            _ => {}
        }
    }
    let top = s.faces.iter_mut().find(|f| f.name == "top").unwrap();
    top.surface = Surface::plane(&Point3::new(0.0, 0.0, 2.0), &Vector3::new(-0.5, 0.0, 1.0));
    super::testkit::check(&s);
    s
}

#[test]
fn the_lowest_point_of_an_ellipse_inside_a_conic_piece() {
    // Closed form: z = 2 - 1/2 at x = -1.
    for start in [0.3, 1.0, 2.2, -1.3] {
        let m = expect("oblique rod", &oblique_rod(start), &["bottom"], &["top"], Kind::Shortest, 1.5);
        assert_eq!(m.between, ["bottom", "top"]);
    }
    // Closed form: plane and wall of a cylinder meet at 90 deg - atan(1/2) where the wall is lowest seen from the plane.
    let sharp = super::acute_edges(&oblique_rod(0.3), Deg(80.0));
    let least = 90.0 - libm::atan2(0.5, 1.0).to_degrees();
    println!("{sharp:?}");
    assert!((sharp[0].angle.get() - least).abs() < 1e-4);
    assert!(sharp[0].lower.get() <= least + 1e-9 && sharp[0].angle.get() - sharp[0].lower.get() < 1e-4);
    // The blade is where the plane is highest.
    assert!((sharp[0].at.x - 1.0).abs() < 1e-3, "{}", sharp[0].at);
}

#[test]
fn no_random_feasible_chord_undercuts_an_opposed_measure() {
    // A drafted rod from side to side and a bored block; chords are drawn on the exact surfaces, on one half of a void.
    let mut s = drafted(&[circle("skin", [0.0; 2], 1.2, 0.3, true)], 2.0, 0.1);
    // `skin` would stand for both halves.
    s.faces[2].name = "half".into();
    let t = prism(&[rectangle(3.0, 2.0), circle("void", [1.31, 0.83], 0.6, 0.7, false)], 1.0);
    let mut seed = 7u64;
    let mut random = || {
        // Knuth's MMIX constants.
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(seed >> 33).unwrap()) / f64::from(1u32 << 31)
    };
    for (solid, from, to) in
        [(&s, "half", "skin.2"), (&t, "void", "front"), (&t, "void.2", "left"), (&t, "void", "right")]
    {
        let f = solid.faces.iter().find(|f| f.name == from).unwrap();
        let g = solid.faces.iter().find(|f| f.name == to).unwrap();
        let m = measure(solid, &[from], &[to], OPPOSED).unwrap();
        let region = |f| super::region::Region::new(solid, f);
        let (rf, rg) = (region(f), region(g));
        let mut feasible = 0;
        for _ in 0..500_000 {
            let mut pick =
                |r: &super::region::Region| [0, 1].map(|k| r.lo[k] + (r.hi[k] - r.lo[k]) * random());
            let (p, q) = (f.at(pick(&rf)), g.at(pick(&rg)));
            let inside = |r: &super::region::Region, f, p| r.side(f, p, 0.0) == super::region::Side::In;
            let d = q - p;
            let limit = DELTA_WEAR.radians();
            if super::cell::angle(&-d, &f.normal(&p)) <= limit
                && super::cell::angle(&d, &g.normal(&q)) <= limit
                && inside(&rf, f, &p)
                && inside(&rg, g, &q)
            {
                feasible += 1;
                assert!(d.norm() >= m.interval.lower.get(), "{from} {to} {}", d.norm());
            }
        }
        println!(
            "{from} {to}: {feasible} feasible, {} +- {:.1e} {:?}",
            m.value.get(),
            m.interval.width().get(),
            m.how
        );
        assert!(feasible > 50, "{from} {to}: {feasible}");
    }
}
