//! A cone or cylinder face as strips between rulings, each filled as a flat region.
//!
//! Rulings are straight lines of the surface. A strip, seen square to the axis along its own middle, is a flat region
//! whose border is seen as straight pieces; a triangulation of that view, lifted back to the surface, is a graph over
//! the view. So facets of one strip cannot fold over or cross, all face outwards, and facets of different strips lie in
//! different wedges about the axis.
//!
//! # The bound
//! Take a facet with corners at heights `h_i`, radii `r_i = r(h_i) + e_i` (`e_i` the corner's own error) and angles within
//! `w` of the wedge's bisector, and a point of it with weights `l_i >= 0`, sum 1. Its component along the bisector is
//! `sum l_i r_i cos(a_i - m) >= cos w sum l_i r_i`, so its distance from the axis is at least `cos w sum l_i r_i`, and at
//! most `sum l_i r_i` (the distance from a line is convex). Because the radius of a cone is linear in the height,
//! `sum l_i r(h_i)` is the cone's radius `R` at the point's own height. Hence the radius is short by at most
//! `(1 - cos w) max r_i + max |e_i|` and over by at most `max |e_i|`; times the cosine of the half angle it is the distance
//! from the surface. Nothing is sampled.

use super::fill::{Conflict, cut_caps, fill};
use crate::solid::Cone;

/// Widest strip, radians: twelve to a turn. Finer shapes come from the tolerance; this keeps a pin of a few micrometres
/// radius round, and every strip far below the half turn the bound needs.
pub(super) const WIDEST: f64 = std::f64::consts::PI / 6.0;

/// A ruling keeps this part of the widest strip away from border points it does not pass through, where it can.
const CLEARANCE: f64 = 0.15;

/// Angles, in radians, closer than this are one.
const SAME_ANGLE: f64 = 1e-9;

/// A border point of a face.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    pub(super) vertex: u32,
    /// Past the seam, radians.
    pub(super) angle: f64,
    /// From the axis, mm.
    pub(super) radius: f64,
    /// Along the axis, mm.
    pub(super) height: f64,
}

/// Width of strip that keeps the bound of this module below `tol` for radii up to `r`.
pub(super) fn strip_width(r: f64, tol: f64) -> f64 {
    // cos w = 1 - tol / r; 2 % are kept back for corners that lie beside their ruling by the merge distance.
    let c = (1.0 - tol / r.max(tol)).clamp(-1.0, 1.0);
    (2.0 * 0.98 * libm::acos(c)).min(WIDEST)
}

/// Rulings (ascending) between the lowest and highest of the angles, no gap wider than `width`. They go through given
/// angles or keep clear of them.
pub(super) fn rulings(mut angles: Vec<f64>, width: f64) -> Vec<f64> {
    angles.sort_by(f64::total_cmp);
    angles.dedup_by(|b, a| *b - *a < SAME_ANGLE);
    let (Some(&lo), Some(&hi)) = (angles.first(), angles.last()) else { return Vec::new() };
    let mut found = Vec::new();
    let mut at = lo;
    while hi - at > width * (1.0 + SAME_ANGLE) {
        let strips = ((hi - at) / width * (1.0 - SAME_ANGLE)).ceil();
        let target = at + (hi - at) / strips;
        at = choose(&angles, at, width, target);
        found.push(at);
    }
    found
}

fn choose(angles: &[f64], at: f64, width: f64, target: f64) -> f64 {
    let (from, to) = (at + 0.5 * width, at + width);
    let clear = |a: f64| {
        let i = angles.partition_point(|&x| x < a - SAME_ANGLE);
        let below = i.checked_sub(1).and_then(|i| angles.get(i)).map_or(f64::INFINITY, |&x| a - x);
        let j = angles.partition_point(|&x| x <= a + SAME_ANGLE);
        let above = angles.get(j).map_or(f64::INFINITY, |&x| x - a);
        below.min(above).min(a - at).min(CLEARANCE * width)
    };
    let first = angles.partition_point(|&x| x <= from);
    let last = angles.partition_point(|&x| x <= to);
    // Existing angles from the far end, then the even division, then places just clear of existing ones: the first of
    // the best.
    let existing = angles.get(first..last).unwrap_or_default();
    let beside = existing
        .iter()
        .rev()
        .flat_map(|&x| [x + CLEARANCE * width, x - CLEARANCE * width, x + 0.5 * CLEARANCE * width])
        .filter(|&m| m > from && m <= to);
    let mut best = (0.0, target);
    for a in existing.iter().rev().copied().chain([target]).chain(beside) {
        let c = clear(a);
        if c > best.0 {
            best = (c, a);
        }
    }
    best.1
}

