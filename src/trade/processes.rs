//! Smallest features by how the pattern is made.

use serde::Serialize;

/// Smallest features of a way to make patterns, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Process {
    /// In bench words.
    pub name: &'static str,
    /// Wall held on both sides.
    pub wall: f64,
    /// Free-standing pin or claw.
    pub pin: f64,
    /// Gap or slot.
    pub gap: f64,
    /// Hole that stays open.
    pub hole: f64,
    /// Raised or engraved line.
    pub line: f64,
    /// Where the figures come from.
    pub source: &'static str,
}

/// The processes, in the order of the words of `master.process`.
pub const PROCESSES: [Process; 3] = [
    Process {
        name: "castable resin",
        wall: 0.40,
        pin: 0.60,
        gap: 0.20,
        hole: 0.30,
        line: 0.30,
        source: "service guide addema.se/guides-sla (walls 0.4, free 0.6, holes under 0.5 may close); gap and hole common practice, \
                 no published source",
    },
    Process {
        name: "printed wax",
        wall: 0.40,
        pin: 0.60,
        gap: 0.20,
        hole: 0.30,
        line: 0.30,
        source: "casters' guides (walls 0.40, gaps 0.20, holes over 0.20 and no deeper than wide, engraving 0.3); common practice",
    },
    Process {
        name: "cut wax",
        wall: 0.50,
        pin: 0.70,
        gap: 0.30,
        hole: 0.40,
        line: 0.30,
        source: "common practice, no published source",
    },
];
