//! Is the skeleton trustworthy? Finds places where two surfaces, or an edge and a surface, come nearer to each other than
//! the working mesh can decide. Such a result is computed again, finer there, or refused with the two names.

use super::curve::Curve;
use super::near_tangent::{Part, places, tangent_point};
use super::primitives::Tagged;
use super::registry::Registry;
use super::surface::{Cone, Surface};
use super::topology::Topology;
use super::trace::tangency;
use nalgebra::{Point3, Vector3};
use std::cell::OnceCell;
use std::collections::BTreeSet;
use std::f64::consts::TAU;

/// A working mesh decides nothing nearer than this many chords: each of the two surfaces may be off by one chord, and
/// half a chord is left for the snapping of vertices.
const CHORDS: f64 = 2.5;

/// A place on a face is no farther than this many chords from the facets of its patch: one, and a fifth for rounding of the
/// angles of a strip.
const BESIDE: f64 = 1.2;

/// Part of a distance from a patch of the working mesh that will remain of the distance from a finer one.
const SURE: f64 = 0.8;

/// Nearer than this two faces touch, mm: ten times the noise of dimensions, a tenth of the smallest one.
const TOUCH: f64 = 1e-7;

/// An exact edge that stays this far from a face is clear of it, mm: ten times what edges may be off their surfaces.
const CLEAR: f64 = 1e-6;

/// What the working mesh could not decide.
#[derive(Clone, Debug)]
pub struct Doubt {
    /// The surfaces in question.
    pub surfaces: Vec<usize>,
    /// Where.
    pub near: Point3<f64>,
    /// What was seen.
    pub detail: String,
    /// Chord that would decide, mm, if known.
    pub chord: Option<f64>,
    /// Set when the faces touch without thickness, which no finer mesh will change: the gap.
    pub touching: Option<f64>,
}

impl Doubt {
    /// Without a known remedy but a finer mesh.
    pub fn new(surfaces: Vec<usize>, near: Point3<f64>, detail: String) -> Self {
        Self { surfaces, near, detail, chord: None, touching: None }
    }
}

/// Distance queries against the mesh triangles of one patch.
struct Near<'a> {
    m: &'a Tagged,
    members: Vec<Vec<usize>>,
    low: Vec<Point3<f64>>,
    high: Vec<Point3<f64>>,
    extents: Vec<OnceCell<[[f64; 2]; 2]>>,
}

impl<'a> Near<'a> {
    fn new(m: &'a Tagged, t: &Topology) -> Self {
        let n = t.patches.len();
        let far = f64::MAX;
        let mut s = Self {
            m,
            members: vec![Vec::new(); n],
            low: vec![Point3::new(far, far, far); n],
            high: vec![Point3::new(-far, -far, -far); n],
            extents: vec![OnceCell::new(); n],
        };
        for (i, &c) in t.patch_of.iter().enumerate() {
            s.members[c].push(i);
            for v in m.triangles[i] {
                let p = m.positions[v as usize];
                s.low[c] = s.low[c].inf(&p);
                s.high[c] = s.high[c].sup(&p);
            }
        }
        s
    }
    /// Angles and heights of a patch on a cone, from and to.
    fn extent(&self, c: usize, cone: &Cone, seam: f64) -> [[f64; 2]; 2] {
        *self.extents[c].get_or_init(|| {
            let mut out = [[f64::MAX, f64::MIN]; 2];
            for v in self.members[c].iter().flat_map(|&t| self.m.triangles[t]) {
                let (a, h) = cone.angle_height(&self.m.positions[v as usize]);
                // Past the seam, where the patch is not.
                for (o, x) in out.iter_mut().zip([seam + (a - seam).rem_euclid(TAU), h]) {
                    *o = [o[0].min(x), o[1].max(x)];
                }
            }
            out
        })
    }
    fn box_near(&self, c: usize, low: &Point3<f64>, high: &Point3<f64>, e: f64) -> bool {
        (0..3).all(|k| low[k] < self.high[c][k] + e && high[k] > self.low[c][k] - e)
    }
    fn near(&self, c: usize, p: &Point3<f64>, e: f64) -> bool {
        self.distance(c, p, e).is_some()
    }
    /// Distance of a point from a patch, if it is below `e`.
    fn distance(&self, c: usize, p: &Point3<f64>, e: f64) -> Option<f64> {
        if !self.box_near(c, p, p, e) {
            return None;
        }
        let close = |t: &[Point3<f64>; 3]| {
            (0..3).all(|k| {
                p[k] < t[0][k].max(t[1][k]).max(t[2][k]) + e && p[k] > t[0][k].min(t[1][k]).min(t[2][k]) - e
            })
        };
        self.members[c]
            .iter()
            .map(|&i| self.m.triangles[i].map(|v| self.m.positions[v as usize]))
            .filter(close)
            .map(|t| distance_to_triangle(p, &t))
            .filter(|&d| d < e)
            .reduce(f64::min)
    }
}

