//! What process and foundry ask of a master: one finding each, with the faces it is about and what to change.
//!
//! Values are those of the exact solid before it is enlarged, so that a verdict never leans on a shrink that is not ours.

use crate::params::{Design, Key, Severity};
use crate::parts::clasp::FrameMaster;
use crate::parts::link::{Bores, DIMPLE, Dimension, End, Master, Outline};
use crate::trade::limits::{self, Source, State, WallLimit};
use crate::trade::own::Own;
use crate::trade::processes::{Limit, Process};
use crate::walls::Judgement;
use serde::Serialize;

/// One rule applied to a master.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judged {
    /// In bench words.
    pub title: &'static str,
    /// Whether it decides the verdict of the whole, or is told only.
    pub severity: Severity,
    /// What it says.
    pub verdict: Judgement,
    /// Value, mm.
    pub value_mm: f64,
    /// Least value, mm.
    pub least_mm: f64,
    /// Where the limit comes from.
    pub source: &'static str,
    /// Faces of the master that it is about, as they are named in its STEP file.
    pub faces: &'static [&'static str],
    /// Parameters to change.
    pub change: &'static [&'static str],
}

/// Dust of binary fractions.
const DUST: f64 = 1e-9;
const FOUNDRY: &str = "as cast; common practice or proposal, a foundry's own list goes before it";

/// The process of a design.
#[must_use]
pub fn process(design: &Design) -> Process {
    design.own().process(design.word(Key::MasterProcess))
}

/// Findings in the making.
struct Rules<'d> {
    process: Process,
    own: &'d Own,
    list: Vec<Judged>,
}

type Names = &'static [&'static str];

impl Rules<'_> {
    fn add(
        &mut self,
        severity: Severity,
        title: &'static str,
        value: f64,
        l: Limit,
        [faces, change]: [Names; 2],
    ) {
        let verdict = if value >= l.value - DUST { Judgement::Pass } else { Judgement::Fail };
        let (value_mm, least_mm, source) = (value, l.value, l.source);
        self.list.push(Judged { title, severity, verdict, value_mm, least_mm, source, faces, change });
    }
    fn process(&mut self, title: &'static str, value: f64, l: Limit, at: [Names; 2]) {
        self.add(Severity::Refuse, title, value, l, at);
    }
    /// A wall of the table of limits, as cast; nothing where nothing is cast.
    fn cast(&mut self, title: &'static str, value: f64, w: &WallLimit, at: [Names; 2]) {
        if self.process.cast {
            let (least, _, source) = self.own.wall(w, State::AsCast);
            let source = if source == Source::BenchFile { source.words() } else { FOUNDRY };
            let l = Limit { value: least.get(), source };
            self.add(Severity::Refuse, title, value, l, at);
        }
    }
    /// A hole: wide enough, and (a note) for its depth.
    fn hole(&mut self, [title, deep]: [&'static str; 2], width: f64, depth: f64, at: [Names; 2]) {
        let p = self.process;
        self.process(title, width, p.hole, at);
        let l = Limit { value: depth / p.deep.value, source: p.deep.source };
        self.add(Severity::Note, deep, width, l, at);
    }
    /// A hollow edge; a note, since the bur cuts it afterwards.
    fn edge(&mut self, title: &'static str, radius: f64, at: [Names; 2]) {
        self.add(Severity::Note, title, radius, self.process.edge, at);
    }
}

/// Size as cast of a named dimension, mm.
fn cast(list: &[Dimension], name: &str) -> Option<f64> {
    list.iter().find(|d| d.name == name).map(|d| d.cast)
}

