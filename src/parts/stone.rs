//! A round brilliant as a solid: pavilion cone, girdle cylinder, crown cone, table. Facets are left out; every facet lies inside it.

use crate::params::{Design, Key};
use crate::solid::tree::revolve;
use crate::solid::{BuildError, Frame, Solid, Tree};
use crate::trade::stones::{CROWN, GIRDLE, PAVILION, TABLE};
use nalgebra::Point3;

/// Diameter of the flat at the culet as a share of the stone's: a very small one.
const CULET: f64 = 0.01;

/// The recipe of a stone larger than the design's by `more` mm in diameter, in the frame of its link; its lower girdle edge is at
/// the design's height.
#[must_use]
pub fn recipe(design: &Design, more: f64) -> Tree {
    let d = design.get(Key::Diameter) + more;
    let girdle = design.dims().girdle.get();
    let top = girdle + GIRDLE * d;
    revolve(
        Frame::at(Point3::origin()),
        &[
            (0.0, girdle - PAVILION * d * (1.0 - CULET), "stone.culet"),
            (CULET * d / 2.0, girdle - PAVILION * d * (1.0 - CULET), "stone.pavilion"),
            (d / 2.0, girdle, "stone.girdle"),
            (d / 2.0, top, "stone.crown"),
            (TABLE * d / 2.0, top + CROWN * d, "stone.table"),
            (0.0, top + CROWN * d, ""),
        ],
    )
}

/// The solid of that recipe.
///
/// # Errors
/// The kernel's refusal; a turned body of these proportions has none.
pub fn build(design: &Design, more: f64) -> Result<Solid, BuildError> {
    Solid::build(&recipe(design, more))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh;
    use crate::params::read;
    use crate::units::Tolerance;
    use std::f64::consts::PI;

    #[test]
    fn its_volume_is_that_of_cone_cylinder_and_frustum() {
        let design = read(include_str!("../../params/line-4.0-platinum.jsonc")).unwrap();
        let solid = build(&design, 0.0).unwrap();
        let m = mesh::checked(&solid, Tolerance::new(0.005).unwrap()).unwrap();
        let (r, t, d) = (2.0, 2.0 * TABLE, 4.0);
        let tip = CULET * CULET * CULET;
        let want = PI * r * r * (PAVILION * d / 3.0 * (1.0 - tip) + GIRDLE * d)
            + PI * CROWN * d * (r * r + r * t + t * t) / 3.0;
        assert!((m.exact.volume - want).abs() < 1e-9 * want, "{} {want}", m.exact.volume);
    }
}
