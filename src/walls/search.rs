//! Shortest chord between two sets of cells on the exact solid: best-first branch and bound with a proof.
//!
//! *Lower bound of a pair of cells.* For any unit vector n, |q - p| >= n.q - n.p, so the gap between the supports of both
//! cells along n is a lower bound; n is tried along the centres and along both normals. It is exact to second order in
//! the size of the cells, and at once exact for parallel planes.
//!
//! *Pruning.* All chords of a pair point within asin(rho / D) of the centre direction, rho being the sum of the radii and
//! D the distance of the centres. A pair is dropped if
//! - its bound does not undercut the best chord by the tolerance;
//! - no chord can meet the normals within delta;
//! - no chord can be stationary: if both angle conditions are slack for all chords of the pair (or there are none), a
//!   shortest chord with an end in the interior of a face is square to that face, and with an end inside an edge square
//!   to that edge; otherwise sliding that end shortens it and breaks no condition. Ends on the border of a face
//!   are looked for in cells of their own, of its edges and vertices.
//! - a patch lies outside its face.
//!
//! Patches that stick out over the border only ever make the lower bound smaller: the safe side. The upper bound is a real
//! chord: both points on their features, inside their faces, both angle conditions checked.

use super::cell::{ANGLE_PAD, Cell, Shape, angle};
use super::foot::settle;
use super::gap::gap;
use super::region::{Region, Side};
use crate::solid::{Curve, Solid};
use nalgebra::{Point3, Vector3};
use std::cmp::Ordering;
use std::collections::{BTreeMap, BinaryHeap};
use std::f64::consts::{FRAC_PI_2, PI};

/// Subtracted from every length bound, mm: some hundred operations on coordinates below 100 mm round to less than 1e-12.
pub(super) const ROUNDING: f64 = 1e-12;
/// Fitted edge curves and all vertices lie within this of their surfaces, mm (contract of [`Solid`]).
pub(super) const FITTED: f64 = 1e-7;

/// What is looked for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Goal {
    /// Largest angle between chord and normals, radians; `None` for the plain distance.
    pub(super) delta: Option<f64>,
    /// Chords this long or longer do not matter, mm.
    pub(super) below: f64,
    /// Stop when lower and upper bound are this close, mm.
    pub(super) tolerance: f64,
    /// Give up narrowing after this many pairs; the bounds hold all the same.
    pub(super) budget: usize,
    /// Chords this short, and pairs this small that touch, are contact and not thickness, mm; 0 to count everything.
    pub(super) touch: f64,
}

/// A real chord.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chord {
    pub(super) at: [Point3<f64>; 2],
    pub(super) faces: [usize; 2],
    /// How far its ends may lie off the exact surfaces, mm.
    pub(super) doubt: f64,
}

/// Result of [`Scene::search`].
#[derive(Clone, Copy, Debug)]
pub(super) struct Found {
    /// No chord is shorter, mm; infinite if there is none at all.
    pub(super) lower: f64,
    /// Length of `chord`, or `below`.
    pub(super) upper: f64,
    pub(super) chord: Option<Chord>,
    /// Pairs looked at.
    pub(super) pairs: usize,
    /// No points of the two sets of surfaces are closer, whatever their borders, mm.
    pub(super) floor: f64,
    /// Where the sets touch so that chords of no length may meet the normals.
    pub(super) contact: Option<Point3<f64>>,
}

struct Pair {
    lower: f64,
    size: f64,
    order: usize,
    cells: [usize; 2],
}

impl Ord for Pair {
    /// The heap gives the least lower bound first, among equals the smallest pair, so that a chord is found early.
    fn cmp(&self, o: &Self) -> Ordering {
        o.lower.total_cmp(&self.lower).then(o.size.total_cmp(&self.size)).then(self.order.cmp(&o.order))
    }
}
impl PartialOrd for Pair {
    fn partial_cmp(&self, o: &Self) -> Option<Ordering> {
        Some(self.cmp(o))
    }
}
impl PartialEq for Pair {
    fn eq(&self, o: &Self) -> bool {
        self.cmp(o) == Ordering::Equal
    }
}
impl Eq for Pair {}

struct Node {
    cell: Cell,
    /// Whole cell inside its face; edges and vertices always.
    inside: bool,
    split: [Option<[Option<usize>; 2]>; 2],
}

