//! Exact vertices, edges and faces on the skeleton of the working mesh.

use super::brep::{Edge, EdgeUse, Face, Solid};
use super::build::Setback;
use super::curve::Curve;
use super::error::BuildError;
use super::guard::{self, Doubt};
use super::lumps;
use super::newton::common_point;
use super::primitives::Tagged;
use super::registry::{AT_NODE, Registry};
use super::surface::Surface;
use super::topology::{Chain, Topology};
use super::trace::{edge_curve, tangency};
use nalgebra::Point3;
use std::collections::{BTreeMap, BTreeSet};

/// Two exact vertices nearer than this are one, mm: a hundred times the reach of rounding and fit, a fiftieth of the
/// smallest feature the registry lets through.
const ONE_VERTEX: f64 = 2e-6;

struct Assembly<'a> {
    mesh: &'a Tagged,
    reg: &'a Registry,
    topology: &'a Topology,
    /// Exact place of every skeleton vertex.
    exact: BTreeMap<u32, Point3<f64>>,
    /// Vertices merged into another.
    alias: BTreeMap<u32, u32>,
    /// Chains that shrank to nothing.
    gone: Vec<bool>,
}

/// Builds the solid; a [`Setback::Doubts`] asks for a finer mesh.
pub(super) fn assemble(mesh: &Tagged, reg: &Registry, topology: &Topology) -> Result<Solid, Setback> {
    let mut a = Assembly {
        mesh,
        reg,
        topology,
        exact: BTreeMap::new(),
        alias: BTreeMap::new(),
        gone: vec![false; topology.chains.len()],
    };
    a.vertices()?;
    a.collapse()?;
    let curves = a.curves()?;
    let doubts = guard::edges(mesh, reg, topology, &curves);
    if !doubts.is_empty() {
        return Err(Setback::Doubts(doubts));
    }
    a.solid(curves)
}

