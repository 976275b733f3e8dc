//! A plot of a comparison: one small chart for each measure, as SVG. Text and lines only, readable in grey.

use crate::plan::compare::{Compared, Measures, Vary};
use std::fmt::Write as _;

/// Size of a chart and its margins, px.
const CHART: (f64, f64) = (360.0, 190.0);
const MARGIN: (f64, f64, f64, f64) = (64.0, 30.0, 16.0, 40.0);
/// Strokes that tell up to six curves apart without colour.
const DASHES: [&str; 6] = ["none", "7 4", "2 3", "10 3 2 3", "14 4", "4 2 1 2"];

type Chart = (&'static str, fn(&Measures) -> Option<f64>);
const CHARTS: [Chart; 6] = [
    ("finished metal, g", |m| Some(m.finished_g)),
    ("thinnest wall over its limit", |m| Some(m.wall_margin)),
    ("inward turn, deg", |m| Some(m.inward_deg)),
    ("ease, mm", |m| Some(m.ease_mm)),
    ("life, years, middle of the range", |m| m.life_years),
    ("cost", |m| m.cost),
];

/// The SVG of a comparison over one or two parameters.
#[must_use]
pub fn plot(vary: &[Vary], rows: &[Compared]) -> String {
    let charts: Vec<&Chart> = CHARTS
        .iter()
        .filter(|c| rows.iter().filter_map(|r| r.measures.as_ref().and_then(c.1)).any(f64::is_finite))
        .collect();
    let (across, down) = (2usize.min(charts.len().max(1)), charts.len().div_ceil(2).max(1));
    #[allow(clippy::cast_precision_loss)]
    let (w, h) = (CHART.0 * across as f64, CHART.1 * down as f64 + 28.0);
    let mut o = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" font-family=\"sans-serif\" font-size=\"11\">\n<rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>\n"
    );
    for (i, c) in charts.iter().enumerate() {
        #[allow(clippy::cast_precision_loss)]
        let at = (CHART.0 * (i % 2) as f64, CHART.1 * (i / 2) as f64);
        chart(&mut o, at, c, vary, rows);
    }
    if let Some(second) = vary.get(1) {
        let mut x = 16.0;
        for (k, v) in second.values.iter().take(DASHES.len()).enumerate() {
            let y = h - 12.0;
            let _ = writeln!(
                o,
                "<path d=\"M{x} {y}h28\" stroke=\"#000\" fill=\"none\" stroke-dasharray=\"{}\"/><text x=\"{}\" y=\"{}\">{} {v}</text>",
                DASHES[k],
                x + 32.0,
                y + 4.0,
                second.path
            );
            x += 170.0;
        }
    }
    o.push_str("</svg>\n");
    o
}

fn chart(o: &mut String, at: (f64, f64), c: &Chart, vary: &[Vary], rows: &[Compared]) {
    let Some(first) = vary.first() else { return };
    let points: Vec<(f64, f64, &Compared)> = rows
        .iter()
        .filter_map(|r| {
            Some((*r.values.first()?, r.measures.as_ref().and_then(c.1).filter(|x| x.is_finite())?, r))
        })
        .collect();
    let span = |v: &mut dyn Iterator<Item = f64>| {
        let (a, b) = v.fold((f64::INFINITY, f64::NEG_INFINITY), |s, x| (s.0.min(x), s.1.max(x)));
        if b - a > 1e-9 { (a, b) } else { (a - 0.5, b + 0.5) }
    };
    let (x0, x1) = span(&mut first.values.iter().copied());
    let (y0, y1) = span(&mut points.iter().map(|p| p.1));
    let (left, top, right, bottom) = MARGIN;
    let px = |x: f64| at.0 + left + (x - x0) / (x1 - x0) * (CHART.0 - left - right);
    let py = |y: f64| at.1 + CHART.1 - bottom - (y - y0) / (y1 - y0) * (CHART.1 - top - bottom);
    let _ = writeln!(
        o,
        "<text x=\"{:.1}\" y=\"{:.1}\" font-weight=\"bold\">{}</text>\n<path d=\"M{:.1} {:.1}V{:.1}H{:.1}\" stroke=\"#666\" fill=\"none\"/>",
        at.0 + left,
        at.1 + 18.0,
        c.0,
        px(x0),
        py(y1),
        py(y0),
        px(x1)
    );
    for y in [y0, (y0 + y1) / 2.0, y1] {
        let _ = writeln!(
            o,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            px(x0) - 6.0,
            py(y) + 4.0,
            number(y)
        );
    }
    for x in [x0, (x0 + x1) / 2.0, x1] {
        let _ = writeln!(
            o,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
            px(x),
            py(y0) + 15.0,
            number(x)
        );
    }
    let _ = writeln!(
        o,
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\" fill=\"#444\">{}</text>",
        px((x0 + x1) / 2.0),
        py(y0) + 30.0,
        first.path
    );
    let curves: Vec<Option<f64>> = match vary.get(1) {
        Some(v) => v.values.iter().take(DASHES.len()).map(|x| Some(*x)).collect(),
        None => vec![None],
    };
    for (k, second) in curves.iter().enumerate() {
        let mine: Vec<&(f64, f64, &Compared)> =
            points.iter().filter(|p| second.is_none_or(|s| p.2.values.get(1) == Some(&s))).collect();
        let path: Vec<String> = mine.iter().map(|p| format!("{:.1} {:.1}", px(p.0), py(p.1))).collect();
        if path.len() > 1 {
            let _ = writeln!(
                o,
                "<path d=\"M{}\" stroke=\"#000\" fill=\"none\" stroke-dasharray=\"{}\"/>",
                path.join("L"),
                DASHES[k]
            );
        }
        for p in mine {
            // A filled dot passes, a ring does not.
            let fill = if p.2.verdict == "pass" { "#000" } else { "#fff" };
            let _ = writeln!(
                o,
                "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"3\" fill=\"{fill}\" stroke=\"#000\"/>",
                px(p.0),
                py(p.1)
            );
        }
    }
}

fn number(x: f64) -> String {
    let text = if x.abs() >= 100.0 {
        format!("{x:.0}")
    } else if x.abs() >= 10.0 {
        format!("{x:.1}")
    } else {
        format!("{x:.2}")
    };
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}
