//! Reads parameter files and says of each, on one line of JSON, what became of it: refused and why, or built, meshed and
//! confirmed, with times and counts. For runs over many random files.
//!
//! Usage: `draws FOLDER [--first N] [--count N] [--write FOLDER]`
//!
//! Files are taken by name. With `--write` the recipe, STEP, STL and a short report of every accepted file are written, for
//! other programs to compare. A file that kills the process is named on stderr before it is begun.

#![allow(clippy::print_stdout, clippy::print_stderr)]

use colletline::masters::{step, stl};
use colletline::mesh;
use colletline::params::{self, Design, RuleVerdict, Severity};
use colletline::parts::link::{LinkShape, build};
use colletline::units::Tolerance;
use serde_json::{Map, Value, json};
use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Instant;

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let get = |name: &str| args.iter().position(|a| a == name).and_then(|i| args.get(i + 1)).cloned();
    let number = |name: &str, or: usize| get(name).and_then(|v| v.parse().ok()).unwrap_or(or);
    let Some(folder) = args.first() else {
        eprintln!("usage: draws FOLDER [--first N] [--count N] [--write FOLDER]");
        return ExitCode::from(2);
    };
    let mut files: Vec<PathBuf> = match std::fs::read_dir(folder) {
        Ok(entries) => entries.filter_map(|e| e.ok().map(|e| e.path())).collect(),
        Err(e) => {
            eprintln!("error: {folder}: {e}");
            return ExitCode::from(3);
        }
    };
    files.retain(|p| p.extension().is_some_and(|e| e == "jsonc"));
    files.sort();
    let write = get("--write").map(PathBuf::from);
    for file in files.iter().skip(number("--first", 0)).take(number("--count", usize::MAX)) {
        eprintln!("{}", file.display());
        let mut line = json!({"file": file.file_name().map(|n| n.to_string_lossy())});
        if let (Value::Object(all), Ok(Value::Object(said))) = (&mut line, one(file, write.as_deref())) {
            all.extend(said);
        }
        println!("{line}");
    }
    ExitCode::SUCCESS
}

/// What became of one file.
fn one(file: &Path, write: Option<&Path>) -> Result<Value, Box<dyn Error>> {
    let bytes = std::fs::read(file)?;
    let start = Instant::now();
    let read = params::read_bytes(&bytes, &std::sync::Arc::default());
    let ms = |since: Instant| (since.elapsed().as_secs_f64() * 1e5).round() / 100.0;
    let read_ms = ms(start);
    let design = match read {
        Ok(d) => d,
        Err(problems) => {
            let all: Vec<Value> = problems
                .iter()
                .map(|p| json!({"code": p.code, "path": p.path, "works": p.works, "says": p.message}))
                .collect();
            return Ok(json!({"is": "refused", "problems": all, "ms": {"read": read_ms}}));
        }
    };
    let mut out = Map::new();
    let (findings, broken) = findings(&design);
    out.insert("rules".into(), findings.into());
    out.insert("is".into(), if broken.is_empty() { "accepted" } else { "rule" }.into());
    out.insert("broken".into(), broken.into());
    let mut times = json!({"read": read_ms});
    let sound = out.get("is").is_some_and(|i| i == "accepted");
    if let Err(e) = made(&design, file, write.filter(|_| sound), &mut out, &mut times) {
        out.insert("is".into(), "failed".into());
        out.insert("why".into(), e.to_string().into());
    }
    out.insert("ms".into(), times);
    Ok(Value::Object(out))
}

/// Every rule as [rule, value, least, most], and the binding ones that do not hold with their parameters.
fn findings(design: &Design) -> (Vec<Value>, Vec<Value>) {
    let all = design.findings();
    let broken = all
        .iter()
        .filter(|f| f.severity == Severity::Refuse && f.verdict != RuleVerdict::Pass)
        .map(|f| json!({"rule": f.rule, "value": f.value, "parameters": f.parameters, "change": f.change}));
    let broken = broken.collect();
    (all.iter().map(|f| json!([f.rule, f.value, f.least, f.most])).collect(), broken)
}

/// Builds, meshes, gates, confirms. A design that breaks a rule is still built: a solid that is not wanted must not be wrong.
fn made(
    design: &Design,
    file: &Path,
    write: Option<&Path>,
    out: &mut Map<String, Value>,
    times: &mut Value,
) -> Result<(), Box<dyn Error>> {
    let ms = |since: Instant| json!((since.elapsed().as_secs_f64() * 1e5).round() / 100.0);
    let start = Instant::now();
    let built = build(&LinkShape::finished(design))?;
    times["build"] = ms(start);
    out.insert("retries".into(), built.effort.retries.len().into());
    out.insert("working triangles".into(), built.effort.triangles.into());
    out.insert("doubts".into(), json!(built.effort.retries));
    out.insert("eased".into(), built.easings.len().into());
    let start = Instant::now();
    let checked = mesh::checked(&built.solid, Tolerance::new(0.005).ok_or("tolerance")?)?;
    times["mesh"] = ms(start);
    let start = Instant::now();
    let said = mesh::witness::confirm(&built.solid, &checked.exact);
    out.insert("confirmed".into(), said.is_ok().into());
    if let Err(mesh::witness::Objection::Against(e)) = said {
        return Err(e.into());
    }
    times["witness"] = ms(start);
    let start = Instant::now();
    if design.no_trial().is_none() {
        build(&LinkShape::trial(design))?;
    }
    times["trial"] = ms(start);
    let r = &checked.report;
    out.insert("faces".into(), json!([built.solid.faces.len(), r.faces]));
    out.insert("edges".into(), json!([built.solid.edges.len(), r.edges]));
    out.insert("genus".into(), json!(r.genus));
    out.insert("shells".into(), json!(r.shells));
    out.insert("volume".into(), json!(checked.exact.volume));
    let Some(folder) = write else { return Ok(()) };
    std::fs::create_dir_all(folder)?;
    let base = folder.join(file.file_stem().unwrap_or_default());
    let with = |ending: &str| PathBuf::from(format!("{}{ending}", base.display()));
    // An eased link is not quite what its file says; without a copy of the file nobody compares the two.
    if built.easings.is_empty() {
        std::fs::copy(file, with(".jsonc"))?;
    } else {
        std::fs::write(with(".jsonc"), "{}")?;
    }
    std::fs::write(with(".json"), built.shape.tree().to_json().to_string())?;
    std::fs::write(with(".step"), step::write(&built.solid, "link"))?;
    std::fs::write(with(".stl"), stl::to_bytes(&checked.mesh.mesh)?)?;
    let report = json!({
        "volume_mm3": checked.exact.volume, "area_mm2": checked.exact.area, "chord_mm": checked.report.chord,
    });
    std::fs::write(with(".report.json"), report.to_string())?;
    Ok(())
}
