//! Each rule passes and trips; each way out is tried.

use super::*;
use crate::params::read;
use crate::params::table::Kind;

pub(super) const A: &str = include_str!("../../../params/line-4.0-platinum.jsonc");

const S: &str = include_str!("../../../params/line-4.0-platinum-square.jsonc");

pub(super) const C: &str = include_str!("../../../params/line-3.0-silver-cushion.jsonc");

const D: &str = include_str!("../../../params/line-3.5-rose-block.jsonc");

pub(super) const B: &str = include_str!("../../../params/line-2.5-yellow.jsonc");

/// A design with some values replaced.
pub(super) fn with(base: &str, changes: &[(&str, &str)]) -> String {
    let mut text = base.to_owned();
    for (path, value) in changes {
        let (groups, leaf) = path.rsplit_once('.').unwrap();
        let at = groups.split('.').fold(0, |at, group| {
            at + text[at..].find(&format!("\"{group}\": {{")).unwrap_or_else(|| panic!("{path}"))
        });
        let key = format!("\"{leaf}\":");
        let k = at + text[at..].find(&key).unwrap_or_else(|| panic!("{path}")) + key.len();
        let end = k + text[k..].find(|c: char| ",\n}".contains(c)).unwrap();
        text.replace_range(k..end, &format!(" {value}"));
    }
    text
}

fn verdict(text: &str, rule: &str) -> Result<RuleVerdict, String> {
    let design = read(text).map_err(|p| format!("{rule}: {}", p[0].message))?;
    let found = design.findings().into_iter().find(|f| f.rule == rule).ok_or(format!("no {rule}"))?;
    if found.verdict == RuleVerdict::Fail && found.change.is_none() {
        return Err(format!("{rule}: no way out"));
    }
    Ok(found.verdict)
}

