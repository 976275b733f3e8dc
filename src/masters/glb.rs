//! GLB (glTF 2.0 binary, Khronos Group): for viewers. Metres, y up, as the format asks: x stays, y is our z, z is our -y.

use super::scene::Scene;
use crate::mesh::TriMesh;
use crate::solid::Frame;
use nalgebra::{Point3, Vector3};
use serde_json::{Value, json};

const METRE: f64 = 0.001;

/// The bytes of a GLB file, flat shaded: each facet has its own corners.
#[must_use]
#[allow(clippy::cast_possible_truncation)]
pub fn to_bytes(scene: &Scene<'_>) -> Vec<u8> {
    let mut data: Vec<u8> = Vec::new();
    let (mut views, mut accessors, mut meshes, mut materials) = (vec![], vec![], vec![], vec![]);
    for object in &scene.objects {
        let (positions, normals) = facets(object.mesh);
        let first = accessors.len();
        for (values, bounds) in [(&positions, true), (&normals, false)] {
            views.push(json!({"buffer": 0, "byteOffset": data.len(), "byteLength": values.len() * 12, "target": 34962}));
            let mut accessor = json!({
                "bufferView": views.len() - 1, "componentType": 5126, "count": values.len(), "type": "VEC3"
            });
            if bounds {
                let side = |pick: fn(f32, f32) -> f32, from: f32| {
                    let all = |k: usize| values.iter().map(|v| v[k]).fold(from, pick);
                    [all(0), all(1), all(2)].map(f64::from)
                };
                accessor["min"] = json!(side(f32::min, f32::INFINITY));
                accessor["max"] = json!(side(f32::max, f32::NEG_INFINITY));
            }
            accessors.push(accessor);
            values.iter().flatten().for_each(|c| data.extend_from_slice(&c.to_le_bytes()));
        }
        let [r, g, b] = object.colour.map(|c| {
            // sRGB to linear, IEC 61966-2-1.
            let c = f64::from(c) / 255.0;
            let linear = if c <= 0.040_45 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) };
            (linear * 1e4).round() / 1e4
        });
        materials.push(json!({"name": object.material, "pbrMetallicRoughness": {
            "baseColorFactor": [r, g, b, 1.0], "metallicFactor": 0.2, "roughnessFactor": 0.6
        }}));
        meshes.push(json!({"name": object.name, "primitives": [{
            "attributes": {"POSITION": first, "NORMAL": first + 1}, "material": materials.len() - 1, "mode": 4
        }]}));
    }
    let nodes: Vec<Value> = scene
        .items
        .iter()
        .map(|i| {
            let f = &i.frame;
            let turn = |v: &Vector3<f64>| [v.x, v.z, -v.y];
            // Columns of the turned frame: images of glTF's x, y, z.
            let (x, y, z) = (turn(&f.x), turn(&f.z), turn(&-f.y));
            let o = turn(&(f.origin.coords * METRE));
            let matrix = [
                [x[0], x[1], x[2], 0.0],
                [y[0], y[1], y[2], 0.0],
                [z[0], z[1], z[2], 0.0],
                [o[0], o[1], o[2], 1.0],
            ];
            let matrix: Vec<f64> = matrix.iter().flatten().map(|c| c + 0.0).collect();
            let mut node = json!({"name": i.name, "mesh": i.object});
            // The format wants no matrix where nothing is moved.
            if i.frame != Frame::at(Point3::origin()) {
                node["matrix"] = json!(matrix);
            }
            node
        })
        .collect();
    let all: Vec<usize> = (0..nodes.len()).collect();
    let json = json!({
        "asset": {"version": "2.0", "generator": format!("colletline {}", env!("CARGO_PKG_VERSION"))},
        "scene": 0, "scenes": [{"nodes": all}], "nodes": nodes, "meshes": meshes, "materials": materials,
        "accessors": accessors, "bufferViews": views, "buffers": [{"byteLength": data.len()}]
    });
    let mut text = json.to_string().into_bytes();
    while !text.len().is_multiple_of(4) {
        text.push(b' ');
    }
    let length = 12 + 8 + text.len() + 8 + data.len();
    let mut out = Vec::with_capacity(length);
    let word = |out: &mut Vec<u8>, x: usize| out.extend_from_slice(&(x as u32).to_le_bytes());
    out.extend_from_slice(b"glTF");
    word(&mut out, 2);
    word(&mut out, length);
    word(&mut out, text.len());
    out.extend_from_slice(b"JSON");
    out.extend_from_slice(&text);
    word(&mut out, data.len());
    out.extend_from_slice(b"BIN\0");
    out.extend_from_slice(&data);
    out
}

/// Corners in metres and the unit normal of each facet; facets without area are left out.
#[allow(clippy::cast_possible_truncation)]
fn facets(mesh: &TriMesh) -> (Vec<[f32; 3]>, Vec<[f32; 3]>) {
    let (mut positions, mut normals) = (Vec::new(), Vec::new());
    let turned = |p: &Point3<f64>| [p.x, p.z, -p.y].map(|c| (c * METRE) as f32 + 0.0);
    for t in 0..mesh.triangles.len() {
        let p = mesh.corners(t);
        let n = (p[1] - p[0]).cross(&(p[2] - p[0]));
        let l = n.norm();
        if l <= 0.0 {
            continue;
        }
        let n = n / l;
        for q in &p {
            positions.push(turned(q));
            normals.push([n.x, n.z, -n.y].map(|c| c as f32 + 0.0));
        }
    }
    (positions, normals)
}
