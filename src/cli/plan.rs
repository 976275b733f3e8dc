//! `plan`: the job on paper.

use super::args::{Plan as Args, PlanForm};
use super::make::{self, read_design};
use super::progress::patiently;
use super::{Ended, files, problems};
use crate::mesh::exact::solid_mass;
use crate::parts::link::{self, LinkShape};
use crate::plan::bench::{Bench, LARGEST_BENCH, read as read_bench};
use crate::plan::clasp_mass::clasp_mass;
use crate::plan::{self, measured, sheet};
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
    let design = match read_design(&a.file, a.format == PlanForm::Json, color) {
        Ok(d) => d,
        Err(e) => return e,
    };
    let bench = match bench(a.bench.as_deref(), paint) {
        Ok(b) => b,
        Err(e) => return e,
    };
    if let Some(path) = &a.measured {
        return arranged(a, &design, path);
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
    let bold = |s: &str| if paint { format!("\u{1b}[1m{s}\u{1b}[0m") } else { s.to_owned() };
    let alert = |s: &str| if paint { format!("\u{1b}[33m{s}\u{1b}[0m") } else { s.to_owned() };
    let width = make::columns().clamp(COLUMNS.0, COLUMNS.1);
    let stdout = match a.format {
        PlanForm::Text => sheet::terminal(&plan, width, bold, alert),
        PlanForm::Markdown => sheet::markdown(&plan),
        PlanForm::Csv => sheet::csv(&plan),
        PlanForm::Json => serde_json::to_string_pretty(&plan).unwrap_or_default() + "\n",
    };
    Ended { code: u8::from(!plan.findings.is_empty()), stdout, stderr: String::new() }
}

fn arranged(a: &Args, design: &crate::params::Design, path: &Path) -> Ended {
    let bytes = match files::read(path, LARGEST_BENCH as u64) {
        Ok(b) => b,
        Err(e) => return make::unwritten(&e),
    };
    let read = if bytes.len() > LARGEST_BENCH {
        Err(vec![format!("the file has more than {LARGEST_BENCH} bytes; a line has some hundred rows")])
    } else {
        measured::read(&String::from_utf8_lossy(&bytes))
    };
    let m = match read {
        Ok(m) => m,
        Err(wrong) => {
            let mut stderr = String::new();
            for w in wrong {
                let _ = writeln!(stderr, "{}: {w}", path.display());
            }
            return Ended { code: 2, stdout: String::new(), stderr };
        }
    };
    let r = measured::arrange(design, &m);
    let code = u8::from(!r.findings.is_empty());
    if a.format == PlanForm::Json {
        let stdout = serde_json::to_string_pretty(&r).unwrap_or_default() + "\n";
        return Ended { code, stdout, stderr: String::new() };
    }
    let mut o = String::new();
    if a.format == PlanForm::Csv {
        o.push_str("place,stone,stone_mm,link_mm\n");
        for p in &r.places {
            let _ = writeln!(o, "{},{},{:.3},{:.3}", p.place, p.stone, p.stone_mm, p.link_mm);
        }
        return Ended { code, stdout: o, stderr: String::new() };
    }
    let _ = writeln!(o, "{}\n\nplace  stone no.  stone mm  setting mm", design.name());
    for p in &r.places {
        let _ = writeln!(o, "{:>5}  {:>9}  {:>8.2}  {:>10.2}", p.place, p.stone, p.stone_mm, p.link_mm);
    }
    let _ = writeln!(o, "\ngaps               {:.2} to {:.2} mm", r.gaps_mm[0], r.gaps_mm[1]);
    let _ = writeln!(o, "girdle to girdle   at least {:.2} mm", r.girdles_mm);
    let _ = writeln!(o, "length, flat       {:.2} mm", r.length_mm);
    let _ = writeln!(o, "clasp takes up     {:+.2} mm", r.clasp_takes_mm);
    for f in &r.findings {
        let _ = writeln!(o, "! {f}");
    }
    Ended { code, stdout: o, stderr: String::new() }
}
