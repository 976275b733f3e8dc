//! Solids built by hand for tests, with their closed forms beside them.

use crate::solid::curve::{Arc, ConicPiece};
use crate::solid::{Curve, Edge, EdgeUse, Face, Solid, Surface};
use nalgebra::{Isometry3, Point3, UnitQuaternion, Vector3};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// A rigid pose from three angles and a shift.
pub(crate) fn pose(angles: [f64; 3], shift: [f64; 3]) -> Isometry3<f64> {
    Isometry3::from_parts(
        Vector3::from(shift).into(),
        UnitQuaternion::from_euler_angles(angles[0], angles[1], angles[2]),
    )
}

/// A pose without a special direction.
pub(crate) fn askew() -> Isometry3<f64> {
    pose([0.3, -0.7, 1.1], [1.3, -2.1, 0.4])
}

/// Collects vertices, edges and faces in a local frame.
pub(crate) struct Builder {
    solid: Solid,
    pose: Isometry3<f64>,
}

impl Builder {
    pub(crate) fn new(pose: &Isometry3<f64>) -> Self {
        Self { solid: Solid { vertices: vec![], edges: vec![], faces: vec![], lumps: vec![] }, pose: *pose }
    }
    pub(crate) fn vertex(&mut self, p: [f64; 3]) -> usize {
        self.solid.vertices.push(self.pose * Point3::from(p));
        self.solid.vertices.len() - 1
    }
    pub(crate) fn edge(&mut self, a: usize, b: usize, curve: Curve) -> usize {
        self.solid.edges.push(Edge { ends: [a, b], curve, faces: [usize::MAX; 2] });
        self.solid.edges.len() - 1
    }
    pub(crate) fn line(&mut self, a: usize, b: usize) -> usize {
        let c = Curve::Line(self.solid.vertices[a], self.solid.vertices[b]);
        self.edge(a, b, c)
    }
    /// Arc about a local axis point, from vertex `a`, counter-clockwise about the local direction `axis`.
    pub(crate) fn arc(
        &mut self,
        a: usize,
        b: usize,
        centre: [f64; 3],
        axis: Vector3<f64>,
        sweep: f64,
    ) -> usize {
        let centre = self.pose * Point3::from(centre);
        let x = self.solid.vertices[a] - centre;
        let y = (self.pose * axis).cross(&x);
        self.edge(a, b, Curve::Arc(Arc { centre, x, y, sweep }))
    }
    /// A face; the edges learn of it. On a cone `away` is a local point on whose side the face is not.
    pub(crate) fn face(
        &mut self,
        name: &str,
        surface: Surface,
        outward: bool,
        away: [f64; 3],
        loops: &[&[(usize, bool)]],
    ) {
        let f = self.solid.faces.len();
        for &(e, forward) in loops.iter().copied().flatten() {
            let slot = &mut self.solid.edges[e].faces[usize::from(!forward)];
            assert_eq!(*slot, usize::MAX, "{name}: edge {e} used twice one way");
            *slot = f;
        }
        let seam = match &surface {
            Surface::Cone(c) => c.angle_height(&(self.pose * Point3::from(away))).0,
            Surface::Plane(_) | Surface::Torus(_) => 0.0,
        };
        let loops = loops
            .iter()
            .map(|l| l.iter().map(|&(edge, forward)| EdgeUse { edge, forward }).collect())
            .collect();
        self.solid.faces.push(Face { name: name.into(), surface, outward, seam, loops });
    }
    /// A plane face with its outward normal, local.
    pub(crate) fn flat(
        &mut self,
        name: &str,
        at: [f64; 3],
        normal: Vector3<f64>,
        loops: &[&[(usize, bool)]],
    ) {
        let n = self.pose * normal;
        let surface = Surface::plane(&(self.pose * Point3::from(at)), &n);
        let outward = surface.signed_distance(&Point3::origin()).1.dot(&n) > 0.0;
        self.face(name, surface, outward, [0.0; 3], loops);
    }
    pub(crate) fn cone(&self, at: [f64; 3], axis: Vector3<f64>, radius: f64, slope: f64) -> Surface {
        Surface::cone(&(self.pose * Point3::from(at)), &(self.pose * axis), radius, slope)
    }
    pub(crate) fn finish(self) -> Solid {
        assert!(self.solid.edges.iter().all(|e| e.faces.iter().all(|&f| f != usize::MAX)), "an open edge");
        self.solid
    }
}

