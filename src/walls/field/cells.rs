//! The widest way through the metal, bounded from both sides, on cells that are halved only where a wider way may still be.
//!
//! Nowhere in a cell is the metal deeper than at its middle plus half its diagonal, nor deeper than two places of the surface are far, wherever those are.
//! The widest way over cells that touch, with that for their depths, is no narrower than any real way. A line through those cells, led between the two
//! places of each, is a real way, and along it the depth is bounded from below. Only cells where the line is narrower than the way need be halved.

use super::Field;
use crate::units::Mm;
use crate::walls::Interval;
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;
use std::cmp::Ordering;
use std::collections::{BTreeSet, BinaryHeap};

/// Side of a cell of the grid in units of the smallest cell.
const UNIT: usize = 64;
/// Half the diagonal of a cube of side 1.
const DIAGONAL: f64 = 0.866_025_404;
/// Cells at most besides those of the grid; what is open then widens the intervals.
const MOST: usize = 600_000;
/// Widths on the radius are not made smaller than this, mm.
const LEAST: f64 = 2e-3;
/// Lines shorter than this are not halved, mm.
const SHORT: f64 = 1e-3;

/// A cube about a point of the grid, or a part of one.
#[derive(Clone, Copy, Debug)]
struct Cell {
    /// Its lower corner and its side, in units.
    low: [usize; 3],
    side: usize,
    /// Distance of its middle from the surface; not above zero in air.
    depth: f64,
    /// Nowhere in it is the metal deeper.
    most: f64,
    /// Places of the surface: the nearest to its middle, and one that bounds the depth best together with it.
    feet: [Point3<f64>; 2],
    /// Whether metal flows in here: as deep as one likes.
    seat: bool,
    /// First of its eight parts.
    parts: Option<usize>,
}

/// A length widened by a hair, so that rounding does not lose what is just so far.
fn hair(x: f64) -> f64 {
    x * (1.0 + 1e-9) + 1e-12
}

impl Cell {
    /// Bounds the depth of the metal in a cell about a place: by half its diagonal, and by each of some other places of the surface with the
    /// nearest. Of two distances the less is no more than the root of the mean of their squares, and that is the distance from the middle
    /// between both and half of what they are apart, put together as the sides of a right angle.
    fn bound(&mut self, at: &Point3<f64>, side: f64, others: impl Iterator<Item = Point3<f64>>) {
        let near = self.feet[0];
        self.most = self.depth + side * DIAGONAL;
        for q in others {
            let from = (at - nalgebra::center(&near, &q)).abs().add_scalar(side / 2.0);
            let far = libm::sqrt(from.norm_squared() + (q - near).norm_squared() / 4.0);
            if far < self.most {
                (self.most, self.feet[1]) = (far, q);
            }
        }
    }
}

/// What passes between two places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Passage {
    /// About where it is narrowest.
    pub(super) at: Point3<f64>,
    /// Radius of the largest sphere that passes.
    pub(super) radius: Interval,
}

/// A cell in a queue: the wider way to it first, then the wider cell, then the lower number.
#[derive(PartialEq)]
struct Next(f64, f64, usize);

impl Eq for Next {}
impl PartialOrd for Next {
    fn partial_cmp(&self, o: &Self) -> Option<Ordering> {
        Some(self.cmp(o))
    }
}
impl Ord for Next {
    fn cmp(&self, o: &Self) -> Ordering {
        self.0.total_cmp(&o.0).then(self.1.total_cmp(&o.1)).then(o.2.cmp(&self.2))
    }
}

/// The cells of a field.
pub(super) struct Cells<'f, 'm> {
    field: &'f Field<'m>,
    /// Those of the grid first, in its order.
    all: Vec<Cell>,
    seats: Vec<usize>,
}

impl<'f, 'm> Cells<'f, 'm> {
    /// Those of a grid; metal flows in where a middle lies in metal within `reach` of a point.
    pub(super) fn new(field: &'f Field<'m>, feed: &Point3<f64>, reach: f64) -> Self {
        let [nx, ny, _] = field.size;
        let slack = field.slack();
        let foot = |i: usize, depth: f64| {
            let at = field.at(i);
            (depth > 0.0).then(|| field.foot(&at, hair(depth))).flatten().unwrap_or(at)
        };
        let feet: Vec<Point3<f64>> =
            (0..field.depth.len()).into_par_iter().map(|i| foot(i, field.depth[i])).collect();
        let cell = |i: usize| {
            let depth = field.depth[i];
            let low = [i % nx, i / nx % ny, i / (nx * ny)].map(|k| k * UNIT);
            let seat = depth > 0.0 && (field.at(i) - feed).norm() <= reach;
            // A cell whose middle lies in air may hold metal this deep.
            let mut out = Cell { low, side: UNIT, depth, most: slack, feet: [feet[i]; 2], seat, parts: None };
            if depth > 0.0 {
                let others = field.around(i).map(|n| n.0).filter(|&j| field.depth[j] > 0.0).map(|j| feet[j]);
                out.bound(&field.at(i), field.step, others);
            }
            out
        };
        let all: Vec<Cell> = (0..field.depth.len()).into_par_iter().map(cell).collect();
        let seats = (0..all.len()).filter(|&i| all[i].seat).collect();
        Self { field, all, seats }
    }
    pub(super) fn fed(&self) -> bool {
        !self.seats.is_empty()
    }