impl Near<'_> {
    /// Places where two patches come within `undecided` mm of being tangent, one of them on a true cone.
    fn search(&self, reg: &Registry, t: &Topology, pair: [usize; 2], undecided: f64) -> Vec<Contact> {
        let surfaces = pair.map(|i| &reg.surfaces[t.patches[i].surface]);
        let size = pair.map(|i| (self.high[i] - self.low[i]).norm());
        // Over the smaller patch of those on cones.
        let first = match surfaces {
            [Surface::Cone(_), Surface::Cone(_)] => usize::from(size[1] < size[0]),
            [_, Surface::Cone(_)] => 1,
            _ => 0,
        };
        let (i, j) = (pair[first], pair[1 - first]);
        let (Surface::Cone(cone), other) = (surfaces[first], surfaces[1 - first]) else { return Vec::new() };
        let reach = nalgebra::Vector3::from_element(2.0 * undecided);
        let [angle, height] = self.extent(i, cone, t.patches[i].seam);
        let part = Part {
            angle,
            height,
            low: self.low[i].sup(&self.low[j]) - reach,
            high: self.high[i].inf(&self.high[j]) + reach,
        };
        places(cone, other, &part, undecided)
            .into_iter()
            .map(|p| {
                // As far as places of one tangency are told apart.
                let blur = 4.0 * (undecided * size[first].max(1.0)).sqrt();
                match tangent_point(cone, other, &p.at, blur) {
                    Some((at, gap)) => Contact { gap, at, along: None, blur },
                    None => Contact { gap: p.gap, at: p.at, along: None, blur },
                }
            })
            .collect()
    }
}

/// Surface against surface: lines and points of near tangency that lie on both patches.
pub fn faces(m: &Tagged, reg: &Registry, t: &Topology) -> Vec<Doubt> {
    let near = Near::new(m, t);
    let corners = corners(t);
    let smooth: BTreeSet<(usize, usize)> = t
        .chains
        .iter()
        .filter(|c| {
            let [a, b] = [c.left, c.right].map(|p| &reg.surfaces[t.patches[p].surface]);
            tangency(a, b).is_some()
        })
        .map(|c| (c.left.min(c.right), c.left.max(c.right)))
        .collect();
    let mut out = Vec::new();
    for i in 0..t.patches.len() {
        for j in i + 1..t.patches.len() {
            let (a, b) = (t.patches[i].surface, t.patches[j].surface);
            if a == b || smooth.contains(&(i, j)) {
                continue;
            }
            let chord = reg.chord(a).max(reg.chord(b));
            let undecided = CHORDS * chord;
            if !near.box_near(j, &near.low[i], &near.high[i], 2.0 * undecided) {
                continue;
            }
            let closed_form = contacts(&reg.surfaces[a], &reg.surfaces[b]);
            for contact in closed_form.unwrap_or_else(|| near.search(reg, t, [i, j], undecided)) {
                if contact.gap > undecided {
                    continue;
                }
                // Decided by a vertex of its own in every working mesh.
                if contact.along.is_none() && reg.is_node(a, b, &contact.at, contact.blur) {
                    continue;
                }
                let reach = contact.gap + CHORDS * chord;
                // Where the two patches share a corner they are near each other, and rightly so.
                let corner = |p: &Point3<f64>| {
                    let shared = corners[i].intersection(&corners[j]);
                    shared.into_iter().any(|&v| (m.positions[v as usize] - p).norm() < 2.0 * reach)
                };
                // How far the farther of the two patches is from a place, if both are near it.
                let both = |p: &Point3<f64>| {
                    let apart = near.distance(i, p, reach)?.max(near.distance(j, p, reach)?);
                    (!corner(p)).then_some((apart, *p))
                };
                let hit = match contact.along {
                    None => both(&contact.at),
                    Some(d) => {
                        let middle = nalgebra::center(&near.low[i], &near.high[i]);
                        let half = (near.high[i] - near.low[i]).norm() / 2.0;
                        let foot = d.dot(&(middle - contact.at));
                        (-40..=40)
                            .map(|k| contact.at + d * (foot + f64::from(k) / 40.0 * half))
                            .filter_map(|q| both(&q))
                            .min_by(|x, y| x.0.total_cmp(&y.0))
                    }
                };
                if let Some((apart, at)) = hit {
                    // Surfaces that touch do no harm where the faces on them end before that place: they do when it lies
                    // farther from a patch than the facets may, and a mesh whose chord is a part of that distance tells.
                    let beside = contact.gap < TOUCH && apart > BESIDE * chord;
                    out.push(Doubt {
                        surfaces: vec![a, b],
                        near: at,
                        detail: format!("they are {:.1e} mm from touching", contact.gap),
                        chord: Some(if beside {
                            SURE * apart / CHORDS
                        } else {
                            contact.gap / (1.2 * CHORDS)
                        }),
                        touching: (contact.gap < TOUCH && !beside).then_some(contact.gap),
                    });
                }
            }
        }
    }
    out
}

