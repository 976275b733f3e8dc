//! Vickers hardness of the annealed alloys, for wear.
//!
//! Never to rank one alloy against another: platinum alloys lost two to three times less than white golds of the same or greater
//! hardness (Fryé, Klotz et al., Johnson Matthey Technology Review 2021, 65(3), 480).

use super::metals::METALS;

/// HV, annealed, by the alloy's word, and where it comes from.
const HARDNESS: [(&str, f64, &str); METALS.len()] = [
    ("platinum950_ru", 120.0, "K. Conlon, Popular U.S. Platinum Jewelry Alloys"),
    ("platinum950_ir", 80.0, "santechchem.com"),
    ("platinum950_co", 135.0, "from memory, as cast"),
    ("platinum900_ir", 110.0, "K. Conlon, Popular U.S. Platinum Jewelry Alloys"),
    ("palladium950_ga", 100.0, "Brelle, Blatter, Ziegenhagen, Platinum Metals Rev. 2009: 70 to 120"),
    ("gold916_yellow", 70.0, "from memory"),
    ("gold750_yellow", 150.0, "from memory"),
    ("gold750_rose", 165.0, "from memory"),
    ("gold750_red", 182.0, "technical chart of a 10-14-18 ct red master alloy (docslib.org 7707235)"),
    ("gold750_white_nickel", 220.0, "from memory"),
    ("gold750_white_palladium", 120.0, "from memory"),
    ("gold585_yellow", 140.0, "from memory: 120 to 165"),
    ("silver925", 71.0, "ESPI Metals, Silver - Sterling"),
];

/// Hardness of an alloy, MPa (9.807 x HV), and its source.
#[must_use]
pub fn hardness_mpa(key: &str) -> (f64, &'static str) {
    HARDNESS.iter().find(|h| h.0 == key).map_or((f64::NAN, ""), |h| (9.807 * h.1, h.2))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_alloy_has_a_hardness() {
        for m in METALS {
            assert!(hardness_mpa(m.key).0 > 0.0, "{}", m.key);
        }
    }
}