/// Rule, base file, changes that trip it.
type Trip = (&'static str, &'static str, &'static [(&'static str, &'static str)]);

const TRIPS: &[Trip] = &[
    ("wall.skin", A, &[("collet.wall", "0.38"), ("joint.web_edge", "0.15"), ("seat.rim_land", "0.25")]),
    ("wall.rim_land", A, &[("seat.rim_land", "0.19")]),
    ("wall.over_opening", A, &[("opening.top", "2.20")]),
    ("wall.end_metal", A, &[("opening.width", "2.6")]),
    ("web.height", A, &[("joint.web_height", "0.48")]),
    ("web.depth", A, &[("collet.wall", "0.39"), ("joint.web_edge", "0.15"), ("seat.rim_land", "0.25")]),
    ("bore.crown", A, &[("joint.bore_height", "1.25")]),
    ("bore.beside", A, &[("opening.stop", "0.58")]),
    ("claw.wire", B, &[("claw.diameter", "0.58")]),
    ("claw.bite", A, &[("collet.width", "3.9"), ("claw.diameter", "1.1"), ("collet.wall", "0.60")]),
    ("claw.bite_usual", A, &[("claw.diameter", "0.85")]),
    ("opening.rail", A, &[("opening.bottom", "0.58")]),
    ("opening.through_claw", A, &[("opening.width", "4.8")]),
    ("claw.foot", A, &[("collet.foot_half_width", "1.85")]),
    ("gap.least", A, &[("line.gap", "0.07")]),
    ("gap.most", A, &[("line.gap", "0.22")]),
    ("joint.wire_play", A, &[("joint.bore_width", "0.65")]),
    ("joint.leg_in_groove", A, &[("joint.groove_width", "0.60")]),
    ("joint.leg_through_bore", A, &[("joint.wire_flat", "0.40")]),
    ("joint.flush", A, &[("joint.groove_depth", "0.51")]),
    ("turn.wrist", A, &[("joint.bore_height", "0.60")]),
    ("turn.clasp", A, &[("clasp.count", "9")]),
    ("turn.back", A, &[("line.gap", "0.58")]),
    ("stone.wire", A, &[("collet.height", "2.4"), ("opening.top", "1.7"), ("opening.bur", "0.8")]),
    (
        "joint.loops",
        A,
        &[
            ("joint.wire", "1.2"),
            ("joint.wire_flat", "0.95"),
            ("joint.bore_width", "1.25"),
            ("joint.bore_height", "1.25"),
            ("collet.wall", "0.60"),
            ("trial.gap", "0"),
            ("trial.bore_offset", "0"),
        ],
    ),
    (
        "stone.culet",
        A,
        &[
            ("collet.height", "2.05"),
            ("opening.top", "1.4"),
            ("opening.bur", "0.5"),
            ("joint.bore_height", "0.62"),
            ("trial.gap", "0"),
            ("trial.bore_offset", "0"),
        ],
    ),
    ("clasp.stones", A, &[("clasp.leaf.thickness", "0.72")]),
    ("clasp.stone_over_back", A, &[("clasp.back_height", "0.95")]),
    ("clasp.stone_over_front", B, &[("clasp.front_height", "0.75")]),
    ("clasp.leaf_buckling", A, &[("clasp.leaf.thickness", "0.44")]),
    ("clasp.lug", A, &[("clasp.lug", "0.38")]),
    ("clasp.rail", B, &[("clasp.rail_width", "0.38")]),
    ("clasp.cheek", A, &[("clasp.cheek", "0.24")]),
    ("clasp.tube_wall", A, &[("clasp.tube_bore", "0.62"), ("clasp.pin", "0.58")]),
    ("clasp.pin_play", A, &[("clasp.pin", "0.44")]),
    ("clasp.rim", A, &[("clasp.pin", "0.52"), ("clasp.tube_bore", "0.56")]),
    ("clasp.behind_bead", A, &[("clasp.tube_row", "1.30")]),
    ("clasp.row", A, &[("clasp.tube_row", "2.88")]),
    ("clasp.front_under_pull", A, &[("clasp.front_height", "0.78")]),
    ("clasp.back_over_pull", A, &[("clasp.back_height", "0.72")]),
    ("clasp.over_centre", A, &[("clasp.front_height", "0.67")]),
    ("clasp.catch_play", A, &[("clasp.front_height", "0.72")]),
    ("clasp.hand", A, &[("wearer.hand", "204")]),
    ("clasp.stand_off", A, &[("clasp.count", "6")]),
    ("clasp.cheek_room", A, &[("clasp.tongue.length", "6.2")]),
    ("clasp.plate_between", B, &[("clasp.tongue.slot", "0.43")]),
    ("clasp.feet_apart", B, &[("clasp.tongue.foot_width", "0.90")]),
    ("tongue.foot", A, &[("clasp.tongue.rivet", "0.42")]),
    ("tongue.foot_length", A, &[("clasp.tongue.foot_length", "1.5")]),
    ("tongue.half_lap", A, &[("clasp.plate.thickness", "0.38")]),
    ("tongue.slot", A, &[("clasp.tongue.slot", "0.16")]),
    ("tongue.ridge", A, &[("clasp.tongue.lead_angle", "22")]),
    ("tongue.stress", A, &[("clasp.tongue.length", "4.6")]),
    ("tongue.opens", A, &[("clasp.tongue.hold_angle", "44")]),
    ("tongue.closes", A, &[("clasp.tongue.lead_angle", "60")]),
    ("tongue.worn", B, &[("clasp.tongue.thickness", "0.20")]),
    ("catch.stress", A, &[("clasp.side_catch.bar", "5.8")]),
    ("catch.tube_wall", A, &[("clasp.side_catch.tube", "0.80")]),
    ("catch.length", A, &[("clasp.side_catch.bar", "15.65")]),
    ("chain.aspect", A, &[("chain.ring_inner", "3.2")]),
    ("mark.fits", A, &[("mark.length", "7.4")]),
    ("mark.fits_across", A, &[("mark.height", "3.2")]),
    ("mark.metal", A, &[("clasp.plate.thickness", "0.49")]),
    ("clasp.plate", A, &[("clasp.plate.thickness", "0.44")]),
    ("clasp.leaf", A, &[("clasp.leaf.thickness", "0.44")]),
    ("clasp.gap", A, &[("clasp.gap", "0.03")]),
    ("line.ease", A, &[("wearer.wrist", "170")]),
    ("stone.weight", A, &[("stone.carat", "0.40")]),
    ("stone.girdles", A, &[("collet.width", "4.0"), ("stone.tolerance", "0.1"), ("line.gap", "0.1")]),
    ("stone.stop", A, &[("collet.width", "4.05")]),
    ("opening.edge", A, &[("opening.width", "2.7"), ("opening.stop", "0.62")]),
    ("wall.corner", C, &[("collet.corner_radius", "0.60"), ("collet.inner_corner_radius", "0.10")]),
    ("corner.shape", S, &[("collet.corner_radius", "0.65")]),
    ("corner.shape", C, &[("collet.corner_radius", "0.28")]),
    ("claw.foot", A, &[("collet.foot_half_width", "1.85")]),
    ("turn.wrist", D, &[("collet.block_half_width", "1.80"), ("line.gap", "0.02")]),
    ("hinge.tube_wall", C, &[("joint.tube_bore", "0.62"), ("joint.pin", "0.58")]),
    ("hinge.pin_play", C, &[("joint.pin", "0.40")]),
    ("hinge.rim", C, &[("joint.tube_bore", "0.56"), ("joint.pin", "0.52")]),
    ("hinge.behind_bead", C, &[("joint.tube_length", "1.50"), ("joint.outer_share", "0.25")]),
    (
        "hinge.let_in",
        C,
        &[("collet.foot_half_width", "1.06"), ("joint.tube_length", "1.70"), ("opening.stop", "0.70")],
    ),
    (
        "hinge.let_in",
        D,
        &[
            ("joint.tube_outer", "1.00"),
            ("joint.tube_bore", "0.40"),
            ("joint.pin", "0.36"),
            ("line.gap", "0.55"),
        ],
    ),
    ("hinge.behind_pocket", C, &[("collet.light_hole", "1.30")]),
    ("hinge.pocket_opening", C, &[("opening.width", "2.06")]),
    ("hinge.pocket_inside", C, &[("collet.foot_fill", "1.04")]),
    ("hinge.block_top", D, &[("collet.foot_fill", "1.45")]),
    ("hinge.tube_on_flat", C, &[("collet.corner_radius", "0.75")]),
    ("hinge.clearance", C, &[("joint.pocket_clearance", "0.03")]),
    ("hinge.clearance_usual", C, &[("joint.pocket_clearance", "0.11")]),
    ("hinge.side_gap", C, &[("joint.side_gap", "0.02")]),
    ("hinge.side_gap_usual", C, &[("joint.side_gap", "0.09"), ("trial.gap", "0")]),
    (
        "stone.fill",
        C,
        &[
            ("collet.height", "2.25"),
            ("seat.bur_angle", "96"),
            ("collet.light_hole", "0.2"),
            ("opening.top", "1.60"),
            ("opening.bur", "0.4"),
        ],
    ),
];

#[test]
fn the_checked_sets_pass_every_rule() {
    for (name, text) in [("A", A), ("S", S), ("C", C), ("D", D)] {
        for f in read(text).unwrap_or_else(|p| panic!("{name}: {p:#?}")).findings() {
            assert_eq!(
                f.verdict,
                RuleVerdict::Pass,
                "{name} {}: {} {:?} {:?}",
                f.rule,
                f.value,
                f.least,
                f.most
            );
        }
    }
}

#[test]
fn each_rule_can_fail() {
    let mut wrong: Vec<String> = Vec::new();
    for (rule, base, changes) in TRIPS {
        let said = verdict(&with(base, changes), rule);
        if said != Ok(RuleVerdict::Fail) {
            wrong.push(format!("{rule}: {said:?}"));
        }
    }
    for r in all() {
        if !["opening.bur", "chain.guard"].contains(&r.id) && !TRIPS.iter().any(|t| t.0 == r.id) {
            wrong.push(format!("{} has no test that trips it", r.id));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Between a base file, which passes, and its change, which trips, there is a file on either side of the limit within a
/// hundredth of it (of a tenth where the limit is smaller), both of which can be read.
#[test]
fn each_limit_is_met_from_both_sides_within_a_hundredth() {
    let now = |base: &str, path: &str| -> Option<f64> {
        let design = read(base).ok()?;
        design.values().into_iter().find(|v| v.path == path)?.value.as_f64()
    };
    // Between these two files and their bases lie links that cannot be built; the limits themselves are plain comparisons.
    const JUMPS: [&str; 3] = ["joint.loops", "stone.fill", "opening.through_claw"];
    // Between their two sides lies a range (`latch_tests.rs`).
    let ranged = |rule: &str| all().any(|r| r.id == rule && (r.range)(read(A).unwrap().dims()).is_some());
    // A lower bore would pass through heights that are neither round nor drawn up.
    const WRIST: Trip = ("turn.wrist", A, &[("joint.web_edge", "0.12")]);
    let mut wrong: Vec<String> = Vec::new();
    for trip in TRIPS.iter().filter(|t| !JUMPS.contains(&t.0) && !ranged(t.0)) {
        let (rule, base, changes) = if trip.0 == WRIST.0 { &WRIST } else { trip };
        let spans: Vec<(&str, f64, f64)> = changes
            .iter()
            .filter_map(|&(path, to)| Some((path, now(base, path)?, to.parse().ok()?)))
            .collect();
        assert_eq!(spans.len(), changes.len(), "{rule}");
        let whole = |path: &str| Key::at(path).is_some_and(|k| k.spec().kind == Kind::Count);
        let at = |t: f64| {
            let values: Vec<(&str, String)> = spans
                .iter()
                .map(|&(p, a, b)| {
                    let x = a + (b - a) * t;
                    (p, if whole(p) { format!("{x:.0}") } else { format!("{x:.9}") })
                })
                .collect();
            let changes: Vec<(&str, &str)> = values.iter().map(|(p, x)| (*p, x.as_str())).collect();
            read(&with(base, &changes)).map(|d| d.findings().into_iter().find(|f| f.rule == *rule))
        };
        let fails = |t: f64| match at(t) {
            Ok(f) => f.is_some_and(|f| f.verdict == RuleVerdict::Fail),
            // What lies between is not always a link; it counts with the side that is nearer.
            Err(_) => t > 0.5,
        };
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..40 {
            let mid = 0.5 * (low + high);
            if fails(mid) { high = mid } else { low = mid }
        }
        // A count jumps over the limit; one whole stone more or less is as near as it goes.
        if spans.iter().any(|s| whole(s.0)) {
            continue;
        }
        for (t, side) in [(low, RuleVerdict::Pass), (high, RuleVerdict::Fail)] {
            let Ok(Some(f)) = at(t) else {
                wrong.push(format!("{rule}: no file at the limit"));
                continue;
            };
            let near = |l: Option<f64>| l.is_some_and(|l| (f.value - l).abs() <= 0.01 * l.abs().max(0.1));
            if f.verdict != side || !(near(f.least) || near(f.most)) {
                wrong.push(format!("{rule}: {:?} at {} of {:?} {:?}", f.verdict, f.value, f.least, f.most));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Binding rules that do not hold.
fn failed(d: &crate::params::Design) -> Vec<&'static str> {
    d.findings()
        .iter()
        .filter(|f| f.severity == Severity::Refuse && f.verdict == RuleVerdict::Fail)
        .map(|f| f.rule)
        .collect()
}

#[test]
fn every_change_offered_mends_its_rule_and_breaks_no_other() {
    let mut wrong: Vec<String> = Vec::new();
    let (mut alone, mut all) = (0, 0);
    for (_, base, changes) in TRIPS {
        let text = with(base, changes);
        let design = read(&text).unwrap();
        let before = failed(&design);
        for f in design.findings().into_iter().filter(|f| f.verdict == RuleVerdict::Fail) {
            let change = f.change.clone().unwrap_or_default();
            all += 1;
            let Some(rest) = change.strip_prefix("set ") else {
                wrong
                    .extend((!change.starts_with("no one value")).then(|| format!("{}: {change:?}", f.rule)));
                continue;
            };
            alone += 1;
            let (path, rest) = rest.split_once(" to ").unwrap();
            let value = rest.split([' ', ',']).next().unwrap();
            let mended = with(&text, &[(path, value)]);
            let after = match read(&mended) {
                Ok(d) => d,
                Err(p) => {
                    wrong.push(format!("{}: {change:?} cannot be built: {}", f.rule, p[0].message));
                    continue;
                }
            };
            if after.findings().iter().any(|g| g.rule == f.rule && g.verdict == RuleVerdict::Fail) {
                wrong.push(format!("{}: {change:?} does not mend it", f.rule));
            }
            for b in failed(&after).iter().filter(|b| !before.contains(b)) {
                if !change.contains("and then mend") || !change.contains(b) {
                    wrong.push(format!("{}: {change:?} breaks {b}", f.rule));
                }
            }
            // Each other parameter named could mend it alone as well.
            for other in change
                .split(", or change ")
                .nth(1)
                .unwrap_or_default()
                .split(" or ")
                .filter(|o| !o.is_empty())
            {
                let spec = Key::at(other).unwrap().spec();
                let step = if matches!(spec.kind, Kind::Angle | Kind::Count) { 1.0 } else { 0.01 };
                let steps = ((spec.most - spec.least) / step) as usize;
                let rule = super::all().find(|r| r.id == f.rule).unwrap();
                // From where it stands outwards: what mends is mostly near.
                let now = ((design.get(Key::at(other).unwrap()) - spec.least) / step).round() as usize;
                let mut order: Vec<usize> = (0..=steps).collect();
                order.sort_by_key(|i| i.abs_diff(now));
                let could = order.into_iter().any(|i| {
                    let x = format!("{:.2}", spec.least + step * i as f64);
                    let x = if step < 1.0 { x } else { x.trim_end_matches(".00").to_owned() };
                    read(&with(&text, &[(other, &x)]))
                        .is_ok_and(|d| rule.holds(&design_numbers(&d, None), d.dims()))
                });
                if !could {
                    wrong.push(format!("{}: {other} cannot mend it", f.rule));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(alone * 10 >= all * 8, "only {alone} of {all} rules are mended by one value");
}

#[test]
fn a_rule_of_one_joint_or_shape_is_not_judged_for_the_other() {
    let rules = |text: &str| -> Vec<&str> { read(text).unwrap().findings().iter().map(|f| f.rule).collect() };
    let (wire, tube, square) = (rules(A), rules(C), rules(S));
    assert!(wire.iter().all(|r| !r.starts_with("hinge.") && !r.starts_with("corner.")));
    assert!(
        tube.iter()
            .all(|r| !["web.", "bore.", "joint."].iter().any(|p| r.starts_with(p)) && *r != "stone.wire")
    );
    assert!(square.contains(&"wall.corner") && square.contains(&"web.height"));
    assert!(rules(D).contains(&"hinge.block_top") && !tube.contains(&"hinge.block_top"));
}

#[test]
fn the_bur_must_fit_the_height_of_the_opening() {
    // A bur that does not fit is no link at all, so the rule is tripped on bare numbers.
    let design = read(A).unwrap();
    let rule = all().find(|r| r.id == "opening.bur").unwrap();
    assert!(rule.holds(&design_numbers(&design, None), design.dims()));
    assert!(!rule.holds(&design_numbers(&design, Some(1.4)), design.dims()));
}

fn design_numbers(d: &crate::params::Design, bur: Option<f64>) -> Numbers {
    let mut n = Numbers::zero(&std::sync::Arc::default());
    for s in &super::super::table::TABLE {
        n[s.key] = d.get(s.key);
    }
    if let Some(b) = bur {
        n[Key::OpeningBur] = b;
    }
    n
}

#[test]
fn strips_that_were_soldered_are_soft() {
    let said = verdict(&with(A, &[("clasp.tongue.fixing", "\"soldered\"")]), "tongue.stress");
    assert_eq!(said, Ok(RuleVerdict::Fail));
}

#[test]
fn a_chain_that_keeps_the_bracelet_on_must_reach_over_the_clasp() {
    let sprung = |hand: &str| with(A, &[("chain.guard", "\"sprung\""), ("wearer.hand", hand)]);
    // hand - 10 - 171.68 + 21 against 25: 195 leaves 34.3, 185 leaves 24.3.
    assert_eq!(verdict(&sprung("195"), "chain.guard"), Ok(RuleVerdict::Pass));
    assert_eq!(verdict(&sprung("185"), "chain.guard"), Ok(RuleVerdict::Fail));
    assert!(verdict(A, "chain.guard").is_err());
}

#[test]
fn nickel_on_the_skin_is_unverified() {
    let v = verdict(&with(A, &[("metal.alloy", "\"gold750_white_nickel\"")]), "metal.nickel").unwrap();
    assert!(matches!(v, RuleVerdict::Unverified(why) if why.contains("EN 1811")));
}
