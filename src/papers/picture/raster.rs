//! What is seen at each sample: triangles filled by exact integer edge functions, nearest first.

use super::camera::Lens;
use super::rows::rows;
use nalgebra::Point3;

/// Samples along each side of a pixel.
pub(super) const OVER: usize = 3;
/// Steps a sample is divided into for the integer edge functions.
const STEPS: f64 = 256.0;
const HALF: i64 = 128;
/// Sample rows filled by one piece of work.
const BAND: usize = 96;

/// The samples of a picture.
pub(super) struct Buffer {
    pub width: usize,
    pub height: usize,
    bands: Vec<Band>,
}

/// A few sample rows.
pub(super) struct Band {
    pub first: usize,
    pub rows: usize,
    /// Depth key of [`Lens::project`].
    pub key: Vec<f32>,
    /// Triangle seen, counted from 1; 0 for none.
    pub id: Vec<u32>,
    /// Share of the sample that a line covers, 0 to 255.
    pub ink: Vec<u8>,
}

/// A triangle on the sample grid.
struct Flat {
    /// Corners in steps, turned so that the inside lies where edge functions are positive.
    corners: [[i64; 2]; 3],
    key: [f64; 3],
    id: u32,
}

impl Buffer {
    /// Fills a buffer of `width` x `height` samples with triangles counter-clockwise seen from outside; those seen from
    /// inside are left out. `finish` then works on each band.
    #[allow(clippy::cast_possible_truncation)]
    pub(super) fn fill(
        lens: &Lens,
        triangles: &[[Point3<f64>; 3]],
        (width, height): (usize, usize),
        threads: usize,
        finish: impl Fn(&mut Band) + Sync,
    ) -> Self {
        let flat: Vec<Flat> =
            triangles.iter().enumerate().filter_map(|(i, t)| Flat::new(lens, t, i as u32 + 1)).collect();
        let bands = rows(threads, height.div_ceil(BAND), |b| {
            let first = b * BAND;
            let rows = BAND.min(height - first);
            let n = rows * width;
            let mut band = Band { first, rows, key: vec![f32::INFINITY; n], id: vec![0; n], ink: vec![0; n] };
            for t in &flat {
                t.fill(&mut band, width);
            }
            finish(&mut band);
            band
        });
        Self { width, height, bands }
    }
    /// Triangle seen at a sample, counted from 1; 0 for none.
    pub(super) fn id(&self, x: usize, y: usize) -> u32 {
        self.bands[y / BAND].id[(y % BAND) * self.width + x]
    }
    /// Depth key at a sample.
    pub(super) fn key(&self, x: usize, y: usize) -> f32 {
        self.bands[y / BAND].key[(y % BAND) * self.width + x]
    }
    /// Share of a sample covered by a line.
    pub(super) fn ink(&self, x: usize, y: usize) -> f64 {
        f64::from(self.bands[y / BAND].ink[(y % BAND) * self.width + x]) / 255.0
    }
}

impl Flat {
    /// `None` if seen from inside or edge-on, or beyond what the integers hold.
    #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)]
    fn new(lens: &Lens, t: &[Point3<f64>; 3], id: u32) -> Option<Self> {
        // 2^30 steps: products of differences stay far below 2^63.
        const REACH: f64 = 1_073_741_824.0;
        let mut q = [[0_i64; 2]; 3];
        let mut key = [0.0; 3];
        for (i, p) in t.iter().enumerate() {
            let [x, y, k] = lens.project(p);
            let scale = OVER as f64 * STEPS;
            let (x, y) = ((x * scale).round(), (y * scale).round());
            if !(x.abs() < REACH && y.abs() < REACH && k.is_finite()) {
                return None;
            }
            q[i] = [x as i64, y as i64];
            key[i] = k;
        }
        // The picture's y runs down, so an outside turns clockwise; swap to make the area positive.
        q.swap(1, 2);
        key.swap(1, 2);
        (edge(q[0], q[1], q[2]) > 0).then_some(Self { corners: q, key, id })
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, clippy::cast_sign_loss)]
    fn fill(&self, band: &mut Band, width: usize) {
        let c = &self.corners;
        let ys = c.map(|p| p[1]);
        let xs = c.map(|p| p[0]);
        let row = |y: i64| (y - HALF).div_euclid(256);
        let (top, bottom) =
            (row(min(ys)).max(band.first as i64), row(max(ys)).min((band.first + band.rows) as i64 - 1));
        let (left, right) = (row(min(xs)).max(0), row(max(xs)).min(width as i64 - 1));
        let area = edge(c[0], c[1], c[2]) as f64;
        let (lowest, highest) = (
            self.key.iter().copied().fold(f64::INFINITY, f64::min),
            self.key.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        );
        for y in top..=bottom {
            let at = |x: i64| [x * 256 + HALF, y * 256 + HALF];
            // Samples x with all three edge functions positive (or zero on a top or left edge).
            let (mut from, mut to) = (left, right);
            for i in 0..3 {
                let (a, b) = (c[i], c[(i + 1) % 3]);
                let slope = -(b[1] - a[1]) * 256;
                let rest = edge(a, b, at(0)) - i64::from(!closed(a, b));
                // slope * x + rest >= 0
                match slope {
                    0 if rest < 0 => to = from - 1,
                    0 => {}
                    s if s > 0 => from = from.max(-rest.div_euclid(s)),
                    s => to = to.min(rest.div_euclid(-s)),
                }
            }
            if from > to {
                continue;
            }
            let line = (y as usize - band.first) * width;
            let weight = |i: usize, x: i64| edge(c[(i + 1) % 3], c[(i + 2) % 3], at(x)) as f64 / area;
            let key_at = |x: i64| (0..3).map(|i| weight(i, x) * self.key[i]).sum::<f64>();
            let start = key_at(from);
            let step = if to > from { (key_at(to) - start) / (to - from) as f64 } else { 0.0 };
            for x in from..=to {
                let key = (start + step * (x - from) as f64).clamp(lowest, highest) as f32;
                let i = line + x as usize;
                if key < band.key[i] {
                    band.key[i] = key;
                    band.id[i] = self.id;
                }
            }
        }
    }
}

/// Twice the area of the triangle a, b, p; positive if p lies to the right of a to b as the picture's y runs down.
fn edge(a: [i64; 2], b: [i64; 2], p: [i64; 2]) -> i64 {
    (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
}

/// Whether samples exactly on the edge belong to this triangle, so that neighbours share none and leave none.
fn closed(a: [i64; 2], b: [i64; 2]) -> bool {
    b[1] < a[1] || (b[1] == a[1] && b[0] > a[0])
}

fn min(v: [i64; 3]) -> i64 {
    v[0].min(v[1]).min(v[2])
}

fn max(v: [i64; 3]) -> i64 {
    v[0].max(v[1]).max(v[2])
}
