//! Sizes cut into a flat face: digits of three by five cells, so few strokes that a printer holds them.
//!
//! A stroke is one cell wide and deep, 0.34 mm: printed engraving is held from 0.3 mm on (a service's guide for castable wax
//! resin asks 0.3 wide). No two strokes of a digit meet in a corner only, so that what is left is one closed surface.

use crate::solid::tree::{prism, rounded_rectangle};
use crate::solid::{Frame, Tree};

/// Side of a cell and depth of the strokes, mm.
pub(super) const CELL: f64 = 0.34;
/// From one digit to the next, mm.
pub(crate) const STEP: f64 = 4.2 * CELL;

/// Rows from the top.
fn rows(digit: char) -> [&'static str; 5] {
    match digit {
        '0' => ["###", "# #", "# #", "# #", "###"],
        '1' => ["  #", "  #", "  #", "  #", "  #"],
        '2' => ["###", "  #", "###", "#  ", "###"],
        '3' => ["###", "  #", "###", "  #", "###"],
        '4' => ["# #", "# #", "###", "  #", "  #"],
        '5' => ["###", "#  ", "###", "  #", "###"],
        '6' => ["###", "#  ", "###", "# #", "###"],
        '7' => ["###", "  #", "  #", "  #", "  #"],
        '8' => ["###", "# #", "###", "# #", "###"],
        '9' => ["###", "# #", "###", "  #", "###"],
        _ => ["   "; 5],
    }
}

/// The runs of two cells or more in a line of cells.
fn runs(line: impl Iterator<Item = bool>) -> Vec<[u8; 2]> {
    let (mut out, mut from) = (Vec::new(), None);
    for (k, on) in (0_u8..).zip(line.chain([false])) {
        match (from, on) {
            (None, true) => from = Some(k),
            (Some(first), false) => {
                out.extend((k - first > 1).then_some([first, k]));
                from = None;
            }
            _ => {}
        }
    }
    out
}

/// What cuts a number into the plane z = `top` of a frame, its lower left corner at `at`: strokes across and upwards, which
/// overlap where they meet.
pub(crate) fn number(frame: &Frame, at: [f64; 2], top: f64, text: &str) -> Vec<Tree> {
    let mut out = Vec::new();
    let mut x = at[0];
    for digit in text.chars() {
        let cells = rows(digit).map(|r| r.chars().map(|c| c == '#').collect::<Vec<_>>());
        let span = |from: f64, [a, b]: [u8; 2]| [from + f64::from(a) * CELL, from + f64::from(b) * CELL];
        for (r, row) in (0_u8..).zip(cells.iter().rev()) {
            for run in runs(row.iter().copied()) {
                out.push(stroke(frame, span(x, run), span(at[1], [r, r + 1]), top));
            }
        }
        for k in 0..3_u8 {
            let column = cells.iter().rev().map(|r| r.get(usize::from(k)).copied().unwrap_or(false));
            for run in runs(column) {
                out.push(stroke(frame, span(x, [k, k + 1]), span(at[1], run), top));
            }
        }
        x += STEP;
    }
    out
}

/// Bars in place of a number: as many as the axis has, where faces are alike.
pub(super) fn bars(frame: &Frame, at: [f64; 2], top: f64, count: u8) -> Vec<Tree> {
    let bar = |i| {
        let x = at[0] + f64::from(i) * 2.0 * CELL;
        stroke(frame, [x, x + CELL], [at[1], at[1] + 5.0 * CELL], top)
    };
    (0..count).map(bar).collect()
}

/// Area of a number's strokes, mm2.
#[cfg(test)]
pub(super) fn area(text: &str) -> f64 {
    let cells = text.chars().flat_map(|c| rows(c).concat().chars().collect::<Vec<_>>()).filter(|c| *c == '#');
    CELL * CELL * f64::from(u32::try_from(cells.count()).unwrap_or(0))
}

fn stroke(frame: &Frame, x: [f64; 2], y: [f64; 2], top: f64) -> Tree {
    let side = ["number.side"; 4];
    let foot = Frame { origin: frame.point(0.0, 0.0, top - CELL), ..*frame };
    prism(foot, rounded_rectangle(x, y, 0.0, side), CELL + 1.0, ["number.floor", "out"])
}
