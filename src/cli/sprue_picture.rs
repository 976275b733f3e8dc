//! A casting turned over, the stub of its sprue in another colour, or a mark where the sprue goes.

use super::make::{PICTURE, material};
use crate::masters::castings::Casting;
use crate::mesh::{TriMesh, tessellate};
use crate::papers::picture::{Body, Material, Scene, View, feature_edges, render};
use crate::params::Design;
use crate::solid::tree::cylinder;
use crate::solid::{Frame, Solid};
use crate::units::Tolerance;
use nalgebra::{Point3, Vector3};

/// Length of the mark, mm.
const LENGTH: f64 = 2.0;

/// The picture; none where no sprue has a place.
pub(super) fn marked(design: &Design, casting: &Casting) -> Result<Option<Vec<u8>>, String> {
    let Some(s) = casting.flow.as_ref().and_then(|f| f.sprue.as_ref()) else { return Ok(None) };
    let own = material(design);
    let other = if matches!(own, Material::YellowGold) { Material::Silver } else { Material::YellowGold };
    let lines = |s: &Solid| Tolerance::new(0.002).map_or_else(Vec::new, |t| feature_edges(s, t));
    let (solid, mesh) = (&casting.pattern.solid, &casting.pattern.checked.mesh.mesh);
    if casting.stub.is_some() {
        let [part, stub] = [false, true].map(|of_stub| only(solid, mesh, of_stub));
        let bodies = vec![
            Body::new(&part, Some(solid), own).with_edges(lines(solid)),
            Body::new(&stub, Some(solid), other),
        ];
        return taken(bodies).map(Some);
    }
    let [x, y, z] = s.at_mm;
    let frame = Frame::with_axes(Point3::new(x, y, z), Vector3::x(), -Vector3::y());
    let stub = Solid::build(&cylinder(frame, s.foot_mm / 2.0, LENGTH, "sprue", ["sprue.foot", "sprue.end"]))
        .map_err(|e| e.to_string())?;
    let Some(fine) = Tolerance::new(0.005).and_then(|t| tessellate(&stub, t).ok()) else { return Ok(None) };
    let bodies = vec![
        Body::new(mesh, Some(solid), own).with_edges(lines(solid)),
        Body::new(&fine.mesh, Some(&stub), other).with_edges(lines(&stub)),
    ];
    taken(bodies).map(Some)
}

fn taken(bodies: Vec<Body<'_>>) -> Result<Vec<u8>, String> {
    let (wide, high) = PICTURE;
    render(&Scene { bodies }, &View::Underside.camera(), wide, high, 2)
        .and_then(|i| i.png())
        .map_err(|e| e.to_string())
}

/// The triangles of the stub, or all others.
fn only(solid: &Solid, mesh: &TriMesh, of_stub: bool) -> TriMesh {
    let is_stub = |f: u32| solid.faces.get(f as usize).is_some_and(|f| f.name.starts_with("sprue."));
    let mut out = TriMesh { positions: mesh.positions.clone(), ..TriMesh::default() };
    for (t, f) in mesh.triangles.iter().zip(&mesh.face).filter(|(_, f)| is_stub(**f) == of_stub) {
        out.triangles.push(*t);
        out.face.push(*f);
    }
    out
}
