//! The shortest vector of a small convex hull, with a lower bound that does not depend on how well it was found.

use nalgebra::{Point3, Vector3};

/// Steps at most; a hull of twenty points in space needs a handful.
const STEPS: usize = 40;
/// Relative gap between upper and lower bound at which the search ends; the bound returned is true in any case.
const GAP: f64 = 1e-14;

/// Result of [`nearest`].
#[derive(Clone, Copy, Debug)]
pub(super) struct Nearest {
    /// The shortest vector found.
    pub(super) x: Vector3<f64>,
    /// Which points it is mixed from, and how.
    pub(super) mix: [(usize, f64); 4],
    /// How many of `mix` count.
    pub(super) count: usize,
    /// No vector of the hull is shorter.
    pub(super) lower: f64,
}

/// The shortest vector of the hull of some points (Wolfe, "Finding the nearest point in a polytope", 1976).
///
/// Whatever x is found, every y of the hull has |y| >= y . x / |x| >= the least of that over the corners: `lower`.
pub(super) fn nearest(points: &[Vector3<f64>]) -> Nearest {
    let mut first = 0;
    let mut least = f64::INFINITY;
    for (i, p) in points.iter().enumerate() {
        let n = p.norm_squared();
        if n < least {
            (first, least) = (i, n);
        }
    }
    let mut set = [first; 4];
    let mut w = [1.0, 0.0, 0.0, 0.0];
    let mut k = 1;
    let mut x = points.get(first).copied().unwrap_or_else(Vector3::zeros);
    for _ in 0..STEPS {
        let (mut next, mut low) = (0, f64::INFINITY);
        for (i, p) in points.iter().enumerate() {
            let d = x.dot(p);
            if d < low {
                (next, low) = (i, d);
            }
        }
        let xx = x.norm_squared();
        if xx - low <= GAP * xx || k == 4 || set[..k].contains(&next) {
            break;
        }
        (set[k], w[k]) = (next, 0.0);
        k += 1;
        if !settle(points, &mut set, &mut w, &mut k) {
            break;
        }
        let y = mixed(points, &set, &w, k);
        if y.norm_squared() >= xx {
            break;
        }
        x = y;
    }
    let length = x.norm();
    let lower = if length > 0.0 {
        points.iter().map(|p| x.dot(p)).fold(f64::INFINITY, f64::min) / length
    } else {
        0.0
    };
    let mix = [0, 1, 2, 3].map(|i| (set[i], if i < k { w[i] } else { 0.0 }));
    Nearest { x: mixed(points, &set, &w, k), mix, count: k, lower: lower.max(0.0) }
}

fn mixed(points: &[Vector3<f64>], set: &[usize; 4], w: &[f64; 4], k: usize) -> Vector3<f64> {
    (0..k).map(|i| points[set[i]] * w[i]).sum()
}

/// Moves the weights to the shortest vector of the set's affine hull, dropping corners on the way where it lies outside;
/// false if the set is degenerate, which leaves the weights as they were.
fn settle(points: &[Vector3<f64>], set: &mut [usize; 4], w: &mut [f64; 4], k: &mut usize) -> bool {
    while *k > 1 {
        let Some(v) = affine(points, set, *k) else {
            // The newcomer adds nothing.
            *k -= 1;
            return false;
        };
        if (0..*k).all(|i| v[i] > 0.0) {
            *w = v;
            return true;
        }
        let mut theta = 1.0;
        let mut drop = 0;
        for i in 0..*k {
            if v[i] <= 0.0 {
                let t = if w[i] > v[i] { w[i] / (w[i] - v[i]) } else { 0.0 };
                if t <= theta {
                    (theta, drop) = (t, i);
                }
            }
        }
        for i in 0..*k {
            w[i] = (w[i] + theta * (v[i] - w[i])).max(0.0);
        }
        for i in drop..*k - 1 {
            set[i] = set[i + 1];
            w[i] = w[i + 1];
        }
        *k -= 1;
        let sum: f64 = w[..*k].iter().sum();
        if sum > 0.0 {
            w[..*k].iter_mut().for_each(|x| *x /= sum);
        } else {
            w[0] = 1.0;
            *k = 1;
        }
    }
    w[0] = 1.0;
    true
}