    #[allow(clippy::cast_precision_loss)]
    fn length(&self, units: usize) -> f64 {
        self.field.step * units as f64 / UNIT as f64
    }
    fn middle(&self, c: &Cell) -> Point3<f64> {
        #[allow(clippy::cast_precision_loss)]
        let at = c.low.map(|k| (k as f64 + c.side as f64 / 2.0) / UNIT as f64 - 0.5);
        self.field.low + Vector3::from(at) * self.field.step
    }
    /// Nowhere in a cell is the metal deeper.
    fn most(&self, i: usize) -> f64 {
        if self.all[i].seat { f64::INFINITY } else { self.all[i].most }
    }
    /// The undivided cell that holds a place.
    fn holding(&self, p: &Point3<f64>) -> Option<usize> {
        let mut i = self.field.nearest_point(p)?;
        while let Some(parts) = self.all[i].parts {
            let m = self.middle(&self.all[i]);
            i = parts + (0..3).map(|a| usize::from(p[a] >= m[a]) << a).sum::<usize>();
        }
        Some(i)
    }
    /// The undivided cells that touch one, itself among them.
    fn touching(&self, of: usize, out: &mut Vec<usize>) {
        out.clear();
        let c = &self.all[of];
        let [nx, ny, _] = self.field.size;
        let meets = |o: &Cell| (0..3).all(|a| o.low[a] <= c.low[a] + c.side && c.low[a] <= o.low[a] + o.side);
        let range = |a: usize| {
            let from = c.low[a].saturating_sub(1) / UNIT;
            from..=((c.low[a] + c.side) / UNIT).min(self.field.size[a] - 1)
        };
        let whole = c.side == UNIT;
        let mut stack = Vec::new();
        for z in range(2) {
            for y in range(1) {
                for i in range(0).map(|x| x + nx * (y + ny * z)) {
                    // Most are whole cells, which touch by their place.
                    if whole && self.all[i].parts.is_none() {
                        out.push(i);
                    } else {
                        stack.push(i);
                    }
                }
            }
        }
        while let Some(i) = stack.pop() {
            let o = &self.all[i];
            if meets(o) {
                match o.parts {
                    Some(p) => stack.extend(p..p + 8),
                    None => out.push(i),
                }
            }
        }
    }

    /// The widest way from where metal flows in to a cell, its width and its cells from the end on; none where no metal flows in.
    /// It is looked for from the end: what lies behind a neck is soon seen, and past the neck the wider of cells as wide a way
    /// from the end leads to where metal flows in.
    fn widest(&self, to: usize) -> Option<(f64, Vec<usize>)> {
        let mut way = vec![(f64::NEG_INFINITY, usize::MAX); self.all.len()];
        way[to].0 = self.most(to);
        let mut open = BinaryHeap::from([Next(self.most(to), self.most(to), to)]);
        let mut near = Vec::new();
        while let Some(Next(width, _, i)) = open.pop() {
            if self.all[i].seat {
                let mut path = vec![i];
                while let Some(&(_, from)) = path.last().map(|&i| &way[i])
                    && from != usize::MAX
                {
                    path.push(from);
                }
                path.reverse();
                return Some((width, path));
            }
            self.touching(i, &mut near);
            for &j in &near {
                let most = self.most(j);
                let w = width.min(most);
                if w > way[j].0 {
                    way[j] = (w, i);
                    open.push(Next(w, most, j));
                }
            }
        }
        None
    }

    /// Halves some cells.
    fn halve(&mut self, cells: &BTreeSet<usize>) {
        let parts: Vec<[Cell; 8]> = cells
            .par_iter()
            .map(|&i| {
                let c = self.all[i];
                let half = c.side / 2;
                let mut parts = [Cell { side: half, seat: false, parts: None, ..c }; 8];
                for (k, part) in parts.iter_mut().enumerate() {
                    part.low = [0, 1, 2].map(|a| c.low[a] + (k >> a & 1) * half);
                    // The middle of a part lies no farther from that of the whole.
                    let at = self.middle(part);
                    if let Some(foot) = self.field.foot(&at, hair(c.depth + self.length(half) * DIAGONAL)) {
                        part.feet[0] = foot;
                    }
                    part.depth = (at - part.feet[0]).norm();
                }
                let feet = parts.map(|p| p.feet[0]);
                for part in &mut parts {
                    let at = self.middle(part);
                    part.bound(&at, self.length(half), feet.into_iter().chain(c.feet));
                    part.most = part.most.min(c.most);
                }
                parts
            })
            .collect();
        for (&i, p) in cells.iter().zip(parts) {
            self.all[i].parts = Some(self.all.len());
            self.all.extend(p);
        }
    }
    /// Whether the middles of all its parts surely lie in metal, and it is not the smallest.
    fn divisible(&self, c: &Cell) -> bool {
        !c.seat && c.parts.is_none() && c.side > 1 && c.depth > self.length(c.side) * DIAGONAL / 2.0
    }

