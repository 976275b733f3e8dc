//! The parameter file: text with spans, units, defaults, derived dimensions and every rule.
//!
//! [`read`] turns the text of a file into a [`Design`], or into every [`Problem`] that keeps it from being one. A design
//! is sane: a link can be built from it. Whether it is *good* is what [`Design::findings`] says.

mod choice;
mod defaults;
mod design;
mod dims;
pub mod edit;
mod impossible;
mod mend;
mod numbers;
mod problem;
mod quantity;
mod rules;
mod schema;
mod spelling;
mod table;
mod text;

pub use choice::{ClaspKind, JointKind, Shape};
pub use design::{Design, Origin, Value, read, read_bytes, read_with};
pub use dims::{
    BUMP_SLOPE, CATCH_BESIDE, CATCH_PLAY, CHEEK_FOOT, CHEEK_ROOM, CLAW_PROUD, ChainDims, ClaspDims, Dims,
    EYE_RIM, EYE_THICK, Estimate, HingeDims, KNUCKLE_GAP, KNUCKLE_ROOM, LEAF_BESIDE, LEDGE, LEDGE_OVER,
    LatchDims, RAIL, RIDGE_FLAT, RIVETS, STAND_BACK, STRIP_CLEAR, SideCatchDims, WireDims,
};
pub use mend::{Change, Conflict, Drawer, Fighting, Freedom, Mended, Way, after, mend, rewritten, weight};
pub use problem::{Problem, Span, place as place_problems};
pub use rules::{Finding, RuleVerdict, Severity};
pub use schema::{schema, starter};
pub use table::Key;
pub use text::LARGEST_FILE;
