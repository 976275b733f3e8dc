//! What every exported mesh must pass, on the coordinates that are written.

use super::crossing::{collisions, is_flat};
use super::exact::{SolidMass, solid_mass};
use super::mass::mass;
use super::round::{round_point, rounded};
use super::tessellate::{FaceMesh, MeshError, tessellate_graded};
use super::topology::{components, twins};
use super::{TriMesh, strips};
use crate::solid::Solid;
use crate::units::Tolerance;
use nalgebra::Point3;
use std::collections::BTreeSet;
use std::fmt;
use thiserror::Error;

/// Rounds of tessellation with tightened tolerances before the gate's objection stands.
const ROUNDS: usize = 10;

/// A place on a solid in words.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Place {
    /// Indices of the faces concerned.
    pub faces: Vec<usize>,
    /// Their names.
    pub names: Vec<String>,
    /// A point there, mm.
    pub at: [f64; 3],
}

impl Place {
    /// Around some triangles.
    pub(super) fn of(solid: &Solid, mesh: &TriMesh, triangles: &[usize]) -> Self {
        let mut faces: Vec<usize> =
            triangles.iter().filter_map(|&t| mesh.face.get(t)).map(|&f| f as usize).collect();
        faces.sort_unstable();
        faces.dedup();
        let names = faces.iter().filter_map(|&f| solid.faces.get(f)).map(|f| f.name.clone()).collect();
        let [a, b, c] = mesh.corners(triangles.first().copied().unwrap_or(usize::MAX));
        let m = (a.coords + b.coords + c.coords) / 3.0;
        Self { faces, names, at: [m.x, m.y, m.z] }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [x, y, z] = self.at;
        write!(f, "{} near ({x:.4}, {y:.4}, {z:.4}) mm", self.names.join(" and "))
    }
}

/// Why a mesh must not be written.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum GateError {
    /// It could not be made.
    #[error(transparent)]
    Mesh(#[from] MeshError),
    /// Coordinates beyond what single precision can hold.
    #[error("coordinates are beyond the range of single precision")]
    Range,
    /// Coordinates that writing would change.
    #[error("vertex {0} is not rounded to single precision")]
    NotRounded(usize),
    /// Two vertices in one place or a triangle without area.
    #[error("a feature is too small for single precision: {0}")]
    TooFine(Place),
    /// A side that does not have exactly one triangle on each side, running the other way.
    #[error("the surface is not closed: {0}")]
    Open(Place),
    /// A vertex where two sheets touch.
    #[error("two sheets of the surface touch in one point: {0}")]
    Pinched(Place),
    /// The mesh does not have the solid's own faces, edges or handles.
    #[error("the mesh has {found} {what}, the solid {expected}")]
    Shape {
        /// What was counted.
        what: &'static str,
        /// In the mesh.
        found: i64,
        /// In the solid.
        expected: i64,
    },
    /// A piece of an edge that the mesh does not have between the right faces.
    #[error("an edge of the solid is not in the mesh: {0}")]
    Edge(Place),
    /// Triangles that meet where they should not.
    #[error("the surface meets itself {count} times, first at {place}")]
    Crossing {
        /// Where.
        place: Place,
        /// All faces that meet one they should not, by index.
        faces: Vec<usize>,
        /// Pairs of triangles.
        count: usize,
    },
    /// Volume not positive, or farther from the solid's than the chord bound allows.
    #[error("the mesh has {found} mm3, the solid {expected} mm3, more than the proved {bound} mm3 apart")]
    Volume {
        /// Of the mesh, mm^3.
        found: f64,
        /// Of the solid, mm^3.
        expected: f64,
        /// Largest difference, mm^3.
        bound: f64,
    },
    /// The proved distance of a face, rounding included, is above the tolerance.
    #[error("face {face} is proved to {chord} mm only")]
    Chord {
        /// Name of the face.
        face: String,
        /// Proved distance, mm.
        chord: f64,
    },
}

impl GateError {
    /// Faces where a finer division may help; empty where it cannot.
    fn refinable(&self) -> &[usize] {
        match self {
            Self::Open(p) | Self::Pinched(p) => &p.faces,
            Self::Crossing { faces, .. } => faces,
            _ => &[],
        }
    }
}

