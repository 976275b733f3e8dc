//! `life` and `passport`: how long the line lasts, how hard it may be pulled, what a later length says.

use super::Ended;
use super::args::{Color, Format, Life as Args, Passport};
use super::make::read_design;
use crate::life::strength::{CHAIN, Holds, LINE};
use crate::life::{self, passport};
use std::fmt::Write as _;

fn years(x: f64) -> String {
    if x >= 100.0 {
        "over 100".into()
    } else if x >= 10.0 {
        format!("{x:.0}")
    } else {
        format!("{x:.1}")
    }
}

fn word(h: Holds) -> &'static str {
    match h {
        Holds::Pass => "pass",
        Holds::Fail => "FAIL",
        Holds::Unverified => "open: the range straddles it, pull a sample",
    }
}

/// Runs `life`.
pub(super) fn life(a: &Args, color: Color) -> Ended {
    let design = match read_design(&a.file, a.format == Format::Json, color) {
        Ok(d) => d,
        Err(e) => return e,
    };
    let l = life::life(&design);
    let chain = l.strength.chain.unwrap_or(Holds::Pass);
    let code = u8::from([l.strength.line, chain] != [Holds::Pass; 2]);
    if a.format == Format::Json {
        let stdout = serde_json::to_string_pretty(&l).unwrap_or_default() + "\n";
        return Ended { code, stdout, stderr: String::new() };
    }
    let mut o = String::new();
    let _ = writeln!(o, "{}\n\nwear, years until renewed     least   usual    most", design.name());
    for p in &l.wear.points {
        let [least, usual, most] = p.years.map(years);
        let _ = writeln!(o, "{:<27} {least:>7} {usual:>7} {most:>7}", p.point);
        let _ = writeln!(o, "  {:.3} mm there, {:.3} may go", p.now_mm, p.may_go_mm);
        for b in p.buys.iter().take(3) {
            let _ = writeln!(
                o,
                "  1 % more {}: {:+.1} %; 0.05 mm: {:+.2} years",
                b.path, b.elasticity, b.years_for_005
            );
        }
    }
    let w = &l.wear.assumptions;
    let _ = writeln!(
        o,
        "\nassumed: {} N, K {:.0e} (tenfold either way, K/H), {:.0} swings\nof {:.0} deg a day, H {:.0} MPa ({})",
        w.load_n, w.coefficient, w.swings_a_day, w.angle_deg, w.hardness_mpa, w.hardness_source
    );
    folded(&mut o, l.wear.note);
    let _ = writeln!(o, "\npull, N                              yields     breaks");
    for e in &l.strength.elements {
        let _ = writeln!(
            o,
            "{:<33} {:>4.0}-{:<5.0} {:>4.0}-{:<5.0}{}",
            e.element,
            e.yields_n[0],
            e.yields_n[1],
            e.breaks_n[0],
            e.breaks_n[1],
            if e.in_line { "" } else { "  (chain)" }
        );
    }
    let _ =
        writeln!(o, "\nline, {LINE:.0} N       {} (weakest: {})", word(l.strength.line), l.strength.weakest);
    if let Some(c) = l.strength.chain {
        let _ = writeln!(o, "chain, {CHAIN:.0} N      {}", word(c));
    }
    folded(&mut o, &format!("{} Strengths: {}.", l.strength.note, l.strength.source));
    let r = &l.rehinge;
    let _ = writeln!(
        o,
        "\nrehinge when the pulled line has grown by {:.1} mm\n({} joints, {:.2} mm each; designed pulled length {:.1} mm)",
        r.growth_mm, r.joints, r.each_mm, r.pulled_mm
    );
    Ended { code, stdout: o, stderr: String::new() }
}

fn folded(o: &mut String, text: &str) {
    let mut line = String::new();
    for w in text.split(' ') {
        if !line.is_empty() && line.len() + 1 + w.len() > 60 {
            let _ = writeln!(o, "{line}");
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(w);
    }
    let _ = writeln!(o, "{line}");
}

/// Runs `passport`.
pub(super) fn passport(a: &Passport, color: Color) -> Ended {
    let design = match read_design(&a.file, a.format == Format::Json, color) {
        Ok(d) => d,
        Err(e) => return e,
    };
    let r = passport::rehinge(&design);
    let delivered = a.delivered.unwrap_or(r.pulled_mm);
    let entry = match a.now.map(|now| passport::entry(&design, delivered, now)).transpose() {
        Ok(e) => e,
        Err(why) => return Ended { code: 2, stdout: String::new(), stderr: format!("{why}\n") },
    };
    let code = u8::from(entry.as_ref().is_some_and(|e| e.worn[1] >= 1.0));
    if a.format == Format::Json {
        let v = serde_json::json!({ "design": design.name(), "rehinge": r, "entry": entry });
        let stdout = serde_json::to_string_pretty(&v).unwrap_or_default() + "\n";
        return Ended { code, stdout, stderr: String::new() };
    }
    let mut o = String::new();
    let _ = writeln!(o, "service passport    {}\n", design.name());
    let _ = writeln!(o, "alloy               {}", design.metal().name);
    let _ = writeln!(
        o,
        "pulled length       {delivered:.1} mm at delivery{}",
        if a.delivered.is_none() { " (designed: read it and write it here)" } else { "" }
    );
    let _ = writeln!(o, "rehinge at          {:.1} mm pulled", delivered + r.growth_mm);
    let _ = writeln!(
        o,
        "measured            closed flat, pulled by hand until it lies\n                    straight, on a steel rule, within {:.2} mm",
        passport::READING
    );
    if let Some(e) = &entry {
        let _ = writeln!(o, "\nnow                 {:.1} mm", e.now_mm);
        let _ = writeln!(o, "grown by            {:.2} to {:.2} mm", e.growth_mm[0], e.growth_mm[1]);
        let _ = writeln!(o, "on each joint       {:.3} to {:.3} mm", e.each_mm[0], e.each_mm[1]);
        let _ = writeln!(
            o,
            "worn                {:.0} to {:.0} % of what may go",
            e.worn[0] * 100.0,
            e.worn[1] * 100.0
        );
        let _ = writeln!(o);
        folded(&mut o, &e.advice);
    }
    folded(
        &mut o,
        "\nEach year: joints under the glass, claws, tongue and side catches, chain and jump rings. An estimate: the eye of the maker decides.",
    );
    Ended { code, stdout: o, stderr: String::new() }
}