/// Weights (summing to one) of the shortest vector of the affine hull of two to four points.
fn affine(points: &[Vector3<f64>], set: &[usize; 4], k: usize) -> Option<[f64; 4]> {
    let base = points[set[0]];
    let n = k - 1;
    let mut m = [[0.0; 4]; 3];
    for i in 0..n {
        let e = points[set[i + 1]] - base;
        for (j, cell) in m[i].iter_mut().enumerate().take(n) {
            *cell = e.dot(&(points[set[j + 1]] - base));
        }
        m[i][3] = -e.dot(&base);
    }
    let scale = (0..n).map(|i| m[i][i]).fold(0.0, f64::max);
    for c in 0..n {
        let p = (c..n).fold(c, |b, r| if m[r][c].abs() > m[b][c].abs() { r } else { b });
        m.swap(c, p);
        // Smaller pivots are the rounding of a flat or doubled set.
        if m[c][c].abs() <= 1e-15 * scale {
            return None;
        }
        for r in c + 1..n {
            let f = m[r][c] / m[c][c];
            let row = m[c];
            for (x, y) in m[r].iter_mut().zip(row).skip(c) {
                *x -= f * y;
            }
        }
    }
    let mut t = [0.0; 3];
    for c in (0..n).rev() {
        let s: f64 = (c + 1..n).map(|x| m[c][x] * t[x]).sum();
        t[c] = (m[c][3] - s) / m[c][c];
    }
    let mut out = [0.0; 4];
    out[1..=n].copy_from_slice(&t[..n]);
    out[0] = 1.0 - t[..n].iter().sum::<f64>();
    Some(out)
}

/// Angle between a unit vector and the convex cone spanned by some directions; 0 inside. Exact but for rounding: the
/// nearest direction of a cone in space lies on a ray, on a flat side between two, or inside three.
pub(super) fn angle_to_cone(n: &Vector3<f64>, rays: &[Vector3<f64>]) -> f64 {
    let mut best: f64 = -1.0;
    for (i, a) in rays.iter().enumerate() {
        best = best.max(a.dot(n));
        for (j, b) in rays.iter().enumerate().skip(i + 1) {
            let Some(square) = a.cross(b).try_normalize(1e-12) else { continue };
            let flat = n - square * n.dot(&square);
            // Between the rays: on the inner side of both.
            if square.dot(&a.cross(&flat)) >= 0.0 && square.dot(&flat.cross(b)) >= 0.0 {
                best = best.max(flat.norm());
            }
            for c in &rays[j + 1..] {
                let v = a.cross(b).dot(c);
                let inside = [b.cross(c), c.cross(a), a.cross(b)].iter().all(|m| m.dot(n) * v > 0.0);
                if v.abs() > 1e-12 && inside {
                    return 0.0;
                }
            }
        }
    }
    libm::acos(best.clamp(-1.0, 1.0))
}

