//! Least thickness of a closed mesh by branch and bound over a tree of boxes with cones of normals.

use super::cell::angle;
use super::facets::{Facet, ball, facets, halves, touching_may_oppose, triangle_distance};
use super::interval::Interval;
use crate::mesh::TriMesh;
use crate::units::{Deg, Mm, Tolerance};
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// Primitives in a leaf.
const LEAF: usize = 4;
/// Halvings of one pair at most before it is left as it is, its distance entering the lower bound.
const DEPTH: usize = 64;
/// Taken off each distance, mm, for rounding.
const ROUNDING: f64 = 1e-12;

/// Least thickness of a mesh away from its acute edges.
#[derive(Clone, Debug, PartialEq)]
pub struct MeshWalls {
    /// Bounds of the thickness of the *mesh*; a solid it approximates may be thinner by the chord errors of both faces
    /// and by what its normals differ, so for a solid this is a sample and not a proof.
    pub mesh: Interval,
    /// Lower bound less the largest chord error twice, mm: an estimate for the solid.
    pub solid_estimate: Mm,
    /// Ends of the shortest chord found, mm.
    pub at: [Point3<f64>; 2],
    /// Faces of the solid it joins.
    pub faces: [u32; 2],
    /// Shared corners of touching facets whose fans oppose each other within delta: acute edges and vertices, where the
    /// thickness goes to zero. Facets that may oppose each other so, but were not decided, are among them.
    pub acute: Vec<Point3<f64>>,
}

/// Why a mesh has no thickness.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MeshWallsError {
    /// Some edge does not lie between exactly two triangles.
    #[error("the mesh is not closed")]
    Open,
    /// No chord shorter than the limit: proved.
    #[error("no wall is thinner than the limit")]
    NothingThinner,
}

struct Node {
    lo: Point3<f64>,
    hi: Point3<f64>,
    axis: Vector3<f64>,
    spread: f64,
    range: [usize; 2],
    /// Index of the first of two children; none in a leaf.
    child: Option<usize>,
}

struct Walk<'a> {
    all: &'a [Facet],
    delta: f64,
    tolerance: f64,
    upper: f64,
    lower: f64,
    best: Option<([Point3<f64>; 2], [u32; 2])>,
    acute: Vec<Point3<f64>>,
}

/// Least thickness of a closed mesh below `below`, to within `tolerance`; `chord` is the error bound of each face.
///
/// # Errors
/// See [`MeshWallsError`].
pub fn mesh_walls(
    mesh: &TriMesh,
    chord: &[f64],
    delta: Deg,
    tolerance: Tolerance,
    below: Mm,
) -> Result<MeshWalls, MeshWallsError> {
    let mut all = facets(mesh).ok_or(MeshWallsError::Open)?;
    let nodes = build(&mut all);
    let mut w = Walk {
        all: &all,
        delta: delta.radians(),
        tolerance: tolerance.get(),
        upper: below.get(),
        lower: f64::INFINITY,
        best: None,
        acute: Vec::new(),
    };
    w.descend(&nodes);
    let (at, faces) = w.best.ok_or(MeshWallsError::NothingThinner)?;
    let lower = w.lower.min(w.upper - w.tolerance).max(0.0);
    let e = chord.iter().copied().fold(0.0, f64::max);
    w.acute.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)).then(a.z.total_cmp(&b.z)));
    w.acute.dedup();
    Ok(MeshWalls {
        mesh: Interval { lower: Mm(lower), upper: Mm(w.upper) },
        solid_estimate: Mm((lower - 2.0 * e).max(0.0)),
        at,
        faces,
        acute: w.acute,
    })
}

fn build(all: &mut [Facet]) -> Vec<Node> {
    let mut nodes = Vec::new();
    if all.is_empty() {
        return nodes;
    }
    nodes.push(node(all, [0, all.len()]));
    let mut k = 0;
    while k < nodes.len() {
        let [a, b] = nodes[k].range;
        if b - a > LEAF {
            let size = nodes[k].hi - nodes[k].lo;
            let axis = size.imax();
            let key = |f: &Facet| f.at[0][axis] + f.at[1][axis] + f.at[2][axis];
            let m = usize::midpoint(a, b);
            all[a..b].sort_by(|x, y| key(x).total_cmp(&key(y)).then(x.ids.cmp(&y.ids)));
            nodes[k].child = Some(nodes.len());
            nodes.push(node(all, [a, m]));
            nodes.push(node(all, [m, b]));
        }
        k += 1;
    }
    nodes
}

