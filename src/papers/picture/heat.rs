//! The walls of a part by colour: thin dark red, thick pale yellow, on a scale whose lightness rises evenly, so that it
//! reads the same in grey and to eyes that do not tell red from green.

use super::camera::{Lens, View};
use super::glyphs;
use super::line::{Stroke, feature_edges};
use super::raster::{Buffer, OVER};
use super::{Image, LINE, LINE_LEAST, MOST, PictureError};
use crate::mesh::TriMesh;
use crate::solid::Solid;
use crate::units::Tolerance;
use crate::walls::map::Map;
use nalgebra::Point3;

/// Paper, and surface that nothing lies opposite to: a grey lighter than the thickest metal.
const PAPER: [u8; 3] = [255, 255, 255];
const NOTHING: [u8; 3] = [232, 236, 240];
const INK: [u8; 3] = [20, 20, 20];
/// Lightness of the thinnest and the thickest in Oklab (Ottosson, 2020), 0 to 1; hue and chroma between. Our choice.
const LIGHT: [f64; 2] = [0.30, 0.95];
const HUE: [f64; 2] = [15.0, 105.0];
const CHROMA: [f64; 3] = [0.11, 0.16, 0.09];
/// Where the scale may end, mm.
const ENDS: [f64; 10] = [0.2, 0.3, 0.5, 0.8, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0];
/// Share of the surface that the scale reaches over.
const REACH: f64 = 0.85;
/// A mark on a place is drawn where the place lies no deeper than this share of the scene behind what is seen.
const BEHIND: f64 = 0.02;

/// Colour of a share of the scale, 0 thin to 1 thick.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub fn wall_colour(share: f64) -> [u8; 3] {
    let t = if share.is_finite() { share.clamp(0.0, 1.0) } else { 1.0 };
    let mix = |a: f64, b: f64| a + (b - a) * t;
    let lightness = mix(LIGHT[0], LIGHT[1]);
    let hue = mix(HUE[0], HUE[1]).to_radians();
    let mut chroma = (1.0 - t) * (1.0 - t) * CHROMA[0] + 2.0 * t * (1.0 - t) * CHROMA[1] + t * t * CHROMA[2];
    // What a screen cannot show is paled at the same lightness and hue.
    loop {
        let rgb = linear(lightness, chroma * libm::cos(hue), chroma * libm::sin(hue));
        if chroma <= 0.0 || rgb.iter().all(|v| (-1e-6..=1.000_001).contains(v)) {
            return rgb.map(|v| (coded(v.clamp(0.0, 1.0)) * 255.0).round() as u8);
        }
        chroma = (chroma - 0.005).max(0.0);
    }
}

