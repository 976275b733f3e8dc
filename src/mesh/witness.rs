//! A second mesh of the same part, made by truck-meshalgo from truck's solid: an independent witness that truck's solid,
//! which the STEP file is written from, is closed and has the volume of ours.
//!
//! Its tolerance is not a chord bound (0.05 mm measured where 0.001 was asked), so the volume is a comparison, not a proof.

use crate::units::{Mm, Tolerance};
use thiserror::Error;
use truck_meshalgo::prelude::{
    CalcVolume, MeshableShape, MeshedShape, OptimizingFilter, PolygonMesh, ShellCondition, Topology,
};
use truck_modeling::Solid;

/// truck counts anything below 1e-6 mm as nothing and refuses such a tolerance by panic; ten times that is safe.
const FINEST: f64 = 1e-5;

/// Corners of neighbouring face meshes are computed from one polyline, but through each surface's own parameters, which
/// truck finds to 1e-6; corners within this distance, mm, are one.
const WELD: f64 = 3e-6;

/// What truck's mesh says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Witness {
    /// Every side of every triangle is used once in each direction.
    pub closed: bool,
    /// mm^3.
    pub volume: f64,
    /// Triangles.
    pub triangles: usize,
}

/// Why there is no witness.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum WitnessError {
    /// truck cannot mesh more finely.
    #[error("a tolerance of {0:.6} is below what truck can mesh")]
    TooFine(Mm),
    /// The solid has no shells or no faces.
    #[error("the solid is empty")]
    Empty,
    /// A shell of truck's solid is not closed.
    #[error("a shell of the solid is {0}")]
    NotClosed(String),
    /// A vertex or curve of the solid is not finite.
    #[error("the solid has points that are not finite")]
    NotFinite,
    /// truck found no parameters for the border of a face.
    #[error("truck could not mesh {0} of the faces")]
    Faces(usize),
}

/// Meshes truck's solid with truck's own mesher and looks at the result.
///
/// truck panics on a tolerance below its own, on points that are not numbers and on open shells; all are refused here
/// before it is called.
///
/// # Errors
/// See [`WitnessError`].
pub fn witness(solid: &Solid, tolerance: Tolerance) -> Result<Witness, WitnessError> {
    if tolerance.get() < FINEST {
        return Err(WitnessError::TooFine(Mm(tolerance.get())));
    }
    if solid.boundaries().is_empty() || solid.boundaries().iter().any(|s| s.is_empty()) {
        return Err(WitnessError::Empty);
    }
    let mut all = PolygonMesh::default();
    for shell in solid.boundaries() {
        let condition = shell.shell_condition();
        if condition != truck_modeling::ShellCondition::Closed {
            return Err(WitnessError::NotClosed(format!("{condition:?}").to_lowercase()));
        }
        if !shell.edge_iter().all(|e| finite(&e)) {
            return Err(WitnessError::NotFinite);
        }
        let meshed = shell.triangulation(tolerance.get());
        let lost = meshed.face_iter().filter(|f| f.surface().is_none()).count();
        if lost > 0 {
            return Err(WitnessError::Faces(lost));
        }
        all.merge(meshed.to_polygon());
    }
    all.put_together_same_attrs(WELD).remove_degenerate_faces().remove_unused_attrs();
    Ok(Witness {
        closed: all.shell_condition() == ShellCondition::Closed,
        volume: all.volume(),
        triangles: all.faces().triangle_iter().count(),
    })
}

/// Whether an edge's curve has finite points from end to end.
fn finite(e: &truck_modeling::Edge) -> bool {
    use truck_modeling::{BoundedCurve, ParametricCurve};
    let curve = e.curve();
    let (a, b) = curve.range_tuple();
    [a, 0.5 * (a + b), b].iter().all(|&t| {
        let p = curve.subs(t);
        t.is_finite() && p.x.is_finite() && p.y.is_finite() && p.z.is_finite()
    })
}

