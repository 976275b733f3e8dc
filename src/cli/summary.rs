//! The result for people, in a window as narrow as 60 columns.

use crate::fold::fold;
use crate::motion::{MotionFinding, bounds};
use crate::papers::motion_report::MotionReport;
use crate::papers::report::Report;
use crate::params::{Finding, RuleVerdict, Severity};
use crate::walls::Judgement;
use std::fmt::Write as _;

/// Paints words, or not.
#[derive(Clone, Copy, Debug)]
pub struct Paint(pub bool);

impl Paint {
    pub(super) fn wrap(self, code: &str, text: &str) -> String {
        if self.0 { format!("\u{1b}[{code}m{text}\u{1b}[0m") } else { text.to_owned() }
    }
    /// A word for what does not bind.
    pub fn note(self) -> String {
        self.wrap("33", "note")
    }
    /// For heads.
    pub fn bold(self, text: &str) -> String {
        self.wrap("1", text)
    }
    /// The word of a verdict.
    pub fn verdict(self, j: Judgement) -> String {
        match j {
            Judgement::Pass => self.wrap("32", "pass"),
            Judgement::Fail => self.wrap("31;1", "FAIL"),
            Judgement::Unverified => self.wrap("33;1", "open"),
        }
    }
}

/// The summary. `quiet` leaves only what is not in order, `each` tells every thin place in full.
#[must_use]
pub fn summary(r: &Report, folder: Option<&str>, paint: Paint, quiet: bool, each: bool) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let o = &mut out;
    if !quiet {
        built(o, r, paint);
    }
    walls(o, r, paint, quiet, each);
    if let Some(w) = &r.walls.whole {
        super::whole_lines::whole(o, w, each, quiet, paint);
    } else if r.clasp.is_some() && !quiet {
        let _ = writeln!(o, "note  walls of the clasp's plate, leaf, frame: check --whole");
    }
    rules(o, r, paint, quiet);
    if !quiet {
        strength(o, r, paint);
    }
    let word = match r.verdict {
        Judgement::Pass => "every binding rule passes",
        Judgement::Fail => "a binding rule fails",
        Judgement::Unverified => "a binding rule is unverified",
    };
    if !quiet || r.verdict != Judgement::Pass {
        let _ = writeln!(o, "\n{}  {}", paint.verdict(r.verdict), paint.bold(word));
    }
    if let Some(folder) = folder {
        written(o, r, folder, quiet);
    }
    out
}

fn built(o: &mut String, r: &Report, paint: Paint) {
    let v = |path: &str| {
        r.values.iter().find(|v| v.path == path).map_or(String::new(), |v| match v.value.as_f64() {
            Some(x) if v.unit.is_empty() => format!("{x}"),
            Some(x) => format!("{x:.2}"),
            None => v.value.as_str().unwrap_or_default().to_owned(),
        })
    };
    let _ = writeln!(o, "{}  {}", paint.bold(&r.design), r.weight.alloy);
    let _ = writeln!(
        o,
        "link   {} collet {} wide, {} high, for {} mm stones",
        v("collet.shape"),
        v("collet.width"),
        v("collet.height"),
        v("stone.diameter")
    );
    let _ = writeln!(
        o,
        "       {:.3} g without stone ({:.3} mm3 at {:.2} g/cm3)",
        r.weight.link_g, r.solid.volume_mm3, r.weight.density_g_cm3
    );
    let f = r.solid.faces;
    let faces = f.plane + f.cylinder + f.cone;
    match &r.solid.witness.why {
        None => _ = writeln!(o, "solid  exact, {faces} faces, confirmed by a second kernel"),
        Some(why) => {
            let _ = writeln!(o, "solid  exact, {faces} faces; not confirmed by the second kernel:");
            let _ = writeln!(o, "       {why}");
        }
    }
    let _ = writeln!(
        o,
        "mesh   {} triangles, at most {:.2} um off the solid",
        r.mesh.triangles,
        r.mesh.chord_mm * 1000.0
    );
    if let Some(t) = &r.trial {
        let _ = writeln!(
            o,
            "trial  joint opened by {:.3} mm a side, bores by {:.3} more",
            t.gap_mm, t.bore_offset_mm
        );
    }
    if let Some(why) = &r.no_trial {
        let _ = writeln!(o, "trial  none: {why};");
        let _ = writeln!(o, "       give a smaller trial.gap or trial.bore_offset for one");
    }
    for e in &r.solid.eased {
        let _ =
            writeln!(o, "eased  {} by {:.3} mm: {} and {}", e.what, e.by.get(), e.between[0], e.between[1]);
        let _ = writeln!(o, "       would just have touched");
    }
    for p in r.clasp.iter().flat_map(|c| &c.parts) {
        let times = if p.count > 1 { format!("{} x ", p.count) } else { String::new() };
        let _ = writeln!(o, "part   {times}{}: {:.3} g, {:.2} mm3", p.title, p.weight_g, p.volume_mm3);
        if let Some(e) = &p.eased {
            let _ = writeln!(o, "       its {} moved by {:.3} mm: two faces", e.what, e.by_mm.get());
            let _ = writeln!(o, "       would just have touched");
        }
    }
    motion(o, &r.motion, paint);
    let count = |origin| r.values.iter().filter(|v| v.origin == origin).count();
    use crate::params::Origin;
    let _ = writeln!(
        o,
        "values {} given, {} derived, {} by default",
        count(Origin::Given),
        count(Origin::Derived),
        count(Origin::Default)
    );
    for own in &r.overruled {
        let _ = writeln!(o, "own    {}:", own.place());
        let _ = writeln!(o, "       {}", own.words());
    }
}

