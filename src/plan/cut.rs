//! Which piece from which bar: the cutting-stock problem, solved to its optimum where that is possible in a moment.

use super::bench::StockBar;
use super::stock::Piece;
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOptions};
use serde::Serialize;
use std::collections::BTreeMap;

/// Patterns looked at before the optimum is given up; a line of one kind of piece has a handful.
const MOST_PATTERNS: usize = 4000;

/// Branches looked at before the optimum is given up: a count, not a time, so that every run ends alike.
const MOST_NODES: u64 = 20_000;

/// Added to every order, as a share (common practice).
pub const SPARE: f64 = 0.05;

/// How one section is cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cut {
    /// Section.
    pub section: String,
    /// All pieces with their saw cuts, mm.
    pub needed_mm: f64,
    /// To buy where no stock is given: with the spare.
    pub to_buy_mm: f64,
    /// Bars used and how they are cut; empty where no stock of this section is given.
    pub bars: Vec<Bar>,
    /// Whether no other way uses less of the bars.
    pub proved_least: bool,
    /// What the given stock lacks, in words; `None` when it is enough or none is given.
    pub short: Option<String>,
}

/// One way of cutting a bar, and how often.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bar {
    /// Length of the bar.
    pub length_mm: f64,
    /// How many bars are cut like this.
    pub count: usize,
    /// Pieces per bar: what, length, how many.
    pub pieces: Vec<(String, f64, usize)>,
    /// Left of each.
    pub offcut_mm: f64,
}

/// Cut lists by section.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn cuts(pieces: &[Piece], stock: &[StockBar], kerf: f64) -> Vec<Cut> {
    let mut by_section: BTreeMap<&str, Vec<&Piece>> = BTreeMap::new();
    for p in pieces.iter().filter(|p| p.count > 0) {
        by_section.entry(&p.section).or_default().push(p);
    }
    by_section
        .into_iter()
        .map(|(section, list)| {
            let needed: f64 = list.iter().map(|p| p.count as f64 * (p.length_mm + kerf)).sum();
            let mut out = Cut {
                section: section.to_owned(),
                needed_mm: needed,
                to_buy_mm: needed * (1.0 + SPARE),
                bars: Vec::new(),
                proved_least: false,
                short: None,
            };
            let bars: Vec<(f64, usize)> =
                stock.iter().filter(|s| s.section == section).map(|s| (s.length.get(), s.count)).collect();
            if !bars.is_empty() {
                match best(&list, &bars, kerf) {
                    Ok((bars, proved)) => {
                        out.bars = bars;
                        out.proved_least = proved;
                    }
                    Err(short) => out.short = Some(lacking(&list, &bars, kerf).map_or(short, |l| {
                        let have: f64 = bars.iter().map(|b| b.0 * b.1 as f64).sum();
                        format!("{needed:.0} mm are needed with saw cuts, {have:.0} mm are at hand: buy one more bar of {l:.0} mm")
                    })),
                }
            }
            out
        })
        .collect()
}

/// The shortest bar, in whole mm, with which all pieces come out; `None` where no one bar does it.
#[allow(clippy::cast_precision_loss)]
fn lacking(list: &[&Piece], bars: &[(f64, usize)], kerf: f64) -> Option<f64> {
    let all: f64 = list.iter().map(|p| p.count as f64 * (p.length_mm + kerf)).sum();
    let enough = |extra: f64| {
        let mut with = bars.to_vec();
        with.push((extra, 1));
        best(list, &with, kerf).is_ok()
    };
    let (mut low, mut high) = (0.0, all.ceil());
    if !enough(high) {
        return None;
    }
    while high - low > 1.0 {
        let middle = ((low + high) / 2.0).floor();
        if enough(middle) { high = middle } else { low = middle }
    }
    Some(high)
}

/// One way to cut one kind of bar: how many of each piece.
type Pattern = (usize, Vec<usize>);

#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn best(list: &[&Piece], bars: &[(f64, usize)], kerf: f64) -> Result<(Vec<Bar>, bool), String> {
    let takes: Vec<f64> = list.iter().map(|p| p.length_mm + kerf).collect();
    let longest = bars.iter().map(|b| b.0).fold(0.0, f64::max);
    if let Some(p) = list.iter().find(|p| p.length_mm > longest + 1e-9) {
        return Err(format!(
            "{} of {:.2} mm does not come out of a bar of {longest:.0} mm",
            p.what, p.length_mm
        ));
    }
    let mut patterns: Vec<Pattern> = Vec::new();
    for (b, bar) in bars.iter().enumerate() {
        // The last piece needs no saw cut of its own where it ends with the bar.
        fill(bar.0 + kerf, &takes, list, 0, &mut vec![0; list.len()], b, &mut patterns);
    }
    let small = patterns.len() <= MOST_PATTERNS;
    let found = if small { exact(list, bars, &patterns) } else { None };
    let (chosen, proved) = match found {
        Some(c) => (c, true),
        None => (longest_first(list, bars, &takes, kerf)?, false),
    };
    let mut out: Vec<Bar> = chosen
        .into_iter()
        .map(|((bar, counts), times)| {
            let length = bars.get(bar).map_or(0.0, |b| b.0);
            let used: f64 = counts.iter().zip(&takes).map(|(n, t)| *n as f64 * t).sum();
            let pieces = counts
                .iter()
                .zip(list)
                .filter(|(n, _)| **n > 0)
                .map(|(n, p)| (p.what.clone(), p.length_mm, *n))
                .collect();
            Bar { length_mm: length, count: times, pieces, offcut_mm: (length - used).max(0.0) }
        })
        .collect();
    out.sort_by(|a, b| b.length_mm.total_cmp(&a.length_mm).then(a.offcut_mm.total_cmp(&b.offcut_mm)));
    Ok((out, proved))
}

