//! The working mesh of a square body with leaning sides.
//!
//! Every vertex lies on a ruling of a corner cylinder, at the height of one of the two ends, so that each facet lies in a
//! side plane or between two rulings of one corner.

use super::error::BuildError;
use super::frame::Frame;
use super::primitives::{Rulings, Tagged, check, pin, polygon};
use super::registry::Registry;
use super::surface::{Cone, Surface};
use super::tree::Taper;
use nalgebra::{Point3, Vector3};
use std::f64::consts::TAU;

/// Signs of the corners in x and y, counter-clockwise; side `i` ends at corner `i`.
const CORNERS: [[f64; 2]; 4] = [[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]];
/// Directions of the sides.
const SIDES: [[f64; 2]; 4] = [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]];

/// Outward unit normal of a side.
fn normal(f: &Frame, t: &Taper, side: usize) -> Vector3<f64> {
    let [x, y] = SIDES[side % 4];
    f.vector(&Vector3::new(x, y, -t.slope)) / libm::hypot(1.0, t.slope)
}

/// Foot of a corner's axis at z = 0 and its direction towards +z.
fn axis(f: &Frame, t: &Taper, corner: usize) -> (Point3<f64>, Vector3<f64>) {
    let [x, y] = CORNERS[corner];
    // The axis lies one radius inside both sides, measured square to them.
    let q = t.half - t.corner * libm::hypot(1.0, t.slope);
    (f.point(x * q, y * q, 0.0), f.vector(&Vector3::new(x * t.slope, y * t.slope, 1.0)).normalize())
}

/// Enters sides, corners and ends, in this order. Returns their face numbers.
///
/// # Errors
/// [`BuildError::Primitive`] for a body without extent, or one whose corners leave nothing of a side.
pub fn register(f: &Frame, t: &Taper, reg: &mut Registry) -> Result<Vec<Option<usize>>, BuildError> {
    check(&t.ends[0], t.height, 0.0)?;
    check(&t.corners[0], t.corner, 0.0)?;
    let narrowest = t.half + t.slope.min(0.0) * t.height;
    let lean = libm::hypot(1.0, t.slope);
    // Two corners on one side, each reaching corner * lean from it, and something straight between them.
    let straight = narrowest - t.corner * lean;
    // Written so that a number that is none does not pass.
    if !(t.corner > 0.0 && straight > 0.0) {
        let detail = format!("corners of {} mm on a half width of {narrowest} mm", t.corner);
        return Err(BuildError::Primitive { face: t.corners[0].clone(), detail });
    }
    let mut out = Vec::with_capacity(10);
    for (side, name) in t.sides.iter().enumerate() {
        let [x, y] = SIDES[side];
        let at = f.point(x * t.half, y * t.half, 0.0);
        out.push(Some(reg.add_face(&Surface::plane(&at, &normal(f, t, side)), 0.0, name)));
    }
    for (corner, name) in t.corners.iter().enumerate() {
        let (foot, along) = axis(f, t, corner);
        out.push(Some(reg.add_face(&Surface::cone(&foot, &along, t.corner, 0.0), t.corner, name)));
    }
    for (name, z) in t.ends.iter().zip([0.0, t.height]) {
        out.push(Some(reg.add_face(&Surface::plane(&f.point(0.0, 0.0, z), &f.z), 0.0, name)));
    }
    Ok(out)
}