/// Place of a node: `2 s` inside strip `s`, `2 s + 1` on the ruling between the strips `s` and `s + 1`.
fn place(rulings: &[f64], n: &Node, merge: f64) -> usize {
    let i = rulings.partition_point(|&a| a < n.angle);
    let on = |k: usize| rulings.get(k).is_some_and(|a| (a - n.angle).abs() * n.radius <= merge);
    if on(i) {
        2 * i + 1
    } else if i > 0 && on(i - 1) {
        2 * i - 1
    } else {
        2 * i
    }
}

/// Fills a face. `loops` run counter-clockwise around the material in (angle, height). The triangles are
/// counter-clockwise there too; a conflict gives the vertex near it. `one_edge` tells whether three
/// vertices lie on one edge of the solid.
pub(super) fn fill_cone(
    cone: &Cone,
    loops: &[Vec<Node>],
    rulings: &[f64],
    merge: f64,
    one_edge: &dyn Fn([u32; 3]) -> bool,
) -> Result<Vec<[u32; 3]>, Conflict> {
    let mut borders: Vec<Vec<[Node; 2]>> = vec![Vec::new(); rulings.len() + 1];
    // Per ruling: its nodes with the number of border pieces that leave to the left and to the right.
    let mut on: Vec<Vec<(Node, [u32; 2])>> = vec![Vec::new(); rulings.len()];
    for nodes in loops {
        let places: Vec<usize> = nodes.iter().map(|n| place(rulings, n, merge)).collect();
        for i in 0..nodes.len() {
            let j = (i + 1) % nodes.len();
            let (a, b, pa, pb) = (nodes[i], nodes[j], places[i], places[j]);
            let conflict = Conflict(a.vertex as usize);
            let strip = if pa == pb {
                // Along one ruling the material lies to the left when going up.
                if pa.is_multiple_of(2) { pa / 2 } else { pa / 2 + usize::from(b.height < a.height) }
            } else {
                let (l, h) = (pa.min(pb), pa.max(pb));
                // Both within one closed strip, else a ruling was passed without a point.
                if h - l > 2 || (h - l == 2 && l % 2 == 0) {
                    return Err(conflict);
                }
                h.div_ceil(2).min(l.div_ceil(2))
            };
            borders.get_mut(strip).ok_or(conflict)?.push([a, b]);
            if pa % 2 == 1 {
                let before = places[(i + nodes.len() - 1) % nodes.len()];
                let count =
                    |left: bool| [before, pb].iter().filter(|&&q| if left { q < pa } else { q > pa }).count();
                #[allow(clippy::cast_possible_truncation)]
                let sides = [count(true) as u32, count(false) as u32];
                on.get_mut(pa / 2).ok_or(conflict)?.push((a, sides));
            }
        }
    }
    for (s, nodes) in on.iter_mut().enumerate() {
        nodes.sort_by(|a, b| a.0.height.total_cmp(&b.0.height));
        let mut inside = [0, 0];
        for i in 0..nodes.len() {
            for (state, n) in inside.iter_mut().zip(nodes[i].1) {
                *state = (*state + n) % 2;
            }
            if inside == [1, 1] {
                let (Some(lower), Some(upper)) = (nodes.get(i), nodes.get(i + 1)) else {
                    return Err(Conflict(nodes[i].0.vertex as usize));
                };
                borders[s].push([lower.0, upper.0]);
                borders[s + 1].push([upper.0, lower.0]);
            }
        }
        if inside != [0, 0] {
            return Err(Conflict(nodes[0].0.vertex as usize));
        }
    }
    let mut triangles = Vec::new();
    let slant = 1.0 / cone.cos_half_angle();
    for border in &borders {
        fill_strip(border, slant, one_edge, &mut triangles)?;
    }
    Ok(triangles)
}

