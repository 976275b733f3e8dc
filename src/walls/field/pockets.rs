//! Pockets: air that a ball cannot reach from outside, and how far behind the ball it goes on.
//!
//! For a ball of a given width all air is found that no such ball, rolled in from outside, covers. How far a place of it lies from
//! the air that is covered, in widths of the ball, says how deep the pocket is for its width: a blind hole of width D and depth L
//! gives L/D, a hole through from both sides half of it, a square corner 0.21. Values are those of the grid.

use super::Field;
use nalgebra::Point3;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// A pocket.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pocket {
    /// Its innermost place, on the grid.
    pub at: Point3<f64>,
    /// Width of the ball that does not come in, mm; of a hollow without a way out that of the largest ball in it.
    pub width: f64,
    /// How far its innermost place lies behind the air that the ball covers, mm.
    pub deep: f64,
    /// What the grid leaves open of the depth to either side, mm.
    pub by: f64,
    /// Whether it has no way out at all.
    pub closed: bool,
}

/// A distance in a queue, as bits: those of a positive number sort as it does.
type Entry = Reverse<(u64, usize)>;

impl Field<'_> {
    /// Hollows without a way out, and pockets of more than `widths_deep` of the width of one of these balls, each place once with the
    /// ball for which it is deepest. The field must hold air up to half the largest width.
    #[must_use]
    pub fn pockets(&self, widths: &[f64], widths_deep: f64) -> Vec<Pocket> {
        let by = 2.0 * self.slack();
        let open = self.flooded(0.0);
        let mut out = Vec::new();
        let hollow = |i: usize| self.depth[i] <= 0.0 && !open[i];
        let all = (0..self.depth.len()).filter(|&i| hollow(i));
        // Air beyond what was looked up is as wide as that at least.
        let wide = |i: usize| -self.depth[i].max(-1e3);
        for piece in self.pieces(all.collect(), &hollow) {
            let Some(at) = piece.iter().copied().max_by(|&a, &b| wide(a).total_cmp(&wide(b)).then(b.cmp(&a)))
            else {
                continue;
            };
            let width = 2.0 * wide(at);
            out.push(Pocket { at: self.at(at), width, deep: width, by, closed: true });
        }
        let mut deep: Vec<Pocket> = Vec::new();
        for &width in widths {
            let covered = self.covered(width / 2.0);
            let rest = |i: usize| open[i] && !covered[i];
            let behind = self.behind(&covered, &rest);
            let far: Vec<usize> = (0..behind.len())
                .filter(|&i| behind[i].is_finite() && behind[i] > widths_deep * width)
                .collect();
            for piece in self.pieces(far, &|i| behind[i].is_finite() && behind[i] > widths_deep * width) {
                let far =
                    piece.iter().copied().max_by(|&a, &b| behind[a].total_cmp(&behind[b]).then(b.cmp(&a)));
                if let Some(i) = far {
                    deep.push(Pocket { at: self.at(i), width, deep: behind[i], by, closed: false });
                }
            }
        }
        deep.sort_by(|a, b| (b.deep / b.width).total_cmp(&(a.deep / a.width)));
        for p in deep {
            if !out.iter().any(|q: &Pocket| (p.at - q.at).norm() < p.width.max(q.width)) {
                out.push(p);
            }
        }
        out
    }

    /// Air in which the middle of a ball of this radius comes in from outside.
    fn flooded(&self, radius: f64) -> Vec<bool> {
        let mut seen = vec![false; self.depth.len()];
        let free = |i: usize| self.depth[i] <= 0.0 && -self.depth[i] >= radius;
        let mut next = Vec::new();
        // The first point of the grid lies outside the part's box.
        if free(0) {
            seen[0] = true;
            next.push(0);
        }
        while let Some(i) = next.pop() {
            for (j, _) in self.around(i) {
                if !seen[j] && free(j) {
                    seen[j] = true;
                    next.push(j);
                }
            }
        }
        seen
    }

    /// Air that such balls cover.
    fn covered(&self, radius: f64) -> Vec<bool> {
        let middles = self.flooded(radius);
        let mut out = middles.clone();
        let [nx, ny, nz] = self.size;
        for i in (0..middles.len()).filter(|&i| middles[i]) {
            let r = -self.depth[i];
            // A ball that stands farther off covers nothing that its neighbours do not.
            if r > radius + 2.0 * self.slack() {
                continue;
            }
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let n = (r / self.step).floor() as usize;
            let at = [i % nx, i / nx % ny, i / (nx * ny)];
            let range = |k: usize, most: usize| at[k].saturating_sub(n)..=(at[k] + n).min(most - 1);
            #[allow(clippy::cast_precision_loss)]
            let square = |a: usize, k: usize| {
                let d = a.abs_diff(at[k]) as f64 * self.step;
                d * d
            };
            for z in range(2, nz) {
                for y in range(1, ny) {
                    let d2 = square(z, 2) + square(y, 1);
                    for x in range(0, nx) {
                        if d2 + square(x, 0) <= r * r {
                            out[x + nx * (y + ny * z)] = true;
                        }
                    }
                }
            }
        }
        out
    }

    /// How far each place of the rest lies behind the air covered, along the grid.
    fn behind(&self, covered: &[bool], rest: &dyn Fn(usize) -> bool) -> Vec<f64> {
        let mut out = vec![f64::INFINITY; covered.len()];
        let mut open: BinaryHeap<Entry> = BinaryHeap::new();
        for i in (0..covered.len()).filter(|&i| rest(i)) {
            let least = self.around(i).filter(|n| covered[n.0]).map(|n| n.1).fold(f64::INFINITY, f64::min);
            if least.is_finite() {
                out[i] = least;
                open.push(Reverse((least.to_bits(), i)));
            }
        }
        while let Some(Reverse((bits, i))) = open.pop() {
            let d = f64::from_bits(bits);
            if d > out[i] {
                continue;
            }
            for (j, length) in self.around(i) {
                if rest(j) && d + length < out[j] {
                    out[j] = d + length;
                    open.push(Reverse((out[j].to_bits(), j)));
                }
            }
        }
        out
    }

    /// Connected pieces of some points.
    fn pieces(&self, points: Vec<usize>, belongs: &dyn Fn(usize) -> bool) -> Vec<Vec<usize>> {
        let mut seen = vec![false; self.depth.len()];
        let mut out = Vec::new();
        for first in points {
            if seen[first] {
                continue;
            }
            seen[first] = true;
            let (mut piece, mut next) = (Vec::new(), vec![first]);
            while let Some(i) = next.pop() {
                piece.push(i);
                for (j, _) in self.around(i) {
                    if !seen[j] && belongs(j) {
                        seen[j] = true;
                        next.push(j);
                    }
                }
            }
            out.push(piece);
        }
        out
    }
}
