//! `report.json`: what was built, from which values, what was verified, what was written.
//!
//! Keys are a promise; see `DEVELOPERS.md`. Lengths are mm, volumes mm3, weights g.

use crate::life::Life;
use crate::mesh::{
    Checked,
    exact::SolidMass,
    witness::{Objection, Witness},
};
use crate::papers::part_walls::PartThinnest;
use crate::papers::wall_places::{MapReport, WallPlace};
use crate::params::{Design, Finding, RuleVerdict, Severity, Value};
use crate::parts::link::{Built, Easing, WearReading};
use crate::solid::Solid;
use crate::trade::own::Overruled;
use crate::walls::{AcuteEdge, Judgement};
use serde::Serialize;

/// Sentence that goes with every file until masters exist.
pub const NOT_A_MASTER: &str = "shrink and polish not applied, not for casting";

/// Edges below this angle are listed apart from the walls, degrees: twice the angle walls are measured within for
/// casting (proposal).
pub const BLADE: f64 = 60.0;

/// Program and version, as outputs say them.
#[must_use]
pub fn program() -> String {
    format!("colletline {}", env!("CARGO_PKG_VERSION"))
}

/// The whole report.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// Form of the report.
    pub format: &'static str,
    /// Program and version.
    pub program: String,
    /// Name of the design.
    pub design: String,
    /// The whole in one word: `pass`, `fail` or `unverified`, over the binding rules.
    pub verdict: Judgement,
    /// Whether parts were written although the verdict is not `pass`.
    pub anyway: bool,
    /// What the files may be used for.
    pub state: &'static str,
    /// Every parameter with its origin.
    pub values: Vec<Value>,
    /// The exact solid.
    pub solid: SolidReport,
    /// Mesh of the finished link.
    pub mesh: MeshReport,
    /// The trial link.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trial: Option<TrialReport>,
    /// Why there is no trial link, where its opened joint would not be whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_trial: Option<String>,
    /// Weight of the finished link.
    pub weight: Weight,
    /// Walls.
    pub walls: Walls,
    /// Wear and strength, estimated.
    pub life: Life,
    /// Rules of the trade.
    pub rules: Vec<Finding>,
    /// Numbers of the trade's tables that the bench file overrules.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub overruled: Vec<Overruled>,
    /// The folding clasp; absent where it is a bought one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clasp: Option<super::clasp_report::ClaspReport>,
    /// How joint and clasp move, where that was measured.
    pub motion: super::motion_report::MotionReport,
    /// Files beside this one.
    pub files: Vec<FileEntry>,
    /// Where the work can hurt someone.
    pub cautions: Vec<&'static str>,
}

/// The exact solid.
#[derive(Clone, Debug, Serialize)]
pub struct SolidReport {
    /// Volume.
    pub volume_mm3: f64,
    /// Error of the volume, stated by the integration.
    pub volume_error_mm3: f64,
    /// Area.
    pub area_mm2: f64,
    /// Error of the area.
    pub area_error_mm2: f64,
    /// Centre of mass.
    pub centre_mm: [f64; 3],
    /// Number of faces by kind of surface.
    pub faces: FaceCounts,
    /// Number of edges.
    pub edges: usize,
    /// Number of vertices.
    pub vertices: usize,
    /// Number of handles.
    pub genus: i64,
    /// What the truck kernel says of the same solid.
    pub witness: WitnessReport,
    /// Dimensions moved by micrometres so that two surfaces do not just touch.
    pub eased: Vec<Easing>,
}

/// Faces by kind.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct FaceCounts {
    /// Planes.
    pub plane: usize,
    /// Cylinders.
    pub cylinder: usize,
    /// Cones.
    pub cone: usize,
    /// Spheres.
    #[serde(skip_serializing_if = "is_zero")]
    pub sphere: usize,
    /// Tori.
    #[serde(skip_serializing_if = "is_zero")]
    pub torus: usize,
}

