//! A meshed solid ready for distances: triangles in a tree of boxes, how far each may lie from its surface, and which
//! side of it a point is on.

use super::triangle::{self, Part, ROUNDING, Triangle, on_triangle};
use crate::mesh::bvh::{Aabb, Bvh, Content};
use crate::mesh::{FaceMesh, MeshError, TriMesh, tessellate_graded};
use crate::solid::Solid;
use crate::units::Tolerance;
use crate::walls::map::divided;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How finely a solid is meshed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Level {
    /// For guesses, and for proofs where there is room.
    Rough,
    /// Between the two.
    Medium,
    /// The mesh itself.
    Fine,
}

impl Level {
    /// Roughest first.
    pub(super) const ALL: [Self; 3] = [Self::Rough, Self::Medium, Self::Fine];
}

/// Facets that go on a body along its longest side, at least; only speed hangs on it.
const ALONG: f64 = 16.0;

/// A solid's mesh with what is known about it. A copy shares all that is large but the mesh.
#[derive(Clone, Debug)]
pub struct Body {
    /// What the names of its faces begin with: empty for the link itself.
    pub name: String,
    /// The triangles.
    pub mesh: TriMesh,
    /// Per face of the solid: its name.
    pub faces: Vec<String>,
    /// Per face: no point of its triangles is farther from its surface than this, mm.
    pub chord: Vec<f64>,
    /// Largest of them.
    pub(super) largest: f64,
    pub(super) tree: Arc<Bvh>,
    /// The triangles' corners and chords, side by side.
    pieces: Arc<Vec<(Triangle, f64)>>,
    /// The same solid in larger facets.
    rough: Option<Arc<Body>>,
    /// Outward direction at each triangle's inside, its three edges and its three corners (angle-weighted, so that its sign
    /// tells the side: Baerentzen and Aanaes 2005).
    outward: Arc<Vec<[Vector3<f64>; 7]>>,
}

impl Body {
    /// Meshes a solid; `tolerance` says for each face name how far its facets may lie from it.
    ///
    /// # Errors
    /// [`MeshError`] where the solid cannot be meshed.
    pub fn of(name: &str, solid: &Solid, tolerance: impl Fn(&str) -> Tolerance) -> Result<Self, MeshError> {
        let mut graded: Vec<Tolerance> = solid.faces.iter().map(|f| tolerance(&f.name)).collect();
        let mesh = tessellate_graded(solid, &mut graded)?;
        Ok(Self::of_mesh(name, mesh, solid.faces.iter().map(|f| f.name.clone()).collect()))
    }

    /// Its long facets in pieces: one that stands askew has a large box, its pieces lie in small ones. The surface stays what it is.
    #[must_use]
    pub(super) fn in_pieces(self) -> Self {
        let all = Aabb::around(&self.mesh.positions);
        let size = (0..3).map(|k| all.max[k] - all.min[k]).fold(0.0, f64::max);
        let mesh =
            FaceMesh { mesh: divided(&self.mesh, size / ALONG), chord: self.chord, ..FaceMesh::default() };
        Self::of_mesh(&self.name, mesh, self.faces)
    }

    /// From a mesh with its chord per face, and the names of the faces.
    #[must_use]
    pub fn of_mesh(name: &str, mesh: FaceMesh, faces: Vec<String>) -> Self {
        let FaceMesh { mesh, chord, .. } = mesh;
        let boxes = (0..mesh.triangles.len()).map(|t| Aabb::around(&mesh.corners(t))).collect();
        let of_face = |t: usize| mesh.face.get(t).and_then(|f| chord.get(*f as usize)).copied();
        let outward = outward(&mesh);
        let largest = chord.iter().copied().fold(0.0, f64::max);
        let pieces =
            (0..mesh.triangles.len()).map(|t| (mesh.corners(t), of_face(t).unwrap_or(largest))).collect();
        Self {
            name: name.to_owned(),
            mesh,
            faces,
            chord,
            largest,
            tree: Arc::new(Bvh::new(boxes)),
            pieces: Arc::new(pieces),
            rough: None,
            outward: Arc::new(outward),
        }
    }

