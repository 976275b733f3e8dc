//! Fineness and hallmarking. Law differs from place to place: the assay office has the last word.

/// The standards of fineness by metal, parts in a thousand, as the law of the United Kingdom names them
/// (hallmarkingconvention.org, UK profile).
#[must_use]
pub fn standards(metal: &str) -> &'static [u32] {
    match metal {
        "platinum" => &[850, 900, 950, 999],
        "palladium" => &[500, 950, 999],
        "gold" => &[375, 585, 750, 916, 990, 999],
        "silver" => &[800, 925, 958, 999],
        _ => &[],
    }
}

/// The highest standard that an alloy of this fineness meets: always rounded down, no minus tolerance (ISO 9202; the rule
/// "584 is 375" at tukes.fi). `None` below the lowest.
#[must_use]
pub fn mark_for(metal: &str, fineness: f64) -> Option<u32> {
    standards(metal).iter().rev().copied().find(|s| fineness + 1e-9 >= f64::from(*s))
}

/// Weight of metal, g, from which hallmarking is compulsory in the United Kingdom (hallmarkingconvention.org, UK profile).
#[must_use]
pub fn threshold_g(metal: &str) -> Option<f64> {
    match metal {
        "platinum" => Some(0.5),
        "palladium" | "gold" => Some(1.0),
        "silver" => Some(7.78),
        _ => None,
    }
}

/// Metal and fineness of an alloy's word in the parameter file: `gold750_yellow` is gold, 750.
#[must_use]
pub fn of_alloy(key: &str) -> Option<(&'static str, u32)> {
    let metal = ["platinum", "palladium", "gold", "silver"].into_iter().find(|m| key.starts_with(m))?;
    let digits: String = key.chars().skip(metal.len()).take_while(char::is_ascii_digit).collect();
    digits.parse().ok().map(|f| (metal, f))
}
