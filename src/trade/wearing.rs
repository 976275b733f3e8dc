//! Hardness, hard-drawn strength and solder, for wear and strength.
//!
//! Estimates: a supplier's sheet for the stock at hand overrules them. Hardness is used for one alloy's own variants alone. It does
//! not rank alloys: in *Wear Resistance of Platinum and Gold Alloys* (Johnson Matthey Technology Review 2021, 65(3), 480-492)
//! platinum alloys lost two to three times less volume than harder white golds.

use super::metals::METALS;

/// What one alloy is like where it rubs and is pulled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wearing {
    /// The word in the parameter file.
    pub key: &'static str,
    /// Vickers hardness, annealed or as cast.
    pub hardness: f64,
    /// Ultimate strength of hard-drawn stock, MPa.
    pub ultimate_hard: f64,
    /// Tensile strength of a sound solder joint, MPa; its shear strength is taken as 0.6 of that (proposals).
    pub solder: f64,
    /// Where hardness and hard strength come from.
    pub source: &'static str,
}

const fn row(
    key: &'static str,
    hardness: f64,
    ultimate_hard: f64,
    solder: f64,
    source: &'static str,
) -> Wearing {
    Wearing { key, hardness, ultimate_hard, solder, source }
}

const MEMORY: &str = "from memory";

/// One row for each row of [`METALS`], in the same order.
pub const WEARING: [Wearing; METALS.len()] = [
    row(
        "platinum950_ru",
        120.0,
        550.0,
        180.0,
        "hardness santechchem.com, 120 to 135; hard strength from memory",
    ),
    row("platinum950_ir", 80.0, 420.0, 180.0, "hardness santechchem.com; hard strength from memory"),
    row("platinum950_co", 135.0, 560.0, 180.0, MEMORY),
    row(
        "platinum900_ir",
        110.0,
        550.0,
        180.0,
        "hard strength ASTM B684 90Pt-10Ir as listed by makeitfrom.com; hardness from memory",
    ),
    row(
        "palladium950_ga",
        95.0,
        450.0,
        180.0,
        "hardness of palladium 950 alloys 70 to 120; hard strength from memory",
    ),
    row("gold916_yellow", 65.0, 350.0, 200.0, MEMORY),
    row("gold750_yellow", 150.0, 700.0, 200.0, MEMORY),
    row("gold750_rose", 160.0, 720.0, 200.0, MEMORY),
    row(
        "gold750_red",
        182.0,
        720.0,
        200.0,
        "hardness: technical chart of a 10-14-18 ct red master alloy (docslib.org 7707235); hard strength from memory",
    ),
    row("gold750_white_nickel", 220.0, 800.0, 200.0, MEMORY),
    row("gold750_white_palladium", 120.0, 600.0, 200.0, MEMORY),
    row("gold585_yellow", 140.0, 700.0, 200.0, MEMORY),
    row(
        "silver925",
        71.0,
        496.0,
        100.0,
        "ESPI Metals, Silver - Sterling: wire, annealed 71 HV, hard 496 MPa",
    ),
];

/// The row of an alloy by its number in [`METALS`].
#[must_use]
pub fn wearing(alloy: usize) -> &'static Wearing {
    &WEARING[if alloy < WEARING.len() { alloy } else { 0 }]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::mechanics::MECHANICS;

    #[test]
    fn one_row_for_each_alloy_in_order() {
        for ((metal, w), m) in METALS.iter().zip(&WEARING).zip(&MECHANICS) {
            assert_eq!(metal.key, w.key);
            assert!(w.ultimate_hard > m.ultimate_annealed && w.ultimate_hard > m.yield_hard, "{}", w.key);
        }
    }
}