/// Corners of every patch.
fn corners(t: &Topology) -> Vec<BTreeSet<u32>> {
    let mut out = vec![BTreeSet::new(); t.patches.len()];
    for (&v, chains) in &t.chains_at {
        for &c in chains {
            out[t.chains[c].left].insert(v);
            out[t.chains[c].right].insert(v);
        }
    }
    out
}

/// Exact edge curves against third faces: an edge must not cross one without a corner, nor touch it.
///
/// Both the curve and the surface are exact, so an edge that stays [`CLEAR`] of a face is decided, however coarse the
/// mesh that found it.
pub fn edges(m: &Tagged, reg: &Registry, t: &Topology, curves: &[Option<Curve>]) -> Vec<Doubt> {
    const SAMPLES: u32 = 48;
    let near = Near::new(m, t);
    let mut out = Vec::new();
    for (c, curve) in t.chains.iter().zip(curves) {
        let Some(curve) = curve else { continue };
        let (left, right) = (t.patches[c.left].surface, t.patches[c.right].surface);
        let end = curve.end_parameter();
        let at = |k: usize| end * k as f64 / f64::from(SAMPLES);
        let points: Vec<Point3<f64>> = (0..=SAMPLES as usize).map(|k| curve.point(at(k))).collect();
        let (low, high) = points.iter().fold((points[0], points[0]), |(l, h), p| (l.inf(p), h.sup(p)));
        let own = reg.chord(left).max(reg.chord(right));
        for (j, patch) in t.patches.iter().enumerate() {
            if patch.surface == left || patch.surface == right {
                continue;
            }
            let close = CHORDS * own.max(reg.chord(patch.surface)) + CLEAR;
            if !near.box_near(j, &low, &high, 2.0 * close) {
                continue;
            }
            let third = &reg.surfaces[patch.surface];
            let f: Vec<f64> = points.iter().map(|p| third.signed_distance(p).0).collect();
            let mut doubt = |at: Point3<f64>, detail: String, chord| {
                out.push(Doubt {
                    surfaces: vec![left, right, patch.surface],
                    near: at,
                    detail,
                    chord,
                    touching: None,
                });
            };
            for k in 0..points.len() - 1 {
                // An end of the edge may lie on the third face: that is a corner, exact to rounding.
                if f[k] * f[k + 1] < 0.0 && f[k].abs() > 3.0 * TOUCH && f[k + 1].abs() > 3.0 * TOUCH {
                    let at = points[k] + (points[k + 1] - points[k]) * (f[k] / (f[k] - f[k + 1]));
                    if near.near(j, &at, close) {
                        doubt(at, "an edge crosses a face without a corner".into(), None);
                    }
                }
            }
            for k in 1..points.len() - 1 {
                let (x, y, z) = (f[k - 1], f[k], f[k + 1]);
                // Same side at all three samples, nearest in the middle, near enough to matter.
                let dips = y * x > 0.0 && y * z > 0.0 && y.abs() <= x.abs() && y.abs() < z.abs();
                let side = y.signum();
                if !dips || parabola(x * side, y * side, z * side) > 2.0 * close {
                    continue;
                }
                let (lowest, at) = lowest(curve, third, side, at(k - 1), at(k + 1));
                if lowest < CLEAR
                    && let Some(beside) = near.distance(j, &at, close)
                {
                    // Decided where the chord tells the depth, or that the place lies beside the face.
                    let chord = lowest.abs().max(SURE * beside) / CHORDS;
                    doubt(at, format!("an edge passes a face at {lowest:.1e} mm"), Some(chord));
                }
            }
        }
    }
    out
}

/// Least value of the parabola through three equidistant values of which the middle one is the least.
fn parabola(x: f64, y: f64, z: f64) -> f64 {
    y - (z - x).powi(2) / (8.0 * (x + z - 2.0 * y)).max(1e-15)
}

