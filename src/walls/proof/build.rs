//! Primitives of a closed mesh, and of an exact solid through its mesh.

use super::prim::{Boundary, Normals, Prim, Rim};
use crate::mesh::{FaceMesh, TriMesh, twins};
use crate::solid::{Curve, Solid, Surface};
use crate::walls::cell::angle;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Edges that turn by less are flat, radians: two facets of one plane after rounding of their corners.
const FLAT: f64 = 1e-6;
/// Two faces of a solid that turn inward by less are smooth where they meet, radians: an edge may lie 1e-7 mm off
/// surfaces of 0.1 mm radius.
const SMOOTH: f64 = 1e-5;

/// An edge of the mesh with what its two facets make of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turn {
    pub(super) ids: [u32; 2],
    pub(super) triangles: [usize; 2],
    /// Angle between both normals, radians.
    pub(super) turn: f64,
    pub(super) reflex: bool,
}

/// Unit normals; a triangle without area gets that of a neighbour over its longest side, or none.
fn normals(mesh: &TriMesh, twin: &[u32]) -> Vec<Option<Vector3<f64>>> {
    let own = |t: usize| {
        let [a, b, c] = mesh.corners(t);
        (b - a).cross(&(c - a)).try_normalize(1e-14)
    };
    let mut out: Vec<Option<Vector3<f64>>> = (0..mesh.triangles.len()).map(own).collect();
    for (t, n) in out.iter_mut().enumerate() {
        if n.is_none() {
            let c = mesh.corners(t);
            let k = (0..3).fold(0, |m, k| {
                let l = |i: usize| (c[i] - c[(i + 1) % 3]).norm_squared();
                if l(k) > l(m) { k } else { m }
            });
            *n = twin.get(3 * t + k).and_then(|&h| own(h as usize / 3));
        }
    }
    out
}

/// All edges between two facets with normals.
#[allow(clippy::type_complexity)]
pub(super) fn turns(mesh: &TriMesh) -> Option<(Vec<Turn>, Vec<Option<Vector3<f64>>>)> {
    let twin = twins(&mesh.triangles).ok()?;
    let normals = normals(mesh, &twin);
    let mut out = Vec::with_capacity(twin.len() / 2);
    for (h, &g) in twin.iter().enumerate() {
        let (t, r) = (h / 3, g as usize / 3);
        if h > g as usize {
            continue;
        }
        let (Some(n), Some(m)) = (normals[t], normals[r]) else { continue };
        let ids = [mesh.triangles[t][h % 3], mesh.triangles[t][(h + 1) % 3]];
        let far = mesh.corners(r)[(g as usize + 2) % 3];
        let near = mesh.corners(t)[h % 3];
        let turn = angle(&n, &m);
        out.push(Turn { ids, triangles: [t, r], turn, reflex: (far - near).dot(&n) > 0.0 });
    }
    Some((out, normals))
}

/// The mesh as it is; `face` names the patch of each triangle. `None` if it is not closed and oriented.
pub(super) fn of_mesh<'a>(mesh: &TriMesh, face: &[u32]) -> Option<Boundary<'a>> {
    let (turns, normals) = turns(mesh)?;
    let of = |t: usize| face.get(t).copied().unwrap_or(0);
    let mut prims = Vec::with_capacity(mesh.triangles.len() * 2);
    for (t, n) in normals.iter().enumerate() {
        let at = mesh.corners(t);
        if let Some(n) = n
            && (at[1] - at[0]).cross(&(at[2] - at[0])).norm() > 0.0
        {
            let ids = mesh.triangles[t];
            prims.push(Prim {
                at,
                ids,
                rims: [None; 3],
                corners: 3,
                normals: Normals::Flat(*n),
                slack: 0.0,
                face: of(t),
            });
        }
    }
    let mut around = vec![(0_u32, 0_u32); mesh.positions.len()];
    for e in turns.iter().filter(|e| e.turn > FLAT) {
        for v in e.ids {
            let a = &mut around[v as usize];
            if e.reflex { a.0 += 1 } else { a.1 += 1 }
        }
        if e.reflex
            && let (Some(n), Some(m)) = (normals[e.triangles[0]], normals[e.triangles[1]])
        {
            let [p, q] = e.ids.map(|v| mesh.positions[v as usize]);
            let ids = [e.ids[0], e.ids[1], e.ids[1]];
            let normals = Normals::Fan([n, m]);
            prims.push(Prim {
                at: [p, q, q],
                ids,
                rims: [None; 3],
                corners: 2,
                normals,
                slack: 0.0,
                face: of(e.triangles[0]),
            });
        }
    }
    let fans = mesh.triangles.iter().enumerate().flat_map(|(t, v)| v.iter().map(move |&v| (v, t)));
    caps(&mut prims, mesh, fans.filter_map(|(v, t)| normals[t].map(|n| (v, n, of(t)))), &around, 0.0);
    Some(Boundary { prims, solid: None, sign: 1.0, chains: Vec::new() })
}

