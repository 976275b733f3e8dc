//! `mend`: the cheapest changes after which every binding rule passes, rebuilt and checked in full.

use super::args::{Color, Format, Mend as Args};
use super::make::{self, painted};
use super::{Ended, files, problems};
use crate::life::wear::wear;
use crate::mesh::exact::solid_mass;
use crate::params::mend::{Drawer, Mended, Way, mend};
use crate::params::{self, Design, Key, LARGEST_FILE};
use crate::parts::link::{self, LinkShape};
use crate::plan::bench::Bench;
use crate::walls::Judgement;
use serde::Serialize;
use std::fmt::Write as _;
use std::io::IsTerminal as _;

/// A way with what it does.
#[derive(Serialize)]
struct Told {
    #[serde(flatten)]
    way: Way,
    /// Metal of the link, g, before and after; before is missing where the file cannot be built.
    link_g: (Option<f64>, f64),
    /// Years until the first joint is renewed, middle of the range.
    life_years: (Option<f64>, Option<f64>),
    /// What the client sees.
    look: String,
}

/// What can be seen on the wrist.
const SEEN: [(Key, &str); 8] = [
    (Key::Width, "setting"),
    (Key::Height, "height"),
    (Key::OpeningWidth, "openings"),
    (Key::OpeningTop, "openings"),
    (Key::OpeningBottom, "openings"),
    (Key::ClawDiameter, "claws"),
    (Key::Gap, "gaps"),
    (Key::Count, "stones"),
];

fn keys(list: &[String]) -> Result<Vec<Key>, String> {
    list.iter()
        .map(|p| {
            Key::at(p)
                .filter(|k| k.is_number())
                .ok_or_else(|| format!("there is no parameter \"{p}\" that is a number\n"))
        })
        .collect()
}

/// Sizes at hand: drills for bores, wire stock for wires and pins.
fn drawer(bench: &Bench) -> Drawer {
    let mut out = Drawer::new();
    if !bench.drills.is_empty() {
        let sizes: Vec<f64> = bench.drills.iter().map(|d| d.get()).collect();
        for k in [Key::TubeBore, Key::LightHole, Key::ClaspTubeBore] {
            out.insert(k, sizes.clone());
        }
    }
    let wires: Vec<f64> = bench
        .stock
        .iter()
        .filter_map(|s| s.section.strip_prefix("wire ").and_then(|x| x.trim().parse().ok()))
        .collect();
    if !wires.is_empty() {
        for k in [Key::Wire, Key::ClawDiameter, Key::Pin, Key::ClaspPin, Key::CatchWire, Key::ChainWire] {
            out.insert(k, wires.clone());
        }
    }
    out
}

/// Builds and measures; `None` when anything that binds does not pass.
fn whole(design: &Design) -> Option<f64> {
    let built = link::build(&LinkShape::finished(design)).ok()?;
    let good = link::wear_points(&built.solid, &built.shape, design.state())
        .iter()
        .all(|w| w.verdict == Judgement::Pass);
    good.then(|| solid_mass(&built.solid).volume * design.metal().density / 1000.0)
}

fn told(text: &str, way: &Way, before: Option<&Design>) -> Option<Told> {
    let set: Vec<(Key, f64)> = way.changes.iter().map(|c| (c.path, c.to)).collect();
    let design = params::read_with(text, &set).ok()?;
    let after = whole(&design)?;
    let was = before
        .and_then(|d| link::build(&LinkShape::finished(d)).ok().map(|b| (d, solid_mass(&b.solid).volume)));
    let life = |d: &Design| wear(d).points.first().map(|p| p.years[1]);
    let mut look: Vec<&str> =
        SEEN.iter().filter(|s| way.changes.iter().any(|c| c.path == s.0)).map(|s| s.1).collect();
    look.dedup();
    Some(Told {
        way: way.clone(),
        link_g: (was.map(|(d, v)| v * d.metal().density / 1000.0), after),
        life_years: (before.and_then(life), life(&design)),
        look: if look.is_empty() {
            "nothing that is seen".into()
        } else {
            format!("{} change a little", look.join(", "))
        },
    })
}

