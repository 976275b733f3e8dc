//! Closed forms and attacks.

use super::*;
use crate::mesh::tessellate;
use crate::units::Tolerance;
use crate::walls::testkit::{circle, polygon, prism, rectangle};

fn asked(tolerance: f64) -> Question {
    Question { delta: Deg(15.0), below: Mm(9.0), count: 1, tolerance: Mm(tolerance) }
}

fn meshed(s: &crate::solid::Solid, tol: f64) -> crate::mesh::FaceMesh {
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
