//! Triangles from the exact solid: its own faces, edges and vertices, each edge divided once for both its faces.

use super::contract::well_formed;
use super::fill::{Conflict, fill};
use super::rounds::{self, fill_round};
use super::sample::{Chain, distance_from_axis, refine, split_at_rulings, start};
use super::strips::{Node, facet_bound, fill_cone, rulings, strip_width};
use super::topology::twins;
use super::{TriMesh, sample};
use crate::solid::{Cone, EdgeUse, Solid, Surface, Torus};
use crate::units::Tolerance;
use nalgebra::Point3;
use std::collections::BTreeMap;
use std::f64::consts::TAU;
use thiserror::Error;

/// How often the tolerance of a face may be halved because its borders would cross: 5 um comes down to 10 nm, below
/// what f32 can tell apart on a part of some millimetres.
const HALVINGS: i32 = 9;

/// Rounds of dividing edges by chord and by rulings. One or two suffice; more means two conditions chase each other.
const ROUNDS: usize = 16;

/// A border point this near a ruling, in mm, is on it; or a fiftieth of the tolerance, if that is more.
///
/// A nearer pair of points could become one after rounding to f32.
const MERGE: f64 = 2e-6;

/// A mesh that knows the solid it came from.
#[derive(Clone, Debug, Default)]
pub struct FaceMesh {
    /// The triangles; [`TriMesh::face`] counts the solid's faces. The first vertices are the solid's.
    pub mesh: TriMesh,
    /// Per face of the solid, mm, proved: no point of its triangles is farther from its surface, and none of its border
    /// pieces is farther from its edge curve, than this.
    pub chord: Vec<f64>,
    /// Per edge of the solid: its vertices in the mesh from start to end.
    pub chains: Vec<Vec<u32>>,
    /// Per edge: the parameter of its curve at each vertex of its chain.
    pub parameters: Vec<Vec<f64>>,
    /// Per edge and piece of its chain, mm, proved: the edge curve lies within this of the piece.
    pub bulges: Vec<Vec<f64>>,
}

/// Why a solid could not be meshed.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum MeshError {
    /// The solid breaks its contract.
    #[error("the solid is malformed: {0}")]
    Malformed(String),
    /// The borders of these faces cross or touch even when divided as finely as single precision allows.
    #[error("borders of {} cannot be kept apart near {at:?} mm", faces.join(" and "))]
    Crossing {
        /// Names of the faces.
        faces: Vec<String>,
        /// A point nearby, mm.
        at: [f64; 3],
    },
    /// A curve whose distance from its chord does not shrink as it is divided.
    #[error("an edge curve near {at:?} mm cannot be followed")]
    Unbounded {
        /// A point nearby, mm.
        at: [f64; 3],
    },
    /// A face that covers a full turn of its cone, or lies across its seam.
    #[error("face {face} lies across its own seam")]
    Seam {
        /// Name of the face.
        face: String,
    },
}

/// Meshes a solid so that every facet is proved to lie within the tolerance of its surface, and every border piece of
/// its curve. Faces whose borders would cross at that tolerance are divided more finely.
///
/// # Errors
/// See [`MeshError`].
pub fn tessellate(solid: &Solid, tolerance: Tolerance) -> Result<FaceMesh, MeshError> {
    tessellate_graded(solid, &mut vec![tolerance; solid.faces.len()])
}

/// As [`tessellate`], with a tolerance for each face. Tolerances that had to be tightened come back changed.
///
/// # Errors
/// See [`MeshError`].
pub fn tessellate_graded(solid: &Solid, tolerance: &mut [Tolerance]) -> Result<FaceMesh, MeshError> {
    well_formed(solid)?;
    if tolerance.len() != solid.faces.len() {
        return Err(MeshError::Malformed("one tolerance is needed for each face".into()));
    }
    let floor: Vec<Tolerance> = tolerance.iter().map(|t| t.scaled(0.5_f64.powi(HALVINGS))).collect();
    loop {
        let conflicts = match attempt(solid, tolerance)? {
            Attempt::Done(m) => return Ok(m),
            Attempt::Conflicts(c) => c,
        };
        for (faces, at) in &conflicts {
            let mut tightened = false;
            for &f in faces {
                if tolerance[f].get() > floor[f].get() {
                    tolerance[f] = tolerance[f].scaled(0.5);
                    tightened = true;
                }
            }
            if !tightened {
                let faces = faces.iter().map(|&f| solid.faces[f].name.clone()).collect();
                return Err(MeshError::Crossing { faces, at: [at.x, at.y, at.z] });
            }
        }
    }
}