/// Linear sRGB of an Oklab colour: the two matrices of Ottosson, "A perceptual color space for image processing", 2020
/// (from memory; a test holds white, black and even lightness).
fn linear(l: f64, a: f64, b: f64) -> [f64; 3] {
    let x = (l + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
    let y = (l - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
    let z = (l - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
    [
        4.076_741_662_1 * x - 3.307_711_591_3 * y + 0.230_969_929_2 * z,
        -1.268_438_004_6 * x + 2.609_757_401_1 * y - 0.341_319_396_5 * z,
        -0.004_196_086_3 * x - 0.703_418_614_7 * y + 1.707_614_701_0 * z,
    ]
}

/// Transfer function of sRGB (IEC 61966-2-1).
fn coded(v: f64) -> f64 {
    if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * libm::pow(v, 1.0 / 2.4) - 0.055 }
}

/// Where the scale of a map ends, mm: the least round number that most of its surface stays below.
#[must_use]
pub fn scale_end(map: &Map) -> f64 {
    let mut all: Vec<(f64, f64)> =
        map.depth.iter().zip(&map.area).filter_map(|(d, a)| d.map(|d| (d.value.get(), *a))).collect();
    all.sort_by(|x, y| x.0.total_cmp(&y.0));
    let whole: f64 = all.iter().map(|x| x.1).sum();
    let mut sum = 0.0;
    let most = all.iter().find(|x| {
        sum += x.1;
        sum >= REACH * whole
    });
    let most = most.map_or(1.0, |x| x.0);
    ENDS.into_iter().find(|e| *e >= most).unwrap_or(10.0)
}

/// The map of a part from above and from below, with its scale; a ring marks `place`, both ends of a chord.
///
/// # Errors
/// See [`PictureError`].
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
pub fn wall_picture(
    map: &Map,
    solid: &Solid,
    place: Option<[Point3<f64>; 2]>,
    width: usize,
    height: usize,
) -> Result<Image, PictureError> {
    let size = PictureError::Size { width, height };
    let column = glyphs::HIGH * 9;
    let across = width.checked_sub(column).map(|w| w / 2).filter(|w| *w >= 64).ok_or(size.clone())?;
    if height < 96 || width.checked_mul(height).is_none_or(|p| p > MOST) {
        return Err(size);
    }
    let end = scale_end(map);
    let colours: Vec<[u8; 3]> =
        map.depth.iter().map(|d| d.map_or(NOTHING, |d| wall_colour(d.value.get() / end))).collect();
    let edges = Tolerance::new(0.002).map_or_else(Vec::new, |t| feature_edges(solid, t));
    let mut out = Image::plain(width, height, PAPER);
    for (k, view) in [View::ThreeQuarter, View::Underside].into_iter().enumerate() {
        let one = seen(&map.mesh, &colours, &edges, view, (across, height), place)?;
        out.lay(&one, k * across, 0);
    }
    scale(&mut out, 2 * across + glyphs::HIGH, height, end);
    Ok(out)
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn seen(
    mesh: &TriMesh,
    colours: &[[u8; 3]],
    edges: &[Vec<Point3<f64>>],
    view: View,
    (w, h): (usize, usize),
    place: Option<[Point3<f64>; 2]>,
) -> Result<Image, PictureError> {
    let triangles: Vec<[Point3<f64>; 3]> = (0..mesh.triangles.len()).map(|t| mesh.corners(t)).collect();
    let camera = super::Camera { margin: 0.08, ..view.camera() };
    let lens = Lens::fit(&camera, triangles.as_flattened(), w as f64, h as f64).ok_or(PictureError::Empty)?;
    let strokes = Stroke::of(&lens, edges.iter().map(Vec::as_slice));
    let half = (LINE * w.min(h) as f64).max(LINE_LEAST) * OVER as f64;
    let buffer = Buffer::fill(&lens, &triangles, (w * OVER, h * OVER), 2, |band| {
        for s in &strokes {
            s.draw(band, w * OVER, &lens, half);
        }
    });
    let mut image = Image::plain(w, h, PAPER);
    for y in 0..h {
        for x in 0..w {
            let mut sum = [0.0; 3];
            for i in 0..OVER * OVER {
                let (sx, sy) = (x * OVER + i % OVER, y * OVER + i / OVER);
                let id = buffer.id(sx, sy) as usize;
                let flat = id.checked_sub(1).and_then(|t| colours.get(t).copied()).unwrap_or(PAPER);
                let ink = 0.85 * buffer.ink(sx, sy);
                for c in 0..3 {
                    sum[c] += f64::from(flat[c]) * (1.0 - ink) + f64::from(INK[c]) * ink;
                }
            }
            image.dot(x, y, sum.map(|v| (v / (OVER * OVER) as f64).round() as u8));
        }
    }
    for p in place.into_iter().flatten() {
        let [x, y, key] = lens.project(&p);
        if !(x >= 0.0 && y >= 0.0 && x < w as f64 && y < h as f64) {
            continue;
        }
        let near = buffer.key((x * OVER as f64) as usize, (y * OVER as f64) as usize);
        if lens.depth(key) <= lens.depth(f64::from(near)) + BEHIND * lens.radius {
            ring(&mut image, x, y, h as f64 * 0.022);
        }
    }
    Ok(image)
}

/// A dark ring with a light seam on both sides.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn ring(image: &mut Image, x: f64, y: f64, r: f64) {
    let reach = r + 4.0;
    let range =
        |c: f64, most: usize| ((c - reach).max(0.0) as usize)..((c + reach).max(0.0) as usize + 1).min(most);
    for j in range(y, image.height()) {
        for i in range(x, image.width()) {
            let off = (libm::hypot(i as f64 + 0.5 - x, j as f64 + 0.5 - y) - r).abs();
            if off < 1.3 {
                image.dot(i, j, INK);
            } else if off < 2.6 {
                image.dot(i, j, PAPER);
            }
        }
    }
}

/// The scale: thick on top, a figure at each fifth, mm.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn scale(image: &mut Image, left: usize, height: usize, end: f64) {
    let (top, bottom) = (height / 8, height - height / 5);
    let wide = glyphs::HIGH;
    for y in top..bottom {
        let share = 1.0 - (y - top) as f64 / (bottom - 1 - top).max(1) as f64;
        for x in left..left + wide {
            image.dot(x, y, wall_colour(share));
        }
    }
    let text = left + wide + wide / 2;
    for i in 0..=5 {
        let y = bottom - (bottom - top) * i / 5;
        (left + wide..left + wide + wide / 4).for_each(|x| image.dot(x, y.min(bottom - 1), INK));
        let more = if i == 5 { "+" } else { "" };
        let word = format!("{:.2}{more}", end * i as f64 / 5.0);
        glyphs::write(image, text, y.saturating_sub(glyphs::HIGH / 2), &word, INK);
    }
    glyphs::write(image, left, top.saturating_sub(2 * glyphs::HIGH), "mm", INK);
    let y = bottom + glyphs::HIGH;
    for j in y..(y + wide).min(height) {
        for i in left..left + wide {
            let border = i == left || i + 1 == left + wide || j == y || j + 1 == y + wide;
            image.dot(i, j, if border { INK } else { NOTHING });
        }
    }
    glyphs::write(image, text, y, "none", INK);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance after IEC 61966-2-1.
    fn luminance(c: [u8; 3]) -> f64 {
        let l = c.map(|v| {
            let v = f64::from(v) / 255.0;
            if v <= 0.040_45 { v / 12.92 } else { libm::pow((v + 0.055) / 1.055, 2.4) }
        });
        0.2126 * l[0] + 0.7152 * l[1] + 0.0722 * l[2]
    }

    #[test]
    fn the_scale_reads_in_grey() {
        // CIE 1976 lightness: rises at every step, no step twice the mean one.
        let lightness: Vec<f64> = (0..=50)
            .map(|i| {
                let y = luminance(wall_colour(f64::from(i) / 50.0));
                if y > 0.008_856 { 116.0 * libm::cbrt(y) - 16.0 } else { 903.3 * y }
            })
            .collect();
        let mean = (lightness[50] - lightness[0]) / 50.0;
        assert!(mean > 1.1, "{lightness:?}");
        for w in lightness.windows(2) {
            assert!(w[1] - w[0] > 0.3 * mean && w[1] - w[0] < 2.0 * mean, "{lightness:?}");
        }
        let near = |c: [f64; 3], v: f64| c.iter().all(|x| (x - v).abs() < 1e-6);
        assert!(near(linear(1.0, 0.0, 0.0), 1.0) && near(linear(0.0, 0.0, 0.0), 0.0));
    }
}
