//! Mass properties of the exact solid, without triangles.
//!
//! The divergence theorem turns volume and moments into integrals over the faces: `3 V` is the flux of the position `p`,
//! `4 V c` the flux of `p` weighted by `p`. On a plane `p . n` is constant, on a cone it depends on the angle alone, so
//! Green's theorem turns each face integral into one along its edges, the height of a cone being integrated by hand:
//! with `r = R + s h`, origin `o`, axis `k` and spoke `e(a)`,
//! `(p . n) dA = (R + o . e - s o . k) r dh da`, and the integrals of `r`, `h r`, `r^2` over `h` are polynomials.
//! Along the edges Gauss-Legendre rules of two orders are used; their difference is part of the stated error.

use super::line_integral::{Sample, gauss, samples};
use super::mass::Sum;
use crate::solid::{Cone, Curve, Face, Solid, Surface, Torus};
use nalgebra::{Point3, Vector3};

/// Relative error allowed for rounding in a sum of a few thousand terms that partly cancel.
const ROUNDING: f64 = 1e-14;

/// Mass properties of a solid, but for the density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SolidMass {
    /// mm^3.
    pub volume: f64,
    /// Stated error of the volume, mm^3: difference of two orders of integration, rounding, and what the fitted edge
    /// curves (measured at the points of integration) lie beside their surfaces.
    pub volume_error: f64,
    /// mm^2.
    pub area: f64,
    /// Stated error of the area, mm^2.
    pub area_error: f64,
    /// Centre of mass at even density, mm; not finite for a solid without volume.
    pub centre: Point3<f64>,
}

/// Volume, area and the three moments.
type Five = [f64; 5];

/// Mass properties of a solid that keeps its contract; of one that does not, numbers without meaning.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn solid_mass(solid: &Solid) -> SolidMass {
    let sum = solid.vertices.iter().fold(Vector3::zeros(), |s, p| s + p.coords);
    let base = Point3::from(sum / (solid.vertices.len().max(1) as f64));
    let rules = [gauss(10), gauss(16)];
    let mut totals = [[Sum::default(); 5]; 2];
    let (mut difference, mut size) = ([0.0; 2], [0.0; 2]);
    let (mut gap_volume, mut gap_area) = (0.0, 0.0);
    for e in &solid.edges {
        let along = [0, 1].map(|i| samples(&e.curve, &rules[i]));
        for (side, sign) in [(0, 1.0), (1, -1.0)] {
            let Some(face) = solid.faces.get(e.faces[side]) else { continue };
            let five = [0, 1].map(|i| part(face, &along[i], &base).map(|x| x * sign));
            for (total, f) in totals.iter_mut().zip(&five) {
                total.iter_mut().zip(f).for_each(|(t, &x)| t.add(x));
            }
            for k in 0..2 {
                difference[k] += (five[0][k] - five[1][k]).abs();
                size[k] += five[1][k].abs();
            }
        }
        if let Curve::Spline(_) = e.curve {
            // Between the traces of the curve on its two surfaces a strip is missing or doubled: its flux and its area.
            let (mut gap, mut reach, mut length) = (0.0_f64, 0.0_f64, 0.0);
            for (p, step) in &along[1] {
                length += step.norm();
                reach = reach.max((p - base).norm());
                let g: f64 =
                    e.faces.iter().filter_map(|&f| solid.faces.get(f)).map(|f| f.surface.distance(p)).sum();
                gap = gap.max(g);
            }
            gap_area += gap * length;
            gap_volume += gap * length * reach / 3.0;
        }
    }
    let [volume, area, x, y, z] = totals[1].map(|s| s.get());
    SolidMass {
        volume,
        volume_error: difference[0] + size[0] * ROUNDING + gap_volume,
        area,
        area_error: difference[1] + size[1] * ROUNDING + gap_area,
        centre: base + Vector3::new(x, y, z) / volume,
    }
}

/// What one edge adds to the integrals over the face on its left.
fn part(face: &Face, along: &[Sample], base: &Point3<f64>) -> Five {
    let sign = if face.outward { 1.0 } else { -1.0 };
    let mut sums = [Sum::default(); 5];
    let inner = if face.torus().is_some() { gauss(16) } else { Vec::new() };
    for (p, step) in along {
        let q = p - base;
        let five = match &face.surface {
            Surface::Plane(s) => {
                let (u, v) = s.axes();
                let d = s.offset - s.normal.dot(&base.coords);
                let (qu, qv, du, dv) = (u.dot(&q), v.dot(&q), u.dot(step), v.dot(step));
                let area = sign * 0.5 * (qu * dv - qv * du);
                let first = (u * (qu * qu * dv) - v * (qv * qv * du)) * (0.5 * sign);
                let flux = sign * d;
                let m = (s.normal * (d * area) + first) * (flux / 4.0);
                [flux * area / 3.0, area, m.x, m.y, m.z]
            }
            Surface::Cone(c) => cone_part(c, sign, &q, step, &(c.origin - base)),
            Surface::Torus(t) => round_part(t, sign, p, step, &(t.centre - base), &inner),
        };
        sums.iter_mut().zip(five).for_each(|(s, x)| s.add(x));
    }
    sums.map(|s| s.get())
}

