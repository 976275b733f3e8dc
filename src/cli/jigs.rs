//! `jigs`: bench jigs for the link of a file.

use super::args::{Color, Format, JigArgs, JigKind};
use super::make::{json, painted, read_under, unwritten};
use super::plan::bench;
use super::progress::patiently;
use super::{Ended, files};
use crate::jigs::jigs as made;
use crate::jigs::sheet::{Entry, List, STATE, sheet};
use crate::masters::manifest::FileSum;
use crate::masters::{step, stl};
use crate::mesh::bvh::Aabb;
use crate::mesh::{self, Checked, TriMesh};
use crate::papers::picture::{Body, Material, Scene, View, feature_edges, render};
use crate::papers::report;
use crate::params::Design;
use crate::solid::Solid;
use crate::units::{Mm, Tolerance};
use crate::walls::Judgement;
use nalgebra::{Isometry3, Vector3};
use std::fmt::Write as _;
use std::io::IsTerminal as _;
use std::path::Path;

/// Size of a picture, pixels.
const PIXELS: [usize; 2] = [640, 480];

type Files = Vec<(String, Vec<u8>)>;

fn name(kind: JigKind) -> &'static str {
    match kind {
        JigKind::Openings => "jig.openings",
        JigKind::Key => "jig.key",
        JigKind::Bores => "jig.bores",
        JigKind::Wire => "jig.wire",
        JigKind::Pitch => "jig.pitch",
    }
}

/// Runs `jigs`.
pub(super) fn jigs(a: &JigArgs, color: Color, quiet: bool) -> Ended {
    let as_json = a.format == Format::Json;
    let paint = painted(color, std::io::stderr().is_terminal());
    let read =
        bench(a.bench.as_deref(), paint).and_then(|b| Ok((read_under(&a.file, &b, as_json, color)?, b)));
    let (design, bench) = match read {
        Ok(d) => d,
        Err(ended) => return ended,
    };
    let (list, parts) = match patiently("building the jigs", quiet, || written(&design, &bench.drills, a)) {
        Ok(m) => m,
        Err(why) if as_json => {
            let v = serde_json::json!({ "verdict": "not_built", "problems": [{ "code": "build", "message": why }] });
            return Ended { code: 2, stdout: json(&v), stderr: String::new() };
        }
        Err(why) => {
            return Ended {
                code: 2,
                stdout: String::new(),
                stderr: format!("{}: {why}\n", a.file.display()),
            };
        }
    };
    let folder = a.out.clone().unwrap_or_else(|| {
        Path::new("out").join(a.file.file_stem().unwrap_or_else(|| "design".as_ref())).join("jigs")
    });
    if let Err(e) = files::write_all(&folder, &parts) {
        return unwritten(&e);
    }
    let code = if list.verdict == Judgement::Pass { 0 } else { 1 };
    let stdout = if as_json { json(&list) } else { said(&list, &folder.display().to_string(), quiet) };
    Ended { code, stdout, stderr: String::new() }
}

/// Seen from the front, where most of a jig's work is done.
fn picture(mesh: &TriMesh, solid: &Solid) -> Result<Vec<u8>, String> {
    let edges = Tolerance::new(0.005).map_or_else(Vec::new, |t| feature_edges(solid, t));
    let turned = Isometry3::rotation(Vector3::z() * std::f64::consts::PI);
    let body = Body::new(mesh, Some(solid), Material::Silver).with_edges(edges).at(turned);
    let [wide, high] = PIXELS;
    render(&Scene { bodies: vec![body] }, &View::ThreeQuarter.camera(), wide, high, 2)
        .and_then(|i| i.png())
        .map_err(|e| e.to_string())
}

