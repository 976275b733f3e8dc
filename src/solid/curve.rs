//! Edge curves: a line, a circular arc, an exact conic in rational Bezier pieces, or a fitted cubic in Bezier pieces.
//!
//! Every curve is bounded; its parameter runs from 0 to [`Curve::end_parameter`]. [`Curve::chord_bound`] is a proof, not
//! a sample: a Bezier piece lies within the hull of its control points.

use nalgebra::{Point3, Vector3, Vector4};

/// A bounded curve in mm.
#[derive(Clone, Debug, PartialEq)]
pub enum Curve {
    /// Straight from the first point to the second, parameter 0 to 1.
    Line(Point3<f64>, Point3<f64>),
    /// Part of a circle, parameter = angle turned, 0 to `sweep`.
    Arc(Arc),
    /// Exact conic, parameter `i..i+1` on piece `i`.
    Conic(Vec<ConicPiece>),
    /// Fitted cubic, continuous tangent, parameter `i..i+1` on piece `i`.
    Spline(Vec<[Point3<f64>; 4]>),
}

/// `centre + x cos t + y sin t` for t in 0..=sweep; x and y are square to each other and as long as the radius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// Centre.
    pub centre: Point3<f64>,
    /// From the centre to the start.
    pub x: Vector3<f64>,
    /// A quarter turn further.
    pub y: Vector3<f64>,
    /// Angle turned, radians, above 0.
    pub sweep: f64,
}

/// Rational quadratic Bezier piece with end weights 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConicPiece {
    /// Control points.
    pub points: [Point3<f64>; 3],
    /// Weight of the middle control point, above 0.
    pub weight: f64,
}

impl Curve {
    /// Last parameter; the first is 0.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn end_parameter(&self) -> f64 {
        match self {
            Self::Line(..) => 1.0,
            Self::Arc(a) => a.sweep,
            Self::Conic(p) => p.len() as f64,
            Self::Spline(p) => p.len() as f64,
        }
    }
    /// Parameters where the pieces of the curve meet, ends included.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn knots(&self) -> Vec<f64> {
        match self {
            Self::Line(..) | Self::Arc(_) => vec![0.0, self.end_parameter()],
            Self::Conic(p) => (0..=p.len()).map(|i| i as f64).collect(),
            Self::Spline(p) => (0..=p.len()).map(|i| i as f64).collect(),
        }
    }
    /// First point.
    #[must_use]
    pub fn start(&self) -> Point3<f64> {
        self.point(0.0)
    }
    /// Last point.
    #[must_use]
    pub fn end(&self) -> Point3<f64> {
        self.point(self.end_parameter())
    }
    /// Point at a parameter; parameters outside the range are brought into it.
    #[must_use]
    pub fn point(&self, t: f64) -> Point3<f64> {
        match self {
            Self::Line(a, b) => {
                let t = t.clamp(0.0, 1.0);
                // Both ends exact.
                if t > 0.5 { b + (a - b) * (1.0 - t) } else { a + (b - a) * t }
            }
            Self::Arc(a) => {
                let t = t.clamp(0.0, a.sweep);
                a.centre + a.x * libm::cos(t) + a.y * libm::sin(t)
            }
            Self::Conic(p) => {
                let (i, u) = piece(t, p.len());
                p.get(i).map_or_else(Point3::origin, |q| q.point(u))
            }
            Self::Spline(p) => {
                let (i, u) = piece(t, p.len());
                p.get(i).map_or_else(Point3::origin, |q| cubic(q, u))
            }
        }
    }
    /// Derivative by the parameter. Where two pieces meet, that of the earlier one at its end only for the last parameter.
    #[must_use]
    pub fn derivative(&self, t: f64) -> Vector3<f64> {
        match self {
            Self::Line(a, b) => b - a,
            Self::Arc(a) => {
                let t = t.clamp(0.0, a.sweep);
                a.y * libm::cos(t) - a.x * libm::sin(t)
            }
            Self::Conic(p) => {
                let (i, u) = piece(t, p.len());
                p.get(i).map_or_else(Vector3::zeros, |q| q.derivative(u))
            }
            Self::Spline(p) => {
                let (i, u) = piece(t, p.len());
                p.get(i).map_or_else(Vector3::zeros, |q| cubic_derivative(q, u))
            }
        }
    }
    /// Proven upper bound of the distance of the part `t0..t1` from its chord, mm. Both parameters must lie on one
    /// piece (see [`Curve::knots`]); else the bound is infinite.
    #[must_use]
    pub fn chord_bound(&self, t0: f64, t1: f64) -> f64 {
        match self {
            Self::Line(..) => 0.0,
            Self::Arc(a) => {
                let half = (t1 - t0).abs() / 2.0;
                if half > std::f64::consts::FRAC_PI_2 {
                    f64::INFINITY
                } else {
                    a.x.norm() * (1.0 - libm::cos(half))
                }
            }
            Self::Conic(p) => {
                let Some((q, u0, u1)) = same_piece(p, t0, t1) else { return f64::INFINITY };
                let h = q.homogeneous();
                let c = [blossom2(&h, u0, u0), blossom2(&h, u0, u1), blossom2(&h, u1, u1)].map(project);
                distance_to_segment(&c[1], &c[0], &c[2])
            }
            Self::Spline(p) => {
                let Some((q, u0, u1)) = same_piece(p, t0, t1) else { return f64::INFINITY };
                let (a, b) = (cubic(q, u0), cubic(q, u1));
                let (c, d) = (blossom3(q, u0, u0, u1), blossom3(q, u0, u1, u1));
                distance_to_segment(&c, &a, &b).max(distance_to_segment(&d, &a, &b))
            }
        }
    }
    /// `line`, `circle`, `conic` or `spline`.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Line(..) => "line",
            Self::Arc(_) => "circle",
            Self::Conic(_) => "conic",
            Self::Spline(_) => "spline",
        }
    }
}

