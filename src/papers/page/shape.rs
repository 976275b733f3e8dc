//! A mesh as the scripts of the page take it.

use crate::mesh::TriMesh;
use crate::papers::picture::feature_edges;
use crate::solid::Solid;
use crate::units::Tolerance;
use serde::Serialize;

/// The mesh, each list as base64 of little-endian numbers.
#[derive(Debug, Serialize)]
pub(super) struct Shape {
    /// f32, three a vertex.
    positions: String,
    /// u32, three a triangle.
    triangles: String,
    /// i8, three a corner of a triangle: the normal of the exact face there, 127 for 1.
    normals: String,
    /// u16, one a triangle: place of its face in `names`.
    face: String,
    /// Names of the faces.
    names: Vec<String>,
    /// f32, six a piece of an edge.
    edges: String,
    /// One a face: see [`super::apart`].
    level: Vec<Option<(usize, f64)>>,
}

/// Lines this exact are finer than a screen shows, mm.
const FINE: f64 = 0.002;

impl Shape {
    /// Of a solid and its mesh.
    #[allow(clippy::cast_possible_truncation)]
    pub(super) fn of(solid: &Solid, mesh: &TriMesh) -> Shape {
        let floats = |v: &mut dyn Iterator<Item = f64>| {
            base64(&v.flat_map(|x| (x as f32).to_le_bytes()).collect::<Vec<u8>>())
        };
        let mut normals = Vec::with_capacity(mesh.triangles.len() * 9);
        for (t, f) in mesh.triangles.iter().zip(&mesh.face) {
            for v in t {
                let p = &mesh.positions[*v as usize];
                let n = solid.faces.get(*f as usize).map(|face| face.normal(p)).unwrap_or_default();
                normals.extend(n.iter().map(|c| ((c * 127.0).round() as i8).to_le_bytes()[0]));
            }
        }
        let edges: Vec<f64> = Tolerance::new(FINE).map_or_else(Vec::new, |fine| {
            let lines = feature_edges(solid, fine);
            lines.iter().flat_map(|l| l.windows(2)).flatten().flat_map(|p| [p.x, p.y, p.z]).collect()
        });
        let face: Vec<u8> =
            mesh.face.iter().flat_map(|f| u16::try_from(*f).unwrap_or(u16::MAX).to_le_bytes()).collect();
        Self {
            positions: floats(&mut mesh.positions.iter().flat_map(|p| [p.x, p.y, p.z])),
            triangles: base64(
                &mesh.triangles.iter().flatten().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>(),
            ),
            normals: base64(&normals),
            face: base64(&face),
            names: solid.faces.iter().map(|f| f.name.clone()).collect(),
            edges: floats(&mut edges.into_iter()),
            level: super::apart::apart(solid),
        }
    }
}

/// Base64 of RFC 4648, section 4.
pub(super) fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for c in bytes.chunks(3) {
        let n = c.iter().enumerate().fold(0_u32, |n, (i, b)| n | u32::from(*b) << (16 - 8 * i));
        for i in 0..4 {
            let letter = LETTERS[(n >> (18 - 6 * i) & 63) as usize];
            out.push(if i <= c.len() { char::from(letter) } else { '=' });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_is_that_of_the_standard() {
        // Test vectors of RFC 4648, section 10.
        for (text, code) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(text.as_bytes()), code);
        }
    }
}
