//! Every rule of a jig trips where its number is not met, and not where it is; what is too thin to print is no jig and says why.

use super::*;
use crate::params::read;

/// A line of silver with stones of 2.5 mm, with a joint and jigs as wished.
fn small(joint: &str, jig: &str) -> Design {
    let text = format!(
        r#"{{"metal": {{"alloy": "silver925"}}, "stone": {{"diameter": 2.5}}, "wearer": {{"wrist": 160, "hand": 190}},
            "joint": {{{joint}}}, "jig": {{{jig}}}}}"#
    );
    read(&text).unwrap()
}

/// The verdict of a rule on a jig, its number held to what it must be.
fn verdict(design: &Design, jig: &str, title: &str, number: f64) -> Judgement {
    let made = jigs(design, &[], &|name| name == jig).unwrap().remove(0).unwrap();
    let rule = made.rules.iter().find(|r| r.title == title).unwrap();
    assert!((rule.value_mm - number).abs() < 5e-4, "{rule:?}");
    assert_eq!(rule.verdict == Judgement::Pass, rule.value_mm >= rule.least_mm, "{rule:?}");
    rule.verdict
}

const LOOP: &str = r#""kind": "wire_loop", "wire": 0.7"#;

#[test]
fn a_wall_thinner_than_a_vice_holds_fails() {
    for jig in ["jig.openings", "jig.bores", "jig.pitch"] {
        let title = "wall of the jig";
        assert_eq!(verdict(&small(LOOP, r#""wall": 1.19"#), jig, title, 1.19), Judgement::Fail);
        assert_eq!(verdict(&small(LOOP, r#""wall": 1.2"#), jig, title, 1.2), Judgement::Pass);
    }
}

/// A drill of 0.55 mm wants 0.825 of guide; the box gives its wall, or the share asked for if that is more.
#[test]
fn a_drill_that_is_guided_over_less_than_one_and_a_half_diameters_fails() {
    let title = "guided length of the drill";
    let of =
        |jig| verdict(&small(LOOP, jig), "jig.bores", title, if jig.contains("0.8,") { 0.8 } else { 0.88 });
    assert_eq!(of(r#""wall": 0.8, "guide_length": 1"#), Judgement::Fail);
    assert_eq!(of(r#""wall": 0.88, "guide_length": 1"#), Judgement::Pass);
}

/// The flanks lean in: thick wire between near stones leaves the ridge little foot.
#[test]
fn a_ridge_that_is_thin_at_its_foot_fails() {
    let title = "ridge of the former at its foot";
    let of = |spring: u32, foot: f64| {
        verdict(&small(LOOP, &format!(r#""spring_back": {spring}"#)), "jig.wire", title, foot)
    };
    assert_eq!(of(12, 0.537), Judgement::Fail);
    assert_eq!(of(3, 1.111), Judgement::Pass);
}

#[test]
fn what_is_too_thin_to_print_is_no_jig_and_says_why() {
    let text = r#"{"metal": {"alloy": "silver925"}, "stone": {"diameter": 2}, "wearer": {"wrist": 160, "hand": 190},
        "joint": {"kind": "wire_loop"}, "jig": {"play": 0.2}}"#;
    for jig in ["jig.key", "jig.pitch"] {
        let made = jigs(&read(text).unwrap(), &[], &|name| name == jig).unwrap().remove(0);
        assert!(made.unwrap_err().why.contains("0.37 mm thin; a print holds 0.50"));
    }
}
