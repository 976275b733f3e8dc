//! Smooth patches of a mesh as faces, and its sharp edges.

use crate::mesh::{TriMesh, components, twins};
use crate::units::Deg;
use nalgebra::{Point3, Vector3};
use serde::Serialize;
use std::collections::BTreeMap;

/// Facets that turn by less than this belong to one patch, degrees: a circle of 18 sides is still one.
const SMOOTH: f64 = 20.0;
/// A patch whose normals all lie within this of their mean is flat, degrees.
const FLAT: f64 = 0.5;

/// A smooth patch.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// `flat 3` or `curved 4`: numbered by size, the largest first.
    pub name: String,
    /// mm2.
    pub area_mm2: f64,
}

/// Edges between two patches where the metal comes to a small angle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Edges {
    /// Names of the two patches.
    pub between: [String; 2],
    /// Smallest angle of the metal.
    pub angle_deg: f64,
    /// Length of all its pieces below the limit.
    pub length_mm: f64,
    /// Where it is sharpest, mm.
    pub at: [f64; 3],
}

fn normals(mesh: &TriMesh) -> Vec<Vector3<f64>> {
    let n = |t: usize| {
        let [a, b, c] = mesh.corners(t);
        (b - a).cross(&(c - a))
    };
    (0..mesh.triangles.len()).map(n).collect()
}

fn angle(a: &Vector3<f64>, b: &Vector3<f64>) -> f64 {
    libm::atan2(a.cross(b).norm(), a.dot(b)).to_degrees()
}

/// Divides a closed mesh into smooth patches: the patch of each triangle, and the patches.
#[must_use]
pub fn patches(mesh: &TriMesh) -> (Vec<u32>, Vec<Patch>) {
    let Ok(twin) = twins(&mesh.triangles) else { return (Vec::new(), Vec::new()) };
    let n = normals(mesh);
    let links = twin.iter().enumerate().filter_map(|(h, &g)| {
        let (t, r) = (h / 3, g as usize / 3);
        (angle(&n[t], &n[r]) < SMOOTH).then_some((t, r))
    });
    let (label, count) = components(mesh.triangles.len(), links);
    let mut sum = vec![Vector3::zeros(); count];
    let mut area = vec![0.0; count];
    for (t, &k) in label.iter().enumerate() {
        sum[k] += n[t];
        area[k] += n[t].norm() / 2.0;
    }
    let mut flat = vec![true; count];
    for (t, &k) in label.iter().enumerate() {
        flat[k] &= n[t].norm() == 0.0 || angle(&n[t], &sum[k]) < FLAT;
    }
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|&a, &b| area[b].total_cmp(&area[a]).then(a.cmp(&b)));
    let mut rank = vec![0_u32; count];
    let mut out = Vec::with_capacity(count);
    for (i, &k) in order.iter().enumerate() {
        #[allow(clippy::cast_possible_truncation)]
        let number = i as u32;
        rank[k] = number;
        let kind = if flat[k] { "flat" } else { "curved" };
        out.push(Patch { name: format!("{kind} {}", i + 1), area_mm2: area[k] });
    }
    (label.iter().map(|&k| rank[k]).collect(), out)
}

/// Edges whose metal angle is below a limit, summed by pair of patches, the sharpest first.
#[must_use]
pub fn sharp_edges(mesh: &TriMesh, patch: &[u32], names: &[Patch], limit: Deg) -> Vec<Edges> {
    let Ok(twin) = twins(&mesh.triangles) else { return Vec::new() };
    let n = normals(mesh);
    let mut found: BTreeMap<(u32, u32), Edges> = BTreeMap::new();
    let name = |k: u32| names.get(k as usize).map_or_else(String::new, |p| p.name.clone());
    for (h, &g) in twin.iter().enumerate() {
        let g = g as usize;
        let (t, r) = (h / 3, g / 3);
        if h > g || n[t].norm() == 0.0 || n[r].norm() == 0.0 {
            continue;
        }
        let [a, b] = [mesh.corners(t)[h % 3], mesh.corners(t)[(h + 1) % 3]];
        let convex = (mesh.corners(r)[(g + 2) % 3] - a).dot(&n[t]) <= 0.0;
        let metal = 180.0 - angle(&n[t], &n[r]);
        if !convex || metal >= limit.get() {
            continue;
        }
        let of = |t: usize| patch.get(t).copied().unwrap_or(0);
        let key = (of(t).min(of(r)), of(t).max(of(r)));
        let m: Point3<f64> = nalgebra::center(&a, &b);
        let at = [m.x, m.y, m.z];
        let e = found.entry(key).or_insert_with(|| Edges {
            between: [name(key.0), name(key.1)],
            angle_deg: metal,
            length_mm: 0.0,
            at,
        });
        e.length_mm += (b - a).norm();
        if metal < e.angle_deg {
            (e.angle_deg, e.at) = (metal, at);
        }
    }
    let mut out: Vec<Edges> = found.into_values().collect();
    out.sort_by(|a, b| a.angle_deg.total_cmp(&b.angle_deg).then_with(|| a.between.cmp(&b.between)));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wedge_has_five_flats_and_one_sharp_edge() {
        let p = |x: f64, y: f64, z: f64| Point3::new(x, y, z);
        let positions =
            vec![p(0., 0., 0.), p(2., 0., 0.), p(2., 1., 0.), p(0., 0., 3.), p(2., 0., 3.), p(2., 1., 3.)];
        let triangles =
            vec![[0, 2, 1], [3, 4, 5], [0, 1, 4], [0, 4, 3], [1, 2, 5], [1, 5, 4], [2, 0, 3], [2, 3, 5]];
        let mesh = TriMesh { positions, triangles, face: vec![0; 8] };
        let (patch, names) = patches(&mesh);
        assert_eq!((patch.len(), names.len()), (8, 5));
        // The roof is the largest: root of 5 times 3.
        assert!(names[0].name == "flat 1" && (names[0].area_mm2 - 5f64.sqrt() * 3.0).abs() < 1e-12);
        let sharp = sharp_edges(&mesh, &patch, &names, Deg(60.0));
        // Closed form: atan(1 / 2), along z.
        let tip = libm::atan2(1.0, 2.0).to_degrees();
        assert!(sharp.len() == 1 && (sharp[0].angle_deg - tip).abs() < 1e-9, "{sharp:?}");
        assert!((sharp[0].length_mm - 3.0).abs() < 1e-12 && sharp[0].at == [0.0, 0.0, 1.5]);
        assert_eq!(sharp_edges(&mesh, &patch, &names, Deg(64.0)).len(), 2);
    }
}