/// The second, independent mesh.
#[derive(Clone, Debug, Serialize)]
pub struct WitnessReport {
    /// Whether the second kernel confirms the solid. One that contradicts it stops the run; this is false only where its
    /// own mesher fell short.
    pub confirmed: bool,
    /// Why it could not tell.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// Volume of its mesh.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volume_mm3: Option<f64>,
    /// Triangles of its mesh.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub triangles: Option<usize>,
}

impl From<Result<Witness, Objection>> for WitnessReport {
    fn from(said: Result<Witness, Objection>) -> Self {
        match said {
            Ok(w) => {
                Self { confirmed: true, why: None, volume_mm3: Some(w.volume), triangles: Some(w.triangles) }
            }
            Err(e) => Self { confirmed: false, why: Some(e.to_string()), volume_mm3: None, triangles: None },
        }
    }
}

/// A mesh that passed the gate.
#[derive(Clone, Debug, Serialize)]
pub struct MeshReport {
    /// Proved greatest distance from the exact solid, rounding to single precision included.
    pub chord_mm: f64,
    /// Triangles.
    pub triangles: usize,
    /// Vertices.
    pub vertices: usize,
    /// Handles, the solid's own.
    pub genus: i64,
    /// Volume of the mesh.
    pub volume_mm3: f64,
}

/// The trial link.
#[derive(Clone, Debug, Serialize)]
pub struct TrialReport {
    /// What it is.
    pub note: &'static str,
    /// Gap added on each surface of bores and grooves.
    pub gap_mm: f64,
    /// What the printer closes a bore by, on its radius; added back.
    pub bore_offset_mm: f64,
    /// Its mesh.
    pub mesh: MeshReport,
}

/// A weight.
#[derive(Clone, Debug, Serialize)]
pub struct Weight {
    /// Alloy.
    pub alloy: &'static str,
    /// Density.
    pub density_g_cm3: f64,
    /// Where the density comes from.
    pub source: &'static str,
    /// Weight of one finished link, without stone.
    pub link_g: f64,
}

/// Walls.
#[derive(Clone, Debug, Serialize)]
pub struct Walls {
    /// Named wear points, measured on the exact solid.
    pub wear_points: Vec<WearReading>,
    /// Thinnest place over the whole part, proved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thinnest: Option<PartThinnest>,
    /// The thinnest places, one for each pair of kinds of faces, the thinnest first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<WallPlace>,
    /// How much of the surface lies over how much metal.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub map: Option<MapReport>,
    /// Edges whose metal comes to an angle below [`BLADE`].
    pub acute_edges: Vec<Acute>,
    /// Room between parts and walls of the clasp's parts, with `check --whole`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub whole: Option<super::whole::Whole>,
}

/// A sharp edge.
#[derive(Clone, Debug, Serialize)]
pub struct Acute {
    /// Names of the two faces.
    pub between: [String; 2],
    /// Smallest angle of the metal along the edge.
    pub angle_deg: f64,
    /// Length of the part below [`BLADE`].
    pub length_mm: f64,
    /// Where it is sharpest.
    pub at: [f64; 3],
}

/// A file written beside the report.
#[derive(Clone, Debug, Serialize)]
pub struct FileEntry {
    /// Name.
    pub name: String,
    /// What it is.
    pub what: &'static str,
    /// Size.
    pub bytes: usize,
}

impl Report {
    /// With the movements measured; the verdict over the whole is then over theirs too.
    pub fn take_motion(&mut self, motion: super::motion_report::MotionReport) {
        self.verdict = match (self.verdict, motion.verdict) {
            (Judgement::Fail, _) | (_, Judgement::Fail) => Judgement::Fail,
            (Judgement::Pass, Judgement::Pass) => Judgement::Pass,
            _ => Judgement::Unverified,
        };
        self.motion = motion;
    }
}