    /// With a rougher mesh of the same solid, which may have a rougher one still.
    #[must_use]
    pub fn with_rough(self, rough: Self) -> Self {
        Self { rough: Some(Arc::new(rough)), ..self }
    }
    /// The mesh of a level; where there are fewer meshes than levels the nearest there is.
    pub(super) fn at_level(&self, level: Level) -> &Self {
        match level {
            Level::Fine => self,
            Level::Medium => self.rough.as_deref().unwrap_or(self),
            Level::Rough => {
                let medium = self.rough.as_deref().unwrap_or(self);
                medium.rough.as_deref().unwrap_or(medium)
            }
        }
    }

    /// Corners of a triangle.
    pub(super) fn triangle(&self, t: u32) -> &Triangle {
        &self.pieces[t as usize].0
    }
    /// The face a triangle lies on.
    pub(super) fn face_of(&self, t: u32) -> u32 {
        self.mesh.face.get(t as usize).copied().unwrap_or(0)
    }
    /// How far a triangle may lie from its surface, mm.
    pub(super) fn chord_of(&self, t: u32) -> f64 {
        self.pieces[t as usize].1
    }
    /// A triangle's outward unit vector; zero for a flat one.
    pub(super) fn normal_of(&self, t: u32) -> Vector3<f64> {
        self.outward.get(t as usize).map_or_else(Vector3::zeros, |o| o[0])
    }
    /// Name of a face with the body's own in front.
    #[must_use]
    pub fn face_name(&self, face: u32) -> String {
        let f = self.faces.get(face as usize).map_or("", String::as_str);
        let own = f.strip_prefix(self.name.as_str()).is_some_and(|r| r.is_empty() || r.starts_with('.'));
        if self.name.is_empty() || own { f.to_owned() } else { format!("{}.{f}", self.name) }
    }
    /// How deep a point lies inside the mesh, mm; negative outside. In the body's frame.
    #[must_use]
    pub fn depth(&self, p: &Point3<f64>) -> f64 {
        self.inward(p).0
    }
    /// The depth of a point and the unit vector along which it grows, in the body's frame.
    pub(super) fn inward(&self, p: &Point3<f64>) -> (f64, Vector3<f64>) {
        let near = |t: u32| (on_triangle(p, self.triangle(t)).0 - p).norm_squared();
        let Some((t, d2)) = self.tree.nearest(p, f64::INFINITY, near) else {
            return (f64::NEG_INFINITY, Vector3::zeros());
        };
        let (q, part) = on_triangle(p, self.triangle(t));
        let which = match part {
            Part::Inside => 0,
            Part::Edge(e) => 1 + e,
            Part::Corner(c) => 4 + c,
        };
        let n = self.outward.get(t as usize).map_or_else(Vector3::zeros, |o| o[which]);
        let d = d2.sqrt() - ROUNDING;
        let away = if d > 10.0 * ROUNDING { triangle::unit(&(p - q)) } else { -triangle::unit(&n) };
        if n.dot(&(p - q)) < 0.0 { (d, away) } else { (-d, -away) }
    }
    /// How deep a point certainly lies inside the solid itself, mm; negative where that is not proved. In the body's frame.
    #[must_use]
    pub fn certain_depth(&self, p: &Point3<f64>) -> f64 {
        let d = self.depth(p);
        if d <= 0.0 { d - self.largest } else { self.room_around(&[*p, *p, *p], d) }
    }
    /// How deep every point of a stretch certainly lies inside the solid, mm; zero or less where that is not proved. In the body's
    /// frame.
    #[must_use]
    pub(super) fn certain_depth_along(&self, a: &Point3<f64>, b: &Point3<f64>) -> f64 {
        let start = self.certain_depth(a);
        // A stretch that begins inside and keeps a distance from every triangle stays inside.
        if start <= 0.0 { start } else { self.room_around(&[*a, *b, *b], start + self.largest) }
    }
    /// Least over all triangles of their distance from points inside less what they may lie off their faces; at most `within`.
    fn room_around(&self, points: &Triangle, within: f64) -> f64 {
        let around = Aabb::around(points);
        let mut least = within;
        let mut stack = vec![0_u32];
        while let Some(n) = stack.pop() {
            let Some(node) = self.tree.nodes.get(n as usize) else { continue };
            let reach = (least + self.largest + ROUNDING).max(0.0);
            if node.bounds.distance2(&around) > reach * reach {
                continue;
            }
            match node.content {
                Content::Inner(l, r) => stack.extend([l, r]),
                Content::Leaf(f, t) => {
                    for &i in &self.tree.items[f as usize..t as usize] {
                        if self.tree.bounds_of(i).distance2(&around) <= reach * reach {
                            let d = triangle::nearest(self.triangle(i), points).0;
                            least = least.min(d - self.chord_of(i) - ROUNDING);
                        }
                    }
                }
            }
            if least <= 0.0 {
                return least;
            }
        }
        least
    }
}

