//! `masters`: the parts to be cast, with all that goes to printer and caster.

use super::args::{Color, Common, Masters};
use super::make::{design, drawn, json, refused, unwritten};
use super::progress::patiently;
use super::sprue_picture::marked;
use super::{Ended, files};
use crate::masters::castings::{Casting, castings, look_at_flow, neck_share};
use crate::masters::compensation::Compensation;
use crate::masters::flow::Flow;
use crate::masters::judged::process;
use crate::masters::manifest::{self, Faces, FileSum, Manifest, PartEntry};
use crate::masters::pattern::volume;
use crate::masters::scene::{Item, Object, Scene, metadata};
use crate::masters::sheet::{CASTING_CAUTIONS, METAL_PRINT_CAUTIONS, sheet};
use crate::masters::{glb, step, stl, threemf};
use crate::mesh::bvh::Aabb;
use crate::papers::report;
use crate::params::{Design, Key, Severity};
use crate::parts::link::{Allowances, Bores};
use crate::solid::Frame;
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
    let made = patiently("building the master", quiet, || made(&design, common));
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

fn made(design: &Design, common: &Common) -> Result<(Manifest, Files), String> {
    let (c, mut castings) = castings(design, common.tolerance, &|part| common.casts(part))?;
    look_at_flow(design, &mut castings);
    let hollow = castings.iter().filter_map(|p| p.flow.as_ref()).any(Flow::has_closed_hollow);
    let rules: Vec<_> = castings.iter().flat_map(|p| p.rules.clone()).collect();
    let failed =
        hollow || rules.iter().any(|r| r.verdict != Judgement::Pass && r.severity == Severity::Refuse);
    let verdict = match (failed, c.stated) {
        (true, _) => Judgement::Fail,
        (false, false) => Judgement::Unverified,
        (false, true) => Judgement::Pass,
    };
    let (mut parts, mut pictures, mut dimensions) = (Vec::new(), Vec::new(), Vec::new());
    for p in &castings {
        let stem = format!("{}.master{}", p.part, c.mark());
        parts.extend(written(design, &c, p, &stem)?);
        let picture = drawn(design, &p.pattern.checked.mesh.mesh, &p.pattern.solid, None)?;
        pictures.push(format!("{stem}.png"));
        parts.push((format!("{stem}.png"), "picture", picture));
        if let Some(below) = marked(design, p)? {
            pictures.push(format!("{stem}.below.png"));
            parts.push((format!("{stem}.below.png"), "sprue marked", below));
        }
        dimensions.extend(manifest::dimensions(p.part, &p.dimensions, &c));
    }
    let metal = design.metal();
    let dangers: &[_] = if process(design).cast { &CASTING_CAUTIONS } else { &METAL_PRINT_CAUTIONS };
    let mut list = Manifest {
        format: "colletline masters 1",
        program: format!("colletline {}", env!("CARGO_PKG_VERSION")),
        design: design.name().to_owned(),
        contact: design.contact().to_owned(),
        units: "millimetre; GLB in metres",
        metal: metal.name,
        process: process(design).name,
        cast: process(design).cast,
        neck_share: neck_share(design),
        verdict,
        state: c.words(),
        allowances: Allowances::of(design),
        bores: Bores::of(design),
        lift_mm: design.get(Key::PolishUnderside),
        parts: castings.iter().map(|p| entry(p, &c, design.density().0)).collect(),
        dimensions,
        compensation: c,
        rules,
        overruled: design.own().list().to_vec(),
        files: parts.iter().map(|(name, what, bytes)| FileSum::of(name, what, bytes)).collect(),
        cautions: dangers.iter().copied().chain(report::cautions(design)).collect(),
    };
    list.files.sort_by(|a, b| a.name.cmp(&b.name));
    let text = sheet(&list, &pictures);
    parts.push(("caster.md".to_owned(), "the caster's sheet", text.into_bytes()));
    let mut out: Files = parts.into_iter().map(|(name, _, bytes)| (name, bytes)).collect();
    out.push(("manifest.json".to_owned(), json(&list).into_bytes()));
    Ok((list, out))
}

fn entry(p: &Casting, c: &Compensation, density: f64) -> PartEntry {
    let size = Aabb::around(&p.pattern.mesh.positions);
    let pattern_volume = volume(&p.pattern.mesh);
    PartEntry {
        part: p.part,
        title: p.title,
        count: p.count,
        pattern_volume_mm3: pattern_volume,
        solid_volume_mm3: p.pattern.checked.exact.volume,
        faces: Faces::of(&p.pattern.solid),
        casting_g: p.part_volume / c.factors.iter().product::<f64>() * density / 1000.0,
        size_mm: [0, 1, 2].map(|k| size.max[k] - size.min[k]),
        chord_mm: p.pattern.checked.report.chord,
        stub: p.stub.clone(),
        flow: p.flow.clone(),
    }
}

