//! From light to pixels: tone curve, shading of the samples, and the filter that gathers them.

use super::ambient::Ambient;
use super::material::Rgb;
use super::raster::{Buffer, OVER};
use super::rows::rows;
use super::stage::Stage;
use super::studio::Studio;

/// Pixel rows developed by one piece of work.
const BAND: usize = 32;
/// Neighbouring pixels that differ by more than this (light shown, 0 to 1) are shaded sample by sample.
const CONTRAST: f32 = 0.04;
/// Reach of the filter in samples: with weights 1 2 3 ... it is a tent two pixels wide.
const REACH: usize = OVER - 1;
/// How dark a line is and how strongly it covers. Our choice.
const LINE: f32 = 0.045;
const LINE_STRENGTH: f64 = 0.62;
/// Exposure before the tone curve. Our choice.
const EXPOSURE: f64 = 1.0;

type Light = [f32; 3];

/// The finished picture, 8 bit sRGB, row by row.
pub(super) fn develop(stage: &Stage, seen: &Buffer, ambient: &Ambient, threads: usize) -> Vec<u8> {
    let (w, h) = (seen.width / OVER, seen.height / OVER);
    let job = Job { stage, seen, ambient, w, h };
    let code = code_table();
    rows(threads, h.div_ceil(BAND), |b| job.band(b * BAND, ((b + 1) * BAND).min(h), &code)).concat()
}

struct Job<'a> {
    stage: &'a Stage<'a>,
    seen: &'a Buffer,
    ambient: &'a Ambient,
    w: usize,
    h: usize,
}

/// Sample colours of a few pixel rows.
struct Strip {
    first: usize,
    width: usize,
    light: Vec<Light>,
}

impl Strip {
    fn at(&self, x: usize, y: usize) -> usize {
        (y - self.first * OVER) * self.width + x
    }
}

