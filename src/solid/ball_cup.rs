//! A cup cut by a ball: a cone between two circles of a built solid becomes the sphere through both.
//!
//! A recipe knows planes, cylinders, cones and leaning corners. Where a ball bur is sunk along the axis of a bore, its cup has the two
//! circles of a cone, and between them nothing else: so the cone is cut and its faces are then bent out to the sphere. The cup
//! grows by what lies between cone and sphere; that this is whole metal is the caller's to know, and the gate of the mesh finds
//! every face that lies in the way.

use super::brep::Solid;
use super::curve::{Arc, Curve};
use super::error::BuildError;
use super::path::refused;
use super::surface::Surface;
use super::torus::Torus;
use nalgebra::Point3;

/// A circle of the cone farther than this from the sphere, mm, is not one of the sphere's: circles of a built solid are exact to 1e-9.
const OFF: f64 = 1e-8;

impl Solid {
    /// The faces of a name, parts of one cone, as parts of the sphere about `centre`, hollow.
    ///
    /// # Errors
    /// [`BuildError::Primitive`]: no such face, an edge that is neither a circle about the axis nor a ruling, or one that is not on
    /// the sphere; [`BuildError::Unsound`] where the result breaks the contract of a solid.
    pub fn with_ball_cup(
        mut self,
        name: &str,
        centre: &Point3<f64>,
        radius: f64,
    ) -> Result<Self, BuildError> {
        let faces = self.faces_named(name);
        if faces.is_empty() {
            return Err(refused(name, "there is no such face to be made a cup".into()));
        }
        for &f in &faces {
            let inside: Vec<usize> = self.faces[f].loops.iter().flatten().map(|u| u.edge).collect();
            for e in inside {
                let edge = &mut self.edges[e];
                if let Curve::Line(a, b) = edge.curve {
                    edge.curve = meridian(name, centre, [a, b], radius)?;
                }
                let ends = [0.0, 0.5, 1.0].map(|t| edge.curve.point(t * edge.curve.end_parameter()));
                if let Some(p) = ends.iter().find(|p| ((*p - centre).norm() - radius).abs() > OFF) {
                    let off = (p - centre).norm() - radius;
                    return Err(refused(name, format!("its edge is {off:.1e} mm off the ball")));
                }
            }
            let half = self.middle(f);
            let face = &mut self.faces[f];
            let out = half - centre;
            if out.norm() < OFF {
                return Err(refused(name, "a face that goes all the way round is no cup".into()));
            }
            face.surface = Surface::Torus(Torus::sphere(*centre, &out, radius));
            face.outward = false;
            face.seam = 0.0;
        }
        self.check().map_err(BuildError::Unsound)?;
        Ok(self)
    }
}

/// The shorter arc between two points of the sphere in a plane through its centre.
fn meridian(
    name: &str,
    centre: &Point3<f64>,
    [a, b]: [Point3<f64>; 2],
    radius: f64,
) -> Result<Curve, BuildError> {
    let (u, v) = (a - centre, b - centre);
    let y = (v - u * (u.dot(&v) / u.norm_squared())).try_normalize(1e-9);
    let y = y.ok_or_else(|| refused(name, "its ruling has no length".into()))?;
    let sweep = libm::atan2(v.dot(&y), v.dot(&u.normalize()));
    Ok(Curve::Arc(Arc { centre: *centre, x: u, y: y * radius, sweep }))
}
