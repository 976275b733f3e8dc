//! Directions spread over a half space, and the smooth blending of what neighbours measured with different ones.

use nalgebra::Vector3;

/// Sixteen sets of directions about +z with density proportional to the cosine.
pub(super) struct Scatter {
    sets: Vec<Vec<Vector3<f64>>>,
}

impl Scatter {
    /// `each` directions a set.
    pub(super) fn new(each: u32) -> Self {
        // Each set is an even spread of its own; radii of the sets interleave and each is turned by the golden ratio
        // against the last, so that sixteen neighbours together see an even spread sixteen times as dense.
        let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
        let all = each * 16;
        let set = |k: u32| {
            (0..each)
                .map(|i| {
                    let j = i * 16 + k;
                    let r2 = (f64::from(j) + 0.5) / f64::from(all);
                    let a = std::f64::consts::TAU * (radical_inverse(i) + golden * f64::from(k));
                    let r = r2.sqrt();
                    Vector3::new(r * libm::cos(a), r * libm::sin(a), (1.0 - r2).sqrt())
                })
                .collect()
        };
        // Neighbours far apart in the order of radii, so that no row or column leans one way.
        let order = [0, 8, 2, 10, 12, 4, 14, 6, 3, 11, 1, 9, 15, 7, 13, 5];
        Self { sets: order.into_iter().map(set).collect() }
    }
    /// The directions for a place of a grid, about a normal.
    pub(super) fn about(&self, x: usize, y: usize, n: &Vector3<f64>) -> impl Iterator<Item = Vector3<f64>> {
        let (u, v) = frame(n);
        let n = *n;
        self.sets[(y % 4) * 4 + x % 4].iter().map(move |d| u * d.x + v * d.y + n * d.z)
    }
}

/// Two unit vectors square to a unit vector and each other, after Duff et al., "Building an orthonormal basis,
/// revisited", 2017.
fn frame(n: &Vector3<f64>) -> (Vector3<f64>, Vector3<f64>) {
    let s = if n.z < 0.0 { -1.0 } else { 1.0 };
    let a = -1.0 / (s + n.z);
    let b = n.x * n.y * a;
    (Vector3::new(1.0 + s * n.x * n.x * a, s * b, -s * n.x), Vector3::new(b, s + n.y * n.y * a, -n.y))
}

/// Van der Corput sequence in base 2.
fn radical_inverse(i: u32) -> f64 {
    f64::from(i.reverse_bits()) / 4_294_967_296.0
}

/// Cubic B-spline weights of the four grid places around `t` (places are whole numbers), and the first of them.
#[allow(clippy::cast_possible_truncation)]
pub(super) fn blend(t: f64) -> (i64, [f64; 4]) {
    let f = t.floor();
    let u = t - f;
    let v = 1.0 - u;
    let w = [
        v * v * v / 6.0,
        (3.0 * u * u * u - 6.0 * u * u + 4.0) / 6.0,
        (3.0 * v * v * v - 6.0 * v * v + 4.0) / 6.0,
        u * u * u / 6.0,
    ];
    (f as i64 - 1, w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_follow_the_cosine() {
        let scatter = Scatter::new(32);
        let n = Vector3::new(0.3, -0.5, -0.8).normalize();
        let (mut sum, mut count) = (Vector3::zeros(), 0.0);
        for k in 0..16 {
            let mut one = Vector3::zeros();
            for d in scatter.about(k % 4, k / 4, &n) {
                assert!((d.norm() - 1.0).abs() < 1e-12 && d.dot(&n) > 0.0);
                one += d;
                count += 1.0;
            }
            // No set leans to one side: half the room unseen would shift its mean by more than 0.4.
            assert!((one / 32.0 - n * (2.0 / 3.0)).norm() < 0.05, "set {k}");
            sum += one;
        }
        // Mean of the cosine under a cosine density: 2/3 (closed form).
        assert!((sum / count - n * (2.0 / 3.0)).norm() < 5e-3);
    }

    #[test]
    fn blend_weights_sum_to_one_and_keep_a_straight_line() {
        for i in 0..50 {
            let t = f64::from(i) * 0.173 - 2.0;
            let (first, w) = blend(t);
            assert!((w.iter().sum::<f64>() - 1.0).abs() < 1e-14);
            let mean: f64 = w.iter().enumerate().map(|(k, w)| w * (first + k as i64) as f64).sum();
            assert!((mean - t).abs() < 1e-12);
        }
    }
}