impl Job<'_> {
    /// Bytes of the pixel rows from `top` to before `bottom`.
    fn band(&self, top: usize, bottom: usize, code: &[u8]) -> Vec<u8> {
        // The filter reaches one pixel beyond, the contrast test another.
        let (outer, end) = (top.saturating_sub(2), (bottom + 2).min(self.h));
        let width = self.seen.width;
        let mut strip = Strip { first: outer, width, light: vec![[0.0; 3]; (end - outer) * OVER * width] };
        for y in outer..end {
            for x in 0..self.w {
                self.shade_pixel(&mut strip, x, y);
            }
        }
        let rough: Vec<(usize, usize)> = (top.saturating_sub(1)..(bottom + 1).min(self.h))
            .flat_map(|y| (0..self.w).map(move |x| (x, y)))
            .filter(|&(x, y)| self.is_rough(&strip, x, y))
            .collect();
        for (x, y) in rough {
            self.refine_pixel(&mut strip, x, y);
        }
        self.draw_lines(&mut strip);
        let mut out = Vec::with_capacity((bottom - top) * self.w * 3);
        for y in top..bottom {
            for x in 0..self.w {
                out.extend(self.gather(&strip, x, y).map(|v| encode(code, v)));
            }
        }
        out
    }

    /// Shades each face seen in a pixel once, at the sample nearest to the middle of what is seen of it.
    #[allow(clippy::cast_precision_loss)]
    fn shade_pixel(&self, strip: &mut Strip, x: usize, y: usize) {
        let samples: [(usize, usize); OVER * OVER] =
            std::array::from_fn(|i| (x * OVER + i % OVER, y * OVER + i / OVER));
        let ids = samples.map(|(sx, sy)| self.seen.id(sx, sy));
        let keys = ids.map(|id| self.key(id));
        let mut done = [false; OVER * OVER];
        for i in 0..samples.len() {
            if done[i] {
                continue;
            }
            let group: Vec<usize> = (i..samples.len()).filter(|&j| keys[j] == keys[i]).collect();
            let n = group.len() as f64;
            let mean = group
                .iter()
                .fold([0.0, 0.0], |m, &j| [m[0] + samples[j].0 as f64 / n, m[1] + samples[j].1 as f64 / n]);
            let off =
                |j: usize| (samples[j].0 as f64 - mean[0]).powi(2) + (samples[j].1 as f64 - mean[1]).powi(2);
            let middle = group.iter().copied().min_by(|&a, &b| off(a).total_cmp(&off(b))).unwrap_or(i);
            let light = self.sample(samples[middle].0, samples[middle].1, ids[middle]);
            for j in group {
                done[j] = true;
                let at = strip.at(samples[j].0, samples[j].1);
                strip.light[at] = light;
            }
        }
    }
    fn key(&self, id: u32) -> Option<u32> {
        (id as usize).checked_sub(1).map(|i| self.stage.parts[i].key)
    }
    /// Light shown at a sample, 0 to 1.
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
    fn sample(&self, sx: usize, sy: usize, id: u32) -> Light {
        let (x, y) = ((sx as f64 + 0.5) / OVER as f64, (sy as f64 + 0.5) / OVER as f64);
        let rgb = if let Some(part) = (id as usize).checked_sub(1) {
            let spot = self.stage.spot(part, x, y);
            let open = self.ambient.open(x, y, self.stage.parts[part].key, &spot.normal);
            tone(&self.stage.shade(&spot, open))
        } else {
            self.backdrop(x, y)
        };
        [rgb.x as f32, rgb.y as f32, rgb.z as f32]
    }
    #[allow(clippy::cast_precision_loss)]
    fn backdrop(&self, x: f64, y: f64) -> Rgb {
        let sheet = Studio::backdrop(x / self.w as f64, y / self.h as f64);
        let (eye, look) = self.stage.lens.ray(x, y);
        let Some((g, _)) = self.stage.table.meet(&eye, &look) else { return sheet };
        // Light from all around the frame fills the deepest shadow a little.
        let shaded = sheet * (0.08 + 0.92 * self.stage.table.open(&g));
        match self.stage.table_mirror(&g, &look) {
            Some((light, share)) => shaded + (tone(&light) - shaded) * share,
            None => shaded,
        }
    }
    fn is_rough(&self, strip: &Strip, x: usize, y: usize) -> bool {
        let middle = |x: usize, y: usize| {
            let (sx, sy) = (x * OVER + OVER / 2, y * OVER + OVER / 2);
            (self.key(self.seen.id(sx, sy)), strip.light[strip.at(sx, sy)])
        };
        let (key, light) = middle(x, y);
        let Some(key) = key else { return false };
        let last = [self.w - 1, self.h - 1];
        [
            (x.saturating_sub(1), y),
            ((x + 1).min(last[0]), y),
            (x, y.saturating_sub(1)),
            (x, (y + 1).min(last[1])),
        ]
        .into_iter()
        .map(|(x, y)| middle(x, y))
        .any(|(k, l)| k == Some(key) && (0..3).any(|i| (l[i] - light[i]).abs() > CONTRAST))
    }
    fn refine_pixel(&self, strip: &mut Strip, x: usize, y: usize) {
        for sy in y * OVER..(y + 1) * OVER {
            for sx in x * OVER..(x + 1) * OVER {
                let at = strip.at(sx, sy);
                let id = self.seen.id(sx, sy);
                if id > 0 {
                    strip.light[at] = self.sample(sx, sy, id);
                }
            }
        }
    }
    #[allow(clippy::cast_possible_truncation)]
    fn draw_lines(&self, strip: &mut Strip) {
        for (i, light) in strip.light.iter_mut().enumerate() {
            let (x, y) = (i % strip.width, i / strip.width + strip.first * OVER);
            let ink = self.seen.ink(x, y);
            if ink > 0.0 {
                let cover = (ink * LINE_STRENGTH) as f32;
                for v in light {
                    *v += (LINE.min(*v) - *v) * cover;
                }
            }
        }
    }
    /// Tent filter over the samples; at the border of the picture over those that exist.
    #[allow(clippy::cast_precision_loss)]
    fn gather(&self, strip: &Strip, x: usize, y: usize) -> Light {
        let span = |v: usize, end: usize| {
            let middle = v * OVER + OVER / 2;
            (middle.saturating_sub(REACH)..(middle + REACH + 1).min(end))
                .map(move |s| (s, (REACH + 1 - s.abs_diff(middle)) as f32))
        };
        let (mut sum, mut weights) = ([0.0_f32; 3], 0.0_f32);
        for (sy, b) in span(y, self.seen.height) {
            for (sx, a) in span(x, self.seen.width) {
                let light = strip.light[strip.at(sx, sy)];
                for i in 0..3 {
                    sum[i] += light[i] * a * b;
                }
                weights += a * b;
            }
        }
        sum.map(|s| s / weights)
    }
}

/// Straight near black, bends towards white and never passes it.
fn tone(light: &Rgb) -> Rgb {
    light.map(|v| {
        let v = v * EXPOSURE;
        v / libm::cbrt(1.0 + v * v * v)
    })
}

/// Steps of the table from light to byte: fine enough that the steepest place, near black, changes by 0.05 of a byte.
const CODES: usize = 65_536;

/// sRGB transfer function (IEC 61966-2-1) as a table.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn code_table() -> Vec<u8> {
    (0..CODES)
        .map(|i| {
            let v = i as f64 / (CODES - 1) as f64;
            let s = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * libm::pow(v, 1.0 / 2.4) - 0.055 };
            (s * 255.0).round() as u8
        })
        .collect()
}

#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn encode(code: &[u8], v: f32) -> u8 {
    let i = (v.clamp(0.0, 1.0) * (CODES - 1) as f32).round() as usize;
    code.get(i).copied().unwrap_or(255)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_follow_the_transfer_function() {
        let code = code_table();
        // Points of IEC 61966-2-1: ends, and middle grey 0.2140 <-> 0.5 (from memory).
        assert_eq!(
            [0.0, 1.0, 0.2140, 2.0, -1.0, f32::NAN].map(|v| encode(&code, v)),
            [0, 255, 127, 255, 0, 0]
        );
        assert!(code.is_sorted());
    }
}
