//! What the maker's own prices come to, line by line; what has no price is said to have none.

use super::bench::{Bench, PRICES};
use super::metal::Metal;
use crate::parts::Route;
use serde::Serialize;

/// One line of the reckoning.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CostLine {
    /// What.
    pub what: &'static str,
    /// How much of it.
    pub amount: f64,
    /// In which unit.
    pub unit: &'static str,
    /// Price of one; `None` where the bench file gives none.
    pub price: Option<f64>,
    /// Amount times price.
    pub cost: Option<f64>,
}

/// The reckoning.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cost {
    /// As the bench file says.
    pub currency: Option<String>,
    /// As the bench file says.
    pub date: Option<String>,
    /// Every line.
    pub lines: Vec<CostLine>,
    /// Sum of the lines that have a price.
    pub sum: f64,
    /// Lines without a price.
    pub without_price: usize,
}

/// Reckons.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn cost(bench: &Bench, metal: &Metal, stones: usize) -> Cost {
    let cast: usize = metal.parts.iter().filter(|p| p.route == Route::Cast).map(|p| p.count).sum();
    let mut lines = Vec::new();
    let mut add = |key: &'static str, amount: f64, unit: &'static str| {
        if amount <= 0.0 {
            return;
        }
        let what = PRICES.iter().find(|p| p.0 == key).map_or(key, |p| p.1);
        let price = bench.price(key);
        lines.push(CostLine { what, amount, unit, price, cost: price.map(|p| p * amount) });
    };
    add("metal_per_g", metal.to_melt_g + metal.stock_g, "g");
    add("casting_each", cast as f64, "parts");
    add("stone_each", stones as f64, "stones");
    add("setting_each", stones as f64, "stones");
    if let Some(hours) = bench.price("hours") {
        add("hour", hours, "h");
    }
    Cost {
        currency: bench.currency.clone(),
        date: bench.date.clone(),
        sum: lines.iter().filter_map(|l| l.cost).sum(),
        without_price: lines.iter().filter(|l| l.cost.is_none()).count(),
        lines,
    }
}
