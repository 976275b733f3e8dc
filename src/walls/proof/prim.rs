//! What the boundary is made of: facets, reflex edges and all-reflex vertices, each with every normal it stands for.

use super::build::{FITTED, sagitta};
use crate::solid::{Cone, Solid, Surface};
use crate::walls::cell::{ANGLE_PAD, angle};
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// Where the normals of a primitive come from.
#[derive(Clone, Copy, Debug)]
pub(super) enum Normals {
    /// One normal.
    Flat(Vector3<f64>),
    /// Those of a curved face of the solid.
    Round(usize),
    /// The fan between two normals at a reflex edge.
    Fan([Vector3<f64>; 2]),
    /// The fan between two faces of the solid along a reflex edge.
    RoundFan([usize; 2]),
    /// A cone: at a vertex where only reflex edges meet.
    Cap(Vector3<f64>, f64),
}

/// Part of a bent edge of the solid: which, and the parameters of its curve at both ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rim {
    pub(super) edge: usize,
    pub(super) t: [f64; 2],
}

/// A triangle, or an edge or vertex as a degenerate one.
#[derive(Clone, Debug)]
pub(super) struct Prim {
    pub(super) at: [Point3<f64>; 3],
    pub(super) ids: [u32; 3],
    /// What edge the side from each corner to the next stands for, if that is bent.
    pub(super) rims: [Option<Rim>; 3],
    /// How many corners differ: 3, 2 or 1.
    pub(super) corners: usize,
    pub(super) normals: Normals,
    /// The exact boundary it stands for lies within this, mm; 0 where the mesh itself is the boundary.
    pub(super) slack: f64,
    /// Face of the solid, or patch of the mesh.
    pub(super) face: u32,
}

/// What a part is halved by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum By {
    /// The angle of its fan.
    Fan,
    /// The side over which its normals turn most: of a narrow strip the length settles nothing.
    Turn,
    /// Its longest side.
    Length,
}

/// A part of a primitive.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bit {
    pub(super) prim: usize,
    pub(super) at: [Point3<f64>; 3],
    /// As those of the primitive.
    pub(super) rims: [Option<Rim>; 3],
    /// The exact boundary it stands for lies within this, mm.
    pub(super) slack: f64,
    /// Part of the fan, 0 to 1.
    pub(super) fan: [f64; 2],
    /// Every normal lies within `spread` of `axis`.
    pub(super) axis: Vector3<f64>,
    pub(super) spread: f64,
    /// Every normal lies within `pad` of the shorter arc between these two.
    pub(super) arc: [Vector3<f64>; 2],
    pub(super) pad: f64,
    pub(super) centre: Point3<f64>,
    pub(super) radius: f64,
}

/// The boundary as primitives.
pub(super) struct Boundary<'a> {
    pub(super) prims: Vec<Prim>,
    /// The exact solid behind the mesh, if there is one.
    pub(super) solid: Option<&'a Solid>,
    /// -1 to look at the air between walls instead of the metal: every normal turned round.
    pub(super) sign: f64,
    /// Points along the edges of the solid, each with its distance from the one before and how far the edge may bulge over
    /// that, mm.
    pub(super) chains: Vec<Vec<(Point3<f64>, f64, f64)>>,
}

