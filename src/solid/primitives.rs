//! Working meshes of the primitives: vertices on the exact surfaces, a tag on every triangle.

use super::error::BuildError;
use super::registry::{AT_NODE, Registry};
use super::surface::Surface;
use super::taper;
use super::tree::{Corner, Primitive, Shape, TurnedCorner};
use nalgebra::Point3;
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};
use std::f64::consts::TAU;

/// Triangles with a tag each; the working mesh of the boolean, not for output.
#[derive(Clone, Debug, Default)]
pub struct Tagged {
    /// Vertices, mm.
    pub positions: Vec<Point3<f64>>,
    /// Corners, counter-clockwise from outside.
    pub triangles: Vec<[u32; 3]>,
    /// Index into [`Registry::tags`] per triangle.
    pub tags: Vec<usize>,
}

/// A profile segment shorter than this is a mistake of the part, mm.
const SHORTEST: f64 = 1e-7;

/// Enters all faces of a primitive. Returns the face numbers: one per profile segment (`None` on the axis), and for a
/// prism the two ends after them.
///
/// # Errors
/// [`BuildError::Primitive`] for a profile without extent.
pub fn register(p: &Primitive, reg: &mut Registry) -> Result<Vec<Option<usize>>, BuildError> {
    let f = &p.frame;
    match &p.shape {
        Shape::Revolve(profile) => segments(profile)
            .map(|(a, b)| {
                let (dr, dh) = (b.radius - a.radius, b.height - a.height);
                check(&a.name, dr, dh)?;
                if a.radius == 0.0 && b.radius == 0.0 {
                    return Ok(None);
                }
                let foot = f.point(0.0, 0.0, a.height);
                let surface = if dh.abs() < SHORTEST {
                    Surface::plane(&foot, &f.z)
                } else {
                    let slope = if dr.abs() < SHORTEST { 0.0 } else { dr / dh };
                    Surface::cone(&foot, &f.z, a.radius, slope)
                };
                Ok(Some(reg.add_face(&surface, a.radius.max(b.radius), &a.name)))
            })
            .collect(),
        Shape::Prism { profile, height, ends } => {
            let mut out = Vec::with_capacity(profile.len() + 2);
            for (a, b) in segments(profile) {
                let (dx, dy) = (b.at[0] - a.at[0], b.at[1] - a.at[1]);
                check(&a.name, dx, dy)?;
                let (surface, reach) = if let Some(arc) = a.arc {
                    let r = libm::hypot(a.at[0] - arc.centre[0], a.at[1] - arc.centre[1]);
                    (Surface::cone(&f.point(arc.centre[0], arc.centre[1], 0.0), &f.z, r, 0.0), r)
                } else {
                    (Surface::plane(&f.point(a.at[0], a.at[1], 0.0), &(f.x * dy - f.y * dx)), 0.0)
                };
                let face = reg.add_face(&surface, reach, &a.name);
                if a.arc.is_some() {
                    for end in [a.at, b.at] {
                        reg.add_border(face, &f.point(end[0], end[1], 0.0));
                    }
                }
                out.push(Some(face));
            }
            check(&ends[0], *height, 0.0)?;
            for (name, z) in ends.iter().zip([0.0, *height]) {
                out.push(Some(reg.add_face(&Surface::plane(&f.point(0.0, 0.0, z), &f.z), 0.0, name)));
            }
            Ok(out)
        }
        Shape::Taper(t) => taper::register(f, t, reg),
    }
}

pub(super) fn check(face: &str, dx: f64, dy: f64) -> Result<(), BuildError> {
    let length = libm::hypot(dx, dy);
    if length.is_finite() && length > SHORTEST {
        return Ok(());
    }
    Err(BuildError::Primitive { face: face.to_owned(), detail: format!("an extent of {length:.1e} mm") })
}

/// A profile's segments: each corner with the next one.
fn segments<T>(v: &[T]) -> impl Iterator<Item = (&T, &T)> {
    v.iter().zip(v.iter().cycle().skip(1))
}

