//! `check` of a mesh that was not made here.

use super::Ended;
use super::args::{Check, Color, Format};
use super::files;
use super::make::{PLACES, json, painted, unwritten};
use super::progress::patiently;
use super::summary::Paint;
use crate::fold::fold;
use crate::intake;
use crate::papers::mesh_report::{CheckedMesh, check_mesh};
use crate::units::Mm;
use crate::walls::Judgement;
use std::fmt::Write as _;
use std::io::IsTerminal as _;
use std::path::Path;

/// Bytes of a file at most.
const LARGEST: u64 = 1_000_000_000;

/// Whether a file is a mesh by its name.
pub(super) fn is_mesh(file: &Path) -> bool {
    file.extension().is_some_and(|e| e.eq_ignore_ascii_case("stl") || e.eq_ignore_ascii_case("3mf"))
}

/// Runs `check` on a mesh.
pub(super) fn check(a: &Check, color: Color, quiet: bool) -> Ended {
    if a.whole {
        return unreadable(a, "--whole is for parameter files; of a mesh all walls are measured anyway");
    }
    if a.common.bench.is_some() {
        return unreadable(
            a,
            "a mesh has no alloy and no rules for a bench file to set; --min-wall sets its least wall",
        );
    }
    let long = |n: u64| {
        unreadable(a, &format!("the file has {n} bytes; at most {LARGEST} are read. Export the part coarser"))
    };
    if let Some(n) = std::fs::metadata(&a.common.file).ok().map(|m| m.len()).filter(|n| *n > LARGEST) {
        return long(n);
    }
    let bytes = match files::read(&a.common.file, LARGEST) {
        Ok(b) => b,
        Err(e) => return unwritten(&e),
    };
    if bytes.len() as u64 > LARGEST {
        return long(bytes.len() as u64);
    }
    let soup = match intake::read(&bytes) {
        Ok(s) => s,
        Err(e) => return unreadable(a, &e.to_string()),
    };
    let report = patiently("measuring the mesh", quiet, || {
        check_mesh(&soup, a.min_wall.map(Mm), a.thinnest.unwrap_or(PLACES))
    });
    let code = u8::from(report.verdict != Judgement::Pass);
    let stdout = match a.common.format {
        Format::Json => json(&report),
        Format::Text => {
            let paint = Paint(painted(color, std::io::stdout().is_terminal()));
            text(&report, &a.common.file.display().to_string(), paint, quiet, a.thinnest.is_some())
        }
    };
    Ended { code, stdout, stderr: String::new() }
}

fn unreadable(a: &Check, why: &str) -> Ended {
    match a.common.format {
        Format::Json => {
            let v =
                serde_json::json!({ "verdict": "file", "problems": [{ "code": "mesh", "message": why }] });
            Ended { code: 2, stdout: json(&v), stderr: String::new() }
        }
        Format::Text => {
            Ended { code: 2, stdout: String::new(), stderr: format!("{}: {why}\n", a.common.file.display()) }
        }
    }
}

fn lines(o: &mut String, head: &str, text: &str) {
    for (i, line) in fold(text, 60 - head.chars().count()).into_iter().enumerate() {
        let pad = " ".repeat(head.chars().count());
        let _ = writeln!(o, "{}{line}", if i == 0 { head } else { &pad });
    }
}

/// The summary, in a window as narrow as 60 columns.
fn text(r: &CheckedMesh, file: &str, paint: Paint, quiet: bool, each: bool) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let o = &mut out;
    let m = &r.mesh;
    if !quiet {
        let _ = writeln!(o, "{}  {}", paint.bold(file), r.form);
        let _ = writeln!(o, "mesh   {} triangles, {} vertices", m.triangles, m.vertices);
        if m.shells > 0 {
            let _ = writeln!(o, "       {} closed surfaces, {} smooth patches", m.shells, m.patches);
        }
        let [x, y, z] = m.size_mm;
        let _ = writeln!(o, "       {x:.3} x {y:.3} x {z:.3} mm");
        if let Some(v) = m.volume_mm3 {
            let _ = writeln!(o, "       {v:.3} mm3, {:.3} mm2 of skin", m.area_mm2);
        }
    }
    for f in r.faults.iter().filter(|f| f.breaks || !quiet) {
        let word = if f.breaks { paint.verdict(Judgement::Fail) } else { paint.note() };
        lines(o, &format!("{word}  "), "");
        o.truncate(o.trim_end().len());
        let _ = writeln!(o, "  {} x {}", f.count, f.code.replace('_', " "));
        lines(o, "      ", &f.message);
        if let Some([x, y, z]) = f.at {
            let _ = writeln!(o, "      first at ({x:.4}, {y:.4}, {z:.4})");
        }
    }
    if m.sound && !quiet {
        let _ =
            writeln!(o, "{}  closed, turned right, nowhere through itself", paint.verdict(Judgement::Pass));
    }
    walls(o, r, paint, quiet, each);
    let word = match r.verdict {
        Judgement::Pass => "in order",
        Judgement::Fail => "not in order",
        Judgement::Unverified => "not decided",
    };
    if !quiet || r.verdict != Judgement::Pass {
        let _ = writeln!(o, "\n{}  {}", paint.verdict(r.verdict), paint.bold(word));
    }
    out
}

fn walls(o: &mut String, r: &CheckedMesh, paint: Paint, quiet: bool, each: bool) {
    let w = &r.walls;
    if quiet && (w.verdict == Judgement::Pass || w.least_mm.is_none()) {
        return;
    }
    let _ = writeln!(o, "\n{}", paint.bold("walls, proved on the mesh                         found"));
    match (&w.thinnest, w.least_mm) {
        (Some(t), least) => {
            if let Some(l) = least {
                let word = paint.verdict(w.verdict);
                let _ = writeln!(
                    o,
                    "{word}  {:<41} {:>7.4} mm",
                    format!("least wall asked for {l:.4}"),
                    t.value_mm
                );
            }
            super::wall_lines::places(o, &w.places, each, "the mesh", paint);
        }
        (None, _) => {
            let word = if r.mesh.sound { paint.note() } else { paint.verdict(Judgement::Unverified) };
            let why = w.why.as_deref().unwrap_or("no two surfaces look away from each other");
            let _ = writeln!(o, "{word}  thinnest place");
            lines(o, "      ", why);
        }
    }
    if quiet {
        return;
    }
    if w.least_mm.is_none() && w.thinnest.is_some() {
        lines(o, "      ", w.why.as_deref().unwrap_or_default());
    }
    if let Some(e) = w.acute_edges.first() {
        let _ =
            writeln!(o, "{}  sharp edges between {} pairs of patches,", paint.note(), w.acute_edges.len());
        let _ = writeln!(o, "      the sharpest {:.0} deg; break all 0.05-0.10", e.angle_deg);
        let _ = writeln!(
            o,
            "      at ({:.3}, {:.3}, {:.3}), {:.2} mm long",
            e.at[0], e.at[1], e.at[2], e.length_mm
        );
    }
}
