//! `plate`: the masters of an order laid out on build plates.

use super::args::{Color, Format, Plate};
use super::make::{design, json, refused, unwritten};
use super::progress::patiently;
use super::{Ended, files};
use crate::intake;
use crate::masters::castings::{Casting, castings};
use crate::masters::compensation::Compensation;
use crate::masters::manifest::FileSum;
use crate::masters::pattern::volume;
use crate::masters::plate::{Bed, Kind, Placed, plates};
use crate::masters::scene::{Item, Object, Scene, metadata};
use crate::masters::{stl, tag, threemf};
use crate::mesh::TriMesh;
use crate::params::Design;
use crate::solid::Frame;
use nalgebra::Point3;
use std::fmt::Write as _;
use std::path::Path;

/// Triangles on all plates together at most: what `check` reads back, 400 MB of STL.
const MOST_TRIANGLES: usize = intake::MOST;

/// Runs `plate`.
pub(super) fn plate(a: &Plate, color: Color, quiet: bool) -> Ended {
    let common = &a.common;
    let design = match design(common, color) {
        Ok(d) => d,
        Err(ended) => return ended,
    };
    let (c, made) = match patiently("building the masters", quiet, || {
        castings(&design, common.tolerance, &|part| common.casts(part))
    }) {
        Ok(made) => made,
        Err(e) => return refused(common, &e),
    };
    let laid = match laid(a, &design, &c, &made) {
        Ok(l) => l,
        Err(e) => return refused(common, &e),
    };
    let folder = a.out.clone().unwrap_or_else(|| {
        Path::new("out").join(common.file.file_stem().unwrap_or_else(|| "design".as_ref())).join("plates")
    });
    let (report, parts) = laid;
    if let Err(e) = files::write_all(&folder, &parts) {
        return unwritten(&e);
    }
    let stdout = match common.format {
        Format::Json => json(&report),
        Format::Text => said(&report, &folder.display().to_string(), &c, quiet),
    };
    Ended { code: u8::from(!c.stated), stdout, stderr: String::new() }
}

/// What was laid out.
#[derive(Debug, serde::Serialize)]
struct Laid {
    format: &'static str,
    design: String,
    state: String,
    parts: Vec<Count>,
    size_mm: [f64; 2],
    spacing_mm: f64,
    plates: Vec<OnPlate>,
    pattern_volume_mm3: f64,
    /// Whether a sprue stub stands under every part.
    stubs: bool,
    files: Vec<FileSum>,
}

#[derive(Debug, serde::Serialize)]
struct OnPlate {
    parts: Vec<Count>,
    volume_mm3: f64,
}

#[derive(Debug, serde::Serialize)]
struct Count {
    part: String,
    count: usize,
}

type Files = Vec<(String, Vec<u8>)>;

fn laid(a: &Plate, design: &Design, c: &Compensation, made: &[Casting]) -> Result<(Laid, Files), String> {
    let text = a.tag.as_deref().map(tag::checked).transpose()?;
    let label = text.as_deref().map(tag::tag);
    let mut kinds: Vec<Kind<'_>> = Vec::new();
    for p in made {
        // A number given is that of links, without the rest of the order.
        let count = match (a.count, p.part) {
            (None, _) => p.count,
            (Some(n), "link") => n,
            (Some(_), _) => continue,
        };
        kinds.push(Kind { name: p.part.to_owned(), mesh: &p.pattern.mesh, count, every: false });
    }
    if kinds.is_empty() {
        return Err("--count counts links, and no link of this file is cast: leave it out".to_owned());
    }
    if let Some(m) = &label {
        kinds.push(Kind { name: "tag".to_owned(), mesh: m, count: 0, every: true });
    }
    let bed = Bed { length: a.size[0], width: a.size[1], spacing: a.spacing };
    let plates = plates(bed, &kinds)?;
    let triangles: usize = plates.iter().flatten().map(|p| kinds[p.kind].mesh.triangles.len()).sum();
    if triangles > MOST_TRIANGLES {
        return Err(format!(
            "the plates would hold {triangles} triangles; at most {MOST_TRIANGLES} are written. Give a coarser --tolerance or \
             a smaller --count"
        ));
    }
    let (mut files, mut sums, mut on) = (Vec::new(), Vec::new(), Vec::new());
    let volumes: Vec<f64> = kinds.iter().map(|k| volume(k.mesh)).collect();
    for (i, placed) in plates.iter().enumerate() {
        let stem = format!("plate-{}{}", i + 1, c.mark());
        let scene = scene(design, c, &kinds, placed, &stem);
        let bytes = threemf::to_bytes(&scene)?;
        sums.push(FileSum::of(&format!("{stem}.3mf"), "a plate as build items", &bytes));
        files.push((format!("{stem}.3mf"), bytes));
        let bytes = stl::to_bytes(&together(&kinds, placed)).map_err(|e| e.to_string())?;
        sums.push(FileSum::of(&format!("{stem}.stl"), "the same plate, mm", &bytes));
        files.push((format!("{stem}.stl"), bytes));
        on.push(OnPlate {
            parts: counts(&kinds, |k, _| placed.iter().filter(|p| p.kind == k).count()),
            volume_mm3: placed.iter().map(|p| volumes.get(p.kind).copied().unwrap_or_default()).sum(),
        });
    }
    let report = Laid {
        format: "colletline plates 1",
        design: design.name().to_owned(),
        state: c.words(),
        parts: counts(&kinds, |_, kind| kind.count),
        size_mm: a.size,
        spacing_mm: a.spacing,
        pattern_volume_mm3: on.iter().map(|p| p.volume_mm3).sum(),
        plates: on,
        stubs: made.iter().any(|p| p.stub.is_some()),
        files: sums,
    };
    files.push(("plates.json".to_owned(), json(&report).into_bytes()));
    Ok((report, files))
}

