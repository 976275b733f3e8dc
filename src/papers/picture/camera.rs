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
