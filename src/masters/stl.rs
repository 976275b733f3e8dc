//! Binary STL: what a printer takes. Single precision, millimetres.
//!
//! Layout (3D Systems, "StereoLithography Interface Specification", 1988): 80 bytes of free text, the number of triangles
//! as a 32-bit number, then for each triangle its normal, its three corners (12 floats) and 16 unused bits; all
//! little-endian.

use crate::mesh::TriMesh;
use nalgebra::{Point3, Vector3};
use std::io::Cursor;
use thiserror::Error;

/// Bytes before the first triangle.
const HEAD: usize = 84;
/// Bytes per triangle.
const FACET: usize = 50;
/// The unit is not part of the format, so the free text names it; it must not begin with `solid`, which announces text
/// form.
const TITLE: &str = "colletline; unit: millimetre; z up";

/// Why an STL could not be written, or why what was written is not what was meant.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum StlError {
    /// Nothing to write.
    #[error("the mesh has no triangles")]
    Empty,
    /// More triangles than the format can count.
    #[error("{0} triangles are more than STL can count")]
    TooMany(usize),
    /// A coordinate that is not single precision; round the mesh first.
    #[error("triangle {0} is not in single precision")]
    NotRounded(usize),
    /// The bytes are not those of this mesh.
    #[error("read back, the STL is not the mesh that was meant: {0}")]
    ReadBack(String),
}

#[allow(clippy::cast_possible_truncation)]
fn single(p: &Point3<f64>) -> Option<[f32; 3]> {
    // Adding zero turns -0 into 0.
    let q = [p.x, p.y, p.z].map(|c| c as f32 + 0.0);
    let exact = q.iter().zip(p.coords.iter()).all(|(&a, &b)| a.is_finite() && f64::from(a) == b);
    exact.then_some(q)
}

/// Unit normal of a facet in single precision; zero if it has no area, as the format allows.
#[allow(clippy::cast_possible_truncation)]
fn normal(p: &[Point3<f64>; 3]) -> [f32; 3] {
    let n = (p[1] - p[0]).cross(&(p[2] - p[0]));
    let l = n.norm();
    let n = if l > 0.0 { n / l } else { Vector3::zeros() };
    [n.x, n.y, n.z].map(|c| c as f32 + 0.0)
}

/// The bytes of a mesh already rounded to single precision ([`crate::mesh::rounded`]). Same mesh, same bytes.
///
/// # Errors
/// See [`StlError`].
pub fn to_bytes(mesh: &TriMesh) -> Result<Vec<u8>, StlError> {
    let n = mesh.triangles.len();
    if n == 0 {
        return Err(StlError::Empty);
    }
    let count = u32::try_from(n).map_err(|_| StlError::TooMany(n))?;
    let mut out = Vec::with_capacity(HEAD + FACET * n);
    out.extend_from_slice(TITLE.as_bytes());
    out.resize(HEAD - 4, b' ');
    out.extend_from_slice(&count.to_le_bytes());
    for t in 0..n {
        let p = mesh.corners(t);
        let mut floats = vec![normal(&p)];
        for q in &p {
            floats.push(single(q).ok_or(StlError::NotRounded(t))?);
        }
        floats.iter().flatten().for_each(|f| out.extend_from_slice(&f.to_le_bytes()));
        out.extend_from_slice(&[0, 0]);
    }
    Ok(out)
}

/// Reads bytes back with an independent reader (`stl_io`) and compares them with the mesh, triangle by triangle: size,
/// corners to the bit, normals to single precision, and as many distinct corners as the mesh has vertices.
///
/// # Errors
/// [`StlError::ReadBack`] with the first difference.
pub fn read_back(bytes: &[u8], mesh: &TriMesh) -> Result<(), StlError> {
    let differs = |what: String| Err(StlError::ReadBack(what));
    let n = mesh.triangles.len();
    if bytes.len() != HEAD + FACET * n {
        return differs(format!("{} bytes instead of {}", bytes.len(), HEAD + FACET * n));
    }
    let read = stl_io::read_stl(&mut Cursor::new(bytes)).map_err(|e| StlError::ReadBack(e.to_string()))?;
    if read.faces.len() != n {
        return differs(format!("{} triangles instead of {n}", read.faces.len()));
    }
    if read.vertices.len() != mesh.positions.len() {
        return differs(format!("{} corners instead of {}", read.vertices.len(), mesh.positions.len()));
    }
    for (t, face) in read.faces.iter().enumerate() {
        let p = mesh.corners(t);
        for (q, &v) in p.iter().zip(&face.vertices) {
            if single(q) != read.vertices.get(v).map(|v| v.0) {
                return differs(format!("a corner of triangle {t}"));
            }
        }
        if face.normal.0 != normal(&p) {
            return differs(format!("the normal of triangle {t}"));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::checked;
    use crate::mesh::test_solids::{askew, collet};
    use crate::units::Tolerance;

    fn mesh() -> TriMesh {
        checked(&collet(&askew()), Tolerance::new(0.01).unwrap()).unwrap().mesh.mesh
    }

    #[test]
    fn bytes_have_the_published_layout_and_read_back() {
        let m = mesh();
        let b = to_bytes(&m).unwrap();
        assert_eq!(b.len(), 84 + 50 * m.triangles.len());
        assert!(!b.starts_with(b"solid") && b[..80].is_ascii());
        assert!(String::from_utf8_lossy(&b[..80]).contains("millimetre"));
        assert_eq!(b[80..84], (m.triangles.len() as u32).to_le_bytes());
        read_back(&b, &m).unwrap();
        assert_eq!(b, to_bytes(&mesh()).unwrap());
    }

    #[test]
    fn any_changed_bit_of_a_triangle_is_seen() {
        let m = mesh();
        let good = to_bytes(&m).unwrap();
        for at in (80..good.len()).step_by(37) {
            // The two unused bytes of a triangle mean nothing.
            if at >= 84 && (at - 84) % 50 >= 48 {
                continue;
            }
            let mut b = good.clone();
            b[at] ^= 1;
            assert!(read_back(&b, &m).is_err(), "byte {at}");
        }
        assert!(read_back(&good[..good.len() - 1], &m).is_err());
    }

    #[test]
    fn what_stl_cannot_hold_is_refused() {
        assert_eq!(to_bytes(&TriMesh::default()), Err(StlError::Empty));
        let mut m = mesh();
        m.positions[0].x += 1e-12;
        assert!(matches!(to_bytes(&m), Err(StlError::NotRounded(_))));
    }
}
