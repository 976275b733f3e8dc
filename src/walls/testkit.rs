//! Small exact solids made by hand, for tests.

use crate::solid::curve::Arc;
use crate::solid::{Curve, Edge, EdgeUse, Face, Solid, Surface};
use nalgebra::{Isometry3, Point3, Vector3};
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Corner of a profile prism: a point in the plane z = 0, and what the side from here to the next corner is.
#[derive(Clone, Copy)]
pub(super) enum Side {
    /// Straight.
    Line,
    /// Circular about a centre; counter-clockwise if true.
    Arc([f64; 2], bool),
}

/// One loop of a profile: corners with their sides and the names of the side faces. The outer loop counter-clockwise,
/// holes clockwise.
pub(super) type Loop = Vec<([f64; 2], Side, String)>;

/// The prism over loops, from z = 0 to z = `height`, whose sections shrink by nothing. Top is `top`, bottom `bottom`.
pub(super) fn prism(loops: &[Loop], height: f64) -> Solid {
    drafted(loops, height, 0.0)
}

/// As [`prism`]; circular sides get cones whose radius grows by `slope` per height if counter-clockwise, and also if
/// clockwise. Straight sides stay upright: only all-circular loops about one centre may be drafted.
pub(super) fn drafted(loops: &[Loop], height: f64, slope: f64) -> Solid {
    let mut s = Solid { vertices: Vec::new(), edges: Vec::new(), faces: Vec::new(), lumps: Vec::new() };
    let bottom = s.faces.len();
    let flat = |name: &str, z: f64, out: f64| Face {
        name: name.into(),
        surface: Surface::plane(&Point3::new(0.0, 0.0, z), &Vector3::z()),
        outward: out > 0.0,
        seam: 0.0,
        loops: Vec::new(),
    };
    s.faces.push(flat("bottom", 0.0, -1.0));
    s.faces.push(flat("top", height, 1.0));
    let top = bottom + 1;
    for l in loops {
        let n = l.len();
        let base = s.vertices.len();
        // Vertices: bottom ring, then top ring.
        for z in [0.0, height] {
            for (p, side, _) in l {
                let centre = match side {
                    Side::Line => [0.0, 0.0],
                    Side::Arc(c, _) => *c,
                };
                let d = Vector3::new(p[0] - centre[0], p[1] - centre[1], 0.0);
                let grow = if slope == 0.0 { d * 0.0 } else { d.normalize() * (slope * z) };
                s.vertices.push(Point3::new(p[0], p[1], z) + grow);
            }
        }
        let first = s.edges.len();
        for (level, z) in [(0, 0.0), (1, height)] {
            for (i, corner) in l.iter().enumerate() {
                let (a, b) = (base + level * n + i, base + level * n + (i + 1) % n);
                let (pa, pb) = (s.vertices[a], s.vertices[b]);
                let curve = match corner.1 {
                    Side::Line => Curve::Line(pa, pb),
                    Side::Arc(c, ccw) => {
                        let centre = Point3::new(c[0], c[1], z);
                        let (x, e) = (pa - centre, pb - centre);
                        let y = if ccw { Vector3::z().cross(&x) } else { x.cross(&Vector3::z()) };
                        let sweep = libm::atan2(e.dot(&y), e.dot(&x)).rem_euclid(2.0 * PI);
                        Curve::Arc(Arc { centre, x, y, sweep })
                    }
                };
                // Seen from outside the bottom ring runs with the side face, the top ring against it.
                let side_face = s.faces.len() + i;
                let faces = if level == 0 { [side_face, bottom] } else { [top, side_face] };
                s.edges.push(Edge { ends: [a, b], curve, faces });
            }
        }
        for i in 0..n {
            let (a, b) = (base + i, base + n + i);
            let previous = s.faces.len() + (i + n - 1) % n;
            let curve = Curve::Line(s.vertices[a], s.vertices[b]);
            s.edges.push(Edge { ends: [a, b], curve, faces: [previous, s.faces.len() + i] });
        }
        let used = |edge: usize, forward: bool| EdgeUse { edge, forward };
        s.faces[bottom].loops.push((0..n).rev().map(|i| used(first + i, false)).collect());
        s.faces[top].loops.push((0..n).map(|i| used(first + n + i, true)).collect());
        for i in 0..n {
            let (p, q) = (l[i].0, l[(i + 1) % n].0);
            let (surface, outward) = match l[i].1 {
                Side::Line => {
                    let out = Vector3::new(q[1] - p[1], p[0] - q[0], 0.0).normalize();
                    let f = Surface::plane(&Point3::new(p[0], p[1], 0.0), &out);
                    (f, f.signed_distance(&Point3::origin()).1.dot(&out) > 0.0)
                }
                Side::Arc(c, ccw) => {
                    let r = ((p[0] - c[0]).powi(2) + (p[1] - c[1]).powi(2)).sqrt();
                    (Surface::cone(&Point3::new(c[0], c[1], 0.0), &Vector3::z(), r, slope), ccw)
                }
            };
            let loops = vec![vec![
                used(first + i, true),
                used(first + 2 * n + (i + 1) % n, true),
                used(first + n + i, false),
                used(first + 2 * n + i, false),
            ]];
            s.faces.push(Face { name: l[i].2.clone(), surface, outward, seam: 0.0, loops });
        }
    }
    // Seam opposite the middle of the first edge of each curved face (none here covers more than half a turn).
    for i in 0..s.faces.len() {
        if let Some(c) = s.faces[i].cone() {
            let e = &s.edges[s.faces[i].loops[0][0].edge];
            let mid = e.curve.point(e.curve.end_parameter() / 2.0);
            let seam = c.angle_height(&mid).0 + PI;
            s.faces[i].seam = seam;
        }
    }
    check(&s);
    s
}