fn written(design: &Design, drills: &[Mm], a: &JigArgs) -> Result<(List, Files), String> {
    let all = made(design, drills, &|n| a.jig.is_empty() || a.jig.iter().any(|k| name(*k) == n))?;
    let (mut entries, mut without, mut files) = (Vec::new(), Vec::new(), Vec::new());
    for one in all {
        let jig = match one {
            Ok(j) => j,
            Err(w) => {
                without.push(w);
                continue;
            }
        };
        let checked: Checked = mesh::checked(&jig.solid, a.tolerance)
            .map_err(|e| format!("{}: {e}. Try another --tolerance", jig.name))?;
        let mesh = &checked.mesh.mesh;
        let bytes = stl::to_bytes(mesh).map_err(|e| e.to_string())?;
        stl::read_back(&bytes, mesh).map_err(|e| e.to_string())?;
        files.push((format!("{}.stl", jig.name), "to print, mm", bytes));
        let text = step::write(&jig.solid, jig.name);
        files.push((format!("{}.step", jig.name), "exact solid, mm", text.into_bytes()));
        files.push((format!("{}.png", jig.name), "picture", picture(mesh, &jig.solid)?));
        let size = Aabb::around(&mesh.positions);
        let size = [0, 1, 2].map(|k| size.max[k] - size.min[k]);
        entries.push(Entry::of(&jig, checked.exact.volume, size, checked.report.chord));
    }
    if entries.is_empty() {
        let why: Vec<String> = without.iter().map(|w| format!("no {}: {}", w.title, w.why)).collect();
        return Err(why.join("; "));
    }
    files.sort_by(|a, b| a.0.cmp(&b.0));
    let passed = entries.iter().flat_map(|e| &e.rules).all(|r| r.verdict == Judgement::Pass);
    let list = List {
        format: "colletline jigs 1",
        program: report::program(),
        design: design.name().to_owned(),
        units: "millimetre",
        verdict: if passed { Judgement::Pass } else { Judgement::Fail },
        state: STATE,
        jigs: entries,
        without,
        files: files.iter().map(|(n, what, bytes)| FileSum::of(n, what, bytes)).collect(),
        cautions: report::cautions(design),
    };
    let mut out: Files = files.into_iter().map(|(n, _, bytes)| (n, bytes)).collect();
    out.push(("jigs.md".to_owned(), sheet(&list).into_bytes()));
    out.push(("jigs.json".to_owned(), json(&list).into_bytes()));
    Ok((list, out))
}

fn said(l: &List, folder: &str, quiet: bool) -> String {
    let mut out = String::new();
    let o = &mut out;
    // Writing to a String cannot fail.
    let folded = |o: &mut String, text: &str, indent: usize| {
        for line in crate::fold::fold(text, 60 - indent) {
            let _ = writeln!(o, "{}{line}", " ".repeat(indent));
        }
    };
    if !quiet {
        let _ = writeln!(o, "{}  bench jigs", l.design);
        for j in &l.jigs {
            let [x, y, z] = j.size_mm;
            let _ = writeln!(o, "\n{} ({}), {} to print", j.title, j.jig, j.count);
            let _ = writeln!(o, "  outside {x:.2} x {y:.2} x {z:.2} mm");
            for s in &j.sizes {
                let unit = if s.word.ends_with("_deg") { "deg" } else { "mm" };
                let _ = writeln!(
                    o,
                    "  {:<46}{:>7.3} {unit}",
                    s.what.chars().take(45).collect::<String>(),
                    s.value
                );
            }
        }
        for w in &l.without {
            let _ = writeln!(o, "\nno {}:", w.title);
            folded(o, &w.why, 2);
        }
        let _ = writeln!(o);
    }
    for r in l.jigs.iter().flat_map(|j| &j.rules).filter(|r| r.verdict != Judgement::Pass) {
        folded(o, &format!("FAIL  {}: {:.3}, at least {:.2} mm", r.title, r.value_mm, r.least_mm), 0);
        let _ = writeln!(o, "      change {}", r.change);
    }
    if !quiet {
        folded(o, l.state, 0);
        let _ = writeln!(o, "how each is used: jigs.md");
        for c in l.cautions.iter().take(4) {
            folded(o, c, 2);
        }
        let _ = writeln!(o, "written to {folder}");
        for f in &l.files {
            let _ = writeln!(o, "  {:<38}  {}", f.name, f.what);
        }
        let _ = writeln!(o, "  {:<38}  for the bench", "jigs.md");
        let _ = writeln!(o, "  {:<38}  checksums, values", "jigs.json");
    }
    out
}