fn node(all: &[Facet], range: [usize; 2]) -> Node {
    let part = &all[range[0]..range[1]];
    let (mut lo, mut hi) = (Point3::from([f64::INFINITY; 3]), Point3::from([f64::NEG_INFINITY; 3]));
    for p in part.iter().flat_map(|f| &f.at) {
        (lo, hi) = (lo.inf(p), hi.sup(p));
    }
    let sum: Vector3<f64> = part.iter().map(|f| f.axis).sum();
    let (axis, spread) = sum.try_normalize(1e-9).map_or((Vector3::z(), 2.0 * PI), |x| {
        (x, part.iter().map(|f| angle(&f.axis, &x) + f.half).fold(0.0, f64::max))
    });
    Node { lo, hi, axis, spread, range, child: None }
}

impl Walk<'_> {
    fn descend(&mut self, nodes: &[Node]) {
        let mut stack = if nodes.is_empty() { Vec::new() } else { vec![(0, 0, 0.0)] };
        while let Some((i, j, gap)) = stack.pop() {
            let (u, v): (&Node, &Node) = (&nodes[i], &nodes[j]);
            if gap >= self.upper - self.tolerance
                || PI - angle(&u.axis, &v.axis) > u.spread + v.spread + 2.0 * self.delta
            {
                continue;
            }
            let mut next: Vec<(usize, usize, f64)> = Vec::with_capacity(3);
            let mut add = |a: usize, b: usize| next.push((a, b, boxes(&nodes[a], &nodes[b])));
            let longer = u.range[1] - u.range[0] >= v.range[1] - v.range[0];
            match (u.child, v.child) {
                (None, None) => {
                    self.leaves(u, v, i == j);
                    continue;
                }
                (Some(c), _) if i == j => {
                    add(c, c);
                    add(c + 1, c + 1);
                    add(c, c + 1);
                }
                (Some(c), d) if d.is_none() || longer => {
                    add(c, j);
                    add(c + 1, j);
                }
                (_, Some(d)) => {
                    add(i, d);
                    add(i, d + 1);
                }
                (Some(_), None) => {}
            }
            // Nearest on top of the stack.
            next.sort_by(|a, b| b.2.total_cmp(&a.2).then(a.0.cmp(&b.0)).then(a.1.cmp(&b.1)));
            stack.extend(next);
        }
    }

    fn leaves(&mut self, u: &Node, v: &Node, same: bool) {
        for i in u.range[0]..u.range[1] {
            for j in v.range[0]..v.range[1] {
                if same && j <= i {
                    continue;
                }
                let (a, b) = (&self.all[i], &self.all[j]);
                if PI - angle(&a.axis, &b.axis) > a.half + b.half + 2.0 * self.delta {
                    continue;
                }
                if let Some(&shared) = a.ids.iter().find(|x| b.ids.contains(x)) {
                    // Thickness is scale invariant about a shared corner: 0 there or nothing.
                    if let Some(k) = a.ids.iter().position(|&x| x == shared)
                        && touching_may_oppose(a, b, shared, self.delta)
                    {
                        self.acute.push(a.at[k]);
                    }
                    continue;
                }
                self.refine(a, b);
            }
        }
    }

    fn refine(&mut self, a: &Facet, b: &Facet) {
        let mut stack = vec![(a.at, b.at, 0)];
        while let Some((p, q, depth)) = stack.pop() {
            let (c, ra) = ball(&p);
            let (e, rb) = ball(&q);
            let d = e - c;
            let (far, rho) = (d.norm(), ra + rb);
            if far - rho - ROUNDING >= self.upper - self.tolerance {
                continue;
            }
            if far > rho {
                let limit = self.delta + libm::asin(rho / far) + ROUNDING;
                if !a.meets(&-d, limit) || !b.meets(&d, limit) {
                    continue;
                }
            }
            let least = triangle_distance(&p, &q) - ROUNDING;
            if least >= self.upper - self.tolerance {
                continue;
            }
            if far < self.upper && far > 0.0 && a.meets(&-d, self.delta) && b.meets(&d, self.delta) {
                self.upper = far;
                self.best = Some(([c, e], [a.face, b.face]));
            }
            if rho < self.tolerance / 2.0 || depth >= DEPTH {
                self.lower = self.lower.min(least);
                continue;
            }
            if ra >= rb {
                stack.extend(halves(&p).map(|h| (h, q, depth + 1)));
            } else {
                stack.extend(halves(&q).map(|h| (p, h, depth + 1)));
            }
        }
    }
}