/// A box from the local origin.
pub(crate) fn cuboid(size: [f64; 3], pose: &Isometry3<f64>) -> Solid {
    let mut b = Builder::new(pose);
    let [x, y, z] = size;
    let corner = |i: usize| [[0.0, 0.0], [x, 0.0], [x, y], [0.0, y]][i];
    let low: Vec<_> = (0..4).map(|i| b.vertex([corner(i)[0], corner(i)[1], 0.0])).collect();
    let high: Vec<_> = (0..4).map(|i| b.vertex([corner(i)[0], corner(i)[1], z])).collect();
    let lo: Vec<_> = (0..4).map(|i| b.line(low[i], low[(i + 1) % 4])).collect();
    let hi: Vec<_> = (0..4).map(|i| b.line(high[i], high[(i + 1) % 4])).collect();
    let up: Vec<_> = (0..4).map(|i| b.line(low[i], high[i])).collect();
    b.flat(
        "bottom",
        [0.0; 3],
        -Vector3::z(),
        &[&[(lo[3], false), (lo[2], false), (lo[1], false), (lo[0], false)]],
    );
    b.flat(
        "top",
        [0.0, 0.0, z],
        Vector3::z(),
        &[&[(hi[0], true), (hi[1], true), (hi[2], true), (hi[3], true)]],
    );
    let normals = [-Vector3::y(), Vector3::x(), Vector3::y(), -Vector3::x()];
    for i in 0..4 {
        let j = (i + 1) % 4;
        let c = corner(i);
        b.flat(
            &format!("side.{i}"),
            [c[0], c[1], 0.0],
            normals[i],
            &[&[(lo[i], true), (up[j], true), (hi[i], false), (up[i], false)]],
        );
    }
    b.finish()
}

/// A solid of revolution about the local z axis. The profile (radius, height) runs with the material on its left when z
/// points up and the radius to the right; all radii above zero. `closed` joins the last point to the first (a ring);
/// otherwise the ends are joined to the axis by plane discs.
pub(crate) fn revolved(profile: &[[f64; 2]], closed: bool, pose: &Isometry3<f64>) -> Solid {
    let mut b = Builder::new(pose);
    let z = Vector3::z();
    let n = profile.len();
    let v: Vec<[usize; 2]> =
        profile.iter().map(|&[r, h]| [b.vertex([r, 0.0, h]), b.vertex([-r, 0.0, h])]).collect();
    let a: Vec<[usize; 2]> = (0..n)
        .map(|i| {
            let c = [0.0, 0.0, profile[i][1]];
            [b.arc(v[i][0], v[i][1], c, z, PI), b.arc(v[i][1], v[i][0], c, z, PI)]
        })
        .collect();
    for i in 0..if closed { n } else { n - 1 } {
        let j = (i + 1) % n;
        let ([r0, h0], [r1, h1]) = (profile[i], profile[j]);
        let (dr, dh) = (r1 - r0, h1 - h0);
        let name = format!("wall.{i}");
        // Material on the left of (dr, dh): the outward normal is on the right, (dh, -dr).
        if dh == 0.0 {
            let up = dr < 0.0;
            let (big, small) = if r0 > r1 { (i, j) } else { (j, i) };
            let ring = |k: usize, ccw: bool| {
                if ccw { [(a[k][0], true), (a[k][1], true)] } else { [(a[k][1], false), (a[k][0], false)] }
            };
            let normal = if up { z } else { -z };
            b.flat(&name, [0.0, 0.0, h0], normal, &[&ring(big, up), &ring(small, !up)]);
        } else {
            let surface = b.cone([0.0, 0.0, h0], z, r0, dr / dh);
            let outward = dh > 0.0;
            let l = [b.line(v[i][0], v[j][0]), b.line(v[i][1], v[j][1])];
            for s in 0..2 {
                let away = [0.0, if s == 0 { -r0 } else { r0 }, h0];
                // Seen from outside the axis (dh > 0): along arc i, up the far ruling, back along arc j, down.
                let l0 = [(a[i][s], true), (l[1 - s], true), (a[j][s], false), (l[s], false)];
                b.face(&format!("{name}.{s}"), surface, outward, away, &[&l0]);
            }
        }
    }
    if !closed {
        let ring = |k: usize, ccw: bool| {
            if ccw { [(a[k][0], true), (a[k][1], true)] } else { [(a[k][1], false), (a[k][0], false)] }
        };
        let up = profile[n - 1][1] > profile[0][1];
        assert!(up, "profile of a solid runs upwards");
        b.flat("foot", [0.0, 0.0, profile[0][1]], -z, &[&ring(0, false)]);
        b.flat("head", [0.0, 0.0, profile[n - 1][1]], z, &[&ring(n - 1, true)]);
    }
    b.finish()
}