/// Vertices where at least three edges meet, all of them reflex.
fn caps(
    prims: &mut Vec<Prim>,
    mesh: &TriMesh,
    fans: impl Iterator<Item = (u32, Vector3<f64>, u32)>,
    around: &[(u32, u32)],
    spread: f64,
) {
    let mut all: Vec<(u32, Vector3<f64>, u32)> =
        fans.filter(|(v, ..)| around.get(*v as usize).is_some_and(|a| a.0 >= 3 && a.1 == 0)).collect();
    all.sort_by_key(|x| x.0);
    for group in all.chunk_by(|a, b| a.0 == b.0) {
        let (v, _, face) = group[0];
        let sum: Vector3<f64> = group.iter().map(|g| g.1).sum();
        let Some(axis) = sum.try_normalize(1e-9) else { continue };
        let half = group.iter().map(|g| angle(&g.1, &axis)).fold(0.0, f64::max) + spread;
        let p = mesh.positions[v as usize];
        prims.push(Prim {
            at: [p; 3],
            ids: [v; 3],
            rims: [None; 3],
            corners: 1,
            normals: Normals::Cap(axis, half),
            slack: 0.0,
            face,
        });
    }
}

/// How far a fitted edge may lie off the surfaces that meet in it, mm: the contract of [`Solid`].
pub(super) const FITTED: f64 = 1e-7;

/// How far a surface may lie from a triangle between three of its points, mm: the error of linear interpolation over
/// angle and height, with second derivatives r along the circle and the slope across.
pub(super) fn sagitta(surface: &Surface, at: &[Point3<f64>; 3]) -> f64 {
    let c = match surface {
        Surface::Plane(_) => return 0.0,
        Surface::Cone(c) => c,
        // The bound of the mesh for the whole face is taken.
        Surface::Torus(_) => return f64::INFINITY,
    };
    let on = at.map(|p| c.angle_height(&p));
    let turn = |a: f64, b: f64| {
        let d = (a - b).rem_euclid(TAU);
        d.min(TAU - d)
    };
    let (mut wide, mut high, mut r) = (0.0f64, 0.0f64, 0.0f64);
    for i in 0..3 {
        let j = (i + 1) % 3;
        wide = wide.max(turn(on[i].0, on[j].0));
        high = high.max((on[i].1 - on[j].1).abs());
        r = r.max(c.radius_at(on[i].1).abs());
    }
    r * wide * wide / 8.0 + c.slope.abs() * wide * high / 4.0
}

