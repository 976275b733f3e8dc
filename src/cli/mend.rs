//! `mend`: ways out of a file whose rules do not hold, each one built and checked in full.

use super::Ended;
use super::args::{Color, Format, MendArgs};
use super::files;
use super::make::{self, columns, json, painted};
use super::problems;
use super::progress::patiently;
use super::work::{Wanted, work};
use crate::fold::fold;
use crate::life::{sheet::wrapped, strength, wear};
use crate::params::{self, Design, LARGEST_FILE, Mended, Way};
use crate::trade::own::Own;
use crate::units::Tolerance;
use crate::walls::Judgement;
use serde::Serialize;
use std::fmt::Write as _;
use std::io::IsTerminal as _;
use std::sync::Arc;

/// Chord of the meshes that ways are checked on, mm.
const CHORD: f64 = 0.005;

/// What a design is like, for comparison.
#[derive(Clone, Debug, Serialize)]
struct State {
    /// Weight of a link, g, where it can be built.
    #[serde(skip_serializing_if = "Option::is_none")]
    link_g: Option<f64>,
    /// Indicative life of a joint, years.
    joint_years: f64,
    /// Pull at which the weakest element parts, N.
    weakest_n: f64,
    /// Which element that is.
    weakest: &'static str,
    /// Length of the line, mm.
    length_mm: f64,
    /// How far a joint turns inwards and outwards, deg, in closed form.
    turns_deg: [f64; 2],
}

/// A way with what it does.
#[derive(Clone, Debug, Serialize)]
struct Offer {
    #[serde(flatten)]
    way: Way,
    /// Verdict of the whole check of the rebuilt link: rules and walls.
    verdict: Judgement,
    /// Why there is no verdict, where it could not be built.
    #[serde(skip_serializing_if = "Option::is_none")]
    why: Option<String>,
    /// The link afterwards.
    #[serde(skip_serializing_if = "Option::is_none")]
    after: Option<State>,
}

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
struct Answer {
    /// `sound`, `mended`, `conflict`, or `unverified` where no way passed the whole check.
    verdict: &'static str,
    /// The link as the file has it, where it can be read as a design.
    #[serde(skip_serializing_if = "Option::is_none")]
    before: Option<State>,
    /// Ways out, the cheapest first.
    ways: Vec<Offer>,
    /// True where the first is the cheapest on the whole grid of hundredths.
    optimal: bool,
    /// Rules that fight.
    #[serde(skip_serializing_if = "Option::is_none")]
    conflict: Option<params::Conflict>,
    /// How cost is counted.
    cost: String,
}

const COST: &str = "for each parameter moved: weight x (1 + bench steps of 0.05 mm, 1 degree or one stone, or of one size in the drawer); \
weight 1 for a cut, 2 for the collet's body and for other stock, 3 for another bur, 4 for width and gap, 5 for a stone more or less \
(proposals)";

fn cost(weights: &[(String, f64)]) -> String {
    let own: Vec<String> = weights.iter().map(|(path, w)| format!("{path} {w}")).collect();
    if own.is_empty() { COST.to_owned() } else { format!("{COST}; of your own: {}", own.join(", ")) }
}

fn state(d: &Design, link_g: Option<f64>) -> State {
    let s = strength::strength(d);
    let weakest = s.elements.iter().find(|e| e.in_line);
    State {
        link_g,
        joint_years: wear::joint_years(d),
        weakest_n: weakest.map_or(0.0, |e| e.ultimate_n),
        weakest: weakest.map_or("", |e| e.name),
        length_mm: d.dims().line_length.get(),
        turns_deg: [d.dims().turn_inward.get(), d.dims().turn_outward.get()],
    }
}

fn judged(d: &Design) -> Result<(Judgement, f64), String> {
    let tolerance = Tolerance::new(CHORD).ok_or("no tolerance")?;
    work(d, tolerance, Wanted { trial: false, places: 0, map: false })
        .map(|w| (w.report.verdict, w.report.weight.link_g))
        .map_err(|e| e.to_string())
}

