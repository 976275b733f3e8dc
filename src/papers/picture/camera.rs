//! Where the picture is taken from, and the lens that fits the scene to the frame.

use crate::units::Deg;
use nalgebra::{Point3, Vector3};

/// How rays reach the picture plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Projection {
    /// Parallel rays.
    Orthographic,
    /// Rays meet in the eye, which sees the ball around the scene under this angle (2 to 90 degrees; brought into it).
    Perspective(Deg),
}

/// Direction and framing of a picture. The part frame is the caller's (for a link: x along the line, y across, z away
/// from the skin).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// From the scene towards the eye; any length above zero.
    pub toward_eye: Vector3<f64>,
    /// Away from the table the scene stands on; any length above zero.
    pub up: Vector3<f64>,
    /// How rays reach the picture plane.
    pub projection: Projection,
    /// Free border as a share of the frame, 0 to 0.45, on each side.
    pub margin: f64,
}

/// Views with a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// From the front right, above.
    ThreeQuarter,
    /// Along +y, a little from above: a long side of the link.
    Side,
    /// Along -x, a little from above: an end wall.
    End,
    /// Nearly straight down.
    Top,
    /// The part turned over on the table, seen from above.
    Underside,
}

impl View {
    /// The camera of this view.
    #[must_use]
    pub fn camera(self) -> Camera {
        let z = Vector3::z();
        let (toward_eye, up) = match self {
            Self::ThreeQuarter => (Vector3::new(0.55, -0.72, 0.50), z),
            Self::Side => (Vector3::new(0.0, -1.0, 0.16), z),
            Self::End => (Vector3::new(1.0, 0.0, 0.16), z),
            Self::Top => (Vector3::new(0.0, -0.16, 1.0), z),
            Self::Underside => (Vector3::new(0.40, -0.62, -0.80), -z),
        };
        // Our choice: the perspective of a long lens, so that proportions stay true.
        Camera { toward_eye, up, projection: Projection::Perspective(Deg(18.0)), margin: 0.12 }
    }
}

/// A camera fitted to a scene and a frame of pixels.
#[derive(Clone, Debug)]
pub(super) struct Lens {
    /// Unit vectors of the picture: to the right, up, and out of it towards the eye.
    pub right: Vector3<f64>,
    pub up: Vector3<f64>,
    pub back: Vector3<f64>,
    /// Unit vector away from the table.
    pub stage_up: Vector3<f64>,
    /// Middle and radius of a ball around the scene, mm.
    pub centre: Point3<f64>,
    pub radius: f64,
    distance: f64,
    perspective: bool,
    /// Pixels per mm in the plane through the centre, and the pixel of the centre.
    scale: f64,
    shift: [f64; 2],
}

/// Eye distance in radii for parallel rays: anything outside the scene does.
const PARALLEL_DISTANCE: f64 = 4.0;

