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

/// Grades for an alloy, highest first. Platinum solders are sold by their flow; a range of 70 °C is assumed (from memory).
#[must_use]
pub fn grades(alloy: &str) -> Vec<Solder> {
    let list: &[(&str, f64, f64)] = if alloy.starts_with("platinum") || alloy.starts_with("palladium") {
        &[("hard 1500", 1430.0, 1500.0), ("medium 1300", 1230.0, 1300.0), ("easy 1100", 1030.0, 1100.0)]
    } else if alloy.starts_with("silver") {
        &[
            ("hard", 745.0, 778.0),
            ("medium", 720.0, 765.0),
            ("easy", 705.0, 723.0),
            ("extra easy", 667.0, 709.0),
        ]
    } else {
        &[("hard", 790.0, 830.0), ("medium", 730.0, 765.0), ("easy", 700.0, 715.0)]
    };
    list.iter().map(|&(g, solidus_c, flow_c)| Solder { grade: g.to_owned(), solidus_c, flow_c }).collect()
}
