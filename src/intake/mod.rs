//! Meshes that come back: read from STL or 3MF, held against what a closed part must be, told in words.
//!
//! Nothing is mended. A mesh is sound or its faults are listed, each with a place.

mod patches;
mod sound;
mod stl;
mod threemf;

pub use patches::{Edges, Patch, patches, sharp_edges};
pub use sound::{Examined, Fault, UNDECIDED, examine};

use nalgebra::Point3;
use thiserror::Error;

/// Triangles as a file gives them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Soup {
    /// Corners, mm.
    pub triangles: Vec<[Point3<f64>; 3]>,
    /// What the file is: `binary STL`, `text STL` or `3MF`.
    pub form: &'static str,
    /// Whether the file itself says what its numbers mean; an STL does not, and is taken for millimetres.
    pub unit_stated: bool,
}

/// Why a file is no mesh.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum IntakeError {
    /// No bytes.
    #[error("the file is empty")]
    Empty,
    /// Not an STL at all.
    #[error(
        "this is not an STL: it neither begins with `solid` nor has the length of a binary STL. Export the part again"
    )]
    NotStl,
    /// The number of triangles announced is not there.
    #[error(
        "the STL says it has {said} triangles, but its length is that of {found}. It was cut short or changed on the way; send it again"
    )]
    Length {
        /// Announced.
        said: u32,
        /// Whole triangles that follow.
        found: usize,
    },
    /// A text STL that cannot be read.
    #[error("line {line} of the text STL: {what}")]
    Text {
        /// Line, from 1.
        line: usize,
        /// What is wrong.
        what: String,
    },
    /// A 3MF that cannot be read.
    #[error("the 3MF cannot be read: {0}")]
    ThreeMf(String),
    /// More than can be looked at.
    #[error("{0} triangles or more; this program looks at most at {MOST}. Export the part coarser")]
    TooMany(usize),
}

/// Largest number of triangles looked at: a link has 20 thousand.
pub const MOST: usize = 8_000_000;

/// Reads a mesh by what its bytes are: a 3MF is a ZIP archive, anything else has to be an STL.
///
/// # Errors
/// See [`IntakeError`].
pub fn read(bytes: &[u8]) -> Result<Soup, IntakeError> {
    if bytes.is_empty() {
        return Err(IntakeError::Empty);
    }
    let soup = if bytes.starts_with(b"PK") { threemf::read(bytes)? } else { stl::read(bytes)? };
    if soup.triangles.len() > MOST {
        return Err(IntakeError::TooMany(soup.triangles.len()));
    }
    Ok(soup)
}