/// The solid with what has been prepared of it.
pub(super) struct Scene<'a> {
    pub(super) solid: &'a Solid,
    regions: BTreeMap<usize, Region>,
    nodes: Vec<Node>,
    /// [`gap`] by pair of faces.
    gaps: BTreeMap<(usize, usize), f64>,
}

/// Bound, direction it was found along, and whether the pair can hold a shortest chord.
struct Bound {
    lower: f64,
    along: Vector3<f64>,
}

impl<'a> Scene<'a> {
    pub(super) fn new(solid: &'a Solid) -> Self {
        Self { solid, regions: BTreeMap::new(), nodes: Vec::new(), gaps: BTreeMap::new() }
    }

    /// Cells of a face: its box, its edges piece by piece, its vertices.
    pub(super) fn face_cells(&mut self, face: usize) -> Vec<usize> {
        let f = &self.solid.faces[face];
        let region = Region::new(self.solid, f);
        let (lo, hi) = (region.lo, region.hi);
        self.regions.insert(face, region);
        let mut out = Vec::new();
        if lo.iter().chain(&hi).all(|x| x.is_finite()) {
            out.extend(self.add(Cell::patch(self.solid, face, [lo[0], hi[0]], [lo[1], hi[1]]), false));
        }
        for u in f.loops.iter().flatten() {
            let e = &self.solid.edges[u.edge];
            out.extend(self.edge_cells(u.edge, face, None));
            let v = e.ends[usize::from(!u.forward)];
            out.extend(self.add(Cell::corner(self.solid, v, face), true));
        }
        out
    }

    pub(super) fn edge_cells(&mut self, edge: usize, face: usize, fan: Option<usize>) -> Vec<usize> {
        let curve = &self.solid.edges[edge].curve;
        let mut out = Vec::new();
        for w in curve.knots().windows(2) {
            // Quarter turns: chord bounds of arcs beyond half a turn are infinite.
            let parts = if let Curve::Arc(a) = curve { (a.sweep / FRAC_PI_2).ceil().max(1.0) } else { 1.0 };
            let step = (w[1] - w[0]) / parts;
            let mut t = w[0];
            while t < w[1] - 0.5 * step {
                let next = if t + 1.5 * step > w[1] { w[1] } else { t + step };
                out.extend(self.add(Cell::piece(self.solid, edge, [t, next], face, fan), true));
                t = next;
            }
        }
        out
    }

    pub(super) fn cell(&self, id: usize) -> &Cell {
        &self.nodes[id].cell
    }

    /// `None` if the cell lies outside its face.
    fn add(&mut self, cell: Cell, inside: bool) -> Option<usize> {
        let mut inside = inside;
        if !inside && let Some(r) = self.regions.get(&cell.face) {
            match r.side(&self.solid.faces[cell.face], &cell.centre, cell.radius) {
                Side::In => inside = true,
                Side::Out => return None,
                Side::Near => {}
            }
        }
        self.nodes.push(Node { cell, inside, split: [None, None] });
        Some(self.nodes.len() - 1)
    }

    fn halves(&mut self, id: usize, second: bool) -> [Option<usize>; 2] {
        let axis = usize::from(second);
        if let Some(s) = self.nodes[id].split[axis] {
            return s;
        }
        let inside = self.nodes[id].inside;
        let s = self.nodes[id].cell.halves(self.solid, second).map(|c| self.add(c, inside));
        self.nodes[id].split[axis] = Some(s);
        s
    }

    /// The shortest chord from a cell of `a` to a cell of `b`.
    pub(super) fn search(&mut self, a: &[usize], b: &[usize], goal: &Goal) -> Found {
        let mut s = Search {
            goal,
            heap: BinaryHeap::new(),
            upper: goal.below,
            chord: None,
            // Least bound among the pairs dropped for not undercutting the best chord by the tolerance.
            dropped: f64::INFINITY,
            pairs: 0,
            contact: None,
        };
        let mut floor = f64::INFINITY;
        for &i in a {
            for &j in b {
                let (f, g) = (self.nodes[i].cell.face, self.nodes[j].cell.face);
                let faces = &self.solid.faces;
                let whole =
                    self.gaps.entry((f, g)).or_insert_with(|| gap(&faces[f].surface, &faces[g].surface));
                let fan = self.nodes[i].cell.fan.is_some() || self.nodes[j].cell.fan.is_some();
                floor = floor.min(if fan { 0.0 } else { *whole });
                s.push(self, i, j);
            }
        }
        while let Some(pair) = s.heap.pop() {
            if pair.lower >= s.upper - goal.tolerance || s.pairs > goal.budget {
                s.dropped = s.dropped.min(pair.lower);
                break;
            }
            s.try_chords(self, pair.cells);
            s.split(self, &pair);
        }
        let lower = s.dropped.min(s.chord.map_or(f64::INFINITY, |_| s.upper));
        Found { lower, upper: s.upper, chord: s.chord, pairs: s.pairs, floor, contact: s.contact }
    }

