//! The bench file: what a maker has and pays, the same from job to job. Prices, stock, drawer, solders, an alloy of one's own.
//!
//! JSON with comments, like the parameter file. Everything may be left out; what is left out is "not stated" in the plan.

use crate::params::{Problem, Span, place_problems};
use crate::trade::casting::{element, mixed_density};
use crate::trade::own::Own;
use crate::trade::solders::Solder;
use crate::units::Mm;
use jsonc_parser::ast::{Object, Value};
use jsonc_parser::common::Ranged;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};
use std::sync::Arc;

/// Largest bench file read, bytes.
pub const LARGEST_BENCH: usize = 1_000_000;

/// Longest list taken: a drawer of drills has some sixty.
const MOST_LISTED: usize = 200;
/// Problems listed for one file; a file with more is no bench file.
const MOST_PROBLEMS: usize = 100;

/// What a maker has and pays.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bench {
    /// Name and how to reach the maker, for whoever receives files.
    pub maker: Option<String>,
    /// Currency of the prices, as the maker writes it.
    pub currency: Option<String>,
    /// Day of the prices, as the maker writes it.
    pub date: Option<String>,
    /// Prices by what they are of; see [`PRICES`].
    pub prices: Vec<(&'static str, f64)>,
    /// Wire, tube, strip and sheet at hand.
    pub stock: Vec<StockBar>,
    /// Drills in the drawer, mm; empty: any of the series.
    pub drills: Vec<Mm>,
    /// Parallel burs in the drawer, mm; empty: any size.
    pub burs: Vec<Mm>,
    /// Solders at hand; empty: the trade's table.
    pub solders: Vec<Solder>,
    /// Composition of an alloy of one's own, symbol and share by mass; empty where it is not stated.
    pub composition: Vec<(String, f64)>,
    /// Density of the pattern material, g/cm3. There is no usual one: it is asked for.
    pub pattern_density: Option<f64>,
    /// Sprues and button as a share of the parts.
    pub sprues_and_button: Option<f64>,
    /// Width of the saw cut, mm.
    pub kerf: Option<Mm>,
    /// Numbers of the trade's tables that are overruled, and the density of an alloy of one's own.
    pub own: Arc<Own>,
}

/// A piece of stock.
#[derive(Clone, Debug, PartialEq)]
pub struct StockBar {
    /// Section in the words of the plan: `wire 0.55`, `strip 0.50 x 2.97`, `tube 1.20/0.54`.
    pub section: String,
    /// Length of one piece.
    pub length: Mm,
    /// How many.
    pub count: usize,
}

/// Prices that are asked for: key, what it is of, unit.
pub const PRICES: [(&str, &str, &str); 6] = [
    ("metal_per_g", "metal", "a gram of metal to melt or of stock"),
    ("stone_each", "stones", "one stone"),
    ("casting_each", "casting", "one cast part"),
    ("setting_each", "setting", "setting one stone"),
    ("hour", "work", "an hour at the bench"),
    ("hours", "hours at the bench", "hours, a number"),
];

const KEYS: [&str; 12] = [
    "maker", "currency", "date", "prices", "stock", "drills", "burs", "solder", "alloy", "casting", "kerf",
    "tables",
];

struct Reader {
    problems: Vec<Problem>,
}

impl Reader {
    fn say(&mut self, path: &str, at: &impl Ranged, message: impl Into<String>, works: &str) {
        let r = at.range();
        let p = Problem::new("bench", path, Span { start: r.start, end: r.end }, message);
        self.problems.push(if works.is_empty() { p } else { p.works(works) });
    }
    fn text(&mut self, path: &str, v: &Value<'_>) -> Option<String> {
        match v {
            Value::StringLit(s)
                if (1..=120).contains(&s.value.chars().count()) && !s.value.chars().any(char::is_control) =>
            {
                Some(s.value.to_string())
            }
            other => {
                self.say(path, other, format!("{path} must be a text of 1 to 120 characters"), "\"...\"");
                None
            }
        }
    }
    fn number(&mut self, path: &str, v: &Value<'_>, least: f64, most: f64) -> Option<f64> {
        let found = match v {
            Value::NumberLit(n) => n.value.parse::<f64>().ok().filter(|x| (least..=most).contains(x)),
            _ => None,
        };
        if found.is_none() {
            self.say(path, v, format!("{path} must be a number from {least} to {most}"), "");
        }
        found
    }
    fn object<'a, 'b>(&mut self, path: &str, v: &'a Value<'b>) -> Option<&'a Object<'b>> {
        match v {
            Value::Object(o) => Some(o),
            other => {
                self.say(path, other, format!("{path} is a group, written in braces"), "{ }");
                None
            }
        }
    }
    fn list<'a, 'b>(&mut self, path: &str, v: &'a Value<'b>) -> &'a [Value<'b>] {
        match v {
            Value::Array(a) if a.elements.len() > MOST_LISTED => {
                let n = a.elements.len();
                self.say(path, v, format!("{path} has {n} entries; at most {MOST_LISTED} are taken"), "");
                &[]
            }
            Value::Array(a) => &a.elements,
            other => {
                self.say(path, other, format!("{path} is a list, written in brackets"), "[ ]");
                &[]
            }
        }
    }
    fn unknown(&mut self, path: &str, at: &impl Ranged, known: &[&str]) {
        self.say(
            path,
            at,
            format!("there is no \"{path}\" in a bench file; there are {}", known.join(", ")),
            "",
        );
    }
}

