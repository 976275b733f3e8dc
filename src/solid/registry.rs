//! One number for each distinct surface of a recipe, one angular grid for each axis.
//!
//! Surfaces that are the same get the same number *before* anything becomes triangles, and coaxial surfaces share the
//! angles of their rulings. Coplanar, coaxial and coincident input then needs no special case.

use super::error::BuildError;
use super::surface::Surface;
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

/// A common axis of revolution and its angular grid.
#[derive(Clone, Debug)]
struct Axis {
    surface: Surface,
    radius: f64,
    strips: usize,
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
                    self.axes.push(Axis { surface: *surface, radius: 0.0, strips: 0 });
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
        for (axis, &t) in self.axes.iter_mut().zip(&chord) {
            // 12 strips at least, so that a strip is always well below a quarter turn; 2^16 bounds the memory.
            let n = (PI / libm::acos(1.0 - (t / axis.radius).min(0.2))).ceil() as usize;
            axis.strips = (n + n % 2).clamp(12, 1 << 16);
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
    /// Number of angular strips on a surface, 0 on a plane.
    #[must_use]
    pub fn strips(&self, surface: usize) -> usize {
        self.axis_of[surface].map_or(0, |a| self.axes[a].strips)
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
    #[allow(clippy::cast_precision_loss)]
    pub fn ruling(&self, surface: usize, strip: usize) -> f64 {
        (strip as f64 + PHASE) * TAU / self.strips(surface) as f64
    }
    /// Strip that holds an angle.
    #[must_use]
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn strip_at(&self, surface: usize, angle: f64) -> usize {
        let n = self.strips(surface);
        let x = (angle / TAU * n as f64 - PHASE).rem_euclid(n as f64).floor() as usize;
        x.min(n - 1)
    }
    /// Angles of the rulings strictly between two angles (`from` < `to`, radians), each at least a thousandth of a
    /// strip away from both.
    #[must_use]
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
    pub fn rulings_between(&self, surface: usize, from: f64, to: f64) -> Vec<f64> {
        let step = TAU / self.strips(surface) as f64;
        let (first, last) = ((from / step - PHASE).floor() as i64, (to / step - PHASE).ceil() as i64);
        (first..=last)
            .map(|j| (j as f64 + PHASE) * step)
            .filter(|t| *t > from + 1e-3 * step && *t < to - 1e-3 * step)
            .collect()
    }
    /// Radius factor of tessellation vertices: 1, or what brings the facets outside the surface.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn swell(&self, surface: usize) -> f64 {
        if self.outside { 1.0 / libm::cos(PI / self.strips(surface) as f64) } else { 1.0 }
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
