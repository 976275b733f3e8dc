//! One number for each distinct surface of a recipe, one angular grid for each axis.
//!
//! Surfaces that are the same get the same number *before* anything becomes triangles, and coaxial surfaces share the
//! angles of their rulings. Coplanar, coaxial and coincident input then needs no special case.

use super::common_sphere::common_sphere;
use super::error::BuildError;
use super::surface::Surface;
use nalgebra::Point3;
use std::collections::BTreeSet;
use std::f64::consts::{PI, TAU};

/// Offset of the angular grid, in strips: keeps rulings off the symmetry planes of a part.
const PHASE: f64 = 0.137;

/// Distinct surfaces closer than this enclose something no tessellation can resolve in f64, mm.
const TOO_CLOSE: f64 = 2e-6;

/// What a triangle of the working mesh lies on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tag {
    /// Number of the surface.
    pub surface: usize,
    /// Number of the primitive's face, for its name.
    pub face: usize,
    /// Angular strip on a cone; 0 on a plane.
    pub strip: usize,
}

/// A point where two surfaces touch although they cross (see [`super::common_sphere`]). No tessellation decides what
/// happens there, so every working mesh has its own vertex in this very place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Node {
    /// Where.
    pub at: Point3<f64>,
    /// The two surfaces.
    pub surfaces: [usize; 2],
}

/// How far from a node a point of the working mesh is still the node, mm: rounding in a boolean is a thousandth of it, a
/// tenth of it is what a recipe may be off.
pub const AT_NODE: f64 = 1e-9;

/// A common axis of revolution and its angular grid.
#[derive(Clone, Debug)]
struct Axis {
    surface: Surface,
    radius: f64,
    /// Angles of the rulings, ascending, in 0..2 pi; strip `i` lies between ruling `i` and the next one.
    rulings: Vec<f64>,
    /// Which rulings run through a node or a border.
    pinned: Vec<bool>,
    /// Angles where a face ends along a ruling.
    borders: Vec<f64>,
}

/// Rulings nearer to one through a node or border than this part of a strip give way to it.
const CROWDED: f64 = 0.3;

impl Axis {
    /// `n` rulings at even distance, and one through each of the angles given.
    #[allow(clippy::cast_precision_loss)]
    fn divide(&mut self, n: usize, through: &[f64]) {
        let step = TAU / n as f64;
        let near = |a: f64, b: f64, limit: f64| {
            let d = (a - b).rem_euclid(TAU);
            d.min(TAU - d) < limit
        };
        let mut all: Vec<(f64, bool)> = (0..n)
            .map(|j| (j as f64 + PHASE) * TAU / n as f64)
            .filter(|&a| !through.iter().any(|&b| near(a, b, CROWDED * step)))
            .map(|a| (a, false))
            .collect();
        for &a in through {
            let a = a.rem_euclid(TAU);
            // The same ruling twice: angles of points 1e-9 mm apart.
            if !all.iter().any(|&(b, pinned)| pinned && near(a, b, AT_NODE)) {
                all.push((a, true));
            }
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        (self.rulings, self.pinned) = all.into_iter().unzip();
    }
}

/// The surfaces of a recipe.
#[derive(Clone, Debug, Default)]
pub struct Registry {
    /// Distinct surfaces.
    pub surfaces: Vec<Surface>,
    /// Name of the first face on each surface.
    pub surface_names: Vec<String>,
    /// Names of all faces of all primitives, in order.
    pub face_names: Vec<String>,
    /// What each triangle tag means.
    pub tags: Vec<Tag>,
    face_surface: Vec<usize>,
    tag_base: Vec<usize>,
    axes: Vec<Axis>,
    nodes: Vec<Node>,
    axis_of: Vec<Option<usize>>,
    tolerance: Vec<f64>,
    /// Facets outside the curved surfaces instead of inside; used only to cross-check the topology.
    pub outside: bool,
}

impl Registry {
    /// Enters a face of a primitive; `reach` is the largest radius the face has about its axis. Returns its number.
    pub fn add_face(&mut self, surface: &Surface, reach: f64, name: &str) -> usize {
        let known = self.surfaces.iter().position(|s| s.same(surface));
        let id = known.unwrap_or_else(|| {
            self.surfaces.push(*surface);
            self.surface_names.push(name.to_owned());
            let axis = matches!(surface, Surface::Cone(_)).then(|| {
                self.axes.iter().position(|a| a.surface.coaxial(surface)).unwrap_or_else(|| {
                    self.axes.push(Axis {
                        surface: *surface,
                        radius: 0.0,
                        rulings: Vec::new(),
                        pinned: Vec::new(),
                        borders: Vec::new(),
                    });
                    self.axes.len() - 1
                })
            });
            self.axis_of.push(axis);
            self.surfaces.len() - 1
        });
        if let Some(axis) = self.axis_of[id].and_then(|a| self.axes.get_mut(a)) {
            axis.radius = axis.radius.max(reach);
        }
        self.face_names.push(name.to_owned());
        self.face_surface.push(id);
        self.face_names.len() - 1
    }

