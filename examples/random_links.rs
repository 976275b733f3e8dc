//! Draws random parameter files, builds each link and writes file, recipe, STEP, STL and a short report, for other
//! programs to compare.
//!
//! Usage: `random_links --seed S --count N --out DIR`
//!
//! The generator has its own idea of a sane link: it takes the defaults for a random stone and moves a random choice of
//! dimensions by up to a fifth. What the file reader refuses, or a binding rule of the trade fails, is not sane and is
//! drawn again; everything else must be built.

#![allow(clippy::print_stdout, clippy::print_stderr)]

use colletline::masters::{step, stl};
use colletline::mesh;
use colletline::params::{self, Design, RuleVerdict, Severity};
use colletline::parts::link::{LinkShape, build};
use colletline::units::Tolerance;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// A linear congruential generator (Knuth, MMIX): the same draws everywhere.
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / (1u64 << 31) as f64
    }
    fn between(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * self.unit()
    }
    fn one_of<'a>(&mut self, list: &[&'a str]) -> &'a str {
        list[(self.unit() * list.len() as f64) as usize % list.len()]
    }
}

/// Dimensions that are moved.
const MOVED: [&str; 18] = [
    "collet.width",
    "collet.height",
    "collet.foot_half_width",
    "collet.wall",
    "seat.rim_land",
    "claw.diameter",
    "opening.width",
    "opening.bottom",
    "opening.top",
    "opening.stop",
    "opening.bur",
    "joint.bore_width",
    "joint.bore_height",
    "joint.groove_depth",
    "joint.groove_width",
    "joint.web_height",
    "joint.web_edge",
    "joint.wire_flat",
];

fn draw(r: &mut Random) -> String {
    let diameter = (r.between(1.8, 6.0) * 20.0).round() / 20.0;
    let metal = r.one_of(&["platinum950_ru", "gold750_yellow", "silver925"]);
    let kind = r.one_of(&["line", "line", "line", "plain_left", "plain_right"]);
    let bur = r.one_of(&["90", "90", "90", "84", "95"]);
    let wrist = r.between(140.0, 195.0).round();
    let head = format!(
        "\"metal\":{{\"alloy\":\"{metal}\"}},\"stone\":{{\"diameter\":{diameter}}},\"wearer\":{{\"wrist\":{wrist}}},\"link\":{{\"kind\":\"{kind}\"}}"
    );
    let Ok(base) = params::read(&format!("{{{head}}}")) else { return format!("{{{head}}}") };
    let mut groups: Vec<(String, Vec<String>)> = vec![("seat".into(), vec![format!("\"bur_angle\":{bur}")])];
    for v in base.values().iter().filter(|v| MOVED.contains(&v.path)) {
        if r.unit() < 0.55 {
            continue;
        }
        let now = v.value.as_f64().unwrap_or(1.0);
        let x = (now * r.between(0.85, 1.18) * 100.0).round() / 100.0;
        let (group, leaf) = v.path.split_once('.').unwrap_or((v.path, ""));
        let entry = format!("\"{leaf}\":{x}");
        match groups.iter_mut().find(|g| g.0 == group) {
            Some(g) => g.1.push(entry),
            None => groups.push((group.to_owned(), vec![entry])),
        }
    }
    let body: Vec<String> = groups.into_iter().map(|(g, e)| format!("\"{g}\":{{{}}}", e.join(","))).collect();
    format!("{{{head},{}}}", body.join(","))
}

fn sane(text: &str) -> Option<Design> {
    let design = params::read(text).ok()?;
    let fails = |f: &params::Finding| f.severity == Severity::Refuse && f.verdict != RuleVerdict::Pass;
    (!design.findings().iter().any(fails)).then_some(design)
}

/// The file with every value given, so that nothing is left to our own defaults.
fn explicit(design: &Design) -> String {
    let mut out = String::from("{");
    let mut group = "";
    for v in design.values() {
        let (g, leaf) = v.path.split_once('.').unwrap_or((v.path, ""));
        if g != group {
            out.push_str(if group.is_empty() { "" } else { "}," });
            out.push_str(&format!("\"{g}\":{{"));
            group = g;
        } else {
            out.push(',');
        }
        out.push_str(&format!("\"{leaf}\":{}", v.value));
    }
    out + "}}"
}

fn one(design: &Design, text: &str, base: &Path) -> Result<String, Box<dyn Error>> {
    let start = std::time::Instant::now();
    let built = build(&LinkShape::finished(design))?;
    let seconds = start.elapsed().as_secs_f64();
    let tolerance = Tolerance::new(0.005).ok_or("tolerance")?;
    let checked = mesh::checked(&built.solid, tolerance)?;
    mesh::witness::confirm(&built.solid, &checked.exact)?;
    let with = |ending: &str| PathBuf::from(format!("{}{ending}", base.display()));
    // An eased link is not quite what its file says; then the file keeps its gaps, so that nobody compares the two.
    let file = if built.easings.is_empty() { explicit(design) } else { text.to_owned() };
    std::fs::write(with(".jsonc"), file)?;
    std::fs::write(with(".json"), built.shape.tree().to_json().to_string())?;
    std::fs::write(with(".step"), step::write(&built.solid, "link"))?;
    std::fs::write(with(".stl"), stl::to_bytes(&checked.mesh.mesh)?)?;
    let report = serde_json::json!({
        "volume_mm3": checked.exact.volume, "area_mm2": checked.exact.area, "chord_mm": checked.report.chord,
    });
    std::fs::write(with(".report.json"), report.to_string())?;
    Ok(format!(
        "{:.0} ms, {} finer meshes, {} eased",
        seconds * 1e3,
        built.effort.retries.len(),
        built.easings.len()
    ))
}

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().collect();
    let get = |name: &str| args.iter().position(|a| a == name).and_then(|i| args.get(i + 1)).cloned();
    let number = |name: &str, or: u64| get(name).and_then(|v| v.parse().ok()).unwrap_or(or);
    let (seed, count) = (number("--seed", 1), number("--count", 12));
    let out = PathBuf::from(get("--out").unwrap_or_else(|| "out/random".into()));
    if let Err(e) = std::fs::create_dir_all(&out) {
        eprintln!("error: {}: {e}", out.display());
        return ExitCode::from(3);
    }
    let mut r = Random(seed.wrapping_mul(7919).wrapping_add(13));
    let (mut drawn, mut failed, mut i) = (0u64, 0u64, 0u64);
    while i < count && drawn < 200 * count.max(1) {
        drawn += 1;
        let text = draw(&mut r);
        let Some(design) = sane(&text) else { continue };
        let base = out.join(format!("{i:03}"));
        match one(&design, &text, &base) {
            Ok(note) => println!("{i:03} {note}"),
            Err(e) => {
                failed += 1;
                eprintln!("{i:03} failed: {e}\n{text}");
                // Left for whoever looks into it.
                let _ = std::fs::write(base.with_extension("jsonc"), &text);
            }
        }
        i += 1;
    }
    println!("{i} sane of {drawn} drawn, {failed} failed");
    if failed == 0 && i == count { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
