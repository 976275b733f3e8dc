//! Which triangle a ray meets first: a tree of boxes over the triangles of the scene.

use nalgebra::{Point3, Vector3};

/// Triangles a leaf holds at most, unless they cannot be parted. Our choice, by timing.
const LEAF: usize = 3;
/// Places tried for a cut along each axis.
const BINS: usize = 12;
/// Deeper than this no box is split, so that a walk needs no more stack than it has.
const DEEPEST: usize = 60;

/// Box tree over triangles.
pub(super) struct Tree {
    nodes: Vec<Node>,
    leaves: Vec<Leaf>,
}

struct Node {
    lo: [f64; 3],
    hi: [f64; 3],
    /// Of a leaf: first triangle. Of a fork: the second child; the first follows the node.
    next: u32,
    /// Number of triangles; zero for a fork.
    count: u32,
}

struct Leaf {
    a: Point3<f64>,
    e: Vector3<f64>,
    f: Vector3<f64>,
    id: u32,
}

#[derive(Clone, Copy)]
struct Bounds {
    lo: Vector3<f64>,
    hi: Vector3<f64>,
}

impl Bounds {
    fn none() -> Self {
        Self { lo: Vector3::repeat(f64::INFINITY), hi: Vector3::repeat(f64::NEG_INFINITY) }
    }
    fn join(&self, o: &Self) -> Self {
        Self { lo: self.lo.inf(&o.lo), hi: self.hi.sup(&o.hi) }
    }
    fn half_area(&self) -> f64 {
        let d = self.hi - self.lo;
        if d.x < 0.0 { 0.0 } else { d.x * d.y + d.y * d.z + d.z * d.x }
    }
}

impl Tree {
    /// A tree over triangles; a hit is reported by its place in `triangles`.
    #[allow(clippy::cast_possible_truncation)]
    pub(super) fn new(triangles: &[[Point3<f64>; 3]]) -> Self {
        let mut items: Vec<(Bounds, Vector3<f64>, u32)> = triangles
            .iter()
            .enumerate()
            .map(|(i, t)| {
                let (a, b, c) = (t[0].coords, t[1].coords, t[2].coords);
                let bounds = Bounds { lo: a.inf(&b).inf(&c), hi: a.sup(&b).sup(&c) };
                (bounds, (bounds.lo + bounds.hi) / 2.0, i as u32)
            })
            .collect();
        let mut tree = Self { nodes: Vec::new(), leaves: Vec::with_capacity(items.len()) };
        if !items.is_empty() {
            tree.split(triangles, &mut items, 0);
        }
        tree
    }

    #[allow(clippy::cast_possible_truncation)]
    fn split(&mut self, all: &[[Point3<f64>; 3]], items: &mut [(Bounds, Vector3<f64>, u32)], depth: usize) {
        let bounds = items.iter().fold(Bounds::none(), |b, i| b.join(&i.0));
        let here = self.nodes.len();
        let (lo, hi) = (bounds.lo.into(), bounds.hi.into());
        self.nodes.push(Node { lo, hi, next: self.leaves.len() as u32, count: items.len() as u32 });
        let cut = if items.len() > LEAF && depth < DEEPEST { best_cut(items) } else { None };
        if let Some((axis, at)) = cut {
            items.sort_by(|p, q| p.1[axis].total_cmp(&q.1[axis]).then(p.2.cmp(&q.2)));
            let (left, right) = items.split_at_mut(at);
            self.split(all, left, depth + 1);
            let second = self.nodes.len() as u32;
            self.split(all, right, depth + 1);
            self.nodes[here].next = second;
            self.nodes[here].count = 0;
        } else {
            for (_, _, id) in items {
                let [a, b, c] = all[*id as usize];
                self.leaves.push(Leaf { a, e: b - a, f: c - a, id: *id });
            }
        }
    }

    /// Distance and triangle of the first hit nearer than `reach`.
    pub(super) fn hit(&self, o: &Point3<f64>, d: &Vector3<f64>, reach: f64) -> Option<(f64, u32)> {
        let (mut best, mut found) = (reach, None);
        self.walk(
            o,
            d,
            |t, id, limit| {
                if t < best || (t == best && found.is_some_and(|f| id < f)) {
                    best = t;
                    found = Some(id);
                    *limit = t;
                }
                false
            },
            reach,
        );
        found.map(|id| (best, id))
    }

    /// Whether anything lies nearer than `reach`.
    pub(super) fn blocked(&self, o: &Point3<f64>, d: &Vector3<f64>, reach: f64) -> bool {
        let mut any = false;
        self.walk(
            o,
            d,
            |_, _, _| {
                any = true;
                true
            },
            reach,
        );
        any
    }

    fn walk(
        &self,
        o: &Point3<f64>,
        d: &Vector3<f64>,
        mut on_hit: impl FnMut(f64, u32, &mut f64) -> bool,
        reach: f64,
    ) {
        if self.nodes.is_empty() {
            return;
        }
        let inverse = [1.0 / d.x, 1.0 / d.y, 1.0 / d.z];
        let mut limit = reach;
        let Some(enter) = self.nodes[0].enter(o, &inverse, limit) else { return };
        // Nodes still to visit, and where the ray enters their boxes.
        let mut stack = [(0_u32, 0.0_f64); DEEPEST + 4];
        stack[0] = (0, enter);
        let mut top = 1;
        while top > 0 {
            top -= 1;
            let (index, enter) = stack[top];
            if enter > limit {
                continue;
            }
            let node = &self.nodes[index as usize];
            if node.count > 0 {
                let first = node.next as usize;
                for leaf in &self.leaves[first..first + node.count as usize] {
                    if let Some(t) = leaf.meets(o, d)
                        && t <= limit
                        && on_hit(t, leaf.id, &mut limit)
                    {
                        return;
                    }
                }
                continue;
            }
            let children = [index + 1, node.next];
            let mut enters =
                children.map(|c| self.nodes[c as usize].enter(o, &inverse, limit).map(|t| (c, t)));
            // The child entered later goes on the stack first.
            if let [Some(a), Some(b)] = enters
                && a.1 <= b.1
            {
                enters.swap(0, 1);
            }
            for child in enters.into_iter().flatten() {
                stack[top] = child;
                top += 1;
            }
        }
    }
}