    /// Makes a ruling of every body on the axis of a face pass through a point: where a face ends along a ruling, another
    /// body on the same surface then has an edge in the same place.
    pub fn add_border(&mut self, face: usize, p: &Point3<f64>) {
        if let Some(axis) = self.axis_of[self.face_surface[face]].and_then(|a| self.axes.get_mut(a))
            && let Surface::Cone(c) = &axis.surface
        {
            axis.borders.push(c.angle_height(p).0);
        }
    }

    /// Looks for nodes among the surfaces, once all faces are entered.
    pub fn find_nodes(&mut self) {
        self.nodes.clear();
        for j in 0..self.surfaces.len() {
            for i in 0..j {
                for at in
                    common_sphere(&self.surfaces[i], &self.surfaces[j]).into_iter().flat_map(|s| s.crossings)
                {
                    // Three surfaces about one sphere may share a node: one place, bit for bit.
                    let known = self.nodes.iter().find(|n| (n.at - at).norm() < AT_NODE);
                    let at = known.map_or(at, |n| n.at);
                    self.nodes.push(Node { at, surfaces: [i, j] });
                }
            }
        }
    }
    /// See [`Node`].
    #[must_use]
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }
    /// Whether a node of these two surfaces lies within `blur` mm of a point.
    #[must_use]
    pub fn is_node(&self, a: usize, b: usize, p: &Point3<f64>, blur: f64) -> bool {
        let pair = [a.min(b), a.max(b)];
        self.nodes.iter().any(|n| n.surfaces == pair && (n.at - p).norm() < AT_NODE.max(blur))
    }
    /// The node of two surfaces at a point, if there is one.
    #[must_use]
    pub fn node_at(&self, p: &Point3<f64>) -> Option<&Node> {
        self.nodes.iter().find(|n| (n.at - p).norm() < AT_NODE)
    }

