//! The list of files for the caster: what each holds, in what state, with a checksum.

use super::compensation::Compensation;
use super::flow::Flow;
use super::judged::Judged;
use super::stub::Stub;
use crate::params::Design;
use crate::parts::link::{Allowances, Bores, Dimension};
use crate::solid::{Solid, Surface};
use crate::trade::own::Overruled;
use crate::walls::Judgement;
use serde::Serialize;
use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;

/// The whole list.
#[derive(Clone, Debug, Serialize)]
pub struct Manifest {
    /// Form of the list.
    pub format: &'static str,
    /// Program and version.
    pub program: String,
    /// Name of the design.
    pub design: String,
    /// Whom to ask; empty where the file does not say.
    pub contact: String,
    /// Unit of every length in every file but GLB, which is in metres.
    pub units: &'static str,
    /// Alloy.
    pub metal: &'static str,
    /// How the pattern is made.
    pub process: &'static str,
    /// Whether metal is cast into its place; if not, the print is the metal.
    pub cast: bool,
    /// Share of a heavy place that the metal it is fed through should have.
    pub neck_share: f64,
    /// Over everything: `unverified` where it is not said who allows for shrink.
    pub verdict: Judgement,
    /// The same in words.
    pub state: String,
    /// Who allows for shrink.
    pub compensation: Compensation,
    /// Metal left on each surface.
    pub allowances: Allowances,
    /// How bores are cast.
    pub bores: Bores,
    /// Height of the finished underside over the master's, finished size.
    pub lift_mm: f64,
    /// The parts.
    pub parts: Vec<PartEntry>,
    /// Named dimensions: finished, as cast, and in the pattern along x and upwards.
    pub dimensions: Vec<PatternDimension>,
    /// What process and foundry ask.
    pub rules: Vec<Judged>,
    /// Numbers of the trade's tables that the maker overrules.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub overruled: Vec<Overruled>,
    /// The files, in the order of their names.
    pub files: Vec<FileSum>,
    /// Where the work can hurt.
    pub cautions: Vec<&'static str>,
}

/// A part to be cast.
#[derive(Clone, Debug, Serialize)]
pub struct PartEntry {
    /// Its name.
    pub part: &'static str,
    /// In bench words.
    pub title: &'static str,
    /// How many a bracelet has.
    pub count: usize,
    /// Volume of the pattern, its stub included.
    pub pattern_volume_mm3: f64,
    /// Volume of the exact solid, stub included, enlarged by the largest factor.
    pub solid_volume_mm3: f64,
    /// Its faces by surface.
    pub faces: Faces,
    /// Weight of one casting in the alloy, its stub sawn off, its own shrink taken off where it is known.
    pub casting_g: f64,
    /// Outer size of the pattern.
    pub size_mm: [f64; 3],
    /// Greatest distance of the mesh from the exact solid.
    pub chord_mm: f64,
    /// The stub for the sprue that is joined to it; absent where none is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stub: Option<Stub>,
    /// Sprue, heavy places and pockets of the part without it, in the pattern enlarged alike along all axes; absent where it was not looked at.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flow: Option<Flow>,
}

/// Faces of an exact solid by the kind of their surface, named as in STEP.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Faces {
    /// Planes.
    #[serde(rename = "PLANE")]
    pub planes: usize,
    /// Cylinders.
    #[serde(rename = "CYLINDRICAL_SURFACE")]
    pub cylinders: usize,
    /// Cones.
    #[serde(rename = "CONICAL_SURFACE")]
    pub cones: usize,
}

impl Faces {
    /// Those of a solid.
    #[must_use]
    pub fn of(solid: &Solid) -> Self {
        let mut out = Self::default();
        for f in &solid.faces {
            match &f.surface {
                Surface::Plane(_) => out.planes += 1,
                Surface::Cone(c) if c.is_cylinder() => out.cylinders += 1,
                Surface::Cone(_) => out.cones += 1,
                Surface::Torus(_) => {}
            }
        }
        out
    }
}

/// A dimension in all its states.
#[derive(Clone, Debug, Serialize)]
pub struct PatternDimension {
    /// Of which part.
    pub part: &'static str,
    /// Finished and cast.
    #[serde(flatten)]
    pub dimension: Dimension,
    /// In the pattern; the factor along x, or of heights that upwards.
    pub pattern: f64,
}

/// A file and its checksum.
#[derive(Clone, Debug, Serialize)]
pub struct FileSum {
    /// Name.
    pub name: String,
    /// What it is.
    pub what: &'static str,
    /// Size.
    pub bytes: usize,
    /// SHA-256, as `sha256sum` prints it.
    pub sha256: String,
}

impl FileSum {
    /// That of some bytes.
    #[must_use]
    pub fn of(name: &str, what: &'static str, bytes: &[u8]) -> Self {
        let mut sha256 = String::new();
        for b in Sha256::digest(bytes) {
            let _ = write!(sha256, "{b:02x}");
        }
        Self { name: name.to_owned(), what, bytes: bytes.len(), sha256 }
    }
}

/// The dimensions of a master with the pattern's.
#[must_use]
pub fn dimensions(part: &'static str, list: &[Dimension], c: &Compensation) -> Vec<PatternDimension> {
    let upwards = |d: &Dimension| {
        ["height", "over the underside", "depth", "filled to"].iter().any(|w| d.name.contains(w))
            && !d.name.contains("at half height")
    };
    list.iter()
        .map(|d| {
            let k = if upwards(d) { c.factors[2] } else { c.factors[0] };
            PatternDimension { part, dimension: d.clone(), pattern: d.cast * k }
        })
        .collect()
}

/// Number of links to cast: the line without the stones the clasp carries.
#[must_use]
pub fn links(design: &Design) -> usize {
    use crate::params::Key;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // counts below 200
    let n = |k: Key| design.get(k) as usize;
    n(Key::Count).saturating_sub(n(Key::ClaspCount))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4 example: SHA-256 of "abc".
    #[test]
    fn checksums_are_those_of_the_standard() {
        assert_eq!(
            FileSum::of("a", "", b"abc").sha256,
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