/// Every rule of the clasp's frame, not yet enlarged; what its collets share with the link is judged there too, since the link may
/// have another route.
#[must_use]
pub fn judged_frame(design: &Design, frame: &FrameMaster) -> Vec<Judged> {
    let p = process(design);
    let mut r = Rules { process: p, own: design.own(), list: Vec::new() };
    let [cheek, rail] = frame.cheek_and_rail();
    let of = |name: &str| cast(&frame.dimensions, name);
    let at: [Names; 2] = [&["cheek.front", "cheek.back"], &["clasp.cheek", "master.polish.outside"]];
    r.cast("cheek of the clasp as cast", cheek, &limits::CHEEK, at);
    r.process("cheek of the clasp for the process", cheek, p.wall, at);
    let at: [Names; 2] = [&["rail.front", "rail.back"], &["clasp.rail_width"]];
    r.cast("rail of the clasp as cast", rail, &limits::RAIL, at);
    r.process("rail of the clasp for the process", rail, p.wall, at);
    if let Some(wall) = of("collet, wall") {
        let at: [Names; 2] = [&["stone1.collet.outside", "stone1.collet.inside"], &["collet.wall"]];
        r.process("wall of the clasp's collets for the process", wall, p.wall, at);
    }
    if let Some(d) = of("claw, diameter") {
        r.process(
            "claws of the clasp for the process",
            d,
            p.pin,
            [&["stone1.claw.1 to .4"], &["claw.diameter"]],
        );
    }
    // Closed altogether it is metal, to be sawn; a slit would fill and cannot be seen.
    if let Some(gap) = of("gap between two settings").filter(|g| *g > DUST) {
        r.process(
            "gap between two settings for the process",
            gap,
            p.gap,
            [&["stone1.claw.1", "stone2.claw.2"], &["clasp.gap", "master.polish.outside"]],
        );
    }
    if let Some(gap) = of("knuckles, between") {
        let at: [Names; 2] = [&["knuckle.front", "knuckle.back"], &["clasp.tube_row", "clasp.outer_share"]];
        r.process("room between the front knuckles for the process", gap, p.gap, at);
    }
    if let Some(gap) = of("lug groove, width") {
        r.process(
            "groove of the lug for the process",
            gap,
            p.gap,
            [&["lug.groove"], &["joint.groove_width"]],
        );
    }
    let eye = [&["eye"] as Names, &["chain.jump_wire"]];
    if let Some(d) = of("eye of the chain, hole") {
        r.process("eye of the chain for the process", d, p.hole, eye);
    }
    if Bores::of(design) == Bores::Dimple {
        mark(&mut r, &["bore.front", "tube.bore.front", "tube.bore.back"]);
    } else {
        let one = ["hinge bore of the clasp for the process", "hinge bore of the clasp for its depth"];
        if let (Some(d), Some(over), Some(between)) =
            (of("hinge bore"), of("knuckles, over both"), of("knuckles, between"))
        {
            r.hole(one, d, (over - between) / 2.0, [&["bore.front"], &["master.bores", "clasp.tube_bore"]]);
        }
        let one = ["bore of the lug for the process", "bore of the lug for its depth"];
        if let (Some(d), Some(deep)) = (of("lug bore"), of("lug, thickness")) {
            r.hole(one, d, deep, [&["lug.bore"], &["master.bores", "joint.bore_width"]]);
        }
        let one = ["side catch tube for the process", "side catch tube for its depth"];
        if let (Some(d), Some(deep)) = (
            of("side catch tube, bore").filter(|_| Bores::of(design) == Bores::Open),
            of("side catch tube, length"),
        ) {
            r.hole(
                one,
                d,
                deep,
                [&["tube.bore.front", "tube.bore.back"], &["master.bores", "clasp.side_catch.wire"]],
            );
        }
    }
    r.list
}

/// The mark for a drill: blind, so that its depth counts.
fn mark(r: &mut Rules<'_>, faces: Names) {
    let (wide, deep) = (DIMPLE.0.get(), DIMPLE.1.get());
    let one = ["mark for the drill for the process", "mark for the drill for its depth"];
    r.hole(one, wide, deep, [faces, &["master.bores"]]);
}