fn offer(text: &str, way: Way, own: &Arc<Own>) -> Offer {
    match params::after(text, &way, own) {
        Err(p) => {
            let why = p.first().map_or_else(String::new, |p| p.message.clone());
            Offer { way, verdict: Judgement::Fail, why: Some(why), after: None }
        }
        Ok(d) => match judged(&d) {
            Ok((verdict, g)) => Offer { way, verdict, why: None, after: Some(state(&d, Some(g))) },
            Err(why) => {
                Offer { way, verdict: Judgement::Unverified, why: Some(why), after: Some(state(&d, None)) }
            }
        },
    }
}

/// Runs `mend`.
pub(super) fn mend(a: &MendArgs, color: Color, quiet: bool) -> Ended {
    let bytes = match files::read(&a.file, LARGEST_FILE as u64) {
        Ok(b) => b,
        Err(e) => return make::unwritten(&e),
    };
    let name = a.file.display().to_string();
    let unreadable = |p: &[params::Problem], text: &str| {
        if a.format == Format::Json {
            let v = serde_json::json!({ "verdict": "file", "problems": p });
            return Ended { code: 2, stdout: json(&v), stderr: String::new() };
        }
        let paint = painted(color, std::io::stderr().is_terminal());
        let stderr = problems::render(p, &name, text, paint, columns());
        Ended { code: 2, stdout: String::new(), stderr }
    };
    let Ok(text) = String::from_utf8(bytes.clone()) else {
        return unreadable(&params::read_bytes(&bytes, &Arc::default()).err().unwrap_or_default(), "");
    };
    let bench = match super::plan::bench(a.bench.as_deref(), painted(color, std::io::stderr().is_terminal()))
    {
        Ok(b) => b,
        Err(e) => return e,
    };
    let freedom = params::Freedom {
        free: a.free.clone(),
        only: a.moving.clone(),
        weights: a.weights.clone(),
        drawer: params::Drawer {
            wires: bench.diameters("wire"),
            tubes: bench.diameters("tube"),
            drills: bench.drills.iter().map(|d| d.get()).collect(),
            burs: bench.burs.iter().map(|d| d.get()).collect(),
        },
        own: Arc::clone(&bench.own),
    };
    if let Some(word) = freedom.unknown().first() {
        let stderr = format!("{word} names no parameter and no group; see colletline schema\n");
        return Ended { code: 2, stdout: String::new(), stderr };
    }
    let found = match patiently("looking for a way", quiet, || params::mend(&text, &freedom)) {
        Ok(f) => f,
        Err(p) => return unreadable(&p, &text),
    };
    let answer =
        patiently("building and measuring", quiet, || answer(&text, found, cost(&a.weights), &bench.own));
    let mut notes = String::new();
    if let Some(path) = &a.write {
        let good = answer.ways.iter().find(|w| w.verdict == Judgement::Pass);
        let Some(good) = good else {
            let why = if answer.verdict == "sound" { "nothing to mend" } else { "no way passes every check" };
            let mut ended = told(a, &answer, &name);
            let _ = writeln!(ended.stderr, "{} not written: {why}", path.display());
            return ended;
        };
        let new = params::rewritten(&text, &good.way);
        match new.map(|t| files::write_new(path, &t)) {
            Ok(Ok(())) => {
                let _ = writeln!(notes, "{} written", path.display());
            }
            Ok(Err(e)) => return make::unwritten(&e),
            Err(e) => return Ended { code: 2, stdout: String::new(), stderr: format!("{name}: {e}\n") },
        }
    }
    let mut ended = told(a, &answer, &name);
    ended.stderr.push_str(if quiet { "" } else { &notes });
    ended
}

fn answer(text: &str, found: Mended, cost: String, own: &Arc<Own>) -> Answer {
    let before = params::read_with(text, &[], own).ok().map(|d| {
        let g = judged(&d).ok().map(|x| x.1);
        state(&d, g)
    });
    let mut out = Answer { verdict: "sound", before, ways: Vec::new(), optimal: false, conflict: None, cost };
    match found {
        Mended::Sound => {}
        Mended::Conflict(c) => {
            out.verdict = "conflict";
            out.conflict = Some(c);
        }
        Mended::Ways { ways, optimal } => {
            out.ways = ways.into_iter().map(|w| offer(text, w, own)).collect();
            let good = out.ways.iter().any(|w| w.verdict == Judgement::Pass);
            out.verdict = if good { "mended" } else { "unverified" };
            out.optimal = optimal;
        }
    }
    out
}

