//! Standards of fineness, the usual marks and the weights above which a hallmark is the law.

use serde::Serialize;

/// The precious metal of an alloy.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Precious {
    /// Platinum.
    Platinum,
    /// Gold.
    Gold,
    /// Palladium.
    Palladium,
    /// Silver.
    Silver,
}

/// Standards and exemption of one metal in the United Kingdom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standard {
    /// The metal.
    pub metal: Precious,
    /// Its name.
    pub name: &'static str,
    /// Legal standards in thousandths, rising.
    pub fineness: &'static [u32],
    /// Hallmark compulsory above this weight of metal, g; stones do not count.
    pub exempt_g: f64,
}

/// Source of [`STANDARDS`].
pub const STANDARDS_SOURCE: &str = "UK profile, hallmarkingconvention.org; thresholds also anchorcertacademy";

/// Standards and exemptions (hallmarkingconvention.org, UK). The Convention's common control mark knows no exemption by
/// weight. Fineness is a minimum without minus tolerance (ISO 9202).
pub const STANDARDS: [Standard; 4] = [
    Standard { metal: Precious::Platinum, name: "platinum", fineness: &[850, 900, 950, 999], exempt_g: 0.5 },
    Standard {
        metal: Precious::Gold,
        name: "gold",
        fineness: &[375, 585, 750, 916, 990, 999],
        exempt_g: 1.0,
    },
    Standard { metal: Precious::Palladium, name: "palladium", fineness: &[500, 950, 999], exempt_g: 1.0 },
    Standard { metal: Precious::Silver, name: "silver", fineness: &[800, 925, 958, 999], exempt_g: 7.78 },
];

/// The row of a metal.
#[must_use]
pub fn standard(metal: Precious) -> &'static Standard {
    let at = STANDARDS.iter().position(|s| s.metal == metal).unwrap_or(0);
    &STANDARDS[at]
}

/// Metal and fineness of an alloy from its word in the parameter file, `gold750_yellow`: the digits are the fineness.
#[must_use]
pub fn of_key(key: &str) -> Option<(Precious, u32)> {
    let metal = [
        ("platinum", Precious::Platinum),
        ("gold", Precious::Gold),
        ("palladium", Precious::Palladium),
        ("silver", Precious::Silver),
    ];
    let (word, metal) = metal.into_iter().find(|(w, _)| key.starts_with(w))?;
    let digits: String = key.get(word.len()..)?.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().ok().map(|f| (metal, f))
}

/// The standard an article of this fineness is marked with: down to the next standard (tukes.fi: 584 is marked 375).
/// `None` below the lowest.
#[must_use]
pub fn marked(metal: Precious, fineness: f64) -> Option<u32> {
    standard(metal).fineness.iter().rev().copied().find(|f| f64::from(*f) <= fineness)
}

/// Carat of gold: 24 · fineness/1000. 14 ct is 583.3 by that rule and yet marked 585.
#[must_use]
pub fn carat(fineness: f64) -> f64 {
    24.0 * fineness / 1000.0
}
