//! The studio around the part: lamps, walls, table and backdrop, as formulas of a direction. All of it is our choice.
//!
//! Stage frame: x to the right of the picture, y towards the viewer, z up from the table.

use super::camera::Lens;
use super::material::Rgb;
use nalgebra::{Point3, Vector3};

/// Distance of walls and lamps in radii of the scene: near enough that a flat face shows a gradient.
const ROOM: f64 = 3.2;
/// Directions the wide light is measured in.
const DIRECTIONS: u32 = 4096;
/// Light that comes back from the table where nothing shades it.
const TABLE: f64 = 0.66;

/// The lit room in the frame of one picture.
pub(super) struct Studio {
    axes: [Vector3<f64>; 3],
    centre: Point3<f64>,
    reach: f64,
    lamps: Vec<Lamp>,
    wide: [Rgb; 9],
}

/// A rectangular soft box seen from the part.
struct Lamp {
    /// Unit vector to its middle and, square to it, along its sides.
    to: Vector3<f64>,
    u: Vector3<f64>,
    v: Vector3<f64>,
    /// Half sides as tangents.
    half: [f64; 2],
    light: Rgb,
}

impl Lamp {
    fn new(to: [f64; 3], half: [f64; 2], light: Rgb) -> Self {
        let to = Vector3::from(to).normalize();
        let up = if to.z.abs() > 0.95 { Vector3::y() } else { Vector3::z() };
        let u = up.cross(&to).normalize();
        Self { to, u, v: to.cross(&u), half, light }
    }
    /// Share of the lamp's light in a direction, 1 in its middle.
    fn seen(&self, d: &Vector3<f64>, soft: f64) -> f64 {
        let c = d.dot(&self.to);
        if c <= 0.05 {
            return 0.0;
        }
        let (x, y) = (d.dot(&self.u) / c, d.dot(&self.v) / c);
        let side = |x: f64, half: f64| smooth(half + soft, half - soft, x.abs());
        let inside = side(x, self.half[0]) * side(y, self.half[1]);
        // A soft box is brighter in the middle than at its frame.
        let (p, q) = (x / self.half[0], y / self.half[1]);
        inside * (1.0 - 0.22 * (p * p + q * q).min(2.0))
    }
}

