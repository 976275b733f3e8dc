//! Nearest points of points, segments and triangles.
//!
//! Closed forms after C. Ericson, Real-Time Collision Detection (2005), 5.1.5, 5.1.9 and 5.3.4. Rounding is far below
//! [`ROUNDING`] for coordinates below 100 mm.

use nalgebra::{Point3, Vector3};

/// What rounding may add to or take from a distance here, mm.
pub(super) const ROUNDING: f64 = 1e-11;

/// A triangle is a sliver when the square of twice its area is below this share of its longest edge to the fourth: its height
/// is then below a millionth of its length.
const SLIVER: f64 = 1e-12;

/// A triangle's corners, mm.
pub(super) type Triangle = [Point3<f64>; 3];

/// Nearest points of two triangles, and their distance; zero where they meet.
pub(super) fn nearest(a: &Triangle, b: &Triangle) -> (f64, Point3<f64>, Point3<f64>) {
    let mut best = (f64::INFINITY, a[0], b[0]);
    let mut take = |p: Point3<f64>, q: Point3<f64>| {
        let d = (q - p).norm_squared();
        if d < best.0 {
            best = (d, p, q);
        }
    };
    for i in 0..3 {
        take(a[i], on_triangle(&a[i], b).0);
        take(on_triangle(&b[i], a).0, b[i]);
        for j in 0..3 {
            let (p, q) = segments([&a[i], &a[(i + 1) % 3]], [&b[j], &b[(j + 1) % 3]]);
            take(p, q);
        }
    }
    // Triangles that meet with every edge clear of every other edge: an edge of one runs through the inside of the other.
    if best.0 > 0.0 {
        for i in 0..3 {
            let through = pierces(&a[i], &a[(i + 1) % 3], b).or_else(|| pierces(&b[i], &b[(i + 1) % 3], a));
            if let Some(p) = through {
                return (0.0, p, p);
            }
        }
    }
    (best.0.sqrt(), best.1, best.2)
}

/// Which part of a triangle a point is nearest to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Part {
    /// Its inside.
    Inside,
    /// The edge from this corner to the next.
    Edge(usize),
    /// This corner.
    Corner(usize),
}

