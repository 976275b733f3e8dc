//! Volume, area and centre of a closed mesh.

use super::TriMesh;
use nalgebra::{Point3, Vector3};

/// A sum that keeps the rounding error of each step (Neumaier, "Rundungsfehleranalyse einiger Verfahren zur Summation
/// endlicher Summen", 1974).
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Sum {
    sum: f64,
    lost: f64,
}

impl Sum {
    pub(super) fn add(&mut self, x: f64) {
        let s = self.sum + x;
        self.lost += if self.sum.abs() >= x.abs() { (self.sum - s) + x } else { (x - s) + self.sum };
        self.sum = s;
    }
    pub(super) fn get(&self) -> f64 {
        self.sum + self.lost
    }
}

/// What a closed mesh weighs, but for the density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeshMass {
    /// mm^3; positive if the triangles face outwards.
    pub volume: f64,
    /// mm^2.
    pub area: f64,
    /// Centre of mass at even density, mm; not finite for a mesh without volume.
    pub centre: Point3<f64>,
}

/// Mass properties by the divergence theorem, exact for the mesh but for rounding near 1e-15 of its size.
#[must_use]
pub fn mass(mesh: &TriMesh) -> MeshMass {
    let (mut volume, mut area) = (Sum::default(), Sum::default());
    let mut moment = [Sum::default(); 3];
    // Measured from a vertex, so that a part far from the origin loses no digits.
    let base = mesh.positions.first().copied().unwrap_or_else(Point3::origin);
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t).map(|p| p - base);
        let v = a.dot(&b.cross(&c)) / 6.0;
        volume.add(v);
        area.add((b - a).cross(&(c - a)).norm() / 2.0);
        let m = (a + b + c) * (v / 4.0);
        (0..3).for_each(|k| moment[k].add(m[k]));
    }
    let v = volume.get();
    MeshMass { volume: v, area: area.get(), centre: base + Vector3::from(moment.map(|m| m.get())) / v }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::tessellate;
    use crate::mesh::test_solids::{askew, cuboid};
    use crate::units::Tolerance;

    #[test]
    fn a_box_far_away_has_its_volume_area_and_centre() {
        let p = nalgebra::Isometry3::translation(1e3, -2e3, 5e2) * askew();
        let m = tessellate(&cuboid([1.0, 2.0, 3.0], &p), Tolerance::new(0.01).unwrap()).unwrap();
        let got = mass(&m.mesh);
        assert!((got.volume - 6.0).abs() < 1e-11 && (got.area - 22.0).abs() < 1e-11, "{got:?}");
        assert!((got.centre - p * Point3::new(0.5, 1.0, 1.5)).norm() < 1e-11);
    }

    #[test]
    fn the_sum_keeps_what_plain_addition_loses() {
        let mut s = Sum::default();
        [1.0, 1e100, 1.0, -1e100].iter().for_each(|&x| s.add(x));
        assert!((s.get() - 2.0).abs() < f64::EPSILON);
    }
}
