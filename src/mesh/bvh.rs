//! A tree of boxes: pairs that overlap, and the nearest item.

use nalgebra::Point3;

/// An axis-parallel box, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aabb {
    /// Lowest corner.
    pub min: [f64; 3],
    /// Highest corner.
    pub max: [f64; 3],
}

impl Aabb {
    /// The smallest box around some points; empty (inside out) for none.
    #[must_use]
    pub fn around(points: &[Point3<f64>]) -> Self {
        let mut b = Self::EMPTY;
        for p in points {
            for k in 0..3 {
                b.min[k] = b.min[k].min(p[k]);
                b.max[k] = b.max[k].max(p[k]);
            }
        }
        b
    }
    /// Holds nothing.
    pub const EMPTY: Self = Self { min: [f64::INFINITY; 3], max: [f64::NEG_INFINITY; 3] };
    /// The smallest box around both.
    #[must_use]
    pub fn union(&self, o: &Self) -> Self {
        let k = [0, 1, 2];
        Self { min: k.map(|k| self.min[k].min(o.min[k])), max: k.map(|k| self.max[k].max(o.max[k])) }
    }
    /// Whether the closed boxes have a point in common.
    #[must_use]
    pub fn overlaps(&self, o: &Self) -> bool {
        (0..3).all(|k| self.min[k] <= o.max[k] && o.min[k] <= self.max[k])
    }
    /// Square of the distance to a point, mm^2; zero inside.
    #[must_use]
    pub fn distance2_to(&self, p: &Point3<f64>) -> f64 {
        let d = |k: usize| (self.min[k] - p[k]).max(p[k] - self.max[k]).max(0.0);
        let (x, y, z) = (d(0), d(1), d(2));
        x * x + y * y + z * z
    }
    /// Square of the distance to a box, mm^2; zero if they overlap.
    #[must_use]
    pub fn distance2(&self, o: &Self) -> f64 {
        let d = |k: usize| (self.min[k] - o.max[k]).max(o.min[k] - self.max[k]).max(0.0);
        let (x, y, z) = (d(0), d(1), d(2));
        x * x + y * y + z * z
    }
}

/// What a node holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Content {
    /// Indices of two nodes.
    Inner(u32, u32),
    /// A range of [`Bvh::items`].
    Leaf(u32, u32),
}

/// A node of the tree.
#[derive(Clone, Copy, Debug)]
pub struct Node {
    /// Box around everything below.
    pub bounds: Aabb,
    /// What is below.
    pub content: Content,
}

/// A binary tree over boxes, the same for the same boxes on every run. Node 0 is the root.
#[derive(Clone, Debug, Default)]
pub struct Bvh {
    /// The nodes; none for no boxes.
    pub nodes: Vec<Node>,
    /// Indices of the boxes, grouped by leaf.
    pub items: Vec<u32>,
    boxes: Vec<Aabb>,
}

/// Boxes per leaf: testing four costs about what a further level would.
const LEAF: usize = 4;

