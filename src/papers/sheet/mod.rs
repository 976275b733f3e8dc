//! The bench sheet: views, sections and details with the dimensions that matter at the bench, in true scale beside a
//! check ruler, with tables and a title block, on one page.
//!
//! Lines after ISO 128-2 (group 0.35), dimensions after ISO 129-1, lettering heights after ISO 3098-1, scales after
//! ISO 5455, frame after ISO 5457, third angle projection after ISO 5456-2, general tolerances after ISO 2768-1 (all
//! from memory).

mod font;
mod ink;
mod layout;
mod measure;
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
pub use views::Subject;

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

/// Lays a link out on one sheet. `None` where its views do not fit the paper even at 1:1, which no link of the ranges does.
#[must_use]
pub fn sheet(subject: &Subject, title: &Title, paper: Paper) -> Option<Drawing> {
    layout::sheet(subject, &views::Views::of(subject)?, title, paper)
}

/// The drawing as SVG.
#[must_use]
pub fn to_svg(d: &Drawing) -> Vec<u8> {
    svg::write(d).into_bytes()
}

/// The drawing as PDF.
#[must_use]
pub fn to_pdf(d: &Drawing, program: &str) -> Vec<u8> {
    pdf::write(d, program)
}