/// How many of each part; tags are not counted.
fn counts(kinds: &[Kind<'_>], of: impl Fn(usize, &Kind<'_>) -> usize) -> Vec<Count> {
    let parts = kinds.iter().enumerate().filter(|k| !k.1.every);
    parts.map(|(k, kind)| Count { part: kind.name.clone(), count: of(k, kind) }).collect()
}

fn words(parts: &[Count]) -> String {
    let shown = parts.iter().filter(|p| p.count > 0);
    shown.map(|p| format!("{} {}", p.count, p.part)).collect::<Vec<_>>().join(" and ")
}

fn scene<'m>(
    design: &Design,
    c: &Compensation,
    kinds: &[Kind<'m>],
    placed: &[Placed],
    stem: &str,
) -> Scene<'m> {
    let marked = if c.stated { "" } else { ", not compensated" };
    Scene {
        metadata: metadata(&format!("{}: {stem}", design.name()), &c.words(), design.contact()),
        objects: kinds
            .iter()
            .map(|k| Object {
                name: if k.every { k.name.clone() } else { format!("{} master{marked}", k.name) },
                material: "pattern".to_owned(),
                colour: [0x9a, 0x7f, 0xb8],
                mesh: k.mesh,
            })
            .collect(),
        items: placed
            .iter()
            .map(|p| Item {
                object: p.kind,
                name: format!("{} {}", kinds[p.kind].name, p.number),
                frame: Frame::at(Point3::from(p.by)),
            })
            .collect(),
    }
}

/// All copies of a plate as one mesh of many bodies.
#[allow(clippy::cast_possible_truncation)]
fn together(kinds: &[Kind<'_>], placed: &[Placed]) -> TriMesh {
    let mut out = TriMesh::default();
    for p in placed {
        let m = kinds[p.kind].mesh;
        let first = out.positions.len() as u32;
        out.positions.extend(
            m.positions
                .iter()
                .map(|q| Point3::from([0, 1, 2].map(|k| f64::from((q[k] + p.by[k]) as f32 + 0.0)))),
        );
        out.triangles.extend(m.triangles.iter().map(|t| t.map(|v| v + first)));
        out.face.extend(&m.face);
    }
    out
}

fn said(r: &Laid, folder: &str, c: &Compensation, quiet: bool) -> String {
    let mut out = String::new();
    let o = &mut out;
    // Writing to a String cannot fail.
    if !quiet {
        let [x, y] = r.size_mm;
        let plates =
            if r.plates.len() == 1 { "1 plate".to_owned() } else { format!("{} plates", r.plates.len()) };
        let _ = writeln!(o, "{} on {plates} of {x} x {y} mm,", words(&r.parts));
        let _ = writeln!(o, "{} mm apart; {:.1} mm3 of pattern in all", r.spacing_mm, r.pattern_volume_mm3);
        for (i, p) in r.plates.iter().enumerate() {
            let _ = writeln!(o, "  plate {}: {}, {:.1} mm3", i + 1, words(&p.parts), p.volume_mm3);
        }
        let more = if r.stubs {
            "supports are not counted (sprue stubs are)"
        } else {
            "supports and sprues are not counted"
        };
        let _ = writeln!(o, "{more}: the printer's software adds them");
    }
    if !c.stated {
        let _ = writeln!(o, "open  NOT COMPENSATED: the masters command tells what to give");
    }
    if !quiet {
        let _ = writeln!(o, "written to {folder}");
    }
    out
}
