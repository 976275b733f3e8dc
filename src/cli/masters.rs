//! `masters`: the parts to be cast, with all that goes to printer and caster.

use super::args::{Color, Masters};
use super::make::{design, drawn, json, refused, unwritten};
use super::progress::patiently;
use super::{Ended, files};
use crate::masters::compensation::Compensation;
use crate::masters::judged::{judged, process};
use crate::masters::manifest::{self, FileSum, Manifest, PartEntry};
use crate::masters::pattern::{Pattern, pattern, volume};
use crate::masters::scene::{Item, Object, Scene, metadata};
use crate::masters::sheet::{CASTING_CAUTIONS, sheet};
use crate::masters::{glb, step, stl, threemf};
use crate::mesh::bvh::Aabb;
use crate::papers::report;
use crate::params::{Design, Key};
use crate::parts::link::Master;
use crate::solid::Frame;
use crate::trade::limits::State;
use crate::units::{Mm, Tolerance};
use crate::walls::Judgement;
use nalgebra::Point3;
use std::fmt::Write as _;
use std::path::Path;

/// Runs `masters`.
pub(super) fn masters(a: &Masters, color: Color, quiet: bool) -> Ended {
    let common = &a.common;
    let design = match design(common, color) {
        Ok(d) => d,
        Err(ended) => return ended,
    };
    let made = patiently("building the master", quiet, || made(&design, common.tolerance));
    let (manifest, parts) = match made {
        Ok(m) => m,
        Err(e) => return refused(common, &e),
    };
    let folder = a.out.clone().unwrap_or_else(|| {
        Path::new("out").join(common.file.file_stem().unwrap_or_else(|| "design".as_ref())).join("masters")
    });
    if let Err(e) = files::write_all(&folder, &parts) {
        return unwritten(&e);
    }
    let code = if manifest.verdict == Judgement::Pass { 0 } else { 1 };
    let stdout = match common.format {
        super::args::Format::Json => json(&manifest),
        super::args::Format::Text => said(&manifest, &folder.display().to_string(), quiet),
    };
    Ended { code, stdout, stderr: String::new() }
}

type Files = Vec<(String, Vec<u8>)>;

/// The master of a design, built and enlarged; or why there is none.
pub(super) fn ready(
    design: &Design,
    tolerance: Tolerance,
) -> Result<(Compensation, Master, Pattern), String> {
    if design.state() == State::Stock {
        return Err("link.route is fabricated: nothing is cast, so there is no master".to_owned());
    }
    let broken = design.broken();
    if !broken.is_empty() {
        return Err(format!(
            "no master is made of a link that breaks a binding rule ({}); the check command tells what to change",
            broken.join("; ")
        ));
    }
    let c = Compensation::of(design);
    let widest = c.factors.iter().fold(c.factors[0], |a, b| a.max(*b));
    // What the printer closes is added in the pattern's size, not the casting's.
    let hole = Mm(2.0 * design.get(Key::HoleCloses) / widest);
    let master = Master::of(design, hole);
    let made = pattern(&master, c.factors, tolerance).map_err(|e| e.to_string())?;
    Ok((c, master, made))
}

fn made(design: &Design, tolerance: Tolerance) -> Result<(Manifest, Files), String> {
    let (c, master, made) = ready(design, tolerance)?;
    let rules = judged(design, &master);
    let failed = rules.iter().any(|r| r.verdict != Judgement::Pass);
    let verdict = match (failed, c.stated) {
        (true, _) => Judgement::Fail,
        (false, false) => Judgement::Unverified,
        (false, true) => Judgement::Pass,
    };
    let stem = format!("link.master{}", c.mark());
    let mut parts = written(design, &c, &made, &stem)?;
    let picture = drawn(design, &made.checked.mesh.mesh, &made.built.solid, None)?;
    parts.push((format!("{stem}.png"), "picture", picture));
    let size = Aabb::around(&made.mesh.positions);
    let metal = design.metal();
    let pattern_volume = volume(&made.mesh);
    let mut list = Manifest {
        format: "colletline masters 1",
        program: format!("colletline {}", env!("CARGO_PKG_VERSION")),
        design: design.name().to_owned(),
        contact: design.contact().to_owned(),
        units: "millimetre; GLB in metres",
        metal: metal.name,
        process: process(design).name,
        verdict,
        state: c.words(),
        allowances: master.allowances,
        bores: master.bores(),
        lift_mm: master.lift.get(),
        parts: vec![PartEntry {
            part: "link",
            count: manifest::links(design),
            pattern_volume_mm3: pattern_volume,
            casting_g: pattern_volume / c.factors.iter().product::<f64>() * metal.density / 1000.0,
            size_mm: [0, 1, 2].map(|k| size.max[k] - size.min[k]),
            chord_mm: made.checked.report.chord,
        }],
        dimensions: manifest::dimensions(&master.dimensions, &c),
        compensation: c,
        rules,
        files: parts.iter().map(|(name, what, bytes)| FileSum::of(name, what, bytes)).collect(),
        cautions: CASTING_CAUTIONS.into_iter().chain(report::cautions(design)).collect(),
    };
    list.files.sort_by(|a, b| a.name.cmp(&b.name));
    let text = sheet(&list, Some(&format!("{stem}.png")));
    parts.push(("caster.md".to_owned(), "the caster's sheet", text.into_bytes()));
    let mut out: Files = parts.into_iter().map(|(name, _, bytes)| (name, bytes)).collect();
    out.push(("manifest.json".to_owned(), json(&list).into_bytes()));
    Ok((list, out))
}

