//! Stiffness and strength of the alloys.
//!
//! These are estimates: a supplier's sheet for the stock at hand overrules them. Where a value was read in a source, the source is
//! named; all others are from memory. After casting or any soldering every alloy counts as annealed.

use super::metals::METALS;

/// Stiffness and strength of one alloy, MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mechanics {
    /// The word in the parameter file.
    pub key: &'static str,
    /// Young's modulus.
    pub modulus: f64,
    /// Yield, annealed.
    pub yield_annealed: f64,
    /// Ultimate strength, annealed.
    pub ultimate_annealed: f64,
    /// Yield of hard-drawn or hard-rolled stock.
    pub yield_hard: f64,
    /// Where the values come from.
    pub source: &'static str,
}

const fn row(
    key: &'static str,
    modulus: f64,
    annealed: [f64; 2],
    hard: f64,
    source: &'static str,
) -> Mechanics {
    Mechanics {
        key,
        modulus,
        yield_annealed: annealed[0],
        ultimate_annealed: annealed[1],
        yield_hard: hard,
        source,
    }
}

const MEMORY: &str = "from memory";

/// One row for each row of [`METALS`], in the same order.
pub const MECHANICS: [Mechanics; METALS.len()] = [
    row(
        "platinum950_ru",
        168e3,
        [300.0, 415.0],
        520.0,
        "modulus of platinum munknee.com; the rest from memory",
    ),
    row(
        "platinum950_ir",
        168e3,
        [180.0, 275.0],
        400.0,
        "modulus of platinum munknee.com; the rest from memory",
    ),
    row(
        "platinum950_co",
        168e3,
        [280.0, 450.0],
        520.0,
        "modulus of platinum munknee.com; the rest from memory",
    ),
    row(
        "platinum900_ir",
        200e3,
        [220.0, 380.0],
        480.0,
        "modulus ASTM B684 90Pt-10Ir as listed by makeitfrom.com; the rest from memory",
    ),
    row(
        "palladium950_ga",
        121e3,
        [180.0, 340.0],
        420.0,
        "modulus of palladium, Wikipedia elastic data page; the rest from memory",
    ),
    row("gold916_yellow", 85e3, [140.0, 260.0], 320.0, MEMORY),
    row("gold750_yellow", 95e3, [300.0, 520.0], 550.0, MEMORY),
    row("gold750_rose", 95e3, [340.0, 525.0], 580.0, MEMORY),
    row(
        "gold750_red",
        95e3,
        [378.0, 531.0],
        600.0,
        "annealed: technical chart of a 10-14-18 ct red master alloy (docslib.org 7707235); the rest from memory",
    ),
    row("gold750_white_nickel", 110e3, [420.0, 650.0], 700.0, MEMORY),
    row("gold750_white_palladium", 95e3, [260.0, 450.0], 500.0, MEMORY),
    row("gold585_yellow", 95e3, [300.0, 525.0], 560.0, MEMORY),
    row(
        "silver925",
        80e3,
        [124.0, 207.0],
        380.0,
        "annealed: ESPI Metals, Silver - Sterling; the rest from memory",
    ),
];

/// The row of an alloy by its number in [`METALS`].
#[must_use]
pub fn mechanics(alloy: usize) -> &'static Mechanics {
    &MECHANICS[if alloy < MECHANICS.len() { alloy } else { 0 }]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_row_for_each_alloy_in_order() {
        for (metal, m) in METALS.iter().zip(&MECHANICS) {
            assert_eq!(metal.key, m.key);
            assert!(m.yield_annealed < m.ultimate_annealed && m.yield_annealed < m.yield_hard, "{}", m.key);
        }
    }
}