/// Outward directions of all triangles: inside, edges, corners.
fn outward(mesh: &TriMesh) -> Vec<[Vector3<f64>; 7]> {
    let mut corners: BTreeMap<u32, Vector3<f64>> = BTreeMap::new();
    let mut edges: BTreeMap<(u32, u32), Vector3<f64>> = BTreeMap::new();
    let normals: Vec<Vector3<f64>> = (0..mesh.triangles.len())
        .map(|t| {
            let c = mesh.corners(t);
            triangle::unit(&(c[1] - c[0]).cross(&(c[2] - c[0])))
        })
        .collect();
    let key = |a: u32, b: u32| (a.min(b), a.max(b));
    for (i, (t, n)) in mesh.triangles.iter().zip(&normals).enumerate() {
        let c = mesh.corners(i);
        for k in 0..3 {
            let (u, v) = (c[(k + 1) % 3] - c[k], c[(k + 2) % 3] - c[k]);
            let angle = libm::atan2(u.cross(&v).norm(), u.dot(&v));
            *corners.entry(t[k]).or_insert_with(Vector3::zeros) += n * angle;
            *edges.entry(key(t[k], t[(k + 1) % 3])).or_insert_with(Vector3::zeros) += n;
        }
    }
    let corner = |v: u32| corners.get(&v).copied().unwrap_or_else(Vector3::zeros);
    let edge = |a, b| edges.get(&key(a, b)).copied().unwrap_or_else(Vector3::zeros);
    mesh.triangles
        .iter()
        .zip(&normals)
        .map(|(&[a, b, c], n)| [*n, edge(a, b), edge(b, c), edge(c, a), corner(a), corner(b), corner(c)])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solid::tree::{cylinder, prism, rounded_rectangle};
    use crate::solid::{Frame, Tree};
    use proptest::prelude::*;

    pub(crate) fn body(tree: &Tree, tolerance: f64) -> Body {
        let solid = Solid::build(tree).unwrap();
        Body::of("", &solid, |_| Tolerance::new(tolerance).unwrap()).unwrap()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        /// Closed form: a point in a box of 2 x 2 x 2 with a round hole of radius 0.5.
        #[test]
        fn depth_is_that_of_the_closed_form(x in -0.99..0.99_f64, y in -0.99..0.99_f64, z in 0.01..1.99_f64) {
            let side = ["a", "b", "c", "d"];
            let block = prism(Frame::at(Point3::origin()), rounded_rectangle([-1.0, 1.0], [-1.0, 1.0], 0.0, side), 2.0, ["e", "f"]);
            let hole = cylinder(Frame::at(Point3::new(0.0, 0.0, -1.0)), 0.5, 4.0, "h", ["i", "j"]);
            let b = body(&block.minus(vec![hole]), 1e-4);
            let r = libm::hypot(x, y);
            let walls = (1.0 - x.abs()).min(1.0 - y.abs()).min(z).min(2.0 - z);
            let want = if r > 0.5 { walls.min(r - 0.5) } else { -(0.5 - r) };
            // Nearest to the hole's rim where z matters too: only outside the hole is the form exact.
            let got = b.depth(&Point3::new(x, y, z));
            prop_assert!((got - want).abs() < 2e-4);
            prop_assert!(r > 0.5 || got <= 0.0);
        }
    }
}
