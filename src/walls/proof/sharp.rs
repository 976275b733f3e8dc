//! Where thickness goes to zero by definition: acute edges and vertices, and the zone about them that is not wall.
//!
//! About a corner that two primitives share, everything is scale invariant: chords of every length oppose each other
//! there, or none does. So a pair that shares a corner is settled by directions alone.

use super::corner::{Corners, TURN};
use super::hull::angle_to_cone;
use super::prim::{Bit, Boundary, By};
use crate::mesh::bvh::{Aabb, Bvh, Content};
use crate::walls::cell::{ANGLE_PAD, angle};
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Metal this near to a sharp edge or corner does not count as wall, mm: edges are broken by 0.05 to 0.10 at the bench
/// (common practice, no published source), and what is left counts again.
pub const LAND: f64 = 0.1;

/// Facets about one corner at most; of more, not every pair is looked at, and the corner counts as sharp.
const CROWD: usize = 1000;

/// Half of a fan that is not halved further, radians: a tenth of the usual lean.
const NARROW: f64 = 0.026;

/// An acute edge piece, or a vertex with both ends in one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Sharp {
    pub(super) at: [Point3<f64>; 2],
    /// Which chain of sharp pieces it belongs to.
    pub(super) chain: usize,
}

/// All sharp places.
#[derive(Default)]
pub(super) struct Zone {
    pub(super) all: Vec<Sharp>,
    tree: Bvh,
}

/// Whether two bits with the common corner `shared` can oppose each other; undecided counts as yes.
///
/// A chord from the first to the second bit points along the cone of the sides that leave the corner, those of the
/// second bit forwards and of the first backwards. It must also lie within delta of the second bit's normals and of
/// minus the first's: each a cone about an axis. If the cone of the sides misses one of the two, or the smallest cone
/// about what both have in common, there is no chord at all between the bits. `turn` is what normals and directions from
/// the corner may turn by within the piece of boundary that the bits stand for, radians. Fans of normals are halved until
/// no part of one opposes a part of the other, or both are as narrow as [`NARROW`].
pub(super) fn may_oppose(s: &Boundary<'_>, a: &Bit, b: &Bit, shared: u32, delta: f64, turn: f64) -> bool {
    if !may_oppose_whole(s, a, b, shared, delta, turn) {
        return false;
    }
    let (fa, fb) = (s.fan_half(a), s.fan_half(b));
    if fa.max(fb) < NARROW {
        return true;
    }
    if fa >= fb {
        s.halves(a, By::Fan).iter().any(|a| may_oppose(s, a, b, shared, delta, turn))
    } else {
        s.halves(b, By::Fan).iter().any(|b| may_oppose(s, a, b, shared, delta, turn))
    }
}

/// As [`may_oppose`], with fans as they are.
fn may_oppose_whole(s: &Boundary<'_>, a: &Bit, b: &Bit, shared: u32, delta: f64, turn: f64) -> bool {
    let apart = PI - angle(&a.axis, &b.axis);
    let (ta, tb) = (delta + turn + a.spread, delta + turn + b.spread);
    if apart > ta + tb {
        return false;
    }
    let sides = |x: &Bit, sign: f64, out: &mut Vec<Vector3<f64>>| {
        let p = &s.prims[x.prim];
        let Some(k) = (0..p.corners).find(|&k| p.ids[k] == shared) else { return };
        for i in (0..p.corners).filter(|&i| i != k) {
            out.extend(((x.at[i] - x.at[k]) * sign).try_normalize(0.0));
        }
    };
    let mut rays = Vec::with_capacity(4);
    sides(a, -1.0, &mut rays);
    let first = rays.len();
    sides(b, 1.0, &mut rays);
    // Curved pieces leave the corner within their spread of the flat sides; where sides of both nearly agree, a small
    // turn of one changes the direction between them by more.
    let mut more = ANGLE_PAD;
    let bend =
        |x: &Bit| if s.prims[x.prim].slack > 0.0 { x.spread - s.fan_half(x).min(x.spread) } else { 0.0 };
    let bend = bend(a) + bend(b) + turn;
    if bend > 0.0 {
        let mut thin: f64 = 2.0;
        for r in &rays[..first] {
            for q in &rays[first..] {
                let sum = (r + q).norm();
                if sum > 1e-9 {
                    thin = thin.min(sum);
                }
            }
        }
        more += bend * 2.0 / thin;
    }
    if rays.is_empty() {
        return true;
    }
    if angle_to_cone(&b.axis, &rays) > tb + more || angle_to_cone(&-a.axis, &rays) > ta + more {
        return false;
    }
    // What two caps of equal size have in common lies within acos(cos t / cos(half apart)) of the middle.
    let t = ta.max(tb);
    let lens = libm::cos(t) / libm::cos(apart / 2.0).max(f64::MIN_POSITIVE);
    match (b.axis - a.axis).try_normalize(1e-9) {
        Some(middle) if lens < 1.0 => angle_to_cone(&middle, &rays) <= libm::acos(lens.max(-1.0)) + more,
        Some(_) => lens <= 1.0 + 1e-12,
        None => true,
    }
}