/// A frustum from radius `r0` at height 0 to `r1` at `h`. Volume pi h (r0^2 + r0 r1 + r1^2) / 3.
pub(crate) fn frustum(r0: f64, r1: f64, h: f64, pose: &Isometry3<f64>) -> Solid {
    revolved(&[[r0, 0.0], [r1, h]], false, pose)
}

/// A tube. Volume pi (R^2 - r^2) h.
pub(crate) fn tube(outer: f64, inner: f64, h: f64, pose: &Isometry3<f64>) -> Solid {
    revolved(&[[inner, 0.0], [outer, 0.0], [outer, h], [inner, h]], true, pose)
}

/// A plate `x` by `y` by `z` centred on the local origin in x and y, with a round through hole of radius `r`.
pub(crate) fn drilled(size: [f64; 3], r: f64, pose: &Isometry3<f64>) -> Solid {
    let shift = Isometry3::translation(-size[0] / 2.0, -size[1] / 2.0, 0.0);
    bored(cuboid(size, &(pose * shift)), [0, 1], 0.0, r, size[2], pose)
}

/// A cylinder of radius `big` with a bore of radius `r` whose axis lies `off` beside its own. Least wall `big - r - off`.
pub(crate) fn eccentric(big: f64, r: f64, off: f64, h: f64, pose: &Isometry3<f64>) -> Solid {
    // The cylinder's own rulings lie elsewhere than the thinnest wall.
    let turned = pose * Isometry3::rotation(Vector3::z() * 0.77);
    bored(frustum(big, big, h, &turned), [2, 3], off, r, h, pose)
}

/// Bores through two plane faces at local heights 0 and `z`, at local x = `x`.
fn bored(solid: Solid, plates: [usize; 2], x: f64, r: f64, z: f64, pose: &Isometry3<f64>) -> Solid {
    let mut b = Builder { solid, pose: *pose };
    let axis = Vector3::z();
    let at = |i: usize| if i == 0 { 0.0 } else { z };
    let v: Vec<[usize; 2]> =
        (0..2).map(|i| [b.vertex([x + r, 0.0, at(i)]), b.vertex([x - r, 0.0, at(i)])]).collect();
    let a: Vec<[usize; 2]> = (0..2)
        .map(|i| {
            let c = [x, 0.0, at(i)];
            [b.arc(v[i][0], v[i][1], c, axis, PI), b.arc(v[i][1], v[i][0], c, axis, PI)]
        })
        .collect();
    let l = [b.line(v[0][0], v[1][0]), b.line(v[0][1], v[1][1])];
    let surface = b.cone([x, 0.0, 0.0], axis, r, 0.0);
    for s in 0..2 {
        let away = [x, if s == 0 { -r } else { r }, 0.0];
        let ring = [(l[s], true), (a[1][s], true), (l[1 - s], false), (a[0][s], false)];
        b.face(&format!("hole.{s}"), surface, false, away, &[&ring]);
    }
    // The plates learn of their hole: seen from outside it runs clockwise.
    for (i, &f) in plates.iter().enumerate() {
        let uses =
            if i == 0 { [(a[i][0], true), (a[i][1], true)] } else { [(a[i][1], false), (a[i][0], false)] };
        for (e, fw) in uses {
            b.solid.edges[e].faces[usize::from(!fw)] = f;
        }
        b.solid.faces[f].loops.push(uses.iter().map(|&(edge, forward)| EdgeUse { edge, forward }).collect());
    }
    b.finish()
}

