//! Thickness over the surface: under the middle of every small triangle, the shortest chord within delta of the normals.
//!
//! A sample of the surface, not a proof over it: each value holds for its own point, within its own interval. What is
//! thinner between two samples is found by the search of the whole part.

use super::point::under;
use super::search::{Field, Goal};
use super::sharp::Zone;
use super::tree::Tree;
use super::{ANY, Boundary, LEAN, build};
use crate::mesh::{TriMesh, tessellate};
use crate::solid::Solid;
use crate::units::{Deg, Mm, Tolerance};
use crate::walls::interval::Interval;
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// Chord of the mesh that values are looked up on, mm; it widens intervals by about as much.
const FINE: f64 = 1e-3;
/// Chord of the mesh whose triangles are divided into samples, mm: the samples themselves are put on the exact surface.
const COARSE: f64 = 2e-2;
/// Width at which the search under one point ends, mm.
const ENOUGH: f64 = 1e-3;
/// Triangles of the map of a solid, unless its coarse mesh has more.
const USUAL: usize = 30_000;
/// Triangles of a map at most; where the step asks for more it stays coarser.
const MOST: usize = 400_000;

/// The metal under one triangle of the map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Depth {
    /// Length of the shortest chord found.
    pub value: Mm,
    /// Bounds of the shortest chord from this point.
    pub interval: Interval,
    /// The point, in the middle of the triangle and on the exact surface.
    pub from: Point3<f64>,
    /// Other end of the chord.
    pub to: Point3<f64>,
    /// Face (or patch) of the triangle, and the one the chord ends on.
    pub faces: [u32; 2],
}

/// A surface in small triangles, with the metal under each.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Map {
    /// The triangles; a mesh of the part with its long edges divided.
    pub mesh: TriMesh,
    /// Per triangle; `None` where nothing lies opposite within delta, or only the land of a sharp edge.
    pub depth: Vec<Option<Depth>>,
    /// Per triangle its area, mm2.
    pub area: Vec<f64>,
    /// Longest edge, mm.
    pub step: f64,
}

/// A bar of a histogram.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Bar {
    /// Walls from this, mm.
    pub from_mm: f64,
    /// Up to, but not including, this, mm.
    pub to_mm: f64,
    /// Area of surface over such walls, mm2.
    pub area_mm2: f64,
}

/// How far a thin place reaches over the surface; sampled.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Extent {
    /// Area below the limit, on the face with more of it, mm2.
    pub area: f64,
    /// Greatest length across that area, mm.
    pub length: f64,
    /// Triangles of the map in it.
    pub samples: usize,
}

/// The map of an exact solid, no edge of a triangle longer than `step`, or more where that would take too many. `None` if it cannot be meshed.
#[must_use]
pub fn of_solid(solid: &Solid, delta: Deg, step: Mm) -> Option<Map> {
    let shown = tessellate(solid, Tolerance::new(COARSE)?).ok()?.mesh;
    let mut step = step.get();
    let mut fine = divided(&shown, step);
    while fine.triangles.len() > USUAL && fine.triangles.len() > shown.triangles.len() {
        step *= 1.15;
        fine = divided(&shown, step);
    }
    on_solid(solid, &fine, delta)
}

/// Values at the middle of each triangle of `mesh`, any mesh of the solid whose `face` counts the solid's faces.
#[must_use]
pub fn on_solid(solid: &Solid, mesh: &TriMesh, delta: Deg) -> Option<Map> {
    let fine = tessellate(solid, Tolerance::new(FINE)?).ok()?;
    let boundary = build::of_solid(solid, &fine, 1.0);
    let mut facet = vec![None; solid.faces.len()];
    for (i, p) in boundary.prims.iter().enumerate().filter(|p| p.1.corners == 3) {
        if let Some(f) = facet.get_mut(p.face as usize) {
            *f = f.or(Some(i));
        }
    }
    let of = |t: usize| mesh.face.get(t).and_then(|&f| facet.get(f as usize).copied().flatten());
    Some(filled(&boundary, fine.mesh.positions.len(), mesh.clone(), &of, delta))
}

/// The map of a closed mesh, `patch` naming the patch of each triangle. `None` if it is not closed.
#[must_use]
pub fn of_mesh(mesh: &TriMesh, patch: &[u32], delta: Deg, step: Mm) -> Option<Map> {
    let mut all = patch.to_vec();
    all.push(0);
    of_patches(mesh, patch, &all, delta, step)
}

