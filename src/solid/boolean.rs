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
    let fold = |first: Manifold, rest: &[Tree], next: &mut std::slice::Iter<'_, Tagged>, union: bool| {
        rest.iter().try_fold(first, |m, t| {
            let other = node(t, next)?;
            checked(if union { m.union(&other) } else { m.difference(&other) })
        })
    };
    match tree {
        Tree::Primitive(_) => {
            let m = next.next().ok_or_else(|| BuildError::Unsound("a primitive without a mesh".into()))?;
            operand(m)
        }
        Tree::Union(all) => {
            let Some((first, rest)) = all.split_first() else { return Err(BuildError::Empty) };
            let first = node(first, next)?;
            fold(first, rest, next, true)
        }
        Tree::Difference(from, minus) => {
            let first = node(from, next)?;
            fold(first, minus, next, false)
        }
    }
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
