//! Edges where the metal comes to a blade.

use super::cell::{ANGLE_PAD, Cell, angle};
use crate::solid::{Curve, Solid};
use crate::units::{Deg, Mm};
use nalgebra::Point3;
use std::f64::consts::{FRAC_PI_2, PI};

/// Below this the smallest angle of an edge is not narrowed further, radians: a fortieth of a thousandth of a degree.
const NARROW: f64 = 4e-7;
/// Parts an edge is cut into at most; the bounds hold all the same.
const BUDGET: usize = 20_000;
/// Parts of a curve piece over which the length below the limit is summed.
const STEPS: u32 = 64;

/// An edge whose material angle is below a limit somewhere along it.
#[derive(Clone, Debug, PartialEq)]
pub struct AcuteEdge {
    /// Index of the edge.
    pub edge: usize,
    /// Names of its two faces.
    pub between: [String; 2],
    /// Smallest angle of the metal found along the edge.
    pub angle: Deg,
    /// Proved: nowhere along the edge is it smaller.
    pub lower: Deg,
    /// Where the angle is smallest, mm.
    pub at: Point3<f64>,
    /// Length of the part of the edge below the limit, mm, summed over short chords: good to about 1/64 of a piece.
    pub length: Mm,
}

/// Angle of the metal between the two faces of an edge at a parameter, radians: below pi on a convex edge, above on a
/// reflex one.
///
/// With normals n, m of the left and right face and the tangent t, the left face runs away from the edge along n x t; the
/// edge is convex if the right face's normal looks the other way. Angle = pi - turn, or pi + turn.
pub(super) fn material_angle(solid: &Solid, edge: usize, t: f64) -> f64 {
    let e = &solid.edges[edge];
    let p = e.curve.point(t);
    let [n, m] = e.faces.map(|f| solid.faces[f].normal(&p));
    let turn = angle(&n, &m);
    if n.cross(&e.curve.derivative(t)).dot(&m) <= 0.0 { PI - turn } else { PI + turn }
}

/// All edges with a material angle below `limit` somewhere, the sharpest first.
///
/// The angle is searched by branch and bound: over a part of an edge it changes by no more than both normals do.
#[must_use]
pub fn acute_edges(solid: &Solid, limit: Deg) -> Vec<AcuteEdge> {
    let bar = limit.radians();
    let mut out: Vec<AcuteEdge> = (0..solid.edges.len()).filter_map(|e| one(solid, e, bar)).collect();
    out.sort_by(|a, b| a.angle.get().total_cmp(&b.angle.get()).then(a.edge.cmp(&b.edge)));
    out
}

fn one(solid: &Solid, edge: usize, bar: f64) -> Option<AcuteEdge> {
    let e = &solid.edges[edge];
    let (mut best, mut at) = (f64::INFINITY, 0.0);
    let (mut proved, mut seen) = (f64::INFINITY, 0);
    let mut todo: Vec<[f64; 2]> = e.curve.knots().windows(2).map(|w| [w[0], w[1]]).collect();
    while let Some([t0, t1]) = todo.pop() {
        seen += 1;
        let m = f64::midpoint(t0, t1);
        for t in [t0, m, t1] {
            let a = material_angle(solid, edge, t);
            if a < best {
                (best, at) = (a, t);
            }
        }
        let quarter = matches!(e.curve, Curve::Arc(_)) && t1 - t0 > FRAC_PI_2;
        let spread: f64 = if quarter {
            PI
        } else {
            e.faces.iter().map(|&f| Cell::piece(solid, edge, [t0, t1], f, None).spread).sum()
        };
        let least = material_angle(solid, edge, m) - spread - ANGLE_PAD;
        // Far above the limit nobody asks for a proof to a thousandth of a degree.
        if least > bar || least > best - NARROW || seen > BUDGET {
            proved = proved.min(least);
        } else {
            todo.extend([[m, t1], [t0, m]]);
        }
    }
    (best < bar).then(|| AcuteEdge {
        edge,
        between: e.faces.map(|f| solid.faces[f].name.clone()),
        angle: Deg::from_radians(best),
        lower: Deg::from_radians(proved.min(best).max(0.0)),
        at: e.curve.point(at),
        length: Mm(length_below(solid, edge, bar)),
    })
}

fn length_below(solid: &Solid, edge: usize, bar: f64) -> f64 {
    let c = &solid.edges[edge].curve;
    let mut sum = 0.0;
    for w in c.knots().windows(2) {
        let step = (w[1] - w[0]) / f64::from(STEPS);
        for i in 0..STEPS {
            let t = w[0] + step * f64::from(i);
            if material_angle(solid, edge, t + step / 2.0) < bar {
                let m = c.point(t + step / 2.0);
                sum += (m - c.point(t)).norm() + (c.point(t + step) - m).norm();
            }
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::walls::testkit::{Side, circle, drafted, polygon, prism, rectangle};

    #[test]
    fn only_the_wedge_edge_is_listed_with_its_angle_and_length() {
        let s = prism(&[polygon(&[([0.0, 0.0], "floor"), ([2.0, 0.0], "thick"), ([2.0, 1.0], "roof")])], 3.0);
        // Closed form: atan(1 / 2) at the tip, 90 deg - that at the other end of the roof.
        let tip = libm::atan2(1.0, 2.0).to_degrees();
        let all = acute_edges(&s, Deg(45.0));
        assert_eq!(all.len(), 1);
        let e = &all[0];
        assert!(
            (e.angle.get() - tip).abs() < 1e-9 && e.lower <= e.angle && e.angle.get() - e.lower.get() < 1e-4
        );
        assert!((e.length.get() - 3.0).abs() < 1e-9);
        assert_eq!(acute_edges(&s, Deg(64.0)).len(), 2);
        assert!(acute_edges(&prism(&[rectangle(2.0, 1.0)], 0.5), Deg(89.9)).is_empty());
        assert_eq!(acute_edges(&prism(&[rectangle(2.0, 1.0)], 0.5), Deg(90.1)).len(), 12);
    }

    #[test]
    fn a_drafted_cup_has_its_rim_angle_and_a_chord_cut_its_own() {
        // Closed form: a cone of slope s meets its base at 90 deg - atan s inside the metal on one side of the rim.
        let cup = drafted(&[circle("skin", [0.0; 2], 1.7, 0.3, true)], 2.5, 0.3);
        let all = acute_edges(&cup, Deg(80.0));
        let truth = 90.0 - libm::atan2(0.3, 1.0).to_degrees();
        assert_eq!(all.len(), 2, "both halves of the upper rim");
        assert!(
            all.iter().all(|e| (e.angle.get() - truth).abs() < 1e-6 && e.between.contains(&"top".to_owned()))
        );
        let rim = std::f64::consts::PI * (1.7 + 0.75);
        // 128 chords on half a turn: short by (pi / 128)^2 / 24.
        assert!(all.iter().all(|e| (e.length.get() - rim).abs() < 1e-3 * rim), "{all:?}");
        // Circle of radius 1 cut by the line y = 0.8: the metal below the chord is a segment with edge angle asin-like
        // acos 0.8 (closed form: angle between tangent and chord).
        let x = 0.6;
        let seg = prism(
            &[vec![
                ([x, 0.8], Side::Arc([0.0; 2], true), "arc".into()),
                ([-x, 0.8], Side::Line, "cut".into()),
            ]],
            1.0,
        );
        let all = acute_edges(&seg, Deg(45.0));
        assert_eq!(all.len(), 2);
        assert!(all.iter().all(|e| (e.angle.get() - libm::acos(0.8).to_degrees()).abs() < 1e-6));
    }
}