/// Runs `mend`.
pub(super) fn run(a: &Args, color: Color) -> Ended {
    let wrong = |stderr: String| Ended { code: 2, stdout: String::new(), stderr };
    let paint = painted(color, std::io::stderr().is_terminal());
    let (freed, only) = match (keys(&a.free), keys(&a.only)) {
        (Ok(f), Ok(o)) => (f, o),
        (Err(e), _) | (_, Err(e)) => return wrong(e),
    };
    let bench = match super::plan::bench(a.bench.as_deref(), paint) {
        Ok(b) => b,
        Err(e) => return e,
    };
    let text = match files::read(&a.file, LARGEST_FILE as u64) {
        Ok(b) => match String::from_utf8(b) {
            Ok(t) => t,
            Err(_) => return wrong(format!("{} is not UTF-8 text\n", a.file.display())),
        },
        Err(e) => return make::unwritten(&e),
    };
    let m = match mend(&text, &freed, &only, &drawer(&bench)) {
        Ok(m) => m,
        Err(p) => {
            let name = a.file.display().to_string();
            return wrong(problems::render(&p, &name, &text, paint, make::columns()));
        }
    };
    let before = params::read(&text).ok();
    let ways: Vec<Told> = m.ways.iter().filter_map(|w| told(&text, w, before.as_ref())).collect();
    let code = u8::from(!m.failing.is_empty() && ways.is_empty());
    let mut note = String::new();
    if let (Some(path), Some(first)) = (&a.write, ways.first()) {
        let Some(new) =
            params::rewritten(&text, &first.way.changes.iter().map(|c| (c.path, c.to)).collect::<Vec<_>>())
        else {
            return wrong("the file cannot be rewritten with its comments; nothing was written\n".into());
        };
        if let Err(e) = files::write_new(path, &new) {
            return make::unwritten(&e);
        }
        note = format!("\n{} written, comments kept\n", path.display());
    }
    let stdout = match a.format {
        Format::Json => {
            let v = serde_json::json!({ "format": "colletline mending 1", "failing": m.failing, "ways": ways, "conflicts": m.conflicts });
            serde_json::to_string_pretty(&v).unwrap_or_default() + "\n"
        }
        Format::Text => shown(&m, &ways) + &note,
    };
    Ended { code, stdout, stderr: String::new() }
}

fn shown(m: &Mended, ways: &[Told]) -> String {
    let mut o = String::new();
    if m.failing.is_empty() {
        return "every binding rule passes; nothing to mend\n".into();
    }
    let _ = writeln!(o, "fails   {}", m.failing.join(", "));
    for (i, t) in ways.iter().enumerate() {
        let proved = if t.way.proved_cheapest { ", none cheaper" } else { "" };
        let _ = writeln!(o, "\nway {}   {:.1} steps{proved}", i + 1, t.way.cost);
        for c in &t.way.changes {
            let _ =
                writeln!(o, "  {:<26} {:.2} to {:.2} {}", c.path.path(), c.from, c.to, c.path.spec().unit());
        }
        let was = |x: Option<f64>, d: usize| x.map_or_else(|| "-".to_owned(), |x| format!("{x:.d$}"));
        let _ = writeln!(
            o,
            "  link {} to {:.3} g; life {} to {} years; {}",
            was(t.link_g.0, 3),
            t.link_g.1,
            was(t.life_years.0, 1),
            was(t.life_years.1, 1),
            t.look
        );
    }
    if ways.is_empty() {
        let _ = writeln!(o, "\nno way was found with what may move:");
        for c in &m.conflicts {
            let _ = writeln!(o, "  {}", c.rule);
            if c.against.is_empty() {
                let _ = writeln!(o, "    nothing that may move mends it alone");
            }
            for a in c.against.iter().take(4) {
                let _ = writeln!(o, "    {} {} would, against {}", a.path, a.to, a.breaks.join(", "));
            }
        }
        let _ = writeln!(o, "Free more with --free, or change stone or shape.");
    }
    o
}
