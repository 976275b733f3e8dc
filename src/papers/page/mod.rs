//! The page: one file that shows the link in three dimensions, its verdict, its values and its bench sheet, without any
//! network. three.js (MIT) is in it, see `three.LICENSE`; the bundle is made by `tests/node/bundle`. [`live`] is the same page as
//! `show` serves it, which asks for what it shows.

use crate::mesh::{Checked, TriMesh};
use crate::papers::picture::feature_edges;
use crate::papers::report::Report;
use crate::params::Design;
use crate::solid::Solid;
use crate::units::Tolerance;
use serde::Serialize;
use std::io::Read as _;

/// What a page shows.
pub struct Subject<'a> {
    /// The design.
    pub design: &'a Design,
    /// Its solid.
    pub solid: &'a Solid,
    /// The solid's mesh.
    pub mesh: &'a Checked,
    /// The report of the same run.
    pub report: &'a Report,
    /// First characters of the SHA-256 of the parameter file.
    pub revision: &'a str,
    /// The bench sheet as SVG.
    pub sheet: &'a str,
}

/// What the page's script reads. Keys are between this file and the scripts only.
#[derive(Debug, Serialize)]
pub struct Data<'a> {
    report: &'a Report,
    revision: &'a str,
    sheet: &'a str,
    shape: Shown,
}

/// The link as it is turned in the hand.
#[derive(Debug, Serialize)]
struct Shown {
    colour: &'static str,
    chord: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    joint: Option<Joint>,
    mesh: Shape,
}

/// How the next link turns.
#[derive(Debug, Serialize)]
struct Joint {
    pitch: f64,
    height: f64,
    inward: f64,
    outward: f64,
}

/// The mesh, each list as base64 of little-endian numbers.
#[derive(Debug, Serialize)]
struct Shape {
    /// f32, three a vertex.
    positions: String,
    /// u32, three a triangle.
    triangles: String,
    /// i8, three a corner of a triangle: the normal of the exact face there, 127 for 1.
    normals: String,
    /// u16, one a triangle: place of its face in `names`.
    face: String,
    /// Names of the faces.
    names: Vec<String>,
    /// f32, six a piece of an edge.
    edges: String,
}

/// Lines this exact are finer than a screen shows, mm.
const FINE: f64 = 0.002;

impl<'a> Data<'a> {
    /// Gathers what is shown.
    #[must_use]
    pub fn of(s: &Subject<'a>) -> Self {
        Self {
            report: s.report,
            revision: s.revision,
            sheet: s.sheet,
            shape: Shown::of(s.design, s.solid, s.mesh),
        }
    }
}

impl Shown {
    fn of(design: &Design, solid: &Solid, mesh: &Checked) -> Self {
        let d = design.dims();
        // The next link is like this one only where both ends carry a joint.
        let joint = (design.joints() == [true, true]).then(|| Joint {
            pitch: d.pitch.get(),
            height: d.joint_height.get(),
            inward: d.turn_inward.get(),
            outward: d.turn_outward.get(),
        });
        let finite = |j: &Joint| [j.pitch, j.height, j.inward, j.outward].iter().all(|v| v.is_finite());
        Self {
            colour: colour(design),
            chord: mesh.report.chord,
            joint: joint.filter(finite),
            mesh: shape(solid, &mesh.mesh.mesh),
        }
    }
}

/// The link as the page turns it, without what was measured on it.
#[must_use]
pub fn shape_json(design: &Design, solid: &Solid, mesh: &Checked) -> serde_json::Value {
    serde_json::to_value(Shown::of(design, solid, mesh)).unwrap_or_default()
}

/// Colour of the metal on the screen. Our choice.
fn colour(design: &Design) -> &'static str {
    let key = design.metal().key;
    if key.contains("rose") || key.contains("red") {
        "#dba58c"
    } else if key.contains("yellow") {
        "#dcb75f"
    } else {
        "#c9ccd1"
    }
}

