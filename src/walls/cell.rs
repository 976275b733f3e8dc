//! Pieces of faces, edges and vertices with bounds that hold for every point of them.

use crate::solid::{Cone, Curve, Solid, Surface};
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// Added to every angle bound, radians: far above the rounding of an `atan2` of unit vectors (1e-15), far below any
/// angle that matters.
pub(super) const ANGLE_PAD: f64 = 1e-12;

/// What a cell is a piece of.
#[derive(Clone, Copy, Debug)]
pub(super) enum Shape {
    /// Box in face coordinates; may stick out over the face's boundary.
    Patch { u: [f64; 2], v: [f64; 2] },
    /// Parameter range on an edge.
    Piece { edge: usize, t: [f64; 2] },
    /// A vertex.
    Corner,
}

/// A piece of the boundary of the solid, seen as part of one face.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) shape: Shape,
    /// The face whose normal counts.
    pub(super) face: usize,
    /// For a reflex edge: the second face of the fan of normals.
    pub(super) fan: Option<usize>,
    corners: [Point3<f64>; 4],
    count: usize,
    /// The piece lies within this of the hull of its corners, mm.
    sag: f64,
    /// A point of the piece (of its surface, for a patch).
    pub(super) centre: Point3<f64>,
    /// The piece lies within this of its centre, mm.
    pub(super) radius: f64,
    /// Every normal lies within `spread` of `axis`.
    pub(super) axis: Vector3<f64>,
    pub(super) spread: f64,
    /// Edges: every tangent line lies within `tangent_spread` of `tangent`.
    pub(super) tangent: Vector3<f64>,
    pub(super) tangent_spread: f64,
    /// Patches on a cone: cosine and sine of half the angle covered.
    half: [f64; 2],
}

/// Angle between two vectors, 0..=pi; exact to rounding also near 0 and pi, where an arc cosine is not.
pub(super) fn angle(a: &Vector3<f64>, b: &Vector3<f64>) -> f64 {
    libm::atan2(a.cross(b).norm(), a.dot(b))
}

fn middle(r: [f64; 2]) -> f64 {
    f64::midpoint(r[0], r[1])
}

impl Cell {
    pub(super) fn patch(solid: &Solid, face: usize, u: [f64; 2], v: [f64; 2]) -> Self {
        let f = &solid.faces[face];
        let corners = [[u[0], v[0]], [u[1], v[0]], [u[1], v[1]], [u[0], v[1]]].map(|c| f.at(c));
        let centre = f.at([middle(u), middle(v)]);
        let phi = ((u[1] - u[0]) / 2.0).min(PI);
        let half = [libm::cos(phi), libm::sin(phi)];
        // The arc at a height lies within the sagitta of its chord, which lies in the trapezoid of the corners.
        let (sag, spread) = match &f.surface {
            Surface::Plane(_) => (0.0, 0.0),
            Surface::Cone(c) => {
                let r = c.radius_at(v[0]).abs().max(c.radius_at(v[1]).abs());
                (r * (1.0 - half[0]), angle(&c_normal(c, 0.0), &c_normal(c, phi)))
            }
            // Neither map stretches a step by more than the radii say, nor does the normal turn faster than it.
            Surface::Torus(t) => {
                let (x, y) = ((u[1] - u[0]) / 2.0, (v[1] - v[0]) / 2.0);
                (libm::hypot((t.major + t.minor) * x, t.minor * y), libm::hypot(x, y).min(PI))
            }
        };
        let (corners, count) = if f.torus().is_some() { ([centre; 4], 1) } else { (corners, 4) };
        let mut cell = Self {
            shape: Shape::Patch { u, v },
            face,
            fan: None,
            corners,
            count,
            sag,
            centre,
            radius: 0.0,
            axis: f.normal(&centre),
            spread: spread + ANGLE_PAD,
            tangent: Vector3::zeros(),
            tangent_spread: PI,
            half,
        };
        cell.radius = cell.reach();
        cell
    }

