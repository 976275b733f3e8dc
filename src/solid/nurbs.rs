//! Edge curves as B-splines, for kernels and files that know nothing finer.

use super::curve::{Arc, ConicPiece, Curve};
use nalgebra::Point3;

/// A clamped B-spline, rational if it has weights.
#[derive(Clone, Debug, PartialEq)]
pub struct Nurbs {
    /// Degree.
    pub degree: usize,
    /// Distinct knots with their multiplicity.
    pub knots: Vec<(f64, usize)>,
    /// Control points, not multiplied by their weights.
    pub points: Vec<Point3<f64>>,
    /// Weights, one a control point; `None` where all are 1.
    pub weights: Option<Vec<f64>>,
}

impl Nurbs {
    /// The same curve as a B-spline. Exact for every kind of curve.
    #[must_use]
    pub fn of(curve: &Curve) -> Self {
        match curve {
            Curve::Line(a, b) => {
                Self { degree: 1, knots: vec![(0.0, 2), (1.0, 2)], points: vec![*a, *b], weights: None }
            }
            Curve::Arc(a) => conics(&arc_pieces(a)),
            Curve::Conic(p) => conics(p),
            Curve::Spline(p) => cubics(p),
        }
    }
}

/// Pieces of an arc of a quarter turn at most.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn arc_pieces(a: &Arc) -> Vec<ConicPiece> {
    let n = (a.sweep / std::f64::consts::FRAC_PI_2).ceil().max(1.0) as usize;
    let half = a.sweep / n as f64 / 2.0;
    let weight = libm::cos(half);
    let at = |t: f64, k: f64| a.centre + (a.x * libm::cos(t) + a.y * libm::sin(t)) * k;
    (0..n)
        .map(|i| {
            let t = a.sweep * i as f64 / n as f64;
            let end = if i + 1 == n { a.sweep } else { a.sweep * (i + 1) as f64 / n as f64 };
            ConicPiece { points: [at(t, 1.0), at(t + half, 1.0 / weight), at(end, 1.0)], weight }
        })
        .collect()
}

/// Knots 0..=1 spaced like `lengths`, `inner` fold inside and `outer` fold at the ends.
fn knots(lengths: &[f64], inner: usize, outer: usize) -> Vec<(f64, usize)> {
    let total: f64 = lengths.iter().sum();
    let mut out = vec![(0.0, outer)];
    let mut sum = 0.0;
    for (i, l) in lengths.iter().enumerate() {
        sum += l;
        let last = i + 1 == lengths.len();
        out.push((if last { 1.0 } else { sum / total }, if last { outer } else { inner }));
    }
    out
}

fn conics(pieces: &[ConicPiece]) -> Nurbs {
    let mut points: Vec<Point3<f64>> = pieces.first().map(|p| p.points[0]).into_iter().collect();
    let mut weights = vec![1.0; points.len()];
    for p in pieces {
        points.extend([p.points[1], p.points[2]]);
        weights.extend([p.weight, 1.0]);
    }
    let lengths: Vec<f64> = pieces.iter().map(|p| (p.points[2] - p.points[0]).norm()).collect();
    Nurbs { degree: 2, knots: knots(&lengths, 2, 3), points, weights: Some(weights) }
}

/// The pieces have unit tangents times a span of their own; knots spaced like the spans make the spline C1, and the
/// control points where pieces meet fall out.
fn cubics(pieces: &[[Point3<f64>; 4]]) -> Nurbs {
    let mut points: Vec<Point3<f64>> = pieces.first().map(|p| p[0]).into_iter().collect();
    for p in pieces {
        points.extend([p[1], p[2]]);
    }
    points.extend(pieces.last().map(|p| p[3]));
    let spans: Vec<f64> = pieces.iter().map(|p| (p[1] - p[0]).norm() * 3.0).collect();
    Nurbs { degree: 3, knots: knots(&spans, 2, 4), points, weights: None }
}