impl Boundary<'_> {
    pub(super) fn bit(&self, prim: usize) -> Bit {
        let p = &self.prims[prim];
        self.part(prim, p.at, p.rims, [0.0, 1.0], p.slack)
    }

    fn part(
        &self,
        prim: usize,
        at: [Point3<f64>; 3],
        rims: [Option<Rim>; 3],
        fan: [f64; 2],
        slack: f64,
    ) -> Bit {
        let p = &self.prims[prim];
        let (arc, pad) = self.arc(p, &at, fan, slack);
        let arc = arc.map(|n| n * self.sign);
        let (axis, spread) = (arc[0] + arc[1])
            .try_normalize(1e-9)
            .map_or((arc[0], PI), |x| (x, angle(&x, &arc[0]).max(angle(&x, &arc[1])) + pad));
        let n = p.corners;
        let sum: Vector3<f64> = at[..n].iter().map(|x| x.coords).sum();
        #[allow(clippy::cast_precision_loss)]
        let centre = Point3::from(sum / n as f64);
        let radius = at[..n].iter().map(|x| (x - centre).norm_squared()).fold(0.0, f64::max).sqrt();
        Bit { prim, at, rims, slack, fan, axis, spread, arc, pad, centre, radius }
    }

    /// An arc that all normals over some points of a primitive lie near, and how near.
    fn arc(&self, p: &Prim, at: &[Point3<f64>; 3], fan: [f64; 2], slack: f64) -> ([Vector3<f64>; 2], f64) {
        match p.normals {
            Normals::Flat(n) => ([n, n], 0.0),
            Normals::Cap(n, half) => ([n, n], half),
            Normals::Round(f) => self.face_arc(f, p.corners, at, slack),
            Normals::Fan([n, m]) => (fan.map(|t| between(&n, &m, t)), ANGLE_PAD),
            Normals::RoundFan([f, g]) => {
                let [(n, s), (m, r)] = [f, g].map(|f| self.face_cone(f, p.corners, at, slack));
                // What the ends are off by, an arc between them may be off by more: 1 / cos of half of it.
                let wide = libm::cos(angle(&n, &m) / 2.0).max(0.01);
                (fan.map(|t| between(&n, &m, t)), s.max(r) / wide + ANGLE_PAD)
            }
        }
    }

    fn face_cone(&self, face: usize, n: usize, at: &[Point3<f64>; 3], slack: f64) -> (Vector3<f64>, f64) {
        let ([n, m], pad) = self.face_arc(face, n, at, slack);
        (n + m).try_normalize(1e-9).map_or((n, PI), |x| (x, angle(&x, &n).max(angle(&x, &m)) + pad))
    }

    /// Normals of a face over a piece of its mesh. A piece seen from the axis fills the angles between its corners, and
    /// what lies within its slack a little more. Normals of a cone turn on a small circle, which bulges over the arc
    /// between its ends by less than the rise of that circle over its chord.
    fn face_arc(&self, face: usize, n: usize, at: &[Point3<f64>; 3], slack: f64) -> ([Vector3<f64>; 2], f64) {
        let Some(f) = self.solid.and_then(|s| s.faces.get(face)) else { return ([Vector3::z(); 2], PI) };
        #[allow(clippy::cast_precision_loss)]
        let centre = Point3::from(at[..n].iter().map(|x| x.coords).sum::<Vector3<f64>>() / n as f64);
        if let Some(t) = f.torus() {
            // Its surface lies within the slack of the piece, so no farther than this from the point under the centre;
            // see `Torus::reach` for what the normal may turn over that.
            let wide = at[..n].iter().map(|x| (x - centre).norm()).fold(0.0, f64::max);
            let far = wide + slack + t.signed_distance(&centre).0.abs() + FITTED;
            let pad = 2.0 * libm::asin((far / (2.0 * t.reach())).min(1.0));
            return ([f.normal(&centre); 2], if pad < PI / 2.0 { pad + ANGLE_PAD } else { PI });
        }
        let Surface::Cone(c) = &f.surface else { return ([f.normal(&at[0]); 2], ANGLE_PAD) };
        let radial = |p: &Point3<f64>| {
            let w = p - c.origin;
            w - c.axis * w.dot(&c.axis)
        };
        let m = radial(&centre);
        let side = c.axis.cross(&m);
        let (mut from, mut to, mut near) = (0.0f64, 0.0f64, f64::INFINITY);
        for x in &at[..n] {
            let r = radial(x);
            let turn = libm::atan2(r.dot(&side) / m.norm(), r.dot(&m) / m.norm());
            (from, to) = (from.min(turn), to.max(turn));
            near = near.min(r.norm());
        }
        // The piece itself comes nearer to the axis than its corners by less than a tenth: strips are narrow.
        let inner = 0.9 * near * libm::cos(to - from).max(0.0);
        if slack >= inner {
            return ([f.normal(&centre); 2], PI);
        }
        let more = libm::asin(slack / inner);
        let (from, to) = (from - more, to + more);
        let Some((m, side)) = m.try_normalize(0.0).zip(side.try_normalize(0.0)) else {
            return ([f.normal(&centre); 2], PI);
        };
        let sign = if f.outward { 1.0 } else { -1.0 };
        let normal = |t: f64| {
            (m * libm::cos(t) + side * libm::sin(t) - c.axis * c.slope) * (c.cos_half_angle() * sign)
        };
        let bulge = (1.0 - libm::cos((to - from) / 2.0)) * c.slope.abs();
        ([normal(from), normal(to)], bulge + ANGLE_PAD)
    }

    /// The two halves. A side is halved where the surface or edge is that it stands for, so that what the halves are off by
    /// is a quarter of it.
    pub(super) fn halves(&self, b: &Bit, by: By) -> [Bit; 2] {
        if by == By::Fan {
            let m = f64::midpoint(b.fan[0], b.fan[1]);
            return [[b.fan[0], m], [m, b.fan[1]]].map(|f| self.part(b.prim, b.at, b.rims, f, b.slack));
        }
        let t = &b.at;
        let p = &self.prims[b.prim];
        let face = match (p.normals, self.solid) {
            (Normals::Round(f), Some(s)) => s.faces.get(f),
            _ => None,
        };
        let turning = face.filter(|_| by == By::Turn);
        let side = |i: usize| {
            let (p, q) = (&t[i], &t[(i + 1) % 3]);
            turning.map_or_else(|| (p - q).norm_squared(), |f| (f.normal(p) - f.normal(q)).norm_squared())
        };
        // An edge has corners 0 and 1, the third repeats the second.
        let i = if p.corners < 3 { 0 } else { (0..3).fold(0, |m, k| if side(k) > side(m) { k } else { m }) };
        let j = (i + 1) % 3;
        let (m, rims) = match b.rims[i] {
            Some(r) => {
                let middle = f64::midpoint(r.t[0], r.t[1]);
                let part = |t| Some(Rim { edge: r.edge, t });
                let at = self.solid.and_then(|s| s.edges.get(r.edge)).map(|e| e.curve.point(middle));
                let m = at.unwrap_or_else(|| nalgebra::center(&t[i], &t[j]));
                (m, [part([r.t[0], middle]), part([middle, r.t[1]])])
            }
            None => (middle_on(face.and_then(|f| f.cone()), &t[i], &t[j]), [None; 2]),
        };
        if p.corners < 3 {
            return [([t[0], m, m], rims[0]), ([m, t[1], t[1]], rims[1])].map(|(at, r)| {
                let rims = [r, None, None];
                self.part(b.prim, at, rims, b.fan, self.slack(p, &at, &rims))
            });
        }
        let (mut x, mut y) = ((*t, b.rims), (*t, b.rims));
        x.0[i] = m;
        x.1[i] = rims[1];
        x.1[(i + 2) % 3] = None;
        y.0[j] = m;
        y.1[i] = rims[0];
        y.1[j] = None;
        [x, y].map(|(at, rims)| self.part(b.prim, at, rims, b.fan, self.slack(p, &at, &rims)))
    }

    /// How far the boundary may lie from a part of a primitive whose corners lie on it; see [`super::build::of_solid`].
    fn slack(&self, p: &Prim, at: &[Point3<f64>; 3], rims: &[Option<Rim>; 3]) -> f64 {
        let Some(s) = self.solid.filter(|_| p.slack > 0.0) else { return p.slack };
        let surface = match p.normals {
            Normals::Round(f) => s.faces.get(f).map(|f| &f.surface),
            _ => None,
        };
        if matches!(surface, Some(Surface::Torus(_))) {
            return p.slack;
        }
        let bulge = |r: &Rim| s.edges.get(r.edge).map_or(p.slack, |e| e.curve.chord_bound(r.t[0], r.t[1]));
        rims.iter().flatten().map(bulge).fold(0.0, f64::max)
            + surface.map_or(0.0, |s| sagitta(s, at))
            + FITTED
    }

    pub(super) fn corners<'b>(&self, b: &'b Bit) -> &'b [Point3<f64>] {
        &b.at[..self.prims[b.prim].corners]
    }

    /// Half the angle that the normals at the corners of a curved piece turn by along a face, or along
    /// the faces of an edge; 0 where they do not. What its slack adds halving does not take away.
    pub(super) fn turn_half(&self, b: &Bit) -> f64 {
        let faces = match self.prims[b.prim].normals {
            Normals::Round(f) => [f, f],
            Normals::RoundFan(pair) => pair,
            _ => return 0.0,
        };
        let of = |f: usize| {
            let Some(f) = self.solid.and_then(|s| s.faces.get(f)) else { return 0.0 };
            if f.plane().is_some() {
                return 0.0;
            }
            let n = b.at.map(|p| f.normal(&p));
            let apart = |i: usize, k: usize| (n[i] - n[k]).norm_squared();
            apart(0, 1).max(apart(1, 2)).max(apart(2, 0)).sqrt() / 2.0
        };
        let first = of(faces[0]);
        if faces[1] == faces[0] { first } else { first.max(of(faces[1])) }
    }

    /// Half the angle of the part of a fan; 0 without one.
    pub(super) fn fan_half(&self, b: &Bit) -> f64 {
        match self.prims[b.prim].normals {
            Normals::Fan(_) | Normals::RoundFan(_) => angle(&b.arc[0], &b.arc[1]) / 2.0,
            _ => 0.0,
        }
    }

    /// The point of the exact boundary that a point of a primitive stands for.
    pub(super) fn exact(&self, prim: usize, p: &Point3<f64>) -> Point3<f64> {
        match (self.prims[prim].normals, self.solid) {
            (Normals::Round(f), Some(s)) => {
                let (d, n) = s.faces[f].surface.signed_distance(p);
                p - n * d
            }
            (Normals::RoundFan(pair), Some(s)) => on_both(pair.map(|f| &s.faces[f].surface), p),
            _ => *p,
        }
    }

    /// The normal at a point of a primitive that is nearest to a direction out of the metal.
    pub(super) fn normal_near(&self, prim: usize, p: &Point3<f64>, out: &Vector3<f64>) -> Vector3<f64> {
        let of = |f: usize| self.solid.and_then(|s| s.faces.get(f)).map_or_else(Vector3::z, |f| f.normal(p));
        let out = out * self.sign;
        let n = match self.prims[prim].normals {
            Normals::Flat(n) | Normals::Cap(n, _) => n,
            Normals::Round(f) => of(f),
            Normals::Fan(arc) => nearest_of_arc(&out, &arc),
            Normals::RoundFan([f, g]) => nearest_of_arc(&out, &[of(f), of(g)]),
        };
        n * self.sign
    }

    /// Whether a direction out of the metal at a point of a primitive lies within `delta` of one of its normals there.
    pub(super) fn meets(&self, prim: usize, p: &Point3<f64>, out: &Vector3<f64>, delta: f64) -> bool {
        let out = out * self.sign;
        let of = |f: usize| self.solid.and_then(|s| s.faces.get(f)).map(|f| f.normal(p));
        match self.prims[prim].normals {
            Normals::Flat(n) => angle(&out, &n) <= delta,
            Normals::Cap(n, half) => angle(&out, &n) <= half + delta,
            Normals::Round(f) => of(f).is_some_and(|n| angle(&out, &n) <= delta),
            Normals::Fan([n, m]) => angle(&out, &nearest_of_arc(&out, &[n, m])) <= delta,
            Normals::RoundFan([f, g]) => {
                of(f).zip(of(g)).is_some_and(|(n, m)| angle(&out, &nearest_of_arc(&out, &[n, m])) <= delta)
            }
        }
    }
}