/// What was found of a mesh that passed.
#[derive(Clone, Debug, PartialEq)]
pub struct GateReport {
    /// Vertices.
    pub vertices: usize,
    /// Triangles.
    pub triangles: usize,
    /// Faces of the solid, each one patch of triangles.
    pub faces: usize,
    /// Edges of the solid, each one chain of triangle sides.
    pub edges: usize,
    /// Closed surfaces.
    pub shells: usize,
    /// Handles, all shells together.
    pub genus: i64,
    /// Of the mesh, mm^3.
    pub volume: f64,
    /// Of the mesh, mm^2.
    pub area: f64,
    /// Largest difference from the solid's volume that the chord bounds allow, mm^3.
    pub volume_bound: f64,
    /// Largest proved distance of a facet from its surface, mm.
    pub chord: f64,
    /// Pairs of triangles whose boxes overlap, each tested exactly.
    pub pairs: usize,
}

/// Largest difference in volume between a mesh and its solid that the proved chords allow, mm^3.
///
/// Each point of a face lies within the face's chord of its facets, so the space between has at most chord times area; a
/// patch of a cone is larger than its facets by at most the cosine of half the widest strip. Along each border piece a
/// sliver remains, at most chord wide and chord high.
#[must_use]
pub fn volume_bound(solid: &Solid, mesh: &FaceMesh) -> f64 {
    let larger = 1.0 / libm::cos(0.5 * strips::WIDEST);
    let chord = |f: usize| mesh.chord.get(f).copied().unwrap_or(f64::INFINITY);
    let mut bound = 0.0;
    for (t, &f) in mesh.mesh.face.iter().enumerate() {
        let [a, b, c] = mesh.mesh.corners(t);
        bound += 0.5 * (b - a).cross(&(c - a)).norm() * larger * chord(f as usize);
    }
    for (e, chain) in solid.edges.iter().zip(&mesh.chains) {
        let c = chord(e.faces[0]).max(chord(e.faces[1]));
        let at = |v: u32| mesh.mesh.positions.get(v as usize).copied().unwrap_or_else(Point3::origin);
        bound += chain.windows(2).map(|w| (at(w[1]) - at(w[0])).norm() * c * c).sum::<f64>();
    }
    bound
}

/// Checks a rounded mesh of a solid: no two vertices in one place, no flat triangle, closed, oriented, no pinched vertex,
/// the solid's faces (one patch each), edges (one chain each) and handles, no two triangles that meet where they should
/// not, and the solid's volume within the proved bound.
///
/// # Errors
/// The first objection, see [`GateError`].
pub fn gate(solid: &Solid, mesh: &FaceMesh, exact: &SolidMass) -> Result<GateReport, GateError> {
    let m = &mesh.mesh;
    let place = |t: usize| Place::of(solid, m, &[t]);
    distinct(solid, m)?;
    let twin = twins(&m.triangles).map_err(|bad| {
        let t: Vec<usize> = bad.iter().map(|&h| (h / 3) as usize).collect();
        GateError::Open(Place::of(solid, m, &t))
    })?;
    if let Some(t) = pinched(m, &twin) {
        return Err(GateError::Pinched(place(t)));
    }
    shape("faces", patches(m, &twin), solid.faces.len())?;
    let mut seen = vec![false; solid.faces.len()];
    m.face.iter().filter_map(|&f| f.try_into().ok()).for_each(|f: usize| {
        if let Some(s) = seen.get_mut(f) {
            *s = true;
        }
    });
    shape("faces", seen.iter().filter(|&&s| s).count(), solid.faces.len())?;
    edges(solid, mesh, &twin)?;
    let (shells, genus) = handles(solid, m)?;
    let (crossing, pairs) = collisions(m);
    if let Some(&(i, j)) = crossing.first() {
        let place = Place::of(solid, m, &[i as usize, j as usize]);
        let all: Vec<usize> = crossing.iter().flat_map(|&(i, j)| [i as usize, j as usize]).collect();
        let faces = Place::of(solid, m, &all).faces;
        return Err(GateError::Crossing { place, faces, count: crossing.len() });
    }
    let got = mass(m);
    let bound = volume_bound(solid, mesh) + exact.volume_error;
    let near = (got.volume - exact.volume).abs() <= bound;
    if !near || got.volume.is_nan() || got.volume <= 0.0 {
        return Err(GateError::Volume { found: got.volume, expected: exact.volume, bound });
    }
    Ok(GateReport {
        vertices: m.positions.len(),
        triangles: m.triangles.len(),
        faces: solid.faces.len(),
        edges: solid.edges.len(),
        shells,
        genus,
        volume: got.volume,
        area: got.area,
        volume_bound: bound,
        chord: mesh.chord.iter().copied().fold(0.0, f64::max),
        pairs,
    })
}

