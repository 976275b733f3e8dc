//! The maker's own numbers in place of the trade's: every class of wall reaches its rule, strength and wear follow in proportion
//! (closed forms of the same formulas), weights follow the density, `mend` finds its way by them.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use colletline::params::{self, Design, Freedom, Mended, RuleVerdict};
use colletline::plan::bench;
use colletline::trade::limits;
use colletline::trade::own::Own;
use std::path::Path;
use std::sync::Arc;

fn own(tables: &str) -> Arc<Own> {
    bench::read(&format!("{{ \"tables\": {tables} }}")).unwrap().own
}

fn texts() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("params");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    files.retain(|p| p.extension().is_some_and(|e| e == "jsonc"));
    files.sort();
    let mut texts: Vec<String> = files.iter().map(|p| std::fs::read_to_string(p).unwrap()).collect();
    // A square link with hinge tubes: a pocket beside openings, a foot block, corners.
    texts.push(r#"{ "metal": { "alloy": "gold585_yellow" }, "stone": { "diameter": 5.0 }, "wearer": { "wrist": 170 },
        "collet": { "shape": "square" }, "joint": { "kind": "hinge_tube" } }"#.to_owned());
    assert!(texts.len() >= 7);
    texts
}

fn design(text: &str, own: &Arc<Own>) -> Design {
    params::read_with(text, &[], own).unwrap()
}

#[test]
fn every_class_of_wall_reaches_its_rule() {
    let texts = texts();
    for limit in limits::ALL {
        let mut reached = false;
        for text in &texts {
            // All states at once, a tenth of a hundredth up: the finding shows that number and no design comes to harm.
            let up = |x: f64| x + 0.001;
            let stock = limit.stock.map_or(String::new(), |s| format!(", \"stock\": {}", up(s.get())));
            let cells = format!("\"finished\": {}{stock}", up(limit.finished.get()));
            let by = own(&format!("{{ \"walls\": {{ \"{}\": {{ {cells} }} }} }}", limit.class));
            let Ok(d) = params::read_with(text, &[], &by) else { continue };
            for f in d.findings().iter().filter(|f| f.source == limits::BENCH_FILE) {
                let least = f.least.unwrap();
                let known: Vec<f64> = [Some(limit.finished), limit.stock]
                    .into_iter()
                    .flatten()
                    .map(|x| x.get() + 0.001)
                    .collect();
                // The corner is held to the wall itself where that is more.
                assert!(known.iter().any(|k| (k - least).abs() < 1e-9) || f.rule == "wall.corner", "{f:?}");
                reached = true;
            }
        }
        assert!(reached, "{}: no rule of any design follows it", limit.class);
    }
}

#[test]
fn strength_wear_and_weight_follow_in_proportion() {
    let text = &texts()[0];
    let (plain, alloy) = {
        let d = design(text, &Arc::default());
        (d.clone(), d.metal().key)
    };
    // Archard: the volume worn is K F s / H, so the years go with the hardness (the formula's own closed form).
    let hard = design(
        text,
        &own(&format!(
            "{{ \"wearing\": {{ \"{alloy}\": {{ \"hardness\": {} }} }} }}",
            2.0 * plain.wearing().hardness
        )),
    );
    let years = |d: &Design| {
        colletline::life::life(d)
            .wear_points
            .iter()
            .filter_map(|w| w.years.as_ref())
            .map(|y| y.indicative)
            .fold(f64::INFINITY, f64::min)
    };
    let ratio = years(&hard) / years(&plain);
    assert!((ratio - 2.0).abs() < 1e-9, "{ratio}");
    // A wire's failure load is its section times its strength.
    let m = plain.mechanics();
    let cells = format!(
        "\"yield_annealed\": {}, \"ultimate_annealed\": {}, \"yield_hard\": {}",
        0.5 * m.yield_annealed,
        0.5 * m.ultimate_annealed,
        0.9 * m.yield_hard
    );
    let weak = design(text, &own(&format!("{{ \"mechanics\": {{ \"{alloy}\": {{ {cells} }} }} }}")));
    let loads = |d: &Design| {
        colletline::life::life(d).strength.elements.iter().map(|e| e.ultimate_n).fold(f64::INFINITY, f64::min)
    };
    assert!(loads(&weak) < loads(&plain) - 1e-9, "{} {}", loads(&weak), loads(&plain));
    assert!(
        weak.wearing().source == plain.wearing().source && weak.mechanics().source.contains("bench file")
    );
    // Weight goes with the density, an alloy of one's own before the table.
    let heavy = design(text, &own(&format!("{{ \"metals\": {{ \"{alloy}\": {{ \"density\": 12.5 }} }} }}")));
    assert!((heavy.density().0 - 12.5).abs() < 1e-12 && heavy.density().1 == limits::BENCH_FILE);
    let mixed = bench::read("{ \"alloy\": { \"density\": 13.5 } }").unwrap().own;
    assert!((design(text, &mixed).density().0 - 13.5).abs() < 1e-12);
}

#[test]
fn mend_keeps_to_the_makers_own_limit() {
    let text = r#"{ "metal": { "alloy": "silver925" }, "stone": { "diameter": 4.0 }, "wearer": { "wrist": 165 }, "collet": { "wall": 0.50 } }"#;
    let by =
        |least: f64| own(&format!("{{ \"walls\": {{ \"collet wall\": {{ \"finished\": {least} }} }} }}"));
    let skin = |d: &Design| d.findings().into_iter().find(|f| f.rule == "wall.skin").unwrap();
    assert_eq!(skin(&design(text, &by(0.50))).verdict, RuleVerdict::Pass);
    assert_eq!(skin(&design(text, &by(0.55))).verdict, RuleVerdict::Fail);
    let freedom = Freedom { own: by(0.55), ..Freedom::default() };
    let Mended::Ways { ways, .. } = params::mend(text, &freedom).unwrap() else { panic!("no way") };
    let after = params::after(text, &ways[0], &freedom.own).unwrap();
    assert!(after.broken().is_empty() && after.get(params::Key::Wall) >= 0.55, "{ways:?}");
    assert!(matches!(params::mend(text, &Freedom::default()).unwrap(), Mended::Sound));
}

#[test]
fn numbers_that_contradict_one_another_are_told() {
    let wrong = bench::read(r#"{ "tables": { "mechanics": { "silver925": { "yield_annealed": 250 } } } }"#)
        .unwrap_err();
    assert!(
        wrong.iter().any(|p| p.message.contains("yield_annealed 250 must be below ultimate_annealed 207")),
        "{wrong:?}"
    );
}
