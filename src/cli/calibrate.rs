//! `coupon` and `calibrate`: the gauge for the printer, and what its readings say.

use super::args::{Calibrate, Coupon, Format};
use super::make::{json, unwritten};
use super::{Ended, files};
use crate::masters::calibrate::{LARGEST, Line, What, lines, read};
use crate::masters::manifest::FileSum;
use crate::masters::scene::{Item, Object, Scene, metadata};
use crate::masters::{coupon, stl, threemf};
use crate::mesh;
use crate::solid::Frame;
use crate::units::Tolerance;
use nalgebra::Point3;
use std::fmt::Write as _;
use std::path::Path;

/// Chord of the gauge, mm: far below what a caliper shows.
const CHORD: f64 = 0.002;

/// Runs `coupon`.
pub(super) fn coupon(a: &Coupon, quiet: bool) -> Ended {
    let made = match made() {
        Ok(m) => m,
        Err(e) => return wrong(&e),
    };
    let folder = a.out.clone().unwrap_or_else(|| Path::new("out").join("coupon"));
    if let Err(e) = files::write_all(&folder, &made) {
        return unwritten(&e);
    }
    let mut said = String::new();
    if !quiet {
        let _ = writeln!(said, "written to {}", folder.display());
        for (name, _) in &made {
            let _ = writeln!(said, "  {name}");
        }
        let _ = writeln!(said, "gauge.md tells how to print and measure it");
    }
    Ended { code: 0, stdout: said, stderr: String::new() }
}

fn wrong(why: &str) -> Ended {
    Ended { code: 2, stdout: String::new(), stderr: format!("{why}\n") }
}

fn made() -> Result<Vec<(String, Vec<u8>)>, String> {
    let tolerance = Tolerance::new(CHORD).ok_or("no tolerance")?;
    let bodies = coupon::bodies().map_err(|e| e.to_string())?;
    let mut meshes = Vec::new();
    for (name, solid) in &bodies {
        meshes.push((*name, mesh::checked(solid, tolerance).map_err(|e| e.to_string())?.mesh.mesh));
    }
    let mut out = Vec::new();
    let mut scene = Scene {
        metadata: metadata("gauge for the printer", "finished size; millimetres", ""),
        objects: Vec::new(),
        items: Vec::new(),
    };
    for (i, (name, mesh)) in meshes.iter().enumerate() {
        let bytes = stl::to_bytes(mesh).map_err(|e| e.to_string())?;
        stl::read_back(&bytes, mesh).map_err(|e| e.to_string())?;
        out.push((format!("{}.stl", name.replace(' ', "-")), bytes));
        let (name, frame) = ((*name).to_owned(), Frame::at(Point3::origin()));
        scene.items.push(Item { object: i, name: name.clone(), frame });
        scene.objects.push(Object { name, material: "pattern".to_owned(), colour: [0x9a, 0x7f, 0xb8], mesh });
    }
    out.push(("gauge.3mf".to_owned(), threemf::to_bytes(&scene)?));
    out.push(("gauge.md".to_owned(), coupon::about().into_bytes()));
    out.push(("readings.csv".to_owned(), coupon::readings().into_bytes()));
    let what = |name: &str| match name.rsplit('.').next() {
        Some("stl") => "one body, mm",
        Some("3mf") => "the gauge as it is printed",
        Some("md") => "how to print and measure it",
        _ => "to write the readings into",
    };
    let sums = out.iter().map(|(name, bytes)| FileSum::of(name, what(name), bytes)).collect();
    out.push(("gauge.json".to_owned(), json(&coupon::Gauge::of(sums)).into_bytes()));
    Ok(out)
}

