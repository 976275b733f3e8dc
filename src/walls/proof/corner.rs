//! Corners of an exact solid where nothing opposes anything: no search would ever end there, directions settle them.
//!
//! Within a ball about a corner the boundary is that of the tangent planes and tangents at the corner, turned by no more
//! than [`TURN`]: its radius is at most `TURN` times the least radius that the faces and edges of the corner bend on, and no
//! other edge comes into it. That no two pieces oppose each other, give or take `TURN`, is then true of the whole ball.

use super::prim::{Boundary, Normals};
use super::search::Field;
use super::sharp::to_segment;
use crate::mesh::bvh::{Aabb, Bvh};
use crate::solid::{Curve, Solid, Surface};
use crate::walls::cell::angle;
use nalgebra::Point3;

/// Largest radius of a ball, mm.
const BALL: f64 = 0.004;
/// What directions may turn within a ball, radians.
pub(super) const TURN: f64 = 0.04;
/// Faces that meet at less than this are smooth, radians: the bend of their edge then says nothing about theirs.
const SMOOTH: f64 = 0.15;

struct Corner {
    at: Point3<f64>,
    radius: f64,
    /// Faces that meet here, in order.
    faces: Vec<u32>,
}

/// Corners about which small chords are excluded.
#[derive(Default)]
pub(super) struct Corners {
    all: Vec<Corner>,
    tree: Bvh,
}

impl Corners {
    /// Of vertices of the solid about which nothing opposes anything.
    pub(super) fn new(s: &Boundary<'_>, clear: &[usize]) -> Self {
        let all: Vec<Corner> =
            clear.iter().filter_map(|&v| s.solid.and_then(|solid| corner(solid, s, v))).collect();
        let tree = Bvh::new(all.iter().map(|c| Aabb::around(&[c.at])).collect());
        Self { all, tree }
    }

    /// Whether two pieces of primitives lie in the ball about one corner and belong to its faces.
    pub(super) fn hold(
        &self,
        f: &Field<'_>,
        prims: [usize; 2],
        [a, b]: [&[Point3<f64>]; 2],
        slack: f64,
    ) -> bool {
        let (Some(first), Some(second)) = (a.first(), b.first()) else { return false };
        if self.all.is_empty() || (second - first).norm() > 2.0 * BALL {
            return false;
        }
        let from = |i: u32| (self.all[i as usize].at - first).norm_squared();
        let Some((i, _)) = self.tree.nearest(first, BALL * BALL, from) else { return false };
        let c = &self.all[i as usize];
        let here = |f: usize| u32::try_from(f).is_ok_and(|f| c.faces.binary_search(&f).is_ok());
        let belongs = |i: usize| match f.boundary.prims[i].normals {
            Normals::RoundFan(pair) => pair.iter().all(|&f| here(f)),
            Normals::Cap(..) => (f.boundary.prims[i].at[0] - c.at).norm() == 0.0,
            _ => here(f.boundary.prims[i].face as usize),
        };
        a.iter().chain(b).all(|p| (p - c.at).norm() < c.radius - slack) && prims.iter().all(|&i| belongs(i))
    }
}

/// The ball about a vertex; `None` where no bound of what bends there is known.
fn corner(solid: &Solid, s: &Boundary<'_>, v: usize) -> Option<Corner> {
    let at = *solid.vertices.get(v)?;
    // Largest normal curvature of a face near the corner, 1/mm.
    let bend = |f: usize| match &solid.faces[f].surface {
        Surface::Plane(_) => 0.0,
        Surface::Cone(c) => {
            let w = at - c.origin;
            1.0 / ((w - c.axis * w.dot(&c.axis)).norm() - BALL).max(0.0)
        }
        Surface::Torus(t) if t.is_sphere() => 1.0 / t.minor,
        Surface::Torus(t) => 1.0 / t.minor.min(t.major - t.minor),
    };
    let mut faces = Vec::new();
    let mut most: f64 = 0.0;
    for e in solid.edges.iter().filter(|e| e.ends.contains(&v)) {
        let [f, g] = e.faces;
        faces.extend([f, g].map(|f| u32::try_from(f).unwrap_or(u32::MAX)));
        let apart = angle(&solid.faces[f].normal(&at), &solid.faces[g].normal(&at));
        let square = libm::sin(apart - 2.0 * TURN).min(libm::sin(apart + 2.0 * TURN));
        let own = match &e.curve {
            Curve::Line(..) => 0.0,
            Curve::Arc(a) => 1.0 / a.x.norm(),
            // Curvature k of the curve in which two surfaces meet at an angle: its parts along both normals are the
            // normal curvatures, so that k <= (k1 + k2) / sin of the angle.
            _ if square > SMOOTH => (bend(f) + bend(g)) / square,
            _ => return None,
        };
        most = most.max(own).max(bend(f)).max(bend(g));
    }
    faces.sort_unstable();
    faces.dedup();
    let mut radius = BALL.min(TURN / most.max(f64::MIN_POSITIVE));
    // Other edges keep out.
    for (_, chain) in solid.edges.iter().zip(&s.chains).filter(|(e, _)| !e.ends.contains(&v)) {
        for w in chain.windows(2) {
            if (w[0].0 - at).norm() < w[1].1 + radius {
                radius = radius.min(to_segment(&at, &[w[0].0, w[1].0]) - w[1].2);
            }
        }
    }
    (radius > 0.0).then_some(Corner { at, radius, faces })
}
