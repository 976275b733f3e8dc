//! The latch's ranges: one file passes, one fails, one is left open, and the number that decides does decide.

use super::tests::{A, B, C, with};
use super::*;
use crate::params::dims::LOCKED;
use crate::params::{read, read_with};
use crate::trade::own::Own;
use std::sync::Arc;

fn found(text: &str, rule: &str) -> Finding {
    read(text).unwrap().findings().into_iter().find(|f| f.rule == rule).unwrap()
}

/// Rule, base, path, values: passes, is open, fails.
const SIDES: &[(&str, &str, &str, [&str; 3])] = &[
    ("tongue.stress", A, "clasp.tongue.length", ["6.0", "5.5", "4.6"]),
    ("tongue.stress", C, "clasp.tongue.length", ["5.0", "4.4", "3.6"]),
    ("tongue.opens", A, "clasp.tongue.hold_angle", ["58", "51", "44"]),
    ("tongue.opens", B, "clasp.tongue.hold_angle", ["60", "66", "70"]),
    ("tongue.closes", A, "clasp.tongue.lead_angle", ["30", "56", "60"]),
    ("tongue.worn", B, "clasp.tongue.thickness", ["0.35", "0.23", "0.20"]),
    ("catch.stress", A, "clasp.side_catch.bar", ["8.0", "7.5", "5.8"]),
];

#[test]
fn one_passes_one_is_open_one_fails() {
    for (rule, base, path, [pass, open, fail]) in SIDES {
        let at = |x: &str| found(&with(base, &[(path, x)]), rule);
        let say = |f: &Finding| format!("{rule} {path} {:?} {} {:?} {:?}", f.range, f.value, f.least, f.most);
        let (p, o, f) = (at(pass), at(open), at(fail));
        assert_eq!(p.verdict, RuleVerdict::Pass, "{}", say(&p));
        assert_eq!(f.verdict, RuleVerdict::Fail, "{}", say(&f));
        let RuleVerdict::Unverified(why) = &o.verdict else { panic!("{} {:?}", say(&o), o.verdict) };
        assert!(why.len() > 40, "{why}");
        for f in [&p, &o, &f] {
            let [low, high] = f.range.unwrap();
            assert!(low < f.value && f.value < high, "{}", say(f));
        }
        // What is open or fails has a way out.
        assert!(p.change.is_none() && o.change.is_some() && f.change.is_some(), "{}", say(&f));
    }
}

/// Each verdict begins where an end of the range meets the limit, and nowhere else.
#[test]
fn verdicts_change_where_an_end_of_the_range_meets_a_limit() {
    for (rule, base, path, [pass, open, fail]) in SIDES {
        let number = |x: &str| x.parse::<f64>().unwrap();
        let at = |x: f64| found(&with(base, &[(path, &format!("{x:.9}"))]), rule);
        for (from, to, end) in [(pass, open, RuleVerdict::Pass), (fail, open, RuleVerdict::Fail)] {
            let (mut a, mut b) = (number(from), number(to));
            for _ in 0..40 {
                let mid = f64::midpoint(a, b);
                if at(mid).verdict == end { a = mid } else { b = mid }
            }
            let f = at(a);
            let [low, high] = f.range.unwrap();
            let met = [f.least, f.most]
                .into_iter()
                .flatten()
                .any(|l| [low, high].iter().any(|e| (e - l).abs() < 1e-5 * l));
            assert!(met, "{rule} at {path} {a}: {low} {high} {:?} {:?}", f.least, f.most);
        }
    }
}

/// The yield that is asked for decides: with it the stress holds, with a little less it is open, with less than the other it fails.
#[test]
fn the_yield_that_is_named_decides() {
    for (rule, path, snap) in
        [("tongue.stress", "clasp.tongue.snap", "0.12"), ("catch.stress", "clasp.side_catch.snap", "0.055")]
    {
        let f = found(&with(A, &[(path, snap)]), rule);
        let RuleVerdict::Unverified(why) = f.verdict else { panic!("{rule}") };
        let number = |after: &str| -> f64 {
            let rest = &why[why.find(after).unwrap() + after.len()..];
            rest.trim_start().split([' ', ')', ';']).next().unwrap().parse().unwrap()
        };
        let (enough, too_little) = (number("yield of at least"), number("not under"));
        let text = with(A, &[(path, snap)]);
        let with_yield = |mpa: f64| {
            let mut own = Own::default();
            own.set("mechanics", "platinum950_ru", "yield_hard", mpa).unwrap();
            let design = read_with(&text, &[], &Arc::new(own)).unwrap();
            design.findings().into_iter().find(|f| f.rule == rule).unwrap().verdict
        };
        assert_eq!(with_yield(enough), RuleVerdict::Pass, "{why}");
        assert!(matches!(with_yield(enough - 2.0), RuleVerdict::Unverified(_)), "{why}");
        assert!(matches!(with_yield(too_little + 2.0), RuleVerdict::Unverified(_)), "{why}");
        assert_eq!(with_yield(too_little - 1.0), RuleVerdict::Fail, "{why}");
    }
}

/// A strip that springs back whole from snap/0.70 bends to less than 0.70 of its yield, whatever modulus, yield and thickness:
/// the stress is proportional to the way.
#[test]
fn the_trial_with_a_sample_is_the_rule_itself() {
    let f = found(&with(A, &[("clasp.tongue.snap", "0.12")]), "tongue.stress");
    let RuleVerdict::Unverified(why) = f.verdict else { panic!() };
    assert!(why.contains("clamped 6.00 mm") && why.contains("from 0.171 mm"), "{why}");
}

/// Wedge with friction, by forces: a push W on a slope at the angle of friction short of locking, and past it.
#[test]
fn a_slope_that_friction_locks_is_told() {
    let design =
        read(&with(A, &[("clasp.tongue.friction", "0.45"), ("clasp.tongue.hold_angle", "64")])).unwrap();
    // 0.45 tan 64 = 0.92, 0.50 tan 64 = 1.03.
    let e = design.dims().clasp.as_ref().unwrap().latch.open_force;
    assert!(e.usual < 100.0 && e.high > LOCKED / 2.0, "{e:?}");
    let f = design.findings().into_iter().find(|f| f.rule == "tongue.opens").unwrap();
    assert!(f.range.unwrap().iter().all(|x| x.is_finite()));
    // Forces along and across the slope of one strip: N cos a - mu N sin a = side force, N sin a + mu N cos a = W/2.
    let mu = 0.25;
    let (sin, cos) = libm::sincos(55f64.to_radians());
    let design = read(A).unwrap();
    let l = &design.dims().clasp.as_ref().unwrap().latch;
    let n = l.tongue_force.usual / (cos - mu * sin);
    assert!((l.open_force.usual - 2.0 * n * (sin + mu * cos)).abs() < 1e-9);
}