/// Reads a bench file.
///
/// # Errors
/// Every problem of the file, each at its place.
pub fn read(text: &str) -> Result<Bench, Vec<Problem>> {
    let whole = Span { start: 0, end: 1 };
    if text.len() > LARGEST_BENCH {
        let message = format!("the file has more than {LARGEST_BENCH} bytes");
        return Err(vec![Problem::new("text.too_large", "", whole, message)]);
    }
    let options = ParseOptions { allow_loose_object_property_names: false, ..ParseOptions::default() };
    let copy = text.strip_prefix('\u{feff}').map_or_else(|| text.to_owned(), |t| format!("   {t}"));
    let tree = match parse_to_ast(&copy, &CollectOptions::default(), &options) {
        Ok(t) => t,
        Err(e) => {
            let r = e.range();
            let mut p = vec![Problem::new(
                "text.syntax",
                "",
                Span { start: r.start, end: r.end },
                e.kind().to_string(),
            )];
            place_problems(text, &mut p);
            return Err(p);
        }
    };
    let mut r = Reader { problems: Vec::new() };
    let mut b = Bench::default();
    match &tree.value {
        Some(Value::Object(root)) => root_of(&mut r, &mut b, root),
        Some(other) => r.say("", other, "a bench file is written in braces", "{ }"),
        None => {}
    }
    if r.problems.is_empty() {
        Ok(b)
    } else {
        r.problems.truncate(MOST_PROBLEMS);
        place_problems(text, &mut r.problems);
        Err(r.problems)
    }
}

fn root_of(r: &mut Reader, b: &mut Bench, root: &Object<'_>) {
    for p in &root.properties {
        let (name, v) = (p.name.as_str(), &p.value);
        match name {
            "maker" => b.maker = r.text(name, v),
            "currency" => b.currency = r.text(name, v),
            "date" => b.date = r.text(name, v),
            "kerf" => b.kerf = r.number(name, v, 0.0, 2.0).map(Mm),
            "prices" => prices(r, b, v),
            "stock" => stock(r, b, v),
            "drills" => b.drills = sizes(r, name, v),
            "burs" => b.burs = sizes(r, name, v),
            "solder" => solders(r, b, v),
            "alloy" => alloy(r, b, v),
            "casting" => casting(r, b, v),
            "tables" => tables(r, b, v),
            other => r.unknown(other, p, &KEYS),
        }
    }
    // Last, as the file may overrule densities after the alloy.
    if b.own.alloy_density.is_none() {
        let parts: Vec<(f64, f64)> = b
            .composition
            .iter()
            .filter_map(|(s, share)| Some((*share, b.own.or("elements", s, "density", element(s)?))))
            .collect();
        Arc::make_mut(&mut b.own).alloy_density = mixed_density(&parts);
    }
}

/// Diameters, climbing.
fn sizes(r: &mut Reader, name: &str, v: &Value<'_>) -> Vec<Mm> {
    let list = r.list(name, v).iter().enumerate();
    let mut out: Vec<Mm> =
        list.filter_map(|(i, d)| r.number(&format!("{name}[{i}]"), d, 0.1, 6.0).map(Mm)).collect();
    out.sort_by(|x, y| x.get().total_cmp(&y.get()));
    out
}

fn prices(r: &mut Reader, b: &mut Bench, v: &Value<'_>) {
    let Some(o) = r.object("prices", v) else { return };
    for p in &o.properties {
        let name = p.name.as_str();
        match PRICES.iter().find(|k| k.0 == name) {
            Some((key, _, _)) => {
                b.prices.extend(r.number(&format!("prices.{name}"), &p.value, 0.0, 1e7).map(|x| (*key, x)));
            }
            None => r.unknown(&format!("prices.{name}"), p, &PRICES.map(|k| k.0)),
        }
    }
}

