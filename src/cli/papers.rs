//! What is laid beside the bench or opened in a browser: the sheets and the page.

use super::args::{Make, Product};
use super::sheets;
use super::work::Work;
use super::{clasp, make};
use crate::papers::{clasp_picture, line_picture, page, picture};
use crate::params::Design;
use crate::parts::clasp::ClaspPart;
use crate::plan::bench::Bench;
use crate::plan::form::Chapter;
use crate::plan::{self};
use crate::units::Tolerance;
use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;
use std::sync::Arc;

/// A file to be written: name, bytes, what it is.
pub(super) type Made = (String, Vec<u8>, &'static str);

/// The first 16 hexadecimal digits of the SHA-256 of a parameter file, as `sha256sum` prints them.
pub(super) fn revision(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().take(8).fold(String::new(), |mut out, b| {
        let _ = write!(out, "{b:02x}");
        out
    })
}

/// The parts of the folding clasp; why not, where one is refused; `None` where it is a bought one.
pub(super) type BuiltClasp = Option<Result<Vec<clasp::Made>, String>>;

/// Parts of the clasp: those that were built already, the others now.
fn build_clasp(
    design: &Design,
    parts: &[ClaspPart],
    tolerance: Tolerance,
    have: &[clasp::Made],
) -> BuiltClasp {
    design.dims().clasp.as_ref()?;
    let mut out = Vec::new();
    for part in parts {
        match have.iter().find(|m| m.is(*part)) {
            Some(m) => out.push(m.clone()),
            None => match clasp::build(design, &[*part], tolerance) {
                Ok(mut made) => out.append(&mut made),
                Err(e) => return Some(Err(e)),
            },
        }
    }
    Some(Ok(out))
}

/// The folding clasp for the page.
pub(super) fn shown(design: &Design, built: &BuiltClasp) -> Option<Result<page::Clasp, String>> {
    match built.as_ref()? {
        Ok(made) => clasp::on_page(design, made).map(Ok),
        Err(e) => Some(Err(e.clone())),
    }
}

/// The plan, with nothing known of what the maker has and pays but the tables; the clasp is weighed by its solids where they are there.
pub(super) fn plan_of(design: &Design, made: &Work, clasp: &BuiltClasp) -> Vec<Chapter> {
    let mass = clasp.as_ref().and_then(|c| c.as_ref().ok()).and_then(|c| clasp::mass(c));
    // Prices stay at the bench: the page may go to the client.
    let bench = Bench { own: Arc::clone(design.own()), ..Bench::default() };
    let mut plan = plan::plan_with(design, &bench, made.mesh.exact, mass.as_ref(), None);
    if let Some(Err(e)) = clasp {
        let why = format!("The clasp is weighed by estimate: its solids cannot be built ({e}).");
        plan.metal.without.push(why);
    }
    plan::sheet::chapters(&plan)
}

/// The page as a file.
fn page(
    design: &Design,
    made: &Work,
    revision: &str,
    (sheets, plan): (&[String], &[Chapter]),
    clasp: &BuiltClasp,
) -> Result<String, String> {
    let subject = page::Subject {
        design,
        solid: &made.built.solid,
        mesh: &made.mesh,
        report: &made.report,
        revision,
        sheets,
        plan,
        map: made.map.as_ref().map(page::WallMap::of),
        clasp: shown(design, clasp),
    };
    page::write(&page::Data::of(&subject))
}

/// The line on the wrist, the joint pulled apart, the clasp in its states and its small parts. Without a clasp where that cannot be built.
fn line_pictures(
    design: &Design,
    made: &Work,
    built: &BuiltClasp,
    pixels: Option<usize>,
) -> Result<Vec<Made>, String> {
    let link = &made.built.solid;
    let metal = make::material(design);
    let parts = built.as_ref().and_then(|c| c.as_ref().ok()).map(|c| clasp::parts(c)).unwrap_or_default();
    let png = |i: picture::Image| i.png().map_err(|e| e.to_string());
    let line = line_picture::on_wrist(design, link, &parts, metal, make::sized(line_picture::LINE, pixels))
        .map_err(|e| e.to_string())?;
    let mut out = vec![("line.png".to_owned(), png(line)?, "picture of the line on a wrist")];
    if design.joints() == [true, true] {
        let joint = line_picture::joint_apart(design, link, metal, make::sized(line_picture::JOINT, pixels))
            .map_err(|e| e.to_string())?;
        out.push(("joint.png".to_owned(), png(joint)?, "picture of a joint pulled apart"));
    }
    if !parts.is_empty() {
        let size = make::sized(clasp_picture::CLASP, pixels);
        for (state, angle) in clasp_picture::STATES {
            let image = clasp_picture::clasp(design, link, &parts, metal, angle, size);
            let what = match state {
                "shut" => "picture of the clasp shut",
                "half" => "picture of the clasp half open",
                _ => "picture of the clasp open",
            };
            out.push((format!("line.{state}.png"), png(image.map_err(|e| e.to_string())?)?, what));
        }
        let small = clasp_picture::small(&parts, metal, size).map_err(|e| e.to_string())?;
        if let Some(image) = small {
            out.push(("catches.png".to_owned(), png(image)?, "side catches, pins and chain, laid out"));
        }
    }
    Ok(out)
}

/// The papers that are asked for; `have` are parts of the clasp that are there already.
pub(super) fn files(
    a: &Make,
    design: &Design,
    revision: &str,
    made: &Work,
    have: &[clasp::Made],
) -> Result<Vec<Made>, String> {
    let link = a.common.link();
    let only = |p: Product| link && (a.only.is_empty() || a.only.contains(&p));
    let (sheet, with_page) = (only(Product::Sheet), only(Product::Page));
    let pictures = a.only.contains(&Product::Pictures);
    let parts = if with_page || pictures { clasp::every(design) } else { clasp::weighed(design) };
    let clasp = if sheet || with_page || pictures {
        build_clasp(design, &parts, a.common.tolerance, have)
    } else {
        None
    };
    let mut out = Vec::new();
    if pictures {
        out.extend(line_pictures(design, made, &clasp, a.pixels)?);
    }
    if sheet || with_page {
        let plan = plan_of(design, made, &clasp);
        let about = sheets::About { revision, paper: a.paper, date: a.date.as_deref() };
        let set = sheets::all(design, made, (&clasp, &plan), &about)?;
        if sheet {
            out.extend(sheets::files(&set, &made.report.program));
        }
        if with_page {
            let page = page(design, made, revision, (&sheets::svg(&set), &plan), &clasp)?;
            out.push(("page.html".into(), page.into_bytes(), "all of it for a browser, without a network"));
        }
    }
    Ok(out)
}