/// Chords asked of truck, mm, one after the other until its mesh is closed: on about one link in a hundred its own
/// triangulation leaves a gap at one chord and none at another.
const CHORDS: [f64; 5] = [0.02, 0.013, 0.03, 0.01, 0.005];

/// Has truck confirm a solid: its mesh must be closed and its volume within one chord everywhere of the exact one (about
/// half a chord is what links show; 0.02 mm is a tenth of a link's volume).
///
/// # Errors
/// What truck says against it.
pub fn confirm(solid: &crate::solid::Solid, exact: &super::exact::SolidMass) -> Result<Witness, String> {
    let truck = solid.to_truck()?;
    let mut last = String::new();
    for chord in CHORDS {
        let Some(tolerance) = Tolerance::new(chord) else { continue };
        let w = match witness(&truck, tolerance) {
            Ok(w) if w.closed => w,
            Ok(_) => {
                last = format!("its mesh is open at every chord up to {chord} mm");
                continue;
            }
            Err(e) => {
                last = e.to_string();
                continue;
            }
        };
        if (w.volume - exact.volume).abs() > chord * exact.area {
            return Err(format!("its volume is {:.4} mm3 instead of {:.4} mm3", w.volume, exact.volume));
        }
        return Ok(w);
    }
    Err(last)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;
    use truck_modeling::{Point3, Rad, Vector3, builder};

    fn tol(t: f64) -> Tolerance {
        Tolerance::new(t).unwrap()
    }

    fn cube() -> Solid {
        let v = builder::vertex(Point3::new(0.0, 0.0, 0.0));
        let e = builder::tsweep(&v, Vector3::new(1.0, 0.0, 0.0));
        let f = builder::tsweep(&e, Vector3::new(0.0, 2.0, 0.0));
        builder::tsweep(&f, Vector3::new(0.0, 0.0, 3.0))
    }

    /// A ring of rectangular section, radii 1 and 2, height 1, by turning a rectangle.
    fn ring() -> Solid {
        let v = builder::vertex(Point3::new(1.0, 0.0, 0.0));
        let e = builder::tsweep(&v, Vector3::new(1.0, 0.0, 0.0));
        let f = builder::tsweep(&e, Vector3::new(0.0, 0.0, 1.0));
        builder::rsweep(&f, Point3::new(0.0, 0.0, 0.0), Vector3::new(0.0, 0.0, 1.0), Rad(2.0 * PI))
    }

    #[test]
    fn a_box_and_a_ring_are_closed_and_have_their_volume() {
        let w = witness(&cube(), tol(0.01)).unwrap();
        assert!(w.closed && (w.volume - 6.0).abs() < 1e-9, "{w:?}");
        let w = witness(&ring(), tol(0.001)).unwrap();
        // Pappus and Guldin: section 1 by 1 on radius 1.5.
        assert!(w.closed && (w.volume.abs() - 3.0 * PI).abs() < 0.02, "{w:?}");
        assert!(w.triangles > 100);
    }

    #[test]
    fn what_truck_would_panic_on_is_refused() {
        assert!(matches!(witness(&cube(), tol(1e-7)), Err(WitnessError::TooFine(_))));
        let mut shell = cube().into_boundaries().remove(0);
        shell.pop();
        assert!(matches!(
            witness(&Solid::new_unchecked(vec![shell]), tol(0.01)),
            Err(WitnessError::NotClosed(_))
        ));
        assert_eq!(witness(&Solid::new_unchecked(vec![]), tol(0.01)), Err(WitnessError::Empty));
        let bad = cube();
        bad.boundaries()[0].vertex_iter().for_each(|v| v.set_point(Point3::new(f64::NAN, 0.0, 0.0)));
        bad.boundaries()[0].edge_iter().for_each(|e| {
            e.set_curve(builder::line(e.front(), e.back()).curve());
        });
        assert_eq!(witness(&bad, tol(0.01)), Err(WitnessError::NotFinite));
    }
}
