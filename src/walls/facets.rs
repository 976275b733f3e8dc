//! Boundary primitives of a closed mesh: facets, reflex edges and all-reflex vertices, each with its cone of normals.

use super::cell::{ANGLE_PAD, angle};
use crate::mesh::TriMesh;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;

/// Edges that turn by less are flat, radians: two facets of one plane after rounding of their corners.
const FLAT: f64 = 1e-6;
/// Facets with a smaller double area are slivers without a normal, mm^2; their edges belong to neighbours too.
const SLIVER: f64 = 1e-14;

/// Part of its size to which a touching pair is halved before it counts as undecided.
const RESOLUTION: f64 = 0.01;

/// A triangle, or an edge or vertex as a degenerate one.
#[derive(Clone, Debug)]
pub(super) struct Facet {
    pub(super) at: [Point3<f64>; 3],
    pub(super) ids: [u32; 3],
    /// Middle of the normals.
    pub(super) axis: Vector3<f64>,
    /// Half angle of the fan of normals; 0 for a facet.
    pub(super) half: f64,
    /// Direction of a reflex edge; zero else.
    pub(super) edge: Vector3<f64>,
    /// Face of the solid.
    pub(super) face: u32,
}

/// `None` if the mesh is not closed with every edge between exactly two triangles.
pub(super) fn facets(mesh: &TriMesh) -> Option<Vec<Facet>> {
    let point = |i: u32| mesh.positions.get(i as usize).copied();
    let mut out = Vec::new();
    let mut edges: BTreeMap<(u32, u32), Vec<(usize, u32)>> = BTreeMap::new();
    let mut normals = Vec::with_capacity(mesh.triangles.len());
    for (k, t) in mesh.triangles.iter().enumerate() {
        let at = [point(t[0])?, point(t[1])?, point(t[2])?];
        let n = (at[1] - at[0]).cross(&(at[2] - at[0]));
        let n = (n.norm() > SLIVER).then(|| n.normalize());
        normals.push(n);
        if let Some(axis) = n {
            let face = mesh.face.get(k).copied().unwrap_or(0);
            out.push(Facet { at, ids: *t, axis, half: 0.0, edge: Vector3::zeros(), face });
        }
        for i in 0..3 {
            let (a, b) = (t[i], t[(i + 1) % 3]);
            edges.entry((a.min(b), a.max(b))).or_default().push((k, t[(i + 2) % 3]));
        }
    }
    // Per vertex: number of reflex and of convex edges.
    let mut turns = vec![(0u32, 0u32); mesh.positions.len()];
    for (&(a, b), sides) in &edges {
        let [(s, _), (r, far)] = sides[..] else { return None };
        let (Some(n), Some(m)) = (normals[s], normals[r]) else { continue };
        let turn = angle(&n, &m);
        if turn <= FLAT {
            continue;
        }
        let (p, q) = (point(a)?, point(b)?);
        let reflex = (point(far)? - p).dot(&n) > 0.0;
        for v in [a, b] {
            let t = &mut turns[v as usize];
            if reflex { t.0 += 1 } else { t.1 += 1 }
        }
        if reflex && let (Some(axis), Some(edge)) = ((n + m).try_normalize(1e-9), (q - p).try_normalize(0.0))
        {
            let face = mesh.face.get(s).copied().unwrap_or(0);
            out.push(Facet { at: [p, q, q], ids: [a, b, b], axis, half: turn / 2.0, edge, face });
        }
    }
    let mut about: BTreeMap<u32, (Vec<Vector3<f64>>, u32)> = BTreeMap::new();
    for (k, t) in mesh.triangles.iter().enumerate() {
        for &v in t {
            if turns[v as usize].0 >= 3
                && turns[v as usize].1 == 0
                && let Some(n) = normals[k]
            {
                let face = mesh.face.get(k).copied().unwrap_or(0);
                about.entry(v).or_insert((Vec::new(), face)).0.push(n);
            }
        }
    }
    for (v, (fan, face)) in about {
        let p = point(v)?;
        let Some(axis) = fan.iter().sum::<Vector3<f64>>().try_normalize(1e-9) else { continue };
        let half = fan.iter().map(|n| angle(n, &axis)).fold(0.0, f64::max);
        out.push(Facet { at: [p; 3], ids: [v; 3], axis, half, edge: Vector3::zeros(), face });
    }
    Some(out)
}

impl Facet {
    /// Whether a direction lies within `limit` of the fan of normals (of a cone about it, for a vertex: the safe side).
    pub(super) fn meets(&self, d: &Vector3<f64>, limit: f64) -> bool {
        angle(d, &self.axis) <= self.half + limit
            && (self.edge == Vector3::zeros()
                || (std::f64::consts::FRAC_PI_2 - angle(d, &self.edge)).abs() <= limit)
    }
}

/// Distance of two triangles that do not cross, mm; degenerate ones allowed.
pub(super) fn triangle_distance(a: &[Point3<f64>; 3], b: &[Point3<f64>; 3]) -> f64 {
    let mut m = f64::INFINITY;
    for i in 0..3 {
        for j in 0..3 {
            m = m.min(segments([&a[i], &a[(i + 1) % 3]], [&b[j], &b[(j + 1) % 3]]));
        }
        m = m.min(above(&a[i], b)).min(above(&b[i], a));
    }
    m.sqrt()
}

