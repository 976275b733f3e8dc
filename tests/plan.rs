//! The plan over every route, shape and joint: nothing listed twice, nothing of the other route, every collet and stone once.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use colletline::mesh::exact::SolidMass;
use colletline::params::{self, Design};
use colletline::parts::Route;
use colletline::plan::bench::{self, Bench};
use colletline::plan::clasp_mass::ClaspMass;
use colletline::plan::{Plan, plan, plan_with};
use nalgebra::Point3;

/// A link's mass; what a plan does with it does not depend on how it came about.
const LINK: SolidMass = SolidMass {
    volume: 16.0,
    volume_error: 0.0,
    area: 90.0,
    area_error: 0.0,
    centre: Point3::new(0.0, 0.0, 1.0),
};

fn design(alloy: &str, shape: &str, joint: &str, link: &str, frame: &str) -> Design {
    let text = format!(
        r#"{{ "metal": {{ "alloy": "{alloy}" }}, "stone": {{ "diameter": 4.0 }}, "wearer": {{ "wrist": 165 }},
             "collet": {{ "shape": "{shape}" }}, "joint": {{ "kind": "{joint}" }}, "link": {{ "route": "{link}" }},
             "clasp": {{ "frame": {{ "route": "{frame}" }} }} }}"#
    );
    params::read(&text).unwrap_or_else(|p| panic!("{p:#?}"))
}

/// Every route of link and frame, every shape and joint.
fn every(check: impl Fn(&str, &Design, &Plan, bool, bool)) {
    let mut seen = 0;
    for shape in ["round", "square", "cushion"] {
        for joint in ["wire_loop", "hinge_tube"] {
            for (link, frame) in [
                ("cast", "cast"),
                ("cast", "fabricated"),
                ("fabricated", "cast"),
                ("fabricated", "fabricated"),
            ] {
                let d = design("platinum950_ru", shape, joint, link, frame);
                let p = plan(&d, &Bench::default(), LINK, None);
                let name = format!("{shape} {joint} {link} {frame}");
                check(&name, &d, &p, link == "fabricated", frame == "fabricated");
                seen += 1;
            }
        }
    }
    assert_eq!(seen, 24);
}

fn pieces(p: &Plan, what: &str) -> usize {
    p.stock.iter().filter(|x| x.what == what).map(|x| x.count).sum()
}

#[test]
fn nothing_is_listed_twice_and_each_part_has_the_stock_of_its_own_route() {
    every(|name, _, p, link, frame| {
        let unique = |list: Vec<&str>| {
            let mut sorted = list.clone();
            sorted.sort_unstable();
            sorted.dedup();
            assert_eq!(sorted.len(), list.len(), "{name}: {list:?}");
        };
        unique(p.stock.iter().map(|x| x.what.as_str()).collect());
        unique(p.metal.parts.iter().map(|x| x.part.as_str()).collect());
        unique(p.cuts.iter().map(|x| x.section.as_str()).collect());
        unique(p.tools.iter().map(|x| x.cut.as_str()).collect());
        unique(p.solder.heats.iter().map(|x| x.joins.as_str()).collect());
        unique(p.steps.iter().map(|x| x.step).collect());

        let (n, on_clasp) = (p.line.links, p.line.clasp_stones);
        // A collet of the frame is counted with the frame, never with the line.
        assert_eq!(pieces(p, "collet"), if link { n } else { 0 }, "{name}");
        assert_eq!(pieces(p, "claw"), if link { 4 * n } else { 0 }, "{name}");
        assert_eq!(pieces(p, "frame collet"), if frame { on_clasp } else { 0 }, "{name}");
        assert_eq!(pieces(p, "frame claw"), if frame { 4 * on_clasp } else { 0 }, "{name}");
        assert_eq!(pieces(p, "rail"), if frame { 2 } else { 0 }, "{name}");
        // A cast part has no stock, and metal to melt; a built one the other way round.
        for (part, built) in [("link", link), ("clasp frame", frame)] {
            let w = p.metal.parts.iter().find(|x| x.part == part).expect(part);
            assert_eq!(w.route, if built { Route::Fabricated } else { Route::Cast }, "{name}");
            assert_eq!(w.as_cast_g > w.all_g, !built, "{name} {part}");
        }
        assert_eq!(p.metal.to_melt_g == 0.0, link && frame, "{name}");
        // Never cast: they are in the stock of every route.
        for what in
            ["base plate", "leaf", "clasp pin", "tongue strip", "side catch", "chain ring", "jump ring"]
        {
            assert!(pieces(p, what) > 0, "{name}: {what}");
        }
    });
}

