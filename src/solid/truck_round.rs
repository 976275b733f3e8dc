//! Spheres and tori for the truck kernel: an arc turned about an axis that the face does not meet.

use super::brep::{Face, Solid};
use super::curve::{Arc, Curve};
use super::torus::Torus;
use nalgebra::{Point3, Vector3};
use std::f64::consts::{FRAC_PI_2, PI};

/// How far the arc reaches beyond the face at either end at most, radians.
const REACH: f64 = 0.05;
/// What stays free of the face on either side, of a pole or of where the arc would close, radians.
const FREE: f64 = 0.02;

/// An arc, and the axis it is turned about.
pub(super) struct Turned {
    pub(super) arc: Arc,
    pub(super) origin: Point3<f64>,
    pub(super) axis: Vector3<f64>,
}

impl Solid {
    /// The first face that truck cannot be handed: a part of a sphere with a pole of every axis that its edges offer.
    #[must_use]
    pub fn beyond_truck(&self) -> Option<&str> {
        let beyond = |f: &&Face| f.torus().is_some_and(|t| self.turned(f, t).is_none());
        self.faces.iter().find(beyond).map(|f| f.name.as_str())
    }

    /// The face's sphere or torus as an arc turned about an axis, so that truck's normal points out of the material.
    pub(super) fn turned(&self, face: &Face, torus: &Torus) -> Option<Turned> {
        let mut points = Vec::new();
        for u in face.loops.iter().flatten() {
            let curve = &self.edges[u.edge].curve;
            let end = curve.end_parameter();
            points.extend((0..=8).map(|i| curve.point(end * f64::from(i) / 8.0)));
        }
        if !torus.is_sphere() {
            let tube = points.iter().map(|p| torus.coordinates(p, face.seam)[1]);
            let (low, high) = span(tube)?;
            let reach = REACH.min((2.0 * PI - (high - low)) / 4.0);
            if reach < FREE / 2.0 {
                return None;
            }
            let spoke = torus.spoke(face.seam);
            let from = [low - reach, high + reach].map(|t| t + torus.tube_seam);
            return Some(swept(torus, torus.axis, spoke, from, face.outward));
        }
        // A cup lies between circles about the axis of its bore; the axis of any of them does, if it does not meet the face.
        let axes = face.loops.iter().flatten().filter_map(|u| match &self.edges[u.edge].curve {
            Curve::Arc(a) if (a.centre - torus.centre).norm() > 1e-6 => a.x.cross(&a.y).try_normalize(1e-12),
            _ => None,
        });
        axes.into_iter().find_map(|axis| {
            let out = torus.axis - axis * torus.axis.dot(&axis);
            let out = out.try_normalize(1e-6)?;
            let side = axis.cross(&out);
            let around = |p: &Point3<f64>| {
                let w = p - torus.centre;
                let (x, y, z) = (w.dot(&out), w.dot(&side), w.dot(&axis));
                [libm::atan2(y, x), libm::atan2(z, libm::hypot(x, y))]
            };
            let places: Vec<[f64; 2]> = points.iter().map(around).collect();
            let (low, high) = span(places.iter().map(|p| p[1]))?;
            let clear = low > FREE - FRAC_PI_2 && high < FRAC_PI_2 - FREE;
            // All of the face on one side, so that no pole lies inside it either.
            if !clear || places.iter().any(|p| p[0].abs() > 0.75 * PI) {
                return None;
            }
            let reach = REACH.min((FRAC_PI_2 - high.max(-low)) / 2.0);
            Some(swept(torus, axis, -out, [low - reach, high + reach], face.outward))
        })
    }
}

/// Least and largest.
fn span(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let (low, high) = values.fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(x), b.max(x)));
    (low < high).then_some((low, high))
}

/// The arc round the tube from one angle to the other in the half plane of a spoke; turned about the axis its normal points
/// out of the tube, the arc run backwards, or into it.
fn swept(torus: &Torus, axis: Vector3<f64>, spoke: Vector3<f64>, from: [f64; 2], outward: bool) -> Turned {
    let [start, end] = if outward { [from[1], from[0]] } else { from };
    let (s, c) = libm::sincos(start);
    let way = if outward { -1.0 } else { 1.0 };
    let arc = Arc {
        centre: torus.centre + spoke * torus.major,
        x: (spoke * c + axis * s) * torus.minor,
        y: (axis * c - spoke * s) * (torus.minor * way),
        sweep: (end - start).abs(),
    };
    Turned { arc, origin: torus.centre, axis }
}
