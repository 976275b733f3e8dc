//! Closed forms point by point, and what the map says of areas.

use super::map::{Map, divided, of_mesh, of_solid};
use super::tests::{bar, meshed, upright};
use crate::solid::Solid;
use crate::units::{Deg, Mm};
use nalgebra::Point3;

fn near(x: &Point3<f64>, at: [f64; 2]) -> f64 {
    libm::hypot(x.x - at[0], x.y - at[1])
}

fn held(map: &Map, name: &str, truth: impl Fn(&Point3<f64>) -> Option<f64>) -> usize {
    let (mut seen, mut wide) = (0, 0);
    for d in map.depth.iter().flatten() {
        let Some(t) = truth(&d.from) else { continue };
        seen += 1;
        let (lower, upper) = (d.interval.lower.get(), d.interval.upper.get());
        assert!(lower <= t + 1e-9 && t <= upper + 1e-9, "{name}: {t} at {}: {lower} {upper}", d.from);
        wide += usize::from(upper - lower > 5e-3);
        assert!(((d.to - d.from).norm() - upper).abs() < 1e-12);
    }
    assert!(wide * 50 <= seen, "{name}: {wide} of {seen} intervals wider than 5 um");
    seen
}

#[test]
fn an_eccentric_tube_point_by_point() {
    // From the skin the bore is |p - c| - r away, from the bore the skin R - |p|: both lean less than 15 deg.
    let c = [0.06, 0.08];
    let tube =
        upright(0.0, 0.0, 0.0, 1.0, 2.0, "skin").minus(vec![upright(c[0], c[1], -1.0, 0.7, 4.0, "bore")]);
    let solid = Solid::build(&tube).unwrap();
    let start = std::time::Instant::now();
    let map = of_solid(&solid, Deg(15.0), Mm(0.2)).unwrap();
    println!("{} triangles {:?}", map.mesh.triangles.len(), start.elapsed());
    let seen = held(&map, "tube", |p| {
        let flat = p.z < 0.0 + 1e-6 || p.z > 2.0 - 1e-6;
        let r = near(p, [0.0; 2]);
        (!flat).then_some(if r > 0.99 { near(p, c) - 0.7 } else { 1.0 - r })
    });
    // The ends look at each other over the whole height.
    let ends = held(&map, "ends", |p| (p.z.abs() < 1e-9 || (p.z - 2.0).abs() < 1e-9).then_some(2.0));
    assert!(seen > 1000 && ends > 50 && seen + ends == map.depth.len(), "{seen} {ends}");
    // Areas: of the skin 2 pi R h, of the bore 2 pi r h, of the ends 2 pi (R^2 - r^2).
    let pi = std::f64::consts::PI;
    let area = 2.0 * pi * 2.0 * 1.7 + 2.0 * pi * (1.0 - 0.49);
    let (bars, rest) = map.histogram(Mm(0.05), Mm(2.5));
    let sum: f64 = bars.iter().map(|b| b.area_mm2).sum::<f64>() + rest;
    assert!((sum / area - 1.0).abs() < 1e-2 && rest == 0.0, "{sum} {area}");
    // From 0.2 to 0.4; a value may be above the truth by its interval.
    let of = |k: usize| bars[k].area_mm2;
    assert!(of(3) == 0.0 && of(4) > 1.0 && of(7) > 1.0 && of(8) < 0.5 && of(9) == 0.0, "{bars:?}");
    // Thinner than 0.25: where |p - c| < 0.95 on the skin, an arc of 2 acos((1 + 0.01 - 0.9025) / 0.2).
    let name = |k: u32| solid.faces[k as usize].name.clone();
    let [skin, bore] = ["skin", "bore"].map(|n| move |k: u32| name(k).starts_with(n));
    // The thinnest place lies towards (0.06, 0.08), at half the height.
    let place = [Point3::new(0.6, 0.8, 1.0), Point3::new(0.48, 0.64, 1.0)];
    let e = map.extent([&skin, &bore], place, Mm(0.25));
    let half = libm::acos((1.01 - 0.9025) / 0.2);
    assert!((e.area - 2.0 * half * 2.0).abs() < 0.15, "{e:?} {}", 2.0 * half * 2.0);
    let length = libm::hypot(2.0, 2.0 * libm::sin(half));
    assert!(e.length > 0.96 * length && e.length < 1.05 * length, "{e:?} {length}");
}

#[test]
fn a_stepped_block_as_a_mesh() {
    // A pocket 0.3 over the floor: planes; everything square.
    let block = bar([0.0, 3.0], [0.0, 2.0], [0.0, 1.0]).minus(vec![bar([0.6, 1.9], [0.5, 1.4], [0.3, 5.0])]);
    let m = meshed(&Solid::build(&block).unwrap(), 0.01).mesh;
    let map = of_mesh(&m, &m.face, Deg(15.0), Mm(0.07)).unwrap();
    let inside = |p: &Point3<f64>| p.x > 0.6 && p.x < 1.9 && p.y > 0.5 && p.y < 1.4;
    let seen = held(&map, "floor", |p| {
        // Under the pocket 0.3; away from it by tan 15 deg of the height a chord up is the full 1.
        let far = p.x < 0.5 || p.x > 2.0 || p.y < 0.4 || p.y > 1.5;
        (p.z == 0.0 && (inside(p) || far)).then_some(if inside(p) { 0.3 } else { 1.0 })
    });
    assert!(seen > 1000, "{seen}");
    // Thin: the pocket's floor, and below it as much and 0.3 tan 15 deg more to each side, corners rounded or not.
    let pocket = map.mesh.face[map.depth.iter().position(|d| d.is_some_and(|d| d.from.z == 0.3)).unwrap()];
    let place = [Point3::new(1.2, 1.0, 0.3), Point3::new(1.2, 1.0, 0.0)];
    let e = map.extent([&|f| f == pocket, &|_| true], place, Mm(0.31));
    assert!((e.area - 1.46 * 1.06).abs() < 0.12, "{e:?}");
    let fine = divided(&m, 0.07);
    assert!(crate::mesh::twins(&fine.triangles).is_ok());
}