#[test]
fn every_seam_is_soldered_once_and_every_stone_has_its_seat() {
    every(|name, _, p, link, frame| {
        let collets = pieces(p, "collet") + pieces(p, "frame collet");
        let seams: usize =
            p.solder.heats.iter().filter(|h| h.joins.contains("collet seams")).map(|h| h.joints).sum();
        assert_eq!(seams, 5 * collets, "{name}");
        let rails = p.solder.heats.iter().any(|h| h.joins.contains("rails"));
        assert_eq!((rails, collets > 0), (frame, link || frame), "{name}");
        let seats = p.tools.iter().find(|t| t.cut == "seat").unwrap().times;
        assert_eq!((seats, p.stones.count), (p.line.stones, p.line.stones), "{name}");
        // The heats keep their distance: at least 20 below every earlier solidus, or the same grade shielded.
        let mut earlier: Vec<(String, f64)> = Vec::new();
        for h in &p.solder.heats {
            let s = h.solder.as_ref().unwrap_or_else(|| panic!("{name}: {:?}", p.solder.no_order));
            assert!(
                earlier.iter().all(|(g, solidus)| *g == s.grade || s.flow_c <= solidus - 20.0),
                "{name}: {h:?}"
            );
            earlier.push((s.grade.clone(), s.solidus_c));
        }
    });
}

#[test]
fn sums_are_of_what_is_shown_and_the_promised_paths_are_there() {
    every(|name, d, p, _, _| {
        let json = serde_json::to_value(p).unwrap();
        for path in [
            "/line/stones",
            "/line/length_mm",
            "/line/inner_length_mm",
            "/stones/carats",
            "/metal/finished_g",
            "/metal/to_melt_g",
        ] {
            assert!(json.pointer(path).is_some_and(serde_json::Value::is_number), "{name}: {path}");
        }
        let parts: f64 = p.metal.parts.iter().map(|x| x.all_g).sum();
        assert!((parts - p.metal.finished_g).abs() < 1e-9, "{name}");
        let needed: f64 = p.cuts.iter().map(|c| c.needed_mm).sum();
        let pieces: f64 = p.stock.iter().map(|x| x.count as f64 * (x.length_mm + 0.25)).sum();
        assert!((needed - pieces).abs() < 1e-6, "{name}: {needed} {pieces}");
        // What is bought covers what is cut from it and ends up in the piece.
        let inside: f64 = p.stock.iter().map(|x| x.count as f64 * x.in_finished * x.area_mm2).sum();
        assert!(p.metal.stock_g > inside * p.metal.density_g_cm3 / 1000.0, "{name}");
        assert!((p.line.length_mm - d.dims().line_length.get()).abs() < 1e-12, "{name}");
    });
}

#[test]
fn the_line_of_42_stones_of_4_mm_is_more_than_ten_carats() {
    let text = include_str!("../params/line-4.0-platinum.jsonc");
    let d = params::read(text).unwrap();
    let p = plan(&d, &Bench::default(), LINK, None);
    assert_eq!(p.line.stones, 42);
    assert!(p.stones.carats > 10.0 && p.stones.formula_carats > 10.0, "{:?}", p.stones);
    assert!((p.line.length_mm - 176.4).abs() < 1e-9 && p.findings.is_empty(), "{:?}", p.findings);
    // Stock of this line with everything cast, before spare, as a second reckoning of the same bench found it: 238 mm of
    // connecting wire, 7 of clasp tube, 20 of pin wire, 321 of chain wire (rings at 0.30 of saw cut).
    let of = |section: &str| p.cuts.iter().find(|c| c.section == section).map_or(0.0, |c| c.needed_mm);
    assert!((of("wire 0.55") - 238.0).abs() < 1.0 && (of("wire 0.50") - 20.0).abs() < 1.0);
    assert!((of("tube 1.20/0.54") - 7.0).abs() < 1.0 && (of("wire 0.35") - 321.0).abs() < 2.0);
}

