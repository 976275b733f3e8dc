//! What the pattern's process and the foundry ask of a master: one finding each.

use crate::params::{Design, Key};
use crate::parts::clasp::FrameMaster;
use crate::parts::link::{Bores, End, Master};
use crate::trade::limits::{self, Source, State, WallLimit};
use crate::trade::processes::Process;
use crate::walls::Judgement;
use serde::Serialize;

/// One rule applied to a master.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judged {
    /// In bench words.
    pub title: &'static str,
    /// What it says.
    pub verdict: Judgement,
    /// Value, mm.
    pub value_mm: f64,
    /// Least value, mm.
    pub least_mm: f64,
    /// Where the limit comes from.
    pub source: &'static str,
    /// Parameter to change.
    pub change: &'static str,
}

/// Dust of binary fractions.
const DUST: f64 = 1e-9;
const FOUNDRY: &str = "as cast; common practice or proposal, a foundry's own list goes before it";

/// The process of a design.
#[must_use]
pub fn process(design: &Design) -> Process {
    design.own().process(design.word(Key::MasterProcess))
}

fn one(title: &'static str, value: f64, least: f64, source: &'static str, change: &'static str) -> Judged {
    let verdict = if value >= least - DUST { Judgement::Pass } else { Judgement::Fail };
    Judged { title, verdict, value_mm: value, least_mm: least, source, change }
}

/// Least thickness as cast, mm, and where it comes from.
fn cast(design: &Design, limit: &WallLimit) -> (f64, &'static str) {
    let (least, _, source) = design.own().wall(limit, State::AsCast);
    (least.get(), if source == Source::BenchFile { source.words() } else { FOUNDRY })
}

/// Every rule of the clasp's frame, not yet enlarged; what its collets share with the link stands there.
#[must_use]
pub fn judged_frame(design: &Design, frame: &FrameMaster) -> Vec<Judged> {
    let p = process(design);
    let [cheek, rail] = frame.cheek_and_rail();
    let ((c, from_c), (r, from_r)) = (cast(design, &limits::CHEEK), cast(design, &limits::RAIL));
    vec![
        one("cheek of the clasp as cast", cheek, c, from_c, "clasp.cheek"),
        one("cheek of the clasp for the process", cheek, p.wall, p.source, "clasp.cheek"),
        one("rail of the clasp as cast", rail, r, from_r, "clasp.rail_width"),
        one("rail of the clasp for the process", rail, p.wall, p.source, "clasp.rail_width"),
    ]
}

/// Every rule, for a master that is not yet enlarged.
#[must_use]
pub fn judged(design: &Design, master: &Master) -> Vec<Judged> {
    let p = process(design);
    let s = master.shape();
    let mut out = Vec::new();
    let mut rule = |title, value, (least, source): (f64, &'static str), change| {
        out.push(one(title, value, least, source, change));
    };
    rule("wall of the collet for the process", s.wall.get(), (p.wall, p.source), "collet.wall");
    rule("wall of the collet as cast", s.wall.get(), cast(design, &limits::COLLET_SKIN), "collet.wall");
    rule("claws for the process", s.claw.diameter.get(), (p.pin, p.source), "claw.diameter");
    rule("claws as cast", s.claw.diameter.get(), cast(design, &limits::CLAW), "claw.diameter");
    rule("rim land as cast", s.rim_land.get(), cast(design, &limits::RIM_LAND), "seat.rim_land");
    let (seat, _) = s.seat_foot();
    let over = seat.get() - s.opening.top.get();
    rule("metal over the opening as cast", over, cast(design, &limits::OVER_OPENING), "opening.top");
    let narrow = (s.opening.top - s.opening.bottom).get().min(s.opening.width.get());
    rule("opening for the process", narrow, (p.gap, p.source), "opening.width");
    if let Some(f) = &s.foot {
        rule("light hole for the process", f.light.get(), (p.hole, p.source), "collet.light_hole");
    }
    for end in &s.ends {
        if let End::Loop(j) = end {
            rule("groove for the process", j.groove_width.get(), (p.gap, p.source), "joint.groove_width");
            if master.bores() == Bores::Open {
                rule("bore for the process", j.bore_width.get(), (p.hole, p.source), "master.bores");
            }
            break;
        }
    }
    if let Some(d) = master.pilot() {
        rule("pilot hole for the process", d.get(), (p.hole, p.source), "master.bores");
    }
    out
}

/// What is never printed or cast in place, in words for the sheet.
pub const NEVER_IN_PLACE: &str = "Never print or cast in place: two links in one another, knuckles on a pin, a wire loop in its bores, \
the leaf in the clasp, the chain. Every casting on its own sprue.";

/// Where the sprue goes on a link.
pub const SPRUE: &str = "Sprue on the underside edge of one end wall, where it is filed away with the groove. Not on claws, rim, openings, \
knuckles or a bore. Section of the sprue 70 to 150 % of the section it joins (World Gold Council, Gold Technology, which itself calls \
the rule of little use): your own practice goes before it.";
