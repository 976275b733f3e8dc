//! Triangles on spheres and tori: an even grid of points inside the border, in the face's own coordinates laid out in mm,
//! joined by constrained Delaunay triangulation.

use super::fill::{Conflict, fill};
use crate::solid::{Face, Torus};
use nalgebra::Point3;

/// Edges of these faces are divided for this part of the tolerance: a facet at the border has its error twice over, along
/// and across, and a mixed part.
pub(super) const EDGE_PART: f64 = 0.25;

/// How often the grid may be made finer by [`FINER`] until every facet is proved to keep the tolerance.
const ATTEMPTS: u32 = 8;
const FINER: f64 = 0.7;

/// Points of the grid keep this part of its width from the border.
const CLEAR: f64 = 0.45;

/// What a face becomes: points inside it, triangles (the border's own numbers, then those of the new points), bound.
pub(super) struct Filled {
    pub(super) inside: Vec<Point3<f64>>,
    pub(super) triangles: Vec<[u32; 3]>,
    pub(super) bound: f64,
}

/// Fills a face whose loops run counter-clockwise in its coordinates. New points get numbers from `next` on.
pub(super) fn fill_round(
    face: &Face,
    torus: &Torus,
    loops: &[Vec<u32>],
    positions: &[Point3<f64>],
    next: u32,
    tol: f64,
) -> Result<Filled, Conflict> {
    let ids: Vec<u32> = loops.iter().flatten().copied().collect();
    let border: Vec<Point3<f64>> = ids.iter().map(|&v| positions[v as usize]).collect();
    let coordinates: Vec<[f64; 2]> = border.iter().map(|p| face.coordinates(p)).collect();
    let mut sides = Vec::with_capacity(ids.len());
    let mut from = 0;
    for l in loops {
        sides.extend((0..l.len()).map(|i| [from + i, from + (i + 1) % l.len()]));
        from += l.len();
    }
    let scale = if torus.is_sphere() { [torus.minor; 2] } else { [torus.major + torus.minor, torus.minor] };
    let off = border.iter().map(|p| face.surface.distance(p)).fold(0.0, f64::max);
    let mut part = 1.0;
    let mut last = None;
    for _ in 0..ATTEMPTS {
        // Along either coordinate a step `h` has the error `scale h^2 / 8`.
        let step = scale.map(|s| part * (4.0 * tol / s).sqrt());
        let mut c = coordinates.clone();
        c.extend(grid(&coordinates, &sides, step));
        let flat: Vec<[f64; 2]> = c.iter().map(|c| [c[0] * scale[0], c[1] * scale[1]]).collect();
        let somewhere =
            |Conflict(i): Conflict| Conflict(ids.get(i).or(ids.first()).map_or(0, |&v| v as usize));
        let triangles = fill(&flat, &sides).map_err(somewhere)?;
        let mut points = border.clone();
        points.extend(c[border.len()..].iter().map(|&c| face.at(c)));
        let bound = triangles
            .iter()
            .map(|t| torus.facet_bound(&t.map(|i| points[i]), &t.map(|i| c[i])))
            .fold(0.0, f64::max)
            + off;
        let number = |i: usize| {
            #[allow(clippy::cast_possible_truncation)]
            ids.get(i).copied().unwrap_or_else(|| next + (i - ids.len()) as u32)
        };
        last = Some(Filled {
            inside: points.split_off(border.len()),
            triangles: triangles.into_iter().map(|t| t.map(number)).collect(),
            bound,
        });
        if bound <= tol {
            break;
        }
        part *= FINER;
    }
    last.ok_or(Conflict(0))
}

/// Points of an even grid over the box of a border, inside and clear of it.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn grid(border: &[[f64; 2]], sides: &[[usize; 2]], step: [f64; 2]) -> Vec<[f64; 2]> {
    let extent = |k: usize| {
        let (low, high) = border.iter().fold((f64::MAX, f64::MIN), |(l, h), c| (l.min(c[k]), h.max(c[k])));
        let n = ((high - low) / step[k]).ceil().clamp(1.0, 4096.0);
        (low, (high - low) / n, n as u32)
    };
    let ((x0, dx, nx), (y0, dy, ny)) = (extent(0), extent(1));
    let mut out = Vec::new();
    for j in 1..ny {
        let y = y0 + dy * f64::from(j);
        // Sides within reach of this row, and where the border passes it.
        let near: Vec<&[usize; 2]> = sides
            .iter()
            .filter(|[a, b]| {
                let (a, b) = (border[*a][1], border[*b][1]);
                a.min(b) - dy <= y && a.max(b) + dy >= y
            })
            .collect();
        let mut passes: Vec<f64> = near
            .iter()
            .map(|s| (border[s[0]], border[s[1]]))
            .filter(|(a, b)| (a[1] > y) != (b[1] > y))
            .map(|(a, b)| a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]))
            .collect();
        passes.sort_by(f64::total_cmp);
        for i in 1..nx {
            let x = x0 + dx * f64::from(i);
            if passes.partition_point(|&p| p < x) % 2 == 0 {
                continue;
            }
            // In units of the grid.
            let at = |i: usize| [(border[i][0] - x) / dx, (border[i][1] - y) / dy];
            if near.iter().all(|s| from_origin(at(s[0]), at(s[1])) > CLEAR) {
                out.push([x, y]);
            }
        }
    }
    out
}

/// Distance of a segment from the origin.
fn from_origin(a: [f64; 2], b: [f64; 2]) -> f64 {
    let d = [b[0] - a[0], b[1] - a[1]];
    let l = d[0] * d[0] + d[1] * d[1];
    let t = if l > 0.0 { (-(a[0] * d[0] + a[1] * d[1]) / l).clamp(0.0, 1.0) } else { 0.0 };
    libm::hypot(a[0] + t * d[0], a[1] + t * d[1])
}
