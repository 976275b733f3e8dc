//! The mesh of a master as it is printed: the exact solid enlarged by a similarity, and where the axes differ its mesh
//! stretched by what is left.
//!
//! A similarity keeps planes, cylinders and cones, so it is applied to the dimensions and the solid is built anew. Unequal
//! factors would turn cylinders into elliptic ones; then the solid is enlarged by the largest factor and the mesh drawn in
//! along the other axes by factors below 1, which cannot move a point of it farther from the drawn-in solid than the proved
//! chord.

use crate::mesh::{self, Checked, GateError, TriMesh, crossing};
use crate::solid::{BuildError, Solid};
use crate::units::Tolerance;
use thiserror::Error;

/// A master ready to be written.
#[derive(Clone, Debug)]
pub struct Pattern {
    /// The exact solid, enlarged by the largest factor.
    pub solid: Solid,
    /// Its checked mesh.
    pub checked: Checked,
    /// The mesh to be written, in single precision.
    pub mesh: TriMesh,
    /// The factors along x, y, z.
    pub factors: [f64; 3],
}

/// Why a pattern could not be made.
#[derive(Debug, Error)]
pub enum PatternError {
    /// The kernel refused.
    #[error("the master: {0}")]
    Build(#[from] BuildError),
    /// The mesh did not pass the gate.
    #[error("the master's mesh did not pass the gate: {0}. Try another --tolerance")]
    Gate(#[from] GateError),
    /// The drawn-in mesh meets itself.
    #[error(
        "the master's mesh meets itself when its axes are enlarged differently. Try a smaller --tolerance"
    )]
    Crossing,
}

/// Builds the master, of which `build` gives the exact solid enlarged by a factor, enlarged by the factors along x, y, z.
///
/// # Errors
/// See [`PatternError`].
pub fn pattern(
    build: impl FnOnce(f64) -> Result<Solid, BuildError>,
    factors: [f64; 3],
    tolerance: Tolerance,
) -> Result<Pattern, PatternError> {
    let most = factors.iter().fold(factors[0], |a, b| a.max(*b));
    let solid = build(most)?;
    let checked = mesh::checked(&solid, tolerance)?;
    let mut mesh = checked.mesh.mesh.clone();
    if factors.iter().any(|f| *f < most) {
        for p in &mut mesh.positions {
            for (k, f) in factors.iter().enumerate() {
                #[allow(clippy::cast_possible_truncation)]
                let drawn = (p[k] * (f / most)) as f32 + 0.0;
                p[k] = f64::from(drawn);
            }
        }
        if !crossing::collisions(&mesh).0.is_empty() {
            return Err(PatternError::Crossing);
        }
    }
    Ok(Pattern { solid, checked, mesh, factors })
}

/// Volume of a closed mesh, mm3.
#[must_use]
pub fn volume(mesh: &TriMesh) -> f64 {
    let six: f64 = (0..mesh.triangles.len())
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            a.coords.dot(&b.coords.cross(&c.coords))
        })
        .sum();
    six / 6.0
}
