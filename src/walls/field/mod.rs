//! How deep the metal is at every place inside a closed mesh: the distance to its surface, on a grid.
//!
//! The distance changes by no more than one goes (Lipschitz with constant 1), so that between two points of the grid nothing is
//! left open by more than half the diagonal of a cell, [`Field::slack`]. From it follow the largest spheres that fit in the metal,
//! proved by branch and bound ([`Field::sphere`]), and how thin the metal is at the thinnest place of the widest way from one place to another
//! ([`feed`]). The mesh may lie off the solid by its chord; who asks adds that to the intervals.

mod cells;
pub mod feed;
mod heavy;
pub mod pockets;

#[cfg(test)]
mod tests;

pub use heavy::Sphere;

use crate::mesh::TriMesh;
use crate::mesh::bvh::{Aabb, Bvh};
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// Points of a grid at most.
const MOST: usize = 6_000_000;
/// Where the grid begins, in steps: an odd share, so that no row of it runs along a face or through a corner of a symmetric part.
const SHIFT: [f64; 3] = [0.371, 0.417, 0.289];

/// The 26 neighbours of a cell: one more than the step along each axis, and their distance in steps.
const AROUND: [([usize; 3], f64); 26] = around_table();

const fn around_table() -> [([usize; 3], f64); 26] {
    let lengths = [0.0, 1.0, std::f64::consts::SQRT_2, 1.732_050_808];
    let mut out = [([0; 3], 0.0); 26];
    let (mut k, mut n) = (0, 0);
    while k < 27 {
        let by = [k % 3, k / 3 % 3, k / 9];
        if k != 13 {
            let far = (by[0] != 1) as usize + (by[1] != 1) as usize + (by[2] != 1) as usize;
            out[n] = (by, lengths[far]);
            n += 1;
        }
        k += 1;
    }
    out
}

/// Distances to the surface of a mesh at the points of a grid.
#[derive(Debug)]
pub struct Field<'m> {
    mesh: &'m TriMesh,
    tree: Bvh,
    low: Point3<f64>,
    step: f64,
    size: [usize; 3],
    /// In metal the distance to the surface; in air it is negative, and no farther than asked for.
    depth: Vec<f64>,
}

