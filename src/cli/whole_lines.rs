//! Room between parts and walls of the clasp's parts for the terminal, in a window of 60 columns.

use super::summary::Paint;
use super::wall_lines::places;
use crate::fold::fold;
use crate::papers::part_walls::PROVED;
use crate::papers::whole::Whole;
use crate::walls::Judgement;
use std::fmt::Write as _;

/// What `check --whole` adds.
pub(super) fn whole(o: &mut String, w: &Whole, each: bool, quiet: bool, paint: Paint) {
    let shown: Vec<_> =
        w.room.iter().filter(|r| !quiet || r.verdict.is_some_and(|v| v != Judgement::Pass)).collect();
    if !shown.is_empty() {
        let _ =
            writeln!(o, "\n{}", paint.bold("room between parts, at rest                     proved   least"));
    }
    for r in shown {
        let word = r.verdict.map_or_else(|| paint.note(), |v| paint.verdict(v));
        let value = if r.value_mm.is_some() { format!("{:.4}", r.lower_mm) } else { "-".into() };
        let least = r.least_mm.map_or_else(|| format!("{:>7}", "-"), |l| format!("{l:>7.3}"));
        for (k, line) in fold(&r.what, 39).into_iter().enumerate() {
            let _ = if k == 0 {
                writeln!(o, "{word}  {line:<39} {value:>8} {least} mm")
            } else {
                writeln!(o, "      {line}")
            };
        }
        if let Some(why) = &r.why {
            for line in fold(why, 52) {
                let _ = writeln!(o, "      {line}");
            }
        }
    }
    if quiet {
        return;
    }
    for p in &w.clasp {
        let _ = writeln!(o, "\n{}", paint.bold(&format!("thinnest places of the {}", p.title)));
        places(o, &p.places, each, "it", paint);
        if p.thinnest.as_ref().is_some_and(|t| t.how != PROVED) {
            let told =
                "the search ended at its limit of work: these places are real, thinner ones are not excluded";
            for (k, line) in fold(told, 52).into_iter().enumerate() {
                let word = if k == 0 { paint.verdict(Judgement::Unverified) } else { "    ".into() };
                let _ = writeln!(o, "{word}  {line}");
            }
        }
        if let Some(why) = p.why {
            let _ = writeln!(o, "{}  {why}", paint.verdict(Judgement::Unverified));
        }
    }
}