/// Every rule of the link, for a master that is not yet enlarged.
#[must_use]
pub fn judged(design: &Design, master: &Master) -> Vec<Judged> {
    let p = process(design);
    let s = master.shape();
    let mut r = Rules { process: p, own: design.own(), list: Vec::new() };
    let at: [Names; 2] = [&["collet.outside", "collet.inside"], &["collet.wall"]];
    r.process("wall of the collet for the process", s.wall.get(), p.wall, at);
    r.cast("wall of the collet as cast", s.wall.get(), &limits::COLLET_SKIN, at);
    let at: [Names; 2] = [&["claw.1 to claw.4"], &["claw.diameter"]];
    r.process("claws for the process", s.claw.diameter.get(), p.pin, at);
    r.cast("claws as cast", s.claw.diameter.get(), &limits::CLAW, at);
    let at: [Names; 2] = [&["collet.rim"], &["seat.rim_land"]];
    r.cast("rim land as cast", s.rim_land.get(), &limits::RIM_LAND, at);
    let (seat, _) = s.seat_foot();
    let over = seat.get() - s.opening.top.get();
    let at: [Names; 2] = [&["opening.front.roof", "opening.back.roof", "seat"], &["opening.top"]];
    r.cast("metal over the opening as cast", over, &limits::OVER_OPENING, at);
    let narrow = (s.opening.top - s.opening.bottom).get().min(s.opening.width.get());
    let at: [Names; 2] = [&["opening.front", "opening.back"], &["opening.width", "opening.top"]];
    r.process("opening for the process", narrow, p.gap, at);
    r.edge("corners of the opening", s.opening.corner.get(), [at[0], &["opening.bur"]]);
    if let Outline::Square { inner_corner, .. } = s.outline {
        let at: [Names; 2] = [
            &["collet.hollow.1", "collet.hollow.2", "collet.hollow.3", "collet.hollow.4"],
            &["collet.inner_corner_radius"],
        ];
        r.edge("inner corners of the collet", inner_corner.get(), at);
    }
    if let Some(f) = &s.foot {
        let one = ["light hole for the process", "light hole for its depth"];
        r.hole(
            one,
            f.light.get(),
            f.fill.get(),
            [&["foot.light"], &["collet.light_hole", "collet.foot_fill"]],
        );
    }
    match s.ends.iter().find(|e| **e != End::Plain) {
        Some(End::Loop(j)) => {
            let at: [Names; 2] = [&["groove.left.side", "groove.right.side"], &["joint.groove_width"]];
            r.process("groove for the process", j.groove_width.get(), p.gap, at);
            let wall = s.level_wall().get();
            let bores: [Names; 2] = [&["bore.left", "bore.right"], &["master.bores", "joint.bore_width"]];
            match master.bores() {
                Bores::Open => {
                    let one = ["bore for the process", "bore for its depth"];
                    r.hole(one, j.bore_width.get(), wall, bores);
                }
                Bores::Pilot => {
                    let one = ["pilot hole for the process", "pilot hole for its depth"];
                    r.hole(one, master.pilot().unwrap_or_default().get(), wall, bores);
                }
                Bores::Dimple => mark(&mut r, bores[0]),
            }
        }
        Some(End::Pair(j) | End::Middle(j)) => {
            let at: [Names; 2] =
                [&["pocket.left", "pocket.right"], &["joint.tube_length", "joint.outer_share"]];
            r.process("pocket between the knuckles for the process", j.pocket(), p.gap, at);
            let bores: [Names; 2] = [&["bore.left", "bore.right"], &["master.bores", "joint.tube_bore"]];
            let one = ["hinge bore for the process", "hinge bore for its depth"];
            match master.bores() {
                Bores::Dimple => mark(&mut r, bores[0]),
                Bores::Open => r.hole(one, j.bore.get(), j.longest_knuckle(), bores),
                Bores::Pilot => {
                    r.hole(one, master.pilot().unwrap_or_default().get(), j.longest_knuckle(), bores);
                }
            }
        }
        _ => {}
    }
    r.list
}

/// What is never printed or cast in place, in words for the sheet.
pub const NEVER_IN_PLACE: &str = "Never print or cast in place: two links in one another, knuckles on a pin, a wire loop in its bores, \
the leaf in the clasp, the chain. Every casting on its own sprue.";

/// The same for what is printed in metal.
pub const NEVER_PRINTED_IN_PLACE: &str = "Never print in place: two links in one another, knuckles on a pin, a wire loop in its bores, the \
leaf in the clasp, the chain: powder between them melts fast.";

