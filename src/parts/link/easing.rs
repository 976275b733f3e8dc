//! Builds the link, stepping aside where two of its surfaces meet in a point or a line without thickness.
//!
//! Dimensions of two decimals meet exactly once in a while: a claw tangent to the side of an opening, or to the edge of
//! the seat. Such a link is sane at the bench and no solid at all. A dimension that nobody can measure there is then moved
//! by a few micrometres, and the report says so.

use super::shape::{Block, End, LinkShape, LoopJoint, Outline, TubeJoint};
use crate::solid::{BuildError, Effort, Solid, Tree};
use crate::units::Mm;

/// The step, mm: far below what a bench can hold (0.01 mm), far above what the solid's own precision (1e-7 mm) needs.
const STEP: f64 = 0.002;

/// A dimension moved so that two surfaces no longer just touch.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Easing {
    /// What was moved, in bench words.
    pub what: &'static str,
    /// By how much, mm.
    pub by: Mm,
    /// The two faces that just touched.
    pub between: [String; 2],
}

/// A link's solid and what it took.
#[derive(Clone, Debug)]
pub struct Built {
    /// The exact solid.
    pub solid: Solid,
    /// The shape it was built from, easing included.
    pub shape: LinkShape,
    /// Dimensions moved, usually none.
    pub easings: Vec<Easing>,
    /// The kernel's effort.
    pub effort: Effort,
}

type Move = (&'static str, f64, fn(&mut LinkShape, f64));

/// Moves by feature; the words in front are looked for in the names of the two faces.
const MOVES: [(&[&str], Move); 17] = [
    (
        &["opening"],
        ("radius of the opening's corners", -STEP, |s, d| s.opening.corner = s.opening.corner + Mm(d)),
    ),
    (&["opening"], ("width of the openings", -STEP, |s, d| s.opening.width = s.opening.width + Mm(d))),
    (&["opening"], ("lower edge of the openings", STEP, |s, d| s.opening.bottom = s.opening.bottom + Mm(d))),
    (&["seat", "rim", "claw"], ("circle of the claws", STEP, |s, d| s.claw.circle = s.claw.circle + Mm(d))),
    (&["claw"], ("foot of the claws", STEP, |s, d| s.claw.foot = s.claw.foot + Mm(d))),
    (
        &["web", "bore", "groove"],
        ("dressed edge of the web", -STEP, |s, d| {
            loops(s, |j| j.web_edge = j.web_edge + Mm(d));
        }),
    ),
    (
        &["groove", "bore", "web"],
        ("width of the groove", STEP, |s, d| {
            loops(s, |j| j.groove_width = j.groove_width + Mm(d));
        }),
    ),
    (&["opening", "collet"], ("stop of the openings", STEP, |s, d| s.opening.stop = s.opening.stop + Mm(d))),
    (&["collet.corner", "collet.rim"], ("radius of the corners", -STEP, |s, d| corners(s, d, 0.0))),
    (&["collet.hollow", "seat"], ("radius of the inner corners", STEP, |s, d| corners(s, 0.0, d))),
    (
        &["block"],
        ("half width of the foot block", -STEP, |s, d| block(s, |b| b.half_width = b.half_width + Mm(d))),
    ),
    (&["block"], ("corners of the foot block", -STEP, |s, d| block(s, |b| b.corner = b.corner + Mm(d)))),
    (
        &["pocket"],
        ("clearance of the pockets", STEP, |s, d| {
            tubes(s, |j| j.pocket_clearance = j.pocket_clearance + Mm(d));
        }),
    ),
    (
        &["knuckle", "pocket"],
        ("length of the row of knuckles", -STEP, |s, d| {
            tubes(s, |j| j.length = j.length + Mm(d));
        }),
    ),
    (&["knuckle"], ("outside of the hinge tube", -STEP, |s, d| tubes(s, |j| j.outer = j.outer + Mm(d)))),
    (&["bore"], ("bore of the hinge tube", STEP, |s, d| tubes(s, |j| j.bore = j.bore + Mm(d)))),
    (
        &["foot", "pocket", "claw"],
        ("height the foot is filled to", -STEP, |s, d| {
            if let Some(f) = &mut s.foot {
                f.fill = f.fill + Mm(d);
            }
        }),
    ),
];

/// Changes the corners of a square collet.
fn corners(s: &mut LinkShape, outer: f64, inner: f64) {
    if let Outline::Square { corner, inner_corner } = &mut s.outline {
        *corner = *corner + Mm(outer);
        *inner_corner = *inner_corner + Mm(inner);
    }
}

/// Changes the foot block, if there is one.
fn block(s: &mut LinkShape, change: impl Fn(&mut Block)) {
    if let Some(b) = s.foot.as_mut().and_then(|f| f.block.as_mut()) {
        change(b);
    }
}

/// Changes both ends alike.
fn tubes(s: &mut LinkShape, change: impl Fn(&mut TubeJoint)) {
    for end in &mut s.ends {
        if let End::Pair(j) | End::Middle(j) = end {
            change(j);
        }
    }
}

/// Changes both ends alike.
fn loops(s: &mut LinkShape, change: impl Fn(&mut LoopJoint)) {
    for end in &mut s.ends {
        if let End::Loop(j) = end {
            change(j);
        }
    }
}

/// Builds the exact solid of a link.
///
/// # Errors
/// The first refusal of the kernel, if no easing helps.
pub fn build(shape: &LinkShape) -> Result<Built, BuildError> {
    build_as(shape, LinkShape::tree)
}

/// The same for another recipe over the same dimensions.
pub(super) fn build_as(shape: &LinkShape, recipe: impl Fn(&LinkShape) -> Tree) -> Result<Built, BuildError> {
    let one_piece = |shape: &LinkShape| one_piece(&recipe(shape));
    let first = match one_piece(shape) {
        Ok((solid, effort)) => return Ok(Built { solid, shape: shape.clone(), easings: Vec::new(), effort }),
        Err(e) => e,
    };
    let Some(between) = faces_of(&first) else { return Err(first) };
    let concerns = |words: &[&str]| words.iter().any(|w| between.iter().any(|b| b.starts_with(w)));
    for (words, (what, by, apply)) in MOVES {
        if !concerns(words) {
            continue;
        }
        let mut eased = shape.clone();
        apply(&mut eased, by);
        if eased == *shape {
            continue;
        }
        if let Ok((solid, effort)) = one_piece(&eased) {
            let easings = vec![Easing { what, by: Mm(by), between: between.clone() }];
            return Ok(Built { solid, shape: eased, easings, effort });
        }
    }
    Err(first)
}

/// The solid of a link, which must be one body without closed hollows.
fn one_piece(tree: &Tree) -> Result<(Solid, Effort), BuildError> {
    let (solid, effort) = Solid::build_with_effort(tree)?;
    solid.whole()?;
    Ok((solid, effort))
}

/// The two faces of a refusal that a small step may mend.
fn faces_of(e: &BuildError) -> Option<[String; 2]> {
    match e {
        BuildError::NearlyCoincident { faces, .. }
        | BuildError::Touching { faces, .. }
        | BuildError::Undecided { faces, .. } => Some(faces.clone()),
        BuildError::Empty
        | BuildError::Pieces(_)
        | BuildError::Hollow(_)
        | BuildError::Primitive { .. }
        | BuildError::Unsound(_) => None,
    }
}
