//! Builds what the desk asks for, the quickest first; what a newer change has overtaken is dropped.

use super::desk::Desk;
use crate::cli::args::PaperSize;
use crate::cli::papers;
use crate::cli::work::{Wanted, work_seen};
use crate::papers::page;
use crate::params::Design;
use crate::units::Tolerance;
use std::sync::Arc;

/// Greatest distance of what is shown from the exact solid, mm: that of the files that `make` writes.
const CHORD: f64 = 0.005;

/// Builds for as long as the program runs.
pub(super) fn build(desk: &Desk) {
    let mut done = 0;
    loop {
        let (turn, design, revision) = desk.next(done);
        done = turn;
        if let Err(why) = one(desk, turn, &design, &revision) {
            desk.put(turn, |s| s.refuse(why));
        }
    }
}

fn one(desk: &Desk, turn: u64, design: &Arc<Design>, revision: &str) -> Result<(), String> {
    let tolerance = Tolerance::new(CHORD).ok_or("no tolerance")?;
    let wanted = Wanted { trial: false, places: 0 };
    let made = work_seen(design, tolerance, wanted, &|built, mesh| {
        let shape = page::shape_json(design, &built.solid, mesh);
        desk.put(turn, |s| s.solid(Arc::new(built.clone()), shape));
    })
    .map_err(|e| e.to_string())?;
    if !desk.put(turn, |s| s.walls(&made.report)) {
        return Ok(());
    }
    let drawing = papers::drawing(design, &made, revision, PaperSize::A4, None)?;
    let svg = String::from_utf8(crate::papers::sheet::to_svg(&drawing)).map_err(|e| e.to_string())?;
    let plan = papers::plan_of(design, &made);
    if !desk.put(turn, |s| s.paper(svg, &plan)) {
        return Ok(());
    }
    let clasp = papers::clasp_of(design, tolerance).as_ref().map(page::clasp_json);
    desk.put(turn, |s| s.clasp(clasp));
    Ok(())
}