/// The point of a triangle nearest to a point (Ericson, Real-Time Collision Detection, 5.1.5).
fn closest(p: &Point3<f64>, [a, b, c]: &[Point3<f64>; 3]) -> Point3<f64> {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(&ap), ac.dot(&ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return *a;
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(&bp), ac.dot(&bp));
    if d3 >= 0.0 && d4 <= d3 {
        return *b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return a + ab * (d1 / (d1 - d3));
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(&cp), ac.dot(&cp));
    if d6 >= 0.0 && d5 <= d6 {
        return *c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return a + ac * (d2 / (d2 - d6));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 >= d3 && d5 >= d6 {
        return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
    }
    let n = ab.cross(&ac);
    p - n * (n.dot(&ap) / n.norm_squared())
}

/// Square of the distance of a point from a triangle.
fn distance2(p: &Point3<f64>, triangle: &[Point3<f64>; 3]) -> f64 {
    (p - closest(p, triangle)).norm_squared()
}

impl<'m> Field<'m> {
    /// The field of a closed mesh with points a `step` apart, or more where that would take too many; in air up to `air` from the
    /// surface. `None` for a mesh without triangles, or a step that is no length.
    #[must_use]
    pub fn new(mesh: &'m TriMesh, step: f64, air: f64) -> Option<Self> {
        Self::within(mesh, step, air, MOST)
    }
    fn within(mesh: &'m TriMesh, step: f64, air: f64, most: usize) -> Option<Self> {
        if mesh.triangles.is_empty() || !(step.is_finite() && step > 0.0 && air >= 0.0) {
            return None;
        }
        let around = Aabb::around(&mesh.positions);
        let span = [0, 1, 2].map(|k| around.max[k] - around.min[k]);
        if !span.iter().all(|s| s.is_finite()) {
            return None;
        }
        let mut step = step;
        // Room for air on all sides, so that what is open is connected outside.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let count = |step: f64| span.map(|s| ((s + 2.0 * air) / step).ceil() as usize + 3);
        while count(step).iter().try_fold(1_usize, |a, n| a.checked_mul(*n)).is_none_or(|n| n > most) {
            step *= 1.1;
        }
        let low = Point3::from([0, 1, 2].map(|k| around.min[k] - air - SHIFT[k] * step));
        let boxes = (0..mesh.triangles.len()).map(|t| Aabb::around(&mesh.corners(t))).collect();
        let tree = Bvh::new(boxes);
        let mut out = Self { mesh, tree, low, step, size: count(step), depth: Vec::new() };
        out.fill(air);
        Some(out)
    }

    /// Distance of neighbouring points, mm.
    #[must_use]
    pub fn step(&self) -> f64 {
        self.step
    }
    /// What a value between the points may differ from that of the nearest point, mm.
    #[must_use]
    pub fn slack(&self) -> f64 {
        self.step * 0.866_025_404
    }
    /// Place of a point of the grid.
    #[must_use]
    pub fn at(&self, i: usize) -> Point3<f64> {
        let [nx, ny, _] = self.size;
        #[allow(clippy::cast_precision_loss)]
        let f = [i % nx, i / nx % ny, i / (nx * ny)].map(|k| k as f64);
        self.low + Vector3::from(f) * self.step
    }
    /// The point of the grid whose cell holds a place; none outside.
    fn nearest_point(&self, p: &Point3<f64>) -> Option<usize> {
        let [nx, ny, nz] = self.size;
        let at = [0, 1, 2].map(|k| ((p[k] - self.low[k]) / self.step).round());
        #[allow(clippy::cast_precision_loss)]
        let inside = at.iter().zip([nx, ny, nz]).all(|(x, n)| *x >= 0.0 && *x < n as f64);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        inside.then(|| at[0] as usize + nx * (at[1] as usize + ny * at[2] as usize))
    }
    /// Neighbours of a point, over sides, edges and corners of its cell, with their distance.
    pub(super) fn around(&self, i: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let [nx, ny, nz] = self.size;
        let at = [i % nx, i / nx % ny, i / (nx * ny)];
        let inner = (0..3).all(|k| at[k] > 0 && at[k] + 1 < self.size[k]);
        AROUND.iter().filter_map(move |(by, far)| {
            let to = [0, 1, 2].map(|a| (at[a] + by[a]).wrapping_sub(1));
            let inside = inner || (to[0] < nx && to[1] < ny && to[2] < nz);
            inside.then(|| (to[0] + nx * (to[1] + ny * to[2]), self.step * far))
        })
    }
    /// Distance of a point from the surface, mm.
    #[must_use]
    pub fn distance(&self, p: &Point3<f64>) -> f64 {
        self.nearest(p, f64::INFINITY).map_or(0.0, |n| n.1)
    }
    /// The point of the surface nearest to a point, none beyond `within`.
    fn foot(&self, p: &Point3<f64>, within: f64) -> Option<Point3<f64>> {
        self.nearest(p, within).map(|n| closest(p, &self.mesh.corners(n.0 as usize)))
    }
    /// The nearest triangle and its distance, none beyond `within`.
    fn nearest(&self, p: &Point3<f64>, within: f64) -> Option<(u32, f64)> {
        let of = |t: u32| distance2(p, &self.mesh.corners(t as usize));
        self.tree.nearest(p, within * within, of).map(|(t, d2)| (t, d2.sqrt()))
    }
    /// Faces that come within `reach` of a point, each once, the nearest first.
    #[must_use]
    pub fn faces_near(&self, p: &Point3<f64>, reach: f64) -> Vec<u32> {
        let mut found: Vec<(f64, u32)> = Vec::new();
        for (t, face) in self.mesh.face.iter().enumerate() {
            let d = distance2(p, &self.mesh.corners(t));
            if d <= reach * reach {
                match found.iter_mut().find(|f| f.1 == *face) {
                    Some(f) => f.0 = f.0.min(d),
                    None => found.push((d, *face)),
                }
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        found.into_iter().map(|f| f.1).collect()
    }

    fn fill(&mut self, air: f64) {
        let [nx, ny, nz] = self.size;
        let crossings = self.crossings();
        let rows: Vec<Vec<f64>> = (0..ny * nz)
            .into_par_iter()
            .map(|r| {
                let mut row = vec![f64::NEG_INFINITY; nx];
                let xs = crossings.get(r).map_or(&[][..], Vec::as_slice);
                let (mut passed, mut near) = (0, f64::INFINITY);
                for (i, value) in row.iter_mut().enumerate() {
                    let p = self.at(i + nx * r);
                    while xs.get(passed).is_some_and(|x| *x < p.x) {
                        passed += 1;
                    }
                    let inside = passed % 2 == 1;
                    if !inside && air <= 0.0 {
                        near = f64::INFINITY;
                        continue;
                    }
                    let within = if inside { near + self.step } else { (near + self.step).min(air) };
                    // The bound is widened by a hair, so that rounding does not lose the nearest.
                    near = self.nearest(&p, within * (1.0 + 1e-9) + 1e-12).map_or(f64::INFINITY, |n| n.1);
                    *value = if inside { near } else { -near };
                }
                row
            })
            .collect();
        self.depth = rows.concat();
    }

    /// Where each row along x crosses the surface, in order.
    fn crossings(&self) -> Vec<Vec<f64>> {
        let [_, ny, nz] = self.size;
        let mut rows: Vec<Vec<f64>> = vec![Vec::new(); ny * nz];
        let all = 0..self.mesh.triangles.len();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
        for t in all.clone() {
            let b = Aabb::around(&self.mesh.corners(t));
            let range = |k: usize, n: usize| {
                let of = |x: f64| ((x - self.low[k]) / self.step).clamp(0.0, n as f64);
                of(b.min[k]).floor() as usize..(of(b.max[k]).ceil() as usize + 1).min(n)
            };
            for k in range(2, nz) {
                for j in range(1, ny) {
                    let at = [self.low.y + j as f64 * self.step, self.low.z + k as f64 * self.step];
                    rows[j + ny * k].extend(self.crossed(t, at));
                }
            }
        }
        for (r, xs) in rows.iter_mut().enumerate() {
            // A row through a corner may count it once too often: look beside it, by less than anything that matters.
            let mut tries = 0;
            while xs.len() % 2 == 1 && tries < 4 {
                tries += 1;
                let by = self.step * 1e-7 * f64::from(tries);
                #[allow(clippy::cast_precision_loss)]
                let at = [(r % ny) as f64, (r / ny) as f64].map(|n| n * self.step);
                let at = [self.low.y + at[0] + by, self.low.z + at[1] + by * 0.618];
                *xs = all.clone().filter_map(|t| self.crossed(t, at)).collect();
            }
            xs.sort_by(f64::total_cmp);
        }
        rows
    }
    /// Where a line along x at this y and z crosses a triangle.
    fn crossed(&self, t: usize, [y, z]: [f64; 2]) -> Option<f64> {
        let (ids, at) = (self.mesh.triangles[t], self.mesh.corners(t));
        // Twice the area to the left of a side; taken from the lower corner number to the higher, so that both triangles of a side see the same.
        let side = |i: usize| {
            let (i, j) = (i, (i + 1) % 3);
            let swap = ids[i] > ids[j];
            let (u, v) = if swap { (at[j], at[i]) } else { (at[i], at[j]) };
            let e = (v.y - u.y) * (z - u.z) - (v.z - u.z) * (y - u.y);
            if swap { (e < 0.0, -e) } else { (e >= 0.0, e) }
        };
        let s = [0, 1, 2].map(side);
        if s[0].0 != s[1].0 || s[1].0 != s[2].0 {
            return None;
        }
        let sum: f64 = s.iter().map(|x| x.1).sum();
        let x = (s[1].1 * at[0].x + s[2].1 * at[1].x + s[0].1 * at[2].x) / sum;
        x.is_finite().then_some(x)
    }
}