impl Zone {
    /// Looks at all pairs of primitives that share a corner.
    pub(super) fn of(s: &Boundary<'_>, bits: &[Bit], vertices: usize, delta: f64) -> (Self, Corners) {
        let mut start = vec![0_usize; vertices + 1];
        for p in &s.prims {
            p.ids[..p.corners].iter().for_each(|&v| start[v as usize + 1] += 1);
        }
        for v in 0..vertices {
            start[v + 1] += start[v];
        }
        let mut at = start.clone();
        let mut about = vec![0_usize; start.last().copied().unwrap_or(0)];
        for (i, p) in s.prims.iter().enumerate() {
            for &v in &p.ids[..p.corners] {
                about[at[v as usize]] = i;
                at[v as usize] += 1;
            }
        }
        let corners = s.solid.map_or(0, |s| s.vertices.len());
        let mut clear = Vec::new();
        let mut found: BTreeMap<[u32; 2], [Point3<f64>; 2]> = BTreeMap::new();
        for v in 0..vertices {
            let here = &about[start[v]..start[v + 1]];
            let Some(mean) = here.iter().map(|&i| bits[i].axis).sum::<Vector3<f64>>().try_normalize(1e-9)
            else {
                continue;
            };
            // Within a cone this wide nothing opposes anything.
            let wide = here.iter().map(|&i| angle(&bits[i].axis, &mean) + bits[i].spread).fold(0.0, f64::max);
            let corner = v < corners;
            let more = if corner { TURN } else { 0.0 };
            if 2.0 * wide < PI - 2.0 * (delta + more) {
                continue;
            }
            if here.len() > CROWD {
                let v32 = u32::try_from(v).unwrap_or(u32::MAX);
                let p = &s.prims[here[0]];
                let k = (0..p.corners).find(|&k| p.ids[k] == v32).unwrap_or(0);
                found.insert([v32; 2], [p.at[k]; 2]);
                continue;
            }
            let mut free = corner;
            #[allow(clippy::cast_possible_truncation)]
            let shared = v as u32;
            for (k, &i) in here.iter().enumerate() {
                for &j in &here[k + 1..] {
                    let (p, q) = (&s.prims[i], &s.prims[j]);
                    if !may_oppose(s, &bits[i], &bits[j], shared, delta, more) {
                        continue;
                    }
                    free = false;
                    if corner && !may_oppose(s, &bits[i], &bits[j], shared, delta, 0.0) {
                        continue;
                    }
                    // Over a common edge all of it is sharp, else the corner alone.
                    let other = p.ids.iter().copied().filter(|x| *x != shared && q.ids.contains(x)).min();
                    let ids = [shared.min(other.unwrap_or(shared)), shared.max(other.unwrap_or(shared))];
                    let place = |id: u32| (0..3).find(|&c| p.ids[c] == id).map_or(p.at[0], |c| p.at[c]);
                    found.insert(ids, ids.map(place));
                }
            }
            if free {
                clear.push(v);
            }
        }
        (Self::from_pieces(&found), Corners::new(s, &clear))
    }

    fn from_pieces(found: &BTreeMap<[u32; 2], [Point3<f64>; 2]>) -> Self {
        let mut names: Vec<u32> = found.keys().flatten().copied().collect();
        names.sort_unstable();
        names.dedup();
        let index = |v: u32| names.binary_search(&v).unwrap_or(0);
        let links = found.keys().map(|k| (index(k[0]), index(k[1])));
        let (label, _) = crate::mesh::components(names.len(), links);
        let all: Vec<Sharp> =
            found.iter().map(|(k, at)| Sharp { at: *at, chain: label[index(k[0])] }).collect();
        let boxes = all.iter().map(|s| {
            let mut b = Aabb::around(&s.at);
            (0..3).for_each(|k| {
                b.min[k] -= LAND;
                b.max[k] += LAND;
            });
            b
        });
        let tree = Bvh::new(boxes.collect());
        Self { all, tree }
    }

    /// Chains within whose land all the points lie. The distance from a piece is convex: its corners speak for a bit.
    pub(super) fn covering(&self, points: &[Point3<f64>], out: &mut Vec<usize>) {
        out.clear();
        let Some(first) = points.first() else { return };
        let mut stack = if self.all.is_empty() { Vec::new() } else { vec![0_u32] };
        while let Some(n) = stack.pop() {
            let node = &self.tree.nodes[n as usize];
            if node.bounds.distance2_to(first) > 0.0 {
                continue;
            }
            match node.content {
                Content::Inner(l, r) => stack.extend([l, r]),
                Content::Leaf(f, t) => {
                    for &i in &self.tree.items[f as usize..t as usize] {
                        let s = &self.all[i as usize];
                        if points.iter().all(|p| to_segment(p, &s.at) < LAND) {
                            out.push(s.chain);
                        }
                    }
                }
            }
        }
        out.sort_unstable();
    }

    /// Whether both sets of points lie on the land of one chain of sharp places.
    pub(super) fn covers(&self, a: &[Point3<f64>], b: &[Point3<f64>]) -> bool {
        if self.all.is_empty() {
            return false;
        }
        let (mut x, mut y) = (Vec::new(), Vec::new());
        self.covering(a, &mut x);
        if x.is_empty() {
            return false;
        }
        self.covering(b, &mut y);
        x.iter().any(|c| y.binary_search(c).is_ok())
    }

    /// Distance of a point from the nearest sharp place, mm; infinite without one.
    pub(super) fn distance(&self, p: &Point3<f64>) -> f64 {
        let near = self.tree.nearest(p, f64::INFINITY, |i| to_segment(p, &self.all[i as usize].at).powi(2));
        near.map_or(f64::INFINITY, |n| n.1.sqrt())
    }
}

pub(super) fn to_segment(p: &Point3<f64>, s: &[Point3<f64>; 2]) -> f64 {
    let d = s[1] - s[0];
    let l = d.norm_squared();
    let t = if l > 0.0 { ((p - s[0]).dot(&d) / l).clamp(0.0, 1.0) } else { 0.0 };
    (s[0] + d * t - p).norm()
}