impl Node {
    /// Where a ray enters the box, if it does before `reach`.
    fn enter(&self, o: &Point3<f64>, inverse: &[f64; 3], reach: f64) -> Option<f64> {
        let (mut near, mut far) = (0.0_f64, reach);
        for i in 0..3 {
            let (a, b) = ((self.lo[i] - o[i]) * inverse[i], (self.hi[i] - o[i]) * inverse[i]);
            // `min` and `max` drop the not-a-number of a ray that runs inside a box side.
            near = near.max(a.min(b));
            far = far.min(a.max(b));
        }
        (near <= far).then_some(near)
    }
}

impl Leaf {
    /// Distance along the ray, after Moeller and Trumbore, "Fast, minimum storage ray/triangle intersection", 1997.
    fn meets(&self, o: &Point3<f64>, d: &Vector3<f64>) -> Option<f64> {
        let p = d.cross(&self.f);
        let det = self.e.dot(&p);
        if det == 0.0 {
            return None;
        }
        let inverse = 1.0 / det;
        let w = o - self.a;
        let u = w.dot(&p) * inverse;
        if !(0.0..=1.0).contains(&u) {
            return None;
        }
        let q = w.cross(&self.e);
        let v = d.dot(&q) * inverse;
        if v < 0.0 || u + v > 1.0 {
            return None;
        }
        let t = self.f.dot(&q) * inverse;
        (t > 0.0).then_some(t)
    }
}

/// Axis and number of items on the lower side for the cheapest cut by the surface area rule (MacDonald and Booth, 1990),
/// or in the middle if centres coincide so that no bin parts them; `None` if a leaf is cheaper.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn best_cut(items: &[(Bounds, Vector3<f64>, u32)]) -> Option<(usize, usize)> {
    let centres = items.iter().fold(Bounds::none(), |b, i| b.join(&Bounds { lo: i.1, hi: i.1 }));
    let mut best: Option<(f64, usize, usize)> = None;
    for axis in 0..3 {
        let (lo, width) = (centres.lo[axis], centres.hi[axis] - centres.lo[axis]);
        if width <= 0.0 {
            continue;
        }
        let mut bins = [(Bounds::none(), 0_usize); BINS];
        for (b, c, _) in items {
            let i = (((c[axis] - lo) / width * BINS as f64) as usize).min(BINS - 1);
            bins[i] = (bins[i].0.join(b), bins[i].1 + 1);
        }
        for at in 1..BINS {
            let side = |part: &[(Bounds, usize)]| {
                part.iter().fold((Bounds::none(), 0), |s, b| (s.0.join(&b.0), s.1 + b.1))
            };
            let (left, right) = (side(&bins[..at]), side(&bins[at..]));
            if left.1 == 0 || right.1 == 0 {
                continue;
            }
            let cost = left.0.half_area() * left.1 as f64 + right.0.half_area() * right.1 as f64;
            if best.is_none_or(|(c, _, _)| cost < c) {
                best = Some((cost, axis, left.1));
            }
        }
    }
    best.map(|(_, axis, at)| (axis, at))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tree_finds_what_trying_every_triangle_finds() {
        // A fixed linear congruence gives the same cloud everywhere.
        let mut state = 7_u64;
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f64 / (1_u64 << 24) as f64
        };
        let mut point = |s: f64| Point3::new(next() * s, next() * s, next() * s);
        let triangles: Vec<[Point3<f64>; 3]> = (0..400)
            .map(|_| {
                let a = point(10.0);
                [a, a + point(1.5).coords, a + point(1.5).coords]
            })
            .collect();
        let tree = Tree::new(&triangles);
        let mut hits = 0;
        for _ in 0..500 {
            let o = point(10.0);
            let d = (point(1.0) - Point3::new(0.5, 0.5, 0.5)).normalize();
            let brute = triangles
                .iter()
                .filter_map(|t| Leaf { a: t[0], e: t[1] - t[0], f: t[2] - t[0], id: 0 }.meets(&o, &d))
                .fold(f64::INFINITY, f64::min);
            let found = tree.hit(&o, &d, 1e9);
            assert_eq!(found.map_or(f64::INFINITY, |f| f.0), brute);
            assert_eq!(tree.blocked(&o, &d, 1e9), brute.is_finite());
            hits += usize::from(found.is_some());
        }
        assert!((50..450).contains(&hits), "the cloud must be hit and missed: {hits}");
    }

    #[test]
    fn equal_centres_do_not_sink_the_tree() {
        let t = [Point3::origin(), Point3::new(1.0, 0.0, 0.0), Point3::new(0.0, 1.0, 0.0)];
        let tree = Tree::new(&vec![t; 50]);
        let hit = tree.hit(&Point3::new(0.2, 0.2, 1.0), &-Vector3::z(), 10.0);
        assert_eq!(hit, Some((1.0, 0)));
        assert!(Tree::new(&[]).hit(&Point3::origin(), &Vector3::x(), 1.0).is_none());
    }
}