    /// Whether a point belongs to the face of a cell beyond doubt.
    fn on(&self, id: usize, p: &Point3<f64>) -> bool {
        let cell = &self.nodes[id].cell;
        if !matches!(cell.shape, Shape::Patch { .. }) {
            return true;
        }
        self.regions.get(&cell.face).is_some_and(|r| r.side(&self.solid.faces[cell.face], p, 0.0) == Side::In)
    }

    /// How far a point of a cell may lie off the exact surface.
    fn doubt(&self, id: usize) -> f64 {
        self.doubt_of(&self.nodes[id].cell)
    }

    fn doubt_of(&self, cell: &Cell) -> f64 {
        match cell.shape {
            Shape::Patch { .. } => 0.0,
            Shape::Piece { edge, .. } => match self.solid.edges[edge].curve {
                // Exact by construction.
                Curve::Line(..) | Curve::Arc(_) | Curve::Conic(_) => 0.0,
                Curve::Spline(_) => FITTED,
            },
            Shape::Corner => 0.0,
        }
    }

    /// Whether a direction out of the body at a point of a cell lies within delta of its normal (or fan of normals).
    fn meets(&self, id: usize, p: &Point3<f64>, out: &Vector3<f64>, delta: f64) -> bool {
        let cell = &self.nodes[id].cell;
        let n = self.solid.faces[cell.face].normal(p);
        let Some(other) = cell.fan else { return angle(out, &n) <= delta };
        let m = self.solid.faces[other].normal(p);
        // Nearest direction of the fan: inside the wedge the angle to its plane, else to one of its ends.
        let Some(square) = n.cross(&m).try_normalize(1e-9) else { return angle(out, &n) <= delta };
        let flat = out - square * out.dot(&square);
        // Along the edge there is no nearest direction: a right angle to all of the fan.
        if flat.norm() < 1e-9 {
            return false;
        }
        if square.dot(&n.cross(&flat)) >= 0.0 && square.dot(&flat.cross(&m)) >= 0.0 {
            angle(out, &flat) <= delta
        } else {
            angle(out, &n).min(angle(out, &m)) <= delta
        }
    }
}

struct Search<'g> {
    goal: &'g Goal,
    heap: BinaryHeap<Pair>,
    upper: f64,
    chord: Option<Chord>,
    dropped: f64,
    pairs: usize,
    contact: Option<Point3<f64>>,
}

