//! Triangles that fill a flat region given by its directed border, by constrained Delaunay triangulation.

use robust::{Coord, orient2d};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

/// A triangle lower than this over its longest side, in mm, is turned into its neighbour where that helps.
///
/// The rounding to f32 moves a point at 4 to 8 mm by up to 4e-7 in total; a few times that keeps the triangle upright.
pub(super) const SLIVER: f64 = 2e-6;

/// Where the border contradicts itself (crossing, touching or doubled pieces): index of a point nearby.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Conflict(pub(super) usize);

fn turn(p: &[[f64; 2]], t: [usize; 3]) -> f64 {
    let c = t.map(|i| Coord { x: p[i][0], y: p[i][1] });
    orient2d(c[0], c[1], c[2])
}

/// Height over the longest side; zero or less if turned over.
fn height(p: &[[f64; 2]], t: [usize; 3]) -> f64 {
    let side = |i: usize, j: usize| {
        let (a, b) = (p[t[i]], p[t[j]]);
        let (x, y) = (b[0] - a[0], b[1] - a[1]);
        x * x + y * y
    };
    let longest = side(0, 1).max(side(1, 2)).max(side(2, 0)).sqrt();
    if longest > 0.0 { turn(p, t) / longest } else { 0.0 }
}

/// Fills the region to the left of the directed `border` (pairs of point indices; every point used). Triangles come
/// out counter-clockwise, use all points, and cover the region exactly.
pub(super) fn fill(p: &[[f64; 2]], border: &[[usize; 2]]) -> Result<Vec<[usize; 3]>, Conflict> {
    if let Some(t) = small(p, border) {
        return Ok(t);
    }
    let somewhere = Conflict(border.first().map_or(0, |e| e[0]));
    let mut conflict = None;
    // spade refuses numbers other than 0 below 1.8e-43; Newton leaves such dust in coordinates that are zero.
    let dustless = |x: f64| if x.abs() < 1e-40 { 0.0 } else { x };
    let points = p.iter().map(|c| Point2::new(dustless(c[0]), dustless(c[1]))).collect();
    let cdt =
        ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(points, border.to_vec(), |e| {
            conflict = conflict.or(Some(Conflict(e[0])));
        })
        .map_err(|_| somewhere)?;
    // Two points in one place: the indices have shifted, so the place is not known.
    if cdt.num_vertices() != p.len() {
        return Err(somewhere);
    }
    if let Some(c) = conflict {
        return Err(c);
    }
    let mut inside: Vec<Option<bool>> = vec![None; cdt.num_all_faces()];
    let mut stack = Vec::new();
    let handle = spade::handles::FixedVertexHandle::from_index;
    let mut doubled = border.to_vec();
    doubled.sort_unstable();
    if let Some(w) = doubled.windows(2).find(|w| w[0] == w[1]) {
        return Err(Conflict(w[0][0]));
    }
    for &[a, b] in border {
        // No such edge: the piece runs through a third point.
        let e = cdt.get_edge_from_neighbors(handle(a), handle(b)).ok_or(Conflict(a))?;
        if !e.is_constraint_edge() {
            return Err(Conflict(a));
        }
        for (f, state) in [(e.face(), true), (e.rev().face(), false)] {
            let i = f.index();
            if inside[i] == Some(!state) {
                return Err(Conflict(a));
            }
            if inside[i].is_none() {
                inside[i] = Some(state);
                stack.push(f);
            }
        }
    }
    while let Some(f) = stack.pop() {
        let state = inside[f.index()];
        let Some(inner) = f.as_inner() else { continue };
        for e in inner.adjacent_edges() {
            if e.is_constraint_edge() {
                continue;
            }
            let g = e.rev().face();
            if inside[g.index()].is_none() {
                inside[g.index()] = state;
                stack.push(g);
            } else if inside[g.index()] != state {
                return Err(Conflict(e.from().index()));
            }
        }
    }
    let outer = cdt.outer_face().index();
    if inside[outer] == Some(true) {
        return Err(somewhere);
    }
    let mut t: Vec<[usize; 3]> = cdt
        .inner_faces()
        .filter(|f| inside[f.index()] == Some(true))
        .map(|f| f.vertices().map(|v| v.index()))
        .collect();
    widen(p, &mut t, &doubled);
    Ok(t)
}

/// The plain cases without a search: three or four points in one ring.
fn small(p: &[[f64; 2]], border: &[[usize; 2]]) -> Option<Vec<[usize; 3]>> {
    let n = border.len();
    if n != p.len() || !(3..=4).contains(&n) {
        return None;
    }
    let mut ring = [border[0][0]; 4];
    for i in 1..n {
        ring[i] = border.iter().find(|e| e[0] == ring[i - 1])?[1];
        if ring[..i].contains(&ring[i]) {
            return None;
        }
    }
    if !border.contains(&[ring[n - 1], ring[0]]) {
        return None;
    }
    let [a, b, c, d] = ring;
    if n == 3 {
        return (turn(p, [a, b, c]) > 0.0).then(|| vec![[a, b, c]]);
    }
    let lower = |t: &[[usize; 3]; 2]| height(p, t[0]).min(height(p, t[1]));
    let (x, y) = ([[a, b, c], [a, c, d]], [[b, c, d], [b, d, a]]);
    // The first on a tie within rounding, so that noise does not choose.
    let best = if lower(&y) > lower(&x) * (1.0 + 1e-9) { y } else { x };
    (lower(&best) > 0.0 && turn(p, best[0]) > 0.0 && turn(p, best[1]) > 0.0).then(|| best.to_vec())
}

