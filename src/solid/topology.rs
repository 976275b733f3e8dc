//! Faces, edges and vertices read off the tagged mesh: connected patches of one surface are faces, chains of mesh edges
//! between two patches are edges, mesh vertices where other than two chain ends meet are vertices.

use super::common_sphere::common_sphere;
use super::guard::Doubt;
use super::patches::{Patch, patches};
use super::primitives::Tagged;
use super::registry::Registry;
use nalgebra::Point3;
use std::collections::{BTreeMap, BTreeSet};

/// A chain of working-mesh edges between two patches.
#[derive(Clone, Debug)]
pub struct Chain {
    /// Mesh vertices in order.
    pub vertices: Vec<u32>,
    /// Patch on the left, seen from outside.
    pub left: usize,
    /// Patch on the right.
    pub right: usize,
    /// Set on a line that splits a full-turn face: its angle on the cone.
    pub ruling: Option<f64>,
}

/// The combinatorial skeleton of the solid.
#[derive(Clone, Debug)]
pub struct Topology {
    /// Faces.
    pub patches: Vec<Patch>,
    /// Edges.
    pub chains: Vec<Chain>,
    /// Per patch: loops of (chain, forward).
    pub loops: Vec<Vec<Vec<(usize, bool)>>>,
    /// Patch of every mesh triangle.
    pub patch_of: Vec<usize>,
    /// Chains that begin or end at a mesh vertex.
    pub chains_at: BTreeMap<u32, Vec<usize>>,
}

/// What must not depend on the tessellation: corners by their surfaces, and which surfaces share an edge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signature {
    corners: Vec<BTreeSet<usize>>,
    pairs: BTreeSet<(usize, usize)>,
}

/// Neighbour of every triangle across each of its edges (edge i runs from corner i to the next).
pub type Neighbours = Vec<[u32; 3]>;

/// Pairs up the half-edges of a mesh.
///
/// # Errors
/// The triangles about an edge that is open or used twice in one direction.
#[allow(clippy::cast_possible_truncation)]
pub fn neighbours(m: &Tagged) -> Result<Neighbours, (Vec<u32>, &'static str)> {
    // (low vertex, high vertex, runs upwards, triangle, corner)
    let mut half: Vec<(u32, u32, bool, u32, u8)> = Vec::with_capacity(m.triangles.len() * 3);
    for (t, v) in m.triangles.iter().enumerate() {
        for i in 0..3u8 {
            let (a, b) = (v[i as usize], v[(i as usize + 1) % 3]);
            half.push((a.min(b), a.max(b), a < b, t as u32, i));
        }
    }
    half.sort_unstable();
    let mut out = vec![[0; 3]; m.triangles.len()];
    for pair in half.chunks(2) {
        match *pair {
            [(a, b, false, t, i), (c, d, true, u, j)] if a == c && b == d => {
                out[t as usize][i as usize] = u;
                out[u as usize][j as usize] = t;
            }
            _ => return Err((pair.iter().map(|h| h.3).collect(), "the working mesh is not closed")),
        }
    }
    // Two pairs on one edge would be four half-edges in a row.
    for w in half.chunks_exact(2).collect::<Vec<_>>().windows(2) {
        if w[0][0].0 == w[1][0].0 && w[0][0].1 == w[1][0].1 {
            let about = w.concat().iter().map(|h| h.3).collect();
            return Err((about, "the faces meet along a line without thickness"));
        }
    }
    Ok(out)
}

/// Reads the skeleton off a tagged mesh.
///
/// # Errors
/// Where the mesh is not closed or a chain cannot be cut as needed: it is too coarse.
pub(super) fn extract(m: &Tagged, reg: &Registry) -> Result<Topology, Doubt> {
    let nb = neighbours(m).map_err(|(about, detail)| {
        let surfaces: BTreeSet<usize> = about.iter().map(|&t| reg.tags[m.tags[t as usize]].surface).collect();
        let near =
            about.first().map_or_else(Point3::origin, |&t| m.positions[m.triangles[t as usize][0] as usize]);
        Doubt::new(surfaces.into_iter().collect(), near, detail.into())
    })?;
    let (patches, patch_of) = patches(m, &nb, reg);
    let mut topology = Topology {
        loops: vec![Vec::new(); patches.len()],
        patches,
        chains: Vec::new(),
        patch_of,
        chains_at: BTreeMap::new(),
    };
    Walk { m, nb: &nb, reg, owner: vec![[None; 3]; m.triangles.len()] }.run(&mut topology)?;
    Ok(topology)
}

/// Half-edge: triangle and corner it starts from.
type Half = (usize, usize);

struct Walk<'a> {
    m: &'a Tagged,
    nb: &'a Neighbours,
    reg: &'a Registry,
    /// Chain of each boundary half-edge and whether the half-edge runs along it.
    owner: Vec<[Option<(usize, bool)>; 3]>,
}

