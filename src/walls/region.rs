//! Where on its surface a face lies: boundary as fine polylines, and a point-in-face test that admits doubt.

use crate::solid::{Face, Solid, Surface};
use nalgebra::{Point3, Vector3};

/// Chord bound of the boundary polylines, mm. Doubt about a point is limited to this zone, in which a stationary chord
/// differs from the one at the edge by less than 1e-5^2 / (2 x 0.1 mm) = 5e-10 mm.
const CHORD: f64 = 1e-5;
/// Halvings of one curve piece at most; 2^12 segments of a 10 mm circle are far below [`CHORD`].
const DEPTH: u32 = 12;

/// Answer of [`Region::side`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    /// The whole ball lies inside the face.
    In,
    /// The whole ball lies outside.
    Out,
    /// The boundary passes through the ball, or too near to tell.
    Near,
}

struct Segment {
    ends: [Point3<f64>; 2],
    /// The true boundary and its image in face coordinates lie within this of the segment, mm.
    fuzz: f64,
}

/// Boundary of one edge use, in loop order.
struct Stretch {
    centre: Point3<f64>,
    radius: f64,
    segments: Vec<Segment>,
}

/// A face prepared for questions.
pub(super) struct Region {
    stretches: Vec<Stretch>,
    /// Loops in [`Face::coordinates`].
    loops: Vec<Vec<[f64; 2]>>,
    /// Box of the face in [`Face::coordinates`].
    pub(super) lo: [f64; 2],
    pub(super) hi: [f64; 2],
}

impl Region {
    pub(super) fn new(solid: &Solid, face: &Face) -> Self {
        let (mut stretches, mut loops) = (Vec::new(), Vec::new());
        let (mut lo, mut hi) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        let mut fuzz_max: f64 = 0.0;
        for l in &face.loops {
            let mut ring = Vec::new();
            for u in l {
                let curve = &solid.edges[u.edge].curve;
                let mut points = vec![(curve.start(), 0.0)];
                for w in curve.knots().windows(2) {
                    flatten(curve, w[0], w[1], DEPTH, &mut points);
                }
                if !u.forward {
                    // The bound of a segment is stored with its later end: move it to the other one.
                    let bounds: Vec<f64> = points.iter().skip(1).map(|p| p.1).rev().collect();
                    points.reverse();
                    points.iter_mut().skip(1).zip(bounds).for_each(|(p, b)| p.1 = b);
                }
                let coordinates: Vec<[f64; 2]> = points.iter().map(|p| face.coordinates(&p.0)).collect();
                let mut segments = Vec::with_capacity(points.len());
                for (p, c) in points.windows(2).zip(coordinates.windows(2)) {
                    let fuzz = p[1].1 + bulge(face, c[0], c[1]);
                    fuzz_max = fuzz_max.max(fuzz);
                    segments.push(Segment { ends: [p[0].0, p[1].0], fuzz });
                }
                for c in &coordinates {
                    for k in 0..2 {
                        lo[k] = lo[k].min(c[k]);
                        hi[k] = hi[k].max(c[k]);
                    }
                }
                let centre = points.get(points.len() / 2).map_or_else(Point3::origin, |p| p.0);
                let radius = points.iter().map(|p| (p.0 - centre).norm()).fold(0.0, f64::max) + fuzz_max;
                stretches.push(Stretch { centre, radius, segments });
                ring.extend(coordinates.into_iter().skip(1));
            }
            loops.push(ring);
        }
        // The box must hold the true boundary, which bulges over the polyline.
        let pad = match &face.surface {
            Surface::Plane(_) => [fuzz_max; 2],
            Surface::Cone(c) => {
                let r = c.radius_at(lo[1]).abs().min(c.radius_at(hi[1]).abs());
                [fuzz_max / r.max(fuzz_max).max(f64::MIN_POSITIVE), fuzz_max]
            }
            // A step on the surface moves the coordinates by at most its length over these; of a sphere the map squeezes
            // to a tenth at 163 degrees from the axis, farther than any face reaches.
            Surface::Torus(t) if t.is_sphere() => [10.0 * fuzz_max / t.minor; 2],
            Surface::Torus(t) => [fuzz_max / (t.major - t.minor), fuzz_max / t.minor],
        };
        for k in 0..2 {
            lo[k] -= pad[k];
            hi[k] += pad[k];
        }
        Self { stretches, loops, lo, hi }
    }

    /// Where a ball about a point of the surface lies.
    pub(super) fn side(&self, face: &Face, p: &Point3<f64>, radius: f64) -> Side {
        for s in &self.stretches {
            if (s.centre - p).norm() - s.radius > radius {
                continue;
            }
            if s.segments.iter().any(|g| to_segment(p, &g.ends) - g.fuzz <= radius) {
                return Side::Near;
            }
        }
        if self.encloses(face.coordinates(p)) { Side::In } else { Side::Out }
    }

    /// Even-odd rule in face coordinates; only asked clear of the boundary, so no tie matters.
    fn encloses(&self, c: [f64; 2]) -> bool {
        let mut inside = false;
        for l in &self.loops {
            let Some(mut a) = l.last().copied() else { continue };
            for &b in l {
                if (a[1] > c[1]) != (b[1] > c[1])
                    && c[0] < a[0] + (b[0] - a[0]) * ((c[1] - a[1]) / (b[1] - a[1]))
                {
                    inside = !inside;
                }
                a = b;
            }
        }
        inside
    }
}

/// Distance a straight step in face coordinates may lie from the straight step in space, mm. Proved: both are linear
/// interpolations between the same two points of the map from coordinates to space, which differ by at most an eighth of
/// its second derivative along the step (r along the circle, the slope across); four times that is taken.
fn bulge(face: &Face, a: [f64; 2], b: [f64; 2]) -> f64 {
    if let Some(t) = face.torus() {
        let p = [a, b].map(|c| face.at(c));
        return t.facet_bound(&[p[0], p[1], p[1]], &[a, b, b]) * 4.0;
    }
    face.cone().map_or(0.0, |c| {
        let r = c.radius_at(a[1]).abs().max(c.radius_at(b[1]).abs());
        let turn = (b[0] - a[0]).abs();
        // r turn^2 / 8 of the circle is less than this.
        r * (1.0 - libm::cos(turn.min(std::f64::consts::PI))) + c.slope.abs() * turn * (b[1] - a[1]).abs()
    })
}

fn flatten(curve: &crate::solid::Curve, t0: f64, t1: f64, depth: u32, out: &mut Vec<(Point3<f64>, f64)>) {
    let e = curve.chord_bound(t0, t1);
    if e <= CHORD || depth == 0 {
        out.push((curve.point(t1), e));
    } else {
        let m = f64::midpoint(t0, t1);
        flatten(curve, t0, m, depth - 1, out);
        flatten(curve, m, t1, depth - 1, out);
    }
}

/// Distance of a point from a segment, mm.
fn to_segment(p: &Point3<f64>, s: &[Point3<f64>; 2]) -> f64 {
    let d: Vector3<f64> = s[1] - s[0];
    let l = d.norm_squared();
    let t = if l > 0.0 { ((p - s[0]).dot(&d) / l).clamp(0.0, 1.0) } else { 0.0 };
    (s[0] + d * t - p).norm()
}
