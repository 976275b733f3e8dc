//! Pictures of more than one part: the whole line round a wrist, for the client; a joint pulled apart, for who makes it.

use super::picture::{
    Body, Camera, Image, Material, PictureError, Projection, Scene, View, feature_edges, render,
};
use super::scene::{PartLook, isometry, scene};
use crate::mesh::{MeshError, tessellate};
use crate::params::{Design, Key};
use crate::parts::line::{Pose, pieces};
use crate::parts::{Part, stone, wires};
use crate::solid::tree::cylinder;
use crate::solid::{Frame, Solid};
use crate::units::{Deg, Mm, Tolerance};
use nalgebra::{Isometry3, Point3, Translation3, UnitQuaternion, Vector3};

/// Usual size of the picture of the line, pixels.
pub const LINE: (usize, usize) = (1600, 1000);
/// Usual size of the picture of the joint, pixels.
pub const JOINT: (usize, usize) = (1200, 800);
/// Facets of metal on the wrist and in the joint, mm off their faces: less than half a pixel.
const FAR: f64 = 0.03;
const NEAR: f64 = 0.003;
/// Facets of a stone, mm off its cones: so coarse that they look like cut ones. Our choice.
const CUT: f64 = 0.07;
/// How far the parts of a joint are pulled apart, as a share of the pitch.
const APART: f64 = 0.55;

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum LinePictureError {
    /// A part that cannot be meshed.
    #[error(transparent)]
    Mesh(#[from] MeshError),
    /// A part of the joint that cannot be built.
    #[error(transparent)]
    Build(#[from] crate::solid::BuildError),
    /// The renderer's refusal.
    #[error(transparent)]
    Picture(#[from] PictureError),
}

fn within(mm: f64) -> Result<Tolerance, PictureError> {
    Tolerance::new(mm).ok_or(PictureError::Empty)
}

/// The line closed round the wrist, lying on its edge, seen from the side opposite the clasp; its stones set, connecting wires and
/// pins left out. `clasp` are its parts, none for a bought one.
///
/// # Errors
/// See [`LinePictureError`].
pub fn on_wrist(
    design: &Design,
    link: &Solid,
    clasp: &[&Part],
    metal: Material,
    (wide, high): (usize, usize),
) -> Result<Image, LinePictureError> {
    let far = within(FAR)?;
    let look = |name, solid: &Solid| -> Result<PartLook, LinePictureError> {
        let mesh = tessellate(solid, far)?.mesh;
        // Lines would be as wide as the metal at this size.
        Ok(PartLook { name, mesh, solid: Some(solid.clone()), edges: Vec::new(), material: metal })
    };
    let mut parts = vec![look("link", link)?];
    for part in clasp {
        parts.push(look(part.name, &part.solid)?);
    }
    let mesh = tessellate(&stone::build(design, 0.0)?, within(CUT)?)?.mesh;
    parts.push(PartLook { name: "stone", mesh, solid: None, edges: Vec::new(), material: Material::Stone });
    let camera = Camera {
        toward_eye: Vector3::new(-0.30, 0.62, -0.86),
        up: Vector3::y(),
        projection: Projection::Perspective(Deg(18.0)),
        margin: 0.07,
    };
    let scene = scene(&parts, &pieces(design, Pose::Wrist));
    Ok(render(&scene, &camera, wide, high, 2)?)
}

/// Two links and between them what joins them, pulled apart along the line: the connecting wire, or the pin of a hinge drawn out
/// towards the eye.
///
/// # Errors
/// See [`LinePictureError`].
pub fn joint_apart(
    design: &Design,
    link: &Solid,
    metal: Material,
    (wide, high): (usize, usize),
) -> Result<Image, LinePictureError> {
    let (near, d) = (within(NEAR)?, design.dims());
    let (p, gap) = (d.pitch.get(), APART * d.pitch.get());
    let (solid, place) = joining(design);
    let mesh = tessellate(link, near)?.mesh;
    let edges = feature_edges(link, near);
    let at = |x: f64| Isometry3::from_parts(Translation3::new(x, 0.0, 0.0), UnitQuaternion::identity());
    let moved = if d.wire.is_some() { [p / 2.0 + gap, 0.0] } else { [p / 2.0 + gap, -d.pitch.get()] };
    let to = Translation3::new(moved[0], moved[1], 0.0);
    let body = |x: f64| Body::new(&mesh, Some(link), metal).with_edges(edges.clone()).at(at(x));
    // In another colour than the links, so that it is told from them.
    let other = if matches!(metal, Material::YellowGold) { Material::Silver } else { Material::YellowGold };
    let mut bodies = vec![body(0.0), body(p + 2.0 * gap)];
    let joins = solid.as_ref().map(|s| tessellate(s, near).map(|m| (s, m.mesh))).transpose()?;
    if let Some((solid, mesh)) = &joins {
        let lines = feature_edges(solid, near);
        bodies.push(Body::new(mesh, Some(solid), other).with_edges(lines).at(to * isometry(&place)));
    }
    Ok(render(&Scene { bodies }, &View::ThreeQuarter.camera(), wide, high, 2)?)
}

/// What joins two links, and where it stands in a frame whose origin is half way between them. None where the wire of this file is too
/// stiff for a picture's bends: the maker hammers it.
fn joining(design: &Design) -> (Option<Solid>, Frame) {
    let d = design.dims();
    if let Some(w) = &d.wire {
        let (wire, flat) = (design.get(Key::Wire), design.get(Key::WireFlat));
        let inner = w.web_x.get() - w.web_depth.get() / 2.0;
        let length = d.pitch.get() - 2.0 * inner + 2.0 * design.get(Key::EndPlay) + wire;
        let (upper, lower) = (w.bore_floor.get() + wire / 2.0, flat / 2.0);
        // Bent round the web as tightly as a wire goes.
        let bend = (0.75 * wire).min((upper - lower) / 2.2);
        let solid = wires::connecting_wire(Mm(length), Mm(upper - lower), Mm(bend), Mm(wire)).ok();
        (solid, Frame::at(Point3::new(0.0, 0.0, f64::midpoint(upper, lower))))
    } else {
        let (length, pin) = (design.get(Key::TubeLength), design.get(Key::Pin));
        let frame = Frame::with_axes(Point3::new(0.0, -length / 2.0, 0.0), Vector3::z(), Vector3::x());
        let solid =
            Solid::build(&cylinder(frame, pin / 2.0, length, "pin.side", ["pin.end", "pin.end"])).ok();
        (solid, Frame::at(Point3::new(0.0, 0.0, d.joint_height.get())))
    }
}
