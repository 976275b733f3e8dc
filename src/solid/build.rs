//! From a recipe to the exact solid.
//!
//! The recipe's primitives become coarse meshes with vertices on the exact surfaces; a mesh boolean decides what meets
//! what; faces, edges and vertices are read off its result; every vertex and curve is then computed from the surfaces
//! themselves. What the coarse mesh could not decide is found (see [`super::guard`]) and decided by a finer one.

use super::assemble;
use super::boolean;
use super::brep::Solid;
use super::error::BuildError;
use super::frame::Frame;
use super::guard::{self, Doubt};
use super::nodes;
use super::primitives;
use super::registry::Registry;
use super::topology::{self, Signature, Topology};
use super::tree::Tree;
use nalgebra::Point3;
use std::collections::{BTreeMap, BTreeSet};

/// Chord of the first working mesh, mm. Fine enough that most parts need no second one: their narrowest necks are some
/// hundredths of a millimetre, and a doubt costs as much as the whole build.
const FIRST_CHORD: f64 = 0.002;

/// Factor by which the chord shrinks where a mesh could not decide.
const FINER: f64 = 2.5;

/// Attempts after which the chord shrinks by the square of [`FINER`]: what two finer meshes left open is narrow, and each
/// mesh on the way costs nearly as much as the last.
const PATIENT: usize = 2;

/// Attempts before a doubt becomes an error. 0.002 mm / 2.5^9 is below a nanometre: what is nearer than that is no dimension.
const ATTEMPTS: usize = 10;

/// Flat faces that meet in one point.
const FLAT: usize = 3;

/// Finest chord, mm; see [`ATTEMPTS`].
const FINEST: f64 = 4e-6;

/// What it took to build a solid.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Effort {
    /// Working meshes that were too coarse, each with the reason.
    pub retries: Vec<String>,
    /// Triangles of the last working mesh.
    pub triangles: usize,
}

/// Parts of the work on a solid, in their order; each comes again with every finer mesh.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// The primitives' working meshes.
    Tessellate,
    /// Their boolean.
    Boolean,
    /// Faces, edges and corners read off it.
    Topology,
    /// Surfaces that come too near each other.
    Guard,
    /// Exact corners, curves and faces, checked.
    Assemble,
    /// Waiting for the comparison with facets outside the surfaces, which runs beside all others.
    Outer,
}

/// Why one attempt failed.
pub(super) enum Setback {
    /// Finer meshes may decide.
    Doubts(Vec<Doubt>),
    /// Nothing will help.
    Final(BuildError),
}

impl Setback {
    /// One doubt, without a known remedy but a finer mesh.
    pub(super) fn doubt(surfaces: Vec<usize>, near: Point3<f64>, detail: String) -> Self {
        Self::Doubts(vec![Doubt::new(surfaces, near, detail)])
    }
}

impl From<BuildError> for Setback {
    fn from(e: BuildError) -> Self {
        Self::Final(e)
    }
}

impl Solid {
    /// Builds the solid of a recipe.
    ///
    /// # Errors
    /// See [`BuildError`]: never a wrong solid, always the faces concerned.
    pub fn build(tree: &Tree) -> Result<Self, BuildError> {
        Self::build_with_effort(tree).map(|b| b.0)
    }

    /// As [`Solid::build`], telling what it took.
    ///
    /// The recipe is evaluated in a frame of its own: the axes of its first primitive, the origin near that primitive's
    /// middle. Rounding, chords, cuts and the numbers of like-named pieces therefore do not depend on where the part stands
    /// or how it is turned, but for the rounding of the frames given; a part that stands within [`GRID`] of the origin,
    /// its first primitive along the world's axes, is evaluated as it is. The result is moved back, which rounds each
    /// number once: at 1e4 mm from the origin by 2e-12 mm.
    ///
    /// # Errors
    /// As [`Solid::build`].
    pub fn build_with_effort(tree: &Tree) -> Result<(Self, Effort), BuildError> {
        Self::build_watched(tree, &mut |_| ())
    }

