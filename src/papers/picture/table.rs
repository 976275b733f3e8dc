//! The table under the part: how much of the room's light reaches it, measured by rays on a grid.

use super::camera::Lens;
use super::rays::Tree;
use super::rows::rows;
use super::scatter::{Scatter, blend};
use super::studio::Studio;
use nalgebra::{Point3, Vector3};

/// Grid places along each side.
const GRID: usize = 152;
/// Rays from each.
const RAYS: u32 = 20;
/// Free width around the part in radii of the scene: beyond it the shadow has faded.
const BORDER: f64 = 1.1;

/// Mean over a window four places wide in both directions, so that each of the sixteen sets of rays counts the same.
fn even_out(grid: &[f64]) -> Vec<f64> {
    let pass = |from: &[f64], step: usize, across: bool| {
        let last = GRID - 1;
        (0..from.len())
            .map(|i| {
                let at = if across { i % GRID } else { i / GRID };
                let base = i - at * step;
                let take = |k: usize| from[base + (at + k).saturating_sub(2).min(last) * step];
                (take(0) + take(4)) / 8.0 + (take(1) + take(2) + take(3)) / 4.0
            })
            .collect::<Vec<f64>>()
    };
    pass(&pass(grid, 1, true), GRID, false)
}

/// Shadow on the table.
pub(super) struct Table {
    up: Vector3<f64>,
    u: Vector3<f64>,
    v: Vector3<f64>,
    height: f64,
    centre: Point3<f64>,
    radius: f64,
    /// Corner of the grid and its step, mm.
    corner: [f64; 2],
    step: [f64; 2],
    grid: Vec<f64>,
}

impl Table {
    /// A table that touches the lowest of the points.
    #[allow(clippy::cast_precision_loss)]
    pub(super) fn new(
        lens: &Lens,
        studio: &Studio,
        tree: &Tree,
        points: &[Point3<f64>],
        threads: usize,
    ) -> Self {
        let up = lens.stage_up;
        let u = lens.right;
        let v = up.cross(&u);
        let height = points.iter().map(|p| p.coords.dot(&up)).fold(f64::INFINITY, f64::min);
        let (mut lo, mut hi) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in points {
            for (i, axis) in [u, v].iter().enumerate() {
                let c = p.coords.dot(axis);
                lo[i] = lo[i].min(c - BORDER * lens.radius);
                hi[i] = hi[i].max(c + BORDER * lens.radius);
            }
        }
        let step = [0, 1].map(|i| (hi[i] - lo[i]) / (GRID - 1) as f64);
        let mut table = Self {
            up,
            u,
            v,
            height,
            centre: lens.centre,
            radius: lens.radius,
            corner: lo,
            step,
            grid: Vec::new(),
        };
        let scatter = Scatter::new(RAYS);
        let rows = rows(threads, GRID, |y| {
            (0..GRID)
                .map(|x| {
                    // A hair above the table, which the part touches.
                    let g = table.place(x as f64, y as f64) + up * (1e-4 * lens.radius);
                    let (mut seen, mut all) = (0.0, 0.0);
                    for d in scatter.about(x, y, &up) {
                        let light = studio.light(&g, &d, 0.2).sum();
                        all += light;
                        if !tree.blocked(&g, &d, f64::INFINITY) {
                            seen += light;
                        }
                    }
                    seen / all
                })
                .collect::<Vec<f64>>()
        });
        table.grid = even_out(&rows.concat());
        table
    }
    fn place(&self, x: f64, y: f64) -> Point3<f64> {
        let (a, b) = (self.corner[0] + x * self.step[0], self.corner[1] + y * self.step[1]);
        Point3::from(self.u * a + self.v * b + self.up * self.height)
    }
    /// Where a ray meets the table, and how many radii of the scene that is from its middle.
    pub(super) fn meet(&self, from: &Point3<f64>, d: &Vector3<f64>) -> Option<(Point3<f64>, f64)> {
        let down = -d.dot(&self.up);
        if down < 1e-6 {
            return None;
        }
        let t = (from.coords.dot(&self.up) - self.height) / down;
        let g = from + d * t.max(0.0);
        Some((g, (g - self.centre).norm() / self.radius))
    }
    /// Share of the room's light that reaches a point of the table, 0 to 1.
    #[allow(
        clippy::cast_possible_wrap,
        clippy::cast_sign_loss,
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss
    )]
    pub(super) fn open(&self, g: &Point3<f64>) -> f64 {
        let last = GRID as i64 - 1;
        let at = |axis: &Vector3<f64>, i: usize| (g.coords.dot(axis) - self.corner[i]) / self.step[i];
        let (x, y) = (at(&self.u, 0), at(&self.v, 1));
        // Fades to full light over the outer tenth of the grid and stays there.
        let inside = |t: f64| super::studio::smooth(0.0, 0.1, (t / last as f64).min(1.0 - t / last as f64));
        let weight = inside(x) * inside(y);
        if weight.is_nan() || weight <= 0.0 {
            return 1.0;
        }
        let ((x0, wx), (y0, wy)) = (blend(x), blend(y));
        let mut sum = 0.0;
        for (j, b) in wy.iter().enumerate() {
            let row = (y0 + j as i64).clamp(0, last) as usize * GRID;
            for (i, a) in wx.iter().enumerate() {
                sum += a * b * self.grid[row + (x0 + i as i64).clamp(0, last) as usize];
            }
        }
        1.0 + (sum - 1.0) * weight
    }
}