/// The exact solid through a mesh of it.
///
/// Why every point of the solid's boundary lies within the slack of a primitive that holds its normal: the surface above a
/// facet lies within [`sagitta`] of it; between the last facets and the border curve lies a sliver, within the bulge of
/// the border (proved by the mesh from the hull of the curve's control points). Both shrink with the square of the size, so that corners stay sharp. Normals are those of the
/// surface over the angles a facet fills, its slack included.
///
/// The same is true of the parts that a facet is halved into, with their own corners, which are put on the surface or on the
/// border curve: in angle and height (in the plane) the parts fill what the facet filled, and the slivers of a halved piece
/// of border lie within the bulges of its halves. So halving takes the slack away too; what edges may lie off their
/// surfaces ([`FITTED`]) stays. A ball or ring keeps the slack of its facets.
pub(super) fn of_solid<'a>(solid: &'a Solid, fine: &FaceMesh, sign: f64) -> Boundary<'a> {
    let mesh = &fine.mesh;
    let chord = |f: usize| fine.chord.get(f).copied().unwrap_or(f64::INFINITY);
    let mut prims = Vec::with_capacity(mesh.triangles.len() * 2);
    let mut bulges: BTreeMap<(u32, u32), (f64, Rim)> = BTreeMap::new();
    let mut chains = Vec::with_capacity(solid.edges.len());
    for (k, (e, chain)) in solid.edges.iter().zip(&fine.chains).enumerate() {
        let place = |v: u32| mesh.positions.get(v as usize).copied().unwrap_or_else(Point3::origin);
        let mut points: Vec<(Point3<f64>, f64, f64)> =
            chain.first().map(|&v| (place(v), 0.0, 0.0)).into_iter().collect();
        let fitted = if matches!(e.curve, Curve::Line(..)) { 0.0 } else { FITTED };
        for (i, w) in chain.windows(2).enumerate() {
            let bulge = fine.bulges.get(k).and_then(|b| b.get(i)).copied();
            let t = fine.parameters.get(k).and_then(|t| Some([*t.get(i)?, *t.get(i + 1)?]));
            // A piece that is not known may bulge anyhow.
            let (bulge, t) = bulge.zip(t).unwrap_or((f64::INFINITY, [0.0; 2]));
            let t = if w[0] < w[1] { t } else { [t[1], t[0]] };
            bulges.insert((w[0].min(w[1]), w[0].max(w[1])), (bulge + fitted, Rim { edge: k, t }));
            points.push((place(w[1]), (place(w[1]) - place(w[0])).norm(), bulge + fitted));
        }
        chains.push(points);
    }
    // Bulge of the piece of edge between two vertices and, where it is bent, its place from the first to the second.
    let bulge_of = |a: u32, b: u32| {
        let (bulge, rim) = *bulges.get(&(a.min(b), a.max(b)))?;
        let bent = !matches!(solid.edges[rim.edge].curve, Curve::Line(..));
        let t = if a < b { rim.t } else { [rim.t[1], rim.t[0]] };
        Some((bulge, bent.then_some(Rim { t, ..rim })))
    };
    for (t, ids) in mesh.triangles.iter().enumerate() {
        let face = mesh.face.get(t).copied().unwrap_or(0);
        let Some(f) = solid.faces.get(face as usize) else { continue };
        let sides = [0, 1, 2].map(|k| bulge_of(ids[k], ids[(k + 1) % 3]));
        let bulge = sides.iter().flatten().map(|s| s.0).fold(0.0, f64::max);
        let round = f.torus().is_some();
        let rims = sides.map(|s| s.and_then(|s| s.1).filter(|_| !round));
        let slack = bulge + sagitta(&f.surface, &mesh.corners(t)).min(chord(face as usize));
        let at = mesh.corners(t);
        let normals = match f.surface {
            Surface::Plane(_) => Normals::Flat(f.normal(&at[0])),
            Surface::Cone(_) | Surface::Torus(_) => Normals::Round(face as usize),
        };
        prims.push(Prim { at, ids: *ids, rims, corners: 3, normals, slack, face });
    }
    let mut around = vec![(0_u32, 0_u32); solid.vertices.len()];
    let mut about: Vec<(u32, Vector3<f64>, u32)> = Vec::new();
    for (e, chain) in solid.edges.iter().zip(&fine.chains) {
        let [f, g] = e.faces;
        let (Some(left), Some(right)) = (solid.faces.get(f), solid.faces.get(g)) else { continue };
        let knots = e.curve.knots();
        // Inward anywhere along the edge counts for all of it; the air side looks at outward ones.
        let bends = |t: f64| {
            let p = e.curve.point(t);
            let (n, m) = (left.normal(&p), right.normal(&p));
            let out = n.cross(&e.curve.derivative(t)).dot(&m) <= 0.0;
            let turn = angle(&n, &m);
            (turn > SMOOTH && (out == (sign < 0.0)), turn > SMOOTH)
        };
        let steps =
            knots.windows(2).flat_map(|w| (0..=8).map(move |i| w[0] + (w[1] - w[0]) * f64::from(i) / 8.0));
        let (mut reflex, mut turned) = (false, false);
        for t in steps {
            let b = bends(t);
            reflex |= b.0;
            turned |= b.1;
        }
        for (k, &v) in e.ends.iter().enumerate() {
            if let Some(a) = around.get_mut(v) {
                if reflex {
                    a.0 += 1
                } else if turned {
                    a.1 += 1
                }
            }
            let p = if k == 0 { e.curve.start() } else { e.curve.end() };
            #[allow(clippy::cast_possible_truncation)]
            about.extend([(v as u32, left.normal(&p), f as u32), (v as u32, right.normal(&p), g as u32)]);
        }
        if !reflex {
            continue;
        }
        for w in chain.windows(2) {
            let [p, q] =
                [w[0], w[1]].map(|v| mesh.positions.get(v as usize).copied().unwrap_or_else(Point3::origin));
            let ids = [w[0], w[1], w[1]];
            #[allow(clippy::cast_possible_truncation)]
            let face = f as u32;
            let (slack, rim) = bulge_of(w[0], w[1]).unwrap_or((f64::INFINITY, None));
            prims.push(Prim {
                at: [p, q, q],
                ids,
                rims: [rim, None, None],
                corners: 2,
                normals: Normals::RoundFan([f, g]),
                slack,
                face,
            });
        }
    }
    // 1e-6: a vertex may lie 1e-7 mm off surfaces of 0.1 mm radius.
    caps(&mut prims, mesh, about.into_iter(), &around, 1e-6);
    Boundary { prims, solid: Some(solid), sign, chains }
}