fn stock(r: &mut Reader, b: &mut Bench, v: &Value<'_>) {
    for (i, item) in r.list("stock", v).iter().enumerate() {
        let path = format!("stock[{i}]");
        let Some(o) = r.object(&path, item) else { continue };
        let (mut section, mut length, mut count) = (None, None, Some(1.0));
        for p in &o.properties {
            match p.name.as_str() {
                "section" => section = r.text(&format!("{path}.section"), &p.value),
                "length" => length = r.number(&format!("{path}.length"), &p.value, 1.0, 100_000.0),
                "count" => count = r.number(&format!("{path}.count"), &p.value, 1.0, 1000.0),
                other => r.unknown(&format!("{path}.{other}"), p, &["section", "length", "count"]),
            }
        }
        match (section, length, count) {
            (Some(section), Some(length), Some(count)) => {
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 to 1000
                b.stock.push(StockBar { section, length: Mm(length), count: count as usize });
            }
            (None, _, _) | (_, None, _) if o.properties.len() < 2 => r.say(
                &path,
                o,
                format!("{path} needs a section and a length"),
                "{ \"section\": \"wire 0.55\", \"length\": 500 }",
            ),
            _ => {}
        }
    }
}

fn solders(r: &mut Reader, b: &mut Bench, v: &Value<'_>) {
    for (i, item) in r.list("solder", v).iter().enumerate() {
        let path = format!("solder[{i}]");
        let Some(o) = r.object(&path, item) else { continue };
        let (mut grade, mut solidus, mut flow) = (None, None, None);
        for p in &o.properties {
            match p.name.as_str() {
                "grade" => grade = r.text(&format!("{path}.grade"), &p.value),
                "solidus_c" => solidus = r.number(&format!("{path}.solidus_c"), &p.value, 400.0, 1800.0),
                "flow_c" => flow = r.number(&format!("{path}.flow_c"), &p.value, 400.0, 1800.0),
                "cadmium" => {
                    if !matches!(&p.value, Value::BooleanLit(x) if !x.value) {
                        r.say(
                            &format!("{path}.cadmium"),
                            p,
                            "cadmium solder is refused: its fumes kill, and the law forbids more than 0.01 % (REACH annex XVII, entry 23)",
                            "false",
                        );
                    }
                }
                other => {
                    r.unknown(&format!("{path}.{other}"), p, &["grade", "solidus_c", "flow_c", "cadmium"]);
                }
            }
        }
        match (grade, solidus, flow) {
            (Some(grade), Some(solidus_c), Some(flow_c)) if solidus_c <= flow_c => {
                b.solders.push(Solder { grade, solidus_c, flow_c });
            }
            (Some(_), Some(_), Some(_)) => {
                r.say(
                    &path,
                    o,
                    format!("{path}: it cannot flow below its solidus; are the two swapped?"),
                    "",
                );
            }
            _ => r.say(
                &path,
                o,
                format!("{path} needs grade, solidus_c and flow_c"),
                "{ \"grade\": \"hard\", \"solidus_c\": 745, \"flow_c\": 778 }",
            ),
        }
    }
    b.solders.sort_by(|x, y| y.flow_c.total_cmp(&x.flow_c));
}

fn alloy(r: &mut Reader, b: &mut Bench, v: &Value<'_>) {
    let Some(o) = r.object("alloy", v) else { return };
    for p in &o.properties {
        match p.name.as_str() {
            "density" => {
                Arc::make_mut(&mut b.own).alloy_density = r.number("alloy.density", &p.value, 5.0, 23.0);
            }
            symbol => match element(symbol) {
                Some(_) => {
                    let share = r.number(&format!("alloy.{symbol}"), &p.value, 0.001, 1000.0);
                    b.composition.extend(share.map(|s| (symbol.to_owned(), s)));
                }
                None => r.unknown(
                    &format!("alloy.{symbol}"),
                    p,
                    &["density", "or shares by symbol: Au, Ag, Cu, Pt, Pd, Ru, Ir, Co, Zn, Ni, Ga, Sn, In"],
                ),
            },
        }
    }
}

/// `tables: { "metals": { "silver925": { "density": 10.40 } } }`.
fn tables(r: &mut Reader, b: &mut Bench, v: &Value<'_>) {
    let Some(all) = r.object("tables", v) else { return };
    for table in &all.properties {
        let path = format!("tables.{}", table.name.as_str());
        let Some(list) = r.object(&path, &table.value) else { continue };
        for row in &list.properties {
            let path = format!("{path}.{}", row.name.as_str());
            let Some(cells) = r.object(&path, &row.value) else { continue };
            for cell in &cells.properties {
                let path = format!("{path}.{}", cell.name.as_str());
                let Some(x) = r.number(&path, &cell.value, 0.0, 1e7) else { continue };
                let own = Arc::make_mut(&mut b.own);
                let set = own.set(table.name.as_str(), row.name.as_str(), cell.name.as_str(), x);
                if let Err(why) = set {
                    r.say(&path, cell, format!("{path}: {why}"), "");
                }
            }
        }
    }
    for why in b.own.contradictions() {
        r.say("tables", v, why, "");
    }
}

