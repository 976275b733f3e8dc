//! Ambient occlusion: the share of the wide light that reaches each place of the bodies, measured by rays on a coarse
//! grid of the picture, face by face, and blended smoothly.

use super::raster::{Buffer, OVER};
use super::rows::rows;
use super::scatter::{Scatter, blend};
use super::stage::Stage;
use nalgebra::Vector3;

/// Pixels along each side of a cell.
const CELL: usize = 4;
/// Rays from each place.
const RAYS: u32 = 24;

/// One measurement.
struct Entry {
    key: u32,
    normal: Vector3<f64>,
    open: f64,
}

/// Measurements by cell.
pub(super) struct Ambient {
    across: usize,
    down: usize,
    cells: Vec<Vec<Entry>>,
}

impl Ambient {
    /// Measures each face seen in each cell once.
    #[allow(clippy::cast_precision_loss)]
    pub(super) fn measure(stage: &Stage, seen: &Buffer, threads: usize) -> Self {
        let side = CELL * OVER;
        let (across, down) = (seen.width.div_ceil(side), seen.height.div_ceil(side));
        let scatter = Scatter::new(RAYS);
        let lines = rows(threads, down, |cy| {
            (0..across)
                .map(|cx| {
                    // Per face: the sample nearest to the middle of the cell.
                    let mut found: Vec<(u32, usize, usize, usize, usize)> = Vec::new();
                    for y in cy * side..((cy + 1) * side).min(seen.height) {
                        for x in cx * side..((cx + 1) * side).min(seen.width) {
                            let id = seen.id(x, y) as usize;
                            if id == 0 {
                                continue;
                            }
                            let key = stage.parts[id - 1].key;
                            let off = |v: usize, c: usize| (2 * v + 1).abs_diff((2 * c + 1) * side);
                            let far = off(x, cx).pow(2) + off(y, cy).pow(2);
                            match found.iter_mut().find(|f| f.0 == key) {
                                Some(f) if far < f.1 => *f = (key, far, x, y, id - 1),
                                Some(_) => {}
                                None => found.push((key, far, x, y, id - 1)),
                            }
                        }
                    }
                    found
                        .into_iter()
                        .map(|(key, _, x, y, part)| {
                            let at = |v: usize| (v as f64 + 0.5) / OVER as f64;
                            let spot = stage.spot(part, at(x), at(y));
                            let from = stage.above(&spot);
                            let sum: f64 = scatter
                                .about(cx, cy, &spot.normal)
                                .map(|d| {
                                    if stage.tree.blocked(&from, &d, f64::INFINITY) {
                                        0.0
                                    } else {
                                        stage.table.meet(&from, &d).map_or(1.0, |(g, _)| stage.table.open(&g))
                                    }
                                })
                                .sum();
                            Entry { key, normal: spot.normal, open: sum / f64::from(RAYS) }
                        })
                        .collect::<Vec<_>>()
                })
                .collect::<Vec<_>>()
        });
        Self { across, down, cells: lines.into_iter().flatten().collect() }
    }

    /// Share of the wide light at a picture point that shows a face with this normal.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_possible_wrap,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss
    )]
    pub(super) fn open(&self, x: f64, y: f64, key: u32, n: &Vector3<f64>) -> f64 {
        let place = |v: f64| v / CELL as f64 - 0.5;
        let ((x0, wx), (y0, wy)) = (blend(place(x)), blend(place(y)));
        let (mut sum, mut weights) = (0.0, 0.0);
        for (j, b) in wy.iter().enumerate() {
            for (i, a) in wx.iter().enumerate() {
                let (cx, cy) = (x0 + i as i64, y0 + j as i64);
                if cx < 0 || cy < 0 || cx as usize >= self.across || cy as usize >= self.down {
                    continue;
                }
                for e in &self.cells[cy as usize * self.across + cx as usize] {
                    let like = e.normal.dot(n);
                    if e.key == key && like > 0.0 {
                        // Normals further apart tell less about each other.
                        let w = a * b * like * like * like * like;
                        sum += w * e.open;
                        weights += w;
                    }
                }
            }
        }
        if weights > 0.0 { sum / weights } else { 1.0 }
    }
}