/// A full circle as two half arcs `name` and `name.2`, starting at an angle.
pub(super) fn circle(name: &str, centre: [f64; 2], r: f64, start: f64, ccw: bool) -> Loop {
    let at = |a: f64| [centre[0] + r * libm::cos(a), centre[1] + r * libm::sin(a)];
    vec![
        (at(start), Side::Arc(centre, ccw), name.into()),
        (at(start + PI), Side::Arc(centre, ccw), format!("{name}.2")),
    ]
}

/// A polygon with named sides.
pub(super) fn polygon(corners: &[([f64; 2], &str)]) -> Loop {
    corners.iter().map(|(p, n)| (*p, Side::Line, (*n).into())).collect()
}

/// The box 0..x, 0..y with side faces `front` (y = 0), `right`, `back`, `left`.
pub(super) fn rectangle(x: f64, y: f64) -> Loop {
    polygon(&[([0.0, 0.0], "front"), ([x, 0.0], "right"), ([x, y], "back"), ([0.0, y], "left")])
}

/// The contract of [`Solid`], asserted.
pub(super) fn check(s: &Solid) {
    let mut uses: BTreeMap<(usize, bool), usize> = BTreeMap::new();
    for (i, f) in s.faces.iter().enumerate() {
        for l in &f.loops {
            for (k, u) in l.iter().enumerate() {
                *uses.entry((u.edge, u.forward)).or_default() += 1;
                assert_eq!(s.edges[u.edge].faces[usize::from(!u.forward)], i, "{} edge {}", f.name, u.edge);
                let next = l[(k + 1) % l.len()];
                let end = s.edges[u.edge].ends[usize::from(u.forward)];
                assert_eq!(end, s.start_of(next), "{}: loop broken", f.name);
                let c = &s.edges[u.edge].curve;
                for j in 0..=8 {
                    let p = c.point(c.end_parameter() * f64::from(j) / 8.0);
                    assert!(f.surface.distance(&p) < 1e-9, "{}: {}", f.name, f.surface.distance(&p));
                }
            }
        }
    }
    assert_eq!(uses.len(), 2 * s.edges.len());
    assert!(uses.values().all(|&n| n == 1));
    for e in &s.edges {
        assert!((e.curve.start() - s.vertices[e.ends[0]]).norm() < 1e-12);
        assert!((e.curve.end() - s.vertices[e.ends[1]]).norm() < 1e-9);
    }
}

/// The solid moved.
pub(super) fn moved(s: &Solid, pose: &Isometry3<f64>) -> Solid {
    let mut s = s.clone();
    s.vertices.iter_mut().for_each(|p| *p = pose * *p);
    for e in &mut s.edges {
        match &mut e.curve {
            Curve::Line(a, b) => (*a, *b) = (pose * *a, pose * *b),
            Curve::Arc(a) => {
                (a.centre, a.x, a.y) = (pose * a.centre, pose * a.x, pose * a.y);
            }
            Curve::Conic(p) => p.iter_mut().for_each(|q| q.points = q.points.map(|x| pose * x)),
            Curve::Spline(p) => p.iter_mut().for_each(|q| *q = q.map(|x| pose * x)),
        }
    }
    for f in &mut s.faces {
        match f.surface {
            Surface::Plane(p) => {
                let n = pose * p.normal;
                let at = pose * Point3::from(p.normal * p.offset);
                f.surface = Surface::plane(&at, &n);
                f.outward ^= f.surface.signed_distance(&at).1.dot(&n) < 0.0;
            }
            Surface::Cone(c) => {
                let was = pose * c.at(f.seam, 0.0);
                f.surface = Surface::cone(&(pose * c.origin), &(pose * c.axis), c.radius, c.slope);
                f.seam = f.cone().map_or(0.0, |c| c.angle_height(&was).0);
            }
            Surface::Torus(mut t) => {
                (t.centre, t.axis, t.reference) = (pose * t.centre, pose * t.axis, pose * t.reference);
                f.surface = Surface::Torus(t);
            }
        }
    }
    check(&s);
    s
}