/// The same of some patches only: the metal under them, to whatever lies opposite.
#[must_use]
pub fn of_patches(mesh: &TriMesh, patch: &[u32], wanted: &[u32], delta: Deg, step: Mm) -> Option<Map> {
    let wanted: BTreeSet<u32> = wanted.iter().copied().collect();
    let boundary = build::of_mesh(mesh, patch)?;
    let mut facets: BTreeMap<[u32; 3], usize> = BTreeMap::new();
    for (i, p) in boundary.prims.iter().enumerate().filter(|p| p.1.corners == 3) {
        facets.insert(p.ids, i);
    }
    // While it is divided each triangle carries the number of the one it came from.
    let of_patch = |t: u32| patch.get(t as usize).copied().unwrap_or(0);
    let mut numbered = TriMesh { positions: mesh.positions.clone(), ..TriMesh::default() };
    for (t, v) in (0_u32..).zip(&mesh.triangles).filter(|t| wanted.contains(&of_patch(t.0))) {
        numbered.triangles.push(*v);
        numbered.face.push(t);
    }
    let mut fine = divided(&numbered, step.get());
    let from = std::mem::take(&mut fine.face);
    fine.face = from.iter().map(|&t| of_patch(t)).collect();
    let of = |t: usize| {
        let parent = from.get(t).and_then(|&t| mesh.triangles.get(t as usize))?;
        facets.get(parent).copied()
    };
    Some(filled(&boundary, mesh.positions.len(), fine, &of, delta))
}

fn filled(
    boundary: &Boundary<'_>,
    vertices: usize,
    mesh: TriMesh,
    facet: &(dyn Fn(usize) -> Option<usize> + Sync),
    delta: Deg,
) -> Map {
    let goal = Goal {
        delta: delta.radians() + LEAN,
        below: f64::MAX,
        count: 1,
        thick: (ANY.0, ANY.1.get()),
        tolerance: ENOUGH,
        work: usize::MAX,
    };
    let tree = Tree::new(boundary, &[]);
    let (zone, corners) = Zone::of(boundary, &tree.bits, vertices, goal.delta);
    let field = Field { boundary, tree: &tree, zone: &zone, corners: &corners, groups: &[], goal };
    let depth = (0..mesh.triangles.len())
        .into_par_iter()
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            let middle = Point3::from((a.coords + b.coords + c.coords) / 3.0);
            let u = under(&field, facet(t)?, &middle);
            let chord = u.chord?;
            Some(Depth {
                value: Mm(chord.length),
                interval: Interval { lower: Mm(u.lower.min(chord.length)), upper: Mm(chord.length) },
                from: chord.at[0],
                to: chord.at[1],
                faces: chord.prims.map(|p| boundary.prims[p].face),
            })
        })
        .collect();
    let area = (0..mesh.triangles.len()).map(|t| area(&mesh.corners(t))).collect();
    let step = (0..mesh.triangles.len()).map(|t| longest(&mesh.corners(t))).fold(0.0, f64::max);
    Map { mesh, depth, area, step }
}

fn area([a, b, c]: &[Point3<f64>; 3]) -> f64 {
    (b - a).cross(&(c - a)).norm() / 2.0
}

fn longest(t: &[Point3<f64>; 3]) -> f64 {
    (0..3).map(|k| (t[k] - t[(k + 1) % 3]).norm()).fold(0.0, f64::max)
}

/// The same surface with no edge longer than `step`: the longest edge of a triangle is divided at its middle, for both its
/// triangles so that the surface stays closed, as often as needed (bisection of the longest edge after Rivara, 1984).
#[must_use]
pub fn divided(mesh: &TriMesh, step: f64) -> TriMesh {
    let mut m = mesh.clone();
    loop {
        let mut middles: BTreeMap<[u32; 2], u32> = BTreeMap::new();
        let mut positions = m.positions.clone();
        let side = |t: &[u32; 3], i: usize| {
            let (v, w) = (t[i], t[(i + 1) % 3]);
            [v.min(w), v.max(w)]
        };
        for (k, t) in m.triangles.iter().enumerate() {
            let at = m.corners(k);
            let length = |i: usize| (at[i] - at[(i + 1) % 3]).norm();
            let i = (0..3).fold(0, |a, i| if length(i) > length(a) { i } else { a });
            let Ok(next) = u32::try_from(positions.len()) else { return m };
            if length(i) > step && middles.len() < MOST {
                middles.entry(side(t, i)).or_insert_with(|| {
                    positions.push(nalgebra::center(&at[i], &at[(i + 1) % 3]));
                    next
                });
            }
        }
        let mut out = TriMesh { positions, ..TriMesh::default() };
        for (k, t) in m.triangles.iter().enumerate() {
            let face = m.face.get(k).copied().unwrap_or(0);
            let mid = [0, 1, 2].map(|i| middles.get(&side(t, i)).copied());
            split(*t, mid, &mut |v| {
                out.triangles.push(v);
                out.face.push(face);
            });
        }
        if middles.is_empty() || out.triangles.len() > MOST {
            return m;
        }
        m = out;
    }
}

