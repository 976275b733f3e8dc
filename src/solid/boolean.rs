//! The mesh boolean that decides what meets what. Tags ride on the triangles; nothing here knows a surface.

use super::error::BuildError;
use super::primitives::Tagged;
use super::tree::Tree;
use manifold_rust::{
    manifold::Manifold,
    types::{Error, MeshGL64},
};
use nalgebra::Point3;

/// Unions and differences of the primitives' working meshes, which must come in depth-first order.
///
/// # Errors
/// [`BuildError::Empty`] when nothing is left; [`BuildError::Unsound`] when the mesh library refuses an operand.
#[allow(clippy::cast_possible_truncation)]
pub fn evaluate(tree: &Tree, meshes: &[Tagged]) -> Result<Tagged, BuildError> {
    let mut next = meshes.iter();
    let m = node(tree, &mut next)?;
    if m.num_tri() == 0 {
        return Err(BuildError::Empty);
    }
    let g = m.get_mesh_gl64(-1);
    Ok(Tagged {
        positions: g.vert_properties.chunks_exact(3).map(|c| Point3::new(c[0], c[1], c[2])).collect(),
        triangles: g.tri_verts.chunks_exact(3).map(|c| [c[0] as u32, c[1] as u32, c[2] as u32]).collect(),
        tags: g.face_id.iter().map(|&t| t as usize).collect(),
    })
}

fn node(tree: &Tree, next: &mut std::slice::Iter<'_, Tagged>) -> Result<Manifold, BuildError> {
    match tree {
        Tree::Primitive(_) => {
            let m = next.next().ok_or_else(|| BuildError::Unsound("a primitive without a mesh".into()))?;
            operand(m)
        }
        Tree::Union(all) => {
            let Some((first, rest)) = all.split_first() else { return Err(BuildError::Empty) };
            let first = node(first, next)?;
            match together(rest, next)? {
                Some(rest) => checked(first.union(&rest)),
                None => Ok(first),
            }
        }
        Tree::Difference(from, minus) => {
            let first = node(from, next)?;
            match together(minus, next)? {
                Some(minus) => checked(first.difference(&minus)),
                None => Ok(first),
            }
        }
    }
}

/// The union of several bodies. Bodies whose boxes lie apart need no boolean, and one boolean with all of them costs less
/// than one with each.
fn together(all: &[Tree], next: &mut std::slice::Iter<'_, Tagged>) -> Result<Option<Manifold>, BuildError> {
    let mut groups: Vec<Manifold> = Vec::new();
    for t in all {
        let mut m = node(t, next)?;
        while let Some(i) = groups.iter().position(|g| !apart(g, &m)) {
            m = checked(groups.remove(i).union(&m))?;
        }
        groups.push(m);
    }
    match groups.len() {
        0 => Ok(None),
        1 => Ok(groups.pop()),
        _ => checked(Manifold::compose(&groups)).map(Some),
    }
}

/// Whether the boxes of two bodies do not even touch.
fn apart(a: &Manifold, b: &Manifold) -> bool {
    // Bodies nearer than this may touch, mm: rounding of coordinates is 1e-15, dimensions differ by 1e-4.
    const CLEARANCE: f64 = 1e-6;
    let (a, b) = (a.bounding_box(), b.bounding_box());
    let clear = |low: f64, high: f64| low > high + CLEARANCE;
    clear(a.min.x, b.max.x)
        || clear(b.min.x, a.max.x)
        || clear(a.min.y, b.max.y)
        || clear(b.min.y, a.max.y)
        || clear(a.min.z, b.max.z)
        || clear(b.min.z, a.max.z)
}

fn operand(m: &Tagged) -> Result<Manifold, BuildError> {
    checked(Manifold::from_mesh_gl64(&MeshGL64 {
        num_prop: 3,
        vert_properties: m.positions.iter().flat_map(|p| [p.x, p.y, p.z]).collect(),
        tri_verts: m.triangles.iter().flatten().map(|&i| u64::from(i)).collect(),
        face_id: m.tags.iter().map(|&t| t as u64).collect(),
        ..Default::default()
    }))
}

fn checked(m: Manifold) -> Result<Manifold, BuildError> {
    if m.status() == Error::NoError {
        Ok(m)
    } else {
        Err(BuildError::Unsound(format!("mesh boolean: {:?}", m.status())))
    }
}