impl Lens {
    /// Fits all points into a frame of `width` x `height` pixels. `None` if there is no point, a number is not finite, a
    /// direction has no length or all points fall on one.
    pub(super) fn fit(camera: &Camera, points: &[Point3<f64>], width: f64, height: f64) -> Option<Self> {
        let first = points.first()?;
        let (mut lo, mut hi) = (first.coords, first.coords);
        for p in points {
            lo = lo.inf(&p.coords);
            hi = hi.sup(&p.coords);
        }
        let centre = Point3::from((lo + hi) / 2.0);
        let radius = points.iter().map(|p| (p - centre).norm()).fold(0.0, f64::max);
        if !(radius > 0.0 && radius.is_finite()) {
            return None;
        }
        let back = camera.toward_eye.try_normalize(f64::MIN_POSITIVE)?;
        let stage_up = camera.up.try_normalize(f64::MIN_POSITIVE)?;
        // Looking straight down the up direction leaves the turn free; any choice that depends on it alone does.
        let right = stage_up
            .cross(&back)
            .try_normalize(1e-9)
            .unwrap_or_else(|| crate::solid::surface::square_to(&stage_up));
        let up = back.cross(&right);
        let (perspective, distance) = match camera.projection {
            Projection::Orthographic => (false, radius * PARALLEL_DISTANCE),
            Projection::Perspective(a) => {
                let a = if a.get().is_finite() { a.get().clamp(2.0, 90.0) } else { 18.0 };
                (true, radius / libm::sin(Deg(a / 2.0).radians()))
            }
        };
        let mut lens = Self {
            right,
            up,
            back,
            stage_up,
            centre,
            radius,
            distance,
            perspective,
            scale: 1.0,
            shift: [0.0; 2],
        };
        let (mut a, mut b) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in points {
            let q = lens.project(p);
            for i in 0..2 {
                a[i] = a[i].min(q[i]);
                b[i] = b[i].max(q[i]);
            }
        }
        let free = 1.0 - 2.0 * if camera.margin.is_finite() { camera.margin.clamp(0.0, 0.45) } else { 0.1 };
        let scale = (width * free / (b[0] - a[0])).min(height * free / (b[1] - a[1]));
        if !(scale > 0.0 && scale.is_finite()) {
            return None;
        }
        lens.scale = scale;
        lens.shift = [width / 2.0 - scale * (a[0] + b[0]) / 2.0, height / 2.0 - scale * (a[1] + b[1]) / 2.0];
        Some(lens)
    }
    /// Pixel (x right, y down) and depth key, which is linear in the picture plane and larger further away.
    pub(super) fn project(&self, p: &Point3<f64>) -> [f64; 3] {
        let q = p - self.centre;
        let t = self.distance - q.dot(&self.back);
        let k = if self.perspective { self.distance / t } else { 1.0 };
        let (u, v) = (q.dot(&self.right) * k, q.dot(&self.up) * k);
        let key = if self.perspective { -1.0 / t } else { t };
        [self.shift[0] + self.scale * u, self.shift[1] - self.scale * v, key]
    }
    /// Distance from the eye plane that belongs to a depth key, mm.
    pub(super) fn depth(&self, key: f64) -> f64 {
        if self.perspective { -1.0 / key } else { key }
    }
    /// Start and unit direction of the ray through a point of the picture.
    pub(super) fn ray(&self, x: f64, y: f64) -> (Point3<f64>, Vector3<f64>) {
        let across =
            self.right * ((x - self.shift[0]) / self.scale) + self.up * ((self.shift[1] - y) / self.scale);
        let eye = self.centre + self.back * self.distance;
        if self.perspective {
            (eye, (across - self.back * self.distance).normalize())
        } else {
            (eye + across, -self.back)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ray_goes_through_the_point_it_was_projected_from() {
        let points: Vec<_> = (0..8)
            .map(|i| Point3::new(f64::from(i & 1), f64::from(i >> 1 & 1) * 2.0, f64::from(i >> 2) * 3.0))
            .collect();
        for projection in [Projection::Orthographic, Projection::Perspective(Deg(25.0))] {
            let camera = Camera { projection, ..View::ThreeQuarter.camera() };
            let lens = Lens::fit(&camera, &points, 300.0, 200.0).unwrap();
            let mut edge = 0.0_f64;
            for p in &points {
                let [x, y, key] = lens.project(p);
                let (o, d) = lens.ray(x, y);
                let w = p - o;
                assert!((w - d * w.dot(&d)).norm() < 1e-12);
                assert!((lens.depth(key) + (p - lens.centre).dot(&lens.back) - lens.distance).abs() < 1e-12);
                // The margin: 12 % of either side stays free.
                assert!(x > 35.999 && x < 264.001 && y > 23.999 && y < 176.001, "{x} {y}");
                edge = edge.max(y);
            }
            assert!((edge - 176.0).abs() < 1e-9, "fitted as large as the margin allows: {edge}");
        }
    }

    #[test]
    fn what_cannot_be_framed_is_refused() {
        let camera = View::Side.camera();
        assert!(Lens::fit(&camera, &[], 10.0, 10.0).is_none());
        assert!(Lens::fit(&camera, &[Point3::origin()], 10.0, 10.0).is_none());
        let nan = [Point3::origin(), Point3::new(f64::NAN, 0.0, 1.0)];
        assert!(Lens::fit(&camera, &nan, 10.0, 10.0).is_none());
        let flat = Camera { up: Vector3::zeros(), ..camera };
        assert!(Lens::fit(&flat, &[Point3::origin(), Point3::new(1.0, 1.0, 1.0)], 10.0, 10.0).is_none());
    }
}