impl ConicPiece {
    fn homogeneous(&self) -> [Vector4<f64>; 3] {
        let [a, b, c] = self.points;
        let w = self.weight;
        [
            Vector4::new(a.x, a.y, a.z, 1.0),
            Vector4::new(b.x * w, b.y * w, b.z * w, w),
            Vector4::new(c.x, c.y, c.z, 1.0),
        ]
    }
    /// Point at `u` in 0..=1.
    #[must_use]
    pub fn point(&self, u: f64) -> Point3<f64> {
        project(blossom2(&self.homogeneous(), u, u))
    }
    fn derivative(&self, u: f64) -> Vector3<f64> {
        let h = self.homogeneous();
        let p = blossom2(&h, u, u);
        let d = ((h[1] - h[0]) * (1.0 - u) + (h[2] - h[1]) * u) * 2.0;
        (d.xyz() - p.xyz() * (d.w / p.w)) / p.w
    }
}

/// Piece index and local parameter.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn piece(t: f64, n: usize) -> (usize, f64) {
    let t = t.clamp(0.0, n as f64);
    let i = (t as usize).min(n.saturating_sub(1));
    (i, t - i as f64)
}

fn same_piece<T>(pieces: &[T], t0: f64, t1: f64) -> Option<(&T, f64, f64)> {
    let (lo, hi) = (t0.min(t1), t0.max(t1));
    let (i, u0) = piece(lo, pieces.len());
    #[allow(clippy::cast_precision_loss)]
    let u1 = hi - i as f64;
    // A parameter computed as i + 1 may be a rounding error beyond the piece.
    (u1 <= 1.0 + 1e-12).then(|| pieces.get(i).map(|p| (p, u0, u1.min(1.0))))?
}

fn project(h: Vector4<f64>) -> Point3<f64> {
    Point3::from(h.xyz() / h.w)
}

fn blossom2(c: &[Vector4<f64>; 3], a: f64, b: f64) -> Vector4<f64> {
    let lerp = |p: Vector4<f64>, q: Vector4<f64>, t: f64| p * (1.0 - t) + q * t;
    lerp(lerp(c[0], c[1], a), lerp(c[1], c[2], a), b)
}