fn told(a: &MendArgs, x: &Answer, name: &str) -> Ended {
    let code = u8::from(matches!(x.verdict, "conflict" | "unverified"));
    let stdout = match a.format {
        Format::Json => json(x),
        Format::Text => sheet(x, name),
    };
    Ended { code, stdout, stderr: String::new() }
}

/// At most 60 columns.
fn sheet(x: &Answer, name: &str) -> String {
    let mut o = String::new();
    wrapped(&mut o, name, 0);
    if x.verdict == "sound" {
        wrapped(&mut o, "every binding rule holds: nothing to mend", 0);
        return o;
    }
    if let Some(c) = &x.conflict {
        wrapped(&mut o, "NO WAY OUT: these cannot all hold", 0);
        for f in &c.fight {
            for (i, line) in fold(&f.words, 56).iter().enumerate() {
                let _ = writeln!(o, "{}{line}", if i == 0 { "  - " } else { "    " });
            }
        }
        let moved = match c.moved.len() {
            0 => "nothing at all may move".to_owned(),
            n if n <= 6 => format!("only {} may move", c.moved.join(", ")),
            n => format!("{n} parameters may move"),
        };
        let how =
            if c.exhausted { "every value was tried" } else { "no way was found, which proves nothing" };
        wrapped(&mut o, &format!("{moved}; {how} ({} tries)", c.tried), 2);
        wrapped(&mut o, "free more with --free (stone, wearer, tolerance ...) or leave out --move", 2);
        return o;
    }
    for (i, w) in x.ways.iter().enumerate() {
        let word = match w.verdict {
            Judgement::Pass => "every rule and wall passes",
            Judgement::Fail => "FAILS the whole check",
            Judgement::Unverified => "UNVERIFIED",
        };
        let best = if i == 0 && x.optimal { ", the cheapest there is" } else { "" };
        let _ = writeln!(o, "\nWay {}, cost {:.1}{best}: {word}", i + 1, w.way.cost);
        for c in &w.way.changes {
            wrapped(&mut o, c.what, 2);
            let drawer = if c.from_drawer { ", at hand" } else { "" };
            let _ = writeln!(o, "      {:.2} -> {:.2} {}{drawer}  ({})", c.from, c.to, c.unit, c.path);
        }
        if let Some(why) = &w.why {
            wrapped(&mut o, why, 2);
        }
        if let Some(s) = &w.after {
            effects(&mut o, x.before.as_ref(), s, &w.way);
        }
    }
    let _ = writeln!(o);
    wrapped(&mut o, &format!("cost: {}", x.cost), 0);
    o
}

fn effects(o: &mut String, before: Option<&State>, s: &State, way: &Way) {
    let from = |f: fn(&State) -> Option<f64>, digits: usize| {
        before.and_then(f).map_or_else(String::new, |x| format!("{x:.digits$} -> "))
    };
    if let Some(g) = s.link_g {
        let _ = writeln!(o, "  link     {}{g:.3} g", from(|s| s.link_g, 3));
    }
    let _ = writeln!(o, "  line     {}{:.1} mm", from(|s| Some(s.length_mm), 1), s.length_mm);
    let _ = writeln!(
        o,
        "  life     {}{:.1} y of a joint, a factor of ten either way",
        from(|s| Some(s.joint_years), 1),
        s.joint_years
    );
    let line = format!("strength {}{:.0} N, {}", from(|s| Some(s.weakest_n), 0), s.weakest_n, s.weakest);
    wrapped(o, &line, 2);
    let _ = writeln!(
        o,
        "  swing    {}{:.1} deg inwards, {}{:.1} outwards",
        from(|s| Some(s.turns_deg[0]), 1),
        s.turns_deg[0],
        from(|s| Some(s.turns_deg[1]), 1),
        s.turns_deg[1]
    );
    let seen: Vec<&str> = way.changes.iter().filter(|c| c.seen).map(|c| c.what).collect();
    let look = if seen.is_empty() { "as before".to_owned() } else { format!("changed: {}", seen.join("; ")) };
    wrapped(o, &format!("look     {look}"), 2);
}
