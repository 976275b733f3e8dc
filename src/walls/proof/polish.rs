//! From a good chord of an exact solid to a stationary one.

use super::prim::Boundary;
use super::search::Chord;
use crate::walls::region::{Region, Side};
use nalgebra::Point3;

/// Projections to and fro at most; each brings a chord between curved faces nearer by a constant part.
const ROUNDS: usize = 400;

/// Slides both ends of a chord between two faces to where it is square to both, if that is real and shorter: inside both
/// faces, and within `delta` of both normals. A chord that leans as far as it may, or ends at a border, stays as it is.
pub(super) fn polished(s: &Boundary<'_>, c: Chord, delta: f64) -> (Chord, [u32; 2]) {
    let here = c.prims.map(|i| s.prims[i].face);
    let Some(solid) = s.solid else { return (c, here) };
    let [a, b] = c.prims.map(|i| &s.prims[i]);
    if a.corners < 3 || b.corners < 3 {
        return (c, here);
    }
    let faces = [a, b].map(|p| solid.faces.get(p.face as usize));
    let [Some(f), Some(g)] = faces else { return (c, here) };
    let foot = |face: &crate::solid::Face, p: &Point3<f64>| {
        let (d, n) = face.surface.signed_distance(p);
        p - n * d
    };
    // Two places of one surface, as across a wire: projecting from one to the other would stay where it is.
    if f.surface.same(&g.surface) {
        return (c, here);
    }
    let [mut p, mut q] = c.at;
    let mut last = c.length;
    for _ in 0..ROUNDS {
        q = foot(g, &p);
        p = foot(f, &q);
        let now = (q - p).norm();
        // Below 1e-15 of a step nothing is left to gain.
        if last - now < 1e-15 {
            break;
        }
        last = now;
    }
    let d = q - p;
    // The foot may lie on another face of the same surface: a bore is cut in two. On a border it belongs to both.
    let owner = |face: &crate::solid::Face, p: &Point3<f64>| {
        let on = |g: &crate::solid::Face| {
            g.surface.same(&face.surface) && Region::new(solid, g).side(g, p, 0.0) != Side::Out
        };
        solid.faces.iter().position(on).and_then(|i| u32::try_from(i).ok())
    };
    let real = s.meets(c.prims[0], &p, &-d, delta) && s.meets(c.prims[1], &q, &d, delta);
    if real
        && d.norm() < c.length
        && let (Some(a), Some(b)) = (owner(f, &p), owner(g, &q))
    {
        return (Chord { length: d.norm(), at: [p, q], ..c }, [a, b]);
    }
    (c, here)
}
