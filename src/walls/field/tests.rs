//! Bodies whose spheres, necks and pockets are known in closed form.

use super::feed::Feed;
use super::*;
use std::f64::consts::TAU;

/// A closed body turned about z from a profile of radii and heights that begins and ends on the axis, `n` sides; each part of the
/// profile is a face. Coaxial holes are profiles too.
fn turned(profile: &[(f64, f64)], n: u32) -> TriMesh {
    let mut m = TriMesh::default();
    let k = u32::try_from(profile.len()).unwrap();
    for (r, z) in profile {
        for i in 0..n {
            let (s, c) = libm::sincos(TAU * f64::from(i) / f64::from(n));
            m.positions.push(Point3::new(r * c, r * s, *z));
        }
    }
    // Where the profile meets the axis all its points are one.
    let id = |p: u32, i: u32| if profile[p as usize].0 == 0.0 { p * n } else { p * n + i % n };
    for p in 0..k - 1 {
        for i in 0..n {
            for t in [[id(p, i), id(p, i + 1), id(p + 1, i + 1)], [id(p, i), id(p + 1, i + 1), id(p + 1, i)]]
            {
                if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
                    m.triangles.push(t);
                    m.face.push(p);
                }
            }
        }
    }
    m
}

/// Two cylinders of radius and half height 1 (the upper one 0.8) on a bar of radius `bar`: a dumb-bell.
fn dumbbell(bar: f64) -> TriMesh {
    turned(
        &[(0.0, 0.0), (1.0, 0.0), (1.0, 2.0), (bar, 2.0), (bar, 4.0), (0.8, 4.0), (0.8, 6.0), (0.0, 6.0)],
        128,
    )
}
/// Shortfall of an n-sided prism's inscribed circle.
fn flat(n: f64) -> f64 {
    libm::cos(TAU / 2.0 / n)
}

#[test]
fn the_largest_sphere_of_a_dumbbell_is_that_of_its_thicker_end() {
    let m = dumbbell(0.3);
    let f = Field::new(&m, 0.08, 0.0).unwrap();
    let s = f.largest(1e-3).unwrap();
    assert!((s.radius.lower.get()..=s.radius.upper.get()).contains(&flat(128.0)), "{s:?}");
    assert!(s.radius.width().get() <= 1.001e-3 && (1.0..1.05).contains(&s.centre.z), "{s:?}");
}

#[test]
fn what_is_fed_through_the_bar_has_the_bar_for_its_neck() {
    let m = dumbbell(0.3);
    let f = Field::new(&m, 0.06, 0.0).unwrap();
    let feed = Feed { at: Point3::new(0.0, 0.0, 0.0), reach: 1.1 };
    let heavy = f.heavy(&feed, 8, 0.02, 0.5);
    assert_eq!(heavy.len(), 2, "{heavy:?}");
    let [thick, thin] = [heavy[0], heavy[1]];
    // The end where the metal comes in feeds itself: no neck narrower than the sphere, as far as the grid tells.
    assert!(thick.neck.radius.upper >= thick.sphere.radius.lower, "{thick:?}");
    assert!((thin.sphere.radius.lower.get() - 0.8 * flat(128.0)).abs() < 5e-3, "{thin:?}");
    let neck = thin.neck.radius;
    assert!(neck.width().get() <= 0.02 + 1e-12, "{neck:?}");
    assert!(neck.lower.get() < 0.3 && neck.upper.get() > 0.3 * flat(128.0), "{neck:?}");
    // Beside the end of the bar the end is hardly deeper: the place is told to two cells or so.
    assert!((2.0 - 0.12..=4.0 + 0.12).contains(&thin.neck.at.z), "{thin:?}");
    // From the other end it is the other way round.
    let feed = Feed { at: Point3::new(0.0, 0.0, 6.0), reach: 0.7 };
    let heavy = f.heavy(&feed, 8, 0.02, 0.5);
    assert!(heavy[0].neck.radius.upper < heavy[0].sphere.radius.lower, "{heavy:?}");
    assert!(f.heavy(&Feed { at: Point3::new(9.0, 0.0, 0.0), reach: 0.1 }, 8, 0.02, 0.5).is_empty());
}