/// Turns sides until no triangle has all its corners on one edge of the solid (`flat` tells), where both new triangles
/// stand upright. Returns quietly what cannot be turned.
pub(super) fn cut_caps(
    p: &[[f64; 2]],
    t: &mut [[usize; 3]],
    border: &[[usize; 2]],
    flat: &dyn Fn([usize; 3]) -> bool,
) {
    // Each turn takes a corner of a cap to a point off its edge; the cap only guards against a cycle.
    for _ in 0..t.len() {
        let mut turned = false;
        for i in 0..t.len() {
            if !flat(t[i]) {
                continue;
            }
            for k in 0..3 {
                let (a, b, c) = (t[i][k], t[i][(k + 1) % 3], t[i][(k + 2) % 3]);
                if border.contains(&[a, b]) {
                    continue;
                }
                let across = (0..t.len()).find_map(|j| {
                    (0..3).find(|&m| t[j][m] == b && t[j][(m + 1) % 3] == a).map(|m| (j, t[j][(m + 2) % 3]))
                });
                let Some((j, d)) = across else { continue };
                let (x, y) = ([a, d, c], [d, b, c]);
                let better = !flat(x) && !flat(y);
                if better && height(p, x).min(height(p, y)) >= SLIVER {
                    t[i] = x;
                    t[j] = y;
                    turned = true;
                    break;
                }
            }
        }
        if !turned {
            return;
        }
    }
}

/// Turns the longest side of slivers where that makes the lower of the two triangles higher. Points along one straight
/// border (or one circle seen from its side) otherwise give triangles of no height.
fn widen(p: &[[f64; 2]], t: &mut [[usize; 3]], border: &[[usize; 2]]) {
    // Each turn raises a sliver, so the number of rounds is bounded by their number; the cap only guards that reasoning.
    for _ in 0..4 * t.len() {
        let mut turned = false;
        for i in 0..t.len() {
            let low = height(p, t[i]);
            if low >= SLIVER {
                continue;
            }
            let side = |k: usize| {
                let (a, b) = (p[t[i][k]], p[t[i][(k + 1) % 3]]);
                (b[0] - a[0]).powi(2) + (b[1] - a[1]).powi(2)
            };
            let k = (1..3).fold(0, |k, j| if side(j) > side(k) { j } else { k });
            let (a, b, c) = (t[i][k], t[i][(k + 1) % 3], t[i][(k + 2) % 3]);
            if border.binary_search(&[a, b]).is_ok() {
                continue;
            }
            let across = (0..t.len()).find_map(|j| {
                (0..3).find(|&m| t[j][m] == b && t[j][(m + 1) % 3] == a).map(|m| (j, t[j][(m + 2) % 3]))
            });
            let Some((j, d)) = across else { continue };
            let (x, y) = ([a, d, c], [d, b, c]);
            if height(p, x).min(height(p, y)) > low.min(height(p, t[j])) {
                t[i] = x;
                t[j] = y;
                turned = true;
            }
        }
        if !turned {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(p: &[[f64; 2]], t: &[[usize; 3]]) -> f64 {
        t.iter().map(|&t| turn(p, t) / 2.0).sum()
    }

    fn ring(n: usize) -> Vec<[usize; 2]> {
        (0..n).map(|i| [i, (i + 1) % n]).collect()
    }

    #[test]
    fn a_square_with_a_square_hole_keeps_its_area() {
        let p =
            [[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0], [1.0, 1.0], [1.0, 3.0], [3.0, 3.0], [3.0, 1.0]];
        let mut b = ring(4);
        b.extend([[4, 5], [5, 6], [6, 7], [7, 4]]);
        let t = fill(&p, &b).unwrap();
        assert_eq!(t.len(), 8);
        assert!((area(&p, &t) - 12.0).abs() < 1e-12);
    }

    #[test]
    fn a_hole_the_wrong_way_round_is_a_conflict() {
        let p =
            [[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0], [1.0, 1.0], [3.0, 1.0], [3.0, 3.0], [1.0, 3.0]];
        let mut b = ring(4);
        b.extend([[4, 5], [5, 6], [6, 7], [7, 4]]);
        assert!(fill(&p, &b).is_err());
    }

    #[test]
    fn crossing_doubled_and_touching_borders_are_conflicts() {
        // A bow tie.
        assert!(fill(&[[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]], &ring(4)).is_err());
        // Two points in one place.
        let p = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [1.0, 1.0], [0.0, 1.0]];
        assert!(fill(&p, &ring(5)).is_err());
        // A ring of two points.
        assert!(fill(&[[0.0, 0.0], [1.0, 0.0]], &ring(2)).is_err());
        // A border that touches itself in a point of another piece.
        let p = [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [1.0, 0.0], [0.0, 2.0]];
        assert!(fill(&p, &ring(5)).is_err());
    }

    #[test]
    fn points_on_a_straight_side_give_no_slivers() {
        // The points of the lower side bulge outwards by rounding noise.
        let mut p = vec![[0.0, 0.0], [1.0, -1e-16], [2.0, -1e-16], [3.0, -1e-16], [4.0, 0.0], [2.0, 3.0]];
        let t = fill(&p, &ring(6)).unwrap();
        assert_eq!(t.len(), 4);
        for &t in &t {
            assert!(height(&p, t) > 0.1, "{t:?}");
        }
        // Turned by an angle without exact sine.
        let (s, c) = libm::sincos(0.7);
        for q in &mut p {
            *q = [q[0] * c - q[1] * s, q[0] * s + q[1] * c];
        }
        let t = fill(&p, &ring(6)).unwrap();
        assert!(t.iter().all(|&t| height(&p, t) > 0.1));
        assert!((area(&p, &t) - 6.0).abs() < 1e-12);
    }
}
