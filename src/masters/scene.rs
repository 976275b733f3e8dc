//! What a 3MF or GLB file holds: meshes with name and colour, and where each copy stands.

use crate::mesh::TriMesh;
use crate::solid::Frame;

/// Everything of one file.
#[derive(Clone, Debug)]
pub struct Scene<'m> {
    /// Name and text of each piece of metadata; names of the 3MF core specification.
    pub metadata: Vec<(&'static str, String)>,
    /// The meshes.
    pub objects: Vec<Object<'m>>,
    /// The copies.
    pub items: Vec<Item>,
}

/// A mesh with a name.
#[derive(Clone, Debug)]
pub struct Object<'m> {
    /// Name.
    pub name: String,
    /// What it is made of.
    pub material: String,
    /// Colour to show, red, green, blue.
    pub colour: [u8; 3],
    /// The mesh, in single precision, mm.
    pub mesh: &'m TriMesh,
}

/// A copy of an object.
#[derive(Clone, Debug)]
pub struct Item {
    /// Index of the object.
    pub object: usize,
    /// Name of this copy.
    pub name: String,
    /// Where it stands.
    pub frame: Frame,
}

/// Metadata of a file: title, description, program, and the maker where the design names one.
#[must_use]
pub fn metadata(title: &str, description: &str, maker: &str) -> Vec<(&'static str, String)> {
    let mut out = vec![
        ("Title", title.to_owned()),
        ("Description", description.to_owned()),
        ("Application", format!("colletline {}", env!("CARGO_PKG_VERSION"))),
    ];
    if !maker.is_empty() {
        out.push(("Designer", maker.to_owned()));
    }
    out
}
