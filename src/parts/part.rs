//! One part of the bracelet as everything downstream sees it: a named solid, how it is made, how many there are.

use crate::solid::Solid;
use crate::units::Mm;
use serde::Serialize;

/// How a part comes into being.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Route {
    /// Cast from a master.
    Cast,
    /// Built from sheet, strip, tube and wire.
    Fabricated,
    /// Cut from drawn or rolled stock as it is: pins, wires, rings, spring strips. Never cast.
    Stock,
}

/// A part in its own frame, mm.
#[derive(Clone, Debug)]
pub struct Part {
    /// Dotted name, also the stem of its files: `link`, `clasp.frame`, `joint.wire`.
    pub name: &'static str,
    /// In bench words.
    pub title: &'static str,
    /// How it is made.
    pub route: Route,
    /// How many one bracelet has.
    pub count: usize,
    /// The exact solid.
    pub solid: Solid,
    /// What was moved so that it could be built.
    pub eased: Option<Eased>,
}

/// A dimension moved by some micrometres, which nobody can measure, where two faces would only just touch.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Eased {
    /// Which.
    pub what: &'static str,
    /// By how much.
    pub by_mm: Mm,
}