enum Attempt {
    Done(FaceMesh),
    /// Faces concerned, and a place.
    Conflicts(Vec<(Vec<usize>, Point3<f64>)>),
}

fn attempt(solid: &Solid, tolerance: &[Tolerance]) -> Result<Attempt, MeshError> {
    let of_edge = |f: usize| {
        let part = if solid.faces[f].torus().is_some() { rounds::EDGE_PART } else { 1.0 };
        tolerance[f].get() * part
    };
    let edge_tol: Vec<f64> =
        solid.edges.iter().map(|e| of_edge(e.faces[0]).min(of_edge(e.faces[1]))).collect();
    let (chains, rulings) = divide(solid, tolerance, &edge_tol)?;
    let mut positions = solid.vertices.clone();
    let mut index = Vec::with_capacity(chains.len());
    for (c, e) in chains.iter().zip(&solid.edges) {
        let mut ids = vec![narrow(e.ends[0])];
        for p in &c.p[1..c.p.len() - 1] {
            ids.push(narrow(positions.len()));
            positions.push(*p);
        }
        ids.push(narrow(e.ends[1]));
        index.push(ids);
    }
    // Edge that each vertex inside an edge belongs to; a corner of the solid belongs to several.
    let mut owner = vec![usize::MAX; positions.len()];
    for (e, ids) in index.iter().enumerate() {
        ids[1..ids.len() - 1].iter().for_each(|&v| owner[v as usize] = e);
    }
    let one_edge = |t: [u32; 3]| {
        let Some(e) = t.iter().map(|&v| owner[v as usize]).find(|&e| e != usize::MAX) else { return false };
        t.iter().all(|&v| owner[v as usize] == e || solid.edges[e].ends.contains(&(v as usize)))
    };
    let mut conflicts = Vec::new();
    let mut mesh = TriMesh { positions, ..TriMesh::default() };
    let mut chord = Vec::with_capacity(solid.faces.len());
    for f in 0..solid.faces.len() {
        if let Some(torus) = solid.faces[f].torus() {
            match round_face(solid, f, torus, &mesh.positions, &index, tolerance[f].get()) {
                Ok(filled) => {
                    mesh.positions.extend(filled.inside);
                    mesh.face.extend(std::iter::repeat_n(narrow(f), filled.triangles.len()));
                    mesh.triangles.extend(filled.triangles);
                    chord.push(filled.bound);
                }
                Err(Conflict(v)) => {
                    conflicts.push((vec![f], mesh.positions.get(v).copied().unwrap_or_else(Point3::origin)));
                    chord.push(f64::INFINITY);
                }
            }
            continue;
        }
        match face(solid, f, &mesh.positions, &index, &rulings[f], tolerance[f].get(), &one_edge) {
            Ok((triangles, bound)) => {
                mesh.face.extend(std::iter::repeat_n(narrow(f), triangles.len()));
                mesh.triangles.extend(triangles);
                chord.push(bound);
            }
            Err(Conflict(v)) => {
                conflicts.push((vec![f], mesh.positions.get(v).copied().unwrap_or_else(Point3::origin)));
            }
        }
    }
    if conflicts.is_empty()
        && let Err(bad) = twins(&mesh.triangles)
    {
        for h in bad {
            let t = (h / 3) as usize;
            conflicts.push((vec![mesh.face[t] as usize], mesh.corners(t)[(h % 3) as usize]));
        }
    }
    if !conflicts.is_empty() {
        let mut by_face: BTreeMap<Vec<usize>, Point3<f64>> = BTreeMap::new();
        for (f, p) in conflicts {
            by_face.entry(f).or_insert(p);
        }
        return Ok(Attempt::Conflicts(by_face.into_iter().collect()));
    }
    let bulges: Vec<Vec<f64>> = chains
        .iter()
        .zip(&solid.edges)
        .map(|(c, e)| c.t.windows(2).map(|w| e.curve.chord_bound(w[0], w[1])).collect())
        .collect();
    for (e, b) in bulges.iter().enumerate() {
        let worst = b.iter().copied().fold(0.0, f64::max);
        for f in solid.edges[e].faces {
            chord[f] = chord[f].max(worst);
        }
    }
    // A facet bound may pass the tolerance where a strip is seen to be wider than planned: divide that face again.
    let wide: Vec<_> = (0..chord.len())
        .filter(|&f| chord[f].is_nan() || chord[f] > tolerance[f].get())
        .map(|f| (vec![f], solid.vertices[solid.start_of(solid.faces[f].loops[0][0])]))
        .collect();
    if !wide.is_empty() {
        return Ok(Attempt::Conflicts(wide));
    }
    let parameters = chains.into_iter().map(|c| c.t).collect();
    Ok(Attempt::Done(FaceMesh { mesh, chord, chains: index, parameters, bulges }))
}

