//! Title block and notes, alike on every sheet.

use super::ink::{Anchor, At, Drawing, Pen, Rect};
use super::layout::Paper;
use super::{Page, Title};
use crate::params::Design;

/// Height of a row of a table, mm.
pub(super) const ROW: f64 = 4.3;
/// Height of capitals in tables, mm (ISO 3098-1).
pub(super) const SMALL: f64 = 1.8;
/// Baseline over the lower line of a row.
pub(super) const BASE: f64 = 1.3;
/// Height of a field of the title block.
const FIELD: f64 = 8.2;

/// Sentences above `area.lo`; returns the upper end.
pub(super) fn notes(d: &mut Drawing, lines: &[String], area: Rect) -> f64 {
    let mut y = area.lo[1] + 0.6;
    for line in lines.iter().rev() {
        d.fitted([area.lo[0] + 1.5, y + BASE], SMALL, area.width() - 3.0, line);
        y += ROW - 0.6;
    }
    d.line(Pen::Thin, [area.lo[0], y + 0.6], [area.hi[0], y + 0.6]);
    y + 0.6
}

/// Fields as ISO 7200 asks for; returns the upper end.
pub(super) fn title_block(
    d: &mut Drawing,
    design: &Design,
    (t, page): (&Title, &Page),
    paper: Paper,
    scale: &str,
    area: Rect,
) -> f64 {
    let [x0, y0] = area.lo;
    let w = area.width();
    let symbol = 26.0;
    let date = if t.date.is_empty() { "\u{2026}" } else { t.date.as_str() };
    let rows: [&[(f64, &str, String)]; 3] = [
        &[
            (0.0, "scale", scale.into()),
            (0.18, "units", "mm".into()),
            (0.32, "paper", paper.name().into()),
            (0.48, "sheet", format!("{}/{}", page.number, page.of)),
        ],
        &[(0.0, "date", date.into()), (0.32, "revision (SHA-256 of the file)", t.revision.clone())],
        &[(0.0, "part", page.part.into()), (0.34, "design", design.name().into())],
    ];
    let wide = [w - symbol, w - symbol, w];
    for (i, (row, wide)) in rows.iter().zip(wide).enumerate() {
        #[allow(clippy::cast_precision_loss)]
        let y = y0 + FIELD * i as f64;
        for (k, (from, label, value)) in row.iter().enumerate() {
            let a = x0 + from * w;
            let b = row.get(k + 1).map_or(x0 + wide, |n| x0 + n.0 * w);
            d.text([a + 1.2, y + FIELD - 2.4], 1.6, Anchor::Start, label);
            d.fitted([a + 1.2, y + 1.6], 2.5, b - a - 2.4, value);
            if k > 0 {
                d.line(Pen::Thin, [a, y], [a, y + FIELD]);
            }
        }
        d.line(Pen::Thin, [x0, y + FIELD], [x0 + if i == 0 { wide } else { w }, y + FIELD]);
    }
    d.line(Pen::Thin, [area.hi[0] - symbol, y0], [area.hi[0] - symbol, y0 + 2.0 * FIELD]);
    third_angle(d, [area.hi[0] - symbol / 2.0, y0 + FIELD + 1.8]);
    d.fitted([area.hi[0] - symbol + 1.2, y0 + 1.4], 1.6, symbol - 2.4, &t.program);
    y0 + 3.0 * FIELD
}

/// The symbol of third angle projection, ISO 5456-2: the circles stand on the side of the narrow end they show.
fn third_angle(d: &mut Drawing, c: At) {
    let (small, large, long) = (1.6, 3.0, 6.0);
    let [x, y] = [c[0] - 5.2, c[1]];
    d.circle(Pen::Edge, [x, y], small);
    d.circle(Pen::Edge, [x, y], large);
    let (a, b) = (c[0] + 1.8, c[0] + 1.8 + long);
    let cone = vec![[a, y - small], [b, y - large], [b, y + large], [a, y + small], [a, y - small]];
    d.lines.push((Pen::Edge, cone));
    d.line(Pen::Centre, [x - large - 1.0, y], [b + 1.0, y]);
    d.line(Pen::Centre, [x, y - large - 1.0], [x, y + large + 1.0]);
}