#[test]
fn the_clasp_weighs_what_its_solids_weigh() {
    let d = design("platinum950_ru", "round", "wire_loop", "cast", "cast");
    let of = |volume: f64| SolidMass { volume, ..LINK };
    let mass = ClaspMass { frame: of(75.0), plate: of(30.0), leaf: of(24.0), strip: of(1.8) };
    let p = plan_with(&d, &Bench::default(), LINK, Some(&mass), None);
    let row = |name: &str| p.metal.parts.iter().find(|x| x.part == name).unwrap_or_else(|| panic!("{name}"));
    let all = |names: &[&str]| names.iter().map(|n| row(n).volume_mm3 * row(n).count as f64).sum::<f64>();
    let tubes = all(&["clasp, outer knuckle", "clasp, middle knuckle", "side catch, chenier"]);
    let bodies = all(&["clasp frame", "base plate", "leaf", "tongue strip"]);
    assert!((tubes + bodies - (75.0 + 30.0 + 24.0 + 3.6)).abs() < 1e-9, "{tubes} {bodies}");
    assert!(row("clasp frame").volume_mm3 < 75.0, "tube is not cast");
    // What is in the plate's solid is not weighed a second time.
    assert!(!p.metal.parts.iter().any(|x| ["plate lug", "ledge"].contains(&x.part.as_str())));
    let names: Vec<&str> = p.metal.parts.iter().map(|x| x.part.as_str()).collect();
    assert!(names.iter().all(|n| names.iter().filter(|m| *m == n).count() == 1), "{names:?}");
    // What is bought does not change with how it is weighed.
    let rough = plan(&d, &Bench::default(), LINK, None);
    assert_eq!(rough.cuts, p.cuts);
}