#[test]
fn a_ball_on_a_thin_bar_is_a_heavy_place_of_its_own_radius() {
    // A ball of radius 0.7 about z = 3, its profile in 48 steps, on a bar of 0.2 from a foot.
    let mut profile = vec![(0.0, 0.0), (0.5, 0.0), (0.5, 0.6), (0.2, 0.6)];
    let from = libm::asin(0.2 / 0.7);
    for i in 0..=48 {
        let a = from + (TAU / 2.0 - from) * f64::from(i) / 48.0;
        let r = if i == 48 { 0.0 } else { 0.7 * libm::sin(a) };
        profile.push((r, 3.0 - 0.7 * libm::cos(a)));
    }
    let m = turned(&profile, 96);
    let f = Field::new(&m, 0.05, 0.0).unwrap();
    let heavy = f.heavy(&Feed { at: Point3::origin(), reach: 0.4 }, 4, 0.02, 0.5);
    let ball = heavy[0].sphere;
    assert!((ball.centre - Point3::new(0.0, 0.0, 3.0)).norm() < 0.02, "{ball:?}");
    assert!(ball.radius.lower.get() < 0.7 && ball.radius.upper.get() > 0.7 * flat(96.0) * 0.998, "{ball:?}");
    let neck = heavy[0].neck.radius;
    assert!(neck.lower.get() < 0.2 && neck.upper.get() > 0.2 * flat(96.0), "{neck:?}");
}

/// A blind bore of width 0.5 and depth 1.5 in a cylinder: three widths deep.
#[test]
fn a_blind_bore_is_as_deep_as_it_is_drilled() {
    let m = turned(&[(0.0, 0.0), (1.0, 0.0), (1.0, 2.0), (0.25, 2.0), (0.25, 0.5), (0.0, 0.5)], 96);
    let f = Field::new(&m, 0.05, 0.5).unwrap();
    let found = f.pockets(&[0.3, 0.4, 0.52, 0.7], 1.0);
    assert_eq!(found.len(), 1, "{found:?}");
    let p = found[0];
    assert!(!p.closed && (p.width - 0.52).abs() < 1e-12 && (p.deep - 1.5).abs() < p.by, "{p:?}");
    assert!(p.at.z < 0.6, "{p:?}");
    // Balls that come in find nothing, nor does a limit of four widths.
    assert!(f.pockets(&[0.3, 0.4], 1.0).is_empty() && f.pockets(&[0.52], 4.0).is_empty());
}

#[test]
fn a_hole_through_counts_from_both_sides() {
    let ring = {
        // A tube: its profile is closed, so the first point comes again.
        let mut m = turned(&[(1.0, 0.0), (1.0, 2.0), (0.25, 2.0), (0.25, 0.0), (1.0, 0.0)], 96);
        // The last ring of points is the first.
        for t in &mut m.triangles {
            for v in t {
                if *v >= 4 * 96 {
                    *v -= 4 * 96;
                }
            }
        }
        m.positions.truncate(4 * 96);
        m
    };
    let f = Field::new(&ring, 0.05, 0.5).unwrap();
    let found = f.pockets(&[0.52], 1.0);
    assert!(found.iter().all(|p| (p.deep - 1.0).abs() < p.by && p.deep / p.width > 1.0), "{found:?}");
    assert_eq!(found.len(), 1);
    assert!(f.pockets(&[0.52], 2.2).is_empty());
}

#[test]
fn a_hollow_without_a_way_out_is_found_with_its_width() {
    let mut m = turned(&[(0.0, 0.0), (1.0, 0.0), (1.0, 2.0), (0.0, 2.0)], 96);
    let inner = turned(&[(0.0, 0.7), (0.4, 0.7), (0.4, 1.5), (0.0, 1.5)], 96);
    let n = u32::try_from(m.positions.len()).unwrap();
    m.positions.extend(inner.positions);
    m.triangles.extend(inner.triangles.iter().map(|t| [t[0] + n, t[2] + n, t[1] + n]));
    m.face.extend(inner.face.iter().map(|f| f + 10));
    let f = Field::new(&m, 0.05, 0.5).unwrap();
    let found = f.pockets(&[0.3], 1.0);
    assert!(found.len() == 1 && found[0].closed && (found[0].width - 0.8).abs() < 0.1, "{found:?}");
    // The wall round it is the heaviest metal: 0.6 to the side, 0.7 below.
    let s = f.largest(1e-3).unwrap();
    assert!(s.radius.lower.get() > 0.33 && s.radius.lower.get() < 0.42, "{s:?}");
}

#[test]
fn what_is_no_mesh_or_no_step_has_no_field() {
    assert!(Field::new(&TriMesh::default(), 0.1, 0.0).is_none());
    let m = dumbbell(0.3);
    for step in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(Field::new(&m, step, 0.0).is_none());
    }
    // A step that would take too many points is made longer.
    assert!(Field::within(&m, 1e-5, 0.0, 20_000).unwrap().step() > 0.05);
}
