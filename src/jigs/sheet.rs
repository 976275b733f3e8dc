//! What goes with the jigs: the list of files, and a page for the bench.

use super::{Jig, Rule, Size, Without};
use crate::masters::manifest::FileSum;
use crate::walls::Judgement;
use serde::Serialize;
use std::fmt::Write as _;

/// The whole list.
#[derive(Clone, Debug, Serialize)]
pub struct List {
    /// Form of the list.
    pub format: &'static str,
    /// Program and version.
    pub program: String,
    /// Name of the design.
    pub design: String,
    /// Unit of every length.
    pub units: &'static str,
    /// Over all rules.
    pub verdict: Judgement,
    /// What is and is not allowed for.
    pub state: &'static str,
    /// The jigs.
    pub jigs: Vec<Entry>,
    /// Jigs this design has no use for.
    pub without: Vec<Without>,
    /// The files, in the order of their names.
    pub files: Vec<FileSum>,
    /// Where the work can hurt.
    pub cautions: Vec<&'static str>,
}

/// One jig.
#[derive(Clone, Debug, Serialize)]
pub struct Entry {
    /// Stem of its files.
    pub jig: &'static str,
    /// In bench words.
    pub title: &'static str,
    /// How many are printed.
    pub count: usize,
    /// Its sizes.
    pub sizes: Vec<Size>,
    /// What the numbers on it say.
    pub numbers: String,
    /// What it must meet.
    pub rules: Vec<Rule>,
    /// How it is used.
    pub how: String,
    /// Volume of one.
    pub volume_mm3: f64,
    /// Outer size.
    pub size_mm: [f64; 3],
    /// Greatest distance of the mesh from the exact solid.
    pub chord_mm: f64,
}

/// What the files hold.
pub const STATE: &str = "Nominal size, nothing allowed for the printer's own errors: print the coupon first. Printed plastic, for cold \
work only: no torch, no hot metal, no pickle.";

impl Entry {
    /// That of a jig.
    #[must_use]
    pub fn of(j: &Jig, volume_mm3: f64, size_mm: [f64; 3], chord_mm: f64) -> Self {
        Self {
            jig: j.name,
            title: j.title,
            count: j.count,
            sizes: j.sizes.clone(),
            numbers: j.numbers.clone(),
            rules: j.rules.clone(),
            how: j.how.clone(),
            volume_mm3,
            size_mm,
            chord_mm,
        }
    }
}

/// The page for the bench, as Markdown.
#[must_use]
pub fn sheet(l: &List) -> String {
    let mut out = String::new();
    let o = &mut out;
    // Writing to a String cannot fail.
    let _ = writeln!(o, "# {}: bench jigs\n\n{STATE}", l.design);
    for j in &l.jigs {
        let _ = writeln!(
            o,
            "\n## {}, {} to print\n\n![{}]({}.png)\n\n{}\n",
            j.title, j.count, j.title, j.jig, j.how
        );
        let _ = writeln!(o, "Numbers cut in: {}.\n\n| size | |\n|---|---|", j.numbers);
        for s in &j.sizes {
            let unit = if s.word.ends_with("_deg") { "deg" } else { "mm" };
            let _ = writeln!(o, "| {} | {:.3} {unit} |", s.what, s.value);
        }
        for r in j.rules.iter().filter(|r| r.verdict != Judgement::Pass) {
            let _ = writeln!(
                o,
                "\n**Not met**: {}, {:.2}, at least {:.2} mm. Change {}.",
                r.title, r.value_mm, r.least_mm, r.change
            );
        }
    }
    for w in &l.without {
        let _ = writeln!(o, "\n## No {}\n\n{}.", w.title, w.why);
    }
    let _ = writeln!(o, "\n## With care\n");
    for c in &l.cautions {
        let _ = writeln!(o, "- {c}");
    }
    out
}
