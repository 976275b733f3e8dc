//! The folding clasp on the page: each part once, and where each piece stands at every angle of the leaf.

use super::shape::Shape;
use crate::mesh::Checked;
use crate::params::{Design, Key};
use crate::parts::Part;
use crate::parts::line::{Piece, Pose, pieces};
use crate::solid::Frame;
use crate::units::Deg;
use serde::Serialize;

/// A part of the clasp with its mesh.
pub struct ClaspPartMesh<'a> {
    /// The part.
    pub part: &'a Part,
    /// Its mesh.
    pub mesh: &'a Checked,
}

/// The clasp as the page moves it.
#[derive(Debug, Serialize)]
pub struct Clasp {
    /// Greatest distance of the meshes from the solids.
    chord: f64,
    /// The leaf is shown at every multiple of this angle, degrees.
    step: f64,
    parts: Vec<ClaspPart>,
    pieces: Vec<Placed>,
}

#[derive(Debug, Serialize)]
struct ClaspPart {
    name: &'static str,
    title: &'static str,
    mesh: Shape,
}

/// A piece and where it stands at each angle of the leaf: once where it rests.
#[derive(Debug, Serialize)]
struct Placed {
    part: &'static str,
    /// Origin, then the images of the x and the y axis.
    frames: Vec<[f64; 9]>,
}

/// Angle between two poses, degrees.
const STEP: f64 = 2.0;
/// How far the leaf swings, degrees.
const MOST: f64 = 180.0;

/// Numbers of a frame, to a hundredth of a micrometre.
fn numbers(f: &Frame) -> [f64; 9] {
    let (o, x, y) = (f.origin, f.x, f.y);
    [o.x, o.y, o.z, x.x, x.y, x.z, y.x, y.y, y.z].map(|v| (v * 1e5).round() / 1e5 + 0.0)
}

impl Clasp {
    /// Of the parts that were built; `None` where the clasp is a bought one.
    #[must_use]
    pub fn of(design: &Design, made: &[ClaspPartMesh<'_>]) -> Option<Self> {
        design.dims().clasp.as_ref()?;
        let placed = placed(design);
        let has_place = |m: &&ClaspPartMesh<'_>| placed.iter().any(|p| p.part == m.part.name);
        let part = |m: &ClaspPartMesh<'_>| ClaspPart {
            name: m.part.name,
            title: m.part.title,
            mesh: Shape::of(&m.part.solid, &m.mesh.mesh.mesh),
        };
        Some(Self {
            chord: made.iter().map(|m| m.mesh.report.chord).fold(0.0, f64::max),
            step: STEP,
            parts: made.iter().filter(has_place).map(part).collect(),
            pieces: placed,
        })
    }
}

/// The clasp with its stones, and the first link beside it with its own, the leaf open by an angle: in the order that the page
/// counts its pieces in.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub fn shown_pieces(design: &Design, open: Deg) -> Vec<Piece> {
    let on_clasp = design.get(Key::ClaspCount) as usize;
    let near = |p: &Piece| match p.part {
        "link" => p.number == 0,
        "stone" => p.number <= on_clasp,
        name => name.starts_with("clasp."),
    };
    pieces(design, Pose::Open(open)).into_iter().filter(near).collect()
}

/// The same at every angle.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn placed(design: &Design) -> Vec<Placed> {
    let mut out: Vec<Placed> = Vec::new();
    for i in 0..=(MOST / STEP) as usize {
        for (k, p) in shown_pieces(design, Deg(i as f64 * STEP)).iter().enumerate() {
            match out.get_mut(k) {
                Some(placed) => placed.frames.push(numbers(&p.frame)),
                None => out.push(Placed { part: p.part, frames: vec![numbers(&p.frame)] }),
            }
        }
    }
    for p in &mut out {
        if p.frames.iter().all(|f| Some(f) == p.frames.first()) {
            p.frames.truncate(1);
        }
    }
    out
}

/// The clasp as the page's script reads it, or why there is none.
#[must_use]
pub fn clasp_json(clasp: &Result<Clasp, String>) -> serde_json::Value {
    match clasp {
        Ok(c) => serde_json::to_value(c).unwrap_or_default(),
        Err(why) => serde_json::json!({ "why": why }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::read;

    #[test]
    fn the_leaf_turns_half_round_and_the_plate_rests() {
        let design = read(include_str!("../../../params/line-4.0-platinum.jsonc")).unwrap();
        let all = placed(&design);
        let of = |part: &str| all.iter().find(|p| p.part == part).unwrap();
        assert_eq!(of("clasp.plate").frames.len(), 1);
        let leaf = &of("clasp.leaf").frames;
        assert_eq!(leaf.len(), 91);
        // Shut along +x, a right angle later along +z, wide open along -x.
        for (i, want) in [(0, [1.0, 0.0]), (45, [0.0, 1.0]), (90, [-1.0, 0.0])] {
            assert!((leaf[i][3] - want[0]).abs() < 1e-9 && (leaf[i][5] - want[1]).abs() < 1e-9, "{i}");
        }
        // The frame stays parallel.
        assert!(of("clasp.frame").frames.iter().all(|f| f[3] == 1.0 && f[5] == 0.0));
        // Stones: five on the clasp, one on the first link.
        assert_eq!(all.iter().filter(|p| p.part == "stone").count(), 6);
    }
}
