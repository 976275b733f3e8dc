//! `plan`: the job on paper.

use super::args::{Plan as Args, PlanForm};
use super::make::{self, read_under};
use super::progress::patiently;
use super::{Ended, files, problems};
use crate::mesh::exact::solid_mass;
use crate::parts::link::{self, LinkShape};
use crate::plan::bench::{Bench, LARGEST_BENCH, read as read_bench};
use crate::plan::clasp_mass::clasp_mass;
use crate::plan::form::{self, Chapter};
use crate::plan::{self, arrange, measured, sheet};
use crate::units::Mm;
use std::fmt::Write as _;
use std::io::IsTerminal as _;
use std::path::Path;

/// Narrowest and widest that plans are set.
const COLUMNS: (usize, usize) = (56, 100);

/// Reads the bench file, if one is named.
pub(super) fn bench(path: Option<&Path>, paint: bool) -> Result<Bench, Ended> {
    let Some(path) = path else { return Ok(Bench::default()) };
    let bytes = files::read(path, LARGEST_BENCH as u64).map_err(|e| make::unwritten(&e))?;
    let Ok(text) = String::from_utf8(bytes) else {
        let stderr = format!("{} is not UTF-8 text; save it with UTF-8 encoding\n", path.display());
        return Err(Ended { code: 2, stdout: String::new(), stderr });
    };
    read_bench(&text).map_err(|p| {
        let name = path.display().to_string();
        Ended {
            code: 2,
            stdout: String::new(),
            stderr: problems::render(&p, &name, &text, paint, make::columns()),
        }
    })
}

/// Runs `plan`.
pub(super) fn plan(a: &Args, color: super::args::Color, quiet: bool) -> Ended {
    let paint = make::painted(color, std::io::stdout().is_terminal());
    let bench = match bench(a.bench.as_deref(), paint) {
        Ok(b) => b,
        Err(e) => return e,
    };
    let design = match read_under(&a.file, &bench, a.format == PlanForm::Json, color) {
        Ok(d) => d,
        Err(e) => return e,
    };
    if let Some(path) = &a.measured {
        return arranged(a, &design, path, paint);
    }
    let (built, clasp) = patiently("building", quiet, || {
        std::thread::scope(|scope| {
            let clasp = (!a.estimate).then(|| scope.spawn(|| clasp_mass(&design)));
            (link::build(&LinkShape::finished(&design)), clasp.map(std::thread::ScopedJoinHandle::join))
        })
    });
    let refused = |why: String| {
        let stderr = format!("{}: {why}\n", a.file.display());
        Ended { code: 2, stdout: String::new(), stderr }
    };
    let built = match built {
        Ok(b) => b,
        Err(e) => return refused(e.to_string()),
    };
    let (mass, without) = match clasp {
        Some(Err(_)) => return refused("a worker thread died".into()),
        Some(Ok(Some(Ok(mass)))) => (Some(mass), None),
        Some(Ok(Some(Err(e)))) => (None, Some(e)),
        Some(Ok(None)) | None => (None, None),
    };
    let mut plan =
        plan::plan_with(&design, &bench, solid_mass(&built.solid), mass.as_ref(), a.length.map(Mm));
    plan.metal.without.extend(
        without.map(|e| format!("The clasp is weighed by estimate: its solids cannot be built ({e}).")),
    );
    let stdout = match a.format {
        PlanForm::Json => serde_json::to_string_pretty(&plan).unwrap_or_default() + "\n",
        form => {
            let title = format!("{}  {}", plan.design, plan.metal.alloy);
            printed(form, (&title, &plan.design), &sheet::chapters(&plan), paint)
        }
    };
    Ended { code: u8::from(!plan.findings.is_empty()), stdout, stderr: String::new() }
}

fn arranged(a: &Args, design: &crate::params::Design, path: &Path, paint: bool) -> Ended {
    let bytes = match files::read(path, LARGEST_BENCH as u64) {
        Ok(b) => b,
        Err(e) => return make::unwritten(&e),
    };
    if bytes.len() > LARGEST_BENCH {
        let stderr =
            format!("{}: more than {LARGEST_BENCH} bytes; a line has some hundred rows\n", path.display());
        return Ended { code: 2, stdout: String::new(), stderr };
    }
    let Ok(text) = String::from_utf8(bytes) else {
        let stderr = format!("{} is not UTF-8 text; save it with UTF-8 encoding\n", path.display());
        return Ended { code: 2, stdout: String::new(), stderr };
    };
    let m = match measured::read(&text) {
        Ok(m) => m,
        Err(wrong) => {
            let mut stderr = String::new();
            for w in wrong {
                let _ = writeln!(stderr, "{}: {w}", path.display());
            }
            return Ended { code: 2, stdout: String::new(), stderr };
        }
    };
    let r = arrange::arrange(design, &m);
    let stdout = match a.format {
        PlanForm::Json => serde_json::to_string_pretty(&r).unwrap_or_default() + "\n",
        form => printed(form, (design.name(), design.name()), &arrange::chapters(&r), paint),
    };
    Ended { code: u8::from(!r.findings.is_empty()), stdout, stderr: String::new() }
}

/// Chapters in a form other than JSON, under a title for the terminal and one for paper.
pub(super) fn printed(form: PlanForm, title: (&str, &str), chapters: &[Chapter], paint: bool) -> String {
    let bold = |s: &str| if paint { format!("\u{1b}[1m{s}\u{1b}[0m") } else { s.to_owned() };
    let alert = |s: &str| if paint { format!("\u{1b}[33m{s}\u{1b}[0m") } else { s.to_owned() };
    let width = make::columns().clamp(COLUMNS.0, COLUMNS.1);
    match form {
        PlanForm::Markdown => form::markdown(title.1, chapters),
        PlanForm::Csv => form::csv(chapters),
        PlanForm::Text | PlanForm::Json => form::terminal((title.0, chapters), width, bold, alert),
    }
}