#[allow(clippy::cast_possible_truncation)]
fn narrow(i: usize) -> u32 {
    i as u32
}

fn merge_distance(tol: f64) -> f64 {
    (tol / 50.0).max(MERGE)
}

/// Divides every edge and chooses the rulings of every cone face.
fn divide(
    solid: &Solid,
    tolerance: &[Tolerance],
    edge_tol: &[f64],
) -> Result<(Vec<Chain>, Vec<Vec<f64>>), MeshError> {
    let mut chains: Vec<Chain> = (0..solid.edges.len()).map(|e| start(solid, e)).collect();
    for (e, chain) in chains.iter_mut().enumerate() {
        if !sample::waits(&solid.edges[e].curve) {
            refine(chain, &solid.edges[e].curve, edge_tol[e])?;
        }
    }
    // The face that needs the narrowest strips goes first; coaxial neighbours then take its points over.
    let mut order = Vec::new();
    for (f, tol) in tolerance.iter().enumerate() {
        if let Some(cone) = solid.faces[f].cone() {
            let (_, radius) = spread(solid, f, cone, &chains)?;
            order.push((strip_width(radius, tol.get()), f));
        }
    }
    order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut chosen = vec![Vec::new(); solid.faces.len()];
    for &(width, f) in &order {
        let Some(cone) = solid.faces[f].cone() else { continue };
        let (angles, _) = spread(solid, f, cone, &chains)?;
        chosen[f] = rulings(angles, width);
        split_face(solid, f, cone, &chosen[f], tolerance[f].get(), &mut chains);
    }
    for _ in 0..ROUNDS {
        let mut grown = false;
        for (e, chain) in chains.iter_mut().enumerate() {
            grown |= refine(chain, &solid.edges[e].curve, edge_tol[e])?;
        }
        if !grown {
            break;
        }
        for &(_, f) in &order {
            let Some(cone) = solid.faces[f].cone() else { continue };
            split_face(solid, f, cone, &chosen[f], tolerance[f].get(), &mut chains);
        }
    }
    Ok((chains, chosen))
}

fn split_face(solid: &Solid, f: usize, cone: &Cone, rulings: &[f64], tol: f64, chains: &mut [Chain]) {
    for u in solid.faces[f].loops.iter().flatten() {
        let curve = &solid.edges[u.edge].curve;
        split_at_rulings(&mut chains[u.edge], curve, cone, solid.faces[f].seam, rulings, merge_distance(tol));
    }
}

/// Angles past the seam of a face's border points, and the largest radius.
fn spread(solid: &Solid, f: usize, cone: &Cone, chains: &[Chain]) -> Result<(Vec<f64>, f64), MeshError> {
    let face = &solid.faces[f];
    let (mut angles, mut radius) = (Vec::new(), 0.0_f64);
    for u in face.loops.iter().flatten() {
        let mut last = None;
        for p in &chains[u.edge].p {
            let a = face.coordinates(p)[0];
            // A border piece turns by less than half a turn, so a larger step is one across the seam. A circle's two ends
            // may lie farther apart before it is divided.
            let whole = sample::waits(&solid.edges[u.edge].curve);
            if last.is_some_and(|l: f64| !whole && (l - a).abs() > TAU / 2.0) {
                return Err(MeshError::Seam { face: face.name.clone() });
            }
            last = Some(a);
            angles.push(a);
            radius = radius.max(distance_from_axis(cone, p));
        }
    }
    Ok((angles, radius))
}

/// Vertices of a loop in order.
fn loop_vertices<'a>(l: &'a [EdgeUse], chains: &'a [Vec<u32>]) -> impl Iterator<Item = u32> + 'a {
    l.iter().flat_map(move |u| {
        let c = &chains[u.edge];
        let n = c.len();
        (0..n - 1).map(move |i| if u.forward { c[i] } else { c[n - 1 - i] })
    })
}

