//! Triangle meshes with a proven chord bound, and the gate every exported mesh must pass.

use nalgebra::Point3;

/// Triangles over shared vertices, counter-clockwise seen from outside, mm.
#[derive(Clone, Debug, Default)]
pub struct TriMesh {
    /// Vertices.
    pub positions: Vec<Point3<f64>>,
    /// Corners of each triangle.
    pub triangles: Vec<[u32; 3]>,
    /// Per triangle: index of the solid's face it lies on.
    pub face: Vec<u32>,
}
