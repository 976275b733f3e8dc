//! The plan of the whole job: how many stones and how long, metal, stock, tools, heats, steps, cost. Every number comes from
//! the design's own dimensions, its solids, the tables in [`crate::trade`] or the maker's bench file, and says which.

pub mod arrange;
pub mod bench;
pub mod clasp_mass;
pub mod compare;
pub mod cost;
pub mod cut;
pub mod form;
pub mod line;
pub mod measured;
pub mod metal;
pub mod sheet;
pub mod solder;
pub mod steps;
pub mod stock;
mod stock_clasp;
pub mod tools;
mod tools_clasp;

use crate::mesh::exact::SolidMass;
use crate::params::{Design, Key, Origin};
use crate::trade::hallmark::of_alloy;
use crate::trade::stones::{round_carat, trade_size};
use crate::units::Mm;
use bench::Bench;
use clasp_mass::ClaspMass;
use serde::Serialize;

/// A carat, g, exactly.
const CARAT_G: f64 = 0.2;
/// Stones ordered beyond the count, as a share, at least one (common practice).
const SPARE_STONES: f64 = 0.03;
/// Saw cut where the bench file gives none, mm (common practice).
const KERF: f64 = 0.25;

/// The stones.
#[derive(Clone, Debug, Serialize)]
pub struct Stones {
    /// How many.
    pub count: usize,
    /// Diameter.
    pub diameter_mm: f64,
    /// Sorted within.
    pub tolerance_mm: f64,
    /// Weight of one.
    pub each_carat: f64,
    /// Where that comes from.
    pub each_source: &'static str,
    /// Weight of all.
    pub carats: f64,
    /// By the formula for round brilliants.
    pub formula_carats: f64,
    /// All, g.
    pub weight_g: f64,
    /// To order beyond the count.
    pub spare: usize,
    /// Nearest trade size: diameter, mm, and the least and largest weight the tables print for it, ct.
    pub trade_size: (f64, f64, f64),
}

/// The plan.
#[derive(Clone, Debug, Serialize)]
pub struct Plan {
    /// Form of this document.
    pub format: &'static str,
    /// Name of the design.
    pub design: String,
    /// What keeps the job from being done as planned; empty when nothing does.
    pub findings: Vec<String>,
    /// Numbers of the trade's tables that the bench file overrules.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub overruled: Vec<crate::trade::own::Overruled>,
    /// The line.
    pub line: line::Line,
    /// A finished length that was wished for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wish: Option<line::Wish>,
    /// The stones.
    pub stones: Stones,
    /// The metal.
    pub metal: metal::Metal,
    /// What it costs.
    pub cost: cost::Cost,
    /// Pieces to cut.
    pub stock: Vec<stock::Piece>,
    /// From which bars.
    pub cuts: Vec<cut::Cut>,
    /// Drills and burs.
    pub tools: Vec<tools::Tool>,
    /// Heats.
    pub solder: solder::Soldering,
    /// The steps.
    pub steps: Vec<steps::Step>,
    /// What to measure.
    pub inspection: Vec<steps::Inspect>,
    /// What to try.
    pub trials: Vec<&'static str>,
    /// The hallmark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hallmark: Option<steps::Hallmark>,
}

/// Plans a job, the clasp weighed by estimate. `link` is the mass of one finished link; `wish` a finished flat length.
#[must_use]
pub fn plan(design: &Design, bench: &Bench, link: SolidMass, wish: Option<Mm>) -> Plan {
    plan_with(design, bench, link, None, wish)
}