fn casting(r: &mut Reader, b: &mut Bench, v: &Value<'_>) {
    let Some(o) = r.object("casting", v) else { return };
    for p in &o.properties {
        match p.name.as_str() {
            "pattern_density" => {
                b.pattern_density = r.number("casting.pattern_density", &p.value, 0.7, 2.0);
            }
            "sprues_and_button" => {
                b.sprues_and_button = r.number("casting.sprues_and_button", &p.value, 0.0, 3.0);
            }
            other => r.unknown(&format!("casting.{other}"), p, &["pattern_density", "sprues_and_button"]),
        }
    }
}

impl Bench {
    /// Outside diameters of the stock of a kind, `wire` or `tube`, in the order of the file.
    #[must_use]
    pub fn diameters(&self, kind: &str) -> Vec<f64> {
        let of = |s: &StockBar| {
            let size = s.section.strip_prefix(kind)?.trim();
            size.split('/').next()?.trim().parse().ok()
        };
        self.stock.iter().filter_map(of).collect()
    }
    /// Share by mass of an element in an alloy of one's own, in thousandths; `None` where no composition is stated.
    #[must_use]
    pub fn thousandths(&self, symbol: &str) -> Option<f64> {
        let all: f64 = self.composition.iter().map(|p| p.1).sum();
        let of: f64 = self.composition.iter().filter(|p| p.0 == symbol).map(|p| p.1).sum();
        (all > 0.0).then(|| 1000.0 * of / all)
    }
    /// A price by its key.
    #[must_use]
    pub fn price(&self, key: &str) -> Option<f64> {
        self.prices.iter().find(|p| p.0 == key).map(|p| p.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bench_file_is_read() {
        let b = read(
            r#"{ // the drawer
            "currency": "EUR", "date": "2026-11-02", "prices": { "metal_per_g": 38.5, "stone_each": 21 },
            "stock": [{ "section": "wire 0.55", "length": 500, "count": 2 }],
            "drills": [0.5, 0.4], "solder": [{ "grade": "easy", "solidus_c": 705, "flow_c": 723, "cadmium": false }],
            "alloy": { "Au": 750, "Ag": 160, "Cu": 90 }, "casting": { "pattern_density": 1.09 }, "kerf": 0.25 }"#,
        )
        .unwrap();
        assert_eq!(b.price("stone_each"), Some(21.0));
        assert_eq!(b.stock[0].count, 2);
        assert_eq!(b.drills, [Mm(0.4), Mm(0.5)]);
        assert_eq!((b.diameters("wire"), b.diameters("tube")), (vec![0.55], vec![]));
        assert!((b.own.alloy_density.unwrap() - 15.596).abs() < 1e-3);
        assert_eq!((b.thousandths("Au"), b.thousandths("Ni")), (Some(750.0), Some(0.0)));
    }

    #[test]
    fn rows_of_the_tables_are_overruled() {
        let b = read(
            r#"{ "alloy": { "Au": 750, "Pd": 250 }, "tables": { "elements": { "Pd": { "density": 12.0 } } } }"#,
        );
        let by_hand = 1000.0 / (750.0 / 19.32 + 250.0 / 12.0);
        assert!((b.unwrap().own.alloy_density.unwrap() - by_hand).abs() < 1e-9);
        let e = read(
            "{ \"tables\": {\n\"metals\": { \"silver95\": { \"density\": 10.4 } },\n\"walls\": { \"claw\": { \"cast\": 0.5 } } } }",
        );
        let e = e.unwrap_err();
        assert!(e[0].line == 2 && e[0].message.contains("perhaps \"silver925\""), "{e:#?}");
        assert!(e[1].line == 3 && e[1].message.contains("perhaps \"as_cast\""), "{e:#?}");
    }

    #[test]
    fn every_problem_is_told_at_its_place() {
        let p = read(
            "{ \"currencey\": \"EUR\",\n \"prices\": { \"gold\": 3, \"hour\": -1 },\n \"stock\": [{ \"length\": 0 }],\n \"solder\": [{ \"grade\": \"easy\", \"solidus_c\": 740, \"flow_c\": 720, \"cadmium\": true }] }",
        )
        .unwrap_err();
        let lines: Vec<usize> = p.iter().map(|p| p.line).collect();
        assert!(
            lines.contains(&1) && lines.contains(&2) && lines.contains(&3) && lines.contains(&4),
            "{p:#?}"
        );
        assert!(
            p.iter().any(|p| p.message.contains("cadmium"))
                && p.iter().any(|p| p.message.contains("swapped"))
        );
    }
}
