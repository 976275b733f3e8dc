//! The two choices that decide which parameters a link has: its shape and its joint.

use super::numbers::Numbers;
use super::table::Key as K;
use serde::Serialize;

/// Outline of the collet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Shape {
    /// A cone.
    Round,
    /// Four walls with tight corners.
    Square,
    /// Four walls with wide corners.
    Cushion,
}

/// Joint between two links.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum JointKind {
    /// A closed loop of wire through the bores of both links.
    WireLoop,
    /// Knuckles of tube, in each other's pockets, with a pin through them.
    HingeTube,
}

impl Shape {
    pub(crate) fn of(v: &Numbers) -> Self {
        match v[K::Shape] {
            1.0 => Self::Square,
            2.0 => Self::Cushion,
            _ => Self::Round,
        }
    }
    /// Whether its end walls are flat.
    #[must_use]
    pub fn is_flat(self) -> bool {
        self != Self::Round
    }
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Round => "a round collet",
            Self::Square => "a square collet",
            Self::Cushion => "a cushion collet",
        }
    }
}

impl JointKind {
    pub(crate) fn of(v: &Numbers) -> Self {
        if v[K::Joint] == 1.0 { Self::HingeTube } else { Self::WireLoop }
    }
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::WireLoop => "wire loops",
            Self::HingeTube => "hinge tubes",
        }
    }
}

/// Clasp of the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ClaspKind {
    /// The folding clasp: base plate, fall-away leaf and upper frame.
    Folding,
    /// A bought one: only its length counts.
    Bought,
}

impl ClaspKind {
    pub(crate) fn of(v: &Numbers) -> Self {
        if v[K::ClaspKind] == 1.0 { Self::Bought } else { Self::Folding }
    }
}

/// The choices that decide which parameters take part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Choices {
    pub(crate) shape: Shape,
    pub(crate) joint: JointKind,
    pub(crate) clasp: ClaspKind,
    /// Whether the parts are printed in metal, so that none is cast.
    pub(crate) printed: bool,
    /// Whether a stub for the sprue is asked for.
    pub(crate) stub: bool,
}

/// Number of the word `direct_metal`.
const DIRECT_METAL: f64 = 3.0;

impl Choices {
    pub(crate) fn of(v: &Numbers) -> Self {
        let printed = v[K::MasterProcess] >= DIRECT_METAL;
        let stub = v[K::SprueDiameter] > 0.0;
        Self { shape: Shape::of(v), joint: JointKind::of(v), clasp: ClaspKind::of(v), printed, stub }
    }
}

/// What a parameter belongs to, when it does not take part in every link.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Owner {
    Every,
    Walls,
    Corners,
    Block,
    Wire,
    Hinge,
    Clasp,
    Lug,
    Casting,
    Sprue,
    Stub,
}

fn owner(k: K) -> Owner {
    match k {
        K::CornerRadius => Owner::Corners,
        K::InnerCornerRadius => Owner::Walls,
        K::BlockHalfWidth => Owner::Block,
        K::BoreWidth
        | K::BoreHeight
        | K::GrooveDepth
        | K::GrooveWidth
        | K::WebHeight
        | K::Wire
        | K::WireFlat
        | K::WebEdge
        | K::EndPlay
        | K::JigSpring => Owner::Wire,
        K::FootFill
        | K::LightHole
        | K::TubeOuter
        | K::TubeBore
        | K::Pin
        | K::TubeLength
        | K::TubeHeight
        | K::PocketClearance
        | K::SideGap
        | K::OuterShare => Owner::Hinge,
        K::ClaspKind | K::ClaspCount => Owner::Every,
        K::MetalShrink | K::MetalBy => Owner::Casting,
        K::SprueDiameter => Owner::Sprue,
        K::SprueLength => Owner::Stub,
        K::ClaspLug => Owner::Lug,
        K::Hand => Owner::Clasp,
        _ if ["clasp.", "chain.", "mark."].iter().any(|g| k.path().starts_with(g)) => Owner::Clasp,
        _ => Owner::Every,
    }
}

/// Whether a parameter takes part in a bracelet of these choices.
pub(crate) fn takes_part(k: K, Choices { shape, joint, clasp, printed, stub }: Choices) -> bool {
    let hinge = joint == JointKind::HingeTube;
    match owner(k) {
        Owner::Every => true,
        Owner::Walls => shape.is_flat(),
        Owner::Corners => shape.is_flat() || hinge,
        Owner::Block => !shape.is_flat() && hinge,
        Owner::Wire => !hinge,
        Owner::Hinge => hinge,
        Owner::Clasp => clasp == ClaspKind::Folding,
        Owner::Lug => clasp == ClaspKind::Folding && !hinge,
        Owner::Casting | Owner::Sprue => !printed,
        Owner::Stub => stub && !printed,
    }
}

/// Why a parameter has no place in a bracelet of these choices, in bench words.
pub(crate) fn stranger(k: K, Choices { shape, joint, clasp, printed, .. }: Choices) -> String {
    let belongs = match owner(k) {
        Owner::Every => "every link",
        Owner::Walls => "a square or cushion collet",
        Owner::Corners => "a square or cushion collet, or the foot block of a round one with hinge tubes",
        Owner::Block => "a round collet with hinge tubes",
        Owner::Wire => "a wire loop",
        Owner::Hinge => "hinge tubes",
        Owner::Clasp => "the folding clasp",
        Owner::Lug => "the folding clasp on wire loops",
        Owner::Casting | Owner::Sprue => "castings",
        Owner::Stub => "a stub for the sprue on a casting",
    };
    let has = match owner(k) {
        Owner::Wire | Owner::Hinge => joint.words().to_owned(),
        Owner::Walls => shape.words().to_owned(),
        Owner::Clasp => "a bought clasp".to_owned(),
        Owner::Stub if !printed => "none (master.sprue.diameter)".to_owned(),
        Owner::Casting | Owner::Sprue | Owner::Stub => "parts printed in metal (master.process)".to_owned(),
        Owner::Lug => {
            let clasp = if clasp == ClaspKind::Folding { "the folding clasp" } else { "a bought clasp" };
            format!("{clasp} on {}", joint.words())
        }
        Owner::Every | Owner::Corners | Owner::Block => format!("{} with {}", shape.words(), joint.words()),
    };
    format!("{} belongs to {belongs}; this file has {has}: leave it out", k.path())
}

/// The trade's reason, where there is more to say than that the part is not there.
pub(crate) fn stranger_reason(k: K) -> &'static str {
    match owner(k) {
        Owner::Wire if matches!(k, K::BoreWidth | K::BoreHeight) => {
            "a slot is no bearing for a pin: a hinge tube has a round bore, joint.tube_bore"
        }
        Owner::Wire => "a pin runs in tube: there is no wire, web or groove",
        Owner::Hinge => "a wire loop turns on a web: there is no tube, and the foot is open",
        Owner::Block => "walls that are flat need no block to carry the tube",
        Owner::Walls | Owner::Corners => "a round collet has no corners",
        Owner::Lug => "a lug for a hinge tube is as thick as its pocket asks for",
        Owner::Clasp => "of a bought clasp only its length counts: clasp.count",
        Owner::Sprue => "nothing is cast, so there is no sprue",
        Owner::Stub => "a length is that of a stub with a diameter",
        Owner::Casting => "what the printer's metal shrinks by is master.pattern.shrink",
        Owner::Every => "",
    }
}
