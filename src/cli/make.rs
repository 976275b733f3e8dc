//! `make` and `check`.

use super::args::{Check, Color, Common, Format, Make, Product};
use super::clasp;
use super::files::{self, FileError};
use super::progress::patiently;
use super::summary::{Paint, summary};
use super::work::{Wanted, Work, work};
use super::{Ended, mesh_check, papers, problems};
use crate::masters::{step, stl};
use crate::papers::motion_report::MotionReport;
use crate::papers::picture::{Body, Material, Scene, View, feature_edges, render, wall_picture};
use crate::papers::report::FileEntry;
use crate::papers::whole::whole;
use crate::params::{self, Design, LARGEST_FILE, Problem};
use crate::parts::clasp::ClaspPart;
use crate::plan::bench::Bench;
use crate::solid::Solid;
use crate::units::Tolerance;
use crate::walls::Judgement;
use std::io::IsTerminal as _;
use std::path::Path;

/// Size of the picture, pixels.
pub(super) const PICTURE: (usize, usize) = (1200, 900);
/// Size of the picture of the walls, pixels.
const WALLS: (usize, usize) = (1600, 820);

/// Thin places listed where nothing else is asked for.
pub(super) const PLACES: usize = 5;

/// Runs `make`.
pub(super) fn make(a: &Make, color: Color, quiet: bool) -> Ended {
    let only = |p: Product| a.only.is_empty() || a.only.contains(&p);
    let (design, revision) = match revised(&a.common, color) {
        Ok(d) => d,
        Err(ended) => return ended,
    };
    let wanted = Wanted {
        trial: only(Product::Stl),
        places: if only(Product::Walls) { a.thinnest.unwrap_or(PLACES) } else { 0 },
        map: only(Product::Page),
    };
    let made = patiently("building and measuring", quiet, || work(&design, a.common.tolerance, wanted));
    let mut made = match made {
        Ok(w) => w,
        Err(e) => return refused(&a.common, &e.to_string()),
    };
    if a.only.contains(&Product::Motion) {
        let measured = patiently("turning joint and clasp until they touch", quiet, || {
            MotionReport::measured(&design, &made.built)
        });
        match measured {
            Ok((motion, _)) => made.report.take_motion(motion),
            Err(e) => return refused(&a.common, &e),
        }
    }
    let good = made.report.verdict == Judgement::Pass;
    if !good && !a.anyway {
        let mut out = shown(&a.common, &made, None, color, quiet, a.thinnest.is_some());
        out.stderr
            .push_str("No part was written: a binding rule is not met. --anyway writes them all the same.\n");
        return out;
    }
    made.report.anyway = !good;
    let asked = if a.common.part.is_empty() { clasp::cast(&design) } else { clasp::wanted(&a.common.part) };
    let of_clasp = match build_clasp(&design, &asked, &a.common, &mut made, quiet) {
        Ok(c) => c,
        Err(e) => return refused(&a.common, &e),
    };
    let link = a.common.link();
    let parts = patiently("writing and drawing", quiet, || {
        parts(&design, &mut made, &only, (&of_clasp, a.pixels), link, &|w| {
            papers::files(a, &design, &revision, w, &of_clasp)
        })
    });
    let parts = match parts {
        Ok(p) => p,
        Err(e) => return refused(&a.common, &e),
    };
    let folder = a.out.clone().unwrap_or_else(|| {
        Path::new("out").join(a.common.file.file_stem().unwrap_or_else(|| "design".as_ref()))
    });
    match files::write_all(&folder, &parts) {
        Ok(()) => shown(&a.common, &made, Some(&folder), color, quiet, a.thinnest.is_some()),
        Err(e) => unwritten(&e),
    }
}

/// Runs `check`.
pub(super) fn check(a: &Check, color: Color, quiet: bool) -> Ended {
    if mesh_check::is_mesh(&a.common.file) {
        return mesh_check::check(a, color, quiet);
    }
    if a.min_wall.is_some() {
        let why =
            "--min-wall is for meshes (.stl, .3mf); the limits of a parameter file are rules of their own";
        return refused(&a.common, why);
    }
    let design = match design(&a.common, color) {
        Ok(d) => d,
        Err(ended) => return ended,
    };
    let wanted = Wanted { trial: true, places: a.thinnest.unwrap_or(PLACES), map: false };
    match patiently("building and measuring", quiet, || work(&design, a.common.tolerance, wanted)) {
        Ok(mut w) => {
            let asked =
                if a.common.part.is_empty() { clasp::every(&design) } else { clasp::wanted(&a.common.part) };
            match build_clasp(&design, &asked, &a.common, &mut w, quiet) {
                Ok(c) if a.whole => {
                    let parts = clasp::solids(&c);
                    let count = a.thinnest.unwrap_or(PLACES);
                    let link = &w.built.solid;
                    let found =
                        patiently("measuring the whole", quiet, || whole(&design, link, &parts, count));
                    match found {
                        Ok(found) => {
                            w.report.walls.whole = Some(found);
                            shown(&a.common, &w, None, color, quiet, a.thinnest.is_some())
                        }
                        Err(e) => refused(&a.common, &e),
                    }
                }
                Ok(_) => shown(&a.common, &w, None, color, quiet, a.thinnest.is_some()),
                Err(e) => refused(&a.common, &e),
            }
        }
        Err(e) => refused(&a.common, &e.to_string()),
    }
}