#[test]
fn an_alloy_of_ones_own_is_held_to_its_name() {
    let d = design("gold750_yellow", "round", "wire_loop", "cast", "cast");
    let with = |text: &str| plan(&d, &bench::read(text).unwrap(), LINK, None);
    let good = with(r#"{ "alloy": { "Au": 752, "Ag": 158, "Cu": 90 } }"#);
    assert!(good.hallmark.as_ref().is_some_and(|h| h.mark == Some(750)), "{:?}", good.hallmark);
    assert!(!good.findings.iter().any(|f| f.contains("composition")), "{:?}", good.findings);
    // ISO 9202: no minus tolerance; 749.9 is marked 585.
    let short = with(r#"{ "alloy": { "Au": 749.9, "Ag": 160.1, "Cu": 90 } }"#);
    assert!(short.hallmark.as_ref().is_some_and(|h| h.mark == Some(585)), "{:?}", short.hallmark);
    assert!(
        short.findings.iter().any(|f| f.contains("composition") && f.contains("750")),
        "{:?}",
        short.findings
    );
    // Nickel is told wherever it comes from.
    let nickel = with(r#"{ "alloy": { "Au": 750, "Ni": 120, "Cu": 90, "Zn": 40 } }"#);
    assert!(nickel.steps.iter().any(|s| s.caution.contains("EN 1811")));
    assert!(!good.steps.iter().any(|s| s.caution.contains("EN 1811")));
}

#[test]
fn each_step_that_can_hurt_has_its_caution() {
    every(|name, _, p, _, _| {
        let has = |word: &str| p.steps.iter().any(|s| s.caution.to_lowercase().contains(word));
        for word in ["polishing wheel", "goggles", "small parts", "glows white"] {
            assert!(has(word), "{name}: {word}");
        }
        let bare: Vec<&str> = p.steps.iter().filter(|s| s.caution.is_empty()).map(|s| s.step).collect();
        assert!(
            !bare.iter().any(|s| ["casting", "solder", "inside", "finish", "setting", "clasp"].contains(s)),
            "{bare:?}"
        );
    });
    let silver =
        plan(&design("silver925", "round", "wire_loop", "cast", "cast"), &Bench::default(), LINK, None);
    assert!(silver.steps.iter().any(|s| s.caution.contains("flux fumes") && s.caution.contains("Pickle")));
}

/// Every example of the folder, as it is and with the routes of link and frame turned round.
fn examples() -> Vec<(String, Design)> {
    use jsonc_parser::cst::{CstInputValue, CstRootNode};
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("params");
    let mut out = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "jsonc") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let d = params::read(&text).unwrap();
        let folding = d.dims().clasp.is_some();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        out.push((name.clone(), d));
        for link in ["cast", "fabricated"] {
            for frame in ["cast", "fabricated"] {
                let root = CstRootNode::parse(&text, &jsonc_parser::ParseOptions::default()).unwrap();
                let top = root.object_value().unwrap();
                let set = |groups: &[&str], word: &str| {
                    let mut at = top.clone();
                    for g in groups {
                        at = at.object_value_or_set(g);
                    }
                    let word = CstInputValue::String(word.to_owned());
                    match at.get("route") {
                        Some(p) => p.set_value(word),
                        None => _ = at.append("route", word),
                    }
                };
                set(&["link"], link);
                if folding {
                    set(&["clasp", "frame"], frame);
                }
                let d = params::read(&root.to_string()).unwrap_or_else(|p| panic!("{name}: {p:#?}"));
                out.push((format!("{name}, {link} links, {frame} frame"), d));
            }
        }
    }
    assert!(out.len() >= 30, "{}", out.len());
    out
}

#[test]
fn no_example_lists_anything_twice_whatever_its_routes() {
    for (name, d) in examples() {
        let p = plan(&d, &Bench::default(), LINK, None);
        for list in [
            p.stock.iter().map(|x| x.what.clone()).collect::<Vec<_>>(),
            p.metal.parts.iter().map(|x| x.part.clone()).collect(),
            p.cuts.iter().map(|x| x.section.clone()).collect(),
            p.tools.iter().map(|x| x.cut.clone()).collect(),
            p.solder.heats.iter().map(|x| x.joins.clone()).collect(),
            p.steps.iter().map(|x| x.step.to_owned()).collect(),
            p.inspection.iter().map(|x| x.what.clone()).collect(),
            p.cost.lines.iter().map(|x| x.what.to_owned()).collect(),
            p.trials.iter().map(|x| (*x).to_owned()).collect(),
        ] {
            let mut sorted = list.clone();
            sorted.sort_unstable();
            sorted.dedup();
            assert_eq!(sorted.len(), list.len(), "{name}: {list:?}");
        }
        // A part is cast or has stock of its own, never both.
        for part in p.metal.parts.iter().filter(|x| x.route == Route::Cast) {
            assert_eq!(pieces(&p, &part.part), 0, "{name}: {}", part.part);
        }
        let links = p.metal.parts.iter().find(|x| x.part == "link").unwrap();
        assert_eq!(pieces(&p, "collet"), if links.route == Route::Cast { 0 } else { p.line.links }, "{name}");
    }
}

/// Every number of a text, sorted: what its layout does not change.
fn numbers(text: &str) -> Vec<String> {
    let mut out: Vec<String> = text
        .split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .map(|w| w.trim_matches('.').to_owned())
        .filter(|w| !w.is_empty())
        .collect();
    out.sort_unstable();
    out
}

#[test]
fn every_form_shows_the_same_numbers_and_fits_its_window() {
    use colletline::plan::{form, sheet};
    let bench = bench::read(include_str!("../params/bench/bench.jsonc")).unwrap();
    for (name, d) in examples() {
        let p = plan(&d, &bench, LINK, Some(colletline::units::Mm(180.0)));
        let chapters = sheet::chapters(&p);
        let plain = |s: &str| s.to_owned();
        let at = |width: usize| form::terminal((&name, &chapters), width, plain, plain);
        let (narrow, wide) = (at(60), at(100));
        for (text, width) in [(&narrow, 60), (&wide, 100)] {
            for line in text.lines() {
                assert!(line.chars().count() <= width, "{name}: {line}");
            }
        }
        let csv = numbers(&format!("{name} {}", form::csv(&chapters)));
        assert_eq!(numbers(&narrow), csv, "{name}");
        assert_eq!(numbers(&wide), csv, "{name}");
        assert_eq!(numbers(&form::markdown(&name, &chapters)), csv, "{name}");
        // The promised values of the JSON, as the texts round them.
        let json = serde_json::to_value(&p).unwrap();
        for path in ["/line/length_mm", "/line/inner_length_mm", "/stones/carats", "/metal/finished_g"] {
            let value = json.pointer(path).and_then(serde_json::Value::as_f64).unwrap();
            assert!(csv.contains(&format!("{value:.2}")), "{name}: {path} {value}");
        }
        let melt = json.pointer("/metal/to_melt_g").and_then(serde_json::Value::as_f64).unwrap();
        assert!(melt == 0.0 || csv.contains(&format!("{melt:.2}")), "{name}: {melt}");
    }
}

/// Paths of a JSON value, numbers of lists left out.
fn paths(at: &str, v: &serde_json::Value, out: &mut std::collections::BTreeSet<String>) {
    match v {
        serde_json::Value::Object(o) => o.iter().for_each(|(k, v)| paths(&format!("{at}.{k}"), v, out)),
        serde_json::Value::Array(a) => a.iter().for_each(|v| paths(&format!("{at}[]"), v, out)),
        _ => _ = out.insert(at.trim_start_matches('.').to_owned()),
    }
}

#[test]
fn the_paths_of_the_json_are_kept() {
    let bench = bench::read(include_str!("../params/bench/bench.jsonc")).unwrap();
    let d = params::read(include_str!("../params/line-4.0-platinum.jsonc")).unwrap();
    let p = plan(&d, &bench, LINK, Some(colletline::units::Mm(176.4)));
    let mut found = std::collections::BTreeSet::new();
    paths("", &serde_json::to_value(&p).unwrap(), &mut found);
    let kept: std::collections::BTreeSet<String> =
        include_str!("plan_paths.txt").lines().map(str::to_owned).collect();
    let gone: Vec<_> = kept.difference(&found).collect();
    assert!(gone.is_empty(), "programs read these: {gone:?}");
    let new: Vec<_> = found.difference(&kept).collect();
    assert!(new.is_empty(), "new paths: add them to tests/plan_paths.txt: {new:?}");
}

#[test]
fn impossible_wishes_have_a_finding_with_what_works() {
    let d = design("silver925", "round", "wire_loop", "fabricated", "fabricated");
    // A length between two counts.
    let none = Bench::default();
    let short = params::read(include_str!("../params/line-4.0-platinum.jsonc")).unwrap();
    let p = plan(&short, &none, LINK, Some(colletline::units::Mm(44.5)));
    let near: Vec<&String> =
        p.findings.iter().filter(|f| f.contains("nearest: 43.00 mm with 10 stones")).collect();
    assert!(near.len() == 1 && near[0].contains("45.98 mm with 11"), "{:?}", p.findings);
    // Too little wire: the bar that is missing, with which the next plan has none.
    let wire = |more: &str| {
        let text = format!(r#"{{ "stock": [{{ "section": "wire 0.55", "length": 150 }} {more}] }}"#);
        plan(&short, &bench::read(&text).unwrap(), LINK, None)
    };
    let p = wire("");
    let said =
        p.findings.iter().find(|f| f.starts_with("wire 0.55")).unwrap_or_else(|| panic!("{:?}", p.findings));
    let bar: f64 =
        said.split("one more bar of ").nth(1).and_then(|s| s.split(' ').next()).unwrap().parse().unwrap();
    let with = |length: f64| wire(&format!(r#", {{ "section": "wire 0.55", "length": {length} }}"#));
    assert!(with(bar).findings.is_empty() && !with(bar - 1.0).findings.is_empty(), "{said}");
    // No order of heats: what is missing, with which there is one.
    let solder = |more: &str| {
        let text =
            format!(r#"{{ "solder": [{{ "grade": "hard", "solidus_c": 745, "flow_c": 778 }} {more}] }}"#);
        plan(&d, &bench::read(&text).unwrap(), LINK, None)
    };
    let p = solder("");
    let said =
        p.findings.iter().find(|f| f.contains("flows at")).unwrap_or_else(|| panic!("{:?}", p.findings));
    let flow: f64 =
        said.split("flows at ").nth(1).and_then(|s| s.split(' ').next()).unwrap().parse().unwrap();
    let with = |flow: f64| {
        let solidus = flow - 20.0;
        solder(&format!(r#", {{ "grade": "easy", "solidus_c": {solidus}, "flow_c": {flow} }}"#))
    };
    assert!(with(flow).solder.no_order.is_none() && with(flow + 1.0).solder.no_order.is_some(), "{said}");
    // No drill small enough.
    let p = plan(&short, &bench::read(r#"{ "drills": [0.9], "burs": [2.0] }"#).unwrap(), LINK, None);
    assert!(p.findings.iter().any(|f| f.contains("no drill of 0.45")), "{:?}", p.findings);
    assert!(p.findings.iter().any(|f| f.contains("no parallel bur of 0.60")), "{:?}", p.findings);
}

#[test]
fn rows_of_the_tables_are_the_makers_own() {
    let d = design("gold750_yellow", "round", "wire_loop", "cast", "cast");
    let usual = plan(&d, &Bench::default(), LINK, None);
    let own = bench::read(
        r#"{ "tables": {
            "metals": { "gold750_yellow": { "density": 15.9 }, "silver925": { "density": 10.4 } },
            "casting": { "taken_off": { "mm": 0.10 }, "sprues_and_button": { "share": 0.30 } },
            "solders": { "any": { "step_c": 30 }, "gold easy": { "flow_c": 705, "solidus_c": 690 } },
            "number_drills": { "78": { "mm": 0.44 } },
            "stones": { "round": { "carat_per_mm3": 0.0040 } },
            "hallmark": { "gold": { "threshold_g": 2.5 } },
            "fineness": { "gold 750": { "least": 751 } } } }"#,
    )
    .unwrap();
    let p = plan(&d, &own, LINK, None);
    assert_eq!(p.overruled.len(), 11);
    assert!((p.metal.finished_g / usual.metal.finished_g - 15.9 / 15.6).abs() < 1e-9);
    let silver = |p: &Plan| p.metal.other_alloys.iter().find(|a| a.0.contains("sterling")).unwrap().1;
    assert!((silver(&p) / silver(&usual) - 10.4 / 10.36).abs() < 1e-9);
    assert!((p.metal.filings_g / usual.metal.filings_g - 2.0 * 15.9 / 15.6).abs() < 1e-9);
    assert!((p.metal.sprues_and_button - 0.30).abs() < 1e-12);
    assert!((p.stones.each_carat - 0.0040 * 64.0).abs() < 1e-12 && p.stones.each_source == "the bench file");
    let h = p.hallmark.as_ref().unwrap();
    assert!(h.threshold_g == Some(2.5) && h.mark == Some(585), "{h:?}");
    assert!(p.solder.step_c == 30.0 && p.solder.heats.iter().filter_map(|h| h.below_c).all(|b| b >= 30.0));
    let said = colletline::plan::form::csv(&colletline::plan::sheet::chapters(&p));
    assert!(said.contains("Figures of the bench file") && said.contains("15.9"), "{said}");
    // A bought clasp carries no stones of the line.
    let text = r#"{ "metal": { "alloy": "silver925" }, "stone": { "diameter": 4.0 }, "wearer": { "wrist": 160 }, "clasp": { "kind": "bought" } }"#;
    let p = plan(&params::read(text).unwrap(), &Bench::default(), LINK, None);
    assert_eq!(p.stones.count, p.line.links);
}