/// Squared distance of two segments.
fn segments([p, p2]: [&Point3<f64>; 2], [q, q2]: [&Point3<f64>; 2]) -> f64 {
    let (d, e, r) = (p2 - p, q2 - q, p - q);
    let (a, c, f) = (d.norm_squared(), e.norm_squared(), e.dot(&r));
    let (b, g) = (d.dot(&e), d.dot(&r));
    let unit = |num: f64, den: f64| if den > 0.0 { (num / den).clamp(0.0, 1.0) } else { 0.0 };
    let den = a * c - b * b;
    // Nearly parallel segments: any point of the first will do, ends are tried by the clamping below.
    let mut s = if den > 1e-14 * a * c { unit(b * f - g * c, den) } else { 0.0 };
    let mut t = if c > 0.0 { (b * s + f) / c } else { 0.0 };
    if t < 0.0 || c == 0.0 {
        t = 0.0;
        s = unit(-g, a);
    } else if t > 1.0 {
        t = 1.0;
        s = unit(b - g, a);
    }
    ((p + d * s) - (q + e * t)).norm_squared()
}

/// Squared distance of a point from a triangle's plane if its foot lies inside, else infinite.
fn above(p: &Point3<f64>, t: &[Point3<f64>; 3]) -> f64 {
    let (u, v, w) = (t[1] - t[0], t[2] - t[0], p - t[0]);
    let (uu, uv, vv, wu, wv) = (u.dot(&u), u.dot(&v), v.dot(&v), w.dot(&u), w.dot(&v));
    let den = uu * vv - uv * uv;
    if den <= 1e-12 * uu * vv {
        return f64::INFINITY;
    }
    let (s, r) = ((vv * wu - uv * wv) / den, (uu * wv - uv * wu) / den);
    if s < 0.0 || r < 0.0 || s + r > 1.0 { f64::INFINITY } else { (w - u * s - v * r).norm_squared() }
}

/// Whether two facets with the common corner `shared` can oppose each other anywhere; undecided counts as yes.
///
/// About the corner everything is scale invariant: some chord meets both fans exactly if one does that has an end on the
/// side opposite to the corner. Those are halved until a hundredth of their size.
pub(super) fn touching_may_oppose(a: &Facet, b: &Facet, shared: u32, delta: f64) -> bool {
    if a.ids.iter().filter(|x| b.ids.contains(x)).count() >= 2 && a.half == 0.0 && b.half == 0.0 {
        // Neighbours over an edge whose normals oppose within twice delta.
        return true;
    }
    let opposite = |f: &Facet| {
        let mut rest = (0..3).filter(|&i| f.ids[i] != shared).map(|i| f.at[i]);
        let first = rest.next()?;
        let second = rest.next().unwrap_or(first);
        Some([first, second, second])
    };
    opposite(a).is_some_and(|side| may_oppose(a, b, side, b.at, delta))
        || opposite(b).is_some_and(|side| may_oppose(a, b, a.at, side, delta))
}

fn may_oppose(a: &Facet, b: &Facet, at: [Point3<f64>; 3], bt: [Point3<f64>; 3], delta: f64) -> bool {
    let size = at.iter().flat_map(|p| bt.iter().map(move |q| (p - q).norm())).fold(0.0, f64::max);
    let mut stack = vec![(at, bt)];
    while let Some((p, q)) = stack.pop() {
        let (c, ra) = ball(&p);
        let (e, rb) = ball(&q);
        let d = e - c;
        let (far, rho) = (d.norm(), ra + rb);
        if far > rho {
            let limit = delta + libm::asin(rho / far) + ANGLE_PAD;
            if !a.meets(&-d, limit) || !b.meets(&d, limit) {
                continue;
            }
            if a.meets(&-d, delta) && b.meets(&d, delta) {
                return true;
            }
        }
        if rho < RESOLUTION * size {
            return true;
        }
        if ra >= rb {
            stack.extend(halves(&p).map(|h| (h, q)));
        } else {
            stack.extend(halves(&q).map(|h| (p, h)));
        }
    }
    false
}

/// Middle of a triangle and the distance of its farthest corner.
pub(super) fn ball(t: &[Point3<f64>; 3]) -> (Point3<f64>, f64) {
    let c = Point3::from((t[0].coords + t[1].coords + t[2].coords) / 3.0);
    (c, t.iter().map(|x| (x - c).norm_squared()).fold(0.0, f64::max).sqrt())
}

/// A triangle cut through the middle of its longest side.
pub(super) fn halves(t: &[Point3<f64>; 3]) -> [[Point3<f64>; 3]; 2] {
    let side = |i: usize| (t[i] - t[(i + 1) % 3]).norm_squared();
    let i = (0..3).fold(0, |m, k| if side(k) > side(m) { k } else { m });
    let j = (i + 1) % 3;
    let m = nalgebra::center(&t[i], &t[j]);
    let (mut a, mut b) = (*t, *t);
    a[i] = m;
    b[j] = m;
    [a, b]
}
