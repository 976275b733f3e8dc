//! From a pattern to the metal in the crucible.

/// What is cast in addition to the parts for sprues and button, as a share of the parts (common practice, no published
/// source: 10 to 50 % are named for the button alone, katkramer.com and romanoff.com 10 %, orchid.ganoksin.com 25 to 50 %).
pub const SPRUES_AND_BUTTON: f64 = 0.60;

/// Thickness that filing and polishing take off a cast skin on the mean over the whole part, mm: 0.10 outside, 0.05 in the
/// openings, none in bores and seats (proposal).
pub const TAKEN_OFF: f64 = 0.05;

/// A heavy place that is fed through metal thinner than this share of it is called thick, thin, thick. Heuvers' circles ask for 1, each
/// circle towards the feeder at least as large (giessereilexikon.com, Heuvers' circle method); how far a casting of a gram bears less
/// is a proposal, no published source.
pub const NECK_SHARE: f64 = 0.60;

/// Density by the mixing rule, 1/density = sum of mass share/density; shares need not add up to one.
///
/// `None` for no parts, or any that is not a positive number.
#[must_use]
pub fn mixed_density(parts: &[(f64, f64)]) -> Option<f64> {
    let good = |x: &f64| x.is_finite() && *x > 0.0;
    if parts.is_empty() || !parts.iter().all(|(share, density)| good(share) && good(density)) {
        return None;
    }
    let mass: f64 = parts.iter().map(|p| p.0).sum();
    Some(mass / parts.iter().map(|p| p.0 / p.1).sum::<f64>())
}

/// Weight in metal of a pattern of this weight.
#[must_use]
pub fn metal_for_pattern(pattern_g: f64, metal_density: f64, pattern_density: f64) -> f64 {
    pattern_g * metal_density / pattern_density
}

/// Densities of elements for the mixing rule: symbol, g/cm3, source.
pub const ELEMENTS: [(&str, f64, &str); 13] = [
    ("Au", 19.32, TABLE_4),
    ("Ag", 10.49, TABLE_4),
    ("Cu", 8.96, TABLE_4),
    ("Pt", 21.45, CRC),
    ("Pd", 12.02, MEMORY),
    ("Ru", 12.45, MEMORY),
    ("Ir", 22.56, CRC),
    ("Co", 8.90, TABLE_4),
    ("Zn", 7.14, MEMORY),
    ("Ni", 8.91, MEMORY),
    ("Ga", 5.91, MEMORY),
    ("Sn", 7.27, MEMORY),
    ("In", 7.31, MEMORY),
];

const TABLE_4: &str = "How to determine approximate specific gravities of alloys, table 4 (tmtpages.com)";
const CRC: &str = "CRC handbook";
const MEMORY: &str = "from memory";

/// Density of an element by its symbol.
#[must_use]
pub fn element(symbol: &str) -> Option<f64> {
    ELEMENTS.iter().find(|e| e.0 == symbol).map(|e| e.1)
}
