//! What is laid beside the bench or opened in a browser: the sheet and the page.

use super::args::{Make, PaperSize, Product};
use super::work::Work;
use super::{clasp, make};
use crate::papers::sheet::{self, Drawing, Paper, Subject, Title};
use crate::papers::{line_picture, page, picture};
use crate::params::Design;
use crate::plan::bench::Bench;
use crate::plan::form::Chapter;
use crate::plan::{self};
use crate::units::Tolerance;
use crate::walls::Judgement;
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

/// Lays the sheet out.
pub(super) fn drawing(
    design: &Design,
    made: &Work,
    revision: &str,
    paper: PaperSize,
    date: Option<&str>,
) -> Result<Drawing, String> {
    let subject = Subject {
        design,
        solid: &made.built.solid,
        mesh: &made.mesh.mesh.mesh,
        wear: &made.report.walls.wear_points,
    };
    let title = Title {
        date: date.unwrap_or_default().to_owned(),
        revision: revision.to_owned(),
        verdict: match made.report.verdict {
            Judgement::Pass => "pass",
            Judgement::Fail => "fail",
            Judgement::Unverified => "unverified",
        },
        state: made.report.state,
        program: made.report.program.clone(),
    };
    let paper = match paper {
        PaperSize::A4 => Paper::A4,
        PaperSize::Letter => Paper::Letter,
    };
    sheet::sheet(&subject, &title, paper)
        .ok_or_else(|| format!("the views of the link do not fit a sheet of {}", paper.name()))
}

/// The sheet in both forms.
pub(super) fn sheet_files(drawing: &Drawing, program: &str) -> Vec<Made> {
    vec![
        ("link.sheet.svg".into(), sheet::to_svg(drawing), "bench sheet, drawing"),
        ("link.sheet.pdf".into(), sheet::to_pdf(drawing, program), "bench sheet, to print at 100 %"),
    ]
}

/// The folding clasp with every part built; why not, where one is refused; `None` where it is a bought one.
type BuiltClasp = Option<Result<Vec<clasp::Made>, String>>;

fn build_clasp(design: &Design, tolerance: Tolerance) -> BuiltClasp {
    design.dims().clasp.as_ref()?;
    Some(clasp::build(design, &clasp::every(design), tolerance))
}

/// The folding clasp for the page.
pub(super) fn clasp_of(design: &Design, tolerance: Tolerance) -> Option<Result<page::Clasp, String>> {
    shown(design, &build_clasp(design, tolerance))
}

fn shown(design: &Design, built: &BuiltClasp) -> Option<Result<page::Clasp, String>> {
    match built.as_ref()? {
        Ok(made) => clasp::on_page(design, made).map(Ok),
        Err(e) => Some(Err(e.clone())),
    }
}

/// The plan for the page, with nothing known of what the maker has and pays, the clasp weighed by estimate.
pub(super) fn plan_of(design: &Design, made: &Work) -> Vec<Chapter> {
    // Prices stay at the bench: the page may go to the client.
    let bench = Bench { own: Arc::clone(design.own()), ..Bench::default() };
    let plan = plan::plan(design, &bench, made.mesh.exact, None);
    plan::sheet::chapters(&plan)
}

/// The page as a file.
fn page(
    design: &Design,
    made: &Work,
    revision: &str,
    sheet: &Drawing,
    clasp: &BuiltClasp,
) -> Result<String, String> {
    let svg = String::from_utf8(sheet::to_svg(sheet)).map_err(|e| e.to_string())?;
    let subject = page::Subject {
        design,
        solid: &made.built.solid,
        mesh: &made.mesh,
        report: &made.report,
        revision,
        sheet: &svg,
        plan: &plan_of(design, made),
        clasp: shown(design, clasp),
    };
    page::write(&page::Data::of(&subject))
}

/// The line on the wrist and the joint pulled apart. Without its clasp where that cannot be built.
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
    Ok(out)
}

/// The papers that are asked for.
pub(super) fn files(a: &Make, design: &Design, revision: &str, made: &Work) -> Result<Vec<Made>, String> {
    let link = a.common.link();
    let only = |p: Product| link && (a.only.is_empty() || a.only.contains(&p));
    let (sheet, with_page) = (only(Product::Sheet), only(Product::Page));
    let pictures = a.only.contains(&Product::Pictures);
    let clasp = if with_page || pictures { build_clasp(design, a.common.tolerance) } else { None };
    let mut out = Vec::new();
    if pictures {
        out.extend(line_pictures(design, made, &clasp, a.pixels)?);
    }
    if sheet || with_page {
        let drawing = drawing(design, made, revision, a.paper, a.date.as_deref())?;
        if sheet {
            out.extend(sheet_files(&drawing, &made.report.program));
        }
        if with_page {
            let page = page(design, made, revision, &drawing, &clasp)?;
            out.push(("page.html".into(), page.into_bytes(), "all of it for a browser, without a network"));
        }
    }
    Ok(out)
}
