//! The page: one file that shows the link in three dimensions, its verdict, its values and its bench sheet, without any
//! network. three.js (MIT) is in it, see `three.LICENSE`; the bundle is made by `tests/node/bundle`. [`live`] is the same page as
//! `show` serves it, which asks for what it shows.

mod apart;
mod clasp;
mod shape;
mod wall_map;

pub use clasp::{Clasp, ClaspPartMesh, clasp_json, shown_pieces};
pub use wall_map::WallMap;

use crate::mesh::{Checked, tessellate};
use crate::papers::report::Report;
use crate::params::Design;
use crate::parts::stone;
use crate::plan::form::Chapter;
use crate::solid::Solid;
use crate::units::Tolerance;
use serde::Serialize;
use shape::Shape;
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
    /// The bench sheets as SVG.
    pub sheets: &'a [String],
    /// The plan.
    pub plan: &'a [Chapter],
    /// How thick its metal is.
    pub map: Option<WallMap>,
    /// The folding clasp, or why it is not shown; `None` where it is a bought one.
    pub clasp: Option<Result<Clasp, String>>,
}

/// What the page's script reads. Keys are between this file and the scripts only.
#[derive(Debug, Serialize)]
pub struct Data<'a> {
    report: &'a Report,
    revision: &'a str,
    sheets: &'a [String],
    shape: Shown,
    plan: &'a [Chapter],
    #[serde(skip_serializing_if = "Option::is_none")]
    map: Option<&'a WallMap>,
    #[serde(skip_serializing_if = "Option::is_none")]
    clasp: Option<serde_json::Value>,
}

/// The link as it is turned in the hand.
#[derive(Debug, Serialize)]
struct Shown {
    colour: &'static str,
    chord: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    joint: Option<Joint>,
    mesh: Shape,
    #[serde(skip_serializing_if = "Option::is_none")]
    stone: Option<Shape>,
}

/// How the next link turns.
#[derive(Debug, Serialize)]
struct Joint {
    pitch: f64,
    height: f64,
    inward: f64,
    outward: f64,
}

impl<'a> Data<'a> {
    /// Gathers what is shown.
    #[must_use]
    pub fn of(s: &'a Subject<'a>) -> Self {
        Self {
            report: s.report,
            revision: s.revision,
            sheets: s.sheets,
            shape: Shown::of(s.design, s.solid, s.mesh),
            plan: s.plan,
            map: s.map.as_ref(),
            clasp: s.clasp.as_ref().map(clasp_json),
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
            mesh: Shape::of(solid, &mesh.mesh.mesh),
            stone: stone_of(design),
        }
    }
}

/// The stone; a picture beside the metal, so that one that cannot be built is left out.
fn stone_of(design: &Design) -> Option<Shape> {
    let solid = stone::build(design, 0.0).ok()?;
    let mesh = tessellate(&solid, Tolerance::new(STONE)?).ok()?;
    Some(Shape::of(&solid, &mesh.mesh))
}

/// The link as the page turns it, without what was measured on it.
#[must_use]
pub fn shape_json(design: &Design, solid: &Solid, mesh: &Checked) -> serde_json::Value {
    serde_json::to_value(Shown::of(design, solid, mesh)).unwrap_or_default()
}

/// Facets of the stone, mm off its faces.
const STONE: f64 = 0.01;

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