impl Walk<'_> {
    fn start(&self, h: Half) -> u32 {
        self.m.triangles[h.0][h.1]
    }
    fn end(&self, h: Half) -> u32 {
        self.m.triangles[h.0][(h.1 + 1) % 3]
    }
    fn across(&self, h: Half) -> usize {
        self.nb[h.0][h.1] as usize
    }
    fn corner(&self, triangle: usize, vertex: u32) -> usize {
        self.m.triangles[triangle].iter().position(|&v| v == vertex).unwrap_or(0)
    }
    fn twin(&self, h: Half) -> Half {
        let u = self.across(h);
        (u, self.corner(u, self.end(h)))
    }
    fn is_boundary(&self, t: &Topology, h: Half) -> bool {
        t.patch_of[self.across(h)] != t.patch_of[h.0]
    }
    /// Next boundary half-edge of the same patch: turn round the end vertex inside the patch.
    fn next(&self, t: &Topology, h: Half) -> Half {
        let pivot = self.end(h);
        let mut g = (h.0, (h.1 + 1) % 3);
        while !self.is_boundary(t, g) {
            let u = self.across(g);
            g = (u, self.corner(u, pivot));
        }
        g
    }

    fn run(mut self, t: &mut Topology) -> Result<(), Doubt> {
        let mut degree = vec![0u32; self.m.positions.len()];
        let mut all: Vec<Half> = Vec::new();
        for triangle in 0..self.m.triangles.len() {
            for i in 0..3 {
                if self.is_boundary(t, (triangle, i)) {
                    degree[self.start((triangle, i)) as usize] += 1;
                    all.push((triangle, i));
                }
            }
        }
        // The edge of two surfaces has a corner in their node, though only those two meet there.
        for (v, p) in self.m.positions.iter().enumerate() {
            if degree[v] == 2 && self.reg.node_at(p).is_some() {
                degree[v] = u32::MAX;
            }
        }
        // First the chains between true vertices, then the closed ones without any.
        for closed in [false, true] {
            for &h in &all {
                if self.owner[h.0][h.1].is_none() && (closed || degree[self.start(h) as usize] != 2) {
                    self.chain(t, h, &degree)?;
                }
            }
        }
        let mut seen = vec![[false; 3]; self.m.triangles.len()];
        for &h in &all {
            if seen[h.0][h.1] {
                continue;
            }
            let mut ring: Vec<(usize, bool)> = Vec::new();
            let mut g = h;
            loop {
                seen[g.0][g.1] = true;
                if let Some(o) = self.owner[g.0][g.1]
                    && ring.last() != Some(&o)
                {
                    ring.push(o);
                }
                g = self.next(t, g);
                if g == h {
                    break;
                }
            }
            if ring.len() > 1 && ring.first() == ring.last() {
                ring.pop();
            }
            t.loops[t.patch_of[h.0]].push(ring);
        }
        Ok(())
    }

    #[allow(clippy::cast_possible_truncation)]
    fn chain(&mut self, t: &mut Topology, first: Half, degree: &[u32]) -> Result<(), Doubt> {
        let mut list = vec![first];
        let mut h = first;
        loop {
            h = self.next(t, h);
            if h == first || degree[self.start(h) as usize] != 2 {
                break;
            }
            list.push(h);
        }
        if self.start(first) == list.last().map_or(u32::MAX, |&g| self.end(g))
            && degree[self.start(first) as usize] == 2
        {
            // A closed chain begins at its lowest corner, wherever the mesh happened to begin.
            let key = |g: &Half| {
                let p = self.m.positions[self.start(*g) as usize];
                [p.x, p.y, p.z].map(|c| (c / CELL + 0.237).round() as i64)
            };
            let lowest = (0..list.len()).min_by_key(|&i| key(&list[i])).unwrap_or(0);
            list.rotate_left(lowest);
        }
        let (left, right) = (t.patch_of[first.0], t.patch_of[self.across(first)]);
        if list.iter().any(|&g| t.patch_of[self.across(g)] != right) {
            let surfaces: BTreeSet<usize> = list
                .iter()
                .flat_map(|g| [g.0, self.across(*g)])
                .map(|u| t.patches[t.patch_of[u]].surface)
                .collect();
            let near = self.m.positions[self.start(first) as usize];
            let detail = "an edge changes its face on the way".to_owned();
            return Err(Doubt::new(surfaces.into_iter().collect(), near, detail));
        }
        let mut vertices: Vec<u32> = list.iter().map(|&g| self.start(g)).collect();
        vertices.extend(list.last().map(|&g| self.end(g)));
        let closed = vertices.first() == vertices.last();
        // Facets of two surfaces that touch in a node meet in a zigzag: its turning says nothing of the conic it stands for.
        let [a, b] = [left, right].map(|p| &self.reg.surfaces[t.patches[p].surface]);
        let bounds = if !closed && common_sphere(a, b).is_some() {
            Some(vec![0, vertices.len() - 1])
        } else {
            split(self.m, &vertices, closed)
        };
        let bounds = bounds.ok_or_else(|| {
            let surfaces = [left, right].map(|p| t.patches[p].surface).to_vec();
            let near = self.m.positions[self.start(first) as usize];
            Doubt::new(surfaces, near, "their edge is too coarse to be cut".into())
        })?;
        let ruling = self.ruling(t, first);
        for w in bounds.windows(2) {
            let id = t.chains.len();
            for &g in &list[w[0]..w[1]] {
                let twin = self.twin(g);
                self.owner[g.0][g.1] = Some((id, true));
                self.owner[twin.0][twin.1] = Some((id, false));
            }
            let part = vertices[w[0]..=w[1]].to_vec();
            for end in [part[0], part[part.len() - 1]] {
                let at = t.chains_at.entry(end).or_default();
                if !at.contains(&id) {
                    at.push(id);
                }
            }
            t.chains.push(Chain { vertices: part, left, right, ruling });
        }
        Ok(())
    }

    /// Angle of the ruling where both sides are one cone.
    fn ruling(&self, t: &Topology, h: Half) -> Option<f64> {
        let (a, b) = (self.reg.tags[self.m.tags[h.0]], self.reg.tags[self.m.tags[self.across(h)]]);
        let n = self.reg.strips(a.surface);
        let same = t.patches[t.patch_of[h.0]].surface == t.patches[t.patch_of[self.across(h)]].surface;
        (same && n > 0)
            .then(|| self.reg.ruling(a.surface, if (a.strip + 1) % n == b.strip { b.strip } else { a.strip }))
    }
}

