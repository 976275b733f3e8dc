//! Every number of the trade's tables as one list: table, row, column, value, unit, source. The bench file
//! may overrule any of them.

use super::casting::{ELEMENTS, NECK_SHARE, SPRUES_AND_BUTTON, TAKEN_OFF};
use super::drills::NUMBERS;
use super::hallmark::{standards, threshold_g};
use super::limits;
use super::mechanics::MECHANICS;
use super::metals::METALS;
use super::processes::PROCESSES;
use super::solders::{FAMILIES, STEP, source};
use super::stones::{TRADE_SIZES, round_carat};
use super::wearing::WEARING;
use crate::units::Mm;
use serde::Serialize;

/// One number of a table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// Table, such as `metals`.
    pub table: &'static str,
    /// Row, such as `silver925`.
    pub row: String,
    /// Column, such as `density`.
    pub column: &'static str,
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// Where it comes from.
    pub source: String,
}

const PRACTICE: &str = "common practice, no published source";
const UK: &str = "hallmarkingconvention.org, UK profile";
/// The precious metals that are marked.
const MARKED: [&str; 4] = ["platinum", "palladium", "gold", "silver"];

/// Every row, table by table.
#[must_use]
pub fn rows() -> Vec<Row> {
    let mut out = Vec::new();
    let mut add = |table, row: &str, column, value: f64, unit, source: &str| {
        out.push(Row { table, row: row.to_owned(), column, value, unit, source: source.to_owned() });
    };
    for m in METALS {
        add("metals", m.key, "density", m.density, "g/cm3", m.source);
    }
    for (symbol, density, from) in ELEMENTS {
        add("elements", symbol, "density", density, "g/cm3", from);
    }
    add("casting", "sprues_and_button", "share", SPRUES_AND_BUTTON, "of the parts", PRACTICE);
    add(
        "casting",
        "neck",
        "least_share",
        NECK_SHARE,
        "of the place",
        "proposal, no published source; Heuvers' circle method asks for 1",
    );
    add("casting", "taken_off", "mm", TAKEN_OFF, "mm", "proposal, no published source");
    for (family, list) in FAMILIES {
        for &(grade, solidus, flow) in list {
            let row = format!("{family} {grade}");
            add("solders", &row, "solidus_c", solidus, "C", source(family));
            add("solders", &row, "flow_c", flow, "C", source(family));
        }
    }
    add("solders", "any", "step_c", STEP, "C", PRACTICE);
    for (n, inches) in NUMBERS {
        let source = if n == 60 { "from memory" } else { "public tables of number drills" };
        add("number_drills", &n.to_string(), "mm", inches * 25.4, "mm", source);
    }
    let formula = "0.0061 d^3 x 0.60 x 1.03 (gemgate.com, gemfacts.com), of a stone of 1 mm";
    add("stones", "round", "carat_per_mm3", round_carat(Mm(1.0)), "ct/mm3", formula);
    for (d, least, most) in TRADE_SIZES {
        let source = "aakashdiamonds.com, neweysjewellers.co.uk";
        add("trade_sizes", &format!("{d:.1}"), "least_ct", least, "ct", source);
        add("trade_sizes", &format!("{d:.1}"), "most_ct", most, "ct", source);
    }
    for metal in MARKED {
        if let Some(g) = threshold_g(metal) {
            add("hallmark", metal, "threshold_g", g, "g", UK);
        }
        for s in standards(metal) {
            add("fineness", &format!("{metal} {s}"), "least", f64::from(*s), "thousandths", UK);
        }
    }
    for m in MECHANICS {
        for (column, x, unit) in [
            ("modulus", m.modulus, "MPa"),
            ("yield_annealed", m.yield_annealed, "MPa"),
            ("ultimate_annealed", m.ultimate_annealed, "MPa"),
            ("yield_hard", m.yield_hard, "MPa"),
        ] {
            add("mechanics", m.key, column, x, unit, m.source);
        }
    }
    for w in WEARING {
        add("wearing", w.key, "hardness", w.hardness, "HV", w.source);
        add("wearing", w.key, "ultimate_hard", w.ultimate_hard, "MPa", w.source);
        add("wearing", w.key, "solder", w.solder, "MPa", "proposal, no published source");
    }
    for l in limits::ALL {
        let source = l.source.words();
        add("walls", l.class, "as_cast", l.as_cast.get(), "mm", source);
        add("walls", l.class, "finished", l.finished.get(), "mm", source);
        if let Some(s) = l.stock {
            add("walls", l.class, "stock", s.get(), "mm", source);
        }
    }
    add("edges", "beside an opening", "least", limits::EDGE.get(), "deg", limits::Source::Proposal.words());
    for p in PROCESSES {
        for (column, l, unit) in p.limits() {
            add("processes", p.name, column, l.value, unit, l.source);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_there_once_and_has_a_source() {
        let all = rows();
        assert!(all.len() > 200, "{}", all.len());
        for (i, r) in all.iter().enumerate() {
            assert!(r.value.is_finite() && r.value > 0.0 && r.source.len() > 8, "{r:?}");
            let same = |o: &Row| (o.table, &o.row, o.column) == (r.table, &r.row, r.column);
            assert!(!all[..i].iter().any(same), "{r:?}");
        }
    }
}
