//! Holds a solid to its contract as far as indices, directions and finite numbers go, so that nothing later can trip.

use super::MeshError;
use crate::solid::Solid;
use nalgebra::Point3;

fn malformed<T>(what: impl Into<String>) -> Result<T, MeshError> {
    Err(MeshError::Malformed(what.into()))
}

/// The first breach of the contract of [`Solid`].
pub(super) fn well_formed(solid: &Solid) -> Result<(), MeshError> {
    if solid.faces.is_empty() {
        return malformed("no faces");
    }
    let finite = |p: &Point3<f64>| p.coords.iter().all(|c| c.is_finite());
    if let Some(i) = solid.vertices.iter().position(|p| !finite(p)) {
        return malformed(format!("vertex {i} is not finite"));
    }
    for (i, e) in solid.edges.iter().enumerate() {
        if e.ends[0] == e.ends[1] || e.ends.iter().any(|&v| v >= solid.vertices.len()) {
            return malformed(format!("edge {i} has no two ends"));
        }
        if e.faces.iter().any(|&f| f >= solid.faces.len()) {
            return malformed(format!("edge {i} names a face that is not there"));
        }
        if !(e.curve.end_parameter() > 0.0 && finite(&e.curve.start()) && finite(&e.curve.end())) {
            return malformed(format!("edge {i} has no curve"));
        }
    }
    let mut used = vec![[0_u32; 2]; solid.edges.len()];
    for (f, face) in solid.faces.iter().enumerate() {
        for l in &face.loops {
            let bad = || MeshError::Malformed(format!("a loop of face {} is broken", face.name));
            for (i, u) in l.iter().enumerate() {
                let next = l[(i + 1) % l.len()];
                let (e, n) = match (solid.edges.get(u.edge), solid.edges.get(next.edge)) {
                    (Some(e), Some(n)) => (e, n),
                    _ => return Err(bad()),
                };
                if e.ends[usize::from(u.forward)] != n.ends[usize::from(!next.forward)]
                    || e.faces[usize::from(!u.forward)] != f
                {
                    return Err(bad());
                }
                used[u.edge][usize::from(u.forward)] += 1;
            }
        }
        if face.loops.is_empty() || face.loops.iter().any(Vec::is_empty) {
            return malformed(format!("face {} has no border", face.name));
        }
    }
    match used.iter().position(|u| *u != [1, 1]) {
        Some(i) => malformed(format!("edge {i} is not used once in each direction")),
        None => Ok(()),
    }
}