fn boxes(u: &Node, v: &Node) -> f64 {
    let g = (u.lo - v.hi).sup(&(v.lo - u.hi)).sup(&Vector3::zeros());
    g.norm()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;
    use std::time::Instant;

    /// A sphere of twenty triangles, each cut in four `level` times; every vertex on the sphere.
    fn icosphere(level: u32, r: f64, c: Vector3<f64>, inward: bool, face: u32, into: &mut TriMesh) {
        let g = f64::midpoint(1.0, 5f64.sqrt());
        let mut v: Vec<Vector3<f64>> = Vec::new();
        for (a, b) in [(-1.0, g), (1.0, g), (-1.0, -g), (1.0, -g)] {
            v.extend([Vector3::new(a, b, 0.0), Vector3::new(0.0, a, b), Vector3::new(b, 0.0, a)]);
        }
        let edge = v.iter().map(|x| (x - v[0]).norm()).filter(|d| *d > 0.1).fold(9.0, f64::min) * 1.01;
        let near = |a: usize, b: usize| a != b && (v[a] - v[b]).norm() < edge;
        let mut t = Vec::new();
        for a in 0..12 {
            for b in a + 1..12 {
                for k in b + 1..12 {
                    if near(a, b) && near(b, k) && near(a, k) {
                        let out = (v[b] - v[a]).cross(&(v[k] - v[a])).dot(&v[a]) > 0.0;
                        t.push(if out { [a, b, k] } else { [a, k, b] });
                    }
                }
            }
        }
        assert_eq!(t.len(), 20);
        for _ in 0..level {
            let mut middle: BTreeMap<(usize, usize), usize> = BTreeMap::new();
            let mut finer = Vec::new();
            for [a, b, k] in t {
                let mut m = |x: usize, y: usize| {
                    *middle.entry((x.min(y), x.max(y))).or_insert_with(|| {
                        v.push((v[x].normalize() + v[y].normalize()).normalize());
                        v.len() - 1
                    })
                };
                let (x, y, z) = (m(a, b), m(b, k), m(k, a));
                finer.extend([[a, x, z], [x, b, y], [z, y, k], [x, y, z]]);
            }
            t = finer;
        }
        let base = into.positions.len();
        into.positions.extend(v.iter().map(|x| Point3::from(x.normalize() * r + c)));
        for [a, b, k] in t {
            let t = if inward { [a, k, b] } else { [a, b, k] };
            into.triangles.push(t.map(|i| u32::try_from(base + i).unwrap()));
            into.face.push(face);
        }
    }

    fn shell(level: u32, r: f64, void: f64, at: Vector3<f64>) -> TriMesh {
        let mut m = TriMesh::default();
        icosphere(level, r, Vector3::zeros(), false, 0, &mut m);
        icosphere(level, void, at, true, 1, &mut m);
        m
    }

    #[test]
    fn a_sphere_with_an_offset_void() {
        // Closed form: R - r - e; the void's facets lie inside the void, the skin's inside the skin, each by at most
        // its chord error.
        for level in [3, 4] {
            let at = Vector3::new(0.3, 0.4, -0.2).normalize() * 0.25;
            let m = shell(level, 2.0, 1.35, at);
            let start = Instant::now();
            let w = mesh_walls(&m, &[], Deg(15.0), Tolerance::new(1e-3).unwrap(), Mm(5.0)).unwrap();
            println!("{} triangles {:?} {w:?}", m.triangles.len(), start.elapsed());
            // Edge of the icosphere near 1.05 R / 2^level: sagitta of its circumcircle.
            let e = |r: f64| r * (1.05 / f64::from(1 << level)).powi(2) / 6.0;
            assert!(w.mesh.lower.get() > 0.4 - e(2.0) - 2e-3 && w.mesh.upper.get() < 0.4 + e(1.35) + 2e-3);
            assert!(w.mesh.width() < Mm(1.0001e-3) && w.acute.is_empty());
            assert_eq!(w.faces.iter().sum::<u32>(), 1);
        }
    }

    #[test]
    fn no_random_feasible_chord_is_shorter_than_the_bound() {
        let m = shell(3, 2.0, 1.2, Vector3::new(0.1, 0.3, 0.2));
        let delta = Deg(15.0);
        let w = mesh_walls(&m, &[], delta, Tolerance::new(1e-3).unwrap(), Mm(5.0)).unwrap();
        let all = facets(&m).unwrap();
        // A fixed linear congruential generator (Knuth's MMIX constants): the test must not depend on a clock.
        let mut seed = 1u64;
        let mut random = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            f64::from(u32::try_from(seed >> 33).unwrap()) / f64::from(1u32 << 31)
        };
        let (mut feasible, mut least) = (0, f64::INFINITY);
        for _ in 0..1_000_000 {
            let mut pick = || {
                #[allow(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    clippy::cast_precision_loss
                )]
                let f = &all[((random() * all.len() as f64) as usize).min(all.len() - 1)];
                let (a, b) = (random(), random());
                let (a, b) = if a + b > 1.0 { (1.0 - a, 1.0 - b) } else { (a, b) };
                (f, f.at[0] + (f.at[1] - f.at[0]) * a + (f.at[2] - f.at[0]) * b)
            };
            let ((f, p), (g, q)) = (pick(), pick());
            let d = q - p;
            let shared = f.ids.iter().any(|x| g.ids.contains(x));
            if !shared && f.meets(&-d, delta.radians()) && g.meets(&d, delta.radians()) {
                feasible += 1;
                least = least.min(d.norm());
            }
        }
        println!("{feasible} feasible, least {least}, bound {:?}", w.mesh);
        assert!(feasible > 300 && least >= w.mesh.lower.get());
    }

    /// The slab of two levels of squares, and a wedge, as meshes.
    fn prism(profile: &[[f64; 2]], z: f64) -> TriMesh {
        let n = u32::try_from(profile.len()).unwrap();
        let mut m = TriMesh::default();
        for h in [0.0, z] {
            m.positions.extend(profile.iter().map(|p| Point3::new(p[0], p[1], h)));
        }
        for i in 1..n - 1 {
            m.triangles.extend([[0, i + 1, i], [n, n + i, n + i + 1]]);
        }
        for i in 0..n {
            let j = (i + 1) % n;
            m.triangles.extend([[i, j, n + j], [i, n + j, n + i]]);
        }
        m.face = (0..u32::try_from(m.triangles.len()).unwrap()).collect();
        m
    }

    #[test]
    fn a_slab_a_wedge_and_an_open_mesh() {
        let tol = Tolerance::new(1e-4).unwrap();
        let slab = prism(&[[0.0, 0.0], [3.0, 0.0], [3.0, 2.0], [0.0, 2.0]], 0.4);
        let w = mesh_walls(&slab, &[1e-3], Deg(15.0), tol, Mm(5.0)).unwrap();
        assert!(w.mesh.holds(Mm(0.4)) && w.mesh.width() < Mm(1.1e-4) && w.acute.is_empty(), "{w:?}");
        assert!((w.solid_estimate.get() - (w.mesh.lower.get() - 2e-3)).abs() < 1e-12);
        // A wedge of atan(1/4) = 14 deg is an acute edge at 15 deg; away from it the least is its thickness 0.3 along z.
        let wedge = prism(&[[0.0, 0.0], [2.0, 0.0], [2.0, 0.5]], 0.3);
        let w = mesh_walls(&wedge, &[], Deg(15.0), tol, Mm(5.0)).unwrap();
        println!("{w:?}");
        assert!(w.acute.contains(&Point3::origin()));
        let mut open = slab;
        open.triangles.pop();
        assert_eq!(mesh_walls(&open, &[], Deg(15.0), tol, Mm(5.0)), Err(MeshWallsError::Open));
    }
}
