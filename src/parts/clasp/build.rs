//! Builds the parts of the clasp.

use super::shape::ClaspShape;
use super::{frame, leaf, plate, small};
use crate::params::{Design, Key};
use crate::parts::{Part, Route};
use crate::solid::{BuildError, Solid, Tree};

/// A part of the folding clasp.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ClaspPart {
    /// P, against the skin.
    Plate,
    /// M, that falls away when the clasp opens.
    Leaf,
    /// U, that carries the stones.
    Frame,
    /// The tongue's strip at +y.
    FrontStrip,
    /// The tongue's strip at -y.
    BackStrip,
    /// A rivet of a strip.
    Rivet,
    /// A pin of a hinge.
    Pin,
}

impl ClaspPart {
    /// All of them.
    pub const ALL: [Self; 7] =
        [Self::Plate, Self::Leaf, Self::Frame, Self::FrontStrip, Self::BackStrip, Self::Rivet, Self::Pin];
    /// Dotted name, also the stem of its files.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Plate => "clasp.plate",
            Self::Leaf => "clasp.leaf",
            Self::Frame => "clasp.frame",
            Self::FrontStrip => "clasp.strip.front",
            Self::BackStrip => "clasp.strip.back",
            Self::Rivet => "clasp.rivet",
            Self::Pin => "clasp.pin",
        }
    }
    /// In bench words.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::Plate => "base plate",
            Self::Leaf => "fall-away leaf",
            Self::Frame => "frame with the stones of the clasp",
            Self::FrontStrip => "front strip of the tongue",
            Self::BackStrip => "back strip of the tongue",
            Self::Rivet => "rivet of a strip",
            Self::Pin => "pin of a clasp hinge, without its bead",
        }
    }
    /// How many a bracelet has.
    #[must_use]
    pub fn count(self) -> usize {
        match self {
            Self::Rivet => 4,
            Self::Pin => 2,
            _ => 1,
        }
    }
    fn route(self, design: &Design) -> Route {
        match self {
            Self::Plate | Self::Leaf => Route::Fabricated,
            Self::Frame if design.get(Key::FrameRoute) == 0.0 => Route::Cast,
            Self::Frame => Route::Fabricated,
            Self::FrontStrip | Self::BackStrip | Self::Rivet | Self::Pin => Route::Stock,
        }
    }
    fn tree(self, s: &ClaspShape) -> Tree {
        match self {
            Self::Plate => plate::tree(s),
            Self::Leaf => leaf::tree(s),
            Self::Frame => frame::tree(s),
            Self::FrontStrip => small::strip(s, 1.0),
            Self::BackStrip => small::strip(s, -1.0),
            Self::Rivet => small::rivet(s),
            Self::Pin => small::pin(s),
        }
    }
}

/// Builds one part; `None` where the clasp is a bought one.
///
/// # Errors
/// The kernel's refusal, naming two faces.
pub fn build(design: &Design, part: ClaspPart) -> Option<Result<Part, BuildError>> {
    let shape = ClaspShape::of(design)?;
    Some(solid(part, &shape).map(|solid| Part {
        name: part.name(),
        title: part.title(),
        route: part.route(design),
        count: part.count(),
        solid,
    }))
}

/// The recipe of one part, for another kernel to build the same from; `None` where the clasp is a bought one.
#[must_use]
pub fn recipe(design: &Design, part: ClaspPart) -> Option<Tree> {
    ClaspShape::of(design).map(|s| part.tree(&s))
}

/// What is moved where two faces only just touch, one after the other: by some micrometres, which nobody can measure.
const MOVES: [fn(&mut ClaspShape); 5] =
    [|_| (), |s| s.rail_top += 0.004, |s| s.cut += 0.003, |s| s.lug_top += 0.005, |s| s.lug_half += 0.003];

fn solid(part: ClaspPart, shape: &ClaspShape) -> Result<Solid, BuildError> {
    eased(shape, |s| part.tree(s))
}

/// One piece from a recipe, dimensions moved where two faces only just touch.
pub(super) fn eased(shape: &ClaspShape, tree: impl Fn(&ClaspShape) -> Tree) -> Result<Solid, BuildError> {
    let mut first = None;
    for change in MOVES {
        let mut eased = shape.clone();
        change(&mut eased);
        match Solid::build(&tree(&eased)).and_then(|s| s.whole().map(|()| s)) {
            Ok(solid) => return Ok(solid),
            Err(e) => first = first.or(Some(e)),
        }
    }
    Err(first.unwrap_or(BuildError::Empty))
}