/// The parts of the clasp that are asked for, told in the report.
fn build_clasp(
    design: &Design,
    wanted: &[ClaspPart],
    a: &Common,
    made: &mut Work,
    quiet: bool,
) -> Result<Vec<clasp::Made>, String> {
    if wanted.is_empty() {
        return Ok(Vec::new());
    }
    let built = patiently("building the clasp", quiet, || clasp::build(design, wanted, a.tolerance))?;
    if let Some(section) = &mut made.report.clasp {
        section.parts = clasp::report(design, &built)?;
    }
    Ok(built)
}

/// Reads and checks the file.
pub(super) fn design(a: &Common, color: Color) -> Result<Design, Ended> {
    revised(a, color).map(|d| d.0)
}

/// Reads and checks the file; also gives its revision.
fn revised(a: &Common, color: Color) -> Result<(Design, String), Ended> {
    let bench = super::plan::bench(a.bench.as_deref(), painted(color, std::io::stderr().is_terminal()))?;
    read_revised(&a.file, &bench, a.format == Format::Json, color)
}

/// Reads and checks a parameter file, to be judged by the maker's own tables; what is wrong as text or as JSON.
pub(super) fn read_design(
    file: &Path,
    bench: Option<&Path>,
    as_json: bool,
    color: Color,
) -> Result<Design, Ended> {
    let bench = super::plan::bench(bench, painted(color, std::io::stderr().is_terminal()))?;
    read_under(file, &bench, as_json, color)
}

/// The same with a bench file that has been read.
pub(super) fn read_under(file: &Path, bench: &Bench, as_json: bool, color: Color) -> Result<Design, Ended> {
    read_revised(file, bench, as_json, color).map(|d| d.0)
}

fn read_revised(file: &Path, bench: &Bench, as_json: bool, color: Color) -> Result<(Design, String), Ended> {
    let bytes = files::read(file, LARGEST_FILE as u64).map_err(|e| unwritten(&e))?;
    params::read_bytes(&bytes, &bench.own).map(|d| (d, papers::revision(&bytes))).map_err(|p| {
        if as_json {
            return Ended { code: 2, stdout: json(&problem_list(&p)), stderr: String::new() };
        }
        let text = String::from_utf8_lossy(&bytes);
        let paint = painted(color, std::io::stderr().is_terminal());
        // A file refused for its size or encoding has nothing to underline.
        let bare = p.iter().all(|p| p.code.starts_with("text.too") || p.code == "text.encoding");
        let text = if bare { "" } else { &text };
        let name = file.display().to_string();
        Ended { code: 2, stdout: String::new(), stderr: problems::render(&p, &name, text, paint, columns()) }
    })
}

fn problem_list(p: &[Problem]) -> serde_json::Value {
    serde_json::json!({ "verdict": "file", "problems": p })
}

pub(super) fn json(v: &impl serde::Serialize) -> String {
    // Our own types hold nothing that JSON cannot.
    serde_json::to_string_pretty(v).unwrap_or_default() + "\n"
}

pub(super) fn refused(a: &Common, why: &str) -> Ended {
    match a.format {
        Format::Json => {
            let v = serde_json::json!({ "verdict": "not_built", "problems": [{ "code": "build", "message": why }] });
            Ended { code: 2, stdout: json(&v), stderr: String::new() }
        }
        Format::Text => {
            Ended { code: 2, stdout: String::new(), stderr: format!("{}: {why}\n", a.file.display()) }
        }
    }
}

pub(super) fn unwritten(e: &FileError) -> Ended {
    Ended { code: 3, stdout: String::new(), stderr: format!("{e}\n") }
}

fn shown(a: &Common, w: &Work, folder: Option<&Path>, color: Color, quiet: bool, each: bool) -> Ended {
    let paint = Paint(painted(color, std::io::stdout().is_terminal()));
    let stdout = match a.format {
        Format::Json => json(&w.report),
        Format::Text => {
            summary(&w.report, folder.map(|f| f.display().to_string()).as_deref(), paint, quiet, each)
        }
    };
    let code = if w.report.verdict == Judgement::Pass { 0 } else { 1 };
    Ended { code, stdout, stderr: String::new() }
}

