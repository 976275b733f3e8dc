//! Whether two triangles meet where they should not, decided exactly.
//!
//! Every decision is the sign of a determinant, taken from the adaptive predicates of the crate `robust` (after Shewchuk,
//! "Adaptive Precision Floating-Point Arithmetic", 1997), which are exact for any doubles that do not overflow. Nothing
//! here has a tolerance.

use super::TriMesh;
use super::bvh::{Aabb, Bvh};
use nalgebra::Point3;
use robust::{Coord, Coord3D, orient2d, orient3d};

type P = Point3<f64>;

fn side(a: &P, b: &P, c: &P, d: &P) -> f64 {
    let k = |p: &P| Coord3D { x: p.x, y: p.y, z: p.z };
    orient3d(k(a), k(b), k(c), k(d))
}

/// Coordinates left after dropping one, and the sign of the turn there.
fn turn(drop: usize, a: &P, b: &P, c: &P) -> f64 {
    let (i, j) = ((drop + 1) % 3, (drop + 2) % 3);
    let k = |p: &P| Coord { x: p[i], y: p[j] };
    orient2d(k(a), k(b), k(c))
}

/// A coordinate whose loss does not flatten the triangle; `None` if its corners are in line.
fn shadow(t: &[P; 3]) -> Option<usize> {
    (0..3).find(|&d| turn(d, &t[0], &t[1], &t[2]) != 0.0)
}

/// Whether the corners lie in one line, exactly.
#[must_use]
pub fn is_flat(t: &[P; 3]) -> bool {
    shadow(t).is_none()
}

/// Whether a closed segment and a closed triangle (not flat) have a point in common.
fn segment_meets(p: &P, q: &P, t: &[P; 3]) -> bool {
    let [a, b, c] = t;
    let (sp, sq) = (side(a, b, c, p), side(a, b, c, q));
    if (sp > 0.0 && sq > 0.0) || (sp < 0.0 && sq < 0.0) {
        return false;
    }
    if sp == 0.0 && sq == 0.0 {
        return shadow(t).is_some_and(|d| flat_segment_meets(d, p, q, t));
    }
    let s = [side(p, q, a, b), side(p, q, b, c), side(p, q, c, a)];
    s.iter().all(|&x| x >= 0.0) || s.iter().all(|&x| x <= 0.0)
}

/// The same in one plane, seen along the coordinate `d`.
fn flat_segment_meets(d: usize, p: &P, q: &P, t: &[P; 3]) -> bool {
    let within = |p: &P| {
        let s = [0, 1, 2].map(|i| turn(d, &t[i], &t[(i + 1) % 3], p));
        s.iter().all(|&x| x >= 0.0) || s.iter().all(|&x| x <= 0.0)
    };
    within(p) || within(q) || (0..3).any(|i| flat_segments_meet(d, p, q, &t[i], &t[(i + 1) % 3]))
}

fn flat_segments_meet(d: usize, p: &P, q: &P, a: &P, b: &P) -> bool {
    let (s1, s2) = (turn(d, p, q, a), turn(d, p, q, b));
    let (s3, s4) = (turn(d, a, b, p), turn(d, a, b, q));
    if s1 == 0.0 && s2 == 0.0 && s3 == 0.0 && s4 == 0.0 {
        // In line (or points): they meet if their shadows on both remaining axes do.
        return [(d + 1) % 3, (d + 2) % 3]
            .iter()
            .all(|&k| p[k].min(q[k]) <= a[k].max(b[k]) && a[k].min(b[k]) <= p[k].max(q[k]));
    }
    !((s1 > 0.0 && s2 > 0.0) || (s1 < 0.0 && s2 < 0.0) || (s3 > 0.0 && s4 > 0.0) || (s3 < 0.0 && s4 < 0.0))
}

/// Whether two closed triangles (not flat) have a point in common.
fn meet(a: &[P; 3], b: &[P; 3]) -> bool {
    let apart = |t: &[P; 3], u: &[P; 3]| {
        let s = [0, 1, 2].map(|i| side(&t[0], &t[1], &t[2], &u[i]));
        s.iter().all(|&x| x > 0.0) || s.iter().all(|&x| x < 0.0)
    };
    if apart(a, b) || apart(b, a) {
        return false;
    }
    (0..3).any(|i| segment_meets(&a[i], &a[(i + 1) % 3], b) || segment_meets(&b[i], &b[(i + 1) % 3], a))
}