/// Twice the signed area of a polygon.
fn twice_area(p: &[[f64; 2]]) -> f64 {
    segments(p).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum()
}

/// The working mesh of a registered primitive.
///
/// # Errors
/// [`BuildError::Primitive`] when the profile is not a simple polygon.
pub fn tessellate(p: &Primitive, faces: &[Option<usize>], reg: &Registry) -> Result<Tagged, BuildError> {
    match &p.shape {
        Shape::Revolve(profile) => turned(p, profile, faces, reg),
        Shape::Prism { profile, height, .. } => swept(p, profile, *height, faces, reg),
        Shape::Taper(t) => taper::tessellate(&p.frame, t, faces, reg),
    }
}

#[allow(clippy::cast_possible_truncation)]
fn turned(
    p: &Primitive,
    profile: &[TurnedCorner],
    faces: &[Option<usize>],
    reg: &Registry,
) -> Result<Tagged, BuildError> {
    let name = || profile.first().map_or_else(String::new, |c| c.name.clone());
    let curved = faces.iter().flatten().map(|&f| reg.surface_of(f)).find_map(|s| match reg.surfaces[s] {
        Surface::Cone(c) => Some((s, c)),
        Surface::Plane(_) | Surface::Torus(_) => None,
    });
    let Some((surface, cone)) = curved else {
        return Err(BuildError::Primitive {
            face: name(),
            detail: "a turned profile without a curved face".into(),
        });
    };
    let n = reg.strips(surface);
    let along = cone.axis.dot(&p.frame.z).signum();
    let foot = cone.axis.dot(&(p.frame.origin - cone.origin));
    let spokes: Vec<_> = (0..n).map(|j| cone.spoke(reg.ruling(surface, j)) * reg.swell(surface, j)).collect();
    let mut m = Tagged::default();
    let mut ring = Vec::with_capacity(profile.len());
    for c in profile {
        ring.push(m.positions.len());
        let centre = cone.origin + cone.axis * (foot + along * c.height);
        if c.radius == 0.0 {
            m.positions.push(centre);
        } else {
            m.positions.extend(spokes.iter().map(|s| centre + s * c.radius));
        }
    }
    let outline: Vec<[f64; 2]> = profile.iter().map(|c| [c.radius, c.height]).collect();
    let flip = (twice_area(&outline) < 0.0) != (along < 0.0);
    for (i, face) in faces.iter().enumerate() {
        let Some(face) = *face else { continue };
        let k = (i + 1) % profile.len();
        let vertex = |q: usize, j: usize| (ring[q] + if profile[q].radius == 0.0 { 0 } else { j % n }) as u32;
        let surface = reg.surface_of(face);
        let rulings = Rulings::new(&mut m, reg, (0..n).map(|j| [vertex(i, j), vertex(k, j)]));
        for j in 0..n {
            let tag = reg.tag(face, if reg.strips(surface) > 0 { j } else { 0 });
            rulings.between(j, (j + 1) % n, |t| {
                m.triangles.push(if flip { [t[0], t[2], t[1]] } else { t });
                m.tags.push(tag);
            });
        }
    }
    pin(&mut m, reg);
    Ok(m)
}

