//! A tree of boxes, each with a cone that holds all its normals.

use super::prim::{Bit, Boundary};
use crate::walls::cell::angle;
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// Primitives in a leaf: testing four pairs costs about what a further level would.
const LEAF: usize = 2;

/// A node.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) lo: Point3<f64>,
    pub(super) hi: Point3<f64>,
    pub(super) axis: Vector3<f64>,
    pub(super) spread: f64,
    /// Range of [`Tree::order`].
    pub(super) range: [usize; 2],
    /// First of two children.
    pub(super) child: Option<usize>,
}

/// The tree; node 0 is the root.
pub(super) struct Tree {
    pub(super) nodes: Vec<Node>,
    pub(super) order: Vec<usize>,
    /// Every primitive as a whole.
    pub(super) bits: Vec<Bit>,
}

impl Tree {
    pub(super) fn new(s: &Boundary<'_>) -> Self {
        let bits: Vec<Bit> = (0..s.prims.len()).map(|i| s.bit(i)).collect();
        let mut order: Vec<usize> = (0..bits.len()).collect();
        let empty = |range| Node {
            lo: Point3::from([f64::INFINITY; 3]),
            hi: Point3::from([f64::NEG_INFINITY; 3]),
            axis: Vector3::z(),
            spread: 2.0 * PI,
            range,
            child: None,
        };
        let mut nodes = Vec::new();
        if !bits.is_empty() {
            nodes.push(empty([0, bits.len()]));
        }
        let mut k = 0;
        while k < nodes.len() {
            let [a, b]: [usize; 2] = nodes[k].range;
            if b - a > LEAF {
                let (mut lo, mut hi) = (bits[order[a]].centre, bits[order[a]].centre);
                for &i in &order[a..b] {
                    lo = lo.inf(&bits[i].centre);
                    hi = hi.sup(&bits[i].centre);
                }
                let axis = (hi - lo).imax();
                let m = usize::midpoint(a, b);
                order[a..b].select_nth_unstable_by(m - a, |&x, &y| {
                    bits[x].centre[axis].total_cmp(&bits[y].centre[axis]).then(x.cmp(&y))
                });
                nodes[k].child = Some(nodes.len());
                nodes.push(empty([a, m]));
                nodes.push(empty([m, b]));
            }
            k += 1;
        }
        // Children come after their parents.
        for k in (0..nodes.len()).rev() {
            let mut parts: Vec<(Vector3<f64>, f64)> = Vec::with_capacity(LEAF);
            let (mut lo, mut hi) = (nodes[k].lo, nodes[k].hi);
            if let Some(c) = nodes[k].child {
                for n in &nodes[c..c + 2] {
                    lo = lo.inf(&n.lo);
                    hi = hi.sup(&n.hi);
                    parts.push((n.axis, n.spread));
                }
            } else {
                for &i in &order[nodes[k].range[0]..nodes[k].range[1]] {
                    let slack = Vector3::repeat(s.prims[i].slack);
                    for p in s.corners(&bits[i]) {
                        lo = lo.inf(&(p - slack));
                        hi = hi.sup(&(p + slack));
                    }
                    parts.push((bits[i].axis, bits[i].spread));
                }
            }
            let sum: Vector3<f64> = parts.iter().map(|p| p.0).sum();
            let n = &mut nodes[k];
            (n.lo, n.hi) = (lo, hi);
            if let Some(x) = sum.try_normalize(1e-9) {
                n.axis = x;
                n.spread = parts.iter().map(|p| angle(&p.0, &x) + p.1).fold(0.0, f64::max);
            }
        }
        Self { nodes, order, bits }
    }
}

impl Node {
    /// Distance of two boxes, mm.
    pub(super) fn gap(&self, o: &Self) -> f64 {
        (self.lo - o.hi).sup(&(o.lo - self.hi)).sup(&Vector3::zeros()).norm()
    }

    /// Whether no chord from this node to the other can meet the normals within delta.
    pub(super) fn excludes(&self, o: &Self, delta: f64) -> bool {
        if PI - angle(&self.axis, &o.axis) > self.spread + o.spread + 2.0 * delta {
            return true;
        }
        // All chords lie within asin(rho / distance) of the line of centres.
        let d = nalgebra::center(&o.lo, &o.hi) - nalgebra::center(&self.lo, &self.hi);
        let rho = ((self.hi - self.lo).norm() + (o.hi - o.lo).norm()) / 2.0;
        let far = d.norm();
        if far <= rho {
            return false;
        }
        let sway = delta + libm::asin(rho / far) + 1e-12;
        angle(&-d, &self.axis) > self.spread + sway || angle(&d, &o.axis) > o.spread + sway
    }

    /// Whether a chord from a point with this normal to the node may meet the normals within delta.
    pub(super) fn may_oppose_point(&self, p: &Point3<f64>, normal: &Vector3<f64>, delta: f64) -> bool {
        if PI - angle(normal, &self.axis) > self.spread + 2.0 * delta {
            return false;
        }
        let d = nalgebra::center(&self.lo, &self.hi) - p;
        let (far, rho) = (d.norm(), (self.hi - self.lo).norm() / 2.0);
        if far <= rho {
            return true;
        }
        let sway = delta + libm::asin(rho / far) + 1e-12;
        angle(&-d, normal) <= sway && angle(&d, &self.axis) <= self.spread + sway
    }
}
