//! The bench sheets: views, sections and details with the dimensions that matter at the bench, in true scale beside a check
//! ruler, with a title block; one page for the link, one for each part of the clasp that a bench makes or finishes, and the
//! tables of the plan.
//!
//! Lines after ISO 128-2 (group 0.35), dimensions after ISO 129-1, lettering heights after ISO 3098-1, scales after
//! ISO 5455, frame after ISO 5457, third angle projection after ISO 5456-2, general tolerances after ISO 2768-1 (all
//! from memory).

mod block;
mod font;
mod ink;
mod job;
mod layout;
mod measure;
mod part_layout;
mod part_views;
mod pdf;
mod project;
mod section;
mod svg;
mod tables;
#[cfg(test)]
mod tests;
mod view;
mod views;

pub use ink::{Anchor, Drawing, Pen, Rect, Text};
pub use layout::Paper;
pub use part_views::PartSubject;
pub use views::Subject;

use crate::params::Design;
use crate::plan::form::Chapter;

/// What stands in the title block beside the design.
#[derive(Clone, Debug, Default)]
pub struct Title {
    /// Date as the user gave it; empty leaves a line to write on.
    pub date: String,
    /// First characters of the SHA-256 of the parameter file.
    pub revision: String,
    /// The verdict in one word.
    pub verdict: &'static str,
    /// What the files may be used for.
    pub state: &'static str,
    /// Program and version.
    pub program: String,
}

/// Which sheet of the set a page is.
#[derive(Clone, Copy, Debug)]
pub struct Page {
    /// What is drawn, in bench words.
    pub part: &'static str,
    /// Its number, from 1.
    pub number: usize,
    /// Of how many.
    pub of: usize,
}

/// Lays a link out on one sheet. `None` where its views do not fit the paper even at 1:1, which no link of the ranges does.
#[must_use]
pub fn sheet(subject: &Subject, title: &Title, page: &Page, paper: Paper) -> Option<Drawing> {
    layout::sheet(subject, &views::Views::of(subject)?, (title, page), paper)
}

/// Lays a part of the clasp out on one sheet. `None` as for [`sheet`].
#[must_use]
pub fn part_sheet(subject: &PartSubject, title: &Title, page: &Page, paper: Paper) -> Option<Drawing> {
    part_layout::sheet(subject, &part_views::PartViews::of(subject)?, (title, page), paper)
}

/// Chapters of a plan on as many sheets as they take, numbered from `first` of `of`.
#[must_use]
pub fn job_sheets(
    design: &Design,
    chapters: &[Chapter],
    title: &Title,
    (first, of): (usize, usize),
    paper: Paper,
) -> Vec<Drawing> {
    job::sheets(design, chapters, title, (first, of), paper)
}

/// The drawing as SVG.
#[must_use]
pub fn to_svg(d: &Drawing) -> Vec<u8> {
    svg::write(d).into_bytes()
}

/// Drawings as the pages of one PDF.
#[must_use]
pub fn to_pdf(pages: &[&Drawing], program: &str) -> Vec<u8> {
    pdf::write(pages, program)
}
