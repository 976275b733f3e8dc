//! Triangle meshes with a proven chord bound, and the gate every exported mesh must pass.
//!
//! [`tessellate`] meshes the exact solid itself, so the mesh has the solid's faces, edges and handles by construction;
//! [`gate`] checks that on the rounded coordinates that are written; [`checked`] does both and refines where the gate
//! objects. [`mass`] weighs meshes, [`exact`] the solid itself; [`witness`] meshes truck's solid a second way.

pub mod bvh;
mod contract;
pub mod crossing;
pub mod exact;
mod fill;
pub mod gate;
mod line_integral;
pub mod mass;
mod round;
mod rounds;
mod sample;
mod strips;
mod tessellate;
#[cfg(test)]
pub(crate) mod test_solids;
mod topology;
pub mod witness;

pub use gate::{Checked, GateError, GateReport, checked, gate};
pub use round::rounded;
pub use tessellate::{FaceMesh, MeshError, tessellate, tessellate_graded};

pub(crate) use gate::pinched;
pub(crate) use topology::{components, twins};

use nalgebra::Point3;

/// Triangles over shared vertices, counter-clockwise seen from outside, mm.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TriMesh {
    /// Vertices.
    pub positions: Vec<Point3<f64>>,
    /// Corners of each triangle.
    pub triangles: Vec<[u32; 3]>,
    /// Per triangle: index of the solid's face it lies on.
    pub face: Vec<u32>,
}

impl TriMesh {
    /// Corner points of a triangle of this mesh; the origin thrice for an index out of range.
    #[must_use]
    pub fn corners(&self, triangle: usize) -> [Point3<f64>; 3] {
        let t = self.triangles.get(triangle).copied().unwrap_or_default();
        t.map(|v| self.positions.get(v as usize).copied().unwrap_or_else(Point3::origin))
    }
}
