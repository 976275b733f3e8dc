//! The parts of the folding clasp: built, meshed, written, drawn.

use super::{args, make};
use crate::masters::step;
use crate::mesh::{self, Checked};
use crate::papers::clasp_report::ClaspPartReport;
use crate::papers::picture::{Body, Material, Scene, View, feature_edges, render};
use crate::papers::scene::isometry;
use crate::params::Design;
use crate::parts::clasp::{self, ClaspPart};
use crate::parts::line::{Pose, pieces};
use crate::parts::{Part, Route};
use crate::plan::clasp_mass::ClaspMass;
use crate::units::{Deg, Tolerance};

/// A part and its mesh.
#[derive(Clone)]
pub(super) struct Made {
    part: Part,
    mesh: Checked,
}

impl Made {
    /// Whether it is this part.
    pub(super) fn is(&self, part: ClaspPart) -> bool {
        self.part.name == part.name()
    }
}

/// Size of the pictures, pixels.
const PICTURE: (usize, usize) = (1600, 900);

/// How far the clasp is open in its second picture, degrees.
const OPEN: Deg = Deg(60.0);

/// Every part of the clasp that is cast; none of a bought one.
pub(super) fn cast(design: &Design) -> Vec<ClaspPart> {
    let folding = design.dims().clasp.is_some();
    ClaspPart::ALL.into_iter().filter(|p| folding && p.route(design) == Route::Cast).collect()
}

/// Every part of the clasp; none of a bought one.
pub(super) fn every(design: &Design) -> Vec<ClaspPart> {
    ClaspPart::ALL.into_iter().filter(|_| design.dims().clasp.is_some()).collect()
}

/// The parts that have a sheet or are weighed as solids in the plan; none of a bought one.
pub(super) fn weighed(design: &Design) -> Vec<ClaspPart> {
    let wanted = [ClaspPart::Frame, ClaspPart::Plate, ClaspPart::Leaf, ClaspPart::FrontStrip];
    wanted.into_iter().filter(|_| design.dims().clasp.is_some()).collect()
}

/// Which parts of the clasp the words ask for, each once.
pub(super) fn wanted(words: &[args::Part]) -> Vec<ClaspPart> {
    let has = |list: &[args::Part]| words.iter().any(|w| list.contains(w));
    ClaspPart::ALL
        .into_iter()
        .filter(|p| {
            has(&[args::Part::Clasp])
                || match p {
                    ClaspPart::Plate => has(&[args::Part::Plate]),
                    ClaspPart::Leaf => has(&[args::Part::Leaf]),
                    ClaspPart::Frame => has(&[args::Part::Frame]),
                    ClaspPart::FrontStrip | ClaspPart::BackStrip | ClaspPart::Rivet => {
                        has(&[args::Part::Tongue])
                    }
                    ClaspPart::Pin => has(&[args::Part::Pins]),
                    ClaspPart::FrontCatch | ClaspPart::BackCatch => has(&[args::Part::Catches]),
                    ClaspPart::ChainLink | ClaspPart::JumpRing => has(&[args::Part::Chain]),
                }
        })
        .collect()
}

/// Builds and meshes them.
///
/// # Errors
/// In bench words: a bought clasp has no parts, or the kernel or the gate refused one.
pub(super) fn build(design: &Design, parts: &[ClaspPart], tolerance: Tolerance) -> Result<Vec<Made>, String> {
    let one = |part: &ClaspPart| {
        let name = part.title();
        let built = clasp::build(design, *part)
            .ok_or_else(|| "clasp.kind is \"bought\": there is no part of the clasp to build".to_owned())?
            .map_err(|e| {
                format!("the {name}: {e}. Change clasp.plate.thickness or clasp.leaf.thickness a little")
            })?;
        let mesh = mesh::checked(&built.solid, tolerance).map_err(|e| {
            format!("the {name}: the mesh did not pass the gate: {e}. Try another --tolerance")
        })?;
        Ok(Made { part: built, mesh })
    };
    parts.iter().map(one).collect()
}

