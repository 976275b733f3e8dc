//! Hard solders: grades and melting ranges. A maker's own list overrules these.

use serde::Serialize;

/// One grade.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Solder {
    /// Word on the packet: hard, medium, easy.
    pub grade: String,
    /// Begins to melt, °C.
    pub solidus_c: f64,
    /// Flows, °C.
    pub flow_c: f64,
}

/// Least distance between the flow of a solder and the solidus of every earlier joint, °C (common practice, no published
/// source).
pub const STEP: f64 = 20.0;

/// Where the ranges come from.
pub const SOURCE: &str = "from memory, refiners' lists differ: take the supplier's own";

/// The same for palladium: no list of its own was read.
pub const PALLADIUM_SOURCE: &str = "from memory: platinum solders on palladium, none over 1300 as its alloys melt lower; take the supplier's own";

/// A grade of the table: word, solidus, flow, C.
pub type Grade = (&'static str, f64, f64);

/// Grades by family of alloys, the highest first. Platinum solders are sold by their flow; a range of 70 C is assumed (from
/// memory).
pub const FAMILIES: [(&str, &[Grade]); 4] = [
    (
        "platinum",
        &[("hard 1500", 1430.0, 1500.0), ("medium 1300", 1230.0, 1300.0), ("easy 1100", 1030.0, 1100.0)],
    ),
    (
        "palladium",
        &[("hard 1300", 1230.0, 1300.0), ("medium 1200", 1130.0, 1200.0), ("easy 1100", 1030.0, 1100.0)],
    ),
    (
        "silver",
        &[
            ("hard", 745.0, 778.0),
            ("medium", 720.0, 765.0),
            ("easy", 705.0, 723.0),
            ("extra easy", 667.0, 709.0),
        ],
    ),
    ("gold", &[("hard", 790.0, 830.0), ("medium", 730.0, 765.0), ("easy", 700.0, 715.0)]),
];

/// The family whose solders an alloy takes: gold where it is no other.
#[must_use]
pub fn family(alloy: &str) -> &'static str {
    FAMILIES.iter().map(|f| f.0).find(|f| alloy.starts_with(f)).unwrap_or("gold")
}

/// Where the ranges of a family come from.
#[must_use]
pub fn source(family: &str) -> &'static str {
    if family == "palladium" { PALLADIUM_SOURCE } else { SOURCE }
}

/// Grades for an alloy, highest first.
#[must_use]
pub fn grades(alloy: &str) -> Vec<Solder> {
    let list = FAMILIES.iter().find(|f| f.0 == family(alloy)).map_or(&[][..], |f| f.1);
    list.iter().map(|&(g, solidus_c, flow_c)| Solder { grade: g.to_owned(), solidus_c, flow_c }).collect()
}