    /// The part `t` of an edge, as boundary of `face`, or as a reflex edge between `face` and `fan`.
    pub(super) fn piece(solid: &Solid, edge: usize, t: [f64; 2], face: usize, fan: Option<usize>) -> Self {
        let c = &solid.edges[edge].curve;
        let tm = middle(t);
        let (a, b, centre) = (c.point(t[0]), c.point(t[1]), c.point(tm));
        let (tangent, tangent_spread) = tangents(c, t, tm);
        let mut cell = Self {
            shape: Shape::Piece { edge, t },
            face,
            fan,
            corners: [a, b, a, b],
            count: 2,
            sag: c.chord_bound(t[0], t[1]),
            centre,
            radius: 0.0,
            axis: Vector3::zeros(),
            spread: PI,
            tangent,
            tangent_spread,
            half: [1.0, 0.0],
        };
        cell.radius = cell.reach();
        (cell.axis, cell.spread) = cell.fan_of_normals(solid);
        cell
    }

    pub(super) fn corner(solid: &Solid, vertex: usize, face: usize) -> Self {
        let p = solid.vertices[vertex];
        Self {
            shape: Shape::Corner,
            face,
            fan: None,
            corners: [p; 4],
            count: 1,
            sag: 0.0,
            centre: p,
            radius: 0.0,
            axis: solid.faces[face].normal(&p),
            // Both numbers stand for the 1e-7 mm by which a vertex may lie off its surface: 1e-6 on a 0.1 mm radius.
            spread: 1e-6,
            tangent: Vector3::zeros(),
            tangent_spread: PI,
            half: [1.0, 0.0],
        }
    }

    /// Cone of the normals of the face (and of the other face of a reflex edge) along an edge piece.
    fn fan_of_normals(&self, solid: &Solid) -> (Vector3<f64>, f64) {
        let one = |face: usize| {
            let f = &solid.faces[face];
            let n = f.normal(&self.centre);
            if let Some(t) = f.torus() {
                let half = self.radius / (2.0 * t.reach());
                return (n, if half < 1.0 { 2.0 * libm::asin(half) + ANGLE_PAD } else { PI });
            }
            let spread = f.cone().map_or(0.0, |c| {
                let w = self.centre - c.origin;
                let m = (w - c.axis * w.dot(&c.axis)).norm();
                // Seen from the axis a ball of radius r at distance m fills asin(r / m).
                let turn = if self.radius < m { libm::asin(self.radius / m) } else { PI };
                angle(&c_normal(c, 0.0), &c_normal(c, turn))
            });
            (n, spread + ANGLE_PAD)
        };
        let (n, s) = one(self.face);
        let Some(other) = self.fan else { return (n, s) };
        let (m, r) = one(other);
        let axis = (n + m).try_normalize(1e-9);
        axis.map_or((n, PI), |x| (x, angle(&n, &m) / 2.0 + s.max(r)))
    }

    fn reach(&self) -> f64 {
        self.corners.iter().map(|c| (c - self.centre).norm()).fold(0.0, f64::max) + self.sag
    }

    pub(super) fn corners(&self) -> &[Point3<f64>] {
        &self.corners[..self.count]
    }

    /// Upper bound of `n . p` over the piece, `n` being a unit vector; exact on a patch.
    pub(super) fn support(&self, solid: &Solid, n: &Vector3<f64>) -> f64 {
        if let (Shape::Patch { u, v }, Surface::Cone(c)) = (&self.shape, &solid.faces[self.face].surface) {
            let m = c.spoke(middle(*u) + solid.faces[self.face].seam);
            let (x, y, z) = (n.dot(&m), n.dot(&c.axis.cross(&m)).abs(), n.dot(&c.axis));
            let s = (x * x + y * y).sqrt();
            let out = if x >= self.half[0] * s { s } else { x * self.half[0] + y * self.half[1] };
            let at = |h: f64| z * h + c.radius_at(h) * out;
            return n.dot(&c.origin.coords) + at(v[0]).max(at(v[1]));
        }
        self.corners().iter().map(|p| n.dot(&p.coords)).fold(f64::NEG_INFINITY, f64::max) + self.sag
    }

