//! A tree of boxes, each with a cone that holds all its normals and with a disc about the cone's axis.
//!
//! A box along the axes of the frame is about as thick as it is long where the surface runs askew; a disc that lies with the surface is
//! only as thick as that bends. Where a wall has the same thickness everywhere this keeps the pairs looked at in proportion
//! to the triangles.

use super::prim::{Bit, Boundary};
use super::search::group_of;
use crate::walls::cell::angle;
use libm::hypot;
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
    /// Middle, radius and half thickness of a disc across the axis that holds the node, mm.
    pub(super) centre: Point3<f64>,
    pub(super) radius: f64,
    pub(super) half: f64,
    /// Range of [`Tree::order`].
    pub(super) range: [usize; 2],
    /// First of two children.
    pub(super) child: Option<usize>,
    /// The group of all its primitives, if they are of one.
    pub(super) group: Option<u32>,
}

/// The tree; node 0 is the root.
pub(super) struct Tree {
    pub(super) nodes: Vec<Node>,
    pub(super) order: Vec<usize>,
    /// Every primitive as a whole.
    pub(super) bits: Vec<Bit>,
}

impl Tree {
    /// The tree over a boundary, `groups` as in [`super::search::Field`].
    pub(super) fn new(s: &Boundary<'_>, groups: &[u32]) -> Self {
        let bits: Vec<Bit> = (0..s.prims.len()).map(|i| s.bit(i)).collect();
        let mut order: Vec<usize> = (0..bits.len()).collect();
        let empty = |range| Node {
            lo: Point3::from([f64::INFINITY; 3]),
            hi: Point3::from([f64::NEG_INFINITY; 3]),
            axis: Vector3::z(),
            spread: 2.0 * PI,
            centre: Point3::origin(),
            radius: f64::INFINITY,
            half: f64::INFINITY,
            range,
            child: None,
            group: None,
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
            let group;
            if let Some(c) = nodes[k].child {
                group = nodes[c].group.filter(|_| nodes[c].group == nodes[c + 1].group);
                for n in &nodes[c..c + 2] {
                    lo = lo.inf(&n.lo);
                    hi = hi.sup(&n.hi);
                    parts.push((n.axis, n.spread));
                }
            } else {
                let own = &order[nodes[k].range[0]..nodes[k].range[1]];
                let of = |&i: &usize| group_of(groups, s.prims[i].face);
                group = own.first().map(of).filter(|g| own.iter().all(|i| of(i) == *g));
                for &i in own {
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
            (n.lo, n.hi, n.group) = (lo, hi, group);
            if let Some(x) = sum.try_normalize(1e-9) {
                n.axis = x;
                n.spread = parts.iter().map(|p| angle(&p.0, &x) + p.1).fold(0.0, f64::max);
            }
            let [a, b] = n.range;
            n.enclose(order[a..b].iter().flat_map(|&i| {
                let slack = s.prims[i].slack;
                s.corners(&bits[i]).iter().map(move |p| (*p, slack))
            }));
        }
        Self { nodes, order, bits }
    }
}

impl Node {
    /// Lays the disc about points and what they may be off.
    fn enclose(&mut self, points: impl Iterator<Item = (Point3<f64>, f64)> + Clone) {
        let middle = nalgebra::center(&self.lo, &self.hi);
        let up = |p: &Point3<f64>| self.axis.dot(&(p - middle));
        let (mut lo, mut hi) = (f64::INFINITY, f64::NEG_INFINITY);
        for (p, slack) in points.clone() {
            (lo, hi) = (lo.min(up(&p) - slack), hi.max(up(&p) + slack));
        }
        let centre = middle + self.axis * f64::midpoint(lo, hi);
        let across = |p: &Point3<f64>| {
            let d = p - centre;
            (d - self.axis * self.axis.dot(&d)).norm()
        };
        self.radius = points.map(|(p, slack)| across(&p) + slack).fold(0.0, f64::max);
        (self.centre, self.half) = (centre, (hi - lo) / 2.0);
    }

    /// How far the disc reaches from its middle along a direction of length 1, mm.
    fn reach(&self, u: &Vector3<f64>) -> f64 {
        // The sine from the cross product: from the cosine it would lose half its digits where it is small.
        self.half * self.axis.dot(u).abs() + self.radius * self.axis.cross(u).norm()
    }

    /// Least distance between two nodes, mm: that of their boxes, or of their discs along and across the line between their axes.
    pub(super) fn gap(&self, o: &Self) -> f64 {
        let boxes = (self.lo - o.hi).sup(&(o.lo - self.hi)).sup(&Vector3::zeros()).norm();
        let Some(u) = (self.axis - o.axis).try_normalize(1.0) else { return boxes };
        let d = o.centre - self.centre;
        let along = u.dot(&d);
        let across = (d - u * along).norm() - hypot(self.radius, self.half) - hypot(o.radius, o.half);
        let along = along.abs() - self.reach(&u) - o.reach(&u);
        boxes.max(hypot(along.max(0.0), across.max(0.0)))
    }

    /// Least distance from a point, mm.
    pub(super) fn gap_from(&self, p: &Point3<f64>) -> f64 {
        let outside = (self.lo - p).sup(&(p - self.hi)).sup(&Vector3::zeros()).norm();
        let d = p - self.centre;
        let along = self.axis.dot(&d);
        let across = (d - self.axis * along).norm() - self.radius;
        outside.max(hypot((along.abs() - self.half).max(0.0), across.max(0.0)))
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
