//! Smallest features by how the pattern, or the metal itself, is made.

/// A limit with its source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Least value, mm; of [`Process::deep`] the greatest, in widths.
    pub value: f64,
    /// Where it comes from.
    pub source: &'static str,
}

/// Smallest features of a process, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Process {
    /// In bench words.
    pub name: &'static str,
    /// Whether metal is cast into the place of what is made; if not, it is the metal.
    pub cast: bool,
    /// Wall held on both sides.
    pub wall: Limit,
    /// Free-standing pin or claw.
    pub pin: Limit,
    /// Gap or slot.
    pub gap: Limit,
    /// Hole that stays open.
    pub hole: Limit,
    /// How deep a hole may be, in its own widths.
    pub deep: Limit,
    /// Line that stands up, its width and height.
    pub raised: Limit,
    /// Line cut in, its width and depth.
    pub engraved: Limit,
    /// Radius of a hollow edge.
    pub edge: Limit,
}

const PRACTICE: &str = "common practice, no published source";
const CASTERS: &str = "casters' guides, common practice, no published source";
const RESIN: &str = "service guide addema.se/guides-sla";
const METAL: &str = "service guide to laser melting, nicerapid.com (direct metal laser melting)";
const LETTERS: &str = "service guide to laser sintering, layerx3d.in (raised 0.5, engraved 0.4)";
const DEEP: &str = "casters' guide (a hole no deeper than wide), common practice, no published source";

const fn at(value: f64, source: &'static str) -> Limit {
    Limit { value, source }
}

/// The processes, in the order of the words of `master.process`.
pub const PROCESSES: [Process; 4] = [
    Process {
        name: "castable resin",
        cast: true,
        wall: at(0.40, RESIN),
        pin: at(0.60, RESIN),
        gap: at(0.20, CASTERS),
        // Holes under 0.5 may close in the print, says the same guide; the coupon measures by how much.
        hole: at(0.30, PRACTICE),
        deep: at(1.0, DEEP),
        raised: at(0.10, RESIN),
        engraved: at(0.40, RESIN),
        edge: at(0.125, CASTERS),
    },
    Process {
        name: "printed wax",
        cast: true,
        wall: at(0.40, CASTERS),
        pin: at(0.60, CASTERS),
        gap: at(0.20, CASTERS),
        hole: at(0.30, PRACTICE),
        deep: at(1.0, DEEP),
        raised: at(0.30, PRACTICE),
        engraved: at(0.30, CASTERS),
        edge: at(0.125, CASTERS),
    },
    Process {
        name: "cut wax",
        cast: true,
        wall: at(0.50, PRACTICE),
        pin: at(0.70, PRACTICE),
        gap: at(0.30, PRACTICE),
        hole: at(0.40, PRACTICE),
        deep: at(1.0, DEEP),
        raised: at(0.30, PRACTICE),
        engraved: at(0.30, PRACTICE),
        edge: at(0.125, CASTERS),
    },
    Process {
        name: "printed in metal",
        cast: false,
        wall: at(0.50, METAL),
        pin: at(0.50, METAL),
        gap: at(0.50, METAL),
        hole: at(0.50, METAL),
        // Powder must come out of it and a drill go in; nothing is published for holes this small.
        deep: at(4.0, "proposal, no published source"),
        raised: at(0.50, LETTERS),
        engraved: at(0.40, LETTERS),
        edge: at(0.10, "proposal, no published source"),
    },
];

impl Process {
    /// Every limit with its name and unit, as a table has them.
    #[must_use]
    pub fn limits(&self) -> [(&'static str, Limit, &'static str); 8] {
        [
            ("wall", self.wall, "mm"),
            ("pin", self.pin, "mm"),
            ("gap", self.gap, "mm"),
            ("hole", self.hole, "mm"),
            ("deepest_hole", self.deep, "widths"),
            ("raised_line", self.raised, "mm"),
            ("engraved_line", self.engraved, "mm"),
            ("hollow_edge_radius", self.edge, "mm"),
        ]
    }
}
