//! Where the sprue goes: on a flat of the underside, clear of all detail, where the metal over it is thickest.
//!
//! The foot is a circle that lies wholly on one flat face; what it joins is the largest ball that touches the face there from inside.

use crate::mesh::TriMesh;
use crate::mesh::bvh::Aabb;
use crate::solid::{Solid, Surface};
use crate::walls::field::Field;
use nalgebra::{Point3, Vector3};
use serde::Serialize;

/// A place for a sprue.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sprue {
    /// The face it stands on, as it is named in the STEP file.
    pub face: String,
    /// Middle of its foot in the pattern's file, mm.
    pub at_mm: [f64; 3],
    /// Diameter of the foot: as wide as the metal it joins, or as the face has room.
    pub foot_mm: f64,
    /// Diameter of the largest ball in the metal that touches the face there.
    pub joins_mm: f64,
    /// Section of the foot in per cent of the section it joins.
    pub section_percent: f64,
    /// Widest foot that flat and metal have room for.
    pub room_mm: f64,
    /// Least diameter of the sprue itself: no thinner than the heaviest place it feeds.
    pub body_mm: f64,
}

/// Parts of names of faces that no sprue stands on: seats, bores, what turns or springs, what is seen.
const NEVER: [&str; 17] = [
    "seat", "bore", "pilot", "groove", "knuckle", "pocket", "claw", "opening", "room", "web", "mark", "tube",
    "bar", "eye", "cheek", "lug", "light",
];
/// Room left between foot and the border of its face, mm; a saw's kerf and a file's slip (proposal).
const CLEAR: f64 = 0.02;
/// Room between a stub and what hangs lower than its foot, mm; a saw goes in there (proposal).
const AWAY: f64 = 0.30;
/// Distance of the places looked at on a face, mm.
const APART: f64 = 0.03;

/// Least and greatest section of a sprue in per cent of the section it joins (World Gold Council, Gold Technology, the sprue
/// system design, which itself calls the rule of little use).
pub const SECTION: [f64; 2] = [70.0, 150.0];

impl Sprue {
    /// In words, for the sheet.
    #[must_use]
    pub fn words(&self) -> String {
        let [x, y, z] = self.at_mm;
        let [least, most] = SECTION;
        let narrow = if self.foot_mm < self.room_mm - 1e-9 {
            "; the flat has room for more"
        } else if self.section_percent < least {
            "; the flat has no room for more: let it spread up the side and file it away"
        } else {
            ""
        };
        format!(
            "sprue on `{}` at ({x:.2}, {y:.2}, {z:.2}): foot {:.2} mm, {:.0} % of the section it joins ({:.2} mm), {least:.0} to {most:.0} \
             asked for{narrow}; the sprue itself at least {:.1} mm, as thick as what it feeds",
            self.face, self.foot_mm, self.section_percent, self.joins_mm, self.body_mm
        )
    }
}

/// A flat that looks down and may carry a sprue.
fn may_carry(solid: &Solid, face: usize, mesh: &TriMesh, triangles: &[usize]) -> bool {
    let Some(f) = solid.faces.get(face) else { return false };
    let normal: Vector3<f64> = triangles
        .iter()
        .map(|&t| {
            let [a, b, c] = mesh.corners(t);
            (b - a).cross(&(c - a))
        })
        .sum();
    matches!(f.surface, Surface::Plane(_))
        && normal.z < -0.999 * normal.norm()
        && !NEVER.iter().any(|w| f.name.contains(w))
}

/// The best place on a part; `None` where no flat of the underside has room. `heaviest` is the diameter of the heaviest place; a
/// `stub` of this diameter is to stand there: its foot is no wider, and nothing of the part that lies lower is in its way.
#[must_use]
pub fn place(
    solid: &Solid,
    mesh: &TriMesh,
    field: &Field<'_>,
    heaviest: f64,
    stub: Option<f64>,
) -> Option<Sprue> {
    let mut of_face: Vec<Vec<usize>> = vec![Vec::new(); solid.faces.len()];
    for (t, &f) in mesh.face.iter().enumerate() {
        if let Some(list) = of_face.get_mut(f as usize) {
            list.push(t);
        }
    }
    let mut best: Option<(f64, Sprue)> = None;
    for (face, triangles) in of_face.iter().enumerate() {
        if !may_carry(solid, face, mesh, triangles) {
            continue;
        }
        let border = border(mesh, triangles);
        let lower = stub.map_or_else(Vec::new, |_| lower(mesh, triangles));
        let clear = |p: &Point3<f64>| lower.iter().all(|t| seen_off(p, t) > stub.unwrap_or(0.0) / 2.0 + AWAY);
        for p in places(mesh, triangles) {
            let room = border.iter().map(|[a, b]| off(&p, a, b)).fold(f64::INFINITY, f64::min) - CLEAR;
            let bounded = best.as_ref().is_some_and(|b| room <= b.0);
            if room <= 0.1 || bounded || !clear(&p) {
                continue;
            }
            let ball = ball_on(field, &p);
            let r = room.min(ball);
            // What is better by less than a hundredth is not: the first in the order of faces stays.
            if best.as_ref().is_none_or(|b| r > b.0 + 0.01) {
                let foot = stub.map_or(r, |d| r.min(d / 2.0));
                let section_percent = (100.0 * (foot / ball) * (foot / ball)).round();
                let round = |x: f64| (x * 1e3).round() / 1e3 + 0.0;
                let sprue = Sprue {
                    face: solid.faces.get(face).map_or_else(String::new, |f| f.name.clone()),
                    at_mm: [p.x, p.y, p.z].map(round),
                    foot_mm: round(2.0 * foot),
                    joins_mm: round(2.0 * ball),
                    section_percent,
                    room_mm: round(2.0 * r),
                    body_mm: (heaviest.max(2.0 * foot) * 10.0).ceil() / 10.0,
                };
                best = Some((r, sprue));
            }
        }
    }
    best.map(|b| b.1)
}