/// Every way to fill a bar to which nothing could be added.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn fill(
    room: f64,
    takes: &[f64],
    list: &[&Piece],
    at: usize,
    now: &mut Vec<usize>,
    bar: usize,
    out: &mut Vec<Pattern>,
) {
    if out.len() > MOST_PATTERNS {
        return;
    }
    let Some(take) = takes.get(at) else {
        if now.iter().any(|n| *n > 0) {
            out.push((bar, now.clone()));
        }
        return;
    };
    let most = ((room + 1e-9) / take).floor().max(0.0) as usize;
    let most = most.min(list.get(at).map_or(0, |p| p.count));
    // The last kind takes all that is left; the others every number.
    let least = if at + 1 == takes.len() { most } else { 0 };
    for n in (least..=most).rev() {
        now[at] = n;
        fill(room - n as f64 * take, takes, list, at + 1, now, bar, out);
    }
    now[at] = 0;
}

/// Least length of bars begun, by integer programming.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn exact(list: &[&Piece], bars: &[(f64, usize)], patterns: &[Pattern]) -> Option<Vec<(Pattern, usize)>> {
    let mut p = Problem::new(OptimizationDirection::Minimize);
    let most = |b: usize| bars.get(b).map_or(0, |x| x.1) as i32;
    let vars: Vec<_> = patterns
        .iter()
        .map(|(b, _)| p.add_integer_var(bars.get(*b).map_or(0.0, |x| x.0), (0, most(*b))))
        .collect();
    for (k, piece) in list.iter().enumerate() {
        let row: Vec<_> = patterns
            .iter()
            .zip(&vars)
            .filter(|(q, _)| q.1[k] > 0)
            .map(|(q, v)| (*v, q.1[k] as f64))
            .collect();
        p.add_constraint(row.as_slice(), ComparisonOp::Ge, piece.count as f64);
    }
    for (b, bar) in bars.iter().enumerate() {
        let row: Vec<_> =
            patterns.iter().zip(&vars).filter(|(q, _)| q.0 == b).map(|(_, v)| (*v, 1.0)).collect();
        p.add_constraint(row.as_slice(), ComparisonOp::Le, bar.1 as f64);
    }
    let mut options = SolveOptions::default();
    options.node_limit = Some(MOST_NODES);
    let outcome = p.solve_with(options).ok().filter(microlp::SolveOutcome::is_optimal)?;
    let solution = outcome.solution()?;
    let mut left: Vec<usize> = list.iter().map(|p| p.count).collect();
    let mut out: Vec<(Pattern, usize)> = Vec::new();
    for (q, v) in patterns.iter().zip(&vars) {
        let times = solution[*v].round() as usize;
        // A pattern may hold more than is still wanted: the surplus stays in the bar.
        for _ in 0..times {
            let counts: Vec<usize> = q.1.iter().zip(&left).map(|(n, l)| *n.min(l)).collect();
            left.iter_mut().zip(&counts).for_each(|(l, n)| *l -= n);
            if counts.iter().all(|n| *n == 0) {
                continue;
            }
            match out.iter_mut().find(|(p, _)| p.0 == q.0 && p.1 == counts) {
                Some((_, t)) => *t += 1,
                None => out.push(((q.0, counts), 1)),
            }
        }
    }
    left.iter().all(|l| *l == 0).then_some(out)
}

