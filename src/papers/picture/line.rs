//! Feature edges: which edges of a solid are drawn, and how their lines come onto the samples.

use super::camera::Lens;
use super::raster::{Band, OVER};
use crate::solid::{Curve, Solid};
use crate::units::{Deg, Tolerance};
use nalgebra::Point3;

/// Two faces that meet at less than this read as one and their edge is not drawn. Our choice.
const SMOOTH: Deg = Deg(10.0);
/// Halvings of a curve piece at most: 1024 chords of a piece are finer than any picture.
const HALVINGS: u32 = 10;
/// A line may lie this share of the scene's radius behind the surface and is still seen: chords of the mesh and the half
/// width of the line on a steep face need about this much, walls are far thicker.
const BIAS: f64 = 6e-3;

/// The edges of a solid at which its faces meet at an angle, as polylines within the tolerance of the curves, mm.
#[must_use]
pub fn feature_edges(solid: &Solid, tolerance: Tolerance) -> Vec<Vec<Point3<f64>>> {
    let sharp = |e: &crate::solid::Edge| {
        let p = e.curve.point(e.curve.end_parameter() / 2.0);
        match (solid.faces.get(e.faces[0]), solid.faces.get(e.faces[1])) {
            (Some(a), Some(b)) => a.normal(&p).dot(&b.normal(&p)) < libm::cos(SMOOTH.radians()),
            _ => true,
        }
    };
    solid.edges.iter().filter(|e| sharp(e)).map(|e| polyline(&e.curve, tolerance)).collect()
}

/// A polyline within the tolerance of a curve.
#[must_use]
pub fn polyline(curve: &Curve, tolerance: Tolerance) -> Vec<Point3<f64>> {
    let mut out = vec![curve.start()];
    for k in curve.knots().windows(2) {
        halve(curve, k[0], k[1], tolerance, HALVINGS, &mut out);
    }
    out
}

fn halve(c: &Curve, a: f64, b: f64, tolerance: Tolerance, left: u32, out: &mut Vec<Point3<f64>>) {
    if left > 0 && c.chord_bound(a, b) > tolerance.get() {
        let m = f64::midpoint(a, b);
        halve(c, a, m, tolerance, left - 1, out);
        halve(c, m, b, tolerance, left - 1, out);
    } else {
        out.push(c.point(b));
    }
}

/// A piece of line on the sample grid: ends with x, y in samples and the depth key.
pub(super) struct Stroke {
    ends: [[f64; 3]; 2],
}

impl Stroke {
    /// All pieces of the polylines.
    #[allow(clippy::cast_precision_loss)]
    pub(super) fn of<'a>(lens: &Lens, lines: impl Iterator<Item = &'a [Point3<f64>]>) -> Vec<Self> {
        let flat = |p: &Point3<f64>| {
            let [x, y, k] = lens.project(p);
            [x * OVER as f64, y * OVER as f64, k]
        };
        let mut out = Vec::new();
        for line in lines {
            let flats: Vec<_> = line.iter().map(flat).collect();
            out.extend(flats.windows(2).map(|w| Self { ends: [w[0], w[1]] }));
        }
        out.retain(|s| s.ends.as_flattened().iter().all(|v| v.is_finite()));
        out
    }

    /// Draws the visible samples within `half_width` samples of the line.
    #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, clippy::cast_sign_loss)]
    pub(super) fn draw(&self, band: &mut Band, width: usize, lens: &Lens, half_width: f64) {
        let [a, b] = self.ends;
        let reach = half_width + 1.0;
        let clip = |lo: f64, hi: f64, first: f64, last: f64| {
            let (lo, hi) = ((lo - reach).floor().max(first), (hi + reach).ceil().min(last));
            if lo > hi { 0..0 } else { lo as usize..hi as usize + 1 }
        };
        let last_row = (band.first + band.rows) as f64 - 1.0;
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length2 = dx * dx + dy * dy;
        for y in clip(a[1].min(b[1]), a[1].max(b[1]), band.first as f64, last_row) {
            let py = y as f64 + 0.5;
            // Only the x the stroke passes near this row.
            let (mut lo, mut hi) = (a[0].min(b[0]), a[0].max(b[0]));
            if dy.abs() > 1e-9 {
                let t = |v: f64| ((v - a[1]) / dy).clamp(0.0, 1.0);
                let (t0, t1) = (t(py - reach), t(py + reach));
                (lo, hi) = (a[0] + dx * t0.min(t1), a[0] + dx * t0.max(t1));
                (lo, hi) = (lo.min(hi), lo.max(hi));
            }
            for x in clip(lo, hi, 0.0, width as f64 - 1.0) {
                let px = x as f64 + 0.5;
                let t = if length2 > 0.0 { ((px - a[0]) * dx + (py - a[1]) * dy) / length2 } else { 0.0 }
                    .clamp(0.0, 1.0);
                let (ex, ey) = (a[0] + dx * t - px, a[1] + dy * t - py);
                let cover = (half_width + 0.5 - (ex * ex + ey * ey).sqrt()).clamp(0.0, 1.0);
                let i = (y - band.first) * width + x;
                if cover <= 0.0 {
                    continue;
                }
                let depth = lens.depth(a[2] + (b[2] - a[2]) * t);
                let seen = f64::from(band.key[i]);
                if seen.is_finite() && depth > lens.depth(seen) + BIAS * lens.radius {
                    continue;
                }
                band.ink[i] = band.ink[i].max((cover * 255.0).round() as u8);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solid::curve::Arc;
    use nalgebra::Vector3;

    #[test]
    fn an_arc_becomes_chords_within_the_tolerance() {
        let arc = Arc { centre: Point3::origin(), x: Vector3::x(), y: Vector3::y(), sweep: 3.0 };
        let line = polyline(&Curve::Arc(arc), Tolerance::new(1e-3).unwrap());
        for w in line.windows(2) {
            // The middle of a chord is its furthest point from the unit circle (closed form).
            assert!(1.0 - nalgebra::center(&w[0], &w[1]).coords.norm() <= 1e-3);
        }
        assert_eq!(line.len(), 65);
        assert!((line[64] - Curve::Arc(arc).end()).norm() < 1e-15);
    }
}
