//! Life and passport as text of at most 60 columns.

use super::Life;
use super::passport::Passport;
use super::wear::Years;
use crate::fold::fold;
use crate::walls::Judgement;
use std::fmt::Write as _;

/// Columns of the sheet.
const COLUMNS: usize = 60;

fn years(y: &Years) -> String {
    format!("{} / {} / {} y", short(y.short), short(y.indicative), short(y.long))
}

fn short(x: f64) -> String {
    match x {
        _ if x >= 100.0 => "100+".to_owned(),
        _ if x >= 10.0 => format!("{x:.0}"),
        _ if x >= 1.0 => format!("{x:.1}"),
        _ => format!("{x:.2}"),
    }
}

/// Breaks a text into lines, each with this indent.
pub(crate) fn wrapped(out: &mut String, text: &str, indent: usize) {
    for line in fold(text, COLUMNS - indent) {
        let _ = writeln!(out, "{:indent$}{line}", "");
    }
}

/// The sheet of a design.
#[must_use]
pub fn life(name: &str, l: &Life) -> String {
    let mut o = String::new();
    let a = &l.assumptions;
    wrapped(&mut o, name, 0);
    let _ = writeln!(o, "\nWear, estimated: metal new, may go, years");
    wrapped(&mut o, "years at ten times, at once and at a tenth of the wear coefficient; indicative", 2);
    for p in &l.wear_points {
        let _ = writeln!(o, "  {:<28} {:>5.2} {:>5.2} mm", p.name, p.metal_mm, p.may_go_mm);
        match (&p.years, p.no_years) {
            (Some(y), _) => {
                let _ = writeln!(o, "      {}", years(y));
            }
            (None, Some(why)) => wrapped(&mut o, why, 6),
            (None, None) => {}
        }
    }
    wrapped(
        &mut o,
        &format!(
            "assumed: {} N, {} swings of {} deg a day, K {:.0e}, {} HV; V = K F s/H",
            a.load_n, a.swings_per_day, a.angle_deg, a.coefficient, a.hardness_hv
        ),
        2,
    );
    let _ = writeln!(o, "\nWhat a dimension buys\n  +1 % gives  +0.05 mm gives");
    for s in l.sensitivities.iter().filter(|s| s.years_per_005_mm.is_some()) {
        let _ = writeln!(
            o,
            "  {:>+8.2} %  {:>+8.2} y       {}",
            s.elasticity,
            s.years_per_005_mm.unwrap_or_default(),
            s.parameter
        );
    }
    let _ = writeln!(o, "\nStrength, estimated: gives way / parts, N (x or / 1.2)");
    for e in &l.strength.elements {
        let where_ = if e.in_line { "" } else { " (chain)" };
        let _ = writeln!(o, "  {:>4.0} / {:<4.0} {}{}", e.yield_n, e.ultimate_n, e.name, where_);
    }
    for t in &l.strength.tests {
        let word = match t.verdict {
            Judgement::Pass => "pass",
            Judgement::Fail => "FAIL",
            Judgement::Unverified => "UNVERIFIED",
        };
        let text = format!(
            "{}, pulled with {:.0} N: {word}; parts at {:.0} to {:.0} N, {}",
            t.what, t.pull_n, t.range_n[0], t.range_n[1], t.weakest
        );
        wrapped(&mut o, &text, 2);
        if let Some(c) = t.change {
            wrapped(&mut o, c, 4);
        }
    }
    wrapped(&mut o, &l.strength.metal, 2);
    let _ = writeln!(o);
    for n in l.notes {
        wrapped(&mut o, n, 0);
    }
    o
}

/// The passport.
#[must_use]
pub fn passport(name: &str, p: &Passport) -> String {
    let mut o = String::new();
    let _ = writeln!(o, "Service passport");
    wrapped(&mut o, name, 0);
    let _ = writeln!(o, "\n  joints in the line           {}", p.joints);
    let _ = writeln!(o, "  bearing metal in each, new   {:.2} mm", p.metal_mm);
    let _ = writeln!(o, "  length by design             {:.1} mm", p.design_length_mm);
    let _ = writeln!(o, "  may grow before rehinging    {:.1} mm", p.may_grow_mm);
    match &p.later {
        None => {
            let _ = writeln!(o, "  pulled length at delivery    ________ mm  on ________");
        }
        Some(l) => {
            let _ = writeln!(o, "  pulled length at delivery    {:.1} mm", l.delivered_mm);
            let _ = writeln!(o, "  pulled length now            {:.1} mm", l.now_mm);
            let _ = writeln!(
                o,
                "  each joint grew by           {:.3} to {:.3} mm",
                l.joint_grew_mm[0], l.joint_grew_mm[1]
            );
            let _ =
                writeln!(o, "  gone from its metal          {:.3} to {:.3} mm", l.gone_mm[0], l.gone_mm[1]);
            let _ = writeln!(
                o,
                "  of what may go               {:.0} to {:.0} %",
                l.used[0] * 100.0,
                l.used[1] * 100.0
            );
            let _ = writeln!(o, "  rehinge at                   {:.1} mm", l.rehinge_at_mm);
            wrapped(&mut o, l.advice, 2);
        }
    }
    let _ = writeln!(o);
    wrapped(&mut o, &format!("Measure: {}.", p.how), 0);
    wrapped(&mut o, "An estimate: one joint may wear faster than the others. Look at every joint too.", 0);
    o
}