impl Studio {
    pub(super) fn new(lens: &Lens) -> Self {
        let toward = lens.right.cross(&lens.stage_up);
        let lamps = vec![
            // Large box to the left, a little behind the viewer; cool strip to the right; rim from behind; ceiling.
            Lamp::new([-0.80, 0.30, 0.72], [0.50, 0.42], Rgb::new(3.5, 3.42, 3.3)),
            Lamp::new([0.92, 0.42, 0.40], [0.13, 0.62], Rgb::new(2.5, 2.6, 2.75)),
            Lamp::new([0.30, -0.90, 0.42], [0.75, 0.13], Rgb::new(2.3, 2.35, 2.45)),
            Lamp::new([0.10, -0.15, 1.0], [0.42, 0.30], Rgb::new(2.0, 2.0, 2.0)),
            Lamp::new([-0.25, 1.0, 0.10], [0.10, 0.55], Rgb::new(1.5, 1.5, 1.5)),
        ];
        let mut studio = Self {
            axes: [lens.right, toward, lens.stage_up],
            centre: lens.centre,
            reach: ROOM * lens.radius,
            lamps,
            wide: [Rgb::zeros(); 9],
        };
        studio.wide = studio.measure();
        studio
    }
    /// A world direction in the stage frame.
    fn stage(&self, d: &Vector3<f64>) -> Vector3<f64> {
        Vector3::new(d.dot(&self.axes[0]), d.dot(&self.axes[1]), d.dot(&self.axes[2]))
    }
    /// Light that arrives at `p` from direction `d` where nothing stands in between and the table is not met.
    pub(super) fn light(&self, p: &Point3<f64>, d: &Vector3<f64>, soft: f64) -> Rgb {
        self.far_light(&self.stage(&(d + (p - self.centre) / self.reach)).normalize(), soft)
    }
    /// The same for a stage direction from the middle of the scene.
    fn far_light(&self, d: &Vector3<f64>, soft: f64) -> Rgb {
        // Walls: dark just above the table (black cards), light towards the ceiling; darker on the viewer's side.
        let wall = 0.16 + 0.50 * smooth(0.05, 0.95, d.z) + 0.16 * smooth(0.25, -0.15, d.z);
        let wall = wall * (1.0 - 0.35 * smooth(-0.2, 0.9, d.y));
        let mut sum = Rgb::new(0.97, 0.99, 1.02) * wall;
        for lamp in &self.lamps {
            sum += lamp.light * lamp.seen(d, soft);
        }
        sum
    }
    /// Light from the table at a distance in scene radii from the middle, where `open` (0 to 1) of the room lights it.
    pub(super) fn table_light(&self, open: f64, distance: f64) -> Rgb {
        // Further off the table falls into the dark of the cards.
        Rgb::new(1.0, 0.995, 0.985) * (open * (TABLE + (0.10 - TABLE) * smooth(0.8, 4.0, distance)))
    }
    /// Second order spherical harmonics of room and table, after Ramamoorthi and Hanrahan, "An efficient representation
    /// for irradiance environment maps", 2001.
    fn measure(&self) -> [Rgb; 9] {
        let mut sums = [Rgb::zeros(); 9];
        for i in 0..DIRECTIONS {
            let d = ball_direction(i, DIRECTIONS);
            let light = if d.z < -0.02 { self.table_light(0.85, 1.0) } else { self.far_light(&d, 0.2) };
            for (sum, y) in sums.iter_mut().zip(harmonics(&d)) {
                *sum += light * y;
            }
        }
        // Weight of a direction 4 pi / N; convolution with the cosine pi, 2 pi / 3, pi / 4; over pi for a mean radiance.
        let n = 4.0 * std::f64::consts::PI / f64::from(DIRECTIONS);
        let cosine = [1.0, 2.0 / 3.0, 2.0 / 3.0, 2.0 / 3.0, 0.25, 0.25, 0.25, 0.25, 0.25];
        for (sum, a) in sums.iter_mut().zip(cosine) {
            *sum *= n * a;
        }
        sums
    }
    /// Mean light of the half space above a normal, weighted by the cosine.
    pub(super) fn wide_light(&self, n: &Vector3<f64>) -> Rgb {
        let n = self.stage(n);
        let sum: Rgb = self.wide.iter().zip(harmonics(&n)).map(|(c, y)| c * y).sum();
        sum.map(|v| v.max(0.0))
    }
    /// What the sheet behind the part shows at a place of the frame (both 0 to 1, from the top left): light to be shown as
    /// it is, without tone curve.
    pub(super) fn backdrop(x: f64, y: f64) -> Rgb {
        let (dx, dy) = ((x - 0.48) * 1.1, (y - 0.52) * 1.25);
        let r = (dx * dx + dy * dy).sqrt();
        let v = 0.74 - 0.40 * smooth(0.05, 0.90, r) + 0.06 * (y - 0.5);
        Rgb::new(0.985, 0.995, 1.01) * v
    }
}

/// Point `i` of `n` spread evenly over the ball: golden angle spiral.
fn ball_direction(i: u32, n: u32) -> Vector3<f64> {
    let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let z = 1.0 - (2.0 * f64::from(i) + 1.0) / f64::from(n);
    let r = (1.0 - z * z).max(0.0).sqrt();
    let a = golden * f64::from(i);
    Vector3::new(r * libm::cos(a), r * libm::sin(a), z)
}

fn harmonics(d: &Vector3<f64>) -> [f64; 9] {
    let (x, y, z) = (d.x, d.y, d.z);
    [
        0.282_095,
        0.488_603 * y,
        0.488_603 * z,
        0.488_603 * x,
        1.092_548 * x * y,
        1.092_548 * y * z,
        0.315_392 * (3.0 * z * z - 1.0),
        1.092_548 * x * z,
        0.546_274 * (x * x - y * y),
    ]
}

/// 0 at `a`, 1 at `b`, level at both; `a` may lie above `b`.
pub(super) fn smooth(a: f64, b: f64, x: f64) -> f64 {
    let t = ((x - a) / (b - a)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn harmonics_are_orthonormal_over_the_ball() {
        // Definition of real spherical harmonics: their products integrate to 1 or 0.
        let n = 20_000;
        let mut sums = [[0.0; 9]; 9];
        for i in 0..n {
            let h = harmonics(&ball_direction(i, n));
            for (r, a) in sums.iter_mut().zip(h) {
                for (s, b) in r.iter_mut().zip(h) {
                    *s += a * b * 4.0 * std::f64::consts::PI / f64::from(n);
                }
            }
        }
        for (i, r) in sums.iter().enumerate() {
            for (j, s) in r.iter().enumerate() {
                assert!((s - f64::from(u8::from(i == j))).abs() < 1e-3, "{i} {j} {s}");
            }
        }
    }
}
