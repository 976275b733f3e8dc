//! The caster's sheet: one page that goes with the files, as Markdown.

use super::judged::{Judged, NEVER_IN_PLACE, NEVER_PRINTED_IN_PLACE, SPRUE, SUPPORTS};
use super::manifest::Manifest;
use crate::params::Severity;
use crate::walls::Judgement;
use std::fmt::Write as _;

/// The sheet of a list of files.
#[must_use]
pub fn sheet(m: &Manifest, pictures: &[String]) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let o = &mut out;
    let task = if m.cast { "to cast" } else { "to print in metal" };
    let _ = writeln!(o, "# {}: {task}\n", m.design);
    if m.verdict == Judgement::Unverified {
        let _ = writeln!(o, "**{}**\n", m.state);
    }
    for p in pictures {
        let what =
            if p.ends_with(".below.png") { "Turned over, the sprue in another colour" } else { "The master" };
        let _ = writeln!(o, "![{what}]({p})\n");
    }
    let each = if m.cast { "casting" } else { "print" };
    let _ =
        writeln!(o, "| part | count | alloy | {each} each | pattern size x, y, up |\n|---|---|---|---|---|");
    for p in &m.parts {
        let [x, y, z] = p.size_mm;
        let _ = writeln!(
            o,
            "| {} | {} | {} | {:.2} g | {x:.2} x {y:.2} x {z:.2} mm{} |",
            p.title,
            p.count,
            m.metal,
            p.casting_g,
            if p.stub.is_some() { ", stub included" } else { "" }
        );
    }
    let contact = if m.contact.is_empty() { "not given" } else { m.contact.as_str() };
    let _ = writeln!(o, "\nQuestions to: {contact}. All lengths in millimetres. Pattern: {}.\n", m.process);
    let _ = writeln!(o, "## What is allowed for\n\n- {}", m.state);
    for s in &m.compensation.stages {
        let _ = writeln!(o, "- {}", s.words);
    }
    for p in &m.compensation.missing {
        let _ = writeln!(o, "- missing from the file: {p}");
    }
    let a = &m.allowances;
    let _ = writeln!(
        o,
        "- polish on each surface: outside {:.2}, openings and inside {:.2}, underside {:.2}, knuckles {:.2} mm\n",
        a.outside.get(),
        a.openings.get(),
        a.underside.get(),
        a.mating.get()
    );
    let _ = writeln!(o, "## Sizes to check");
    for p in &m.parts {
        let title = p.title;
        let _ =
            writeln!(o, "\n| {title} | finished | casting | pattern | to size by |\n|---|---|---|---|---|");
        for d in m.dimensions.iter().filter(|d| d.part == p.part) {
            let f = &d.dimension;
            let _ = writeln!(
                o,
                "| {} | {:.3} | {:.3} | {:.3} | {} |",
                f.name, f.finished, f.cast, d.pattern, f.by
            );
        }
    }
    let failed: Vec<_> = m.rules.iter().filter(|r| r.verdict != Judgement::Pass).collect();
    let _ = writeln!(
        o,
        "\n## Process and foundry\n\n{} of {} limits met.",
        m.rules.len() - failed.len(),
        m.rules.len()
    );
    for r in failed {
        let _ = writeln!(o, "- {}", words(r));
    }
    let bores = match m.bores {
        crate::parts::link::Bores::Open => "Keep the bores open; they are cast to finished size.",
        crate::parts::link::Bores::Pilot => "Keep the pilot holes open; they are drilled out at the bench.",
        crate::parts::link::Bores::Dimple => {
            "The marks for the drill must stay; nothing else is drilled or filled."
        }
    };
    let (sprue, never) = if m.cast { (SPRUE, NEVER_IN_PLACE) } else { (SUPPORTS, NEVER_PRINTED_IN_PLACE) };
    flow(o, m);
    let head = if m.cast { "Sprue" } else { "Supports" };
    let _ = writeln!(o, "\n## {head} and bores\n\n- {sprue}\n- {bores}\n- {never}\n\n## With care\n");
    for c in &m.cautions {
        let _ = writeln!(o, "- {c}");
    }
    let _ = writeln!(o, "\n## Files\n\n| file | SHA-256 |\n|---|---|");
    for f in &m.files {
        let _ = writeln!(o, "| {} | `{}` |", f.name, f.sha256);
    }
    out
}

/// Sprue, heavy places and pockets of each part.
fn flow(o: &mut String, m: &Manifest) {
    for p in &m.parts {
        let Some(f) = &p.flow else { continue };
        let _ = writeln!(o, "\n## {}: how it fills and freezes\n", p.title);
        if let Some(s) = &f.sprue {
            let _ = writeln!(o, "- {}", s.words());
        } else if m.cast {
            let _ = writeln!(o, "- no flat of the underside has room for a sprue: the caster's choice");
        }
        if let Some(s) = &p.stub {
            let _ = writeln!(o, "- {}", s.words(m.compensation.alike()));
        }
        for h in f.heavy_words() {
            let _ = writeln!(o, "- heavy: {h}");
        }
        for p in &f.pockets {
            let _ = writeln!(o, "- pocket: {}", p.words());
        }
        let _ = writeln!(
            o,
            "\nHeavy places by the largest sphere that fits, proved; necks and pockets on a grid of {:.3} mm, with what it leaves open. A \
             neck should be {:.2} of what it feeds (proposal; Heuvers' circles ask for 1); a pocket no deeper than its width (casters' \
             guide). Notes: they do not decide.",
            f.grid_mm, m.neck_share
        );
    }
}

/// A finding in one line.
fn words(r: &Judged) -> String {
    let word = if r.severity == Severity::Note { "note: " } else { "" };
    let (faces, change) = (r.faces.join(", "), r.change.join(" or "));
    format!(
        "{word}{}: {:.3}, at least {:.3} mm ({}); at {faces}; change {change}",
        r.title, r.value_mm, r.least_mm, r.source
    )
}

/// Cautions for who prints in metal.
pub const METAL_PRINT_CAUTIONS: [&str; 2] = [
    "Metal powder is breathed in and burns: closed machine, no sparks, mask, damp cleaning.",
    "Supports spring off when they are cut: eyes guarded.",
];

/// Cautions for who prints, invests, burns out and casts; local codes and licensed practice go before them.
pub const CASTING_CAUTIONS: [&str; 4] = [
    "Burn-out fumes are harmful: extraction, or outside air, and nobody beside the kiln.",
    "Investment dust holds silica: mask and damp cleaning, never a dry brush.",
    "Molten metal: dry moulds, face shield, apron, no synthetic cloth.",
    "Pickle and flux: goggles and gloves, moving air; acid into water.",
];