/// All differences q - p of two sets of corners; entry `i * b.len() + j` is `b[j] - a[i]`.
pub(super) fn differences<'o>(
    a: &[Point3<f64>],
    b: &[Point3<f64>],
    out: &'o mut [Vector3<f64>; 9],
) -> &'o [Vector3<f64>] {
    let mut n = 0;
    for p in a {
        for q in b {
            out[n] = q - p;
            n += 1;
        }
    }
    &out[..n]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Distance of two triangles that do not cross, mm; degenerate ones allowed.
    fn triangle_distance(a: &[Point3<f64>; 3], b: &[Point3<f64>; 3]) -> f64 {
        let mut m = f64::INFINITY;
        for i in 0..3 {
            for j in 0..3 {
                m = m.min(segments([&a[i], &a[(i + 1) % 3]], [&b[j], &b[(j + 1) % 3]]));
            }
            m = m.min(above(&a[i], b)).min(above(&b[i], a));
        }
        m.sqrt()
    }

    /// Squared distance of two segments.
    fn segments([p, p2]: [&Point3<f64>; 2], [q, q2]: [&Point3<f64>; 2]) -> f64 {
        let (d, e, r) = (p2 - p, q2 - q, p - q);
        let (a, c, f) = (d.norm_squared(), e.norm_squared(), e.dot(&r));
        let (b, g) = (d.dot(&e), d.dot(&r));
        let unit = |num: f64, den: f64| if den > 0.0 { (num / den).clamp(0.0, 1.0) } else { 0.0 };
        let den = a * c - b * b;
        // Nearly parallel segments: any point of the first will do, ends are tried by the clamping below.
        let mut s = if den > 1e-14 * a * c { unit(b * f - g * c, den) } else { 0.0 };
        let mut t = if c > 0.0 { (b * s + f) / c } else { 0.0 };
        if t < 0.0 || c == 0.0 {
            t = 0.0;
            s = unit(-g, a);
        } else if t > 1.0 {
            t = 1.0;
            s = unit(b - g, a);
        }
        ((p + d * s) - (q + e * t)).norm_squared()
    }

    /// Squared distance of a point from a triangle's plane if its foot lies inside, else infinite.
    fn above(p: &Point3<f64>, t: &[Point3<f64>; 3]) -> f64 {
        let (u, v, w) = (t[1] - t[0], t[2] - t[0], p - t[0]);
        let (uu, uv, vv, wu, wv) = (u.dot(&u), u.dot(&v), v.dot(&v), w.dot(&u), w.dot(&v));
        let den = uu * vv - uv * uv;
        if den <= 1e-12 * uu * vv {
            return f64::INFINITY;
        }
        let (s, r) = ((vv * wu - uv * wv) / den, (uu * wv - uv * wu) / den);
        if s < 0.0 || r < 0.0 || s + r > 1.0 { f64::INFINITY } else { (w - u * s - v * r).norm_squared() }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, ..ProptestConfig::default() })]
        /// Against the distance of two triangles from their fifteen pairs of parts (Ericson, "Real-Time Collision
        /// Detection", 2005, 5.1.10), which is another way to the same number.
        #[test]
        fn the_shortest_difference_of_two_triangles_is_their_distance(
            v in prop::array::uniform32(-2.0f64..2.0), lift in 0.0f64..5.0, flat in 0usize..4,
        ) {
            let at = |i: usize| Point3::new(v[3 * i], v[3 * i + 1], v[3 * i + 2]);
            let (a, mut b) = ([at(0), at(1), at(2)], [at(3), at(4), at(5)]);
            b.iter_mut().for_each(|p| p.z += lift);
            match flat { 1 => b[1] = b[2], 2 => b = [b[0]; 3], _ => {} }
            let mut room = [Vector3::zeros(); 9];
            let n = nearest(differences(&a, &b, &mut room));
            let truth = triangle_distance(&a, &b);
            // Crossing triangles have no distance from parts alone; their hulls of differences hold the origin.
            if n.lower > 1e-6 {
                prop_assert!((n.lower - truth).abs() < 1e-9 && n.lower <= truth + 1e-12, "{} {}", n.lower, truth);
            }
            prop_assert!(n.x.norm() <= truth + 1e-7);
            let sum: f64 = n.mix[..n.count].iter().map(|m| m.1).sum();
            prop_assert!((sum - 1.0).abs() < 1e-12 && n.mix.iter().all(|m| m.1 >= 0.0));
        }

        #[test]
        fn the_angle_to_a_cone_is_never_above_that_to_a_direction_in_it(
            v in prop::array::uniform32(-1.0f64..1.0), w in prop::array::uniform4(0.0f64..1.0),
        ) {
            let rays: Vec<Vector3<f64>> =
                (0..4).filter_map(|i| Vector3::new(v[3 * i], v[3 * i + 1], v[3 * i + 2]).try_normalize(1e-3)).collect();
            let Some(n) = Vector3::new(v[20], v[21], v[22]).try_normalize(1e-3) else { return Ok(()) };
            let inside: Vector3<f64> = rays.iter().zip(w).map(|(r, w)| r * w).sum();
            let least = angle_to_cone(&n, &rays);
            if let Some(d) = inside.try_normalize(1e-6) {
                prop_assert!(least <= libm::acos(d.dot(&n).clamp(-1.0, 1.0)) + 1e-7);
            }
        }
    }
}