/// Triangles of one face of a torus or sphere, outward, with points inside it.
fn round_face(
    solid: &Solid,
    f: usize,
    torus: &Torus,
    positions: &[Point3<f64>],
    chains: &[Vec<u32>],
    tol: f64,
) -> Result<rounds::Filled, Conflict> {
    let face = &solid.faces[f];
    let mut loops: Vec<Vec<u32>> = face.loops.iter().map(|l| loop_vertices(l, chains).collect()).collect();
    if !face.outward {
        loops.iter_mut().for_each(|l| l.reverse());
    }
    let mut filled = fill_round(face, torus, &loops, positions, narrow(positions.len()), tol)?;
    if !face.outward {
        filled.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    }
    Ok(filled)
}

#[allow(clippy::too_many_arguments)]
/// Triangles of one face, outward, and the proved distance from its surface.
fn face(
    solid: &Solid,
    f: usize,
    positions: &[Point3<f64>],
    chains: &[Vec<u32>],
    rulings: &[f64],
    tol: f64,
    one_edge: &dyn Fn([u32; 3]) -> bool,
) -> Result<(Vec<[u32; 3]>, f64), Conflict> {
    let face = &solid.faces[f];
    let mut loops: Vec<Vec<u32>> = face.loops.iter().map(|l| loop_vertices(l, chains).collect()).collect();
    // Face coordinates are left-handed on an inward face: its loops then run the other way round.
    if !face.outward {
        loops.iter_mut().for_each(|l| l.reverse());
    }
    let (mut triangles, bound) = match &face.surface {
        // Filled by [`round_face`].
        Surface::Torus(_) => return Err(Conflict(0)),
        Surface::Plane(_) => {
            let all: Vec<u32> = loops.iter().flatten().copied().collect();
            let flat: Vec<[f64; 2]> = all.iter().map(|&v| face.coordinates(&positions[v as usize])).collect();
            let mut border = Vec::with_capacity(all.len());
            let mut from = 0;
            for l in &loops {
                border.extend((0..l.len()).map(|i| [from + i, from + (i + 1) % l.len()]));
                from += l.len();
            }
            let t = fill(&flat, &border).map_err(|Conflict(i)| Conflict(all[i] as usize))?;
            let off = all.iter().map(|&v| face.surface.distance(&positions[v as usize])).fold(0.0, f64::max);
            (t.into_iter().map(|t| t.map(|i| all[i])).collect::<Vec<_>>(), off)
        }
        Surface::Cone(cone) => {
            let node = |&v: &u32| {
                let p = &positions[v as usize];
                let [angle, height] = face.coordinates(p);
                Node { vertex: v, angle, radius: distance_from_axis(cone, p), height }
            };
            let nodes: Vec<Vec<Node>> = loops.iter().map(|l| l.iter().map(node).collect()).collect();
            let t = fill_cone(cone, &nodes, rulings, merge_distance(tol), one_edge)?;
            let mut sorted: Vec<Node> = nodes.into_iter().flatten().collect();
            sorted.sort_by_key(|n| n.vertex);
            let of = |v: u32| sorted[sorted.partition_point(|n| n.vertex < v)];
            let bound = t.iter().map(|t| facet_bound(cone, &t.map(of))).fold(0.0, f64::max);
            (t, bound)
        }
    };
    if !face.outward {
        triangles.iter_mut().for_each(|t| t.swap(1, 2));
    }
    Ok((triangles, bound))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::test_solids::*;
    use nalgebra::Isometry3;

    fn tol(t: f64) -> Tolerance {
        Tolerance::new(t).unwrap()
    }

    fn volume(m: &TriMesh) -> f64 {
        (0..m.triangles.len())
            .map(|t| {
                let [a, b, c] = m.corners(t);
                a.coords.dot(&b.coords.cross(&c.coords)) / 6.0
            })
            .sum()
    }

    /// All solids of the helper, askew and straight, with their volumes where there is a closed form.
    fn all() -> Vec<(&'static str, Solid, Option<f64>)> {
        use std::f64::consts::PI;
        let mut v = vec![];
        for p in [Isometry3::identity(), askew()] {
            v.push(("box", cuboid([1.0, 2.0, 3.0], &p), Some(6.0)));
            v.push(("drilled", drilled([4.0, 3.0, 0.5], 0.4, &p), Some(6.0 - PI * 0.16 * 0.5)));
            v.push(("cylinder", frustum(1.5, 1.5, 2.0, &p), Some(PI * 4.5)));
            v.push(("frustum", frustum(2.0, 0.5, 3.0, &p), Some(PI * (4.0 + 1.0 + 0.25))));
            v.push(("tube", tube(2.0, 1.5, 3.0, &p), Some(PI * 1.75 * 3.0)));
            v.push(("oblique", oblique_tube(1.0, 0.7, 2.0, 0.6, &p), Some(PI * 0.51 * 2.0)));
            v.push(("cross", cross_drilled(1.0, 0.4, 2.0, 48, &p), None));
            v.push(("collet", collet(&p), None));
        }
        v
    }

    #[test]
    fn volumes_faces_and_chords_are_right() {
        for (name, s, exact) in all() {
            for t in [0.05, 0.005, 0.0005] {
                let m = tessellate(&s, tol(t)).unwrap_or_else(|e| panic!("{name} {t}: {e}"));
                twins(&m.mesh.triangles).unwrap();
                assert!(m.chord.iter().all(|&c| c <= t), "{name}");
                let (v, e, f) =
                    (m.mesh.positions.len(), 3 * m.mesh.triangles.len() / 2, m.mesh.triangles.len());
                assert_eq!(v as i64 - e as i64 + f as i64, 2 - 2 * s.genus(), "{name}");
                for i in 0..s.faces.len() {
                    assert!(m.mesh.face.contains(&(i as u32)), "{name} lost {}", s.faces[i].name);
                }
                if let Some(exact) = exact {
                    let area: f64 = (0..f)
                        .map(|i| {
                            let [a, b, c] = m.mesh.corners(i);
                            (b - a).cross(&(c - a)).norm() / 2.0
                        })
                        .sum();
                    assert!(
                        (volume(&m.mesh) - exact).abs() <= area * t + 1e-12,
                        "{name} {t} {}",
                        volume(&m.mesh)
                    );
                }
            }
        }
    }

    #[test]
    fn facets_lie_within_their_bound_and_face_outwards() {
        for (name, s, _) in all() {
            let m = tessellate(&s, tol(0.01)).unwrap();
            for (t, &f) in m.mesh.face.iter().enumerate() {
                let face = &s.faces[f as usize];
                let [a, b, c] = m.mesh.corners(t);
                let n = (b - a).cross(&(c - a));
                for i in 0..=6 {
                    for j in 0..=6 - i {
                        let q = a + (b - a) * (f64::from(i) / 6.0) + (c - a) * (f64::from(j) / 6.0);
                        assert!(
                            face.surface.distance(&q) <= m.chord[f as usize] + 1e-12,
                            "{name} {}",
                            face.name
                        );
                    }
                }
                let q = Point3::from((a.coords + b.coords + c.coords) / 3.0);
                assert!(n.dot(&face.normal(&q)) > 0.0, "{name} {} turned", face.name);
            }
        }
    }

    #[test]
    fn a_wall_thinner_than_the_chord_does_not_vanish() {
        // Tube walls of 1 um meshed at 50 um: the two skins would cross if each were divided on its own.
        let s = tube(2.0, 1.999, 1.0, &askew());
        let m = tessellate(&s, tol(0.05)).unwrap();
        assert!(m.chord.iter().all(|&c| c <= 0.05));
        assert!(volume(&m.mesh) > 0.0);
    }

    #[test]
    fn broken_solids_are_refused() {
        let mut s = cuboid([1.0, 1.0, 1.0], &askew());
        s.faces[2].loops[0].swap(0, 1);
        assert!(matches!(tessellate(&s, tol(0.01)), Err(MeshError::Malformed(_))));
        let mut s = cuboid([1.0, 1.0, 1.0], &askew());
        s.edges[3].ends[1] = 99;
        assert!(matches!(tessellate(&s, tol(0.01)), Err(MeshError::Malformed(_))));
        let mut s = cuboid([1.0, 1.0, 1.0], &askew());
        s.faces.pop();
        assert!(tessellate(&s, tol(0.01)).is_err());
        let mut s = cuboid([1.0, 1.0, 1.0], &askew());
        s.vertices[0].x = f64::NAN;
        assert!(tessellate(&s, tol(0.01)).is_err());
        let empty = Solid { vertices: vec![], edges: vec![], faces: vec![], lumps: vec![] };
        assert!(tessellate(&empty, tol(0.01)).is_err());
    }
}