/// The working mesh.
///
/// # Errors
/// [`BuildError::Primitive`] when the corners cross each other.
#[allow(clippy::cast_possible_truncation)]
pub fn tessellate(
    f: &Frame,
    t: &Taper,
    faces: &[Option<usize>],
    reg: &Registry,
) -> Result<Tagged, BuildError> {
    let wrong = |detail: &str| BuildError::Primitive { face: t.sides[0].clone(), detail: detail.into() };
    let face = |i: usize| faces.get(i).copied().flatten().ok_or_else(|| wrong("a side without a face"));
    let mut low: Vec<Point3<f64>> = Vec::new();
    let mut high: Vec<Point3<f64>> = Vec::new();
    // Tag of the facet from each vertex to the next one.
    let mut tags: Vec<usize> = Vec::new();
    for corner in 0..4 {
        let id = face(4 + corner)?;
        let Surface::Cone(cone) = reg.surfaces[reg.surface_of(id)] else {
            return Err(wrong("a corner that is no cylinder"));
        };
        let (foot, along) = axis(f, t, corner);
        let upright = along.dot(&f.z);
        let normals = [normal(f, t, corner), normal(f, t, corner + 1)];
        for (spoke, strip) in spokes(&cone, reg, id, &foot, &normals, t.corner) {
            let down = foot + spoke - along * (spoke.dot(&f.z) / upright);
            low.push(down);
            high.push(down + along * (t.height / upright));
            tags.push(strip.unwrap_or(0));
        }
        // From the last ruling of a corner the next side begins.
        if let Some(last) = tags.last_mut() {
            *last = reg.tag(face((corner + 1) % 4)?, 0);
        }
    }
    let n = low.len();
    let mut m = Tagged { positions: low, ..Tagged::default() };
    m.positions.append(&mut high);
    let rulings = Rulings::new(&mut m, reg, (0..n as u32).map(|i| [i, i + n as u32]));
    for (i, &tag) in tags.iter().enumerate() {
        rulings.between(i, (i + 1) % n, |t| {
            m.triangles.push(t);
            m.tags.push(tag);
        });
    }
    for (end, first) in [(8, 0), (9, n)] {
        let flat = |p: &Point3<f64>| [(p - f.origin).dot(&f.x), (p - f.origin).dot(&f.y)];
        let outline: Vec<[f64; 2]> = m.positions[first..first + n].iter().map(flat).collect();
        let tag = reg.tag(face(end)?, 0);
        for q in polygon(&outline).ok_or_else(|| wrong("the corners cross each other"))? {
            let q = q.map(|i| i + first as u32);
            m.triangles.push(if first == 0 { [q[0], q[2], q[1]] } else { q });
            m.tags.push(tag);
        }
    }
    pin(&mut m, reg);
    Ok(m)
}

/// Spokes of one corner from the ruling on its first side to that on the next, each with the tag of the facet that
/// follows it; `None` at the last one.
fn spokes(
    cone: &Cone,
    reg: &Registry,
    face: usize,
    foot: &Point3<f64>,
    normals: &[Vector3<f64>; 2],
    radius: f64,
) -> Vec<(Vector3<f64>, Option<usize>)> {
    let surface = reg.surface_of(face);
    let angle = |n: &Vector3<f64>| cone.angle_height(&(foot + n * radius)).0;
    let (a0, mut a1) = (angle(&normals[0]), angle(&normals[1]));
    // The short way round: the sides enclose less than half a turn.
    if a1 - a0 > TAU / 2.0 {
        a1 -= TAU;
    } else if a0 - a1 > TAU / 2.0 {
        a1 += TAU;
    }
    let mut stops = reg.rulings_between(surface, a0.min(a1), a0.max(a1));
    if a1 < a0 {
        stops.reverse();
    }
    let n = reg.strips(surface);
    let tag = |from: f64, to: f64| Some(reg.tag(face, reg.strip_at(surface, (from + to) / 2.0)));
    let mut out = vec![(normals[0] * radius, tag(a0, stops.first().map_or(a1, |s| s.1)))];
    for (i, &(j, a)) in stops.iter().enumerate() {
        // A swollen point within half a strip of an end would cross the tangent there.
        let half_strip = reg.width(surface, j).max(reg.width(surface, (j + n - 1) % n)) / 2.0;
        let near_end = (a - a0).abs().min((a - a1).abs()) < half_strip;
        let swell = if near_end { 1.0 } else { reg.swell(surface, j) };
        let next = stops.get(i + 1).map_or(a1, |s| s.1);
        out.push((cone.spoke(a) * (radius * swell), tag(a, next)));
    }
    out.push((normals[1] * radius, None));
    out
}