/// Half an ellipse: the circle of radius `r` from angle `from` by half a turn, lifted to height `h + k x`.
fn half_ellipse(pose: &Isometry3<f64>, r: f64, h: f64, k: f64, from: f64) -> Curve {
    let lift = |x: f64, y: f64| pose * Point3::new(x, y, h + k * x);
    let at = |a: f64, s: f64| lift(r * s * libm::cos(a), r * s * libm::sin(a));
    let piece = |a: f64| ConicPiece {
        points: [at(a, 1.0), at(a + PI / 4.0, std::f64::consts::SQRT_2), at(a + FRAC_PI_2, 1.0)],
        weight: std::f64::consts::FRAC_1_SQRT_2,
    };
    Curve::Conic(vec![piece(from), piece(from + FRAC_PI_2)])
}

/// A tube whose top is cut off obliquely, at height `h + k x`. Volume pi (R^2 - r^2) h.
pub(crate) fn oblique_tube(outer: f64, inner: f64, h: f64, k: f64, pose: &Isometry3<f64>) -> Solid {
    let mut b = Builder::new(pose);
    let z = Vector3::z();
    let mut low = vec![];
    let mut high = vec![];
    for (name, r, outward) in [("outside", outer, true), ("inside", inner, false)] {
        // Cut at +y and -y, where the top is not at its extreme height.
        let v = [b.vertex([0.0, -r, 0.0]), b.vertex([0.0, r, 0.0])];
        let w = [b.vertex([0.0, -r, h]), b.vertex([0.0, r, h])];
        let a = [b.arc(v[0], v[1], [0.0; 3], z, PI), b.arc(v[1], v[0], [0.0; 3], z, PI)];
        let c = [half_ellipse(pose, r, h, k, -FRAC_PI_2), half_ellipse(pose, r, h, k, FRAC_PI_2)];
        let e = [b.edge(w[0], w[1], c[0].clone()), b.edge(w[1], w[0], c[1].clone())];
        let l = [b.line(v[0], w[0]), b.line(v[1], w[1])];
        let surface = b.cone([0.0; 3], z, r, 0.0);
        for s in 0..2 {
            let away = [if s == 0 { -r } else { r }, 0.0, 0.0];
            let ccw = [(a[s], true), (l[1 - s], true), (e[s], false), (l[s], false)];
            let cw = [(l[s], true), (e[s], true), (l[1 - s], false), (a[s], false)];
            b.face(&format!("{name}.{s}"), surface, outward, away, &[if outward { &ccw } else { &cw }]);
        }
        low.push(a);
        high.push(e);
    }
    let fw = |e: [usize; 2]| [(e[0], true), (e[1], true)];
    let bw = |e: [usize; 2]| [(e[1], false), (e[0], false)];
    b.flat("foot", [0.0; 3], -z, &[&bw(low[0]), &fw(low[1])]);
    b.flat("head", [0.0, 0.0, h], Vector3::new(-k, 0.0, 1.0), &[&fw(high[0]), &bw(high[1])]);
    b.finish()
}