/// Radius of the largest ball in the metal that touches a level face at a point from above, by halving: a smaller ball that touches
/// there lies in a larger one.
fn ball_on(field: &Field<'_>, p: &Point3<f64>) -> f64 {
    let fits = |r: f64| field.distance(&(p + Vector3::z() * r)) >= r * (1.0 - 1e-6) - 1e-6;
    let (mut low, mut high) = (0.0, 4.0);
    for _ in 0..24 {
        let r = 0.5 * (low + high);
        if fits(r) { low = r } else { high = r }
    }
    low
}

/// Sides of triangles that only one of them has.
fn border(mesh: &TriMesh, triangles: &[usize]) -> Vec<[Point3<f64>; 2]> {
    let mut sides: Vec<([u32; 2], [u32; 2])> = Vec::new();
    for &t in triangles {
        let v = mesh.triangles[t];
        for k in 0..3 {
            let (a, b) = (v[k], v[(k + 1) % 3]);
            sides.push(([a.min(b), a.max(b)], [a, b]));
        }
    }
    sides.sort_unstable();
    sides
        .chunk_by(|a, b| a.0 == b.0)
        .filter(|c| c.len() == 1)
        .flatten()
        .filter_map(|(_, [a, b])| {
            Some([*mesh.positions.get(*a as usize)?, *mesh.positions.get(*b as usize)?])
        })
        .collect()
}

/// Places over some level triangles of one height, [`APART`] from each other.
fn places(mesh: &TriMesh, triangles: &[usize]) -> Vec<Point3<f64>> {
    let corners: Vec<[Point3<f64>; 3]> = triangles.iter().map(|&t| mesh.corners(t)).collect();
    let around = Aabb::around(&corners.concat());
    let count = |k: usize| {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let n = ((around.max[k] - around.min[k]) / APART).ceil().min(2000.0) as usize;
        n
    };
    let mut out = Vec::new();
    for j in 0..=count(1) {
        for i in 0..=count(0) {
            #[allow(clippy::cast_precision_loss)]
            let p = Point3::new(
                around.min[0] + i as f64 * APART,
                around.min[1] + j as f64 * APART,
                around.min[2],
            );
            let left =
                |a: &Point3<f64>, b: &Point3<f64>| (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
            // Seen from above the face runs clockwise.
            if corners.iter().any(|[a, b, c]| left(a, b) <= 0.0 && left(b, c) <= 0.0 && left(c, a) <= 0.0) {
                out.push(p);
            }
        }
    }
    out
}

/// Triangles that reach below some level ones.
fn lower(mesh: &TriMesh, triangles: &[usize]) -> Vec<[Point3<f64>; 3]> {
    let level = triangles.first().map_or(f64::NEG_INFINITY, |&t| mesh.corners(t)[0].z);
    let under = |c: &[Point3<f64>; 3]| c.iter().any(|p| p.z < level - 1e-6);
    (0..mesh.triangles.len()).map(|t| mesh.corners(t)).filter(under).collect()
}

/// Distance of a point from a triangle, both seen from below.
fn seen_off(p: &Point3<f64>, t: &[Point3<f64>; 3]) -> f64 {
    let flat = |q: &Point3<f64>| Point3::new(q.x, q.y, 0.0);
    let (p, [a, b, c]) = (flat(p), [flat(&t[0]), flat(&t[1]), flat(&t[2])]);
    let side = |a: &Point3<f64>, b: &Point3<f64>| (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
    let sides = [side(&a, &b), side(&b, &c), side(&c, &a)];
    if sides.iter().all(|s| *s >= 0.0) || sides.iter().all(|s| *s <= 0.0) {
        return 0.0;
    }
    off(&p, &a, &b).min(off(&p, &b, &c)).min(off(&p, &c, &a))
}

/// Distance of a point from a line between two others.
fn off(p: &Point3<f64>, a: &Point3<f64>, b: &Point3<f64>) -> f64 {
    let d = b - a;
    let t = ((p - a).dot(&d) / d.norm_squared().max(1e-300)).clamp(0.0, 1.0);
    (p - (a + d * t)).norm()
}
