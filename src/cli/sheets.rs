//! The set of bench sheets of a design: the link, the parts of the clasp, the plan of the job.

use super::args::PaperSize;
use super::clasp;
use super::papers::{BuiltClasp, Made};
use super::work::Work;
use crate::papers::sheet::{self, Drawing, Page, Paper, PartSubject, Subject, Title};
use crate::params::Design;
use crate::plan::form::{Chapter, Item};
use crate::walls::Judgement;

/// What the title blocks say beside the design.
pub(super) struct About<'a> {
    /// Revision of the file.
    pub(super) revision: &'a str,
    /// Paper.
    pub(super) paper: PaperSize,
    /// Date as the user gave it.
    pub(super) date: Option<&'a str>,
}

/// A sheet: stem of its file, drawing.
pub(super) type Sheet = (String, Drawing);

/// Parts of the clasp that have a sheet of their own, in order.
const PARTS: [&str; 3] = ["clasp.frame", "clasp.plate", "clasp.leaf"];

/// Lays all sheets out. A clasp that cannot be built has none, and the first of the plan says why.
pub(super) fn all(
    design: &Design,
    made: &Work,
    (clasp, plan): (&BuiltClasp, &[Chapter]),
    about: &About,
) -> Result<Vec<Sheet>, String> {
    let (title, paper) = (title(made, about), paper(about));
    let parts: Vec<_> = match clasp {
        Some(Ok(c)) => PARTS.iter().filter_map(|n| clasp::find(c, n)).collect(),
        _ => Vec::new(),
    };
    let mut plan = plan.to_vec();
    if let Some(Err(e)) = clasp {
        let why = Item::Finding(format!("The clasp has no sheets: {e}."));
        match plan.iter_mut().find(|c| c.title == "To settle first") {
            Some(c) => c.items.push(why),
            None => plan.insert(0, Chapter { title: "To settle first", items: vec![why] }),
        }
    }
    let first = parts.len() + 2;
    // How many pages the plan takes does not depend on their numbers.
    let of = first - 1 + sheet::job_sheets(design, &plan, &title, (first, first), paper).len();
    let mut out = vec![("link.sheet".to_owned(), link_of(design, made, &title, of, paper)?)];
    for (number, (part, mesh)) in (2..).zip(parts) {
        let subject = PartSubject { design, part, mesh: &mesh.mesh.mesh };
        let page = Page { part: part.title, number, of };
        let drawing =
            sheet::part_sheet(&subject, &title, &page, paper).ok_or_else(|| unfit(part.title, paper))?;
        out.push((format!("{}.sheet", part.name), drawing));
    }
    let jobs = sheet::job_sheets(design, &plan, &title, (first, of), paper);
    for (k, drawing) in (1..).zip(jobs) {
        let stem = if k == 1 { "job.sheet".to_owned() } else { format!("job.sheet.{k}") };
        out.push((stem, drawing));
    }
    Ok(out)
}

/// The sheet of the link alone.
pub(super) fn link(design: &Design, made: &Work, about: &About) -> Result<Drawing, String> {
    link_of(design, made, &title(made, about), 1, paper(about))
}

fn link_of(design: &Design, made: &Work, title: &Title, of: usize, paper: Paper) -> Result<Drawing, String> {
    let subject = Subject {
        design,
        solid: &made.built.solid,
        mesh: &made.mesh.mesh.mesh,
        wear: &made.report.walls.wear_points,
    };
    let page = Page { part: "link", number: 1, of };
    sheet::sheet(&subject, title, &page, paper).ok_or_else(|| unfit("link", paper))
}

fn unfit(part: &str, paper: Paper) -> String {
    format!("the views of the {part} do not fit a sheet of {}", paper.name())
}

fn paper(about: &About) -> Paper {
    match about.paper {
        PaperSize::A4 => Paper::A4,
        PaperSize::Letter => Paper::Letter,
    }
}

fn title(made: &Work, about: &About) -> Title {
    Title {
        date: about.date.unwrap_or_default().to_owned(),
        revision: about.revision.to_owned(),
        verdict: match made.report.verdict {
            Judgement::Pass => "pass",
            Judgement::Fail => "fail",
            Judgement::Unverified => "unverified",
        },
        state: made.report.state,
        program: made.report.program.clone(),
    }
}

/// The sheets in both forms.
pub(super) fn files(sheets: &[Sheet], program: &str) -> Vec<Made> {
    let mut out: Vec<Made> = sheets
        .iter()
        .map(|(stem, d)| (format!("{stem}.svg"), sheet::to_svg(d), "bench sheet, drawing"))
        .collect();
    let pages: Vec<&Drawing> = sheets.iter().map(|s| &s.1).collect();
    out.push(("sheets.pdf".into(), sheet::to_pdf(&pages, program), "all bench sheets, to print at 100 %"));
    out
}

/// The sheets as SVG text.
pub(super) fn svg(sheets: &[Sheet]) -> Vec<String> {
    sheets.iter().map(|s| String::from_utf8_lossy(&sheet::to_svg(&s.1)).into_owned()).collect()
}