/// Plans a job, the clasp weighed by its own solids where they are given.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
pub fn plan_with(
    design: &Design,
    bench: &Bench,
    link: SolidMass,
    clasp: Option<&ClaspMass>,
    wish: Option<Mm>,
) -> Plan {
    let line = line::line(design);
    let mut pieces = stock::pieces(design, line.links, line.joints);
    let route = stock::link_route(design);
    let mut wholes = vec![metal::Whole {
        part: "link",
        route,
        count: line.links,
        known: metal::Known::Solid,
        volume: link.volume,
        area: link.area,
    }];
    match clasp {
        Some(mass) => wholes.extend(clasp_mass::wholes(design, mass, &mut pieces)),
        None => wholes.extend(stock_clasp::frame(design, link)),
    }
    let mut metal = metal::metal(design, bench, &wholes, &pieces);
    if design.dims().clasp.is_none() {
        metal.without.push("The bought clasp is not in these sums.".into());
    }
    let cuts = cut::cuts(&pieces, &bench.stock, bench.kerf.map_or(KERF, Mm::get));
    let solder = solder::soldering(design, bench, line.links, line.joints);
    let given = design.values().iter().any(|v| v.path == Key::Carat.path() && v.origin == Origin::Given);
    let d = design.get(Key::Diameter);
    let per_mm3 = bench.own.or("stones", "round", "carat_per_mm3", 0.0);
    let formula = if per_mm3 > 0.0 { per_mm3 * d * d * d } else { round_carat(Mm(d)) };
    let each = if given || per_mm3 <= 0.0 { design.get(Key::Carat) } else { formula };
    // Of a bought clasp only the length counts: it carries no stones of the line.
    let count = line.stones - if design.dims().clasp.is_some() { 0 } else { line.clasp_stones };
    let n = count as f64;
    let size = trade_size(Mm(d));
    let row = format!("{:.1}", size.0);
    let stones = Stones {
        count,
        diameter_mm: design.get(Key::Diameter),
        tolerance_mm: design.get(Key::StoneTolerance),
        each_carat: each,
        each_source: match (given, per_mm3 > 0.0) {
            (true, _) => "the file",
            (_, true) => "the bench file",
            _ => "0.0061 d^3 x 0.60 x 1.03",
        },
        carats: n * each,
        formula_carats: n * formula,
        weight_g: n * each * CARAT_G,
        spare: ((n * SPARE_STONES).ceil() as usize).max(1),
        trade_size: (
            size.0,
            bench.own.or("trade_sizes", &row, "least_ct", size.1),
            bench.own.or("trade_sizes", &row, "most_ct", size.2),
        ),
    };
    let area = |section: &str| pieces.iter().find(|p| p.section == section).map_or(0.0, |p| p.area_mm2);
    metal.stock_g =
        cuts.iter().map(|c| c.to_buy_mm * area(&c.section)).sum::<f64>() * metal.density_g_cm3 / 1000.0;
    let cost = cost::cost(bench, &metal, count);
    let hallmark = steps::hallmark(design, bench, metal.finished_g);
    let wish = wish.map(|l| line::wish(design.get(Key::Width), l.get()));
    let tools = tools::tools(design, bench, line.links, line.joints);
    let mut out = Plan {
        format: "colletline plan 1",
        design: design.name().to_owned(),
        findings: Vec::new(),
        overruled: bench.own.list().to_vec(),
        steps: steps::steps(design, bench, hallmark.as_ref()),
        inspection: steps::inspection(design, &line),
        trials: steps::trials(design),
        hallmark,
        line,
        wish,
        stones,
        metal,
        cost,
        stock: pieces,
        cuts,
        tools,
        solder,
    };
    out.findings = findings(&out);
    out.findings.extend(own_alloy(design, &out));
    out
}

fn findings(p: &Plan) -> Vec<String> {
    let mut out = Vec::new();
    if let Some(w) = p.wish.as_ref().filter(|w| w.ways.is_empty()) {
        let near: Vec<String> = w
            .nearest
            .iter()
            .map(|(l, n, g)| format!("{l:.2} mm with {n} stones at a gap of {g:.2}"))
            .collect();
        out.push(format!(
            "No count of stones gives {:.2} mm with gaps of 0.08 to 0.20; nearest: {}. Or another setting width.",
            w.length_mm,
            near.join(", or ")
        ));
    }
    if !(line::EASE.0..=line::EASE.1).contains(&p.line.ease_mm) {
        out.push(format!(
            "Ease {:.2} mm: {:.0} to {:.0} is worn; see the line with one stone more or less.",
            p.line.ease_mm,
            line::EASE.0,
            line::EASE.1
        ));
    }
    out.extend(p.solder.no_order.clone());
    out.extend(p.cuts.iter().filter_map(|c| c.short.as_ref().map(|s| format!("{}: {s}", c.section))));
    out.extend(
        p.tools.iter().filter(|t| t.note.starts_with("no drill") || t.note.starts_with("no bur")).map(|t| {
            format!("{}: no {} of {:.2} mm or a little less is at hand", t.cut, t.tool, t.wanted_mm)
        }),
    );
    out
}

/// What an alloy by its own composition does not keep of the alloy's name.
fn own_alloy(design: &Design, p: &Plan) -> Option<String> {
    let (metal, named) = of_alloy(design.metal().key)?;
    let h = p.hallmark.as_ref().filter(|h| h.fineness + 1e-9 < f64::from(named))?;
    Some(format!(
        "The composition in the bench file has {:.0} thousandths of {metal}; {} needs {named}. Mend one of the two.",
        h.fineness,
        design.metal().name
    ))
}