/// The point of a triangle nearest to a point, and what it lies on.
pub(super) fn on_triangle(p: &Point3<f64>, t: &Triangle) -> (Point3<f64>, Part) {
    let (ab, ac, ap) = (t[1] - t[0], t[2] - t[0], p - t[0]);
    // A sliver is as good as its edges.
    let longest = ab.norm_squared().max(ac.norm_squared()).max((t[2] - t[1]).norm_squared());
    if ab.cross(&ac).norm_squared() <= SLIVER * longest * longest {
        return on_edges(p, t);
    }
    let (d1, d2) = (ab.dot(&ap), ac.dot(&ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return (t[0], Part::Corner(0));
    }
    let bp = p - t[1];
    let (d3, d4) = (ab.dot(&bp), ac.dot(&bp));
    if d3 >= 0.0 && d4 <= d3 {
        return (t[1], Part::Corner(1));
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return (t[0] + ab * (d1 / (d1 - d3)), Part::Edge(0));
    }
    let cp = p - t[2];
    let (d5, d6) = (ab.dot(&cp), ac.dot(&cp));
    if d6 >= 0.0 && d5 <= d6 {
        return (t[2], Part::Corner(2));
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return (t[0] + ac * (d2 / (d2 - d6)), Part::Edge(2));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 >= d3 && d5 >= d6 {
        return (t[1] + (t[2] - t[1]) * ((d4 - d3) / ((d4 - d3) + (d5 - d6))), Part::Edge(1));
    }
    let sum = va + vb + vc;
    (t[0] + ab * (vb / sum) + ac * (vc / sum), Part::Inside)
}

fn on_edges(p: &Point3<f64>, t: &Triangle) -> (Point3<f64>, Part) {
    let mut best = (f64::INFINITY, t[0], Part::Corner(0));
    for i in 0..3 {
        let (a, b) = (t[i], t[(i + 1) % 3]);
        let l2 = (b - a).norm_squared();
        let s = if l2 > 0.0 { ((p - a).dot(&(b - a)) / l2).clamp(0.0, 1.0) } else { 0.0 };
        let q = a + (b - a) * s;
        let d = (p - q).norm_squared();
        if d < best.0 {
            best = (d, q, Part::Edge(i));
        }
    }
    (best.1, best.2)
}

/// Nearest points of two segments.
fn segments(a: [&Point3<f64>; 2], b: [&Point3<f64>; 2]) -> (Point3<f64>, Point3<f64>) {
    let (u, v, r) = (a[1] - a[0], b[1] - b[0], a[0] - b[0]);
    let (uu, vv, vr, ur, uv) = (u.dot(&u), v.dot(&v), v.dot(&r), u.dot(&r), u.dot(&v));
    if uu <= 0.0 && vv <= 0.0 {
        return (*a[0], *b[0]);
    }
    if uu <= 0.0 {
        return (*a[0], b[0] + v * (vr / vv).clamp(0.0, 1.0));
    }
    if vv <= 0.0 {
        return (a[0] + u * (-ur / uu).clamp(0.0, 1.0), *b[0]);
    }
    let det = uu * vv - uv * uv;
    let mut s = if det > 0.0 { ((uv * vr - ur * vv) / det).clamp(0.0, 1.0) } else { 0.0 };
    let mut t = (uv * s + vr) / vv;
    if t < 0.0 {
        t = 0.0;
        s = (-ur / uu).clamp(0.0, 1.0);
    } else if t > 1.0 {
        t = 1.0;
        s = ((uv - ur) / uu).clamp(0.0, 1.0);
    }
    (a[0] + u * s, b[0] + v * t)
}

/// Where the segment runs through the triangle's inside.
fn pierces(p: &Point3<f64>, q: &Point3<f64>, t: &Triangle) -> Option<Point3<f64>> {
    let n = (t[1] - t[0]).cross(&(t[2] - t[0]));
    let (dp, dq) = (n.dot(&(p - t[0])), n.dot(&(q - t[0])));
    if (dp > 0.0) == (dq > 0.0) || dp == dq {
        return None;
    }
    let x = p + (q - p) * (dp / (dp - dq));
    let inside = |a: &Point3<f64>, b: &Point3<f64>| n.dot(&(b - a).cross(&(x - a))) >= 0.0;
    (inside(&t[0], &t[1]) && inside(&t[1], &t[2]) && inside(&t[2], &t[0])).then_some(x)
}

/// The unit vector along `v`; zero for zero.
pub(super) fn unit(v: &Vector3<f64>) -> Vector3<f64> {
    let n = v.norm();
    if n > 0.0 { v / n } else { Vector3::zeros() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn point() -> impl Strategy<Value = Point3<f64>> {
        prop::array::uniform3(-4_i8..=4).prop_map(|a| Point3::from(a.map(|x| f64::from(x) * 0.5)))
    }
    fn triangle() -> impl Strategy<Value = Triangle> {
        prop::array::uniform3(point())
    }

    proptest! {
        #[test]
        fn no_pair_of_points_is_nearer_than_the_nearest(a in triangle(), b in triangle()) {
            let (d, p, q) = nearest(&a, &b);
            prop_assert!(((q - p).norm() - d).abs() < 1e-12);
            let at = |t: &Triangle, u: f64, v: f64| t[0] + (t[1] - t[0]) * u * (1.0 - v) + (t[2] - t[0]) * v;
            const N: u32 = 12;
            for i in 0..=N {
                for j in 0..=N {
                    let x = at(&a, f64::from(i) / f64::from(N), f64::from(j) / f64::from(N));
                    let (y, _) = on_triangle(&x, &b);
                    prop_assert!((y - x).norm() >= d - 1e-9, "{} < {d}", (y - x).norm());
                }
            }
        }

        #[test]
        fn the_point_of_a_triangle_nearest_to_a_point_is_no_farther_than_any_other(p in point(), t in triangle()) {
            let (q, _) = on_triangle(&p, &t);
            let d = (q - p).norm();
            for i in 0..=20_u32 {
                for j in 0..=(20 - i) {
                    let x = t[0] + (t[1] - t[0]) * (f64::from(i) / 20.0) + (t[2] - t[0]) * (f64::from(j) / 20.0);
                    prop_assert!((x - p).norm() >= d - 1e-9);
                }
            }
        }
    }

    #[test]
    fn an_edge_through_the_inside_meets_it() {
        let a = [Point3::new(-1.0, -1.0, 0.0), Point3::new(2.0, -1.0, 0.0), Point3::new(0.0, 3.0, 0.0)];
        let b = [Point3::new(0.0, 0.0, -1.0), Point3::new(0.0, 0.1, 1.0), Point3::new(0.1, 0.0, 1.0)];
        assert_eq!(nearest(&a, &b).0, 0.0);
    }
}