/// A file: its name, what it is, its bytes.
type Written = (String, &'static str, Vec<u8>);

/// The part in every format.
fn written(design: &Design, c: &Compensation, made: &Pattern, stem: &str) -> Result<Vec<Written>, String> {
    let bytes = stl::to_bytes(&made.mesh).map_err(|e| e.to_string())?;
    stl::read_back(&bytes, &made.mesh).map_err(|e| e.to_string())?;
    let mut out = vec![(format!("{stem}.stl"), "the master, mm", bytes)];
    let frame = Frame::at(Point3::origin());
    let name = format!("link master{}", if c.stated { "" } else { ", not compensated" });
    let scene = Scene {
        metadata: metadata(&format!("{}: {name}", design.name()), &c.words(), design.contact()),
        objects: vec![Object {
            name: name.clone(),
            material: design.metal().name.to_owned(),
            colour: [0x9a, 0x7f, 0xb8],
            mesh: &made.mesh,
        }],
        items: vec![Item { object: 0, name, frame }],
    };
    out.push((format!("{stem}.3mf"), "with names and units", threemf::to_bytes(&scene)?));
    out.push((format!("{stem}.glb"), "for viewers", glb::to_bytes(&scene)));
    if c.alike() {
        let text = step::write(&made.built.solid, stem);
        out.push((format!("{stem}.step"), "exact solid, mm", text.into_bytes()));
    }
    Ok(out)
}

fn said(m: &Manifest, folder: &str, quiet: bool) -> String {
    let mut out = String::new();
    let o = &mut out;
    // Writing to a String cannot fail.
    let failed: Vec<_> = m.rules.iter().filter(|r| r.verdict != Judgement::Pass).collect();
    if !quiet {
        let _ = writeln!(o, "{}  masters for {}", m.design, m.metal);
        for p in &m.parts {
            let [x, y, z] = p.size_mm;
            let _ = writeln!(o, "{:<6} {} to cast, {:.2} g each", p.part, p.count, p.casting_g);
            let _ = writeln!(o, "       pattern {x:.2} x {y:.2} x {z:.2} mm");
        }
        for s in &m.compensation.stages {
            folded(o, "", &s.words);
        }
        let _ = writeln!(o, "\n{:<34}{:>8}{:>8}{:>8}", "", "finished", "casting", "pattern");
        for d in &m.dimensions {
            let f = &d.dimension;
            let name: String = f.name.chars().take(33).collect();
            let _ = writeln!(o, "{name:<34}{:>8.3}{:>8.3}{:>8.3}", f.finished, f.cast, d.pattern);
        }
        let _ = writeln!(o, "\n{} of {} process limits met", m.rules.len() - failed.len(), m.rules.len());
    }
    for r in failed {
        let _ = writeln!(o, "FAIL  {}: {:.3}, at least {:.2} mm", r.title, r.value_mm, r.least_mm);
        let _ = writeln!(o, "      change {}", r.change);
    }
    if !m.compensation.stated {
        folded(o, "open  ", &m.state);
        for p in &m.compensation.missing {
            let _ = writeln!(o, "      give {p}");
        }
    } else if !quiet {
        folded(o, "pass  ", &m.state);
    }
    if !quiet {
        let _ = writeln!(o, "\nwritten to {folder}");
        for f in &m.files {
            let _ = writeln!(o, "  {:<32}  {}", f.name, f.what);
        }
        let _ = writeln!(o, "  {:<32}  for the caster", "caster.md");
        let _ = writeln!(o, "  {:<32}  checksums, values", "manifest.json");
    }
    out
}

/// Lines of at most 60 columns after a first word.
fn folded(o: &mut String, first: &str, text: &str) {
    for (i, line) in crate::fold::fold(text, 60 - first.len()).into_iter().enumerate() {
        let head = if i == 0 { first.to_owned() } else { " ".repeat(first.len()) };
        let _ = writeln!(o, "{head}{line}");
    }
}