    /// As [`Solid::build_with_effort`]; `watch` is called at the end of each stage, for whoever holds a clock.
    ///
    /// # Errors
    /// As [`Solid::build`].
    pub fn build_watched(tree: &Tree, watch: &mut dyn FnMut(Stage)) -> Result<(Self, Effort), BuildError> {
        let Some(home) = home(tree) else { return Self::build_here(tree, watch) };
        match Self::build_here(&tree.moved(&home.inverse()), watch) {
            Ok((solid, effort)) => Ok((solid.moved(&home), effort)),
            Err(BuildError::Undecided { faces, near, detail }) => {
                Err(BuildError::Undecided { faces, near: home.point(near.x, near.y, near.z), detail })
            }
            Err(e) => Err(e),
        }
    }

    fn build_here(tree: &Tree, watch: &mut dyn FnMut(Stage)) -> Result<(Self, Effort), BuildError> {
        let primitives = tree.primitives();
        let mut reg = Registry::default();
        let faces =
            primitives.iter().map(|p| primitives::register(p, &mut reg)).collect::<Result<Vec<_>, _>>()?;
        reg.find_nodes();
        let mut finer: BTreeMap<usize, f64> = BTreeMap::new();
        let mut chord = FIRST_CHORD;
        let mut effort = Effort::default();
        loop {
            let wanted: Vec<(usize, f64)> = finer.iter().map(|(&s, &c)| (s, c)).collect();
            reg.freeze(chord, &wanted)?;
            let doubts = match attempt(tree, &faces, &reg, watch) {
                Ok((solid, triangles)) => {
                    effort.triangles = triangles;
                    return Ok((solid, effort));
                }
                Err(Setback::Final(e)) => return Err(e),
                Err(Setback::Doubts(d)) => d,
            };
            let Some(first) = doubts.first() else {
                return Err(BuildError::Unsound("a setback without a reason".into()));
            };
            let named = |d: &Doubt| {
                let name =
                    |i: usize| d.surfaces.get(i).map_or("the part", |&s| &reg.surface_names[s]).to_owned();
                [name(0), name(1)]
            };
            effort.retries.push(format!("{}: {}", named(first).join(" / "), first.detail));
            if let Some((d, gap)) = doubts.iter().find_map(|d| d.touching.map(|g| (d, g))) {
                return Err(BuildError::Touching { faces: named(d), gap });
            }
            let factor = if effort.retries.len() > PATIENT { FINER * FINER } else { FINER };
            if effort.retries.len() >= ATTEMPTS || !refine(&reg, &doubts, factor, &mut chord, &mut finer) {
                return Err(BuildError::Undecided {
                    faces: named(first),
                    near: first.near,
                    detail: first.detail.clone(),
                });
            }
        }
    }
}

/// Origins of evaluation lie on a grid of this width, mm: subtracting a multiple of a power of two from the coordinates of
/// a distant part loses nothing.
const GRID: f64 = 16.0;

/// The frame a recipe is evaluated in; `None` for the world's own.
fn home(tree: &Tree) -> Option<Frame> {
    let first = tree.primitives().first().copied()?.clone();
    let origin = first.middle().map(|x| (x / GRID).round() * GRID);
    let Frame { x, y, z, .. } = first.frame;
    let world = Frame::at(Point3::origin());
    let home = Frame { origin, x, y, z };
    (home != world && origin.coords.iter().all(|c| c.is_finite())).then_some(home)
}

/// Lowers the chord of the axes in question, as far as the doubts say or by the factor; of all axes where a doubt names no
/// curved surface. Returns whether a finer mesh may still help: whether any chord is above [`FINEST`], and no doubt is left
/// about three flat faces, which meet in the same point at any chord. Once all axes are made finer for these too: what lies beside
/// them may be curved.
fn refine(
    reg: &Registry,
    doubts: &[Doubt],
    factor: f64,
    chord: &mut f64,
    finer: &mut BTreeMap<usize, f64>,
) -> bool {
    let mut all = false;
    let mut progress = false;
    for d in doubts {
        let curved = || d.surfaces.iter().copied().filter(|&s| reg.strips(s) > 0);
        let coarsest = curved().map(|s| reg.chord(s)).fold(0.0, f64::max);
        if coarsest == 0.0 {
            if *chord < FIRST_CHORD && d.surfaces.len() >= FLAT {
                return false;
            }
            all = true;
            continue;
        }
        let want = d.chord.unwrap_or(coarsest).min(coarsest / factor).max(FINEST);
        for s in curved().filter(|&s| reg.chord(s) > want) {
            let c = finer.entry(s).or_insert(f64::MAX);
            *c = c.min(want);
            progress = true;
        }
    }
    if all && *chord > FINEST {
        *chord = (*chord / factor).max(FINEST);
        progress = true;
    }
    progress
}