/// Least distance on `side` of a surface along a stretch of a curve, and where, by golden section.
fn lowest(curve: &Curve, third: &Surface, side: f64, from: f64, to: f64) -> (f64, Point3<f64>) {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let value = |t: f64| {
        let p = curve.point(t);
        (third.signed_distance(&p).0 * side, p)
    };
    let (mut a, mut b) = (from, to);
    let (mut c, mut d) = (b - (b - a) * GOLDEN, a + (b - a) * GOLDEN);
    let (mut fc, mut fd) = (value(c), value(d));
    // 0.618^30 of the stretch: a flat minimum is then good to 1e-12 mm.
    for _ in 0..30 {
        if fc.0 < fd.0 {
            (b, d, fd) = (d, c, fc);
            c = b - (b - a) * GOLDEN;
            fc = value(c);
        } else {
            (a, c, fc) = (c, d, fd);
            d = a + (b - a) * GOLDEN;
            fd = value(d);
        }
    }
    if fc.0 < fd.0 { fc } else { fd }
}

/// A place where two surfaces are nearest to touching.
struct Contact {
    gap: f64,
    at: Point3<f64>,
    /// Direction of the contact line; `None` for a point.
    along: Option<Vector3<f64>>,
    /// How far the place may be off, mm.
    blur: f64,
}

/// Contacts of plane and cylinder, and of two cylinders, in closed form; `None` for pairs that have to be searched.
fn contacts(a: &Surface, b: &Surface) -> Option<Vec<Contact>> {
    let straight = |s: &Surface| match s {
        Surface::Plane(_) => true,
        Surface::Cone(c) => c.is_cylinder(),
        Surface::Torus(_) => false,
    };
    if a.coaxial(b) {
        // One angle between the normals all round.
        return Some(Vec::new());
    }
    if !straight(a) || !straight(b) {
        return None;
    }
    Some(match (a, b) {
        (Surface::Plane(p), Surface::Cone(c)) | (Surface::Cone(c), Surface::Plane(p))
            if c.is_cylinder() && p.normal.dot(&c.axis).abs() < 1e-6 =>
        {
            let h = p.normal.dot(&c.origin.coords) - p.offset;
            vec![Contact {
                gap: (h.abs() - c.radius).abs(),
                at: c.origin - p.normal * (h.signum() * c.radius),
                along: Some(c.axis),
                blur: 0.0,
            }]
        }
        (Surface::Cone(c), Surface::Cone(d)) if c.is_cylinder() && d.is_cylinder() => {
            let cross = c.axis.cross(&d.axis);
            let w = d.origin - c.origin;
            if cross.norm() < 1e-6 {
                let apart = w.norm();
                if apart < 1e-6 {
                    return Some(Vec::new());
                }
                let u = w / apart;
                let inner = if c.radius > d.radius { 1.0 } else { -1.0 };
                let line = |gap: f64, at| Contact { gap: gap.abs(), at, along: Some(c.axis), blur: 0.0 };
                return Some(vec![
                    line(apart - c.radius - d.radius, c.origin + u * c.radius),
                    line(apart - (c.radius - d.radius).abs(), c.origin + u * (c.radius * inner)),
                ]);
            }
            let n2 = cross.norm_squared();
            let foot = c.origin + c.axis * (w.cross(&d.axis).dot(&cross) / n2);
            let other = d.origin + d.axis * (w.cross(&c.axis).dot(&cross) / n2);
            let u = cross.normalize();
            let apart = (other - foot).dot(&u);
            let (u, apart) = if apart < 0.0 { (-u, -apart) } else { (u, apart) };
            let point = |gap: f64, at| Contact { gap: gap.abs(), at, along: None, blur: 0.0 };
            let mut out = vec![point(apart - c.radius - d.radius, foot + u * c.radius)];
            for (side, at) in [(1.0, apart), (-1.0, -apart)] {
                out.push(point(at + d.radius - c.radius, foot + u * (side * c.radius)));
                out.push(point(at - d.radius + c.radius, foot - u * (side * c.radius)));
            }
            out
        }
        _ => Vec::new(),
    })
}

fn distance_to_triangle(p: &Point3<f64>, t: &[Point3<f64>; 3]) -> f64 {
    let n = (t[1] - t[0]).cross(&(t[2] - t[0]));
    let over = (0..3).all(|i| n.dot(&(t[(i + 1) % 3] - t[i]).cross(&(p - t[i]))) >= 0.0);
    if n.norm() > 1e-12 && over {
        return ((p - t[0]).dot(&n) / n.norm()).abs();
    }
    let segment = |a: &Point3<f64>, b: &Point3<f64>| {
        let d = b - a;
        let s = (d.dot(&(p - a)) / d.norm_squared().max(1e-300)).clamp(0.0, 1.0);
        (a + d * s - p).norm()
    };
    segment(&t[0], &t[1]).min(segment(&t[1], &t[2])).min(segment(&t[2], &t[0]))
}
