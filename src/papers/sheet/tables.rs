//! Dimensions for the bench, tools and parts of a link, over its title block.

use super::block::{self, BASE, ROW, SMALL};
use super::ink::{Anchor, Drawing, Pen, Rect};
use super::layout::Paper;
use super::views::Subject;
use super::{Page, Title};
use crate::params::{JointKind, Key, Shape};

/// Draws everything into the lower part of a column and returns how high it reaches.
pub(super) fn draw(
    d: &mut Drawing,
    s: &Subject,
    (t, page): (&Title, &Page),
    paper: Paper,
    scale: f64,
    area: Rect,
) -> f64 {
    let y = block::title_block(d, s.design, (t, page), paper, &format!("{scale}:1"), area);
    let y = block::notes(d, &notes(s, t), Rect::new([area.lo[0], y], area.hi));
    let (mut bench, mut tools) = (bench(s), tools(s));
    let rows = bench.len().max(tools.len());
    bench.resize(rows, Default::default());
    tools.resize(rows, Default::default());
    let middle = area.lo[0] + area.width() * 0.56;
    let left = Rect::new([area.lo[0], y], [middle, area.hi[1]]);
    let right = Rect::new([middle, y], area.hi);
    let (a, b) = (table(d, "Dimensions", &bench, left), table(d, "Tools, wire, parts", &tools, right));
    let top = a.max(b);
    d.line(Pen::Thin, [area.lo[0], top], [area.hi[0], top]);
    d.line(Pen::Thin, [middle, y], [middle, top]);
    top
}

/// Rows of name and value above `area.lo`, the heading on top; returns the upper end.
fn table(d: &mut Drawing, head: &str, rows: &[(String, String)], area: Rect) -> f64 {
    let value = area.hi[0] - 1.5;
    let mut y = area.lo[1];
    for (name, what) in rows.iter().rev() {
        if name.is_empty() {
            y += ROW;
            continue;
        }
        d.text([value, y + BASE], SMALL, Anchor::End, what);
        let long = super::font::width(&super::font::printable(what), false) * SMALL;
        d.fitted([area.lo[0] + 1.5, y + BASE], SMALL, area.width() - long - 5.0, name);
        y += ROW;
        d.line(Pen::Thin, [area.lo[0], y], [area.hi[0], y]);
    }
    d.bold([area.lo[0] + 1.5, y + BASE], SMALL, Anchor::Start, head);
    y + ROW
}

fn mm(v: f64) -> String {
    format!("{v:.2}")
}

/// What the bench keeps to, finished metal; the least where a wall has one.
fn bench(s: &Subject) -> Vec<(String, String)> {
    let g = |k: Key| s.design.get(k);
    let least = |point: &str| {
        s.wear
            .iter()
            .find(|w| w.point == point)
            .map_or(String::new(), |w| format!(" (min {:.2})", w.limit_mm))
    };
    let mut out = vec![("setting, over the rim".to_owned(), mm(g(Key::Width)))];
    let mut row = |name: &str, what: String| out.push((name.to_owned(), what));
    row("height of the collet", mm(g(Key::Height)));
    row("wall, square to the skin", mm(g(Key::Wall)) + &least("collet.wall"));
    row("land of the rim", mm(g(Key::RimLand)) + &least("rim.land"));
    row(
        "opening, wide \u{d7} high",
        format!("{} \u{d7} {}", mm(g(Key::OpeningWidth)), mm(g(Key::OpeningTop) - g(Key::OpeningBottom))),
    );
    if s.design.shape() != Shape::Round {
        row("corner, radius", mm(g(Key::CornerRadius)));
    }
    match s.design.joint() {
        JointKind::WireLoop => {
            row(
                "bore, wide \u{d7} high",
                format!("{} \u{d7} {}", mm(g(Key::BoreWidth)), mm(g(Key::BoreHeight))),
            );
            row("web, height", mm(g(Key::WebHeight)) + &least("web.right.height"));
            row("web, edges dressed to R", mm(g(Key::WebEdge)));
            row(
                "groove, wide \u{d7} deep",
                format!("{} \u{d7} {}", mm(g(Key::GrooveWidth)), mm(g(Key::GrooveDepth))),
            );
        }
        JointKind::HingeTube => {
            row(
                "tube, outside \u{d7} bore",
                format!("{} \u{d7} {}", mm(g(Key::TubeOuter)), mm(g(Key::TubeBore))),
            );
            row("tube, axis over the skin", mm(g(Key::TubeHeight)));
            row("row of knuckles", mm(g(Key::TubeLength)));
            row("clearance in the pocket", mm(g(Key::PocketClearance)));
        }
    }
    row("pitch, link to link", mm(s.design.dims().pitch.get()));
    out
}

fn tools(s: &Subject) -> Vec<(String, String)> {
    let g = |k: Key| s.design.get(k);
    let mut out = Vec::new();
    let mut row = |name: &str, what: String| out.push((name.to_owned(), what));
    row("setting bur, full angle", format!("{:.0}\u{b0}", g(Key::BurAngle)));
    row("parallel bur, opening", format!("\u{d8}{}", mm(g(Key::OpeningBur))));
    match s.design.joint() {
        JointKind::WireLoop => {
            row("bore", format!("\u{d8}{}", mm(g(Key::BoreWidth))));
            row("loop wire", format!("\u{d8}{}", mm(g(Key::Wire))));
            row("its leg, hammered to", mm(g(Key::WireFlat)));
        }
        JointKind::HingeTube => {
            row("hole for the pin", format!("\u{d8}{}", mm(g(Key::TubeBore))));
            row("pin wire", format!("\u{d8}{}", mm(g(Key::Pin))));
        }
    }
    row("claw wire", format!("\u{d8}{}", mm(g(Key::ClawDiameter))));
    row("claw left over the table", mm(g(Key::ClawOver)));
    row("stones, in all", format!("{:.0}", g(Key::Count)));
    row("stone, diameter", format!("\u{d8}{} \u{b1}{}", mm(g(Key::Diameter)), mm(g(Key::StoneTolerance))));
    row("links beside the clasp", format!("{:.0}", (g(Key::Count) - g(Key::ClaspCount)).max(0.0)));
    out
}

fn notes(s: &Subject, t: &Title) -> [String; 4] {
    [
        "mm, metal as finished; (min) is the least allowed. No tolerance given: ISO 2768-f.".to_owned(),
        format!("Verdict of the checks: {}. State: {}.", t.verdict, t.state),
        "Burs and drills: guard the eyes. Stones vary: try each in its own seat.".to_owned(),
        format!("Metal: {}, {} g/cm3.", s.design.metal().name, s.design.density().0),
    ]
}
