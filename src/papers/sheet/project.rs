//! The edges of a solid seen along a direction, and which of them are hidden: every short piece of an edge is asked
//! whether a triangle of the mesh lies before it.

use super::section::{Cut, inside};
use crate::mesh::TriMesh;
use crate::papers::picture::polyline;
use crate::solid::Solid;
use crate::units::{Deg, Tolerance};
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;

/// A direction to look along, parallel rays.
#[derive(Clone, Copy, Debug)]
pub struct Eye {
    /// To the right on the paper.
    pub right: Vector3<f64>,
    /// Up on the paper.
    pub up: Vector3<f64>,
}

impl Eye {
    /// Towards the viewer.
    #[must_use]
    pub fn back(&self) -> Vector3<f64> {
        self.right.cross(&self.up)
    }
    /// Place on the paper at scale 1, mm.
    #[must_use]
    pub fn flat(&self, p: &Point3<f64>) -> [f64; 2] {
        [p.coords.dot(&self.right), p.coords.dot(&self.up)]
    }
}

/// What is seen, at scale 1.
#[derive(Clone, Debug, Default)]
pub struct Seen {
    /// Edges that nothing hides.
    pub visible: Vec<Vec<[f64; 2]>>,
    /// Edges behind metal.
    pub hidden: Vec<Vec<[f64; 2]>>,
}

/// Two faces that meet at less than this run into each other and their edge is not drawn. Our choice.
const SMOOTH: Deg = Deg(8.0);
/// Edges are cut into pieces of at most this length, mm, each seen or hidden as a whole.
const PIECE: f64 = 0.03;
/// Pieces are asked this far outside the metal, mm: more than mesh and polyline may be off by together.
const OFF: f64 = 0.012;
/// Side of a cell of the table of triangles, mm.
const CELL: f64 = 0.12;

/// A triangle as it is seen: its corners on the paper, how near each is to the viewer.
struct Flat {
    at: [[f64; 2]; 3],
    depth: [f64; 3],
}

struct Cover<'a> {
    eye: Eye,
    triangles: Vec<Flat>,
    /// Least cell, cells along the paper's x, and for each cell the triangles over it.
    origin: [i64; 2],
    across: i64,
    cells: Vec<Vec<u32>>,
    cut: Option<&'a Cut>,
}

#[allow(clippy::cast_possible_truncation)]
fn cell(x: f64) -> i64 {
    (x / CELL).floor() as i64
}

impl<'a> Cover<'a> {
    fn new(eye: Eye, mesh: &TriMesh, cut: Option<&'a Cut>) -> Self {
        let back = eye.back();
        let kept = mesh.triangles.iter().map(|t| t.map(|v| mesh.positions[v as usize]));
        let kept = kept.filter(|p| cut.is_none_or(|c| p.iter().any(|p| c.side(p) <= 0.0)));
        let flat =
            |p: [Point3<f64>; 3]| Flat { at: p.map(|p| eye.flat(&p)), depth: p.map(|p| p.coords.dot(&back)) };
        let triangles: Vec<Flat> = kept.map(flat).collect();
        let all = |k: usize| {
            let of = triangles.iter().flat_map(|t| t.at.map(|p| cell(p[k])));
            of.fold((i64::MAX, i64::MIN), |(a, b), v| (a.min(v), b.max(v)))
        };
        let ((x0, x1), (y0, y1)) = (all(0), all(1));
        let (across, up) = ((x1 - x0).max(0) + 1, (y1 - y0).max(0) + 1);
        let size = if triangles.is_empty() { 0 } else { usize::try_from(across * up).unwrap_or(0) };
        let mut out = Self { eye, triangles, origin: [x0, y0], across, cells: vec![Vec::new(); size], cut };
        for i in 0..out.triangles.len() {
            let f = out.triangles[i].at;
            let span =
                |k: usize| (cell(f[0][k].min(f[1][k]).min(f[2][k])), cell(f[0][k].max(f[1][k]).max(f[2][k])));
            let ((a, b), (c, d)) = (span(0), span(1));
            for x in a..=b {
                for y in c..=d {
                    if let (Some(at), Ok(i)) = (out.place(x, y), u32::try_from(i)) {
                        out.cells[at].push(i);
                    }
                }
            }
        }
        out
    }
    fn place(&self, x: i64, y: i64) -> Option<usize> {
        let (x, y) = (x.checked_sub(self.origin[0])?, y.checked_sub(self.origin[1])?);
        if x < 0 || y < 0 || x >= self.across {
            return None;
        }
        usize::try_from(y * self.across + x).ok().filter(|at| *at < self.cells.len())
    }
    /// Whether metal lies between the point and the viewer.
    fn hides(&self, p: &Point3<f64>) -> bool {
        let (f, back) = (self.eye.flat(p), self.eye.back());
        if let Some(c) = self.cut
            && c.side(p) < -1e-6
            && inside(&c.loops, f)
        {
            return true;
        }
        let Some(list) = self.place(cell(f[0]), cell(f[1])).and_then(|at| self.cells.get(at)) else {
            return false;
        };
        let depth = p.coords.dot(&back) + 1e-4;
        list.iter().any(|i| {
            let t = &self.triangles[*i as usize];
            if t.depth.iter().all(|d| *d <= depth) {
                return false;
            }
            let Some(w) = weights(t.at, f) else { return false };
            let at = t.depth[0] * w[0] + t.depth[1] * w[1] + t.depth[2] * w[2];
            // What the cut takes away hides nothing: it lies along the viewer's way.
            at > depth && self.cut.is_none_or(|c| at <= c.offset)
        })
    }
}