#[allow(clippy::cast_possible_wrap)]
fn shape(what: &'static str, found: usize, expected: usize) -> Result<(), GateError> {
    if found == expected {
        Ok(())
    } else {
        Err(GateError::Shape { what, found: found as i64, expected: expected as i64 })
    }
}

/// Rounded, no two vertices in one place, every vertex used, no flat triangle.
fn distinct(solid: &Solid, m: &TriMesh) -> Result<(), GateError> {
    if let Some(v) = m.positions.iter().position(|p| round_point(p) != *p) {
        return Err(GateError::NotRounded(v));
    }
    shape("face numbers", m.face.len(), m.triangles.len())?;
    let mut used = vec![usize::MAX; m.positions.len()];
    for (t, tri) in m.triangles.iter().enumerate() {
        for &v in tri {
            match used.get_mut(v as usize) {
                Some(u) => *u = t,
                None => return Err(GateError::Open(Place::of(solid, m, &[t]))),
            }
        }
    }
    shape("vertices in use", used.iter().filter(|&&t| t != usize::MAX).count(), used.len())?;
    let mut order: Vec<usize> = (0..m.positions.len()).collect();
    let p = |v: usize| &m.positions[v];
    let compare = |a: &usize, b: &usize| {
        let (p, q) = (p(*a), p(*b));
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)).then(p.z.total_cmp(&q.z))
    };
    order.sort_by(compare);
    if let Some(w) = order.windows(2).find(|w| p(w[0]) == p(w[1])) {
        return Err(GateError::TooFine(Place::of(solid, m, &[used[w[0]], used[w[1]]])));
    }
    match (0..m.triangles.len()).find(|&t| is_flat(&m.corners(t))) {
        Some(t) => Err(GateError::TooFine(Place::of(solid, m, &[t]))),
        None => Ok(()),
    }
}

/// A triangle at a vertex whose triangles do not form one fan.
pub(crate) fn pinched(m: &TriMesh, twin: &[u32]) -> Option<usize> {
    let mut count = vec![0_usize; m.positions.len()];
    let mut from = vec![0_usize; m.positions.len()];
    for (h, &v) in m.triangles.iter().flatten().enumerate() {
        count[v as usize] += 1;
        from[v as usize] = h;
    }
    for v in 0..count.len() {
        let (mut h, mut n) = (from[v], 0);
        // Round the vertex: over the previous side of the triangle to its neighbour.
        loop {
            let previous = h / 3 * 3 + (h + 2) % 3;
            h = twin[previous] as usize;
            n += 1;
            if h == from[v] || n > count[v] {
                break;
            }
        }
        if n != count[v] {
            return Some(from[v] / 3);
        }
    }
    None
}

/// Connected patches of triangles of one face.
fn patches(m: &TriMesh, twin: &[u32]) -> usize {
    let links = twin.iter().enumerate().map(|(h, &g)| (h / 3, (g / 3) as usize));
    components(m.triangles.len(), links.filter(|&(a, b)| m.face[a] == m.face[b])).1
}

/// Each edge of the solid is a chain between its own two faces, and nothing else divides faces.
fn edges(solid: &Solid, mesh: &FaceMesh, twin: &[u32]) -> Result<(), GateError> {
    let m = &mesh.mesh;
    shape("edges", mesh.chains.len(), solid.edges.len())?;
    let mut directed: Vec<(u32, u32, usize)> = Vec::with_capacity(twin.len());
    for (t, tri) in m.triangles.iter().enumerate() {
        directed.extend((0..3).map(|k| (tri[k], tri[(k + 1) % 3], 3 * t + k)));
    }
    directed.sort_unstable();
    let mut pieces = 0;
    for (e, chain) in solid.edges.iter().zip(&mesh.chains) {
        let first = chain.first().map(|&v| v as usize);
        let last = chain.last().map(|&v| v as usize);
        let wrong = |t: Option<usize>| {
            let mut place = Place::of(solid, m, &t.into_iter().collect::<Vec<_>>());
            place.faces = e.faces.to_vec();
            place.names =
                e.faces.iter().filter_map(|&f| solid.faces.get(f)).map(|f| f.name.clone()).collect();
            GateError::Edge(place)
        };
        if first != Some(e.ends[0]) || last != Some(e.ends[1]) {
            return Err(wrong(None));
        }
        for w in chain.windows(2) {
            let i = directed.partition_point(|d| (d.0, d.1) < (w[0], w[1]));
            let half = directed.get(i).filter(|d| (d.0, d.1) == (w[0], w[1])).map(|d| d.2);
            let Some(half) = half else { return Err(wrong(None)) };
            let faces = [half, twin[half] as usize].map(|h| m.face[h / 3] as usize);
            if faces != e.faces {
                return Err(wrong(Some(half / 3)));
            }
            pieces += usize::from(e.faces[0] != e.faces[1]);
        }
    }
    let between =
        twin.iter().enumerate().filter(|&(h, &g)| m.face[h / 3] != m.face[(g / 3) as usize]).count();
    shape("sides between faces", between, 2 * pieces)
}

