//! Solder grades and their melting ranges. All from memory: a supplier's own range, given in the file, overrules the row.

use super::fineness::Precious;
use serde::Serialize;

/// Names of the grades, from the hottest down, as in the parameter file (`solder.hard` ...).
pub const GRADES: [&str; 4] = ["hard", "medium", "easy", "extra_easy"];

/// A grade and its melting range.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Grade {
    /// Name, one of [`GRADES`].
    pub name: &'static str,
    /// Begins to melt, °C.
    pub solidus_c: f64,
    /// Flows, °C.
    pub liquidus_c: f64,
    /// Where the range comes from.
    pub source: &'static str,
}

const MEMORY: &str = "from memory; take the supplier's";

/// Usual range of a grade for a metal and fineness, (solidus, liquidus) °C; `None` where the tables know none.
#[must_use]
pub fn usual(metal: Precious, fineness: u32, grade: &str) -> Option<Grade> {
    let range = match (metal, fineness, grade) {
        (Precious::Silver, _, "hard") => (745.0, 778.0),
        (Precious::Silver, _, "medium") => (720.0, 765.0),
        (Precious::Silver, _, "easy") => (705.0, 723.0),
        (Precious::Silver, _, "extra_easy") => (667.0, 709.0),
        (Precious::Gold, 750, "hard") => (790.0, 830.0),
        (Precious::Gold, 750, "medium") => (730.0, 765.0),
        (Precious::Gold, 750, "easy") => (700.0, 715.0),
        // Sold by their flow point, 1500, 1300, 1100; ranges under 80 wide.
        (Precious::Platinum, _, "hard") => (1430.0, 1500.0),
        (Precious::Platinum, _, "medium") => (1230.0, 1300.0),
        (Precious::Platinum, _, "easy") => (1030.0, 1100.0),
        _ => return None,
    };
    let name = GRADES.iter().find(|g| **g == grade)?;
    Some(Grade { name, solidus_c: range.0, liquidus_c: range.1, source: MEMORY })
}

/// Least distance from the flow point of a solder to the solidus of every earlier one, °C (common practice, no published
/// source).
pub const STEP_C: f64 = 20.0;

/// Cadmium in metal parts of jewellery: below 0.01 % by mass (REACH annex XVII, entry 23).
pub const CADMIUM_LIMIT: f64 = 0.0001;
