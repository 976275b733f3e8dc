//! A plane through the mesh: the outlines of the metal in it, and their hatching.

use super::project::Eye;
use crate::mesh::TriMesh;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;

/// A cut, seen from the side that is taken away.
#[derive(Clone, Debug)]
pub struct Cut {
    /// Towards the viewer: what lies on this side is taken away.
    pub normal: Vector3<f64>,
    /// Distance of the plane along it, mm.
    pub offset: f64,
    /// Outlines of the metal in the plane, on the paper at scale 1.
    pub loops: Vec<Vec<[f64; 2]>>,
}

impl Cut {
    /// Cuts a closed mesh; the outlines are as exact as the mesh.
    #[must_use]
    pub fn new(eye: Eye, offset: f64, mesh: &TriMesh) -> Self {
        let mut cut = Self { normal: eye.back(), offset, loops: Vec::new() };
        // Each triangle that the plane cuts gives one piece, from one cut mesh edge to another. A vertex in the plane
        // counts as below it, so that the pieces always join.
        let above = |v: u32| cut.side(&mesh.positions[v as usize]) > 0.0;
        let mut next: BTreeMap<(u32, u32), (u32, u32)> = BTreeMap::new();
        for t in &mesh.triangles {
            let (mut from, mut to) = (None, None);
            for k in 0..3 {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                match (above(a), above(b)) {
                    (true, false) => from = Some((a.min(b), a.max(b))),
                    (false, true) => to = Some((a.min(b), a.max(b))),
                    _ => {}
                }
            }
            if let (Some(f), Some(t)) = (from, to) {
                next.insert(f, t);
            }
        }
        let point = |(a, b): (u32, u32)| {
            let (p, q) = (mesh.positions[a as usize], mesh.positions[b as usize]);
            let (u, v) = (cut.side(&p), cut.side(&q));
            eye.flat(&(p + (q - p) * (u / (u - v))))
        };
        let mut loops = Vec::new();
        while let Some((start, mut at)) = next.pop_first() {
            let mut line = vec![point(start)];
            while at != start {
                line.push(point(at));
                match next.remove(&at) {
                    Some(n) => at = n,
                    None => break,
                }
            }
            line.dedup_by(|a, b| libm::hypot(a[0] - b[0], a[1] - b[1]) < 1e-7);
            if line.len() > 2 {
                line.push(line[0]);
                loops.push(line);
            }
        }
        cut.loops = loops;
        cut
    }
    /// Height above the plane, towards the viewer, mm.
    #[must_use]
    pub fn side(&self, p: &Point3<f64>) -> f64 {
        p.coords.dot(&self.normal) - self.offset
    }
}

/// Whether a point of the paper lies in the metal.
#[must_use]
pub fn inside(loops: &[Vec<[f64; 2]>], p: [f64; 2]) -> bool {
    let mut odd = false;
    for w in loops.iter().flat_map(|l| l.windows(2)) {
        let (a, b) = (w[0], w[1]);
        if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0] + (b[0] - a[0]) * (p[1] - a[1]) / (b[1] - a[1]) {
            odd = !odd;
        }
    }
    odd
}

/// Lines at 45 degrees through the metal, `apart` from each other.
#[must_use]
#[allow(clippy::cast_possible_truncation)]
pub fn hatch(loops: &[Vec<[f64; 2]>], apart: f64) -> Vec<[[f64; 2]; 2]> {
    const ROOT: f64 = std::f64::consts::FRAC_1_SQRT_2;
    // Turned by 45 degrees the lines are level.
    let turned = |p: &[f64; 2]| [(p[0] + p[1]) * ROOT, (p[1] - p[0]) * ROOT];
    let turned: Vec<Vec<[f64; 2]>> = loops.iter().map(|l| l.iter().map(turned).collect()).collect();
    let heights = turned.iter().flatten().map(|p| p[1]);
    let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    let mut out = Vec::new();
    if !(low < high && apart > 0.0) {
        return out;
    }
    for k in (low / apart).ceil() as i64..=(high / apart).floor() as i64 {
        #[allow(clippy::cast_precision_loss)]
        let y = (k as f64 + 0.013) * apart;
        let mut at: Vec<f64> = turned
            .iter()
            .flat_map(|l| l.windows(2))
            .filter(|w| (w[0][1] > y) != (w[1][1] > y))
            .map(|w| w[0][0] + (w[1][0] - w[0][0]) * (y - w[0][1]) / (w[1][1] - w[0][1]))
            .collect();
        at.sort_by(f64::total_cmp);
        for w in at.chunks_exact(2) {
            let back = |x: f64| [(x - y) * ROOT, (x + y) * ROOT];
            out.push([back(w[0]), back(w[1])]);
        }
    }
    out
}
