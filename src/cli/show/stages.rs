//! Builds what the desk asks for, the quickest first; what a newer change has overtaken is dropped.
//!
//! Two threads: one takes each change as far as its verdict, the other draws, plans and builds the clasp after it, a part at a
//! time, so that a newer change waits for none of that.

use super::desk::Desk;
use crate::cli::args::PaperSize;
use crate::cli::work::{Wanted, Work, work_seen};
use crate::cli::{clasp, papers, sheets};
use crate::papers::page;
use crate::params::Design;
use crate::units::Tolerance;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender};

/// Greatest distance of what is shown from the exact solid, mm: that of the files that `make` writes.
const CHORD: f64 = 0.005;

/// A change whose verdict is known.
pub(super) struct Judged {
    turn: u64,
    design: Arc<Design>,
    revision: String,
    made: Work,
}

/// Takes changes to their verdicts for as long as the program runs.
pub(super) fn judge(desk: &Desk, then: &Sender<Judged>) {
    let mut done = 0;
    loop {
        let (turn, design, revision) = desk.next(done);
        done = turn;
        match judged(desk, turn, &design) {
            Ok(Some(made)) => {
                // Whoever takes it lives as long as this thread.
                let _ = then.send(Judged { turn, design, revision, made });
            }
            Ok(None) => {}
            Err(why) => {
                desk.put(turn, |s| s.refuse(why));
            }
        }
    }
}

fn judged(desk: &Desk, turn: u64, design: &Arc<Design>) -> Result<Option<Work>, String> {
    let tolerance = Tolerance::new(CHORD).ok_or("no tolerance")?;
    let wanted = Wanted { trial: false, places: 0, map: false };
    let made = work_seen(design, tolerance, wanted, &|built, mesh| {
        let shape = page::shape_json(design, &built.solid, mesh);
        desk.put(turn, |s| s.solid(Arc::new(built.clone()), shape));
    })
    .map_err(|e| e.to_string())?;
    Ok(desk.put(turn, |s| s.walls(&made.report)).then_some(made))
}

/// Makes the rest of the newest change for as long as changes come.
pub(super) fn rest(desk: &Desk, from: &Receiver<Judged>) {
    while let Ok(mut job) = from.recv() {
        while let Ok(newer) = from.try_recv() {
            job = newer;
        }
        if let Err(why) = drawn(desk, &job) {
            desk.put(job.turn, |s| s.refuse(why));
        }
    }
}

fn drawn(desk: &Desk, job: &Judged) -> Result<(), String> {
    let Judged { turn, design, revision, made } = job;
    let tolerance = Tolerance::new(CHORD).ok_or("no tolerance")?;
    let about = sheets::About { revision, paper: PaperSize::A4, date: None };
    let link = sheets::svg(&[("link".to_owned(), sheets::link(design, made, &about)?)]).concat();
    if !desk.put(*turn, |s| s.paper(&link)) {
        return Ok(());
    }
    let mut built: papers::BuiltClasp = design.dims().clasp.as_ref().map(|_| Ok(Vec::new()));
    for part in clasp::every(design) {
        if !desk.stands(*turn) {
            return Ok(());
        }
        let one = clasp::build(design, &[part], tolerance);
        built = built.map(|b| b.and_then(|b| Ok(b.into_iter().chain(one?).collect())));
    }
    let clasp_shown = papers::shown(design, &built).as_ref().map(page::clasp_json);
    let parts = match &built {
        Some(Ok(made)) => {
            Some((Arc::clone(design), Arc::new(clasp::parts(made).into_iter().cloned().collect())))
        }
        _ => None,
    };
    if !desk.put(*turn, |s| s.clasp(clasp_shown, parts)) {
        return Ok(());
    }
    let plan = papers::plan_of(design, made, &built);
    let set = sheets::all(design, made, (&built, &plan), &about)?;
    let svg = sheets::svg(&set);
    desk.put(*turn, |s| s.job(&svg, &plan));
    Ok(())
}