    /// Fixes the angular grids. `tolerance` is the chord of every axis; the surfaces in `finer` get the
    /// smaller one given.
    ///
    /// # Errors
    /// [`BuildError::NearlyCoincident`] for two surfaces closer than can be resolved.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn freeze(&mut self, tolerance: f64, finer: &[(usize, f64)]) -> Result<(), BuildError> {
        for i in 0..self.surfaces.len() {
            for j in 0..i {
                let gap = self.surfaces[i].gap(&self.surfaces[j]);
                if gap < TOO_CLOSE {
                    let faces = [self.surface_names[j].clone(), self.surface_names[i].clone()];
                    return Err(BuildError::NearlyCoincident { faces, gap });
                }
            }
        }
        let mut chord = vec![tolerance; self.axes.len()];
        for &(surface, wanted) in finer {
            if let Some(a) = self.axis_of.get(surface).copied().flatten() {
                chord[a] = chord[a].min(wanted);
            }
        }
        let mut through: Vec<Vec<f64>> = vec![Vec::new(); self.axes.len()];
        for node in &self.nodes {
            for s in node.surfaces {
                if let (Some(a), Surface::Cone(_)) = (self.axis_of[s], &self.surfaces[s])
                    && let Surface::Cone(c) = &self.axes[a].surface
                {
                    through[a].push(c.angle_height(&node.at).0);
                }
            }
        }
        // After the nodes, which must be met exactly.
        for (axis, through) in self.axes.iter().zip(&mut through) {
            through.extend(&axis.borders);
        }
        for ((axis, &t), through) in self.axes.iter_mut().zip(&chord).zip(&through) {
            // 12 strips at least, so that a strip is always well below a quarter turn; 2^16 bounds the memory.
            let n = (PI / libm::acos(1.0 - (t / axis.radius).min(0.2))).ceil() as usize;
            axis.divide((n + n % 2).clamp(12, 1 << 16), through);
        }
        self.tolerance = self.axis_of.iter().map(|a| a.map_or(0.0, |a| chord[a])).collect();
        self.tags.clear();
        self.tag_base.clear();
        for face in 0..self.face_surface.len() {
            let surface = self.face_surface[face];
            self.tag_base.push(self.tags.len());
            for strip in 0..self.strips(surface).max(1) {
                self.tags.push(Tag { surface, face, strip });
            }
        }
        Ok(())
    }
    /// The axis of a curved surface.
    fn axis(&self, surface: usize) -> Option<&Axis> {
        self.axis_of[surface].map(|a| &self.axes[a])
    }
    /// Number of angular strips on a surface, 0 on a plane.
    #[must_use]
    pub fn strips(&self, surface: usize) -> usize {
        self.axis(surface).map_or(0, |a| a.rulings.len())
    }
    /// Chord the tessellation of a surface may deviate by, mm; 0 on a plane.
    #[must_use]
    pub fn chord(&self, surface: usize) -> f64 {
        self.tolerance[surface]
    }
    /// Surface of a face.
    #[must_use]
    pub fn surface_of(&self, face: usize) -> usize {
        self.face_surface[face]
    }
    /// Tag of a triangle on a face and a strip.
    #[must_use]
    pub fn tag(&self, face: usize, strip: usize) -> usize {
        self.tag_base[face] + strip
    }
    /// Angle of the ruling where a strip begins, radians.
    #[must_use]
    pub fn ruling(&self, surface: usize, strip: usize) -> f64 {
        self.axis(surface).map_or(0.0, |a| a.rulings[strip % a.rulings.len()])
    }
    /// Angle a strip covers, radians.
    #[must_use]
    pub fn width(&self, surface: usize, strip: usize) -> f64 {
        (self.ruling(surface, strip + 1) - self.ruling(surface, strip)).rem_euclid(TAU)
    }
    /// Strip that holds an angle.
    #[must_use]
    pub fn strip_at(&self, surface: usize, angle: f64) -> usize {
        let angle = angle.rem_euclid(TAU);
        self.axis(surface).map_or(0, |a| {
            let n = a.rulings.len();
            (a.rulings.partition_point(|&r| r <= angle) + n - 1) % n
        })
    }
    /// Rulings strictly between two angles (`from` < `to`, radians) and their angles there, each at least a thousandth of
    /// an even strip away from both.
    #[must_use]
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
    pub fn rulings_between(&self, surface: usize, from: f64, to: f64) -> Vec<(usize, f64)> {
        let Some(axis) = self.axis(surface) else { return Vec::new() };
        let clear = 1e-3 * TAU / axis.rulings.len() as f64;
        ((from / TAU).floor() as i64..=(to / TAU).floor() as i64)
            .flat_map(|turn| axis.rulings.iter().enumerate().map(move |(j, r)| (j, r + TAU * turn as f64)))
            .filter(|&(_, t)| t > from + clear && t < to - clear)
            .collect()
    }
    /// Radius factor of the tessellation's vertices on a ruling: 1, or what brings the facets outside the surface. A node
    /// stays where it is in either case.
    #[must_use]
    pub fn swell(&self, surface: usize, strip: usize) -> f64 {
        let n = self.strips(surface);
        let pinned = self.axis(surface).is_some_and(|a| a.pinned[strip % n]);
        if !self.outside || pinned {
            return 1.0;
        }
        let widest = self.width(surface, strip).max(self.width(surface, (strip + n - 1) % n));
        1.0 / libm::cos(widest / 2.0)
    }
    /// The names of two surfaces.
    #[must_use]
    pub fn names(&self, a: usize, b: usize) -> [String; 2] {
        [self.surface_names[a].clone(), self.surface_names[b].clone()]
    }
    /// The names of a set of surfaces, joined.
    #[must_use]
    pub fn list(&self, surfaces: &BTreeSet<usize>) -> String {
        surfaces.iter().map(|&s| self.surface_names[s].as_str()).collect::<Vec<_>>().join(", ")
    }
}
