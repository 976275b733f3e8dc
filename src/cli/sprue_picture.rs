//! A casting turned over, the sprue marked in another colour where it goes.

use super::make::{PICTURE, material};
use crate::masters::castings::Casting;
use crate::mesh::tessellate;
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
    let [x, y, z] = s.at_mm;
    let frame = Frame::with_axes(Point3::new(x, y, z), Vector3::x(), -Vector3::y());
    let stub = Solid::build(&cylinder(frame, s.foot_mm / 2.0, LENGTH, "sprue", ["sprue.foot", "sprue.end"]))
        .map_err(|e| e.to_string())?;
    let Some(fine) = Tolerance::new(0.005).and_then(|t| tessellate(&stub, t).ok()) else { return Ok(None) };
    let own = material(design);
    let other = if matches!(own, Material::YellowGold) { Material::Silver } else { Material::YellowGold };
    let lines = |s: &Solid| Tolerance::new(0.002).map_or_else(Vec::new, |t| feature_edges(s, t));
    let solid = &casting.pattern.solid;
    let bodies = vec![
        Body::new(&casting.pattern.checked.mesh.mesh, Some(solid), own).with_edges(lines(solid)),
        Body::new(&fine.mesh, Some(&stub), other).with_edges(lines(&stub)),
    ];
    let (wide, high) = PICTURE;
    render(&Scene { bodies }, &View::Underside.camera(), wide, high, 2)
        .and_then(|i| i.png())
        .map(Some)
        .map_err(|e| e.to_string())
}
