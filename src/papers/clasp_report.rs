//! The folding clasp in `report.json`: its derived dimensions always, its parts where they were built.

use super::report::{FaceCounts, WitnessReport, dustless, face_counts};
use crate::mesh::Checked;
use crate::mesh::witness::{self, Objection};
use crate::params::{ChainDims, ClaspDims, Design};
use crate::parts::{Eased, Part, Route};
use serde::Serialize;

/// What is not on the solids of the clasp yet.
pub const CLASP_NOTE: &str = "left for the bench: dressed edges; shrink and polish not applied";

/// Section `clasp` of the report.
#[derive(Clone, Debug, Serialize)]
pub struct ClaspReport {
    /// What is left out.
    pub note: &'static str,
    /// Derived dimensions, forces and stresses as ranges.
    pub dimensions: ClaspDims,
    /// The safety chain.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chain: Option<ChainDims>,
    /// The parts that were built.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<ClaspPartReport>,
}

/// One part.
#[derive(Clone, Debug, Serialize)]
pub struct ClaspPartReport {
    /// Dotted name, also the stem of its files.
    pub name: &'static str,
    /// In bench words.
    pub title: &'static str,
    /// How it is made.
    pub route: Route,
    /// How many one bracelet has.
    pub count: usize,
    /// Volume of one, mm3.
    pub volume_mm3: f64,
    /// Error of the volume, stated by the integration.
    pub volume_error_mm3: f64,
    /// Weight of one, g.
    pub weight_g: f64,
    /// Number of faces by kind of surface.
    pub faces: FaceCounts,
    /// Number of edges.
    pub edges: usize,
    /// Lowest and highest corner of the box about its mesh, in the frame of the clasp, mm.
    pub bounds_mm: [[f64; 3]; 2],
    /// Number of handles.
    pub genus: i64,
    /// What the truck kernel says of the same solid.
    pub witness: WitnessReport,
    /// A dimension of the clasp moved by micrometres so that two faces of this part do not just touch.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub eased: Option<Eased>,
    /// Its files.
    pub files: Vec<String>,
    /// Triangles of its mesh.
    pub triangles: usize,
    /// Proved greatest distance of the mesh from the exact solid, mm.
    pub chord_mm: f64,
}

impl ClaspReport {
    /// Without any part; `None` where the clasp is a bought one.
    #[must_use]
    pub fn of(design: &Design) -> Option<Self> {
        let d = design.dims();
        d.clasp.clone().map(|dimensions| Self {
            note: CLASP_NOTE,
            dimensions,
            chain: d.chain.clone(),
            parts: Vec::new(),
        })
    }
}

impl ClaspPartReport {
    /// What a part and its mesh say.
    ///
    /// # Errors
    /// What the second kernel holds against the solid.
    pub fn of(design: &Design, part: &Part, mesh: &Checked) -> Result<Self, String> {
        Ok(Self {
            name: part.name,
            title: part.title,
            route: part.route,
            count: part.count,
            volume_mm3: mesh.exact.volume,
            volume_error_mm3: mesh.exact.volume_error,
            weight_g: mesh.exact.volume * design.density().0 / 1000.0,
            faces: face_counts(&part.solid),
            edges: part.solid.edges.len(),
            bounds_mm: bounds(mesh),
            genus: part.solid.genus(),
            witness: witness_of(part, mesh)?,
            eased: part.eased,
            files: Vec::new(),
            triangles: mesh.report.triangles,
            chord_mm: mesh.report.chord,
        })
    }
}

/// The second kernel's word.
fn witness_of(part: &Part, mesh: &Checked) -> Result<WitnessReport, String> {
    match witness::confirm(&part.solid, &mesh.exact) {
        Err(Objection::Against(e)) => {
            Err(format!("the {}: the second kernel contradicts the solid: {e}", part.title))
        }
        said => Ok(said.into()),
    }
}

fn bounds(mesh: &Checked) -> [[f64; 3]; 2] {
    let mut out = [[f64::MAX; 3], [f64::MIN; 3]];
    for p in &mesh.mesh.mesh.positions {
        for (k, x) in p.iter().enumerate() {
            out[0][k] = out[0][k].min(*x);
            out[1][k] = out[1][k].max(*x);
        }
    }
    out.map(|c| c.map(dustless))
}