/// Whether two triangles of a mesh meet anywhere but in the vertices they share (by index) and the edge between two of
/// those. Flat triangles must have been refused before.
///
/// Sharing one vertex: what the triangles have in common is convex and holds that vertex, so more than the vertex reaches
/// the side opposite to it of one of them. Sharing an edge: they overlap only when folded onto each other.
#[must_use]
pub fn collide(mesh: &TriMesh, i: usize, j: usize) -> bool {
    let (Some(&ti), Some(&tj)) = (mesh.triangles.get(i), mesh.triangles.get(j)) else { return false };
    let shared: Vec<usize> = (0..3).filter(|&k| tj.contains(&ti[k])).collect();
    let (a, b) = (mesh.corners(i), mesh.corners(j));
    match shared[..] {
        [] => meet(&a, &b),
        [k] => {
            let m = (0..3).find(|&m| tj[m] == ti[k]).unwrap_or(0);
            segment_meets(&a[(k + 1) % 3], &a[(k + 2) % 3], &b)
                || segment_meets(&b[(m + 1) % 3], &b[(m + 2) % 3], &a)
        }
        [k, l] => {
            let apex = 3 - k - l;
            let Some(other) = (0..3).find(|&m| !ti.contains(&tj[m])) else { return true };
            if side(&a[0], &a[1], &a[2], &b[other]) != 0.0 {
                return false;
            }
            let Some(d) = shadow(&a) else { return true };
            let (x, y) = (turn(d, &a[k], &a[l], &a[apex]), turn(d, &a[k], &a[l], &b[other]));
            (x > 0.0) == (y > 0.0)
        }
        _ => true,
    }
}

/// All pairs of triangles of a mesh that meet where they should not, in ascending order, and how many pairs were close
/// enough to be tested.
#[must_use]
pub fn collisions(mesh: &TriMesh) -> (Vec<(u32, u32)>, usize) {
    collisions_within(mesh, usize::MAX, usize::MAX)
}

