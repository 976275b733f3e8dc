//! Pictures of parts without a graphics card: exact normals, a studio of soft boxes, soft shadows, thin feature edges.
//!
//! Every number comes from the scene alone; the same scene gives the same bytes on any number of threads.
//!
//! ```
//! use colletline::mesh::TriMesh;
//! use colletline::papers::picture::{Body, Material, Scene, View, render};
//! use nalgebra::Point3;
//!
//! let mesh = TriMesh {
//!     positions: [[0., 0., 0.], [1., 0., 0.], [0., 1., 0.], [0., 0., 1.]].map(Point3::from).to_vec(),
//!     triangles: vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]],
//!     face: vec![0, 1, 2, 3],
//! };
//! let scene = Scene { bodies: vec![Body::new(&mesh, None, Material::Silver)] };
//! let png = render(&scene, &View::ThreeQuarter.camera(), 120, 90, 1)?.png()?;
//! assert_eq!(png[..4], [0x89, b'P', b'N', b'G']);
//! # Ok::<(), colletline::papers::picture::PictureError>(())
//! ```

mod ambient;
mod camera;
mod compose;
mod develop;
mod glyphs;
mod heat;
mod image;
mod line;
mod material;
mod raster;
mod rays;
mod rows;
mod scatter;
mod stage;
mod studio;
mod table;
#[cfg(test)]
mod tests;

pub use camera::{Camera, Projection, View};
pub use compose::sheet;
pub use heat::{scale_end, wall_colour, wall_picture};
pub use image::Image;
pub use line::{feature_edges, polyline};
pub use material::Material;

use crate::mesh::TriMesh;
use crate::solid::Solid;
use ambient::Ambient;
use nalgebra::{Isometry3, Point3};
use raster::{Buffer, OVER};
use stage::Stage;

/// Fewest and most pixels of a picture: below it shows nothing; above it takes more than a gigabyte of memory.
const FEWEST_ACROSS: usize = 8;
const MOST: usize = 16_000_000;
/// Half the width of a feature edge, as a share of the picture's shorter side, and at least, in pixels. Our choice.
const LINE: f64 = 0.000_55;
const LINE_LEAST: f64 = 0.42;

/// What is in the picture.
#[derive(Clone, Debug, Default)]
pub struct Scene<'a> {
    /// Bodies; they may touch.
    pub bodies: Vec<Body<'a>>,
}

/// One body of a scene.
#[derive(Clone, Debug)]
pub struct Body<'a> {
    /// Closed mesh, mm.
    pub mesh: &'a TriMesh,
    /// The solid that `mesh.face` counts the faces of: gives exact normals. Without it the triangles look flat.
    pub solid: Option<&'a Solid>,
    /// Lines to be drawn where nothing hides them, in the frame of the mesh, such as [`feature_edges`].
    pub edges: Vec<Vec<Point3<f64>>>,
    /// What it is made of.
    pub material: Material,
    /// Where it stands: from the frame of the mesh to that of the scene.
    pub pose: Isometry3<f64>,
}

impl<'a> Body<'a> {
    /// A body in its own frame, without lines.
    #[must_use]
    pub fn new(mesh: &'a TriMesh, solid: Option<&'a Solid>, material: Material) -> Self {
        Self { mesh, solid, edges: Vec::new(), material, pose: Isometry3::identity() }
    }
    /// The same with lines, see [`Body::edges`].
    #[must_use]
    pub fn with_edges(mut self, edges: Vec<Vec<Point3<f64>>>) -> Self {
        self.edges = edges;
        self
    }
    /// The same at another place, see [`Body::pose`].
    #[must_use]
    pub fn at(mut self, pose: Isometry3<f64>) -> Self {
        self.pose = pose;
        self
    }
}

/// Why there is no picture.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PictureError {
    /// Nothing to show: no triangles, no views, or a camera that looks nowhere.
    #[error("nothing to show")]
    Empty,
    /// A mesh names a vertex or face that does not exist, or has a coordinate that is not finite.
    #[error("the mesh of body {body} is broken")]
    Mesh {
        /// Place of the body in the scene, from 0.
        body: usize,
    },
    /// Fewer than 8 pixels on a side, or more than 16 million in all.
    #[error("a picture of {width} x {height} pixels is too small or too large")]
    Size {
        /// Pixels asked for.
        width: usize,
        /// Pixels asked for.
        height: usize,
    },
    /// The PNG encoder refused.
    #[error("PNG: {0}")]
    Png(String),
}

/// Takes a picture of `width` x `height` pixels with up to `threads` threads; their number does not change it.
///
/// # Errors
/// See [`PictureError`].
pub fn render(
    scene: &Scene,
    camera: &Camera,
    width: usize,
    height: usize,
    threads: usize,
) -> Result<Image, PictureError> {
    let pixels = width.checked_mul(height).filter(|p| *p <= MOST);
    if width < FEWEST_ACROSS || height < FEWEST_ACROSS || pixels.is_none() {
        return Err(PictureError::Size { width, height });
    }
    let (stage, seen) = see(scene, camera, width, height, threads)?;
    let ambient = Ambient::measure(&stage, &seen, threads);
    Ok(Image::from_rgb(width, height, develop::develop(&stage, &seen, &ambient, threads)))
}

/// The scene on its stage, and which triangle each sample shows.
#[allow(clippy::cast_precision_loss)]
fn see<'a>(
    scene: &Scene<'a>,
    camera: &Camera,
    width: usize,
    height: usize,
    threads: usize,
) -> Result<(Stage<'a>, Buffer), PictureError> {
    let (triangles, parts) = stage::gather(scene).map_err(|body| PictureError::Mesh { body })?;
    let points = triangles.as_flattened();
    let (w, h) = (width as f64, height as f64);
    let lens = camera::Lens::fit(camera, points, w, h).ok_or(PictureError::Empty)?;
    let tree = rays::Tree::new(&triangles);
    let studio = studio::Studio::new(&lens);
    let table = table::Table::new(&lens, &studio, &tree, points, threads);
    let lines: Vec<Vec<Point3<f64>>> = scene
        .bodies
        .iter()
        .flat_map(|b| b.edges.iter().map(|l| l.iter().map(|p| b.pose * p).collect()))
        .collect();
    let strokes = line::Stroke::of(&lens, lines.iter().map(Vec::as_slice));
    let half = (LINE * w.min(h)).max(LINE_LEAST) * OVER as f64;
    let across = width * OVER;
    let seen = Buffer::fill(&lens, &triangles, (across, height * OVER), threads, |band| {
        for s in &strokes {
            s.draw(band, across, &lens, half);
        }
    });
    Ok((Stage { lens, triangles, parts, tree, studio, table }, seen))
}
