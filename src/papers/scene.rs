//! A picture's scene from parts and where they stand: the line straight or on a wrist, the clasp shut, half open, open.
//!
//! [`PartLook`] is a part as a picture shows it; [`scene`] puts one body into the scene for each [`Piece`] of its name. The
//! pieces come from [`crate::parts::line::pieces`].

use super::picture::{Body, Material, Scene, feature_edges};
use crate::mesh::{MeshError, TriMesh, tessellate};
use crate::parts::line::Piece;
use crate::solid::{Frame, Solid};
use crate::units::Tolerance;
use nalgebra::{Isometry3, Point3, Rotation3, Translation3, UnitQuaternion};

/// A part as a picture shows it, in its own frame.
#[derive(Clone, Debug)]
pub struct PartLook {
    /// The name its pieces have: `link`, `stone`, `joint`, `clasp.leaf`.
    pub name: &'static str,
    /// Its mesh, mm.
    pub mesh: TriMesh,
    /// Its solid, where it has one: gives exact normals.
    pub solid: Option<Solid>,
    /// Lines drawn on it.
    pub edges: Vec<Vec<Point3<f64>>>,
    /// What it is made of.
    pub material: Material,
}

impl PartLook {
    /// From an exact solid, meshed within `tolerance`, its edges drawn.
    ///
    /// # Errors
    /// [`MeshError`] where the solid cannot be meshed.
    pub fn of(
        name: &'static str,
        solid: Solid,
        tolerance: Tolerance,
        material: Material,
    ) -> Result<Self, MeshError> {
        let mesh = tessellate(&solid, tolerance)?.mesh;
        let edges = feature_edges(&solid, tolerance);
        Ok(Self { name, mesh, solid: Some(solid), edges, material })
    }
}

/// The scene with every piece for which there is a part; pieces without one are left out, several parts of one name stand in
/// the same place.
#[must_use]
pub fn scene<'a>(parts: &'a [PartLook], pieces: &[Piece]) -> Scene<'a> {
    let placed = pieces.iter().flat_map(|piece| {
        parts.iter().filter(|p| p.name == piece.part).map(|p| {
            let body = Body::new(&p.mesh, p.solid.as_ref(), p.material).with_edges(p.edges.clone());
            body.at(isometry(&piece.frame))
        })
    });
    Scene { bodies: placed.collect() }
}

/// The rigid motion that carries a part's own frame to an image of it.
#[must_use]
pub fn isometry(f: &Frame) -> Isometry3<f64> {
    let turn = Rotation3::from_basis_unchecked(&[f.x, f.y, f.z]);
    Isometry3::from_parts(Translation3::from(f.origin.coords), UnitQuaternion::from_rotation_matrix(&turn))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::read;
    use crate::parts::line::{Pose, pieces};
    use crate::parts::stone;
    use crate::units::Deg;
    use nalgebra::Vector3;

    /// One body a stone, each where its piece stands; what has no part is left out.
    #[test]
    fn each_piece_has_its_body_where_it_stands() {
        let design = read(include_str!("../../params/line-4.0-platinum.jsonc")).unwrap();
        let fine = Tolerance::new(0.05).unwrap();
        let stone = stone::build(&design, 0.0).unwrap();
        let parts = [PartLook::of("stone", stone, fine, Material::Silver).unwrap()];
        for pose in [Pose::Straight, Pose::Wrist, Pose::Open(Deg(75.0))] {
            let all = pieces(&design, pose);
            let stones: Vec<&Piece> = all.iter().filter(|p| p.part == "stone").collect();
            let shown = scene(&parts, &all);
            assert_eq!(shown.bodies.len(), 42);
            for (body, piece) in shown.bodies.iter().zip(stones) {
                for p in [Point3::new(1.0, -0.5, 2.0), Point3::origin()] {
                    let want = piece.frame.point(p.x, p.y, p.z);
                    assert!((body.pose * p - want).norm() < 1e-9, "{pose:?}");
                }
                assert!((body.pose * Vector3::y() - Vector3::y()).norm() < 1e-12);
            }
        }
    }
}