    /// What passes from where metal flows in to a place, to a width on the radius of `width` unless that takes too many cells, and as
    /// long as `open` says so of the result to half of it, and so on down to [`LEAST`]; none where the place lies outside or no
    /// metal flows in.
    pub(super) fn passage(
        &mut self,
        to: &Point3<f64>,
        width: f64,
        open: impl Fn(&Interval) -> bool,
    ) -> Option<Passage> {
        let (mut width, mut least) = (width, 0.0_f64);
        loop {
            let (most, path) = self.widest(self.holding(to)?)?;
            let (at, lower, spoilt) = self.led(to, &path, most - width);
            least = least.max(lower).min(most);
            let radius = Interval { lower: Mm(least), upper: Mm(most) };
            let halved = self.about(&spoilt, most);
            if least < most - width {
                if halved.is_empty() || self.all.len() + 8 * halved.len() > self.field.depth.len() + MOST {
                    return Some(Passage { at, radius });
                }
                self.halve(&halved);
            } else if width <= LEAST || !open(&radius) {
                return Some(Passage { at, radius });
            } else {
                width /= 2.0;
            }
        }
    }

    /// A line through the cells of a way to a place: where it is narrowest, a bound of its depth, and the cells where it is less deep than `wanted`.
    fn led(&self, to: &Point3<f64>, path: &[usize], wanted: f64) -> (Point3<f64>, f64, Vec<usize>) {
        let (mut narrowest, mut least, mut spoilt) = (*to, f64::INFINITY, Vec::new());
        let mut last = (path.first().copied().unwrap_or(0), *to, self.field.distance(to));
        for &i in path.iter().skip(1) {
            let c = &self.all[i];
            let (at, depth) = if c.seat {
                // All of the cell is molten: the line ends where it meets it.
                let m = self.middle(c);
                let reach = Vector3::repeat(self.length(c.side) / 2.0);
                let at = last.1.sup(&(m - reach)).inf(&(m + reach));
                (at, self.field.distance(&at))
            } else {
                self.deep(c)
            };
            let bound = self.along(&last.1, last.2, &at, depth, wanted);
            if bound < least {
                (narrowest, least) = (if depth < last.2 { at } else { last.1 }, bound);
            }
            if bound < wanted {
                spoilt.extend([last.0, i]);
            }
            last = (i, at, depth);
        }
        (narrowest, least, spoilt)
    }
    /// The deeper of the middle of a cell and the middle between its two places of the surface, if that surely lies in the same metal.
    fn deep(&self, c: &Cell) -> (Point3<f64>, f64) {
        let (at, between) = (self.middle(c), nalgebra::center(&c.feet[0], &c.feet[1]));
        if c.depth > 0.0 && (between - at).norm() < c.depth.min(self.length(c.side)) {
            let depth = self.field.distance(&between);
            if depth > c.depth {
                return (between, depth);
            }
        }
        (at, c.depth.max(0.0))
    }
    /// A bound of the depth of the metal along a line between two places of known depth: no less than `wanted`, or to within [`SHORT`].
    /// Who goes from place to place and never comes to the surface stays in the metal.
    fn along(&self, p: &Point3<f64>, at_p: f64, q: &Point3<f64>, at_q: f64, wanted: f64) -> f64 {
        let length = (q - p).norm();
        let least = ((at_p + at_q - length) / 2.0).min(at_p).min(at_q);
        if least >= wanted || length <= SHORT {
            return least;
        }
        let m = nalgebra::center(p, q);
        let at_m = self.field.distance(&m);
        let wanted = wanted.min(at_p).min(at_q).min(at_m);
        self.along(p, at_p, &m, at_m, wanted).min(self.along(&m, at_m, q, at_q, wanted))
    }

    /// Cells and those that touch them, as far as a way of this width may lead through and they can be halved.
    fn about(&self, cells: &[usize], width: f64) -> BTreeSet<usize> {
        let (mut out, mut near) = (BTreeSet::new(), Vec::new());
        for &i in cells {
            self.touching(i, &mut near);
            out.extend(
                near.iter().copied().filter(|&j| self.divisible(&self.all[j]) && self.most(j) >= width),
            );
        }
        out
    }
}