/// Where a sprue goes on any casting; the place on each stands with it.
pub const SPRUE: &str = "Sprue on the underside, where its foot is filed away. Not on claws, rim, openings, knuckles or a bore. Section of \
the sprue 70 to 150 % of the section it joins (World Gold Council, Gold Technology, which itself calls \
the rule of little use): your own practice goes before it.";

/// Where supports may stand on what is printed in metal.
pub const SUPPORTS: &str = "Supports on the underside only, never on claws, rim, seat, openings, knuckles or in a bore; sawn off with the \
eyes guarded. Nothing is cast, so there is no sprue.";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::read;
    use crate::units::Mm;

    const ROUND: &str = include_str!("../../params/line-4.0-platinum.jsonc");
    const SQUARE: &str = include_str!("../../params/line-4.0-platinum-square.jsonc");

    fn of(file: &str, master: &str) -> Vec<Judged> {
        let design = read(&file.replacen("\"master\": {", &format!("\"master\": {{ {master}"), 1))
            .unwrap_or_else(|p| panic!("{p:?}"));
        let frame = FrameMaster::of(&design, Mm(0.0)).map(|f| judged_frame(&design, &f)).unwrap_or_default();
        [judged(&design, &Master::of(&design, Mm(0.0))), frame].concat()
    }
    fn found<'a>(list: &'a [Judged], title: &str) -> &'a Judged {
        list.iter().find(|r| r.title == title).unwrap_or_else(|| panic!("{title}: {list:?}"))
    }

    #[test]
    fn every_finding_names_faces_that_the_masters_have_and_parameters_that_there_are() {
        for file in [ROUND, SQUARE] {
            let design = read(file).unwrap();
            let solids = [
                Master::of(&design, Mm(0.0)).build().unwrap().solid,
                FrameMaster::of(&design, Mm(0.0)).unwrap().build(1.0).unwrap(),
            ];
            for r in of(file, "") {
                for f in r.faces {
                    let start = f.split(" to ").next().unwrap();
                    let found = solids.iter().any(|s| s.faces.iter().any(|x| x.name.starts_with(start)));
                    assert!(found, "{}: {f}", r.title);
                }
                for c in r.change {
                    assert!(Key::at(c).is_some(), "{}: {c}", r.title);
                }
                assert!(r.source.len() > 8 && r.least_mm > 0.0, "{r:?}");
            }
        }
    }

    #[test]
    fn a_bore_deeper_than_wide_is_a_note_and_never_decides() {
        let open = of(ROUND, "\"bores\": \"open\", ");
        let deep = found(&open, "bore for its depth");
        assert_eq!((deep.verdict, deep.severity), (Judgement::Fail, Severity::Note));
        assert_eq!(found(&open, "bore for the process").verdict, Judgement::Pass);
    }

    #[test]
    fn metal_printers_ask_for_wider_gaps_and_know_nothing_of_castings() {
        let file = ROUND.replace(r#""metal": { "shrink": 1.8, "compensated_by": "us" },"#, "");
        assert_ne!(file, ROUND);
        let list = of(&file, r#""process": "direct_metal", "bores": "pilot", "#);
        // 0.45 against 0.5.
        assert_eq!(found(&list, "pilot hole for the process").verdict, Judgement::Fail);
        assert!(list.iter().all(|r| !r.title.contains("as cast")), "{list:?}");
        assert!(list.len() > 10);
    }

    #[test]
    fn every_process_is_tripped_and_passed() {
        for process in ["resin", "wax_print", "cut_wax"] {
            let thin = of(
                ROUND,
                &format!(r#""process": "{process}", "polish": {{ "outside": 0, "openings": 0 }}, "#),
            );
            let thick = of(ROUND, &format!(r#""process": "{process}", "#));
            assert_eq!(found(&thick, "wall of the collet for the process").verdict, Judgement::Pass);
            assert_eq!(found(&thin, "cheek of the clasp for the process").verdict, Judgement::Fail);
        }
    }
}