/// One line for the joint and one for the clasp.
fn motion(o: &mut String, m: &MotionReport, paint: Paint) {
    let worst = |f: &[MotionFinding]| {
        let binding = |v: Judgement| f.iter().any(|f| f.binds && f.verdict == v);
        if binding(Judgement::Fail) {
            Judgement::Fail
        } else if binding(Judgement::Unverified) {
            Judgement::Unverified
        } else {
            Judgement::Pass
        }
    };
    for why in &m.not_measured {
        let _ = writeln!(o, "motion {why}");
    }
    if let Some(j) = &m.joint {
        let bends = j.movements.first().map_or_else(String::new, bounds);
        let _ = writeln!(o, "motion joint {}: bends inward {bends}", paint.verdict(worst(&j.findings)));
    }
    if let Some(c) = &m.clasp {
        let opens = c.movements.iter().filter(|x| x.asked_deg.is_some());
        let opens = opens.map(|x| x.free_to_deg).fold(f64::INFINITY, f64::min);
        let _ = writeln!(o, "motion clasp {}: opens to {opens:.0} deg", paint.verdict(worst(&c.findings)));
    }
}

/// The class of a wall and where on the link it is: `metal beside the bore, left`.
fn wall_words(class: &str, point: &str) -> String {
    let side = |part: &&str| {
        matches!(*part, "front" | "back" | "left" | "right") || part.bytes().all(|b| b.is_ascii_digit())
    };
    let sides: Vec<&str> = point.split('.').filter(side).collect();
    if sides.is_empty() { class.to_owned() } else { format!("{class}, {}", sides.join(" ")) }
}

fn walls(o: &mut String, r: &Report, paint: Paint, quiet: bool, each: bool) {
    let shown: Vec<_> =
        r.walls.wear_points.iter().filter(|w| !quiet || w.verdict != Judgement::Pass).collect();
    if !shown.is_empty() {
        let _ = writeln!(
            o,
            "\n{}",
            paint.bold("walls, measured on the solid                      found   least")
        );
    }
    for w in shown {
        let value = w.value_mm.map_or_else(|| "-".to_owned(), |x| format!("{x:.3}"));
        let _ = writeln!(
            o,
            "{}  {:<41} {value:>7} {:>7.2} mm",
            paint.verdict(w.verdict),
            wall_words(w.class, &w.point),
            w.limit_mm
        );
        if w.verdict != Judgement::Pass {
            if let Some(why) = &w.why {
                let _ = writeln!(o, "      {why}");
            }
            let _ = writeln!(o, "      {}, between {} and {}", w.point, w.between[0], w.between[1]);
            let _ = writeln!(o, "      change {}", w.parameters.join(" or "));
        }
    }
    if quiet {
        return;
    }
    if !r.walls.places.is_empty() {
        let _ = writeln!(o, "\n{}", paint.bold("thinnest places, proved on the solid               found"));
        super::wall_lines::places(o, &r.walls.places, each, "the link", paint);
    }
    if let Some(a) = r.walls.acute_edges.first() {
        let _ = writeln!(
            o,
            "note  {} sharp edges, the sharpest {:.0} deg; break all 0.05-0.10",
            r.walls.acute_edges.len(),
            a.angle_deg
        );
    }
}

