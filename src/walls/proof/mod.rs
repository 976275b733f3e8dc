//! The thinnest places of a whole part, proved: of a mesh as it is, and of an exact solid through a fine mesh of it.

mod build;
mod corner;
mod cuts;
mod hull;
pub mod map;
mod pair;
mod point;
mod polish;
mod prim;
mod search;
mod sharp;
mod tree;

use super::interval::Interval;
use crate::mesh::{FaceMesh, TriMesh, tessellate};
use crate::solid::Solid;
use crate::units::{Deg, Mm, Tolerance};
use nalgebra::Point3;
use prim::Boundary;
use search::{Field, Found, Goal, ROUNDING};
pub use sharp::LAND;
use sharp::Zone;
use tree::Tree;

/// One thin place: the shortest chord between two faces (or patches).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Length of the chord.
    pub value: Mm,
    /// Nothing between the two faces is thinner than its lower end.
    pub interval: Interval,
    /// The faces, by number.
    pub faces: [u32; 2],
    /// Ends of the chord, mm.
    pub at: [Point3<f64>; 2],
    /// Whether it begins at the land of a sharp edge or corner, so that it is the blade that is thin.
    pub blade: bool,
}

/// Two faces between which the search neither found a chord nor excluded one shorter than what is listed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Undecided {
    /// The faces, by number.
    pub faces: [u32; 2],
    /// Nothing between them is thinner than this.
    pub lower: Mm,
}

/// What is proved of a part.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proof {
    /// The thinnest places, one for each pair of faces, the thinnest first.
    pub places: Vec<Place>,
    /// Pairs of faces left open.
    pub undecided: Vec<Undecided>,
    /// No wall is thinner than this, the land of sharp edges and corners apart.
    pub lower: Mm,
    /// Sharp edges and corners (twice the same point), where thickness goes to zero by definition or may do so.
    pub sharp: Vec<[Point3<f64>; 2]>,
    /// Pairs of parts looked at.
    pub looked: usize,
    /// Whether the search ended at its limit of work: what it had not looked at enters the lower bounds.
    pub ended: bool,
}

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Question {
    /// Largest angle between a chord and the normals at its ends.
    pub delta: Deg,
    /// Walls thicker than this do not matter.
    pub below: Mm,
    /// How many places are wanted.
    pub count: usize,
    /// Places so many times as thick as the thinnest do not matter, unless thinner than the second; [`ANY`] for all.
    pub thick: (f64, Mm),
    /// Width of the intervals.
    pub tolerance: Mm,
    /// Work after which the search ends; see [`WORK`].
    pub work: usize,
}

/// Places of any thickness are wanted.
pub const ANY: (f64, Mm) = (f64::INFINITY, Mm(0.0));

/// Work that a search may take, in pairs of boxes, a pair of parts counting forty; half a minute of one core or so. A count and
/// not a clock, so that every machine gives the same. A link takes less than a tenth of it.
pub const WORK: usize = 500_000_000;

/// The thinnest places of a closed mesh, `patch` naming the patch of each triangle. `None` if the mesh is not closed with
/// every edge between exactly two triangles that run opposite ways.
#[must_use]
pub fn of_mesh(mesh: &TriMesh, patch: &[u32], q: &Question) -> Option<Proof> {
    let boundary = build::of_mesh(mesh, patch)?;
    Some(run(&boundary, mesh.positions.len(), q, &[]))
}

/// The thinnest places of an exact solid through a fine mesh of it, `inside` the metal or in the air between its walls.
#[must_use]
pub fn of_solid(solid: &Solid, fine: &FaceMesh, inside: bool, q: &Question) -> Proof {
    grouped(solid, fine, inside, q, &[])
}

/// As [`of_solid`], with the group of each face: of a pair of groups one place is told, the thinnest of its like.
#[must_use]
pub fn grouped(solid: &Solid, fine: &FaceMesh, inside: bool, q: &Question, groups: &[u32]) -> Proof {
    let sign = if inside { 1.0 } else { -1.0 };
    run(&build::of_solid(solid, fine, sign), fine.mesh.positions.len(), q, groups)
}