/// One build at the registry's chords: the solid and the size of its working mesh.
fn attempt(
    tree: &Tree,
    faces: &[Vec<Option<usize>>],
    reg: &Registry,
    watch: &mut dyn FnMut(Stage),
) -> Result<(Solid, usize), Setback> {
    // A feature hidden inside the chord shows when the facets lie outside the surfaces instead of inside.
    let mut outside = reg.clone();
    outside.outside = true;
    let (inner, outer) = std::thread::scope(|scope| {
        let outer = scope.spawn(|| skeleton(tree, faces, &outside, &mut |_| ()).map(|(_, t)| t.signature()));
        (inner(tree, faces, reg, watch), outer.join())
    });
    watch(Stage::Outer);
    let outer = outer.map_err(|_| BuildError::Unsound("a worker thread died".into()))?;
    let (mut doubts, found) = match inner {
        Ok((built, signature)) => match outer {
            Ok(outer) => (disagreements(reg, &signature, &outer), Some(built)),
            Err(Setback::Doubts(d)) => (d, None),
            Err(e) => return Err(e),
        },
        Err(Setback::Doubts(d)) => (d, None),
        Err(e) => return Err(e),
    };
    match found {
        Some(built) if doubts.is_empty() => Ok(built),
        _ => {
            // Told once each.
            doubts.dedup_by(|a, b| a.surfaces == b.surfaces && a.detail == b.detail);
            Err(Setback::Doubts(doubts))
        }
    }
}

fn disagreements(reg: &Registry, inner: &Signature, outer: &Signature) -> Vec<Doubt> {
    let doubt = |s: BTreeSet<usize>| {
        let detail = format!("inner and outer facets disagree about {}", reg.list(&s));
        Doubt::new(s.into_iter().collect(), Point3::origin(), detail)
    };
    inner.differences(outer).into_iter().map(doubt).collect()
}

/// The solid with the size of its working mesh, and what the comparison needs.
fn inner(
    tree: &Tree,
    faces: &[Vec<Option<usize>>],
    reg: &Registry,
    watch: &mut dyn FnMut(Stage),
) -> Result<((Solid, usize), Signature), Setback> {
    let (mesh, topology) = skeleton(tree, faces, reg, watch)?;
    let mut doubts = guard::faces(&mesh, reg, &topology);
    watch(Stage::Guard);
    let assembled = assemble::assemble(&mesh, reg, &topology);
    watch(Stage::Assemble);
    match assembled {
        Ok(solid) if doubts.is_empty() => Ok(((solid, mesh.triangles.len()), topology.signature())),
        // All that one mesh leaves open is refined at once.
        Err(Setback::Doubts(more)) => {
            doubts.extend(more);
            Err(Setback::Doubts(doubts))
        }
        Err(e) if doubts.is_empty() => Err(e),
        _ => Err(Setback::Doubts(doubts)),
    }
}

fn skeleton(
    tree: &Tree,
    faces: &[Vec<Option<usize>>],
    reg: &Registry,
    watch: &mut dyn FnMut(Stage),
) -> Result<(primitives::Tagged, Topology), Setback> {
    let meshes = tree
        .primitives()
        .iter()
        .zip(faces)
        .map(|(p, f)| primitives::tessellate(p, f, reg))
        .collect::<Result<Vec<_>, _>>()?;
    watch(Stage::Tessellate);
    let mut mesh = boolean::evaluate(tree, &meshes)?;
    watch(Stage::Boolean);
    nodes::weld(&mut mesh, reg)?;
    nodes::discard_membranes(&mut mesh, reg);
    if mesh.triangles.is_empty() {
        return Err(BuildError::Empty.into());
    }
    let topology = topology::extract(&mesh, reg).map_err(|d| Setback::Doubts(vec![d]))?;
    watch(Stage::Topology);
    Ok((mesh, topology))
}
