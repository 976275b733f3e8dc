//! Why a solid could not be built. Every case names the faces; `parts` turns them into parameters.

use nalgebra::Point3;
use thiserror::Error;

/// A solid that was refused instead of being built wrong.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum BuildError {
    /// Two surfaces nearly coincide: what lies between them is thinner than any tolerance can resolve.
    #[error("{} and {} are {gap:.1e} mm apart: neither one face nor two", .faces[0], .faces[1])]
    NearlyCoincident {
        /// Names of the two faces.
        faces: [String; 2],
        /// Distance between them, mm.
        gap: f64,
    },
    /// Two faces touch along a line or in a point with no metal (or no air) between.
    #[error("{} and {} touch without thickness (gap {gap:.1e} mm)", .faces[0], .faces[1])]
    Touching {
        /// Names of the two faces.
        faces: [String; 2],
        /// Distance between them, mm.
        gap: f64,
    },
    /// The finest tessellation could not decide whether two faces meet.
    #[error("whether {} and {} meet could not be decided near ({:.3}, {:.3}, {:.3}) mm: {detail}",
        .faces[0], .faces[1], .near.x, .near.y, .near.z)]
    Undecided {
        /// Names of the two faces.
        faces: [String; 2],
        /// Where.
        near: Point3<f64>,
        /// What was seen.
        detail: String,
    },
    /// Nothing is left of the part.
    #[error("nothing is left of the part")]
    Empty,
    /// The part falls apart; a face of each piece.
    #[error("the part falls into {} pieces: {}", .0.len(), .0.join(", "))]
    Pieces(Vec<String>),
    /// The part encloses a hollow that nothing leads into; a face of it.
    #[error("{0} bounds a closed hollow")]
    Hollow(String),
    /// A primitive is malformed (profile not simple, no height, ...).
    #[error("{face}: {detail}")]
    Primitive {
        /// Name of the face or of the first face of the primitive.
        face: String,
        /// What is wrong.
        detail: String,
    },
    /// The result does not hold the contract of a solid.
    #[error("the solid is not sound: {0}")]
    Unsound(String),
}