/// Longest piece first into the first bar with room: good, not proved best.
#[allow(clippy::cast_precision_loss)]
fn longest_first(
    list: &[&Piece],
    bars: &[(f64, usize)],
    takes: &[f64],
    kerf: f64,
) -> Result<Vec<(Pattern, usize)>, String> {
    let mut order: Vec<usize> = (0..list.len()).collect();
    order.sort_by(|a, b| takes[*b].total_cmp(&takes[*a]));
    let mut shortest_first: Vec<usize> = (0..bars.len()).collect();
    shortest_first.sort_by(|a, b| bars[*a].0.total_cmp(&bars[*b].0));
    let mut open: Vec<(usize, f64, Vec<usize>)> = Vec::new();
    let mut unused: Vec<usize> = bars.iter().map(|b| b.1).collect();
    for k in order {
        for _ in 0..list[k].count {
            if let Some(o) = open.iter_mut().find(|o| o.1 + 1e-9 >= takes[k]) {
                o.1 -= takes[k];
                o.2[k] += 1;
                continue;
            }
            let next = shortest_first
                .iter()
                .copied()
                .find(|b| unused[*b] > 0 && bars[*b].0 + kerf + 1e-9 >= takes[k]);
            let Some(b) = next else {
                let have: f64 = bars.iter().map(|b| b.0 * b.1 as f64).sum();
                let want: f64 = list.iter().zip(takes).map(|(p, t)| p.count as f64 * t).sum();
                return Err(format!(
                    "{want:.0} mm are needed with saw cuts, {have:.0} mm are at hand: buy {:.0} mm more",
                    (want - have).max(takes[k])
                ));
            };
            unused[b] -= 1;
            let mut counts = vec![0; list.len()];
            counts[k] = 1;
            open.push((b, bars[b].0 + kerf - takes[k], counts));
        }
    }
    let mut out: Vec<(Pattern, usize)> = Vec::new();
    for (b, _, counts) in open {
        match out.iter_mut().find(|(p, _)| p.0 == b && p.1 == counts) {
            Some((_, t)) => *t += 1,
            None => out.push(((b, counts), 1)),
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Mm;

    fn piece(what: &str, length: f64, count: usize) -> Piece {
        Piece {
            what: what.into(),
            section: "wire 0.55".into(),
            area_mm2: 0.2,
            length_mm: length,
            in_finished: length,
            count,
            how: String::new(),
            temper: "annealed",
        }
    }

    fn bar(length: f64, count: usize) -> StockBar {
        StockBar { section: "wire 0.55".into(), length: Mm(length), count }
    }

    #[test]
    fn the_cut_list_is_the_least_a_search_over_all_finds() {
        // Bars of 10: 7+3, 7+3, 5+5; longest first does the same here, but not with bars of 12 (5+5, 5+7, 7+...).
        let pieces = [piece("a", 7.0, 2), piece("b", 5.0, 2), piece("c", 3.0, 2)];
        let c = &cuts(&pieces, &[bar(10.0, 9)], 0.0)[0];
        assert!(c.proved_least && c.short.is_none());
        assert_eq!(c.bars.iter().map(|b| b.count).sum::<usize>(), 3, "{c:?}");
        let all: f64 = c.bars.iter().map(|b| b.count as f64 * b.offcut_mm).sum();
        assert!(all.abs() < 1e-9);
    }

    #[test]
    fn saw_cuts_count_and_what_lacks_is_told() {
        let c = &cuts(&[piece("a", 5.0, 2)], &[bar(10.0, 1)], 0.25)[0];
        assert!(c.short.as_ref().is_some_and(|s| s.contains("buy")), "{c:?}");
        // Two of three pieces of 6 are missing from a bar of 10: 8 mm more make up the sum, and are no two pieces.
        let c = &cuts(&[piece("a", 6.0, 3)], &[bar(10.0, 1)], 0.0)[0];
        assert!(c.short.as_ref().is_some_and(|s| s.contains("one more bar of 12 mm")), "{c:?}");
        let c = &cuts(&[piece("a", 5.0, 2)], &[bar(10.25, 1)], 0.25)[0];
        assert!(c.short.is_none() && c.bars[0].pieces[0].2 == 2);
        let c = &cuts(&[piece("a", 12.0, 1)], &[bar(10.0, 5)], 0.25)[0];
        assert!(c.short.as_ref().is_some_and(|s| s.contains("buy one more bar of 12 mm")));
    }

    #[test]
    fn past_the_limit_of_patterns_the_list_is_whole_and_not_called_the_least() {
        // Twelve kinds of piece, up to three of each, some six to a bar: far more than 4000 ways to fill one.
        let pieces: Vec<Piece> =
            (0..12).map(|k| piece(&format!("p{k}"), 9.0 + 0.37 * f64::from(k), 3)).collect();
        let c = &cuts(&pieces, &[bar(70.0, 9)], 0.2)[0];
        assert!(!c.proved_least && c.short.is_none(), "{c:?}");
        for p in &pieces {
            let got: usize = c
                .bars
                .iter()
                .map(|b| b.count * b.pieces.iter().filter(|q| q.0 == p.what).map(|q| q.2).sum::<usize>())
                .sum();
            assert_eq!(got, 3, "{} {c:?}", p.what);
        }
        for b in &c.bars {
            let used: f64 = b.pieces.iter().map(|q| (q.1 + 0.2) * q.2 as f64).sum();
            assert!(used <= b.length_mm + 0.2 + 1e-9, "{b:?}");
        }
        // Few kinds on the same bars are proved.
        assert!(cuts(&pieces[..2], &[bar(70.0, 9)], 0.2)[0].proved_least);
    }
}