    /// The two halves, across the first or second coordinate; the cell itself if it has no such extent.
    pub(super) fn halves(&self, solid: &Solid, second: bool) -> [Self; 2] {
        match self.shape {
            Shape::Patch { u, v } if second => {
                let m = middle(v);
                [[v[0], m], [m, v[1]]].map(|w| Self::patch(solid, self.face, u, w))
            }
            Shape::Patch { u, v } => {
                let m = middle(u);
                [[u[0], m], [m, u[1]]].map(|w| Self::patch(solid, self.face, w, v))
            }
            Shape::Piece { edge, t } => {
                let m = middle(t);
                [[t[0], m], [m, t[1]]].map(|w| Self::piece(solid, edge, w, self.face, self.fan))
            }
            Shape::Corner => [self.clone(), self.clone()],
        }
    }

    /// How far the cell sticks out of its centre along `n` through its first and second coordinate, and how long it is
    /// along each, mm.
    pub(super) fn extents(&self, solid: &Solid, n: &Vector3<f64>) -> [[f64; 2]; 2] {
        let [a, b, c, _] = &self.corners;
        match (&self.shape, &solid.faces[self.face].surface) {
            (Shape::Corner, _) => [[0.0; 2]; 2],
            (Shape::Piece { .. }, _) => [[(b - a).dot(n).abs() / 2.0 + self.sag, 0.0], [(b - a).norm(), 0.0]],
            (Shape::Patch { .. }, Surface::Plane(_)) => {
                let (x, y) = (b - a, c - b);
                [[x.dot(n).abs() / 2.0, y.dot(n).abs() / 2.0], [x.norm(), y.norm()]]
            }
            (Shape::Patch { u, v }, Surface::Cone(k)) => {
                let f = &solid.faces[self.face];
                let end = f.at([middle(*u), v[1]]);
                let ruling = end - f.at([middle(*u), v[0]]);
                let along = ruling.dot(n).abs() / 2.0;
                let all = self.support(solid, n) - n.dot(&self.centre.coords);
                let r = k.radius_at(v[0]).abs().max(k.radius_at(v[1]).abs());
                [[(all - along).max(0.0), along], [r * (u[1] - u[0]), ruling.norm()]]
            }
            (Shape::Patch { u, v }, Surface::Torus(t)) => {
                let long = [(t.major + t.minor) * (u[1] - u[0]), t.minor * (v[1] - v[0])];
                [long.map(|x| x / 2.0), long]
            }
        }
    }
}

/// A normal of a cone turned by an angle from some start.
fn c_normal(c: &Cone, turn: f64) -> Vector3<f64> {
    c.spoke(turn) - c.axis * c.slope
}

/// Cone of the tangents of a part of a curve that holds no knot inside.
///
/// Up to a positive factor the derivative is a quadratic polynomial g: of a cubic as it is, of a rational conic after
/// multiplication with w^2. Its Bezier points are g(t0), 2 g(tm) - (g(t0) + g(t1)) / 2 and g(t1); g lies in their hull.
fn tangents(c: &Curve, t: [f64; 2], tm: f64) -> (Vector3<f64>, f64) {
    match c {
        Curve::Line(a, b) => (b - a, ANGLE_PAD),
        Curve::Arc(_) => (c.derivative(tm), (t[1] - t[0]) / 2.0 + ANGLE_PAD),
        Curve::Conic(_) | Curve::Spline(_) => {
            // The derivative at a knot may be that of the neighbour: step inside by far less than the pieces are long
            // and widen the cone by what the direction can turn in that step.
            let inside = (t[1] - t[0]) * 1e-6;
            let weight = |x: f64| match c {
                Curve::Conic(p) => {
                    let i = libm::floor(tm);
                    let u = x - i;
                    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                    let w = p.get(i as usize).map_or(1.0, |q| q.weight);
                    let d = (1.0 - u) * (1.0 - u) + 2.0 * w * u * (1.0 - u) + u * u;
                    d * d
                }
                _ => 1.0,
            };
            let g = |x: f64| c.derivative(x) * weight(x);
            let (a, m, b) = (g(t[0] + inside), g(tm), g(t[1] - inside));
            let control = m * 2.0 - (a + b) / 2.0;
            let spread = [a, control, b].iter().map(|x| angle(&m, x)).fold(0.0, f64::max);
            (m, if spread < 1.0 { spread * 1.0001 + ANGLE_PAD } else { PI })
        }
    }
}