/// The pieces of a triangle with some sides divided: side i runs from corner i.
fn split(t: [u32; 3], mid: [Option<u32>; 3], add: &mut impl FnMut([u32; 3])) {
    let turned = |k: usize| [0, 1, 2].map(|i| (t[(i + k) % 3], mid[(i + k) % 3]));
    match mid.iter().filter(|m| m.is_some()).count() {
        1 => {
            let k = mid.iter().position(Option::is_some).unwrap_or(0);
            let [(a, m), (b, _), (c, _)] = turned(k);
            let m = m.unwrap_or(a);
            add([a, m, c]);
            add([m, b, c]);
        }
        2 => {
            let k = mid.iter().position(Option::is_none).unwrap_or(0);
            // Side a-b is whole.
            let [(a, _), (b, m), (c, n)] = turned(k);
            let (m, n) = (m.unwrap_or(b), n.unwrap_or(c));
            add([a, b, m]);
            add([a, m, n]);
            add([n, m, c]);
        }
        3 => {
            let [(a, l), (b, m), (c, n)] = turned(0);
            let (l, m, n) = (l.unwrap_or(a), m.unwrap_or(b), n.unwrap_or(c));
            add([a, l, n]);
            add([l, b, m]);
            add([n, m, c]);
            add([l, m, n]);
        }
        _ => add(t),
    }
}

impl Map {
    /// Area of surface by thickness in bars of `width`, up to `most`; what is thicker, and what has nothing opposite it, is
    /// the second number.
    #[must_use]
    pub fn histogram(&self, width: Mm, most: Mm) -> (Vec<Bar>, f64) {
        let (width, most) = (width.get(), most.get());
        if !(width > 0.0 && most > 0.0 && most / width <= 1e4) {
            return (Vec::new(), self.area.iter().sum());
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let count = (most / width).ceil() as usize;
        let mut rest = 0.0;
        #[allow(clippy::cast_precision_loss)]
        let mut bars: Vec<Bar> = (0..count)
            .map(|i| Bar { from_mm: i as f64 * width, to_mm: (i + 1) as f64 * width, area_mm2: 0.0 })
            .collect();
        for (d, a) in self.depth.iter().zip(&self.area) {
            let value = d.map_or(f64::INFINITY, |d| d.value.get());
            match bars.iter_mut().find(|b| value < b.to_mm) {
                Some(b) => b.area_mm2 += a,
                None => rest += a,
            }
        }
        (bars, rest)
    }

    /// The connected piece of surface about a place, both ends of a chord, that is thinner than `below` between two groups
    /// of faces.
    #[must_use]
    pub fn extent(&self, groups: [&dyn Fn(u32) -> bool; 2], place: [Point3<f64>; 2], below: Mm) -> Extent {
        let a = self.piece(groups, &place[0], below);
        let b = self.piece([groups[1], groups[0]], &place[1], below);
        if b.area > a.area { b } else { a }
    }

    fn piece(&self, [from, to]: [&dyn Fn(u32) -> bool; 2], at: &Point3<f64>, below: Mm) -> Extent {
        let thin: Vec<usize> = (0..self.depth.len())
            .filter(|&t| self.depth[t].is_some_and(|d| d.value < below && from(d.faces[0]) && to(d.faces[1])))
            .collect();
        let corners = |t: usize| self.mesh.triangles.get(t).copied().unwrap_or_default();
        let mut names: Vec<u32> = thin.iter().flat_map(|&t| corners(t)).collect();
        names.sort_unstable();
        names.dedup();
        let index = |v: u32| names.binary_search(&v).unwrap_or(0);
        let links = thin.iter().flat_map(|&t| {
            let [a, b, c] = corners(t).map(index);
            [(a, b), (b, c)]
        });
        let (label, _) = crate::mesh::components(names.len(), links);
        let of = |t: usize| label.get(index(corners(t)[0])).copied();
        let off = |t: usize| self.depth[t].map_or(f64::INFINITY, |d| (d.from - at).norm_squared());
        let Some(&near) = thin.iter().min_by(|&&s, &&t| off(s).total_cmp(&off(t))) else {
            return Extent::default();
        };
        let piece: Vec<usize> = thin.iter().copied().filter(|&t| of(t) == of(near)).collect();
        let points: Vec<Point3<f64>> = piece.iter().flat_map(|&t| self.mesh.corners(t)).collect();
        let area = piece.iter().filter_map(|&t| self.area.get(t)).sum();
        Extent { area, length: across(&points), samples: piece.len() }
    }
}

/// Greatest width of a set of points over 147 directions, at most 2 % less than their greatest distance: any direction lies
/// within 9.6 deg of one of them.
fn across(points: &[Point3<f64>]) -> f64 {
    let mut best = 0.0f64;
    for i in -3..=3 {
        for j in -3..=3 {
            let (x, y) = (f64::from(i) / 3.0, f64::from(j) / 3.0);
            for d in [Vector3::new(1.0, x, y), Vector3::new(x, 1.0, y), Vector3::new(x, y, 1.0)] {
                let d = d.normalize();
                let (mut lo, mut hi) = (f64::INFINITY, f64::NEG_INFINITY);
                for p in points {
                    let t = p.coords.dot(&d);
                    lo = lo.min(t);
                    hi = hi.max(t);
                }
                best = best.max(hi - lo);
            }
        }
    }
    best.max(0.0)
}
