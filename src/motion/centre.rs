//! The most room within play: of all shifts the one that keeps the least of several linear distances largest.
//!
//! A linear programme in two shifts and the room they leave, solved exactly on a growing set of distances: every corner of the
//! set is tried, then the distance that the best corner overlooks most is added. The set grows only by distances that matter,
//! so it stays small.

use nalgebra::{Matrix3, Vector3};

/// A distance that grows by `along` with each shift from `now`, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Distance {
    pub(super) now: f64,
    pub(super) along: [f64; 2],
}

/// Distances in the set at most; more are not overlooked in practice, and the best corner found stands.
const MOST: usize = 24;
/// A distance overlooked by less than this is not, mm.
const LEAST: f64 = 1e-12;

/// The shift within the box that keeps the least distance largest; no shift where there is no distance.
pub(super) fn most_room(all: &[Distance], within: [[f64; 2]; 2]) -> [f64; 2] {
    let room = |x: &[f64; 2]| {
        all.iter()
            .map(|d| d.now + d.along[0] * x[0] + d.along[1] * x[1])
            .enumerate()
            .min_by(|a, b| a.1.total_cmp(&b.1))
    };
    let mut at = within.map(|[low, high]| 0.0_f64.clamp(low, high));
    let mut best = (f64::NEG_INFINITY, at);
    let mut set: Vec<usize> = Vec::new();
    while set.len() < MOST {
        let Some((worst, least)) = room(&at) else { break };
        if least > best.0 {
            best = (least, at);
        }
        if set.contains(&worst) {
            break;
        }
        set.push(worst);
        let chosen: Vec<Distance> = set.iter().filter_map(|i| all.get(*i).copied()).collect();
        let Some((corner, promised)) = corner(&chosen, &within) else { break };
        at = corner;
        if promised <= best.0 + LEAST {
            break;
        }
    }
    best.1
}

/// The best corner of a few distances and the box, and the room it leaves between them.
fn corner(set: &[Distance], within: &[[f64; 2]; 2]) -> Option<([f64; 2], f64)> {
    // Each row r says r . (x, z, room) <= bound.
    let mut rows: Vec<(Vector3<f64>, f64)> =
        set.iter().map(|d| (Vector3::new(-d.along[0], -d.along[1], 1.0), d.now)).collect();
    for (k, [low, high]) in within.iter().enumerate() {
        let unit =
            |sign: f64| if k == 0 { Vector3::new(sign, 0.0, 0.0) } else { Vector3::new(0.0, sign, 0.0) };
        rows.push((unit(1.0), *high));
        rows.push((unit(-1.0), -*low));
    }
    let fits = |p: &Vector3<f64>| rows.iter().all(|(r, b)| r.dot(p) <= b + LEAST);
    let mut best: Option<Vector3<f64>> = None;
    for i in 0..rows.len() {
        for j in i + 1..rows.len() {
            for k in j + 1..rows.len() {
                let m = Matrix3::from_rows(&[
                    rows[i].0.transpose(),
                    rows[j].0.transpose(),
                    rows[k].0.transpose(),
                ]);
                let Some(p) = m.try_inverse().map(|m| m * Vector3::new(rows[i].1, rows[j].1, rows[k].1))
                else {
                    continue;
                };
                if best.is_none_or(|b| p.z > b.z) && p.iter().all(|x| x.is_finite()) && fits(&p) {
                    best = Some(p);
                }
            }
        }
    }
    best.map(|p| ([p.x, p.y], p.z))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn room(all: &[Distance], x: [f64; 2]) -> f64 {
        all.iter().map(|d| d.now + d.along[0] * x[0] + d.along[1] * x[1]).fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn the_middle_of_a_slot_and_of_a_corner() {
        let d = |now, x, z| Distance { now, along: [x, z] };
        // A slot 3 wide, slanted: half of it is left, in its middle.
        let s = std::f64::consts::FRAC_1_SQRT_2;
        let slot = [d(1.0, s, s), d(2.0, -s, -s)];
        let x = most_room(&slot, [[-5.0, 5.0]; 2]);
        assert!((room(&slot, x) - 1.5).abs() < 1e-9, "{x:?}");
        // An equilateral triangle: the inscribed circle, a third of the height.
        let h = 3.0_f64.sqrt() / 2.0;
        let three = [d(0.1, 0.0, 1.0), d(0.1, h, -0.5), d(2.8, -h, -0.5)];
        let x = most_room(&three, [[-5.0, 5.0]; 2]);
        assert!((room(&three, x) - 1.0).abs() < 1e-9, "{x:?} {}", room(&three, x));
        // The box holds it back; without a distance nothing moves.
        assert!((room(&slot, most_room(&slot, [[-0.1, 0.1]; 2])) - (1.0 + 0.2 * s)).abs() < 1e-9);
        assert!(most_room(&[], [[-1.0, 1.0]; 2]).iter().all(|x| *x == 0.0));
    }

    proptest! {
        /// No place of a fine grid has more room.
        #[test]
        fn no_other_place_has_more(rows in proptest::collection::vec((-1.0..1.0_f64, 0.0..std::f64::consts::TAU, 0.1..1.0_f64), 1..40)) {
            let all: Vec<Distance> = rows.iter().map(|(now, a, size)| Distance { now: *now, along: [size * libm::cos(*a), size * libm::sin(*a)] }).collect();
            let within = [[-1.0, 1.0], [-0.5, 0.7]];
            let x = most_room(&all, within);
            prop_assert!(x[0].abs() <= 1.0 + 1e-9 && (-0.5 - 1e-9..=0.7 + 1e-9).contains(&x[1]));
            let found = room(&all, x);
            for i in 0..=40 {
                for j in 0..=40 {
                    let y = [-1.0 + 0.05 * f64::from(i), -0.5 + 0.03 * f64::from(j)];
                    prop_assert!(room(&all, y) <= found + 1e-9, "{y:?} {} {found}", room(&all, y));
                }
            }
        }
    }
}
