//! Precious alloys: the name in the parameter file, density, and whether nickel can reach the skin.

use serde::Serialize;

/// One alloy.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Metal {
    /// The word in the parameter file.
    pub key: &'static str,
    /// The name in a report.
    pub name: &'static str,
    /// Density in g/cm³; ±1 % is realistic for any named alloy.
    pub density: f64,
    /// True for alloys whitened with nickel.
    pub nickel_white: bool,
    /// Where the density comes from.
    pub source: &'static str,
}

const fn metal(key: &'static str, name: &'static str, density: f64, source: &'static str) -> Metal {
    Metal { key, name, density, nickel_white: false, source }
}

const MIX: &str = "mixing rule 1/density = sum of mass share/density over the pure metals";

/// Every alloy known, in the order of the schema.
pub const METALS: [Metal; 13] = [
    metal(
        "platinum950_ru",
        "platinum 950/ruthenium",
        20.70,
        "romanoff.com, Platinum 950; agrees with the mixing rule",
    ),
    metal("platinum950_ir", "platinum 950/iridium", 21.50, MIX),
    metal(
        "platinum950_co",
        "platinum 950/cobalt",
        20.10,
        "conflict: trade tables 20.8 (from memory), mixing rule 20.04, DesignBuildCast platinum 950 20.15; 20.1 taken",
    ),
    metal(
        "platinum900_ir",
        "platinum 900/iridium",
        21.55,
        "firmetal.com blog 648: measured 21.548 to 21.552",
    ),
    metal("palladium950_ga", "palladium 950/gallium", 11.43, MIX),
    metal("gold916_yellow", "22 ct yellow gold", 17.80, "DesignBuildCast, Useful tips (factor x 0.95)"),
    metal(
        "gold750_yellow",
        "18 ct yellow gold 2N",
        15.60,
        "AU Enterprises, Weights; DesignBuildCast; mixing rule 15.596",
    ),
    metal("gold750_rose", "18 ct rose gold 4N", 15.32, MIX),
    metal("gold750_red", "18 ct red gold 5N", 15.15, "DesignBuildCast, Useful tips; mixing rule 15.154"),
    Metal {
        key: "gold750_white_nickel",
        name: "18 ct white gold, nickel",
        density: 14.65,
        nickel_white: true,
        source: "AU Enterprises, Weights",
    },
    metal("gold750_white_palladium", "18 ct white gold, palladium", 15.80, "DesignBuildCast, Useful tips"),
    metal(
        "gold585_yellow",
        "14 ct yellow gold 585",
        13.65,
        "DesignBuildCast, Useful tips (UK 585; US tables 13.07)",
    ),
    metal(
        "silver925",
        "sterling silver 925",
        10.36,
        "ESPI Metals, Silver - Sterling; AU Enterprises; mixing rule 10.357",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Pure metals, g/cm³: Au, Ag, Cu from "How to determine approximate specific gravities of alloys",
    /// table 4 (tmtpages.com); Pt from the CRC handbook; Pd, Ru, Ir, Ga from memory.
    fn mix(parts: &[(f64, f64)]) -> f64 {
        let mass: f64 = parts.iter().map(|p| p.0).sum();
        mass / parts.iter().map(|p| p.0 / p.1).sum::<f64>()
    }

    #[test]
    fn densities_agree_with_the_mixing_rule() {
        let (au, ag, cu, pt, pd) = (19.32, 10.49, 8.96, 21.45, 12.02);
        // The worked example of the source itself.
        assert!((mix(&[(583., au), (104., ag), (313., cu)]) - 13.33).abs() < 0.005);
        for (key, want, tolerance) in [
            ("platinum950_ru", mix(&[(950., pt), (50., 12.45)]), 0.01),
            ("platinum950_ir", mix(&[(950., pt), (50., 22.56)]), 0.01),
            ("platinum900_ir", mix(&[(900., pt), (100., 22.56)]), 0.01),
            ("palladium950_ga", mix(&[(950., pd), (50., 5.91)]), 0.05),
            ("gold750_yellow", mix(&[(750., au), (160., ag), (90., cu)]), 0.01),
            ("gold750_rose", mix(&[(750., au), (90., ag), (160., cu)]), 0.01),
            ("gold750_red", mix(&[(750., au), (45., ag), (205., cu)]), 0.01),
            ("silver925", mix(&[(925., ag), (75., cu)]), 0.01),
        ] {
            let m = METALS.iter().find(|m| m.key == key).expect("listed");
            assert!((m.density - want).abs() < tolerance, "{key}: {} against {want:.3}", m.density);
        }
    }

    #[test]
    fn keys_are_unique() {
        for (i, m) in METALS.iter().enumerate() {
            assert!(METALS.iter().skip(i + 1).all(|o| o.key != m.key), "{}", m.key);
        }
    }
}