pub(super) fn painted(color: Color, terminal: bool) -> bool {
    match color {
        Color::Always => true,
        Color::Never => false,
        Color::Auto => terminal && std::env::var_os("NO_COLOR").is_none(),
    }
}

/// Width of the window; 80 where it does not say.
pub(super) fn columns() -> usize {
    std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok()).unwrap_or(80usize).clamp(40, 120)
}

/// Bytes of every file wanted, the report last.
fn parts(
    design: &Design,
    made: &mut Work,
    only: &dyn Fn(Product) -> bool,
    (of_clasp, pixels): (&[clasp::Made], Option<usize>),
    link: bool,
    of_paper: &dyn Fn(&Work) -> Result<Vec<papers::Made>, String>,
) -> Result<Vec<(String, Vec<u8>)>, String> {
    let mut out: Vec<(String, Vec<u8>, &'static str)> = Vec::new();
    let asked = [Product::Stl, Product::Step, Product::Picture].map(only);
    let only = |p: Product| link && only(p);
    if only(Product::Stl) {
        let finished = mesh_bytes(&made.mesh.mesh.mesh)?;
        out.push(("link.finished.stl".into(), finished, "the link as worn, mm"));
        if let Some(t) = &made.trial {
            out.push(("link.trial.stl".into(), mesh_bytes(&t.mesh.mesh)?, "test link for the printer, mm"));
        }
    }
    if only(Product::Step) {
        let text = step::write(&made.built.solid, "link");
        out.push(("link.step".into(), text.into_bytes(), "the exact solid for CAD, mm"));
    }
    if only(Product::Picture) {
        out.push(("link.png".into(), picture(design, made, pixels)?, "picture"));
    }
    if only(Product::Walls)
        && let Some(map) = &made.map
    {
        let first = made.report.walls.places.first().map(|p| p.place.at.map(nalgebra::Point3::from));
        let bytes = wall_picture(map, &made.built.solid, first, WALLS.0, WALLS.1)
            .and_then(|i| i.png())
            .map_err(|e| e.to_string())?;
        out.push(("link.walls.png".into(), bytes, "how thick the metal is, by colour"));
    }
    out.extend(of_paper(made)?);
    out.extend(clasp::files(design, of_clasp, asked, (material(design), pixels), mesh_bytes)?);
    for p in made.report.clasp.iter_mut().flat_map(|c| &mut c.parts) {
        let stem = format!("{}.", p.name);
        p.files = out.iter().map(|f| &f.0).filter(|n| n.starts_with(&stem)).cloned().collect();
    }
    made.report.files = out
        .iter()
        .map(|(name, bytes, what)| FileEntry { name: name.clone(), what, bytes: bytes.len() })
        .collect();
    let mut files: Vec<(String, Vec<u8>)> = out.into_iter().map(|(n, b, _)| (n, b)).collect();
    files.push(("report.json".into(), json(&made.report).into_bytes()));
    Ok(files)
}

/// STL bytes, read back by another reader before they count.
fn mesh_bytes(mesh: &crate::mesh::TriMesh) -> Result<Vec<u8>, String> {
    let bytes = stl::to_bytes(mesh).map_err(|e| e.to_string())?;
    stl::read_back(&bytes, mesh).map_err(|e| e.to_string())?;
    Ok(bytes)
}

/// The look of a design's metal.
pub(super) fn material(design: &Design) -> Material {
    let key = design.metal().key;
    if key.contains("yellow") || key.contains("rose") || key.contains("red") {
        Material::YellowGold
    } else if key.starts_with("silver") {
        Material::Silver
    } else {
        Material::Platinum
    }
}

fn picture(design: &Design, made: &Work, pixels: Option<usize>) -> Result<Vec<u8>, String> {
    drawn(design, &made.mesh.mesh.mesh, &made.built.solid, pixels)
}

/// Size of a picture asked for by its width, the shape kept.
pub(super) fn sized((wide, high): (usize, usize), pixels: Option<usize>) -> (usize, usize) {
    pixels.map_or((wide, high), |p| (p, (p * high / wide).max(1)))
}

/// A picture of a part in the design's metal.
pub(super) fn drawn(
    design: &Design,
    mesh: &crate::mesh::TriMesh,
    solid: &Solid,
    pixels: Option<usize>,
) -> Result<Vec<u8>, String> {
    let material = material(design);
    // Lines need be no finer than the picture: 2 um is a third of a pixel of a 4 mm link.
    let edges = Tolerance::new(0.002).map_or_else(Vec::new, |t| feature_edges(solid, t));
    let body = Body::new(mesh, Some(solid), material).with_edges(edges);
    let scene = Scene { bodies: vec![body] };
    let (wide, high) = sized(PICTURE, pixels);
    render(&scene, &View::ThreeQuarter.camera(), wide, high, 2)
        .and_then(|i| i.png())
        .map_err(|e| e.to_string())
}
