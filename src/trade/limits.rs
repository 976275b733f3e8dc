//! Least wall by class of wall and state of the metal.

use crate::units::{Deg, Mm};
use serde::Serialize;

/// Where a limit comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// A habit of the bench, no published source.
    CommonPractice,
    /// A number of our own, no published source.
    Proposal,
    /// The maker's own bench file.
    BenchFile,
}

impl Source {
    /// In bench words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::CommonPractice => "common practice, no published source",
            Self::Proposal => "proposal, no published source",
            Self::BenchFile => BENCH_FILE,
        }
    }
}

/// What a number is said to come from when the maker's own file gives it.
pub const BENCH_FILE: &str = "bench file";

/// State of the metal a limit speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// As it leaves the flask, polish allowance still on it.
    AsCast,
    /// Cast, filed and polished.
    Finished,
    /// Drawn or rolled stock.
    Stock,
}

impl State {
    /// Its column in the table.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::AsCast => "as_cast",
            Self::Finished => "finished",
            Self::Stock => "stock",
        }
    }
}

/// Least thickness of one class of wall. A foundry's own list overrules the as-cast column.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WallLimit {
    /// Name of the class in bench words.
    pub class: &'static str,
    /// As cast.
    pub as_cast: Mm,
    /// Finished.
    pub finished: Mm,
    /// Drawn or rolled stock; `None` where the wall is always filed from the solid.
    pub stock: Option<Mm>,
    /// Source of all three.
    pub source: Source,
}

impl WallLimit {
    /// The limit in this state and the state it really speaks of: a wall that never is raw stock is judged
    /// as finished.
    #[must_use]
    pub fn at(&self, state: State) -> (Mm, State) {
        match (state, self.stock) {
            (State::AsCast, _) => (self.as_cast, State::AsCast),
            (State::Stock, Some(s)) => (s, State::Stock),
            (State::Finished | State::Stock, _) => (self.finished, State::Finished),
        }
    }
}

const fn wall(class: &'static str, raw: f64, done: f64, stock: Option<f64>, source: Source) -> WallLimit {
    let stock = match stock {
        Some(s) => Some(Mm(s)),
        None => None,
    };
    WallLimit { class, as_cast: Mm(raw), finished: Mm(done), stock, source }
}

/// Skin of the collet, measured normal to it.
pub const COLLET_SKIN: WallLimit = wall("collet wall", 0.50, 0.40, Some(0.40), Source::CommonPractice);
/// Flat land left on the rim outside the seat.
pub const RIM_LAND: WallLimit = wall("rim land", 0.30, 0.20, Some(0.20), Source::Proposal);
/// Metal between the opening and the seat.
pub const OVER_OPENING: WallLimit = wall("metal over the opening", 0.40, 0.35, Some(0.35), Source::Proposal);
/// Metal left between the opening and the end of the link.
pub const BESIDE_OPENING: WallLimit =
    wall("end metal beside the opening", 0.45, 0.40, Some(0.40), Source::Proposal);
/// Height of the web between bore and groove (retired at 0.35).
pub const WEB_HEIGHT: WallLimit = wall("web under the bore, height", 0.50, 0.50, None, Source::Proposal);
/// Depth of the web along the line (retired at 0.25).
pub const WEB_DEPTH: WallLimit = wall("web under the bore, depth", 0.50, 0.40, None, Source::Proposal);
/// Metal between the bore roof and the seat.
pub const CROWN: WallLimit = wall("crown over the bore", 0.40, 0.30, None, Source::Proposal);
/// Metal between the bore and the opening.
pub const BESIDE_BORE: WallLimit = wall("metal beside the bore", 0.40, 0.30, None, Source::Proposal);
/// Wall on the diagonal of a square or cushion collet.
pub const CORNER: WallLimit = wall("corner wall", 0.50, 0.40, Some(0.40), Source::Proposal);
/// Wall of the hinge tube.
pub const TUBE: WallLimit = wall("hinge tube wall", 0.30, 0.30, Some(0.30), Source::CommonPractice);
/// Rim of tube left round the recess of the pin bead.
pub const RECESS_RIM: WallLimit =
    wall("rim round the pin bead", 0.20, 0.20, Some(0.20), Source::CommonPractice);
/// Outer knuckle left behind that recess.
pub const BEHIND_RECESS: WallLimit =
    wall("knuckle behind the pin bead", 0.15, 0.15, Some(0.15), Source::Proposal);
/// Metal between the pocket of a hinge tube and the light hole.
pub const BEHIND_POCKET: WallLimit = wall("metal behind the pocket", 0.35, 0.35, None, Source::Proposal);
/// Metal between the pocket of a hinge tube and the opening.
pub const POCKET_TO_OPENING: WallLimit =
    wall("metal between pocket and opening", 0.30, 0.30, None, Source::Proposal);
/// Metal between the pocket of a hinge tube and the inside of the collet; it thickens quickly to both sides.
pub const POCKET_TO_INSIDE: WallLimit =
    wall("metal between pocket and inside", 0.20, 0.20, None, Source::Proposal);
/// Metal between the pocket and the top of the foot block.
pub const UNDER_BLOCK_TOP: WallLimit = wall("foot block over the pocket", 0.20, 0.20, None, Source::Proposal);
/// Fall-away leaf of the clasp, rolled sheet; cast it must be thicker.
pub const LEAF: WallLimit = wall("fall-away leaf", 0.60, 0.45, Some(0.45), Source::Proposal);
/// Base plate of the clasp, rolled sheet.
pub const PLATE: WallLimit = wall("base plate", 0.60, 0.45, Some(0.45), Source::Proposal);
/// Rail of the clasp's frame.
pub const RAIL: WallLimit = wall("rail", 0.50, 0.40, Some(0.40), Source::Proposal);
/// Cheek of the clasp's frame.
pub const CHEEK: WallLimit = wall("cheek", 0.35, 0.25, Some(0.25), Source::Proposal);
/// Half lap of the foot of a spring strip.
pub const HALF_LAP: WallLimit = wall("half lap", 0.20, 0.20, Some(0.20), Source::Proposal);
/// Tube that a side catch swings in.
pub const CATCH_TUBE: WallLimit = wall("side catch tube", 0.20, 0.20, Some(0.20), Source::CommonPractice);
/// Claw wire.
pub const CLAW: WallLimit = wall("claw", 0.70, 0.60, Some(0.60), Source::CommonPractice);
/// Sharpest edge beside an opening, to be broken 0.05 to 0.10 afterwards (proposal).
pub const EDGE: Deg = Deg(45.0);

/// Every class of wall.
pub const ALL: [WallLimit; 23] = [
    COLLET_SKIN,
    RIM_LAND,
    OVER_OPENING,
    BESIDE_OPENING,
    WEB_HEIGHT,
    WEB_DEPTH,
    CROWN,
    BESIDE_BORE,
    CORNER,
    TUBE,
    RECESS_RIM,
    BEHIND_RECESS,
    BEHIND_POCKET,
    POCKET_TO_OPENING,
    POCKET_TO_INSIDE,
    UNDER_BLOCK_TOP,
    LEAF,
    PLATE,
    RAIL,
    CHEEK,
    HALF_LAP,
    CATCH_TUBE,
    CLAW,
];