/// Runs `calibrate`.
pub(super) fn calibrate(a: &Calibrate) -> Ended {
    let bytes = match files::read(&a.file, LARGEST) {
        Ok(b) => b,
        Err(e) => return unwritten(&e),
    };
    if bytes.len() as u64 > LARGEST {
        return wrong(&format!("{}: more than {LARGEST} bytes are no readings", a.file.display()));
    }
    let found = read(&String::from_utf8_lossy(&bytes)).and_then(|r| lines(&r));
    let found = match found {
        Ok(l) => l,
        Err(all) => {
            let told: Vec<String> = all.iter().map(ToString::to_string).collect();
            if a.format == Format::Json {
                let v = serde_json::json!({ "verdict": "file", "problems": told });
                return Ended { code: 2, stdout: json(&v), stderr: String::new() };
            }
            return wrong(&format!("{}:\n  {}", a.file.display(), told.join("\n  ")));
        }
    };
    let stdout = match a.format {
        Format::Json => json(&serde_json::json!({ "lines": found, "parameters": parameters(&found) })),
        Format::Text => said(&found),
    };
    Ended { code: 0, stdout, stderr: String::new() }
}

/// To a thousandth of a per cent or micrometre.
fn short(x: f64) -> f64 {
    (x * 1000.0).round() / 1000.0 + 0.0
}

/// What the parameter file is to hold, by the name of the parameter.
fn parameters(found: &[Line]) -> serde_json::Value {
    let mut pattern = serde_json::Map::new();
    for l in found {
        let (key, value) = match l.what {
            What::X => ("shrink_x", shrink(l)),
            What::Y => ("shrink_y", shrink(l)),
            What::Z => ("shrink_z", shrink(l)),
            // A hole that comes out smaller has an offset below zero; half of it is on the radius.
            What::Hole => ("hole_closes", closes(l)),
        };
        pattern.insert(key.to_owned(), value.into());
    }
    pattern.insert("compensated_by".to_owned(), "us".into());
    serde_json::json!({ "master": { "pattern": pattern } })
}

fn shrink(l: &Line) -> f64 {
    if l.scale.holds(1.0) { 0.0 } else { short((1.0 - l.scale.value) * 100.0) }
}

fn closes(l: &Line) -> f64 {
    if l.offset.holds(0.0) || l.offset.value > 0.0 { 0.0 } else { short(-l.offset.value / 2.0) }
}

fn said(found: &[Line]) -> String {
    let mut out = String::new();
    let o = &mut out;
    // Writing to a String cannot fail.
    for l in found {
        let _ = writeln!(o, "{}: {} readings, scatter {:.3} mm", l.what.words(), l.used, l.scatter);
        for line in &l.left_out {
            let _ = writeln!(o, "  line {line} left out: farther off than chance explains");
        }
        let (k, c) = (&l.scale, &l.offset);
        let scale = if k.holds(1.0) { "holds 1: do not scale" } else { "scale" };
        let offset = if c.holds(0.0) { "holds 0: do not offset" } else { "offset" };
        let _ = writeln!(o, "  scale  {:.5} +- {:.5}  {scale}", k.value, k.half);
        let _ = writeln!(o, "  offset {:+.4} +- {:.4} mm  {offset}", c.value, c.half);
        if l.what != What::Hole && !c.holds(0.0) {
            let side = c.value / 2.0;
            let _ = writeln!(o, "  every outside size is {:+.3} mm off whatever its size:", c.value);
            let _ = writeln!(o, "  correct the exposure, or lower master.polish.outside by {side:.3}");
        }
        if l.what == What::Hole && c.value > 0.0 && !c.holds(0.0) {
            let _ = writeln!(o, "  holes come out larger: correct the exposure");
        }
        if l.what != What::Hole && !(-1.0..=4.0).contains(&shrink(l)) {
            let _ = writeln!(o, "  a shrink of {:.2} % is not taken: print and measure again", shrink(l));
        }
    }
    let text = serde_json::to_string_pretty(&parameters(found)).unwrap_or_default();
    let _ = writeln!(o, "\nintervals are of 95 %. For the parameter file:\n{text}");
    out
}
