//! Rigid motion of a finished solid: the recipe is evaluated where it is simple, the result goes where it belongs.

use super::brep::{Edge, Face, Solid};
use super::curve::{Arc, ConicPiece, Curve};
use super::frame::Frame;
use super::surface::{Cone, Plane, Surface};
use super::torus::Torus;
use nalgebra::Point3;

impl Solid {
    /// The solid moved rigidly; `to` is the image of the world's frame. Names, topology and shape stay.
    #[must_use]
    pub fn moved(&self, to: &Frame) -> Self {
        let point = |p: &Point3<f64>| to.point(p.x, p.y, p.z);
        let curve = |c: &Curve| match c {
            Curve::Line(a, b) => Curve::Line(point(a), point(b)),
            Curve::Arc(a) => Curve::Arc(Arc {
                centre: point(&a.centre),
                x: to.vector(&a.x),
                y: to.vector(&a.y),
                sweep: a.sweep,
            }),
            Curve::Conic(p) => Curve::Conic(
                p.iter()
                    .map(|q| ConicPiece { points: q.points.map(|p| point(&p)), weight: q.weight })
                    .collect(),
            ),
            Curve::Spline(p) => Curve::Spline(p.iter().map(|q| q.map(|p| point(&p))).collect()),
        };
        let surface = |s: &Surface| match s {
            Surface::Plane(p) => {
                let normal = to.vector(&p.normal);
                Surface::Plane(Plane { normal, offset: p.offset + normal.dot(&to.origin.coords) })
            }
            Surface::Cone(c) => Surface::Cone(Cone {
                origin: point(&c.origin),
                axis: to.vector(&c.axis),
                reference: to.vector(&c.reference),
                ..*c
            }),
            Surface::Torus(t) => Surface::Torus(Torus {
                centre: point(&t.centre),
                axis: to.vector(&t.axis),
                reference: to.vector(&t.reference),
                ..*t
            }),
        };
        Self {
            vertices: self.vertices.iter().map(point).collect(),
            edges: self.edges.iter().map(|e| Edge { curve: curve(&e.curve), ..e.clone() }).collect(),
            faces: self.faces.iter().map(|f| Face { surface: surface(&f.surface), ..f.clone() }).collect(),
            lumps: self.lumps.clone(),
        }
    }
}