#[allow(clippy::cast_possible_truncation)]
fn swept(
    p: &Primitive,
    profile: &[Corner],
    height: f64,
    faces: &[Option<usize>],
    reg: &Registry,
) -> Result<Tagged, BuildError> {
    let name = || profile.first().map_or_else(String::new, |c| c.name.clone());
    let wrong = |detail: &str| BuildError::Primitive { face: name(), detail: detail.into() };
    let mut outline: Vec<[f64; 2]> = Vec::new();
    let mut tags: Vec<usize> = Vec::new();
    for ((a, b), face) in segments(profile).zip(faces) {
        let face = face.ok_or_else(|| wrong("a side without a face"))?;
        outline.push(a.at);
        match (a.arc, reg.surfaces[reg.surface_of(face)]) {
            (Some(arc), Surface::Cone(_)) => arc_points(p, a, b, arc.ccw, face, reg, &mut outline, &mut tags),
            _ => tags.push(reg.tag(face, 0)),
        }
    }
    let (Some(Some(low)), Some(Some(high))) = (faces.get(profile.len()), faces.get(profile.len() + 1)) else {
        return Err(wrong("a prism without end faces"));
    };
    let n = outline.len();
    let mut m = Tagged::default();
    for z in [0.0, height] {
        m.positions.extend(outline.iter().map(|q| p.frame.point(q[0], q[1], z)));
    }
    let rulings = Rulings::new(&mut m, reg, (0..n as u32).map(|i| [i, i + n as u32]));
    for (i, &tag) in tags.iter().enumerate().take(n) {
        rulings.between(i, (i + 1) % n, |t| {
            m.triangles.push(t);
            m.tags.push(tag);
        });
    }
    let ccw = twice_area(&outline) > 0.0;
    let mut cap = polygon(&outline).ok_or_else(|| wrong("the profile crosses itself"))?;
    if !ccw {
        cap.iter_mut().for_each(|t| t.swap(1, 2));
    }
    for t in cap {
        m.triangles.extend([[t[0], t[2], t[1]], t.map(|i| i + n as u32)]);
        m.tags.extend([reg.tag(*low, 0), reg.tag(*high, 0)]);
    }
    if !ccw {
        m.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    }
    pin(&mut m, reg);
    Ok(m)
}

/// The vertices along each of a row of straight mesh edges: its two ends, and the nodes on it.
pub(super) struct Rulings(Vec<Vec<u32>>);

impl Rulings {
    /// Adds a vertex for every node that lies on one of the edges.
    #[allow(clippy::cast_possible_truncation)]
    pub(super) fn new(m: &mut Tagged, reg: &Registry, edges: impl Iterator<Item = [u32; 2]>) -> Self {
        Self(
            edges
                .map(|[a, b]| {
                    let (p, d) = (m.positions[a as usize], m.positions[b as usize] - m.positions[a as usize]);
                    let length = d.norm();
                    let mut on: Vec<(f64, Point3<f64>)> = Vec::new();
                    for node in reg.nodes() {
                        let w = node.at - p;
                        let t = w.dot(&d) / length;
                        let inside = t > AT_NODE && t < length - AT_NODE;
                        if inside
                            && (w - d * (t / length)).norm() < AT_NODE
                            && !on.iter().any(|o| o.1 == node.at)
                        {
                            on.push((t, node.at));
                        }
                    }
                    on.sort_by(|x, y| x.0.total_cmp(&y.0));
                    let mut list = vec![a];
                    for (_, at) in on {
                        list.push(m.positions.len() as u32);
                        m.positions.push(at);
                    }
                    list.push(b);
                    list
                })
                .collect(),
        )
    }

    /// The triangles between two of the edges, first to last end, counter-clockwise if the second lies to the right.
    pub(super) fn between(&self, left: usize, right: usize, mut add: impl FnMut([u32; 3])) {
        let (l, r) = (&self.0[left], &self.0[right]);
        let mut one = |t: [u32; 3]| {
            if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
                add(t);
            }
        };
        let (mut i, mut j) = (0, 0);
        while i + 1 < l.len() || j + 1 < r.len() {
            // The side that lags behind goes on.
            if i + 1 == l.len() || (j + 1 < r.len() && j * (l.len() - 1) <= i * (r.len() - 1)) {
                one([l[i], r[j], r[j + 1]]);
                j += 1;
            } else {
                one([l[i], r[j], l[i + 1]]);
                i += 1;
            }
        }
    }
}

/// Puts the vertices that lie on nodes exactly there.
pub(super) fn pin(m: &mut Tagged, reg: &Registry) {
    if reg.nodes().is_empty() {
        return;
    }
    for p in &mut m.positions {
        if let Some(node) = reg.node_at(p) {
            *p = node.at;
        }
    }
}