/// The same, but no more once `most` pairs are found or `tests` pairs were tested: a mesh that is not ours may be so tangled
/// that every triangle meets every other.
#[must_use]
pub fn collisions_within(mesh: &TriMesh, most: usize, tests: usize) -> (Vec<(u32, u32)>, usize) {
    let boxes = (0..mesh.triangles.len()).map(|t| Aabb::around(&mesh.corners(t))).collect();
    let (mut found, mut tested) = (Vec::new(), 0);
    Bvh::new(boxes).self_pairs(|i, j| {
        tested += 1;
        if collide(mesh, i as usize, j as usize) {
            found.push((i, j));
        }
        found.len() < most && tested < tests
    });
    found.sort_unstable();
    (found, tested)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    // An independent test in whole numbers: two convex polygons in space are apart if and only if some axis separates
    // them, and it is enough to try both normals, the cross products of their edges, and each edge turned in its plane
    // (separating axis theorem; Gottschalk, Lin, Manocha, "OBBTree", 1996, for polytopes in general). No predicate of the
    // code under test is used.
    type I = [i128; 3];
    fn sub(a: I, b: I) -> I {
        [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
    }
    fn cross(a: I, b: I) -> I {
        [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
    }
    fn dot(a: I, b: I) -> i128 {
        a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    }
    fn polygons_meet(a: &[I], b: &[I]) -> bool {
        let normal = |p: &[I]| cross(sub(p[1], p[0]), sub(p[2], p[0]));
        let edges = |p: &[I]| (0..p.len()).map(|i| sub(p[(i + 1) % p.len()], p[i])).collect::<Vec<_>>();
        let (na, nb, ea, eb) = (normal(a), normal(b), edges(a), edges(b));
        let mut axes = vec![na, nb];
        for &x in &ea {
            axes.push(cross(na, x));
            axes.extend(eb.iter().map(|&y| cross(x, y)));
        }
        axes.extend(eb.iter().map(|&y| cross(nb, y)));
        !axes.iter().any(|&n| {
            let range = |p: &[I]| {
                let d = p.iter().map(|&q| dot(n, q));
                (d.clone().min().unwrap(), d.max().unwrap())
            };
            let (x, y) = (range(a), range(b));
            x.1 < y.0 || y.1 < x.0
        })
    }
    /// The brute force verdict for triangles of a soup, coordinates times four so that half points are whole.
    fn brute(p: &[[i8; 3]], s: [usize; 3], t: [usize; 3]) -> bool {
        let at = |i: usize| p[i].map(|c| 4 * i128::from(c));
        let mid = |a: I, b: I| [0, 1, 2].map(|k| (a[k] + b[k]) / 2);
        let shared: Vec<usize> = s.iter().copied().filter(|i| t.contains(i)).collect();
        let (a, b) = (s.map(at), t.map(at));
        match shared[..] {
            [] => polygons_meet(&a, &b),
            // The half of each triangle away from the shared corner, against the whole of the other: what both have in
            // common is convex and holds the corner, so if there is more it leaves one of them through its far side.
            [v] => {
                let far = |u: [usize; 3]| {
                    let o: Vec<I> = u.iter().filter(|&&i| i != v).map(|&i| at(i)).collect();
                    [o[0], o[1], mid(o[1], at(v)), mid(o[0], at(v))]
                };
                polygons_meet(&far(s), &b) || polygons_meet(&a, &far(t))
            }
            // Folded onto each other: both normals over the shared edge are parallel and point the same way.
            [u, v] => {
                let normal = |w: [usize; 3]| {
                    let x = w.into_iter().find(|i| *i != u && *i != v).unwrap();
                    cross(sub(at(v), at(u)), sub(at(x), at(u)))
                };
                let (m, n) = (normal(s), normal(t));
                cross(m, n) == [0; 3] && dot(m, n) > 0
            }
            _ => true,
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 4000, rng_seed: proptest::test_runner::RngSeed::Fixed(7), failure_persistence: None, ..ProptestConfig::default() })]
        #[test]
        fn soups_agree_with_whole_number_brute_force(
            p in prop::collection::vec(prop::array::uniform3(0_i8..4), 7),
            t in prop::collection::vec(prop::array::uniform3(0_usize..7), 2..8),
        ) {
            // Small numbers make coplanar, in-line and touching cases common. Points in one place are merged by index, as
            // the gate demands, and flat triangles are left out, as it does too.
            let first = |i: usize| (0..p.len()).find(|&j| p[j] == p[i]).unwrap();
            let positions: Vec<P> = p.iter().map(|c| P::from(c.map(f64::from))).collect();
            let mut mesh = TriMesh { positions, ..TriMesh::default() };
            for t in t {
                let t = t.map(first);
                let c = t.map(|i| mesh.positions[i]);
                if !is_flat(&c) {
                    mesh.triangles.push(t.map(|i| i as u32));
                }
            }
            let mut expected = vec![];
            for i in 0..mesh.triangles.len() {
                for j in i + 1..mesh.triangles.len() {
                    let t = |i: usize| mesh.triangles[i].map(|v| v as usize);
                    if brute(&p, t(i), t(j)) {
                        expected.push((i as u32, j as u32));
                    }
                }
            }
            prop_assert_eq!(collisions(&mesh).0, expected);
        }
    }

    #[test]
    fn the_soup_test_sees_every_kind_of_pair() {
        // Shared edge folded flat: yes; at right angles: no; spread flat: no.
        let p = |x, y, z| P::new(x, y, z);
        let m = |d: P| TriMesh {
            positions: vec![p(0.0, 0.0, 0.0), p(1.0, 0.0, 0.0), p(0.0, 1.0, 0.0), d],
            triangles: vec![[0, 1, 2], [1, 0, 3]],
            face: vec![0, 0],
        };
        assert!(collide(&m(p(1.0, 2.0, 0.0)), 0, 1));
        assert!(!collide(&m(p(0.0, 0.0, 1.0)), 0, 1));
        assert!(!collide(&m(p(0.0, -1.0, 0.0)), 0, 1));
        // The smallest step off the plane is seen.
        assert!(!collide(&m(p(1.0, 2.0, f64::MIN_POSITIVE)), 0, 1));
    }
}