impl Bvh {
    /// Builds the tree by halving at the median of the longest side.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)]
    pub fn new(boxes: Vec<Aabb>) -> Self {
        let mut items: Vec<u32> = (0..boxes.len() as u32).collect();
        let mut nodes = Vec::new();
        let centre2 = |i: u32, k: usize| boxes[i as usize].min[k] + boxes[i as usize].max[k];
        let mut todo = Vec::new();
        if !boxes.is_empty() {
            nodes.push(Node { bounds: Aabb::EMPTY, content: Content::Leaf(0, 0) });
            todo.push((0_usize, 0_usize, boxes.len()));
        }
        while let Some((node, from, to)) = todo.pop() {
            let mut bounds = Aabb::EMPTY;
            let mut centres = Aabb::EMPTY;
            for &i in &items[from..to] {
                bounds = bounds.union(&boxes[i as usize]);
                let c = Point3::new(centre2(i, 0), centre2(i, 1), centre2(i, 2));
                centres = centres.union(&Aabb::around(&[c]));
            }
            nodes[node].bounds = bounds;
            if to - from <= LEAF {
                nodes[node].content = Content::Leaf(from as u32, to as u32);
                continue;
            }
            let size = |k: usize| centres.max[k] - centres.min[k];
            let axis = (1..3).fold(0, |a, k| if size(k) > size(a) { k } else { a });
            let middle = usize::midpoint(from, to);
            items[from..to].select_nth_unstable_by(middle - from, |&a, &b| {
                centre2(a, axis).total_cmp(&centre2(b, axis)).then(a.cmp(&b))
            });
            let left = nodes.len();
            nodes[node].content = Content::Inner(left as u32, left as u32 + 1);
            let empty = Node { bounds: Aabb::EMPTY, content: Content::Leaf(0, 0) };
            nodes.extend([empty, empty]);
            todo.push((left + 1, middle, to));
            todo.push((left, from, middle));
        }
        Self { nodes, items, boxes }
    }
    /// Box of an item, as given.
    #[must_use]
    pub fn bounds_of(&self, item: u32) -> &Aabb {
        self.boxes.get(item as usize).unwrap_or(&Aabb::EMPTY)
    }
    /// Calls `found` once for every two overlapping boxes, the lower index first, in an order that depends on the boxes
    /// only, until it returns false.
    pub fn self_pairs(&self, mut found: impl FnMut(u32, u32) -> bool) {
        let mut stack = Vec::new();
        if !self.nodes.is_empty() {
            stack.push((0_u32, 0_u32));
        }
        while let Some((a, b)) = stack.pop() {
            let (na, nb) = (&self.nodes[a as usize], &self.nodes[b as usize]);
            if a == b {
                match na.content {
                    Content::Inner(l, r) => stack.extend([(l, r), (r, r), (l, l)]),
                    Content::Leaf(f, t) => {
                        let items = &self.items[f as usize..t as usize];
                        for (k, &i) in items.iter().enumerate() {
                            if !items[k + 1..].iter().all(|&j| self.pair(i, j, &mut found)) {
                                return;
                            }
                        }
                    }
                }
                continue;
            }
            if !na.bounds.overlaps(&nb.bounds) {
                continue;
            }
            match (na.content, nb.content) {
                (Content::Leaf(f, t), Content::Leaf(g, u)) => {
                    for &i in &self.items[f as usize..t as usize] {
                        for &j in &self.items[g as usize..u as usize] {
                            if !self.pair(i, j, &mut found) {
                                return;
                            }
                        }
                    }
                }
                (Content::Inner(l, r), Content::Leaf(..)) => stack.extend([(r, b), (l, b)]),
                (Content::Leaf(..), Content::Inner(l, r)) => stack.extend([(a, r), (a, l)]),
                (Content::Inner(l, r), Content::Inner(m, s)) => {
                    stack.extend([(r, s), (r, m), (l, s), (l, m)]);
                }
            }
        }
    }
    fn pair(&self, i: u32, j: u32, found: &mut impl FnMut(u32, u32) -> bool) -> bool {
        !self.boxes[i as usize].overlaps(&self.boxes[j as usize]) || found(i.min(j), i.max(j))
    }
    /// The item nearest to a point and its squared distance, mm^2, given the exact squared distance of an item (never
    /// below that of its box). On a tie the lowest index. `None` if nothing is nearer than the root of `within2`.
    #[must_use]
    pub fn nearest(
        &self,
        p: &Point3<f64>,
        within2: f64,
        mut distance2: impl FnMut(u32) -> f64,
    ) -> Option<(u32, f64)> {
        let mut best: Option<(u32, f64)> = None;
        let mut limit = within2;
        let mut stack: Vec<(u32, f64)> =
            self.nodes.first().map(|n| (0, n.bounds.distance2_to(p))).into_iter().collect();
        while let Some((n, d)) = stack.pop() {
            if d > limit {
                continue;
            }
            match self.nodes[n as usize].content {
                Content::Inner(l, r) => {
                    let far = |c: u32| (c, self.nodes[c as usize].bounds.distance2_to(p));
                    let (l, r) = (far(l), far(r));
                    // The nearer one last, so that it is looked at first.
                    let (near, far) = if l.1 < r.1 { (l, r) } else { (r, l) };
                    stack.push(far);
                    stack.push(near);
                }
                Content::Leaf(f, t) => {
                    for &i in &self.items[f as usize..t as usize] {
                        let d = distance2(i);
                        if d < limit || (d <= limit && best.is_some_and(|b| i < b.0)) {
                            best = Some((i, d));
                            limit = d;
                        }
                    }
                }
            }
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn boxes() -> impl Strategy<Value = Vec<Aabb>> {
        // Whole numbers, so that touching boxes and equal centres are common.
        let one = (prop::array::uniform3(0_i8..12), prop::array::uniform3(0_i8..4)).prop_map(|(a, s)| Aabb {
            min: a.map(f64::from),
            max: [0, 1, 2].map(|k| f64::from(a[k] + s[k])),
        });
        prop::collection::vec(one, 0..60)
    }

    proptest! {
        #[test]
        fn pairs_are_those_of_brute_force(b in boxes()) {
            let mut found = vec![];
            Bvh::new(b.clone()).self_pairs(|i, j| {
                found.push((i, j));
                true
            });
            found.sort_unstable();
            let mut brute = vec![];
            for i in 0..b.len() {
                for j in i + 1..b.len() {
                    if b[i].overlaps(&b[j]) {
                        brute.push((i as u32, j as u32));
                    }
                }
            }
            prop_assert_eq!(found, brute);
        }

        #[test]
        fn the_nearest_is_that_of_brute_force(b in boxes(), p in prop::array::uniform3(-3_i8..16)) {
            let p = Point3::from(p.map(f64::from));
            let brute = b.iter().enumerate().map(|(i, x)| (i as u32, x.distance2_to(&p)))
                .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
            let tree = Bvh::new(b.clone());
            prop_assert_eq!(tree.nearest(&p, f64::INFINITY, |i| b[i as usize].distance2_to(&p)), brute);
        }
    }
}
