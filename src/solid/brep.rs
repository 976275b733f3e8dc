//! The exact solid as plain data: vertices, edge curves, faces with a surface and a name.

use super::curve::Curve;
use super::surface::{Cone, Plane, Surface};
use super::torus::Torus;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeSet;
use std::f64::consts::TAU;

/// A closed solid in mm.
///
/// Contract: every edge is used exactly twice, once in each direction; every edge curve lies within 1e-7 mm of both its
/// surfaces and ends exactly at its vertices; loops run counter-clockwise seen from outside around the material (the outer
/// loop first); no face covers a full turn of its cone, and its [`Face::seam`] lies where the face is not.
#[derive(Clone, Debug)]
pub struct Solid {
    /// Corner points.
    pub vertices: Vec<Point3<f64>>,
    /// Edges.
    pub edges: Vec<Edge>,
    /// Faces.
    pub faces: Vec<Face>,
    /// The bodies, each with its shells. Empty in a solid put together by hand, which is one body of one shell.
    pub lumps: Vec<Lump>,
}

/// One body: what hangs together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lump {
    /// Indices of the faces towards the outside.
    pub outer: Vec<usize>,
    /// Indices of the faces of each closed hollow; they too point out of the material.
    pub voids: Vec<Vec<usize>>,
}

/// A bounded curve between two vertices.
#[derive(Clone, Debug)]
pub struct Edge {
    /// Indices of the start and end vertex; never the same.
    pub ends: [usize; 2],
    /// From the first to the second.
    pub curve: Curve,
    /// Face on the left (which uses the edge forwards) and on the right.
    pub faces: [usize; 2],
}

/// Use of an edge by a loop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EdgeUse {
    /// Index of the edge.
    pub edge: usize,
    /// Whether the loop runs along the edge's own direction.
    pub forward: bool,
}

/// A trimmed piece of one surface.
#[derive(Clone, Debug)]
pub struct Face {
    /// Stable name such as `bore.left.roof`; a number is added where one feature has several pieces.
    pub name: String,
    /// Where it lies.
    pub surface: Surface,
    /// Whether the surface's own gradient points out of the material.
    pub outward: bool,
    /// Angle round the axis of a cone or torus where the face is not; 0 for a plane or sphere.
    pub seam: f64,
    /// Boundary loops, outer first.
    pub loops: Vec<Vec<EdgeUse>>,
}

impl Face {
    /// Unit normal out of the material at a point of the face.
    #[must_use]
    pub fn normal(&self, p: &Point3<f64>) -> Vector3<f64> {
        let n = self.surface.signed_distance(p).1;
        if self.outward { n } else { -n }
    }
    /// Coordinates on the surface. On a plane: along [`Plane::axes`], mm. On a cone: angle past the seam in 0..2 pi,
    /// height in mm. On a torus or sphere: see [`Torus::coordinates`]. Seen from outside they are right-handed if [`Face::outward`] is set, else left-handed.
    #[must_use]
    pub fn coordinates(&self, p: &Point3<f64>) -> [f64; 2] {
        match &self.surface {
            Surface::Plane(s) => {
                let (u, v) = s.axes();
                [u.dot(&p.coords), v.dot(&p.coords)]
            }
            Surface::Cone(s) => {
                let (a, h) = s.angle_height(p);
                [(a - self.seam).rem_euclid(TAU), h]
            }
            Surface::Torus(s) => s.coordinates(p, self.seam),
        }
    }
    /// The point at [`Face::coordinates`].
    #[must_use]
    pub fn at(&self, c: [f64; 2]) -> Point3<f64> {
        match &self.surface {
            Surface::Plane(s) => {
                let (u, v) = s.axes();
                Point3::from(s.normal * s.offset + u * c[0] + v * c[1])
            }
            Surface::Cone(s) => s.at(c[0] + self.seam, c[1]),
            Surface::Torus(s) => s.from_coordinates(c, self.seam),
        }
    }
    /// Its cone, if it lies on one.
    #[must_use]
    pub fn cone(&self) -> Option<&Cone> {
        if let Surface::Cone(c) = &self.surface { Some(c) } else { None }
    }
    /// Its torus or sphere, if it lies on one.
    #[must_use]
    pub fn torus(&self) -> Option<&Torus> {
        if let Surface::Torus(c) = &self.surface { Some(c) } else { None }
    }
    /// Its plane, if it lies on one.
    #[must_use]
    pub fn plane(&self) -> Option<&Plane> {
        if let Surface::Plane(c) = &self.surface { Some(c) } else { None }
    }
}

impl Solid {
    /// Point where an edge use starts.
    #[must_use]
    pub fn start_of(&self, u: EdgeUse) -> usize {
        self.edges[u.edge].ends[usize::from(!u.forward)]
    }
    /// Indices of all faces of a name, or of its numbered pieces (`name` and `name.2`, `name.3`, ...).
    #[must_use]
    pub fn faces_named(&self, name: &str) -> Vec<usize> {
        let piece = |n: &str| {
            n == name
                || n.strip_prefix(name)
                    .and_then(|r| r.strip_prefix('.'))
                    .is_some_and(|r| !r.is_empty() && r.bytes().all(|b| b.is_ascii_digit()))
        };
        (0..self.faces.len()).filter(|&i| piece(&self.faces[i].name)).collect()
    }
    /// The bodies of the solid; see [`Solid::lumps`].
    #[must_use]
    pub fn bodies(&self) -> Vec<Lump> {
        if self.lumps.is_empty() {
            vec![Lump { outer: (0..self.faces.len()).collect(), voids: Vec::new() }]
        } else {
            self.lumps.clone()
        }
    }
    /// Number of handles of all shells together, from Euler and Poincare: V - E + F - (L - F) = 2 (S - G).
    #[must_use]
    pub fn genus(&self) -> i64 {
        self.shell_list().iter().map(|s| self.genus_of(s)).sum()
    }
    /// Number of handles of one shell, given by its faces.
    #[must_use]
    #[allow(clippy::cast_possible_wrap)]
    pub fn genus_of(&self, shell: &[usize]) -> i64 {
        let mut vertices = BTreeSet::new();
        let (mut uses, mut loops) = (0, 0);
        for f in shell.iter().filter_map(|&f| self.faces.get(f)) {
            loops += f.loops.len() as i64;
            for &u in f.loops.iter().flatten() {
                uses += 1;
                vertices.insert(self.start_of(u));
            }
        }
        let faces = shell.len() as i64;
        1 - (vertices.len() as i64 - uses / 2 + faces - (loops - faces)) / 2
    }
}
