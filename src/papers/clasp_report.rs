//! The folding clasp in `report.json`: its derived dimensions always, its parts where they were built.

use super::report::{FaceCounts, face_counts};
use crate::mesh::Checked;
use crate::params::{ChainDims, ClaspDims, Design};
use crate::parts::{Part, Route};
use serde::Serialize;

/// What is not on the solids of the clasp yet.
pub const CLASP_NOTE: &str = "left for the bench: cups of pin beads, countersinks, eyes of the chain, dressed edges; shrink and polish not applied";

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
    /// Number of handles.
    pub genus: i64,
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
    #[must_use]
    pub fn of(design: &Design, part: &Part, mesh: &Checked) -> Self {
        Self {
            name: part.name,
            title: part.title,
            route: part.route,
            count: part.count,
            volume_mm3: mesh.exact.volume,
            volume_error_mm3: mesh.exact.volume_error,
            weight_g: mesh.exact.volume * design.metal().density / 1000.0,
            faces: face_counts(&part.solid),
            genus: part.solid.genus(),
            triangles: mesh.report.triangles,
            chord_mm: mesh.report.chord,
        }
    }
}
