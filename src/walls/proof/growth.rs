//! What a search costs as meshes grow, counted and not timed, and what it may leave out.

use super::*;
use nalgebra::Vector3;
use std::f64::consts::TAU;

const WALL: f64 = 0.3;

/// A ring of round tube with this wall everywhere: `n` by `m` squares outside and inside, a patch each.
fn hollow_ring(n: u32, m: u32) -> TriMesh {
    let mut mesh = TriMesh::default();
    for (patch, r) in [(0, 1.0), (1, 1.0 - WALL)] {
        let from = u32::try_from(mesh.positions.len()).unwrap();
        for i in 0..n {
            for j in 0..m {
                let [u, v] = [f64::from(i) / f64::from(n), f64::from(j) / f64::from(m)].map(|t| t * TAU);
                let out = Vector3::new(libm::cos(u), libm::sin(u), 0.0);
                let p = out * (3.0 + r * libm::cos(v)) + Vector3::z() * (r * libm::sin(v));
                mesh.positions.push(Point3::from(p));
                let at = |i: u32, j: u32| from + (i % n) * m + j % m;
                let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
                for t in [[a, b, c], [a, c, d]] {
                    mesh.triangles.push(if patch == 0 { t } else { [t[0], t[2], t[1]] });
                    mesh.face.push(patch);
                }
            }
        }
    }
    mesh
}

fn asked(count: usize, thick: (f64, Mm)) -> Question {
    Question { delta: Deg(15.0), below: Mm(f64::MAX), count, thick, tolerance: Mm(1e-4), work: WORK }
}

/// Every place of the ring is nearly the thinnest, which is the most there can be to look at. What the facets lose of the
/// wall: the depth of an arc of m.
#[test]
fn the_work_grows_with_the_triangles_and_not_with_their_square() {
    let looked = [(48, 16), (96, 32), (192, 64)].map(|(n, m)| {
        let mesh = hollow_ring(n, m);
        let p = of_mesh(&mesh, &mesh.face, &asked(1, ANY)).unwrap();
        let lost =
            1.0 - libm::cos(TAU / 2.0 / f64::from(m)) + 3.0 * (1.0 - libm::cos(TAU / 2.0 / f64::from(n)));
        let (v, l) = (p.places[0].value.get(), p.lower.get());
        assert!(
            !p.ended && v < WALL + 1e-12 && l > WALL - 2.0 * lost && v - l < 1.01e-4,
            "{n}: {l} {v} {lost}"
        );
        p.looked
    });
    for pair in looked.windows(2) {
        // Four times the triangles; the square would be sixteen times the work.
        assert!(pair[1] < 6 * pair[0], "{looked:?}");
    }
}

/// Of a part whose next thinnest place is its own width, only what is thin is told, unless a least wall asks for more.
#[test]
fn places_much_thicker_than_the_thinnest_are_told_where_a_least_wall_asks() {
    let mesh = hollow_ring(24, 12);
    let places = |thick| of_mesh(&mesh, &mesh.face, &asked(5, thick)).unwrap().places;
    let [all, thin, below] = [ANY, (4.0, Mm(0.0)), (4.0, Mm(2.5))].map(places);
    assert_eq!(thin.len(), 1);
    // The tube's width from outside to outside, and across the hole from hollow to hollow.
    assert_eq!((all.len(), &all[..2]), (3, &below[..]));
    assert_eq!((all[1].faces, all[2].faces), ([0, 0], [1, 1]));
    assert!((thin[0].value.get() - all[0].value.get()).abs() < 1e-4);
}

/// A search that ends at its limit of work bounds what it has not looked at.
#[test]
fn what_was_not_looked_at_enters_the_bound() {
    let mesh = hollow_ring(48, 16);
    let whole = of_mesh(&mesh, &mesh.face, &asked(1, ANY)).unwrap();
    for work in [0, 1_000, 10_000, 100_000] {
        let p = of_mesh(&mesh, &mesh.face, &Question { work, ..asked(1, ANY) }).unwrap();
        assert!(p.ended && p.lower.get() <= whole.places[0].value.get(), "{work}: {p:?}");
        assert!(p.looked <= whole.looked);
    }
}