/// Chord of the mesh that a part is proved on, mm.
const FINE: f64 = 2e-4;
/// Width at which the search on a part ends, mm; with what the mesh adds intervals stay below 2 um.
const ENOUGH: f64 = 1.2e-3;

/// The `count` thinnest places of a part, on a mesh of its own; `groups` as in [`grouped`]. `None` if it cannot be meshed
/// so finely.
#[must_use]
pub fn of_part(solid: &Solid, delta: Deg, count: usize, groups: &[u32]) -> Option<Proof> {
    of_part_within(solid, delta, count, groups, WORK)
}

/// As [`of_part`], with a limit of work of one's own.
#[must_use]
pub fn of_part_within(solid: &Solid, delta: Deg, count: usize, groups: &[u32], work: usize) -> Option<Proof> {
    let fine = tessellate(solid, Tolerance::new(FINE)?).ok()?;
    let q = Question { delta, below: Mm(f64::MAX), count, thick: ANY, tolerance: Mm(ENOUGH), work };
    Some(grouped(solid, &fine, true, &q, groups))
}

/// A chord may lean by this more than asked, radians: designs have faces that meet at exactly twice the angle, and whether
/// they oppose each other must not hang on rounding.
pub(super) const LEAN: f64 = 1e-9;

fn run(boundary: &Boundary<'_>, vertices: usize, q: &Question, groups: &[u32]) -> Proof {
    let goal = Goal {
        delta: q.delta.radians() + LEAN,
        below: q.below.get(),
        count: q.count.max(1),
        thick: (q.thick.0, q.thick.1.get()),
        tolerance: q.tolerance.get(),
        work: q.work,
    };
    let tree = Tree::new(boundary, groups);
    let (zone, corners) = Zone::of(boundary, &tree.bits, vertices, goal.delta);
    let field = Field { boundary, tree: &tree, zone: &zone, corners: &corners, groups, goal };
    gathered(&search::search(&field), &field)
}

fn gathered(found: &Found, field: &Field<'_>) -> Proof {
    let (boundary, zone, goal) = (field.boundary, field.zone, &field.goal);
    // A face of a group speaks for it.
    let face = |g: u32| {
        let of = field.groups.iter().position(|&x| x == g);
        of.and_then(|f| u32::try_from(f).ok()).unwrap_or(g)
    };
    let mut out = Proof { looked: found.looked, ended: found.rest.is_some(), ..Proof::default() };
    let rest = found.rest.map_or(f64::INFINITY, |r| r - ROUNDING);
    let mut least = (found.cap - goal.tolerance).min(rest);
    let mut polish = polish::Polish::new(boundary, zone, goal.delta);
    for (&(a, b), x) in &found.pairs {
        let open = x.open.unwrap_or(f64::INFINITY);
        least = least.min(open);
        match x.chord {
            Some(c) if c.length <= found.cap => {
                let before = c.length - goal.tolerance;
                let (c, faces) = polish.polished(c);
                let lower = open.min(before).min(rest).min(c.length).max(0.0);
                least = least.min(lower);
                // A chord that starts at the border of a land is the blade's.
                let blade = c.at.iter().all(|p| zone.distance(p) < LAND + 2.0 * goal.tolerance + 1e-3);
                out.places.push(Place {
                    value: Mm(c.length),
                    interval: Interval { lower: Mm(lower), upper: Mm(c.length) },
                    faces,
                    at: c.at,
                    blade,
                });
            }
            _ if open < found.cap => {
                out.undecided.push(Undecided { faces: [a, b].map(face), lower: Mm(open.max(0.0)) })
            }
            _ => {}
        }
    }
    out.places.sort_by(|x, y| x.value.get().total_cmp(&y.value.get()).then(x.faces.cmp(&y.faces)));
    out.places.truncate(goal.count);
    out.lower = Mm(least.max(0.0));
    out.sharp = zone.all.iter().map(|s| s.at).collect();
    out
}

#[cfg(test)]
mod attack;
#[cfg(test)]
mod forms;
#[cfg(test)]
mod growth;
#[cfg(test)]
mod map_tests;
#[cfg(test)]
mod rounds;
#[cfg(test)]
mod tests;
