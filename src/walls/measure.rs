//! Measures between named faces of the exact solid.

use super::interval::Interval;
use super::level::level;
use super::search::{Found, Goal, Scene};
use crate::solid::Solid;
use crate::units::{Deg, Mm};
use nalgebra::Point3;

/// Widest interval [`measure`] is content with, mm: a thousandth of the micrometre a wall is judged by. It is wider only
/// where the chord ends on a fitted edge, or where the budget ran out.
const NARROW: f64 = 1e-9;
/// Pairs of cells looked at before a search stops narrowing; some 1 s. The closed forms of the tests need 22,000 or fewer.
const BUDGET: usize = 1_000_000;

/// Largest angle between a caliper's jaws and the skin for wear webs, tubes and skins (proposal, no published source).
pub const DELTA_WEAR: Deg = Deg(15.0);
/// The same for casting, where blades up to 60 degrees count as thin (proposal, no published source).
pub const DELTA_CAST: Deg = Deg(30.0);

/// What is measured between two sets of faces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// Metal between two faces that look away from each other: the infimum of |q - p| over p on the first and q on the
    /// second set with the chord within `delta` of minus the normal at p and of the normal at q.
    Opposed {
        /// Largest angle between chord and normal, 0 to 90 degrees.
        delta: Deg,
    },
    /// Smallest distance between the two sets, edges and corners included, whatever lies in between.
    Shortest,
    /// Distance between the parallel planes, or coaxial cylinders or cones of one slope, the faces lie on, whether the
    /// faces lie opposite each other or not: what a bench drawing dimensions.
    Level,
}

/// How a value was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// From the dimensions of the surfaces.
    ClosedForm,
    /// Branch and bound on the exact faces, edges and vertices.
    Searched {
        /// Pairs of cells looked at.
        pairs: usize,
    },
}

/// A measured length.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// Length of the chord between the two points, mm.
    pub value: Mm,
    /// Proved bounds of the infimum asked for.
    pub interval: Interval,
    /// Ends of the chord, mm, in the frame of the solid; for [`Kind::Level`] points of the two surfaces.
    pub at: [Point3<f64>; 2],
    /// Names of the two faces.
    pub between: [String; 2],
    /// How it was found.
    pub how: How,
}

/// Why there is nothing to report.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MeasureError {
    /// The solid has no face of this name.
    #[error("there is no face `{0}`")]
    NoFace(String),
    /// The sets were empty, or share a face.
    #[error("a measure needs two sets of faces that share none")]
    NoPair,
    /// No chord meets the condition: proved, not merely not found.
    #[error("`{from}` and `{to}` nowhere look away from each other")]
    NothingOpposed {
        /// First name asked for.
        from: String,
        /// Second name.
        to: String,
    },
    /// The surfaces are neither parallel planes nor coaxial.
    #[error("`{from}` and `{to}` are neither parallel planes nor coaxial surfaces of one slope")]
    NotParallel {
        /// Name of a face of the first set.
        from: String,
        /// Name of a face of the second set.
        to: String,
    },
    /// Neither a chord nor a proof that there is none within the budget.
    #[error("the search between `{from}` and `{to}` was not settled")]
    Unsettled {
        /// First name asked for.
        from: String,
        /// Second name.
        to: String,
    },
}

/// Measures between the faces of some names; each name also stands for its numbered pieces.
///
/// # Errors
/// See [`MeasureError`].
pub fn measure(solid: &Solid, from: &[&str], to: &[&str], kind: Kind) -> Result<Measured, MeasureError> {
    measure_within(solid, from, to, kind, NARROW)
}

/// As [`measure`], content with an interval of `narrow` mm, which takes less time the wider it is.
///
/// # Errors
/// See [`MeasureError`].
pub fn measure_within(
    solid: &Solid,
    from: &[&str],
    to: &[&str],
    kind: Kind,
    narrow: f64,
) -> Result<Measured, MeasureError> {
    let (a, b) = (faces(solid, from)?, faces(solid, to)?);
    if a.is_empty() || b.is_empty() || a.iter().any(|f| b.contains(f)) {
        return Err(MeasureError::NoPair);
    }
    match kind {
        Kind::Level => level(solid, &a, &b),
        Kind::Shortest => searched(solid, &a, &b, None, narrow),
        Kind::Opposed { delta } => searched(solid, &a, &b, Some(delta.radians()), narrow),
    }
}

/// Indices of the faces of some names, sorted, each once.
fn faces(solid: &Solid, names: &[&str]) -> Result<Vec<usize>, MeasureError> {
    let mut all = Vec::new();
    for n in names {
        let found = solid.faces_named(n);
        if found.is_empty() {
            return Err(MeasureError::NoFace((*n).to_owned()));
        }
        all.extend(found);
    }
    all.sort_unstable();
    all.dedup();
    Ok(all)
}

fn searched(
    solid: &Solid,
    a: &[usize],
    b: &[usize],
    delta: Option<f64>,
    narrow: f64,
) -> Result<Measured, MeasureError> {
    let mut scene = Scene::new(solid);
    let cells = |scene: &mut Scene<'_>, f: &[usize]| -> Vec<usize> {
        f.iter().flat_map(|&i| scene.face_cells(i)).collect()
    };
    let (ca, cb) = (cells(&mut scene, a), cells(&mut scene, b));
    let goal = Goal { delta, below: f64::INFINITY, tolerance: narrow, budget: BUDGET, touch: 0.0 };
    let found = scene.search(&ca, &cb, &goal);
    report(solid, &found).ok_or_else(|| {
        let name = |f: &[usize]| f.first().map_or_else(String::new, |&i| solid.faces[i].name.clone());
        let (from, to) = (name(a), name(b));
        if found.lower == f64::INFINITY {
            MeasureError::NothingOpposed { from, to }
        } else {
            MeasureError::Unsettled { from, to }
        }
    })
}

/// `None` without a chord.
pub(super) fn report(solid: &Solid, found: &Found) -> Option<Measured> {
    let chord = found.chord?;
    // Whole surfaces in closed form know better than a fitted edge.
    let lower = (found.lower - chord.doubt).max(found.floor).max(0.0);
    Some(Measured {
        value: Mm(found.upper),
        interval: Interval {
            lower: Mm(lower),
            upper: Mm((found.upper + chord.doubt + super::search::ROUNDING).max(lower)),
        },
        at: chord.at,
        between: chord.faces.map(|f| solid.faces[f].name.clone()),
        how: How::Searched { pairs: found.pairs },
    })
}
