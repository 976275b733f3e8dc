//! The thinnest place of a part in `report.json`; the same names as in the report of a mesh.

use crate::papers::mesh_report::ThinPlace;
use crate::solid::Solid;
use crate::walls::DELTA_WEAR;
use crate::walls::proof::{self, LAND};
use serde::Serialize;

/// Thinnest place over the whole part, proved on the exact solid.
#[derive(Clone, Debug, Serialize)]
pub struct PartThinnest {
    /// `proved`: nothing thinner was missed, the land of sharp edges apart.
    pub how: &'static str,
    /// Largest angle between a chord and the normals at its ends.
    pub delta_deg: f64,
    /// The place.
    #[serde(flatten)]
    pub place: ThinPlace,
    /// Other pairs of faces that may hold the thinnest place, within the interval.
    pub as_thin: Vec<[String; 2]>,
    /// Metal this near to an edge or corner that opposes itself is not counted as wall.
    pub land_mm: f64,
    /// Such corners and edges: the first point of each.
    pub sharp: Vec<[f64; 3]>,
    /// Parameters that move its faces.
    pub change: Vec<&'static str>,
}

impl PartThinnest {
    /// Searches a solid; `movers` names the parameters that move a face. `None` if no two faces oppose each other, or if
    /// the solid cannot be meshed finely enough.
    #[must_use]
    pub fn of(solid: &Solid, movers: &dyn Fn(&str) -> Vec<&'static str>) -> Option<Self> {
        let proof = proof::of_part(solid, DELTA_WEAR)?;
        let name = |f: u32| solid.faces.get(f as usize).map_or_else(String::new, |f| f.name.clone());
        let mut place = ThinPlace::of(proof.places.first()?, &name);
        place.lower_mm = place.lower_mm.min(proof.lower.get());
        let change = movers(&place.between.join(" "));
        let mut sharp: Vec<[f64; 3]> = proof.sharp.iter().map(|s| [s[0].x, s[0].y, s[0].z]).collect();
        sharp.dedup();
        Some(Self {
            how: "proved",
            delta_deg: DELTA_WEAR.get(),
            place,
            as_thin: proof.undecided.iter().map(|u| u.faces.map(name)).collect(),
            land_mm: LAND,
            sharp,
            change,
        })
    }
}