/// The middle between two points of a cone in angle and height; of anything else, of the line between them.
fn middle_on(cone: Option<&Cone>, p: &Point3<f64>, q: &Point3<f64>) -> Point3<f64> {
    let Some(c) = cone else { return nalgebra::center(p, q) };
    let ((a, h), (b, k)) = (c.angle_height(p), c.angle_height(q));
    let turn = (b - a + PI).rem_euclid(2.0 * PI) - PI;
    c.at(a + turn / 2.0, f64::midpoint(h, k))
}

/// The point of two surfaces near a point: Newton in the plane of both normals. Three steps from a micrometre away reach
/// rounding; where the surfaces nearly touch the first alone is followed.
fn on_both([a, b]: [&Surface; 2], p: &Point3<f64>) -> Point3<f64> {
    let mut p = *p;
    for _ in 0..3 {
        let ((d, n), (e, m)) = (a.signed_distance(&p), b.signed_distance(&p));
        let c = n.dot(&m);
        let det = 1.0 - c * c;
        if det < 1e-4 {
            return p - n * d;
        }
        p -= n * ((d - c * e) / det) + m * ((e - c * d) / det);
    }
    p
}

/// A normal of the arc between two, at a part of it.
fn between(n: &Vector3<f64>, m: &Vector3<f64>, t: f64) -> Vector3<f64> {
    let turn = angle(n, m);
    // Where both are the same to rounding either will do.
    if turn < 1e-9 {
        return *n;
    }
    let (x, y) = (libm::sin((1.0 - t) * turn), libm::sin(t * turn));
    (n * x + m * y).try_normalize(1e-9).unwrap_or(*n)
}

/// The direction of the arc between two normals that is nearest to `d`.
pub(super) fn nearest_of_arc(d: &Vector3<f64>, [n, m]: &[Vector3<f64>; 2]) -> Vector3<f64> {
    let end = if angle(d, n) <= angle(d, m) { *n } else { *m };
    let Some(square) = n.cross(m).try_normalize(1e-9) else { return end };
    let flat = d - square * d.dot(&square);
    if square.dot(&n.cross(&flat)) >= 0.0 && square.dot(&flat.cross(m)) >= 0.0 {
        flat.try_normalize(1e-12).unwrap_or(end)
    } else {
        end
    }
}
