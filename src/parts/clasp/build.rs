//! Builds the parts of the clasp.

use super::shape::ClaspShape;
use super::{bent, frame, leaf, plate, recess, small};
use crate::params::{Design, Key};
use crate::parts::{Eased, Part, Route};
use crate::solid::{BuildError, Solid, Tree};
use crate::units::Mm;

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
    /// The side catch at +y.
    FrontCatch,
    /// The side catch at -y.
    BackCatch,
    /// A link of the safety chain.
    ChainLink,
    /// A jump ring of the safety chain.
    JumpRing,
}

impl ClaspPart {
    /// All of them.
    pub const ALL: [Self; 11] = [
        Self::Plate,
        Self::Leaf,
        Self::Frame,
        Self::FrontStrip,
        Self::BackStrip,
        Self::Rivet,
        Self::Pin,
        Self::FrontCatch,
        Self::BackCatch,
        Self::ChainLink,
        Self::JumpRing,
    ];
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
            Self::FrontCatch => "clasp.catch.front",
            Self::BackCatch => "clasp.catch.back",
            Self::ChainLink => "chain.link",
            Self::JumpRing => "chain.jump",
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
            Self::Pin => "hinge pin of the clasp, as drawn in",
            Self::FrontCatch => "front side catch",
            Self::BackCatch => "back side catch",
            Self::ChainLink => "link of the safety chain",
            Self::JumpRing => "jump ring of the safety chain",
        }
    }
    /// How many a bracelet has.
    #[must_use]
    pub fn count(self, design: &Design) -> usize {
        match self {
            Self::Rivet => 4,
            Self::Pin | Self::JumpRing => 2,
            Self::ChainLink => design.dims().chain.as_ref().map_or(0, |c| c.rings),
            _ => 1,
        }
    }
    /// How it is made.
    #[must_use]
    pub fn route(self, design: &Design) -> Route {
        match self {
            Self::Plate | Self::Leaf => Route::Fabricated,
            Self::Frame if design.get(Key::FrameRoute) == 0.0 => Route::Cast,
            Self::Frame => Route::Fabricated,
            _ => Route::Stock,
        }
    }
    /// `None` where the part is bent from wire, without a boolean.
    fn tree(self, s: &ClaspShape) -> Option<Tree> {
        Some(match self {
            Self::Plate => plate::tree(s),
            Self::Leaf => leaf::tree(s),
            Self::Frame => frame::tree(s),
            Self::FrontStrip => small::strip(s, 1.0),
            Self::BackStrip => small::strip(s, -1.0),
            Self::Rivet => small::rivet(s),
            Self::Pin | Self::FrontCatch | Self::BackCatch | Self::ChainLink | Self::JumpRing => return None,
        })
    }
    /// With the cups of pin beads, whose balls are no matter of the recipe.
    fn finished(self, solid: Solid, s: &ClaspShape) -> Result<Solid, BuildError> {
        match self {
            Self::Plate => recess::cups(solid, s, &s.back),
            Self::Frame => recess::cups(solid, s, &s.front),
            _ => Ok(solid),
        }
    }
    /// A part bent from wire.
    fn bent(self, s: &ClaspShape) -> Result<Solid, BuildError> {
        match self {
            Self::Pin => bent::pin(s),
            Self::FrontCatch => bent::side_catch(s, 1.0),
            Self::BackCatch => bent::side_catch(s, -1.0),
            Self::ChainLink => bent::chain_link(s),
            Self::JumpRing => bent::jump_ring(s),
            _ => Err(BuildError::Empty),
        }
    }
}

/// Builds one part; `None` where the clasp is a bought one.
///
/// # Errors
/// The kernel's refusal, naming two faces.
pub fn build(design: &Design, part: ClaspPart) -> Option<Result<Part, BuildError>> {
    let shape = ClaspShape::of(design)?;
    Some(solid(part, &shape).map(|(solid, eased)| Part {
        name: part.name(),
        title: part.title(),
        route: part.route(design),
        count: part.count(design),
        solid,
        eased,
    }))
}

/// The recipe of one part, for another kernel to build the same from; `None` where the clasp is a bought one or the part is
/// bent from wire.
#[must_use]
pub fn recipe(design: &Design, part: ClaspPart) -> Option<Tree> {
    ClaspShape::of(design).and_then(|s| part.tree(&s))
}

/// What is moved where two faces only just touch, one after the other: by some micrometres, which nobody can measure.
const MOVES: [(Option<Eased>, Move); 6] = [
    (None, |_, _| ()),
    (moved("top of the rails", 0.004), |s, by| s.rail_top += by),
    (moved("underside of the frame", 0.003), |s, by| s.cut += by),
    (moved("top of the plate's lug", 0.005), |s, by| s.lug_top += by),
    (moved("half width of the lugs", 0.003), |s, by| s.lug_half += by),
    (moved("top of the leaf", 0.003), |s, by| s.leaf[1] -= by),
];

type Move = fn(&mut ClaspShape, f64);

const fn moved(what: &'static str, by: f64) -> Option<Eased> {
    Some(Eased { what, by_mm: Mm(by) })
}

fn solid(part: ClaspPart, shape: &ClaspShape) -> Result<(Solid, Option<Eased>), BuildError> {
    if part.tree(shape).is_none() {
        return part.bent(shape).map(|s| (s, None));
    }
    eased(shape, |s| {
        let tree = part.tree(s).ok_or(BuildError::Empty)?;
        let solid = Solid::build(&tree)?;
        solid.whole()?;
        part.finished(solid, s)
    })
}

/// What `build` makes of the shape, dimensions moved where two faces only just touch; and what was moved.
pub(super) fn eased(
    shape: &ClaspShape,
    build: impl Fn(&ClaspShape) -> Result<Solid, BuildError>,
) -> Result<(Solid, Option<Eased>), BuildError> {
    let mut first = None;
    for (by, change) in MOVES {
        let mut eased = shape.clone();
        change(&mut eased, by.map_or(0.0, |e| e.by_mm.get()));
        match build(&eased) {
            Ok(solid) => return Ok((solid, by)),
            Err(e) => first = first.or(Some(e)),
        }
    }
    Err(first.unwrap_or(BuildError::Empty))
}