/// A file: its name, what it is, its bytes.
type Written = (String, &'static str, Vec<u8>);

/// The part in every format.
fn written(design: &Design, c: &Compensation, p: &Casting, stem: &str) -> Result<Vec<Written>, String> {
    let mesh = &p.pattern.mesh;
    let bytes = stl::to_bytes(mesh).map_err(|e| e.to_string())?;
    stl::read_back(&bytes, mesh).map_err(|e| e.to_string())?;
    let mut out = vec![(format!("{stem}.stl"), "the master, mm", bytes)];
    let frame = Frame::at(Point3::origin());
    let name = format!("{} master{}", p.part, if c.stated { "" } else { ", not compensated" });
    let scene = Scene {
        metadata: metadata(&format!("{}: {name}", design.name()), &c.words(), design.contact()),
        objects: vec![Object {
            name: name.clone(),
            material: design.metal().name.to_owned(),
            colour: [0x9a, 0x7f, 0xb8],
            mesh,
        }],
        items: vec![Item { object: 0, name, frame }],
    };
    out.push((format!("{stem}.3mf"), "named, in mm", threemf::to_bytes(&scene)?));
    out.push((format!("{stem}.glb"), "for viewers", glb::to_bytes(&scene)));
    if c.alike() {
        let text = step::write(&p.pattern.solid, stem);
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
            let task = if m.cast { "to cast" } else { "to print" };
            let _ = writeln!(o, "{}: {} {task}, {:.2} g each", p.title, p.count, p.casting_g);
            let with = if p.stub.is_some() { ", stub included" } else { "" };
            let _ = writeln!(o, "       pattern {x:.2} x {y:.2} x {z:.2} mm{with}");
        }
        for s in &m.compensation.stages {
            folded(o, "", &s.words);
        }
        for p in &m.parts {
            let _ = writeln!(o, "\n{:<34}{:>8}{:>8}{:>8}", p.title, "finished", "casting", "pattern");
            for d in m.dimensions.iter().filter(|d| d.part == p.part) {
                let f = &d.dimension;
                let name: String = f.name.chars().take(33).collect();
                let _ = writeln!(o, "{name:<34}{:>8.3}{:>8.3}{:>8.3}", f.finished, f.cast, d.pattern);
            }
        }
        let _ = writeln!(o, "\n{} of {} process limits met", m.rules.len() - failed.len(), m.rules.len());
    }
    for p in m.parts.iter().filter(|_| !quiet) {
        let Some(f) = &p.flow else { continue };
        told(o, p, f);
    }
    for r in failed {
        let note = r.severity == Severity::Note;
        if note && quiet {
            continue;
        }
        let word = if note { "note  " } else { "FAIL  " };
        folded(o, word, &format!("{}: {:.3}, at least {:.3} mm", r.title, r.value_mm, r.least_mm));
        folded(o, "      ", &format!("at {}", r.faces.join(", ")));
        folded(o, "      ", &format!("change {}", r.change.join(" or ")));
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
            let _ = writeln!(o, "  {:<38}  {}", f.name, f.what);
        }
        let _ = writeln!(o, "  {:<38}  for the caster", "caster.md");
        let _ = writeln!(o, "  {:<38}  checksums, values", "manifest.json");
    }
    out
}

/// Sprue, heavy places and pockets of a part, in short; the sheet has them one by one.
fn told(o: &mut String, p: &PartEntry, f: &Flow) {
    let title = p.title;
    if let Some(s) = &p.stub {
        let [x, y, _] = s.at_mm;
        let text = format!(
            "{title}: sprue stub of {:.2} x {:.2} mm on {} at {x:.2}, {y:.2}, foot {:.2} mm",
            s.diameter_mm, s.length_mm, s.face, s.foot_mm
        );
        folded(o, "", &text);
    } else if let Some(s) = &f.sprue {
        let [x, y, _] = s.at_mm;
        let text = format!(
            "{title}: sprue on {} at {x:.2}, {y:.2}, foot {:.2} mm, itself at least {:.1}",
            s.face, s.foot_mm, s.body_mm
        );
        folded(o, "", &text);
    }
    if let Some(h) = f.heavy.first() {
        folded(o, "", &format!("{title}: {} heavy places, the heaviest {}", f.heavy.len(), h.words()));
    }
    let thin =
        f.heavy.iter().filter_map(|h| h.neck.as_ref()).filter(|n| n.verdict == Judgement::Fail).count();
    if thin > 0 {
        folded(
            o,
            "note  ",
            &format!("{title}: {thin} of them thick, thin, thick: feed from both sides, or thicken between"),
        );
    }
    if !f.pockets.is_empty() {
        let (n, first) = (f.pockets.len(), f.pockets.first().map_or_else(String::new, |p| p.words()));
        folded(
            o,
            "note  ",
            &format!("{title}: {n} pockets deeper than the process fills, the deepest {first}"),
        );
    }
}

/// Lines of at most 60 columns after a first word.
fn folded(o: &mut String, first: &str, text: &str) {
    for (i, line) in crate::fold::fold(text, 60 - first.len()).into_iter().enumerate() {
        let head = if i == 0 { first.to_owned() } else { " ".repeat(first.len()) };
        let _ = writeln!(o, "{head}{line}");
    }
}
