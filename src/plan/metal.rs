//! Weight of every part: finished, as cast, filings apart, and what goes into the crucible.

use super::bench::Bench;
use super::stock::Piece;
use crate::params::Design;
use crate::parts::Route;
use crate::trade::casting::{SPRUES_AND_BUTTON, TAKEN_OFF};
use crate::trade::metals::METALS;
use serde::Serialize;

/// How a volume is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Known {
    /// From the exact solid.
    Solid,
    /// Section times length.
    ClosedForm,
    /// An estimate, within a fifth.
    Estimate,
}

/// One kind of part with its weight.
#[derive(Clone, Debug, Serialize)]
pub struct PartWeight {
    /// In bench words.
    pub part: String,
    /// How it is made.
    pub route: Route,
    /// How many.
    pub count: usize,
    /// Volume of one, finished.
    pub volume_mm3: f64,
    /// How that is known.
    pub known: Known,
    /// Weight of one, finished, without stone.
    pub each_g: f64,
    /// Weight of all.
    pub all_g: f64,
    /// Weight of all as they come from the flask, with what filing and polishing take; parts not cast: as finished.
    pub as_cast_g: f64,
}

/// Metal of the whole.
#[derive(Clone, Debug, Serialize)]
pub struct Metal {
    /// Alloy.
    pub alloy: String,
    /// Density used.
    pub density_g_cm3: f64,
    /// Where that comes from.
    pub density_source: String,
    /// Every part.
    pub parts: Vec<PartWeight>,
    /// All parts, finished, without stones.
    pub finished_g: f64,
    /// Filings and polish: as cast less finished; to be collected apart, never melted into new work unrefined.
    pub filings_g: f64,
    /// What is cast, with sprues and button.
    pub to_melt_g: f64,
    /// Share added for sprues and button.
    pub sprues_and_button: f64,
    /// Sheet and drawn stock to buy, with saw cuts and spare; offcuts and filings come back as scrap.
    pub stock_g: f64,
    /// Weight of the patterns without sprues; `None` where the density of the pattern is not stated.
    pub patterns_g: Option<f64>,
    /// The same line in the other alloys, finished.
    pub other_alloys: Vec<(&'static str, f64)>,
    /// Parts whose weight is not in these sums, and why.
    pub without: Vec<String>,
}

/// What stands in for a part that has a solid.
pub struct Whole<'a> {
    /// In bench words.
    pub part: &'a str,
    /// How it is made.
    pub route: Route,
    /// How many.
    pub count: usize,
    /// How its volume is known.
    pub known: Known,
    /// mm3.
    pub volume: f64,
    /// Skin, mm2.
    pub area: f64,
}

/// Weighs the parts.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn metal(design: &Design, bench: &Bench, wholes: &[Whole<'_>], wires: &[Piece]) -> Metal {
    let m = design.metal();
    let (density, density_source) = bench.own.density(m);
    let off = bench.own.or("casting", "taken_off", "mm", TAKEN_OFF);
    let grams = |mm3: f64| mm3 * density / 1000.0;
    let mut parts: Vec<PartWeight> = wholes
        .iter()
        .map(|w| {
            let n = w.count as f64;
            let skin = if w.route == Route::Cast { off * w.area } else { 0.0 };
            PartWeight {
                part: w.part.to_owned(),
                route: w.route,
                count: w.count,
                volume_mm3: w.volume,
                known: w.known,
                each_g: grams(w.volume),
                all_g: n * grams(w.volume),
                as_cast_g: n * grams(w.volume + skin),
            }
        })
        .collect();
    for w in wires.iter().filter(|w| w.in_finished > 0.0) {
        let (volume, n) = (w.area_mm2 * w.in_finished, w.count as f64);
        parts.push(PartWeight {
            part: w.what.clone(),
            route: Route::Stock,
            count: w.count,
            volume_mm3: volume,
            known: Known::ClosedForm,
            each_g: grams(volume),
            all_g: n * grams(volume),
            as_cast_g: n * grams(volume),
        });
    }
    let finished_g: f64 = parts.iter().map(|p| p.all_g).sum();
    let as_cast: f64 = parts.iter().map(|p| p.as_cast_g).sum();
    let cast: f64 = parts.iter().filter(|p| p.route == Route::Cast).map(|p| p.as_cast_g).sum();
    let usual = bench.own.or("casting", "sprues_and_button", "share", SPRUES_AND_BUTTON);
    let more = bench.sprues_and_button.unwrap_or(usual);
    Metal {
        alloy: m.name.to_owned(),
        density_g_cm3: density,
        density_source: density_source.to_owned(),
        finished_g,
        filings_g: as_cast - finished_g,
        to_melt_g: cast * (1.0 + more),
        sprues_and_button: more,
        stock_g: 0.0,
        patterns_g: bench.pattern_density.map(|p| cast / density * p),
        other_alloys: METALS
            .iter()
            .map(|o| (o.name, finished_g / density * bench.own.or("metals", o.key, "density", o.density)))
            .collect(),
        parts,
        without: Vec::new(),
    }
}
