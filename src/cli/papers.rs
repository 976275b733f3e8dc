//! What is laid beside the bench or opened in a browser: the sheet and the page.

use super::args::{Make, PaperSize, Part, Product};
use super::work::Work;
use crate::papers::page;
use crate::papers::sheet::{self, Drawing, Paper, Subject, Title};
use crate::params::Design;
use crate::walls::Judgement;
use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;

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

/// What the page shows of a run.
pub(super) fn page_subject<'a>(
    design: &'a Design,
    made: &'a Work,
    revision: &'a str,
    sheet: &'a str,
) -> page::Subject<'a> {
    page::Subject {
        design,
        solid: &made.built.solid,
        mesh: &made.mesh.mesh.mesh,
        report: &made.report,
        revision,
        sheet,
    }
}

/// The page as a file.
pub(super) fn page(design: &Design, made: &Work, revision: &str, sheet: &Drawing) -> Result<String, String> {
    let svg = String::from_utf8(sheet::to_svg(sheet)).map_err(|e| e.to_string())?;
    page::write(&page::Data::of(&page_subject(design, made, revision, &svg)))
}

/// The papers that are asked for.
pub(super) fn files(a: &Make, design: &Design, revision: &str, made: &Work) -> Result<Vec<Made>, String> {
    let link = a.common.parts().contains(&Part::Link);
    let only = |p: Product| link && (a.only.is_empty() || a.only.contains(&p));
    let (sheet, with_page) = (only(Product::Sheet), only(Product::Page));
    let mut out = Vec::new();
    if sheet || with_page {
        let drawing = drawing(design, made, revision, a.paper, a.date.as_deref())?;
        if sheet {
            out.extend(sheet_files(&drawing, &made.report.program));
        }
        if with_page {
            let page = page(design, made, revision, &drawing)?;
            out.push(("page.html".into(), page.into_bytes(), "all of it for a browser, without a network"));
        }
    }
    Ok(out)
}