/// What the report says of them.
///
/// # Errors
/// What the second kernel holds against one.
pub(super) fn report(design: &Design, made: &[Made]) -> Result<Vec<ClaspPartReport>, String> {
    made.iter().map(|m| ClaspPartReport::of(design, &m.part, &m.mesh)).collect()
}

/// The parts themselves.
pub(super) fn solids(made: &[Made]) -> Vec<&Part> {
    made.iter().map(|m| &m.part).collect()
}

/// A part with its mesh.
pub(super) fn find<'a>(made: &'a [Made], name: &str) -> Option<(&'a Part, &'a Checked)> {
    made.iter().find(|m| m.part.name == name).map(|m| (&m.part, &m.mesh))
}

/// What the plan weighs of them; `None` where a part of it was not built.
pub(super) fn mass(made: &[Made]) -> Option<ClaspMass> {
    let of = |name: &str| find(made, name).map(|m| m.1.exact);
    Some(ClaspMass {
        frame: of("clasp.frame")?,
        plate: of("clasp.plate")?,
        leaf: of("clasp.leaf")?,
        strip: of("clasp.strip.front")?,
    })
}

/// The parts alone.
pub(super) fn parts(made: &[Made]) -> Vec<&Part> {
    made.iter().map(|m| &m.part).collect()
}

/// As the page shows them.
pub(super) fn on_page(design: &Design, made: &[Made]) -> Option<crate::papers::page::Clasp> {
    let parts: Vec<_> =
        made.iter().map(|m| crate::papers::page::ClaspPartMesh { part: &m.part, mesh: &m.mesh }).collect();
    crate::papers::page::Clasp::of(design, &parts)
}

/// One file: name, bytes, what it is.
type File = (String, Vec<u8>, &'static str);

/// Their files.
///
/// # Errors
/// What could not be written or drawn.
pub(super) fn files(
    design: &Design,
    made: &[Made],
    [stl, cad, drawn]: [bool; 3],
    look: (Material, Option<usize>),
    mesh_bytes: impl Fn(&mesh::TriMesh) -> Result<Vec<u8>, String>,
) -> Result<Vec<File>, String> {
    let mut out: Vec<File> = Vec::new();
    for m in made {
        if stl {
            out.push((format!("{}.finished.stl", m.part.name), mesh_bytes(&m.mesh.mesh.mesh)?, m.part.title));
        }
        if cad {
            let text = step::write(&m.part.solid, m.part.name);
            out.push((format!("{}.step", m.part.name), text.into_bytes(), m.part.title));
        }
    }
    let whole = ["clasp.plate", "clasp.leaf", "clasp.frame"];
    if drawn && whole.iter().all(|n| made.iter().any(|m| m.part.name == *n)) {
        for (name, pose, what) in [
            ("clasp.shut.png", Pose::Straight, "picture of the clasp shut"),
            ("clasp.open.png", Pose::Open(OPEN), "picture of the clasp opening"),
        ] {
            out.push((name.to_owned(), picture(design, made, pose, look)?, what));
        }
    }
    Ok(out)
}

fn picture(
    design: &Design,
    made: &[Made],
    pose: Pose,
    (material, pixels): (Material, Option<usize>),
) -> Result<Vec<u8>, String> {
    let (wide, high) = make::sized(PICTURE, pixels);
    let tolerance = Tolerance::new(0.004);
    let mut bodies = Vec::new();
    for piece in pieces(design, pose) {
        for m in made.iter().filter(|m| m.part.name == piece.part) {
            let edges = tolerance.map_or_else(Vec::new, |t| feature_edges(&m.part.solid, t));
            let body = Body::new(&m.mesh.mesh.mesh, Some(&m.part.solid), material).with_edges(edges);
            bodies.push(body.at(isometry(&piece.frame)));
        }
    }
    render(&Scene { bodies }, &View::ThreeQuarter.camera(), wide, high, 2)
        .and_then(|i| i.png())
        .map_err(|e| e.to_string())
}