impl Assembly<'_> {
    fn pair(&self, c: &Chain) -> [usize; 2] {
        [self.topology.patches[c.left].surface, self.topology.patches[c.right].surface]
    }
    /// The plane that completes the equations of a chain, where its two surfaces do not suffice.
    fn extra(&self, c: &Chain) -> Option<Surface> {
        let [a, b] = self.pair(c).map(|s| self.reg.surfaces[s]);
        match (c.ruling, a) {
            (Some(angle), Surface::Cone(cone)) => Some(Surface::Plane(cone.axial_plane(angle))),
            _ => tangency(&a, &b),
        }
    }
    fn place(&self, v: u32) -> Point3<f64> {
        self.mesh.positions[v as usize]
    }
    fn root(&self, mut v: u32) -> u32 {
        while let Some(&w) = self.alias.get(&v) {
            v = w;
        }
        v
    }
    fn point(&self, v: u32) -> Point3<f64> {
        let r = self.root(v);
        self.exact.get(&r).copied().unwrap_or_else(|| self.place(r))
    }

    fn vertices(&mut self) -> Result<(), Setback> {
        let mut doubts = Vec::new();
        for (&v, chains) in &self.topology.chains_at {
            let mut ids: Vec<usize> = Vec::new();
            let mut all: Vec<Surface> = Vec::new();
            let mut chord = 0.0f64;
            for &c in chains {
                let chain = &self.topology.chains[c];
                for s in self.pair(chain) {
                    if !ids.contains(&s) {
                        ids.push(s);
                        all.push(self.reg.surfaces[s]);
                        chord = chord.max(self.reg.chord(s));
                    }
                }
                if let Some(e) = self.extra(chain)
                    && !all.iter().any(|s| s.same(&e))
                {
                    all.push(e);
                }
            }
            let from = self.place(v);
            if let Some(node) = self.reg.node_at(&from)
                && all.iter().all(|s| s.distance(&node.at) < AT_NODE)
            {
                self.exact.insert(v, node.at);
                continue;
            }
            let Some(p) = common_point(&all, &from) else {
                doubts.push(Doubt::new(ids, from, "a corner without a common point".into()));
                continue;
            };
            let moved = (p - from).norm();
            // Near tangency turns a chord error into its square root.
            if moved > 3.0 * chord.sqrt() + 1e-9 {
                doubts.push(Doubt::new(ids, from, format!("a corner moves by {moved:.1e} mm")));
                continue;
            }
            self.exact.insert(v, p);
        }
        if doubts.is_empty() { Ok(()) } else { Err(Setback::Doubts(doubts)) }
    }

    /// The two surfaces of a chain first, then all others that meet at its ends: the ends are as uncertain as those.
    fn around(&self, c: &Chain) -> Vec<usize> {
        let mut out = self.pair(c).to_vec();
        for v in [first(c), last(c)] {
            for &k in self.topology.chains_at.get(&v).into_iter().flatten() {
                for s in self.pair(&self.topology.chains[k]) {
                    if !out.contains(&s) {
                        out.push(s);
                    }
                }
            }
        }
        out
    }

    fn chain_length(&self, c: &Chain) -> f64 {
        c.vertices.windows(2).map(|w| (self.place(w[0]) - self.place(w[1])).norm()).sum()
    }

    /// Merges the ends of edges that shrink to nothing when their ends become exact.
    fn collapse(&mut self) -> Result<(), Setback> {
        let mut doubts = Vec::new();
        for (i, c) in self.topology.chains.iter().enumerate() {
            let (a, b) = (self.root(first(c)), self.root(last(c)));
            let pair = self.pair(c);
            let long = 10.0 * pair.iter().map(|&s| self.reg.chord(s)).fold(1e-9, f64::max);
            let length = self.chain_length(c);
            if a == b || ((self.point(a) - self.point(b)).norm() < ONE_VERTEX && length < long) {
                if length > long {
                    doubts.push(Doubt::new(self.around(c), self.place(a), "an edge collapses".into()));
                    continue;
                }
                self.gone[i] = true;
                if a != b {
                    self.alias.insert(b, a);
                }
            }
        }
        if doubts.is_empty() { Ok(()) } else { Err(Setback::Doubts(doubts)) }
    }

    fn curves(&self) -> Result<Vec<Option<Curve>>, Setback> {
        let one = |(i, c): (usize, &Chain)| {
            if self.gone[i] {
                return Ok::<_, Doubt>(None);
            }
            let mut points: Vec<Point3<f64>> = c.vertices.iter().map(|&v| self.place(v)).collect();
            let n = points.len();
            let raw = points[n - 1] - points[0];
            points[0] = self.point(first(c));
            points[n - 1] = self.point(last(c));
            let exact = points[n - 1] - points[0];
            let pair = self.pair(c);
            // Snapping must not turn, shrink or stretch an edge: that means the mesh had the wrong topology.
            let (l, m) = (raw.norm(), exact.norm());
            if l > 1e-6 && (raw.dot(&exact) < 0.0 || m < 0.3 * l || m > 3.0 * l) {
                let detail = format!("an edge of {l:.1e} mm becomes {m:.1e} mm");
                return Err(Doubt::new(self.around(c), points[0], detail));
            }
            edge_curve(&pair.map(|s| self.reg.surfaces[s]), self.extra(c).as_ref(), &points)
                .map(Some)
                .map_err(|detail| Doubt::new(self.around(c), points[0], detail))
        };
        let mut doubts = Vec::new();
        let mut curves = Vec::with_capacity(self.topology.chains.len());
        for each in self.topology.chains.iter().enumerate().map(one) {
            match each {
                Ok(curve) => curves.push(curve),
                Err(d) => doubts.push(d),
            }
        }
        if doubts.is_empty() { Ok(curves) } else { Err(Setback::Doubts(doubts)) }
    }

    fn solid(&self, curves: Vec<Option<Curve>>) -> Result<Solid, Setback> {
        let mut vertices: Vec<Point3<f64>> = Vec::new();
        let mut vertex_id: BTreeMap<u32, usize> = BTreeMap::new();
        let mut edges: Vec<Edge> = Vec::new();
        let mut edge_id: Vec<Option<usize>> = Vec::new();
        for (c, curve) in self.topology.chains.iter().zip(curves) {
            let Some(curve) = curve else {
                edge_id.push(None);
                continue;
            };
            let ends = [first(c), last(c)].map(|v| {
                let r = self.root(v);
                *vertex_id.entry(r).or_insert_with(|| {
                    vertices.push(self.point(r));
                    vertices.len() - 1
                })
            });
            edge_id.push(Some(edges.len()));
            edges.push(Edge { ends, curve, faces: [c.left, c.right] });
        }
        self.apart(&vertices)?;
        let mut faces = Vec::with_capacity(self.topology.patches.len());
        // All of them at once: a part with many like features would else need a finer mesh for each.
        let mut collapsed = Vec::new();
        for (patch, rings) in self.topology.patches.iter().zip(&self.topology.loops) {
            let surface = self.reg.surfaces[patch.surface];
            let mut loops: Vec<(f64, Vec<EdgeUse>)> = Vec::new();
            for ring in rings {
                let uses: Vec<EdgeUse> = ring
                    .iter()
                    .filter_map(|&(c, forward)| edge_id[c].map(|edge| EdgeUse { edge, forward }))
                    .collect();
                if uses.len() < 2 {
                    let detail = "a boundary collapses".to_owned();
                    collapsed.push(Doubt::new(vec![patch.surface], patch.probe.0, detail));
                    continue;
                }
                loops.push((self.extent(ring), uses));
            }
            // The outer loop is the one of the greatest extent.
            loops.sort_by(|a, b| b.0.total_cmp(&a.0));
            faces.push(Face {
                name: self.reg.face_names[patch.face].clone(),
                surface,
                outward: surface.signed_distance(&patch.probe.0).1.dot(&patch.probe.1) > 0.0,
                seam: patch.seam,
                loops: loops.into_iter().map(|l| l.1).collect(),
            });
        }
        if !collapsed.is_empty() {
            return Err(Setback::Doubts(collapsed));
        }
        let mut solid = Solid { vertices, edges, faces, lumps: Vec::new() };
        solid.number_pieces();
        solid.check().map_err(|e| Setback::Final(BuildError::Unsound(e)))?;
        solid.lumps = lumps::of(&solid, self.mesh, &self.topology.patch_of).map_err(|(faces, e)| {
            let patches = || faces.iter().map(|&f| &self.topology.patches[f]);
            let near = patches().next().map_or_else(Point3::origin, |p| p.probe.0);
            Setback::doubt(patches().map(|p| p.surface).collect(), near, e)
        })?;
        Ok(solid)
    }

    /// Bodies that touch in a point keep separate vertices in the working mesh; no solid may.
    fn apart(&self, vertices: &[Point3<f64>]) -> Result<(), Setback> {
        let mut order: Vec<usize> = (0..vertices.len()).collect();
        order.sort_by(|&a, &b| vertices[a].x.total_cmp(&vertices[b].x));
        for (k, &i) in order.iter().enumerate() {
            for &j in &order[k + 1..] {
                if vertices[j].x - vertices[i].x > ONE_VERTEX {
                    break;
                }
                if (vertices[i] - vertices[j]).norm() < ONE_VERTEX {
                    let detail = "two corners fall together".to_owned();
                    return Err(Setback::doubt(self.meeting_at(&vertices[i]), vertices[i], detail));
                }
            }
        }
        Ok(())
    }

    /// Surfaces that meet in the corners at a point: those that only some of the corners have first, since they are what
    /// the corners differ by; then the curved ones, which a finer mesh may part.
    fn meeting_at(&self, p: &Point3<f64>) -> Vec<usize> {
        let mut count: BTreeMap<usize, usize> = BTreeMap::new();
        let mut corners = 0;
        for (&v, chains) in &self.topology.chains_at {
            if (self.point(v) - p).norm() < ONE_VERTEX {
                corners += 1;
                let here: BTreeSet<usize> =
                    chains.iter().flat_map(|&c| self.pair(&self.topology.chains[c])).collect();
                here.into_iter().for_each(|s| *count.entry(s).or_default() += 1);
            }
        }
        let mut all: Vec<(bool, bool, usize)> =
            count.into_iter().map(|(s, n)| (n == corners, self.reg.strips(s) == 0, s)).collect();
        all.sort_unstable();
        all.into_iter().map(|(.., s)| s).collect()
    }

    /// Greatest distance of a ring's points from its first.
    fn extent(&self, ring: &[(usize, bool)]) -> f64 {
        let mut points =
            ring.iter().flat_map(|&(c, _)| self.topology.chains[c].vertices.iter().map(|&v| self.place(v)));
        let Some(from) = points.next() else { return 0.0 };
        points.map(|p| (p - from).norm()).fold(0.0, f64::max)
    }
}

fn first(c: &Chain) -> u32 {
    c.vertices.first().copied().unwrap_or(0)
}

fn last(c: &Chain) -> u32 {
    c.vertices.last().copied().unwrap_or(0)
}