#[allow(clippy::cast_possible_truncation)]
fn shape(solid: &Solid, mesh: &TriMesh) -> Shape {
    let floats = |v: &mut dyn Iterator<Item = f64>| {
        base64(&v.flat_map(|x| (x as f32).to_le_bytes()).collect::<Vec<u8>>())
    };
    let mut normals = Vec::with_capacity(mesh.triangles.len() * 9);
    for (t, f) in mesh.triangles.iter().zip(&mesh.face) {
        for v in t {
            let p = &mesh.positions[*v as usize];
            let n = solid.faces.get(*f as usize).map(|face| face.normal(p)).unwrap_or_default();
            normals.extend(n.iter().map(|c| ((c * 127.0).round() as i8).to_le_bytes()[0]));
        }
    }
    let edges: Vec<f64> = Tolerance::new(FINE).map_or_else(Vec::new, |fine| {
        let lines = feature_edges(solid, fine);
        lines.iter().flat_map(|l| l.windows(2)).flatten().flat_map(|p| [p.x, p.y, p.z]).collect()
    });
    let face: Vec<u8> =
        mesh.face.iter().flat_map(|f| u16::try_from(*f).unwrap_or(u16::MAX).to_le_bytes()).collect();
    Shape {
        positions: floats(&mut mesh.positions.iter().flat_map(|p| [p.x, p.y, p.z])),
        triangles: base64(
            &mesh.triangles.iter().flatten().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>(),
        ),
        normals: base64(&normals),
        face: base64(&face),
        names: solid.faces.iter().map(|f| f.name.clone()).collect(),
        edges: floats(&mut edges.into_iter()),
    }
}

/// Base64 of RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for c in bytes.chunks(3) {
        let n = c.iter().enumerate().fold(0_u32, |n, (i, b)| n | u32::from(*b) << (16 - 8 * i));
        for i in 0..4 {
            let letter = LETTERS[(n >> (18 - 6 * i) & 63) as usize];
            out.push(if i <= c.len() { char::from(letter) } else { '=' });
        }
    }
    out
}

/// The scripts, in the order they run.
const SCRIPTS: [&str; 2] = [include_str!("view.js"), include_str!("tables.js")];

/// The page as a file.
///
/// # Errors
/// What the packing of the script or the writing of JSON says; neither happens with a sound build.
pub fn write(data: &Data) -> Result<String, String> {
    // In JSON a less-than sign can stand only in text, where it may be written as an escape: no end of a script can
    // come from a name.
    let json = serde_json::to_string(data).map_err(|e| e.to_string())?.replace('<', "\\u003c");
    framed(&data.report.design, &json, "'none'", "Bench.show(JSON.parse(Bench.$(\"data\").textContent));")
}

/// The page as `show` serves it.
///
/// # Errors
/// As [`write`].
pub fn live() -> Result<String, String> {
    framed("colletline", "{}", "'self'", include_str!("live.js").trim_end())
}

fn framed(title: &str, json: &str, asks: &str, last: &str) -> Result<String, String> {
    let mut three = String::new();
    flate2::read::GzDecoder::new(&include_bytes!("three.min.js.gz")[..])
        .read_to_string(&mut three)
        .map_err(|e| e.to_string())?;
    let title = title.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    let script = SCRIPTS.map(str::trim_end).join("\n");
    let pieces = [
        ("{title}", title.as_str()),
        ("{style}", include_str!("page.css").trim_end()),
        ("{asks}", asks),
        ("{data}", json),
        ("{three}", three.trim_end()),
        ("{script}", script.as_str()),
        ("{last}", last),
    ];
    // One pass over the frame, so that nothing within a piece is taken for a mark.
    let mut rest = include_str!("page.html");
    let mut out = String::with_capacity(three.len() + json.len() + 65_536);
    while let Some(at) = rest.find('{') {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        match pieces.iter().find(|p| from.starts_with(p.0)) {
            Some((mark, text)) => {
                out.push_str(text);
                rest = from.get(mark.len()..).unwrap_or_default();
            }
            None => {
                out.push('{');
                rest = from.get(1..).unwrap_or_default();
            }
        }
    }
    out.push_str(rest);
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_is_that_of_the_standard() {
        // Test vectors of RFC 4648, section 10.
        for (text, code) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(text.as_bytes()), code);
        }
    }
}
