//! Pictures of the folding clasp for a client: shut, half open, open, with its stones and the line beside it; and what is small of
//! it, laid out.

use super::line_picture::LinePictureError;
use super::picture::{Body, Camera, Image, Material, PictureError, Projection, Scene, render};
use super::scene::{PartLook, isometry, scene};
use crate::mesh::tessellate;
use crate::params::{Design, Key};
use crate::parts::line::{Piece, Pose, pieces};
use crate::parts::{Part, stone};
use crate::solid::{Frame, Solid};
use crate::units::{Deg, Tolerance};
use nalgebra::{Point3, Vector3};

/// Usual size of the pictures, pixels.
pub const CLASP: (usize, usize) = (1600, 1000);
/// Facets of metal, mm off their faces: less than half a pixel.
const NEAR: f64 = 0.006;
/// Facets of a stone, mm off its cones: so coarse that they look like cut ones. Our choice.
const CUT: f64 = 0.07;
/// Links of the line shown beside the clasp.
const BESIDE: usize = 2;

/// A state of the clasp: name of the picture, how far the leaf is open.
pub const STATES: [(&str, Deg); 3] = [("shut", Deg(0.0)), ("half", Deg(70.0)), ("open", Deg(150.0))];

fn within(mm: f64) -> Result<Tolerance, PictureError> {
    Tolerance::new(mm).ok_or(PictureError::Empty)
}

/// The clasp with the first links of the line, its leaf open by `angle`. `link` is the line's link, `parts` are those of the clasp.
///
/// # Errors
/// See [`LinePictureError`].
pub fn clasp(
    design: &Design,
    link: &Solid,
    parts: &[&Part],
    metal: Material,
    angle: Deg,
    (wide, high): (usize, usize),
) -> Result<Image, LinePictureError> {
    let near = within(NEAR)?;
    let look = |name, solid: &Solid| -> Result<PartLook, LinePictureError> {
        Ok(PartLook::of(name, solid.clone(), near, metal)?)
    };
    let mut looks = vec![look("link", link)?];
    for part in parts {
        looks.push(look(part.name, &part.solid)?);
    }
    let mesh = tessellate(&stone::build(design, 0.0)?, within(CUT)?)?.mesh;
    looks.push(PartLook { name: "stone", mesh, solid: None, edges: Vec::new(), material: Material::Stone });
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a count of the file
    let on_clasp = design.get(Key::ClaspCount) as usize;
    let near_clasp = |p: &Piece| match p.part {
        "link" => p.number < BESIDE,
        "stone" => p.number < on_clasp + BESIDE,
        name => name.starts_with("clasp."),
    };
    let placed: Vec<Piece> = pieces(design, Pose::Open(angle)).into_iter().filter(near_clasp).collect();
    let camera = Camera {
        toward_eye: Vector3::new(-0.42, -0.72, 0.52),
        up: Vector3::z(),
        projection: Projection::Perspective(Deg(16.0)),
        margin: 0.07,
    };
    Ok(render(&scene(&looks, &placed), &camera, wide, high, 2)?)
}

/// Side catches, pins, links of the chain and jump rings side by side before they go in: the parts of these names that there are.
/// `None` where there is none.
///
/// # Errors
/// See [`LinePictureError`].
pub fn small(
    parts: &[&Part],
    metal: Material,
    (wide, high): (usize, usize),
) -> Result<Option<Image>, LinePictureError> {
    let near = within(NEAR / 2.0)?;
    let (x, y, z) = (Vector3::x(), Vector3::y(), Vector3::z());
    // Each lies flat: images of the axes x and y of its own frame, and how many of it are shown.
    let laid: [(&str, Vector3<f64>, Vector3<f64>, usize); 6] = [
        ("clasp.catch.front", x, -z, 1),
        ("clasp.catch.back", x, z, 1),
        ("clasp.pin", -y, x, 2),
        ("clasp.rivet", z, y, 2),
        ("chain.link", x, z, 4),
        ("chain.jump", x, y, 2),
    ];
    let mut looks: Vec<(PartLook, Frame)> = Vec::new();
    let (mut row, mut next) = (0.0, Vec::new());
    for (name, to_x, to_y, count) in laid {
        let Some(part) = parts.iter().find(|p| p.name == name) else { continue };
        let turn = Frame::with_axes(Point3::origin(), to_x, to_y);
        let look = PartLook::of(part.name, part.solid.clone(), near, metal)?;
        let (lo, hi) = span(look.mesh.positions.iter().map(|p| turn.point(p.x, p.y, p.z)));
        for k in 0..count {
            // Rows along x, the long parts behind, the chain's before; each stands on the table.
            #[allow(clippy::cast_precision_loss)]
            let along = (k as f64) * ((hi.x - lo.x) + SPACE);
            let shift = Vector3::new(along - lo.x, row - hi.y, -lo.z);
            next.push((looks.len(), shift));
        }
        row -= hi.y - lo.y + SPACE;
        looks.push((look, turn));
    }
    if next.is_empty() {
        return Ok(None);
    }
    let bodies = next
        .iter()
        .filter_map(|(k, shift)| {
            let (look, turn) = looks.get(*k)?;
            let frame = Frame { origin: turn.origin + shift, ..*turn };
            let body = Body::new(&look.mesh, look.solid.as_ref(), metal).with_edges(look.edges.clone());
            Some(body.at(isometry(&frame)))
        })
        .collect();
    let camera = Camera {
        toward_eye: Vector3::new(-0.25, -0.60, 0.76),
        up: Vector3::z(),
        projection: Projection::Perspective(Deg(16.0)),
        margin: 0.07,
    };
    Ok(Some(render(&Scene { bodies }, &camera, wide, high, 2)?))
}

/// Room between parts that lie side by side, mm.
const SPACE: f64 = 1.0;

fn span(points: impl Iterator<Item = Point3<f64>>) -> (Point3<f64>, Point3<f64>) {
    let all = f64::INFINITY;
    let start = (Point3::new(all, all, all), Point3::new(-all, -all, -all));
    points.fold(start, |(lo, hi), p| (lo.inf(&p), hi.sup(&p)))
}
