//! The plan on paper: its tables and sentences, two columns a page, as many pages as they take. The words and numbers are those of
//! [`crate::plan::sheet`], the one form that every output of the plan is written from.

use super::block::{self, BASE, ROW, SMALL};
use super::font::{printable, width};
use super::ink::{Anchor, Drawing, Pen, Rect};
use super::layout::{Paper, framed};
use super::{Page, Title};
use crate::params::Design;
use crate::plan::form::{Chapter, Item};

/// Width of the title block.
const BLOCK: f64 = 128.0;
/// Between the columns of the page and along the frame; between the columns of a table.
const MARGIN: f64 = 4.0;
const CELL: f64 = 2.2;
/// Height of a chapter's heading, and room before it.
const HEAD: f64 = 2.5;
const BEFORE: f64 = 2.4;
/// Room after a table.
const AFTER: f64 = 1.0;
/// Chapters of the plan that the bench works by.
const SHOWN: [&str; 8] = [
    "To settle first",
    "Figures of the bench file",
    "Line",
    "Metal",
    "Stones",
    "Stock",
    "Drills and burs",
    "Solder",
];
/// Weights in other alloys are for the desk, not for the bench.
const NOT_SHOWN: &str = "the same in";

/// One line of the column: what is written in it, and whether the next must stand with it.
struct Line {
    cells: Vec<(f64, Anchor, String)>,
    bold: bool,
    height: f64,
    rule: bool,
    holds_next: bool,
}

impl Line {
    fn of(cells: Vec<(f64, Anchor, String)>) -> Self {
        Self { cells, bold: false, height: ROW - 0.5, rule: false, holds_next: false }
    }
}

/// Cuts a text into lines no longer than `room`, at its spaces.
fn wrapped(text: &str, room: f64, bold: bool) -> Vec<String> {
    let long = |s: &str| width(s, bold) * SMALL;
    let mut out = vec![String::new()];
    for word in printable(text).split(' ').filter(|w| !w.is_empty()) {
        let Some(last) = out.last_mut() else { break };
        if last.is_empty() {
            word.clone_into(last);
        } else if long(&format!("{last} {word}")) <= room {
            last.push(' ');
            last.push_str(word);
        } else {
            out.push(word.to_owned());
        }
    }
    out
}

/// Every chapter as lines of this width.
fn lines(chapters: &[Chapter], wide: f64) -> Vec<Line> {
    let mut out = Vec::new();
    for c in chapters.iter().filter(|c| SHOWN.contains(&c.title)) {
        let heading = vec![(0.0, Anchor::Start, c.title.to_owned())];
        out.push(Line { bold: true, height: HEAD + BEFORE + 1.6, holds_next: true, ..Line::of(heading) });
        for item in &c.items {
            match item {
                Item::Fact(a, b) => fact(&mut out, a, b, wide),
                Item::Note(n) => sentence(&mut out, n, wide),
                Item::Finding(n) => sentence(&mut out, &format!("! {n}"), wide),
                Item::Table(head, rows) if head.first() != Some(&NOT_SHOWN) => {
                    table(&mut out, head, rows, wide);
                }
                Item::Table(..) => {}
            }
        }
    }
    out
}

fn sentence(out: &mut Vec<Line>, text: &str, wide: f64) {
    let all = wrapped(text, wide, false);
    let last = all.len().saturating_sub(1);
    for (k, l) in all.into_iter().enumerate() {
        out.push(Line { holds_next: k < last, ..Line::of(vec![(0.0, Anchor::Start, l)]) });
    }
}

fn fact(out: &mut Vec<Line>, name: &str, what: &str, wide: f64) {
    let at = 0.32 * wide;
    let (a, b) = (wrapped(name, at - CELL, false), wrapped(what, wide - at, false));
    for k in 0..a.len().max(b.len()) {
        let cell = |l: &[String], x: f64| l.get(k).map(|t| (x, Anchor::Start, t.clone()));
        out.push(Line::of(cell(&a, 0.0).into_iter().chain(cell(&b, at)).collect()));
    }
}