fn rules(o: &mut String, r: &Report, paint: Paint, quiet: bool) {
    let open: Vec<&Finding> = r.rules.iter().filter(|f| f.verdict != RuleVerdict::Pass).collect();
    if !quiet {
        let passed = r.rules.len() - open.len();
        let _ = writeln!(o, "\n{}", paint.bold(&format!("rules   {passed} of {} pass", r.rules.len())));
    }
    for f in open {
        let word = match (&f.verdict, f.severity) {
            (_, Severity::Note) => paint.wrap("33", "note"),
            (RuleVerdict::Unverified(_), Severity::Refuse) => paint.verdict(Judgement::Unverified),
            _ => paint.verdict(Judgement::Fail),
        };
        let limit = match (f.least, f.most) {
            (Some(a), Some(b)) => format!("{a:.2} to {b:.2}"),
            (Some(a), None) => format!("at least {a:.2}"),
            (None, Some(b)) => format!("at most {b:.2}"),
            (None, None) => String::new(),
        };
        match &f.verdict {
            RuleVerdict::Unverified(why) => {
                for (i, line) in fold(&format!("{}: {why}", f.title), 54).into_iter().enumerate() {
                    let _ = writeln!(o, "{}  {line}", if i == 0 { &word } else { "    " });
                }
            }
            _ => {
                let range = f.range.map_or_else(String::new, |[a, b]| format!(" ({a:.2} to {b:.2})"));
                let unit = if f.unit.is_empty() { String::new() } else { format!(" {}", f.unit) };
                let _ = writeln!(o, "{word}  {}: {:.2}{range}{unit}, {limit}", f.title, f.value);
                let _ = writeln!(o, "      {}", f.reason);
            }
        }
        if let Some(c) = &f.change {
            let _ = writeln!(o, "      {c}");
        }
    }
}

/// Strength is an estimate and its least pull a proposal: a note, never a verdict of the file.
fn strength(o: &mut String, r: &Report, paint: Paint) {
    for t in r.life.strength.tests.iter().filter(|t| t.verdict != Judgement::Pass) {
        let text = format!(
            "{} under a pull of {:.0} N: parts at {:.0} to {:.0} N by estimate, {}",
            t.what, t.pull_n, t.range_n[0], t.range_n[1], t.weakest
        );
        for (i, line) in fold(&text, 54).into_iter().enumerate() {
            let head = if i == 0 { paint.note() } else { "    ".to_owned() };
            let _ = writeln!(o, "{head}  {line}");
        }
        if let Some(c) = t.change {
            let _ = writeln!(o, "      {c}");
        }
    }
}

fn written(o: &mut String, r: &Report, folder: &str, quiet: bool) {
    if quiet {
        return;
    }
    let _ = writeln!(o, "\nwritten to {folder}{}", if r.anyway { ", although not in order" } else { "" });
    for f in &r.files {
        let _ = writeln!(o, "  {:<20} {}", f.name, f.what);
    }
    let _ = writeln!(o, "{}.", crate::papers::report::NOT_A_MASTER);
    let _ = writeln!(o, "cautions");
    for c in &r.cautions {
        for (i, line) in fold(c, 56).into_iter().enumerate() {
            let _ = writeln!(o, "{}{line}", if i == 0 { "  - " } else { "    " });
        }
    }
}
