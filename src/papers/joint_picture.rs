//! Pictures of a joint cut open along the middle of the line: at rest, and where each movement ends.

use super::picture::{Body, Image, Material, PictureError, Scene, View, feature_edges, render};
use crate::mesh::{FaceMesh, tessellate};
use crate::motion::{Measured, Movement, Pose};
use crate::solid::Solid;
use crate::units::Tolerance;
use nalgebra::{Isometry3, Rotation3, Translation3, UnitQuaternion};

/// Size of a picture, pixels.
const SIZE: (usize, usize) = (1000, 640);
/// Facets of the links, mm off their faces: a third of a pixel.
const CHORD: f64 = 0.003;

/// Name and picture: `joint-rest.png`, and `joint-inward.png`, `-back`, `-sideways`, `-twist` where these end. Stones are left
/// out, the wire or pin is whole. `open` are the two links cut open along the middle of the line. Sideways and twist show whole links, from above and from the end.
///
/// # Errors
/// Those of [`render`].
pub fn joint_pictures(
    m: &Measured,
    open: [&Solid; 2],
    metal: Material,
) -> Result<Vec<(String, Image)>, PictureError> {
    let chord = Tolerance::new(CHORD).ok_or(PictureError::Empty)?;
    let meshed = |s: &Solid| tessellate(s, chord).map_err(|_| PictureError::Empty);
    let whole = [&m.standing.solid, &m.neighbour.solid];
    let whole_meshes = [meshed(whole[0])?, meshed(whole[1])?];
    let open_meshes = [meshed(open[0])?, meshed(open[1])?];
    let mut out = Vec::new();
    let rest = ("rest", Movement::Inward, m.joint.rest);
    let ends = m.ends.iter().map(|&(movement, pose)| (name(movement), movement, pose));
    for (name, movement, pose) in std::iter::once(rest).chain(ends) {
        let (solids, meshes, view) = match movement {
            Movement::Inward | Movement::Back => (open, &open_meshes, View::Side),
            Movement::Sideways => (whole, &whole_meshes, View::Top),
            Movement::Twist => (whole, &whole_meshes, View::End),
        };
        let image = taken(m, metal, movement, &pose, solids, meshes, view, chord)?;
        out.push((format!("joint-{name}.png"), image));
    }
    Ok(out)
}

fn name(m: Movement) -> &'static str {
    match m {
        Movement::Inward => "inward",
        Movement::Back => "back",
        Movement::Sideways => "sideways",
        Movement::Twist => "twist",
    }
}

#[allow(clippy::too_many_arguments)]
fn taken(
    m: &Measured,
    metal: Material,
    movement: Movement,
    pose: &Pose,
    solids: [&Solid; 2],
    meshes: &[FaceMesh; 2],
    view: View,
    chord: Tolerance,
) -> Result<Image, PictureError> {
    let place = m.joint.turned_to(movement).turn.place(pose);
    let turn = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(place.turn));
    let moved = Isometry3::from_parts(Translation3::from(place.shift), turn);
    let link = |k: usize| {
        Body::new(&meshes[k].mesh, Some(solids[k]), metal).with_edges(feature_edges(solids[k], chord))
    };
    let mut bodies = vec![link(0), link(1).at(moved)];
    let joins = m.joint.pair.still.iter().filter(|b| b.name == "wire" || b.name == "pin");
    // The wire in another colour than the links, so that it is told from them.
    let other = if matches!(metal, Material::YellowGold) { Material::Silver } else { Material::YellowGold };
    bodies.extend(joins.map(|b| Body::new(&b.mesh, None, other)));
    render(&Scene { bodies }, &view.camera(), SIZE.0, SIZE.1, 2)
}
