//! Thin places for the terminal, in a window of 60 columns.

use super::summary::Paint;
use crate::fold::fold;
use crate::papers::wall_places::WallPlace;
use crate::walls::Judgement;
use std::fmt::Write as _;

/// Places told where none were asked for: the first in full, of the others value and faces.
pub(super) fn places(o: &mut String, all: &[WallPlace], each: bool, of: &str, paint: Paint) {
    for (i, p) in all.iter().enumerate() {
        let head = format!("{}  {:<2}", paint.note(), i + 1);
        let [a, b] = &p.words;
        let value = p.place.value_mm;
        for (k, line) in fold(&format!("{a} to {b}"), 39).into_iter().enumerate() {
            let _ = if k == 0 {
                writeln!(o, "{head}{line:<39} {value:>7.3} mm")
            } else {
                writeln!(o, "{:8}{line}", "")
            };
        }
        let mut tell = |text: &str| {
            for line in fold(text, 52) {
                let _ = writeln!(o, "{:8}{line}", "");
            }
        };
        let under = p.limit.as_ref().filter(|l| l.verdict != Judgement::Pass);
        if i == 0 || each {
            full(p, i == 0, of, &mut tell);
        } else if let Some(l) = under {
            let word = if l.verdict == Judgement::Fail { "under" } else { "not decided against" };
            tell(&format!("{word} the {:.2} of {}", l.least_mm, l.class));
        }
    }
}

fn full(p: &WallPlace, first: bool, of: &str, tell: &mut impl FnMut(&str)) {
    let t = &p.place;
    if first {
        tell(&format!("proved: nothing within 15 deg of square is below {:.4} in {of}", t.lower_mm));
    } else {
        tell(&format!("proved: none of its kind is below {:.4}", t.lower_mm));
    }
    if t.blade {
        tell("beside a sharp edge or corner: it is the blade that is thin");
    }
    if let Some(l) = &p.limit {
        let word = match l.verdict {
            Judgement::Pass => "over",
            Judgement::Fail => "under",
            Judgement::Unverified => "not decided against",
        };
        let source = l.source.words();
        let state = match l.state {
            crate::trade::limits::State::AsCast => "as cast",
            crate::trade::limits::State::Finished => "finished",
            crate::trade::limits::State::Stock => "drawn or rolled stock",
        };
        tell(&format!("{word} the {:.2} of {}, {state} ({source})", l.least_mm, l.class));
    }
    if let Some(e) = &p.extent {
        if e.samples == 0 {
            tell(&format!("below {:.3} only in a spot, less than a sample", e.below_mm));
        } else {
            tell(&format!(
                "below {:.3} over {:.3} mm2, {:.2} mm long, as sampled",
                e.below_mm, e.area_mm2, e.length_mm
            ));
        }
    }
    let at = |p: &[f64; 3]| format!("({:.3}, {:.3}, {:.3})", p[0], p[1], p[2]);
    tell(&format!("{} at {}", t.between[0], at(&t.at[0])));
    tell(&format!("{} at {}", t.between[1], at(&t.at[1])));
    if !p.change.is_empty() {
        tell(&format!("moved by {}", p.change.join(", ")));
    }
}