/// Columns as wide as they need; the widest gives way and is folded.
fn table(out: &mut Vec<Line>, head: &[&str], rows: &[Vec<String>], wide: f64) {
    let n = head.len();
    let cell = |r: &[String], k: usize| r.get(k).cloned().unwrap_or_default();
    let numeric: Vec<bool> = (0..n)
        .map(|k| {
            rows.iter().all(|r| cell(r, k).starts_with(|c: char| c.is_ascii_digit() || "+-".contains(c)))
        })
        .collect();
    let long = |s: &str, bold: bool| width(&printable(s), bold) * SMALL;
    let words = |s: &str, bold: bool| s.split(' ').map(|w| long(w, bold)).fold(0.0, f64::max);
    let over = |f: &dyn Fn(&str) -> f64, k: usize| rows.iter().map(|r| f(&cell(r, k))).fold(0.0, f64::max);
    let mut room: Vec<f64> =
        (0..n).map(|k| over(&|s| long(s, false), k).max(words(head[k], true)) + 0.01).collect();
    let least: Vec<f64> =
        (0..n).map(|k| over(&|s| words(s, false), k).max(words(head[k], true)) + 0.01).collect();
    #[allow(clippy::cast_precision_loss)]
    let all = wide - CELL * n.saturating_sub(1) as f64;
    let sum = |r: &[f64]| r.iter().sum::<f64>();
    while sum(&room) > all {
        let can = (0..n).filter(|k| room[*k] > least[*k] + 1e-6);
        let Some(k) = can.max_by(|a, b| room[*a].total_cmp(&room[*b])) else { break };
        room[k] = (room[k] - (sum(&room) - all).min(1.0)).max(least[k]);
    }
    let mut from = Vec::with_capacity(n);
    let mut x = 0.0;
    for r in &room {
        from.push(x);
        x += r + CELL;
    }
    let mut row = |cells: Vec<String>, bold: bool| {
        let parts: Vec<Vec<String>> = (0..n).map(|k| wrapped(&cells[k], room[k], bold)).collect();
        let high = parts.iter().map(Vec::len).max().unwrap_or(0);
        for l in 0..high {
            let placed = (0..n).filter_map(|k| {
                let text = parts[k].get(l).filter(|t| !t.is_empty())?.clone();
                Some(if numeric[k] {
                    (from[k] + room[k], Anchor::End, text)
                } else {
                    (from[k], Anchor::Start, text)
                })
            });
            let last = l + 1 == high;
            out.push(Line { bold, rule: last, holds_next: !last || bold, ..Line::of(placed.collect()) });
        }
    };
    row(head.iter().map(|h| (*h).to_owned()).collect(), true);
    for r in rows {
        row((0..n).map(|k| cell(r, k)).collect(), false);
    }
    out.push(Line { height: AFTER, ..Line::of(Vec::new()) });
}

/// The pages.
pub(super) fn sheets(
    design: &Design,
    chapters: &[Chapter],
    title: &Title,
    (first, of): (usize, usize),
    paper: Paper,
) -> Vec<Drawing> {
    let frame = paper.frame();
    let wide = (frame.width() - 3.0 * MARGIN) / 2.0;
    let all = lines(chapters, wide);
    let mut out: Vec<Drawing> = Vec::new();
    let (mut column, mut y, mut low) = (2, 0.0, 0.0);
    let mut k = 0;
    while k < all.len() {
        // Lines that stand together.
        let end =
            all.iter().enumerate().skip(k).find(|(_, l)| !l.holds_next).map_or(all.len(), |(i, _)| i + 1);
        let high: f64 = all[k..end].iter().map(|l| l.height).sum();
        if column == 2 || y - high < low {
            if column != 0 {
                let page = Page { part: "plan of the job", number: first + out.len(), of };
                let (d, foot) = page_of(design, (title, &page), paper);
                out.push(d);
                low = foot;
                column = 0;
            } else {
                column = 1;
            }
            y = frame.hi[1] - MARGIN / 2.0;
        }
        let Some(d) = out.last_mut() else { break };
        #[allow(clippy::cast_precision_loss)]
        let x = frame.lo[0] + MARGIN + f64::from(column) * (wide + MARGIN);
        for l in &all[k..end] {
            y -= l.height;
            for (at, anchor, text) in &l.cells {
                let size = if l.bold && !l.rule && l.height > ROW { HEAD } else { SMALL };
                if l.bold {
                    d.bold([x + at, y + BASE], size, *anchor, text);
                } else {
                    d.text([x + at, y + BASE], size, *anchor, text);
                }
            }
            if l.rule {
                d.line(Pen::Thin, [x, y + 0.2], [x + wide, y + 0.2]);
            }
        }
        k = end;
    }
    out
}

/// An empty page, and how low its columns reach.
fn page_of(design: &Design, (t, page): (&Title, &Page), paper: Paper) -> (Drawing, f64) {
    let frame = paper.frame();
    let mut d = framed(format!("bench sheet: {}, {}", design.name(), page.part), paper);
    let split = frame.hi[0] - BLOCK;
    let top = block::title_block(
        &mut d,
        design,
        (t, page),
        paper,
        "none",
        Rect::new([split, frame.lo[1]], frame.hi),
    );
    let notes = [
        "Prices, stock, drills and solders of your own bench: colletline plan --bench.".to_owned(),
        "Solder, flux, pickle: moving air, shaded glasses for platinum, no cadmium; local codes go first."
            .to_owned(),
        "Burs and drills: guard the eyes. A flexible line is never held loosely to a polishing wheel."
            .to_owned(),
        format!("Verdict of the checks: {}.", t.verdict),
    ];
    let left = block::notes(&mut d, &notes, Rect::new(frame.lo, [split, frame.hi[1]]));
    let top = top.max(left);
    d.line(Pen::Thin, [split, frame.lo[1]], [split, top]);
    d.line(Pen::Thin, [frame.lo[0], top], [frame.hi[0], top]);
    (d, top + MARGIN / 2.0)
}