/// Shells and the handles of each, both as in the solid.
#[allow(clippy::cast_possible_wrap)]
fn handles(solid: &Solid, m: &TriMesh) -> Result<(usize, i64), GateError> {
    let links =
        m.triangles.iter().flat_map(|t| [(t[0] as usize, t[1] as usize), (t[1] as usize, t[2] as usize)]);
    let (shell, shells) = components(m.positions.len(), links);
    let expected = solid.shell_list();
    shape("shells", shells, expected.len())?;
    // Twice the vertices less the triangles, and the faces, of each shell.
    let mut euler = vec![0_i64; shells];
    let mut faces = vec![BTreeSet::new(); shells];
    shell.iter().for_each(|&s| euler[s] += 2);
    for (t, &f) in m.triangles.iter().zip(&m.face) {
        let s = shell[t[0] as usize];
        euler[s] -= 1;
        faces[s].insert(f as usize);
    }
    let mut all = 0;
    for (euler, faces) in euler.iter().zip(&faces) {
        let Some(of) = expected.iter().find(|e| e.iter().eq(faces)) else {
            return Err(GateError::Shape {
                what: "faces of a shell",
                found: faces.len() as i64,
                expected: 0,
            });
        };
        let (found, expected) = (1 - euler / 4, solid.genus_of(of));
        if found != expected {
            return Err(GateError::Shape { what: "handles", found, expected });
        }
        all += found;
    }
    Ok((shells, all))
}

/// A mesh that passed the gate.
#[derive(Clone, Debug)]
pub struct Checked {
    /// Rounded to single precision.
    pub mesh: FaceMesh,
    /// What the gate found.
    pub report: GateReport,
    /// The exact solid's mass properties it was compared with.
    pub exact: SolidMass,
    /// Faces that had to be divided more finely than the tolerance asks, by index.
    pub refined: Vec<usize>,
}

/// Meshes a solid, rounds to single precision and passes the gate; where the gate finds faces too close for their
/// division they are divided more finely. Every face of the result is proved to the tolerance, rounding included.
///
/// # Errors
/// The gate's last objection, see [`GateError`].
pub fn checked(solid: &Solid, tolerance: Tolerance) -> Result<Checked, GateError> {
    // Kept back for rounding: half a unit in the last place on each axis of the farthest point, or half the tolerance if
    // that is less (the result is judged in any case).
    let reach =
        solid.vertices.iter().flat_map(|p| p.coords.iter().copied()).fold(0.0, |a: f64, b| a.max(b.abs()));
    let kept = (2.0 * reach * f64::from(f32::EPSILON)).min(0.5 * tolerance.get());
    let inner = Tolerance::new(tolerance.get() - kept).unwrap_or(tolerance);
    let mut graded = vec![inner; solid.faces.len()];
    let mut exact = None;
    let mut round = 0;
    loop {
        round += 1;
        let raw = tessellate_graded(solid, &mut graded)?;
        let exact = *exact.get_or_insert_with(|| solid_mass(solid));
        let mesh = rounded(solid, &raw)?;
        match gate(solid, &mesh, &exact) {
            Ok(report) => {
                if let Some(f) = (0..mesh.chord.len()).find(|&f| mesh.chord[f] > tolerance.get()) {
                    let face = solid.faces.get(f).map_or_else(String::new, |f| f.name.clone());
                    return Err(GateError::Chord { face, chord: mesh.chord[f] });
                }
                let refined = (0..graded.len()).filter(|&f| graded[f] < inner).collect();
                return Ok(Checked { mesh, report, exact, refined });
            }
            Err(e) if round < ROUNDS && !e.refinable().is_empty() => {
                for &f in e.refinable() {
                    graded[f] = graded[f].scaled(0.5);
                }
            }
            Err(e) => return Err(e),
        }
    }
}

#[cfg(test)]
#[path = "gate_tests.rs"]
mod tests;