fn blossom3(c: &[Point3<f64>; 4], a: f64, b: f64, t: f64) -> Point3<f64> {
    let lerp = |p: &Point3<f64>, q: &Point3<f64>, t: f64| p + (q - p) * t;
    let (d, e, f) = (lerp(&c[0], &c[1], a), lerp(&c[1], &c[2], a), lerp(&c[2], &c[3], a));
    let (g, h) = (lerp(&d, &e, b), lerp(&e, &f, b));
    lerp(&g, &h, t)
}

fn cubic(c: &[Point3<f64>; 4], u: f64) -> Point3<f64> {
    if u == 1.0 { c[3] } else { blossom3(c, u, u, u) }
}

fn cubic_derivative(c: &[Point3<f64>; 4], u: f64) -> Vector3<f64> {
    let (d, e, f) = (c[1] - c[0], c[2] - c[1], c[3] - c[2]);
    let v = 1.0 - u;
    (d * (v * v) + e * (2.0 * u * v) + f * (u * u)) * 3.0
}

/// Distance of a point from a segment, mm.
fn distance_to_segment(p: &Point3<f64>, a: &Point3<f64>, b: &Point3<f64>) -> f64 {
    let d = b - a;
    let l2 = d.norm_squared();
    let t = if l2 > 0.0 { ((p - a).dot(&d) / l2).clamp(0.0, 1.0) } else { 0.0 };
    (a + d * t - p).norm()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quarter() -> ConicPiece {
        let p = |x, y| Point3::new(x, y, 0.0);
        ConicPiece {
            points: [p(1.0, 0.0), p(1.0, 1.0), p(0.0, 1.0)],
            weight: std::f64::consts::FRAC_1_SQRT_2,
        }
    }

    #[test]
    fn a_quarter_circle_as_conic_stays_on_the_circle_and_inside_its_bound() {
        let c = Curve::Conic(vec![quarter()]);
        for i in 0..=20 {
            let t = f64::from(i) / 20.0;
            assert!((c.point(t).coords.norm() - 1.0).abs() < 1e-15);
            let step = 1e-6;
            let d = (c.point(t + step) - c.point(t - step)) / (2.0 * step);
            if i > 0 && i < 20 {
                assert!((d - c.derivative(t)).norm() < 1e-8, "{t}");
            }
        }
        // Sagitta of a quarter circle of radius 1: 1 - cos 45 deg (closed form).
        let sagitta = 1.0 - std::f64::consts::FRAC_1_SQRT_2;
        assert!(c.chord_bound(0.0, 1.0) >= sagitta);
        let fine = c.chord_bound(0.4, 0.5);
        let (a, b) = (c.point(0.4), c.point(0.5));
        let seen = (0..=100)
            .map(|i| distance_to_segment(&c.point(0.4 + 0.001 * f64::from(i)), &a, &b))
            .fold(0.0, f64::max);
        assert!(seen <= fine && fine < 2.5 * seen, "{seen} {fine}");
    }

    #[test]
    fn a_bound_across_two_pieces_is_refused() {
        let c = Curve::Conic(vec![quarter(), quarter()]);
        assert!(c.chord_bound(0.5, 1.5).is_infinite());
        assert!(c.chord_bound(0.5, 1.0).is_finite());
    }

    #[test]
    fn a_cubic_stays_within_its_bound() {
        let p = |x, y, z| Point3::new(x, y, z);
        let c =
            Curve::Spline(vec![[p(0.0, 0.0, 0.0), p(1.0, 2.0, 0.0), p(2.0, -1.0, 1.0), p(3.0, 0.0, 0.0)]]);
        for k in 0..10 {
            let (t0, t1) = (f64::from(k) / 10.0, f64::from(k + 1) / 10.0);
            let seen = (0..=50)
                .map(|i| {
                    distance_to_segment(
                        &c.point(t0 + (t1 - t0) * f64::from(i) / 50.0),
                        &c.point(t0),
                        &c.point(t1),
                    )
                })
                .fold(0.0, f64::max);
            assert!(seen <= c.chord_bound(t0, t1) + 1e-15);
        }
    }
}