/// Weights of the corners at a point in a triangle of the paper; `None` outside, or seen edge on.
fn weights(t: [[f64; 2]; 3], p: [f64; 2]) -> Option<[f64; 3]> {
    let cross =
        |a: [f64; 2], b: [f64; 2], c: [f64; 2]| (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    let area = cross(t[0], t[1], t[2]);
    if area.abs() < 1e-12 {
        return None;
    }
    let w = [cross(t[1], t[2], p) / area, cross(t[2], t[0], p) / area, cross(t[0], t[1], p) / area];
    w.iter().all(|w| *w >= 0.0).then_some(w)
}

/// A line with the direction out of the metal along it.
struct Rim {
    points: Vec<Point3<f64>>,
    out: Vec<Vector3<f64>>,
}

/// Edges at which faces meet at an angle, and outlines of round faces.
fn rims(eye: Eye, solid: &Solid, mesh: &TriMesh, tolerance: Tolerance) -> Vec<Rim> {
    let mut out = Vec::new();
    let smooth = libm::cos(SMOOTH.radians());
    for e in &solid.edges {
        let (Some(a), Some(b)) = (solid.faces.get(e.faces[0]), solid.faces.get(e.faces[1])) else { continue };
        let middle = e.curve.point(e.curve.end_parameter() / 2.0);
        if a.normal(&middle).dot(&b.normal(&middle)) >= smooth {
            continue;
        }
        let points = divided(&polyline(&e.curve, tolerance));
        let off = points.iter().map(|p| outward(a.normal(p) + b.normal(p), a.normal(p))).collect();
        out.push(Rim { points, out: off });
    }
    // Outlines: mesh edges within round faces at which the surface turns away. They are rulings, as the mesh is cut.
    let back = eye.back();
    let front = |t: &[u32; 3]| {
        let q = t.map(|v| mesh.positions[v as usize]);
        (q[1] - q[0]).cross(&(q[2] - q[0])).normalize().dot(&back) > 1e-7
    };
    let mut open: BTreeMap<(u32, u32), (usize, bool)> = BTreeMap::new();
    for (i, t) in mesh.triangles.iter().enumerate() {
        let Some(face) = solid.faces.get(mesh.face[i] as usize) else { continue };
        if face.cone().is_none() {
            continue;
        }
        let f = front(t);
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            match open.remove(&(a.min(b), a.max(b))) {
                Some((j, g)) if g != f && same_surface(solid, mesh.face[j], mesh.face[i]) => {
                    let points = divided(&[mesh.positions[a as usize], mesh.positions[b as usize]]);
                    let off = points.iter().map(|p| face.normal(p)).collect();
                    out.push(Rim { points, out: off });
                }
                Some(_) => {}
                None => {
                    open.insert((a.min(b), a.max(b)), (i, f));
                }
            }
        }
    }
    out
}

fn same_surface(solid: &Solid, a: u32, b: u32) -> bool {
    a == b
        || match (solid.faces.get(a as usize), solid.faces.get(b as usize)) {
            (Some(a), Some(b)) => a.surface.same(&b.surface),
            _ => false,
        }
}