fn cone_part(c: &Cone, sign: f64, q: &Vector3<f64>, step: &Vector3<f64>, o: &Vector3<f64>) -> Five {
    let w = q - o;
    let h = w.dot(&c.axis);
    let across = w - c.axis * h;
    let rho = across.norm();
    if rho <= 0.0 {
        return [0.0; 5];
    }
    let e = across / rho;
    let turn = c.axis.cross(&e).dot(step) / rho;
    let (r, s) = (c.radius, c.slope);
    // Integrals over the height of r, h r and r^2.
    let one = h * (r + s * h / 2.0);
    let high = h * h * (r / 2.0 + s * h / 3.0);
    let square = h * (r * r + h * (r * s + s * s * h / 3.0));
    let flux = r + o.dot(&e) - s * o.dot(&c.axis);
    let m = (o * one + c.axis * high + e * square) * (-flux * turn / 4.0);
    [-flux * one * turn / 3.0, -sign * one * turn / c.cos_half_angle(), m.x, m.y, m.z]
}

/// Torus: `p . n = (R + o . e) cos v + o . k sin v + r`, `dA = r (R + r cos v) dv da`, integrated over `v` from the tube seam;
/// sphere: `p . n = o . n + r`, `dA = r^2 sin v dv da` from the axis. Both are trigonometric polynomials of degree four at
/// most, for which 16 points of Gauss are exact to rounding over a whole turn.
fn round_part(
    t: &Torus,
    sign: f64,
    p: &Point3<f64>,
    step: &Vector3<f64>,
    o: &Vector3<f64>,
    rule: &[(f64, f64)],
) -> Five {
    let w = p - t.centre;
    let high = w.dot(&t.axis);
    let across = w - t.axis * high;
    let rho = across.norm();
    if rho <= 0.0 {
        return [0.0; 5];
    }
    let e = across / rho;
    let turn = t.axis.cross(&e).dot(step) / rho;
    // Seen from outside, the angle round the axis and that round the tube are right-handed, on a sphere left-handed, since
    // its angle starts at the axis.
    let (from, to, turn) = if t.is_sphere() {
        (0.0, libm::atan2(rho, high), turn)
    } else {
        let past = libm::atan2(high, rho - t.major) - t.tube_seam;
        (t.tube_seam, t.tube_seam + past.rem_euclid(std::f64::consts::TAU), -turn)
    };
    let half = 0.5 * (to - from);
    let (mut volume, mut area, mut m) = (0.0, 0.0, Vector3::zeros());
    for &(x, weight) in rule {
        let (s, c) = libm::sincos(from + half * (1.0 + x));
        let (n, width) = if t.is_sphere() {
            (e * s + t.axis * c, t.minor * s)
        } else {
            (e * c + t.axis * s, t.major + t.minor * c)
        };
        let at = o + e * t.major + n * t.minor;
        let patch = weight * half * t.minor * width * turn;
        let flux = at.dot(&n) * patch;
        area += patch;
        volume += flux;
        m += at * flux;
    }
    let m = m / 4.0;
    [volume / 3.0, sign * area, m.x, m.y, m.z]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::test_solids::*;
    use crate::mesh::{mass, tessellate};
    use crate::units::Tolerance;
    use proptest::prelude::*;
    use std::f64::consts::PI;

    fn close(a: f64, b: f64) {
        assert!((a - b).abs() <= 1e-12 * b.abs(), "{a} {b}");
    }

    #[test]
    fn closed_forms_of_box_frustum_tube_and_plate() {
        for p in [nalgebra::Isometry3::identity(), askew()] {
            let m = solid_mass(&cuboid([1.0, 2.0, 3.0], &p));
            close(m.volume, 6.0);
            close(m.area, 22.0);
            assert!((m.centre - p * Point3::new(0.5, 1.0, 1.5)).norm() < 1e-12);
            // Frustum (any handbook): V = pi h (R^2 + R r + r^2) / 3, lateral area pi (R + r) slant, centre at
            // h (R^2 + 2 R r + 3 r^2) / (4 (R^2 + R r + r^2)) from the large end.
            let (r0, r1, h) = (2.0_f64, 0.5_f64, 3.0_f64);
            let m = solid_mass(&frustum(r0, r1, h, &p));
            close(m.volume, PI * h * (r0 * r0 + r0 * r1 + r1 * r1) / 3.0);
            close(m.area, PI * ((r0 + r1) * (h * h + (r0 - r1) * (r0 - r1)).sqrt() + r0 * r0 + r1 * r1));
            let z = h * (r0 * r0 + 2.0 * r0 * r1 + 3.0 * r1 * r1) / (4.0 * (r0 * r0 + r0 * r1 + r1 * r1));
            assert!((m.centre - p * Point3::new(0.0, 0.0, z)).norm() < 1e-12);
            let m = solid_mass(&tube(2.0, 1.5, 3.0, &p));
            close(m.volume, PI * 1.75 * 3.0);
            close(m.area, 2.0 * PI * (1.75 + 3.5 * 3.0));
            let m = solid_mass(&drilled([4.0, 3.0, 0.5], 0.4, &p));
            close(m.volume, 6.0 - PI * 0.16 * 0.5);
            close(m.area, 2.0 * 12.0 + 7.0 - 2.0 * PI * 0.16 + 2.0 * PI * 0.4 * 0.5);
            // A cylinder cut obliquely at height h + k x: V = A h, centre x = k I / (A h).
            let (a, i) = (PI * 0.51, PI * (1.0 - 0.7_f64.powi(4)) / 4.0);
            let m = solid_mass(&oblique_tube(1.0, 0.7, 2.0, 0.6, &p));
            close(m.volume, a * 2.0);
            assert!(m.volume_error < 1e-11, "{m:?}");
            let z = (a * 4.0 + 0.36 * i) / (2.0 * a * 2.0);
            assert!((m.centre - p * Point3::new(0.6 * i / (a * 2.0), 0.0, z)).norm() < 1e-11);
        }
    }

    #[test]
    fn a_ring_agrees_with_guldin_and_a_cross_hole_with_quadrature() {
        let p = [[1.1, 0.0], [1.75, 0.0], [2.05, 3.2], [1.75, 3.2], [1.5, 2.95], [1.2, 0.5], [1.1, 0.5]];
        close(solid_mass(&revolved(&p, true, &askew())).volume, ring_volume(&p));
        // Cylinder R with a cross hole r: pi R^2 h - integral over the hole's disc of 2 sqrt(R^2 - y^2), the latter as
        // 4 r^2 int sin^2 t 2 sqrt(R^2 - r^2 cos^2 t) dt over 0..pi/2, periodic, so the midpoint rule is exact to rounding.
        let (big, r, h) = (1.0_f64, 0.4_f64, 2.0_f64);
        let n = 64;
        let hole: f64 = (0..n)
            .map(|i| {
                let (s, c) = libm::sincos(PI * (f64::from(i) + 0.5) / f64::from(n));
                2.0 * r * r * s * s * 2.0 * (big * big - r * r * c * c).sqrt() * PI / f64::from(n)
            })
            .sum();
        let m = solid_mass(&cross_drilled(big, r, h, 64, &askew()));
        let exact = PI * big * big * h - hole;
        assert!((m.volume - exact).abs() <= m.volume_error, "{m:?} {exact}");
        assert!(m.volume_error < 1e-6 * exact, "{m:?}");
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 48, rng_seed: proptest::test_runner::RngSeed::Fixed(7), failure_persistence: None, ..ProptestConfig::default() })]
        #[test]
        fn random_frusta_and_tubes_in_random_poses(
            r0 in 0.2..3.0_f64, r1 in 0.2..3.0_f64, h in 0.1..5.0_f64, part in 0.2..0.95_f64,
            a in prop::array::uniform3(-3.0..3.0_f64), s in prop::array::uniform3(-5.0..5.0_f64),
        ) {
            let p = pose(a, s);
            let f = frustum(r0, r1, h, &p);
            let exact = PI * h * (r0 * r0 + r0 * r1 + r1 * r1) / 3.0;
            let m = solid_mass(&f);
            prop_assert!((m.volume - exact).abs() <= 1e-12 * exact);
            let t = tube(r0, r0 * part, h, &p);
            let exact = PI * r0 * r0 * (1.0 - part * part) * h;
            prop_assert!((solid_mass(&t).volume - exact).abs() <= 1e-12 * exact.max(r0 * r0 * h));
            for s in [f, t] {
                let fine = tessellate(&s, Tolerance::new(0.005).unwrap()).unwrap();
                prop_assert!(fine.chord.iter().all(|&c| c <= 0.005));
                let (x, y) = (solid_mass(&s), mass::mass(&fine.mesh));
                prop_assert!((x.volume - y.volume).abs() <= 0.005 * x.area);
                prop_assert!(y.area <= x.area * (1.0 + 1e-12));
            }
        }
    }
}