/// Corners of the working mesh are compared by cells of this size, mm, so that noise does not order them.
const CELL: f64 = 1e-6;

/// A chain that turns more than this is cut, radians: a little over half a turn, so that every edge curve has a start
/// and end that differ and an arc is well below a full turn.
const MOST_TURN: f64 = 3.3;

/// Indices that cut a chain into parts of about equal length; `None` if it has too few edges.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn split(m: &Tagged, v: &[u32], closed: bool) -> Option<Vec<usize>> {
    let parts = ((turning(m, v, closed) / MOST_TURN).ceil() as usize).max(if closed { 2 } else { 1 });
    if v.len() <= parts {
        return None;
    }
    let mut length = vec![0.0];
    let mut total = 0.0;
    for w in v.windows(2) {
        total += (m.positions[w[0] as usize] - m.positions[w[1] as usize]).norm();
        length.push(total);
    }
    let mut cuts = vec![0usize];
    for k in 1..parts {
        let want = total * k as f64 / parts as f64;
        let (low, high) = (cuts.last()? + 1, v.len() - 1 - (parts - k));
        if low > high {
            return None;
        }
        // The first of those that are as good but for noise.
        let mut best = low;
        for i in low..=high {
            if (length[i] - want).abs() < (length[best] - want).abs() - CELL {
                best = i;
            }
        }
        cuts.push(best);
    }
    cuts.push(v.len() - 1);
    Some(cuts)
}

fn turning(m: &Tagged, v: &[u32], closed: bool) -> f64 {
    let mut directions = v.windows(2).filter_map(|w| {
        let d = m.positions[w[1] as usize] - m.positions[w[0] as usize];
        // Shorter steps than this are where several facets meet; their direction is noise.
        (d.norm() > 1e-5).then(|| d.normalize())
    });
    let Some(first) = directions.next() else { return 0.0 };
    let angle =
        |a: &nalgebra::Vector3<f64>, b: &nalgebra::Vector3<f64>| libm::acos(a.dot(b).clamp(-1.0, 1.0));
    let mut last = first;
    let mut sum = 0.0;
    for d in directions {
        sum += angle(&last, &d);
        last = d;
    }
    if closed { sum + angle(&last, &first) } else { sum }
}

impl Topology {
    /// See [`Signature`].
    #[must_use]
    pub fn signature(&self) -> Signature {
        let surface = |p: usize| self.patches[p].surface;
        let mut corners: Vec<BTreeSet<usize>> = self
            .chains_at
            .values()
            .map(|list| {
                list.iter()
                    .flat_map(|&c| [surface(self.chains[c].left), surface(self.chains[c].right)])
                    .collect::<BTreeSet<_>>()
            })
            .filter(|s| s.len() > 2)
            .collect();
        corners.sort();
        let pairs = self
            .chains
            .iter()
            .map(|c| (surface(c.left).min(surface(c.right)), surface(c.left).max(surface(c.right))))
            .filter(|p| p.0 != p.1)
            .collect();
        Signature { corners, pairs }
    }
}

impl Signature {
    /// Surfaces of every corner and edge that only one of two signatures has.
    pub(super) fn differences(&self, other: &Self) -> Vec<BTreeSet<usize>> {
        let mut count: BTreeMap<&BTreeSet<usize>, i64> = BTreeMap::new();
        self.corners.iter().for_each(|c| *count.entry(c).or_default() += 1);
        other.corners.iter().for_each(|c| *count.entry(c).or_default() -= 1);
        let mut out: Vec<BTreeSet<usize>> = count
            .into_iter()
            .filter(|(_, n)| *n != 0)
            .map(|(c, _)| c.clone())
            .chain(self.pairs.symmetric_difference(&other.pairs).map(|p| BTreeSet::from([p.0, p.1])))
            .collect();
        out.sort();
        out.dedup();
        out
    }
}