impl Search<'_> {
    fn push(&mut self, scene: &Scene<'_>, i: usize, j: usize) {
        self.pairs += 1;
        let (a, b) = (&scene.nodes[i].cell, &scene.nodes[j].cell);
        let Some(bound) = self.bound(scene, a, b) else { return };
        if bound.lower >= self.upper - self.goal.tolerance {
            self.dropped = self.dropped.min(bound.lower);
            return;
        }
        let size = a.radius + b.radius;
        self.heap.push(Pair { lower: bound.lower, size, order: self.pairs, cells: [i, j] });
    }

    /// `None` if the pair holds no shortest chord.
    fn bound(&self, scene: &Scene<'_>, a: &Cell, b: &Cell) -> Option<Bound> {
        let d = b.centre - a.centre;
        let distance = d.norm();
        let rho = a.radius + b.radius;
        if let Some(delta) = self.goal.delta
            && PI - angle(&a.axis, &b.axis) > a.spread + b.spread + 2.0 * delta
        {
            return None;
        }
        let mut best = Bound { lower: (distance - rho - ROUNDING).max(0.0), along: a.axis };
        if distance > rho && distance > 0.0 {
            let sway = libm::asin(rho / distance) + ANGLE_PAD;
            let (out_a, out_b) = (angle(&-d, &a.axis), angle(&d, &b.axis));
            let mut slack = true;
            if let Some(delta) = self.goal.delta {
                if out_a > delta + a.spread + sway || out_b > delta + b.spread + sway {
                    return None;
                }
                slack = a.fan.is_none()
                    && b.fan.is_none()
                    && out_a + a.spread + sway < delta
                    && out_b + b.spread + sway < delta;
            }
            if slack && !(stationary(a, &d, out_a, sway) && stationary(b, &d, out_b, sway)) {
                return None;
            }
            best.along = d / distance;
        }
        if a.fan.is_none()
            && b.fan.is_none()
            && let Some(&g) = scene.gaps.get(&(a.face, b.face))
        {
            // True of the exact edges, which lie on both surfaces; what a fitted curve deviates is the chord's doubt.
            best.lower = best.lower.max(g);
        }
        for n in [best.along, -a.axis, b.axis] {
            let gap = -b.support(scene.solid, &-n) - a.support(scene.solid, &n) - ROUNDING;
            if gap > best.lower {
                best = Bound { lower: gap, along: n };
            }
        }
        Some(best)
    }

    fn try_chords(&mut self, scene: &Scene<'_>, [i, j]: [usize; 2]) {
        let (a, b) = (&scene.nodes[i].cell, &scene.nodes[j].cell);
        self.offer(scene, [i, j], (a.centre, b.centre));
        let before = self.upper;
        // Two rounds bring a chord near the stationary one; if it is an improvement it is worth following to the end.
        let near = settle(scene.solid, a, b, (a.centre, b.centre), 2);
        self.offer(scene, [i, j], near);
        if self.upper < before {
            self.offer(scene, [i, j], settle(scene.solid, a, b, near, 300));
        }
    }

    /// Takes a chord if it is shorter than the best and real.
    fn offer(&mut self, scene: &Scene<'_>, ids: [usize; 2], (p, q): (Point3<f64>, Point3<f64>)) {
        let d = q - p;
        let length = d.norm();
        if length.is_nan() || length >= self.upper || !scene.on(ids[0], &p) || !scene.on(ids[1], &q) {
            return;
        }
        if let Some(delta) = self.goal.delta
            && !(length > 0.0 && scene.meets(ids[0], &p, &-d, delta) && scene.meets(ids[1], &q, &d, delta))
        {
            return;
        }
        if length < self.goal.touch {
            self.contact = Some(p);
            return;
        }
        self.upper = length;
        self.chord = Some(Chord {
            at: [p, q],
            faces: ids.map(|i| scene.nodes[i].cell.face),
            doubt: scene.doubt(ids[0]) + scene.doubt(ids[1]),
        });
    }

    fn split(&mut self, scene: &mut Scene<'_>, pair: &Pair) {
        let [i, j] = pair.cells;
        if pair.size < self.goal.touch && pair.lower <= self.goal.touch {
            self.contact = Some(scene.nodes[i].cell.centre);
            return;
        }
        let (a, b) = (&scene.nodes[i].cell, &scene.nodes[j].cell);
        let Some(bound) = self.bound(scene, a, b) else { return };
        let (ea, eb) = (a.extents(scene.solid, &bound.along), b.extents(scene.solid, &bound.along));
        let stick: [f64; 4] = [ea[0][0], ea[0][1], eb[0][0], eb[0][1]];
        let length: [f64; 4] = [ea[1][0], ea[1][1], eb[1][0], eb[1][1]];
        // Where the bound would be good enough but for what sticks out of the centres along it, cut that; else the
        // pair has to shrink until its direction, its normals or the border of its faces settles it.
        let enough = bound.lower + stick.iter().sum::<f64>() >= self.upper - self.goal.tolerance;
        let by = if enough { &stick } else { &length };
        let k = (0..4).fold(0, |m, x| if by[x] > by[m] { x } else { m });
        // Below this a pair is a point: its bound stands. 1e-11 mm is a hundredth of the finest tolerance used.
        if length[k] < 1e-11 || by[k] <= 0.0 {
            self.dropped = self.dropped.min(pair.lower);
            return;
        }
        if k < 2 {
            for c in scene.halves(i, k == 1).into_iter().flatten() {
                self.push(scene, c, j);
            }
        } else {
            for c in scene.halves(j, k == 3).into_iter().flatten() {
                self.push(scene, i, c);
            }
        }
    }
}

/// Whether some chord of a pair may be square to the face or edge of one of its cells.
fn stationary(cell: &Cell, d: &Vector3<f64>, out: f64, sway: f64) -> bool {
    match cell.shape {
        Shape::Corner => true,
        Shape::Patch { .. } => out.min(PI - out) <= cell.spread + sway,
        Shape::Piece { .. } => (angle(d, &cell.tangent) - FRAC_PI_2).abs() <= cell.tangent_spread + sway,
    }
}
