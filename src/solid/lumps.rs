//! Which shells bound which body: the outer ones by the sign of their volume, hollows by the body that encloses them.
//!
//! Both are read off the working mesh, whose shells are disjoint: a boolean made them.

use super::brep::{Lump, Solid};
use super::primitives::Tagged;
use nalgebra::{Point3, Vector3};

/// A shell of the working mesh.
struct Shell {
    faces: Vec<usize>,
    triangles: Vec<[Point3<f64>; 3]>,
    volume: f64,
    /// A point on it: the middle of its largest triangle.
    probe: Point3<f64>,
}

/// The bodies of a solid whose faces are the patches of a mesh, in the order of their first faces.
///
/// # Errors
/// The faces of a shell for which the mesh is too coarse to tell, and why.
pub fn of(solid: &Solid, m: &Tagged, patch_of: &[usize]) -> Result<Vec<Lump>, (Vec<usize>, String)> {
    let list = solid.shell_list();
    if let [_] = list.as_slice() {
        return Ok(vec![Lump { outer: list.concat(), voids: Vec::new() }]);
    }
    let mut shell_of = vec![0; solid.faces.len()];
    for (s, faces) in list.iter().enumerate() {
        faces.iter().for_each(|&f| shell_of[f] = s);
    }
    let mut shells: Vec<Shell> = list
        .into_iter()
        .map(|faces| Shell { faces, triangles: Vec::new(), volume: 0.0, probe: Point3::origin() })
        .collect();
    for (t, &patch) in m.triangles.iter().zip(patch_of) {
        shells[shell_of[patch]].triangles.push(t.map(|v| m.positions[v as usize]));
    }
    for s in &mut shells {
        let base = s.triangles.first().map_or_else(Point3::origin, |t| t[0]);
        let mut largest = -1.0;
        for t in &s.triangles {
            let [a, b, c] = t.map(|p| p - base);
            s.volume += a.dot(&b.cross(&c)) / 6.0;
            let area = (b - a).cross(&(c - a)).norm();
            if area > largest {
                largest = area;
                s.probe = base + (a + b + c) / 3.0;
            }
        }
    }
    let outer: Vec<usize> = (0..shells.len()).filter(|&i| shells[i].volume > 0.0).collect();
    let mut lumps: Vec<Lump> =
        outer.iter().map(|&i| Lump { outer: shells[i].faces.clone(), voids: Vec::new() }).collect();
    for hollow in shells.iter().filter(|s| s.volume <= 0.0) {
        // The innermost body around it: of those that enclose it the least.
        let around = (0..outer.len())
            .filter(|&k| encloses(&shells[outer[k]].triangles, &hollow.probe))
            .min_by(|&a, &b| shells[outer[a]].volume.total_cmp(&shells[outer[b]].volume));
        match around {
            Some(k) => lumps[k].voids.push(hollow.faces.clone()),
            None => return Err((hollow.faces.clone(), "a hollow outside every body".into())),
        }
    }
    Ok(lumps)
}

/// Whether a closed shell winds round a point: the sum of the solid angles of its triangles, 4 pi inside and 0 outside (van
/// Oosterom and Strackee, "The solid angle of a plane triangle", IEEE Trans. Biomed. Eng. 30, 1983).
fn encloses(triangles: &[[Point3<f64>; 3]], p: &Point3<f64>) -> bool {
    let angle: f64 = triangles
        .iter()
        .map(|t| {
            let [a, b, c]: [Vector3<f64>; 3] = t.map(|q| q - p);
            let (x, y, z) = (a.norm(), b.norm(), c.norm());
            let below = x * y * z + a.dot(&b) * z + b.dot(&c) * x + c.dot(&a) * y;
            2.0 * libm::atan2(a.dot(&b.cross(&c)), below)
        })
        .sum();
    angle > std::f64::consts::TAU
}