/// Adds the points of an arc segment after its first one, and the tag of each facet.
#[allow(clippy::too_many_arguments, clippy::cast_precision_loss)]
fn arc_points(
    p: &Primitive,
    from: &Corner,
    to: &Corner,
    ccw: bool,
    face: usize,
    reg: &Registry,
    outline: &mut Vec<[f64; 2]>,
    tags: &mut Vec<usize>,
) {
    let surface = reg.surface_of(face);
    let Surface::Cone(cone) = reg.surfaces[surface] else { return };
    let f = &p.frame;
    let turn = if ccw { 1.0 } else { -1.0 } * cone.axis.dot(&f.z).signum();
    let a0 = cone.angle_height(&f.point(from.at[0], from.at[1], 0.0)).0;
    let mut a1 = cone.angle_height(&f.point(to.at[0], to.at[1], 0.0)).0;
    // The end lies ahead of the start; equal angles would be a full turn, which a profile must not have.
    while (a1 - a0) * turn < 1e-9 {
        a1 += TAU * turn;
    }
    let mut stops = reg.rulings_between(surface, a0.min(a1), a0.max(a1));
    if turn < 0.0 {
        stops.reverse();
    }
    let mut last = a0;
    for &t in stops.iter().map(|(_, t)| t).chain([&a1]) {
        tags.push(reg.tag(face, reg.strip_at(surface, (last + t) / 2.0)));
        last = t;
    }
    // A swollen point within half a strip of an end would cross the tangent there, which a neighbour may continue.
    let n = reg.strips(surface);
    for &(j, t) in &stops {
        let half_strip = reg.width(surface, j).max(reg.width(surface, (j + n - 1) % n)) / 2.0;
        let near_end = (t - a0).abs().min((t - a1).abs()) < half_strip;
        let swell = if near_end { 1.0 } else { reg.swell(surface, j) };
        let q = cone.origin + cone.spoke(t) * (cone.radius * swell) - f.origin;
        outline.push([q.dot(&f.x), q.dot(&f.y)]);
    }
}

/// Triangles of a simple polygon over its own corners, counter-clockwise; `None` if it crosses itself.
#[allow(clippy::cast_possible_truncation)]
pub(super) fn polygon(outline: &[[f64; 2]]) -> Option<Vec<[u32; 3]>> {
    // spade refuses numbers other than 0 below 1.8e-43.
    let dustless = |x: f64| if x.abs() < 1e-40 { 0.0 } else { x };
    let points: Vec<Point2<f64>> =
        outline.iter().map(|p| Point2::new(dustless(p[0]), dustless(p[1]))).collect();
    let n = points.len();
    let mut cdt = ConstrainedDelaunayTriangulation::<Point2<f64>>::new();
    let mut handles = Vec::with_capacity(n);
    for p in points {
        handles.push(cdt.insert(p).ok()?);
    }
    // Two corners at one place give one vertex: not a simple polygon.
    if cdt.num_vertices() != n {
        return None;
    }
    for i in 0..n {
        let (a, b) = (handles[i], handles[(i + 1) % n]);
        if !cdt.can_add_constraint(a, b) {
            return None;
        }
        cdt.add_constraint(a, b);
    }
    let mut index = vec![0u32; n];
    for (i, h) in handles.iter().enumerate() {
        index[h.index()] = i as u32;
    }
    let mut out = Vec::with_capacity(n.saturating_sub(2));
    for face in cdt.inner_faces() {
        let v = face.vertices();
        let q = v.map(|h| h.position());
        let c = [(q[0].x + q[1].x + q[2].x) / 3.0, (q[0].y + q[1].y + q[2].y) / 3.0];
        if inside(outline, c) {
            out.push(v.map(|h| index[h.fix().index()]));
        }
    }
    (out.len() + 2 == n).then_some(out)
}

/// Even-odd rule.
fn inside(outline: &[[f64; 2]], p: [f64; 2]) -> bool {
    segments(outline)
        .filter(|(a, b)| {
            (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        })
        .count()
        % 2
        == 1
}
