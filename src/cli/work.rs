//! From a checked design to everything that can be said and written about its link.

use crate::mesh::witness::{self, Objection};
use crate::mesh::{self, Checked, GateError};
use crate::papers::movers;
use crate::papers::part_walls::{Asked, PartThinnest, thin_places};
use crate::papers::report::{
    self, Acute, BLADE, MeshReport, NOT_A_MASTER, Report, SolidReport, TrialReport, Walls, Weight,
};
use crate::papers::wall_places::{MapReport, WallPlace, map_of};
use crate::params::{Design, Finding, Key};
use crate::parts::link::{self, Built, LinkShape};
use crate::solid::{BuildError, Solid};
use crate::units::{Deg, Tolerance};
use crate::walls::{self, DELTA_WEAR, map::Map};
use thiserror::Error;

/// What is wanted besides the exact solid and its verdict.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// The trial link.
    pub trial: bool,
    /// Thinnest places over the part, with a map of its walls; 0 for neither.
    pub places: usize,
    /// A map of its walls, whatever the places.
    pub map: bool,
}

/// Everything made from a design.
#[derive(Debug)]
pub struct Work {
    /// The finished link.
    pub built: Built,
    /// Its mesh.
    pub mesh: Checked,
    /// The trial link's mesh.
    pub trial: Option<Checked>,
    /// How much metal lies under its surface.
    pub map: Option<Map>,
    /// The report, its list of files still empty.
    pub report: Report,
}

/// Why a sane design could not be built.
#[derive(Debug, Error)]
pub enum WorkError {
    /// The kernel refused; the parameters that move the faces.
    #[error("{what}: {source}. Change {} a little", .parameters.join(", "))]
    Build {
        /// Which link.
        what: &'static str,
        /// The refusal.
        source: Box<BuildError>,
        /// Parameters that move the faces concerned.
        parameters: Vec<&'static str>,
    },
    /// The mesh did not pass the gate; nothing is written.
    #[error("{what}: the mesh did not pass the gate: {source}. Try another --tolerance")]
    Gate {
        /// Which link.
        what: &'static str,
        /// The objection.
        source: Box<GateError>,
    },
    /// The second kernel disagrees.
    #[error("the second kernel contradicts the solid: {0}")]
    Witness(String),
}

/// Builds, measures and judges.
///
/// # Errors
/// See [`WorkError`].
pub fn work(design: &Design, tolerance: Tolerance, wanted: Wanted) -> Result<Work, WorkError> {
    work_seen(design, tolerance, wanted, &|_, _| {})
}

/// As [`work`]; `seen` is called as soon as the link and its mesh are there, before anything is measured.
///
/// # Errors
/// See [`WorkError`].
pub fn work_seen(
    design: &Design,
    tolerance: Tolerance,
    wanted: Wanted,
    seen: &(dyn Fn(&Built, &Checked) + Sync),
) -> Result<Work, WorkError> {
    let (main, trial) = std::thread::scope(|scope| {
        let trial = (wanted.trial && design.no_trial().is_none()).then(|| {
            scope.spawn(|| {
                let trial = built("the trial link", &LinkShape::trial(design))?;
                meshed("the trial link", &trial, tolerance)
            })
        });
        let main = finished(design, tolerance, wanted, seen);
        let trial = trial.map(|t| t.join());
        (main, trial)
    });
    let mut work = main?;
    work.trial = match trial {
        None => None,
        Some(Ok(t)) => Some(t?),
        Some(Err(_)) => return Err(WorkError::Witness("a worker thread died".into())),
    };
    work.report.no_trial = if wanted.trial { design.no_trial() } else { None };
    work.report.trial = work.trial.as_ref().map(|t| TrialReport {
        note: "test link for the printer: finished size, bores and grooves opened; not for casting",
        gap_mm: design.get(Key::TrialGap),
        bore_offset_mm: design.get(Key::TrialBoreOffset),
        mesh: MeshReport::of(t),
    });
    Ok(work)
}

fn built(what: &'static str, shape: &LinkShape) -> Result<Built, WorkError> {
    link::build(shape).map_err(|source| {
        let parameters = movers::of_link(&source.to_string());
        WorkError::Build { what, source: Box::new(source), parameters }
    })
}

fn meshed(what: &'static str, built: &Built, tolerance: Tolerance) -> Result<Checked, WorkError> {
    mesh::checked(&built.solid, tolerance)
        .map_err(|source| WorkError::Gate { what, source: Box::new(source) })
}

fn finished(
    design: &Design,
    tolerance: Tolerance,
    wanted: Wanted,
    seen: &(dyn Fn(&Built, &Checked) + Sync),
) -> Result<Work, WorkError> {
    let built = built("the link", &LinkShape::finished(design))?;
    let solid = &built.solid;
    let (mesh, wear, (thinnest, map)) = std::thread::scope(|scope| {
        let mesh = scope.spawn(|| {
            let mesh = meshed("the link", &built, tolerance)?;
            seen(&built, &mesh);
            match witness::confirm(solid, &mesh.exact) {
                Err(Objection::Against(e)) => Err(WorkError::Witness(e)),
                said => Ok((mesh, said)),
            }
        });
        let wear = link::wear_points(solid, &built.shape, design.state(), design.own());
        let thin = match wanted {
            Wanted { places: 0, map: false, .. } => (None, None),
            Wanted { places: 0, .. } => (None, map_of(solid)),
            _ => thin(solid, design, wanted.places),
        };
        (mesh.join(), wear, thin)
    });
    let (mesh, witness) = mesh.map_err(|_| WorkError::Witness("a worker thread died".into()))??;
    let (thinnest, places) = thinnest.unzip();
    let places = places.unwrap_or_default();
    let rules: Vec<Finding> = design.findings();
    let acute = walls::acute_edges(solid, Deg(BLADE));
    let report = Report {
        format: "colletline report 1",
        program: report::program(),
        design: design.name().to_owned(),
        verdict: report::verdict(&rules, &wear),
        anyway: false,
        state: NOT_A_MASTER,
        values: design.values(),
        solid: SolidReport::of(&built, &mesh.exact, witness),
        mesh: MeshReport::of(&mesh),
        trial: None,
        no_trial: None,
        weight: Weight::of(design, mesh.exact.volume),
        walls: Walls {
            wear_points: wear,
            thinnest,
            places,
            map: map.as_ref().filter(|_| wanted.places > 0).map(|m| MapReport::of(m, DELTA_WEAR.get())),
            acute_edges: Acute::list(&acute),
            whole: None,
        },
        life: crate::life::life(design),
        rules,
        overruled: design.own().list().to_vec(),
        clasp: crate::papers::clasp_report::ClaspReport::of(design),
        motion: crate::papers::motion_report::MotionReport::none(),
        files: Vec::new(),
        cautions: report::cautions(design),
    };
    Ok(Work { built, mesh, trial: None, map, report })
}

type Thin = (Option<(PartThinnest, Vec<WallPlace>)>, Option<Map>);

/// The thinnest places and the map.
fn thin(solid: &Solid, design: &Design, count: usize) -> Thin {
    let map = map_of(solid);
    let asked = Asked {
        count,
        work: walls::proof::WORK,
        state: design.state(),
        own: design.own(),
        movers: &|between| movers::of_link(&between.join(" ")),
        map: map.as_ref(),
    };
    (thin_places(solid, &asked), map)
}
