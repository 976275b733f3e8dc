//! `assembly`: the whole bracelet as one STEP file, every part a product, every copy in its place.

use super::args::{Assembly, Color, Format, Lie};
use super::make::{json, read_design, unwritten};
use super::progress::patiently;
use super::{Ended, files};
use crate::masters::manifest::FileSum;
use crate::masters::step::{self, Copy};
use crate::mesh::exact::solid_mass;
use crate::params::Design;
use crate::parts::clasp::{self, ClaspPart};
use crate::parts::line::{Pose, pieces};
use crate::parts::link::{LinkShape, build as build_link};
use crate::parts::{joint, stone};
use crate::solid::Solid;
use crate::units::Deg;
use serde::Serialize;
use std::fmt::Write as _;
use std::path::Path;

/// What the file holds.
#[derive(Debug, Serialize)]
struct List {
    format: &'static str,
    design: String,
    pose: Lie,
    units: &'static str,
    parts: Vec<Product>,
    copies: Vec<Place>,
    files: Vec<FileSum>,
    notes: [&'static str; 2],
}

#[derive(Debug, Serialize)]
struct Product {
    part: &'static str,
    count: usize,
    volume_mm3: f64,
}

#[derive(Debug, Serialize)]
struct Place {
    part: &'static str,
    name: String,
    origin_mm: [f64; 3],
    x: [f64; 3],
    z: [f64; 3],
}

const NOTES: [&str; 2] = [
    "The lower leg of a connecting wire is shown round, with the metal it has before it is hammered; that it fits its groove hammered flat is judged by the rules joint.leg_in_groove, joint.leg_through_bore and joint.flush, and `motion` turns it flat. Pins of hinge tubes are without their beads.",
    "The safety chain and its jump rings are not threaded and not in the file: links and rings are parts of their own (`make --part clasp`, laid out in catches.png), hung by hand in the eyes of plate and frame.",
];

type Parts = Vec<(&'static str, Solid)>;
type Files = Vec<(String, Vec<u8>)>;

/// Runs `assembly`.
pub(super) fn assembly(a: &Assembly, color: Color, quiet: bool) -> Ended {
    let design = match read_design(&a.file, a.bench.as_deref(), a.format == Format::Json, color) {
        Ok(d) => d,
        Err(ended) => return ended,
    };
    let made =
        patiently("building every part", quiet, || parts(&design)).map(|p| written(&design, a.pose, &p));
    let (list, parts) = match made {
        Ok(m) => m,
        Err(e) => {
            return Ended { code: 2, stdout: String::new(), stderr: format!("{}: {e}\n", a.file.display()) };
        }
    };
    let folder = a.out.clone().unwrap_or_else(|| {
        Path::new("out").join(a.file.file_stem().unwrap_or_else(|| "design".as_ref())).join("assembly")
    });
    if let Err(e) = files::write_all(&folder, &parts) {
        return unwritten(&e);
    }
    let stdout = match a.format {
        Format::Json => json(&list),
        Format::Text => said(&list, &folder.display().to_string(), quiet),
    };
    Ended { code: 0, stdout, stderr: String::new() }
}

/// Every part of the bracelet that is a solid, by the name its pieces have.
fn parts(design: &Design) -> Result<Parts, String> {
    let of = |name: &'static str, made: Result<Solid, crate::solid::BuildError>| match made {
        Ok(s) => Ok((name, s)),
        Err(e) => Err(format!("{name}: {e}")),
    };
    let mut out = vec![
        of("link", build_link(&LinkShape::finished(design)).map(|b| b.solid))?,
        of("stone", stone::build(design, 0.0))?,
        of("joint", joint::build(design))?,
    ];
    // What has no place, such as the links of the safety chain, is no part of the assembly.
    let placed = pieces(design, Pose::Straight);
    for part in ClaspPart::ALL.into_iter().filter(|p| placed.iter().any(|q| q.part == p.name())) {
        if let Some(made) = clasp::build(design, part) {
            out.push(of(part.name(), made.map(|p| p.solid))?);
        }
    }
    Ok(out)
}

fn written(design: &Design, lie: Lie, parts: &Parts) -> (List, Files) {
    let pose = match lie {
        Lie::Straight => Pose::Straight,
        Lie::Wrist => Pose::Wrist,
        Lie::Open => Pose::Open(Deg(60.0)),
    };
    let mut copies = Vec::new();
    for piece in pieces(design, pose) {
        if let Some(part) = parts.iter().position(|p| p.0 == piece.part) {
            copies.push(Copy {
                part,
                name: format!("{} {}", piece.part, piece.number + 1),
                frame: piece.frame,
            });
        }
    }
    let solids: Vec<(&str, &Solid)> = parts.iter().map(|(n, s)| (*n, s)).collect();
    let text = step::assembly("bracelet", &solids, &copies);
    let name = "bracelet.step";
    let list = List {
        format: "colletline assembly 1",
        design: design.name().to_owned(),
        pose: lie,
        units: "millimetre",
        parts: parts
            .iter()
            .enumerate()
            .map(|(i, (part, solid))| Product {
                part,
                count: copies.iter().filter(|c| c.part == i).count(),
                volume_mm3: solid_mass(solid).volume,
            })
            .collect(),
        copies: copies
            .iter()
            .map(|c| Place {
                part: parts.get(c.part).map_or("", |p| p.0),
                name: c.name.clone(),
                origin_mm: c.frame.origin.coords.into(),
                x: c.frame.x.into(),
                z: c.frame.z.into(),
            })
            .collect(),
        files: vec![FileSum::of(name, "every part in its place, mm", text.as_bytes())],
        notes: NOTES,
    };
    let files =
        vec![(name.to_owned(), text.into_bytes()), ("assembly.json".to_owned(), json(&list).into_bytes())];
    (list, files)
}

fn said(list: &List, folder: &str, quiet: bool) -> String {
    let mut out = String::new();
    if quiet {
        return out;
    }
    let o = &mut out;
    // Writing to a String cannot fail.
    let _ = writeln!(o, "{:<22}{:>7}{:>16}", "part", "copies", "volume, mm3");
    for p in &list.parts {
        let _ = writeln!(o, "{:<22}{:>7}{:>16.3}", p.part, p.count, p.volume_mm3);
    }
    for n in NOTES {
        for line in crate::fold::fold(n, 60) {
            let _ = writeln!(o, "{line}");
        }
    }
    let _ = writeln!(o, "written to {folder}");
    out
}
