//! Pure metals and the mixing rule: the density of an alloy from its composition.

use serde::Serialize;

/// A pure metal an alloy is made of.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Element {
    /// The word in the parameter file.
    pub key: &'static str,
    /// Chemical symbol.
    pub symbol: &'static str,
    /// Density, g/cm³.
    pub density: f64,
    /// Where the density comes from.
    pub source: &'static str,
}

const TABLE_4: &str = "How to determine approximate specific gravities of alloys, table 4 (tmtpages.com)";
const MEMORY: &str = "from memory";

const fn element(key: &'static str, symbol: &'static str, density: f64, source: &'static str) -> Element {
    Element { key, symbol, density, source }
}

/// Every metal a composition may name.
pub const ELEMENTS: [Element; 11] = [
    element("gold", "Au", 19.32, TABLE_4),
    element("silver", "Ag", 10.49, TABLE_4),
    element("copper", "Cu", 8.96, TABLE_4),
    element("platinum", "Pt", 21.45, "CRC handbook and Vines 1941, as listed by hypertextbook.com"),
    element("palladium", "Pd", 12.02, MEMORY),
    element("ruthenium", "Ru", 12.45, MEMORY),
    element("iridium", "Ir", 22.56, TABLE_4),
    element("cobalt", "Co", 8.90, TABLE_4),
    element("zinc", "Zn", 7.14, MEMORY),
    element("nickel", "Ni", 8.91, MEMORY),
    element("gallium", "Ga", 5.91, MEMORY),
];

/// The row of a metal by its symbol.
#[must_use]
pub fn element_of(symbol: &str) -> Option<&'static Element> {
    ELEMENTS.iter().find(|e| e.symbol == symbol)
}

/// Density in g/cm³ of an ideal mixture, 1/ρ = Σ wᵢ/ρᵢ, from (symbol, mass share) pairs; the shares need not add up to
/// one. `None` for an unknown symbol, a share below zero, or no mass at all.
///
/// Real alloys lie within 1 % of it (tmtpages.com, same page).
#[must_use]
pub fn mixed_density(parts: &[(&str, f64)]) -> Option<f64> {
    let (mut mass, mut volume) = (0.0, 0.0);
    for (symbol, share) in parts {
        if *share < 0.0 {
            return None;
        }
        mass += share;
        volume += share / element_of(symbol)?.density;
    }
    (volume > 0.0).then(|| mass / volume)
}

/// Composition of an alloy of the metals table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Composition {
    /// The word in the parameter file.
    pub key: &'static str,
    /// Symbol and share in thousandths by mass.
    pub parts: &'static [(&'static str, f64)],
    /// Where it comes from.
    pub source: &'static str,
}

const NAMED: &str = "the name of the alloy states it";

/// Compositions known to the tables. The others (white golds, 14 and 22 ct) differ from supplier to supplier: give
/// `metal.composition` or `metal.density` for those.
pub const COMPOSITIONS: [Composition; 9] = [
    Composition { key: "platinum950_ru", parts: &[("Pt", 950.0), ("Ru", 50.0)], source: NAMED },
    Composition { key: "platinum950_ir", parts: &[("Pt", 950.0), ("Ir", 50.0)], source: NAMED },
    Composition { key: "platinum950_co", parts: &[("Pt", 950.0), ("Co", 50.0)], source: NAMED },
    Composition { key: "platinum900_ir", parts: &[("Pt", 900.0), ("Ir", 100.0)], source: NAMED },
    Composition { key: "palladium950_ga", parts: &[("Pd", 950.0), ("Ga", 50.0)], source: NAMED },
    Composition {
        key: "gold750_yellow",
        parts: &[("Au", 750.0), ("Ag", 160.0), ("Cu", 90.0)],
        source: "colour 2N (ISO 8654 designation; composition as listed by the trade)",
    },
    Composition {
        key: "gold750_rose",
        parts: &[("Au", 750.0), ("Ag", 90.0), ("Cu", 160.0)],
        source: "colour 4N, Taimsalu, Gold alloys: an introduction to data",
    },
    Composition {
        key: "gold750_red",
        parts: &[("Au", 750.0), ("Ag", 45.0), ("Cu", 205.0)],
        source: "colour 5N, Taimsalu, Gold alloys: an introduction to data",
    },
    Composition { key: "silver925", parts: &[("Ag", 925.0), ("Cu", 75.0)], source: NAMED },
];

/// Densities on which the sources do not agree: the alloy, the values with their sources, and what is taken.
pub const DENSITY_CONFLICTS: [(&str, &str); 4] = [
    (
        "platinum950_co",
        "trade tables 20.8 (from memory), mixing rule 20.04, DesignBuildCast platinum 950 20.15; 20.10 taken",
    ),
    ("gold585_yellow", "DesignBuildCast 13.65 (UK 585), tmtpages.com 13.07 (US 14 ct); 13.65 taken"),
    (
        "palladium950_ga",
        "DesignBuildCast 11.4, Platinum Metals Rev. 2009, 53(4) around 12 for palladium 950 in general, mixing rule 11.43; 11.43 taken",
    ),
    ("gold750_white_nickel", "AU Enterprises 14.65; white golds run from 14.65 (nickel) to 15.8 (palladium)"),
];