fn outward(sum: Vector3<f64>, one: Vector3<f64>) -> Vector3<f64> {
    sum.try_normalize(1e-6).unwrap_or(one)
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn divided(line: &[Point3<f64>]) -> Vec<Point3<f64>> {
    let mut out: Vec<Point3<f64>> = line.first().copied().into_iter().collect();
    for w in line.windows(2) {
        let n = ((w[1] - w[0]).norm() / PIECE).ceil().clamp(1.0, 2000.0) as usize;
        out.extend((1..=n).map(|k| w[0] + (w[1] - w[0]) * (k as f64 / n as f64)));
    }
    out
}

/// What is seen of a solid, or of what a cut leaves of it.
#[must_use]
pub fn seen(eye: Eye, solid: &Solid, mesh: &TriMesh, cut: Option<&Cut>, tolerance: Tolerance) -> Seen {
    let cover = Cover::new(eye, mesh, cut);
    let mut out = Seen::default();
    let mut marks = Marks::default();
    let mut dark: Vec<(Vec<[f64; 2]>, usize)> = Vec::new();
    for (number, rim) in rims(eye, solid, mesh, tolerance).iter().enumerate() {
        let mut run: Option<(bool, Vec<[f64; 2]>)> = None;
        for i in 1..rim.points.len() {
            let (a, b) = (rim.points[i - 1], rim.points[i]);
            let middle = nalgebra::center(&a, &b);
            let gone = cut.is_some_and(|c| c.side(&middle) > -1e-9);
            let state = (!gone).then(|| cover.hides(&(middle + rim.out[i] * OFF)));
            let (fa, fb) = (eye.flat(&a), eye.flat(&b));
            match (&mut run, state) {
                (Some((s, line)), Some(now)) if *s == now => line.push(fb),
                _ => {
                    keep(run.take(), number, &mut out, &mut dark, &mut marks);
                    run = state.map(|s| (s, vec![fa, fb]));
                }
            }
        }
        keep(run, number, &mut out, &mut dark, &mut marks);
    }
    // A dashed line on top of another line would look unbroken.
    for (line, number) in dark {
        let mut piece: Vec<[f64; 2]> = Vec::new();
        for w in line.windows(2) {
            if marks.taken(w[0], w[1], number) {
                flush(&mut piece, &mut out.hidden);
            } else {
                if piece.is_empty() {
                    piece.push(w[0]);
                }
                piece.push(w[1]);
                marks.put(w[0], w[1], number);
            }
        }
        flush(&mut piece, &mut out.hidden);
    }
    out
}

fn flush(piece: &mut Vec<[f64; 2]>, into: &mut Vec<Vec<[f64; 2]>>) {
    if piece.len() > 1 {
        into.push(std::mem::take(piece));
    }
    piece.clear();
}

fn keep(
    run: Option<(bool, Vec<[f64; 2]>)>,
    number: usize,
    out: &mut Seen,
    dark: &mut Vec<(Vec<[f64; 2]>, usize)>,
    marks: &mut Marks,
) {
    match run {
        Some((true, line)) => dark.push((line, number)),
        Some((false, line)) => {
            for w in line.windows(2) {
                marks.put(w[0], w[1], usize::MAX);
            }
            out.visible.push(line);
        }
        None => {}
    }
}

/// Direction of a piece of line, and the number of its line.
type Mark = ([f64; 2], usize);

/// Where lines already run: cells of the paper with the direction of the line in each.
#[derive(Default)]
struct Marks {
    cells: BTreeMap<(i64, i64), Vec<Mark>>,
}

/// Side of a cell, mm of the model.
const MARK: f64 = 0.02;

impl Marks {
    #[allow(clippy::cast_possible_truncation)]
    fn key(a: [f64; 2], b: [f64; 2]) -> (i64, i64) {
        let m = |k: usize| ((a[k] + b[k]) / 2.0 / MARK).floor() as i64;
        (m(0), m(1))
    }
    fn direction(a: [f64; 2], b: [f64; 2]) -> Option<[f64; 2]> {
        let d = [b[0] - a[0], b[1] - a[1]];
        let l = libm::hypot(d[0], d[1]);
        (l > 1e-9).then(|| [d[0] / l, d[1] / l])
    }
    fn put(&mut self, a: [f64; 2], b: [f64; 2], number: usize) {
        if let Some(d) = Self::direction(a, b) {
            self.cells.entry(Self::key(a, b)).or_default().push((d, number));
        }
    }
    /// Whether another line runs along here, or the piece is a point on the paper.
    fn taken(&self, a: [f64; 2], b: [f64; 2], number: usize) -> bool {
        let Some(d) = Self::direction(a, b) else { return true };
        let (x, y) = Self::key(a, b);
        (-1..=1).any(|i| {
            (-1..=1).any(|j| {
                self.cells.get(&(x + i, y + j)).is_some_and(|l| {
                    l.iter().any(|(e, n)| *n != number && (d[0] * e[1] - d[1] * e[0]).abs() < 0.2)
                })
            })
        })
    }
}