/// A cylinder of radius `big` and height `h` about z (from -h/2), with a round cross hole of radius `small` along x.
/// The edges of the hole are fitted cubics in `n` pieces a half turn.
pub(crate) fn cross_drilled(big: f64, small: f64, h: f64, n: u32, pose: &Isometry3<f64>) -> Solid {
    let mut b = Builder::new(pose);
    let z = Vector3::z();
    let mut rings = vec![];
    for s in [-0.5, 0.5] {
        let v = [b.vertex([0.0, -big, s * h]), b.vertex([0.0, big, s * h])];
        let c = [0.0, 0.0, s * h];
        rings.push((v, [b.arc(v[0], v[1], c, z, PI), b.arc(v[1], v[0], c, z, PI)]));
    }
    let l = [b.line(rings[0].0[0], rings[1].0[0]), b.line(rings[0].0[1], rings[1].0[1])];
    // The hole's edge at +x (side 1) and -x (side -1): t from 0 to pi and from pi to 2 pi.
    let curve = |side: f64, from: f64| {
        let at = |t: f64| {
            let (y, w) = (small * libm::cos(t), small * libm::sin(t));
            Point3::new(side * (big * big - y * y).sqrt(), y, w)
        };
        let d = |t: f64| {
            let (s, c) = (libm::sin(t), libm::cos(t));
            let x = (big * big - small * small * c * c).sqrt();
            Vector3::new(side * small * small * c * s / x, -small * s, small * c)
        };
        let step = PI / f64::from(n);
        let piece = |i: u32| {
            let (t0, t1) = (from + step * f64::from(i), from + step * f64::from(i + 1));
            let (p, q) = (at(t0), at(t1));
            [p, p + d(t0) * (step / 3.0), q - d(t1) * (step / 3.0), q].map(|p| pose * p)
        };
        Curve::Spline((0..n).map(piece).collect())
    };
    let x = (big * big - small * small).sqrt();
    let mut holes = vec![];
    for side in [1.0, -1.0] {
        let v = [b.vertex([side * x, small, 0.0]), b.vertex([side * x, -small, 0.0])];
        let e = [b.edge(v[0], v[1], curve(side, 0.0)), b.edge(v[1], v[0], curve(side, PI))];
        holes.push((v, e));
    }
    let m = [b.line(holes[0].0[0], holes[1].0[0]), b.line(holes[0].0[1], holes[1].0[1])];
    let outside = b.cone([0.0; 3], z, big, 0.0);
    for s in 0..2 {
        let away = [if s == 0 { -big } else { big }, 0.0, 0.0];
        let (lo, hi) = (rings[0].1, rings[1].1);
        let border = [(lo[s], true), (l[1 - s], true), (hi[s], false), (l[s], false)];
        // t turns counter-clockwise in (y, z): seen from +x that is counter-clockwise, from -x clockwise.
        let e = holes[s].1;
        let hole = if s == 0 { [(e[1], false), (e[0], false)] } else { [(e[0], true), (e[1], true)] };
        b.face(&format!("outside.{s}"), outside, true, away, &[&border, &hole]);
    }
    let inside = b.cone([0.0; 3], Vector3::x(), small, 0.0);
    for s in 0..2 {
        let away = [0.0, 0.0, if s == 0 { -small } else { small }];
        let (p, q) = (holes[0].1[s], holes[1].1[s]);
        let border = [(p, true), (m[1 - s], true), (q, false), (m[s], false)];
        b.face(&format!("hole.{s}"), inside, false, away, &[&border]);
    }
    let (lo, hi) = (rings[0].1, rings[1].1);
    b.flat("foot", [0.0, 0.0, -h / 2.0], -z, &[&[(lo[1], false), (lo[0], false)]]);
    b.flat("head", [0.0, 0.0, h / 2.0], z, &[&[(hi[0], true), (hi[1], true)]]);
    b.finish()
}

/// Something of the size and kind of a collet: a stepped ring with conical skin, seat and bore, radii 1.3 to 2.05.
pub(crate) fn collet(pose: &Isometry3<f64>) -> Solid {
    let p = [[1.1, 0.0], [1.75, 0.0], [2.05, 3.2], [1.75, 3.2], [1.5, 2.95], [1.2, 0.5], [1.1, 0.5]];
    revolved(&p, true, pose)
}

/// Volume of a ring with straight sides (Pappus / Guldin, by the trapezoids of the profile).
pub(crate) fn ring_volume(p: &[[f64; 2]]) -> f64 {
    (0..p.len())
        .map(|i| {
            let ([r0, h0], [r1, h1]) = (p[i], p[(i + 1) % p.len()]);
            (h1 - h0) * (r0 * r0 + r0 * r1 + r1 * r1) / 3.0 * TAU / 2.0
        })
        .sum()
}