fn fill_strip(
    border: &[[Node; 2]],
    slant: f64,
    one_edge: &dyn Fn([u32; 3]) -> bool,
    triangles: &mut Vec<[u32; 3]>,
) -> Result<(), Conflict> {
    if border.is_empty() {
        return Ok(());
    }
    let mut nodes: Vec<Node> = border.iter().flatten().copied().collect();
    nodes.sort_by_key(|n| n.vertex);
    nodes.dedup_by_key(|n| n.vertex);
    let (lo, hi) =
        nodes.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), n| (l.min(n.angle), h.max(n.angle)));
    let middle = 0.5 * (lo + hi);
    let flat: Vec<[f64; 2]> =
        nodes.iter().map(|n| [n.radius * libm::sin(n.angle - middle), n.height * slant]).collect();
    let local = |n: &Node| nodes.partition_point(|m| m.vertex < n.vertex);
    let edges: Vec<[usize; 2]> = border.iter().map(|[a, b]| [local(a), local(b)]).collect();
    let global = |i: usize| nodes.get(i).map_or(0, |n| n.vertex);
    let mut filled = fill(&flat, &edges).map_err(|Conflict(i)| Conflict(global(i) as usize))?;
    // A facet over three points of one edge lies in the plane of that edge, where the neighbouring face may lie too.
    cut_caps(&flat, &mut filled, &edges, &|t| one_edge(t.map(global)));
    triangles.extend(filled.into_iter().map(|t| t.map(global)));
    Ok(())
}

/// The bound of this module for one facet, mm.
pub(super) fn facet_bound(cone: &Cone, corners: &[Node; 3]) -> f64 {
    let (mut lo, mut hi, mut radius, mut error) = (f64::INFINITY, f64::NEG_INFINITY, 0.0_f64, 0.0_f64);
    for c in corners {
        lo = lo.min(c.angle);
        hi = hi.max(c.angle);
        radius = radius.max(c.radius);
        error = error.max((c.radius - cone.radius_at(c.height)).abs());
    }
    let half = 0.5 * (hi - lo);
    if half >= std::f64::consts::FRAC_PI_2 {
        return f64::INFINITY;
    }
    // 1 - cos w = 2 sin^2 (w / 2), without cancellation.
    let s = libm::sin(0.5 * half);
    (2.0 * s * s * radius + error) * cone.cos_half_angle()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strips_are_no_wider_than_allowed_and_rulings_reuse_points() {
        let w = strip_width(2.0, 0.005);
        // Sagitta of a chord over the full strip (closed form r (1 - cos w/2)).
        assert!(2.0 * (1.0 - libm::cos(w / 2.0)) <= 0.005);
        assert!(2.0 * (1.0 - libm::cos(w / 2.0)) > 0.0045);
        let r = rulings(vec![1.0, 1.0 + std::f64::consts::PI], w);
        for g in [1.0].iter().chain(&r).zip(r.iter().chain(&[1.0 + std::f64::consts::PI])) {
            assert!(g.1 - g.0 <= w * 1.000_001 && g.1 - g.0 > 0.8 * w);
        }
        // A second face on the same circle takes over the same rulings.
        let mut again = r.clone();
        again.extend([1.0, 1.0 + std::f64::consts::PI]);
        assert_eq!(rulings(again, w), r);
    }

    #[test]
    fn a_ruling_goes_through_a_point_or_keeps_clear_of_it() {
        // A point just beside the even division.
        let r = rulings(vec![0.0, 0.0999, 0.2], 0.11);
        assert_eq!(r, vec![0.0999]);
        // Two points close together, both in the window: not between them.
        let r = rulings(vec![0.0, 0.099, 0.0991, 0.2], 0.13);
        assert!((r[0] - 0.099).abs() > 0.01, "{r:?}");
    }

    #[test]
    fn the_facet_bound_holds_on_sampled_points() {
        let cone = Cone {
            origin: nalgebra::Point3::origin(),
            axis: nalgebra::Vector3::z(),
            reference: nalgebra::Vector3::x(),
            radius: 2.0,
            slope: 0.3,
        };
        let node =
            |angle: f64, height: f64| Node { vertex: 0, angle, height, radius: cone.radius_at(height) };
        let c = [node(0.1, 0.0), node(0.25, 0.1), node(0.12, 1.5)];
        let bound = facet_bound(&cone, &c);
        let p = c.map(|n| cone.at(n.angle, n.height));
        let mut seen = 0.0_f64;
        for i in 0..=40 {
            for j in 0..=40 - i {
                let (a, b) = (f64::from(i) / 40.0, f64::from(j) / 40.0);
                let q = p[0] + (p[1] - p[0]) * a + (p[2] - p[0]) * b;
                seen = seen.max(crate::solid::Surface::Cone(cone).distance(&q));
            }
        }
        assert!(seen <= bound && bound < 2.0 * seen, "{seen} {bound}");
    }
}