impl SolidReport {
    /// Counts and measures a built link.
    #[must_use]
    pub fn of(built: &Built, mass: &SolidMass, witness: Result<Witness, Objection>) -> Self {
        let s = &built.solid;
        Self {
            volume_mm3: mass.volume,
            volume_error_mm3: mass.volume_error,
            area_mm2: mass.area,
            area_error_mm2: mass.area_error,
            centre_mm: [mass.centre.x, mass.centre.y, mass.centre.z].map(dustless),
            faces: face_counts(s),
            edges: s.edges.len(),
            vertices: s.vertices.len(),
            genus: s.genus(),
            witness: witness.into(),
            eased: built.easings.clone(),
        }
    }
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_zero(n: &usize) -> bool {
    *n == 0
}

/// A coordinate without rounding dust.
pub(super) fn dustless(x: f64) -> f64 {
    (x * 1e9).round() / 1e9 + 0.0
}

pub(super) fn face_counts(s: &Solid) -> FaceCounts {
    let mut out = FaceCounts::default();
    for f in &s.faces {
        match f.surface.kind() {
            "plane" => out.plane += 1,
            "cylinder" => out.cylinder += 1,
            "sphere" => out.sphere += 1,
            "torus" => out.torus += 1,
            _ => out.cone += 1,
        }
    }
    out
}

impl MeshReport {
    /// What the gate found.
    #[must_use]
    pub fn of(c: &Checked) -> Self {
        let r = &c.report;
        Self {
            chord_mm: r.chord,
            triangles: r.triangles,
            vertices: r.vertices,
            genus: r.genus,
            volume_mm3: r.volume,
        }
    }
}

impl Acute {
    /// The list of a part.
    #[must_use]
    pub fn list(edges: &[AcuteEdge]) -> Vec<Self> {
        edges
            .iter()
            .map(|e| Self {
                between: e.between.clone(),
                angle_deg: e.angle.get(),
                length_mm: e.length.get(),
                at: [e.at.x, e.at.y, e.at.z],
            })
            .collect()
    }
}

impl Weight {
    /// Weight of a volume in the design's alloy.
    #[must_use]
    pub fn of(design: &Design, volume_mm3: f64) -> Self {
        let (density, source) = design.density();
        Self {
            alloy: design.metal().name,
            density_g_cm3: density,
            source,
            link_g: volume_mm3 * density / 1000.0,
        }
    }
}

/// The word over everything that binds: rules of severity refuse, and every named wear point.
#[must_use]
pub fn verdict(rules: &[Finding], wear: &[WearReading]) -> Judgement {
    let rules = rules.iter().filter(|r| r.severity == Severity::Refuse).map(|r| match r.verdict {
        RuleVerdict::Pass => Judgement::Pass,
        RuleVerdict::Fail => Judgement::Fail,
        RuleVerdict::Unverified(_) => Judgement::Unverified,
    });
    let all: Vec<Judgement> = rules.chain(wear.iter().map(|w| w.verdict)).collect();
    if all.contains(&Judgement::Fail) {
        Judgement::Fail
    } else if all.contains(&Judgement::Unverified) {
        Judgement::Unverified
    } else {
        Judgement::Pass
    }
}

/// Cautions for who handles the files and the metal. The usual ones of the trade; local codes and licensed practice go
/// before them.
#[must_use]
pub fn cautions(design: &Design) -> Vec<&'static str> {
    let mut out = vec![
        "Uncured resin and its solvent: gloves, eye protection, moving air; wash and cure before handling.",
        "Burs and drills: eye protection, hair and sleeves tied back.",
        "Never hold a flexible line loosely to a polishing wheel: it wraps round the spindle. Fix it on a board.",
        "Small parts: keep links and stones from children.",
    ];
    if design.metal().key.starts_with("platinum") {
        out.push("Platinum glows white: welding shade for the eyes, no carbon in the flame.");
    }
    if design.metal().nickel_white {
        out.push("Nickel on the skin: not sold as skin-safe without an EN 1811 release test of the finished piece.");
    }
    out.push("Hallmarking and sale follow the law of the place; ask your assay office.");
    out
}
