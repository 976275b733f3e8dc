//! A plot of a comparison: one small chart for each measure, as SVG. Text and lines only, readable in grey.

use crate::plan::compare::{Compared, Measures, Vary};
use std::fmt::Write as _;

/// Size of a chart and its margins, px.
const CHART: (f64, f64) = (360.0, 190.0);
const MARGIN: (f64, f64, f64, f64) = (64.0, 30.0, 16.0, 40.0);
/// Entries of the legend in a row.
const LEGEND: usize = 3;
/// Strokes that tell up to six curves apart without colour.
const DASHES: [&str; 6] = ["none", "7 4", "2 3", "10 3 2 3", "14 4", "4 2 1 2"];

/// The two ends of a value that is only known to lie between.
type Spread = fn(&Measures) -> Option<[f64; 2]>;

/// What a chart shows.
struct Chart {
    title: &'static str,
    value: fn(&Measures) -> Option<f64>,
    /// Where the value is only known to lie between: drawn as a band, on an axis of powers of ten.
    between: Option<Spread>,
}

const fn plain(title: &'static str, value: fn(&Measures) -> Option<f64>) -> Chart {
    Chart { title, value, between: None }
}

const CHARTS: [Chart; 7] = [
    plain("finished metal, g", |m| Some(m.finished_g)),
    plain("thinnest wall over its limit", |m| Some(m.wall_margin)),
    plain("inward turn, deg, closed form", |m| Some(m.inward_deg)),
    plain("outward turn, deg, closed form", |m| Some(m.outward_deg)),
    plain("ease, mm", |m| Some(m.ease_mm)),
    Chart {
        title: "life of a joint, years: estimate, within the grey",
        value: |m| m.life_years,
        between: Some(|m| m.life_range_years),
    },
    plain("cost", |m| m.cost),
];

/// The SVG of a comparison over one or two parameters.
#[must_use]
pub fn plot(vary: &[Vary], rows: &[Compared]) -> String {
    let charts: Vec<&Chart> = CHARTS
        .iter()
        .filter(|c| rows.iter().filter_map(|r| r.measures.as_ref().and_then(c.value)).any(f64::is_finite))
        .collect();
    let (across, down) = (2usize.min(charts.len().max(1)), charts.len().div_ceil(2).max(1));
    #[allow(clippy::cast_precision_loss)]
    let legend = 1 + if vary.len() > 1 { curves(vary).len().div_ceil(LEGEND) } else { 0 };
    #[allow(clippy::cast_precision_loss)]
    let (w, h) = (CHART.0 * across.max(2) as f64, CHART.1 * down as f64 + 12.0 + 18.0 * legend as f64);
    let mut o = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" font-family=\"sans-serif\" font-size=\"11\">\n<rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>\n"
    );
    for (i, c) in charts.iter().enumerate() {
        #[allow(clippy::cast_precision_loss)]
        let at = (CHART.0 * (i % 2) as f64, CHART.1 * (i / 2) as f64);
        chart(&mut o, at, c, vary, rows);
    }
    if let Some(second) = vary.get(1) {
        let shown = curves(vary);
        for (k, v) in shown.iter().enumerate() {
            #[allow(clippy::cast_precision_loss)]
            let (x, y) = (
                16.0 + 232.0 * (k % LEGEND) as f64,
                CHART.1 * down as f64 + 12.0 + 18.0 * (k / LEGEND) as f64,
            );
            let _ = writeln!(
                o,
                "<path d=\"M{x} {y}h28\" stroke=\"#000\" fill=\"none\" stroke-dasharray=\"{}\"/><text x=\"{}\" y=\"{}\">{} {}</text>",
                DASHES[k],
                x + 32.0,
                y + 4.0,
                second.path,
                v.unwrap_or_default()
            );
        }
        if shown.len() < second.values.len() {
            let _ = writeln!(
                o,
                "<text x=\"{}\" y=\"14\" text-anchor=\"end\" fill=\"#444\">{} of {} values of {} drawn</text>",
                w - 16.0,
                shown.len(),
                second.values.len(),
                second.path
            );
        }
    }
    let _ = writeln!(
        o,
        "<circle cx=\"22\" cy=\"{y}\" r=\"3\"/><text x=\"32\" y=\"{t}\">every rule and wall passes</text>\
         <circle cx=\"254\" cy=\"{y}\" r=\"3\" fill=\"#fff\" stroke=\"#000\"/><text x=\"264\" y=\"{t}\">one fails or is open</text>",
        y = h - 14.0,
        t = h - 10.0
    );
    o.push_str("</svg>\n");
    o
}

/// Values of the second parameter that are drawn: all, or as many as there are strokes, spread evenly.
fn curves(vary: &[Vary]) -> Vec<Option<f64>> {
    let Some(second) = vary.get(1) else { return vec![None] };
    let (n, most) = (second.values.len(), DASHES.len());
    let pick = |k: usize| if n <= most { k } else { k * (n - 1) / (most - 1) };
    (0..n.min(most)).filter_map(|k| second.values.get(pick(k)).copied().map(Some)).collect()
}

fn chart(o: &mut String, at: (f64, f64), c: &Chart, vary: &[Vary], rows: &[Compared]) {
    let Some(first) = vary.first() else { return };
    let points: Vec<(f64, f64, &Compared)> = rows
        .iter()
        .filter_map(|r| {
            Some((*r.values.first()?, r.measures.as_ref().and_then(c.value).filter(|x| x.is_finite())?, r))
        })
        .collect();
    let span = |v: &mut dyn Iterator<Item = f64>| {
        let (a, b) = v.fold((f64::INFINITY, f64::NEG_INFINITY), |s, x| (s.0.min(x), s.1.max(x)));
        if b - a > 1e-9 { (a, b) } else { (a - 0.5, b + 0.5) }
    };
    // A difference of less than a fiftieth is not drawn as if it were a large one.
    let calm = |(a, b): (f64, f64)| {
        let short = (0.02 * a.abs().max(b.abs()) - (b - a)).max(0.0) / 2.0;
        (a - short, b + short)
    };
    let (x0, x1) = span(&mut first.values.iter().copied());
    let between = |r: &Compared| r.measures.as_ref().and_then(c.between?);
    // Powers of ten where a range is shown; all values are more than nothing there.
    let up = |y: f64| if c.between.is_some() { libm::log10(y.max(1e-6)) } else { y };
    let ends = points.iter().flat_map(|p| between(p.2).unwrap_or([p.1, p.1]));
    let (y0, y1) = span(&mut ends.map(up));
    let (y0, y1) = if c.between.is_some() { (y0.floor(), y1.ceil()) } else { calm((y0, y1)) };
    let (left, top, right, bottom) = MARGIN;
    let px = |x: f64| at.0 + left + (x - x0) / (x1 - x0) * (CHART.0 - left - right);
    let level = |y: f64| at.1 + CHART.1 - bottom - (y - y0) / (y1 - y0) * (CHART.1 - top - bottom);
    let py = |y: f64| level(up(y));
    let _ = writeln!(
        o,
        "<text x=\"{:.1}\" y=\"{:.1}\" font-weight=\"bold\">{}</text>\n<path d=\"M{:.1} {:.1}V{:.1}H{:.1}\" stroke=\"#666\" fill=\"none\"/>",
        at.0 + left,
        at.1 + 18.0,
        c.title,
        px(x0),
        level(y1),
        level(y0),
        px(x1)
    );
    #[allow(clippy::cast_possible_truncation)] // a few powers of ten
    let marks: Vec<f64> = match c.between {
        Some(_) => (y0 as i32..=y1 as i32).map(f64::from).collect(),
        None => vec![y0, (y0 + y1) / 2.0, y1],
    };
    for y in marks {
        let _ = writeln!(
            o,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            px(x0) - 6.0,
            level(y) + 4.0,
            if c.between.is_some() { number(libm::pow(10.0, y)) } else { within(y, y1 - y0) }
        );
    }
    for x in [x0, (x0 + x1) / 2.0, x1] {
        let _ = writeln!(
            o,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
            px(x),
            level(y0) + 15.0,
            within(x, x1 - x0)
        );
    }
    let _ = writeln!(
        o,
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\" fill=\"#444\">{}</text>",
        px((x0 + x1) / 2.0),
        level(y0) + 30.0,
        first.path
    );
    let of = |second: &Option<f64>| -> Vec<&(f64, f64, &Compared)> {
        points.iter().filter(|p| second.is_none_or(|s| p.2.values.get(1) == Some(&s))).collect()
    };
    // The bands lie under all curves.
    for second in &curves(vary) {
        let mine = of(second);
        let edge = |e: usize| {
            mine.iter().filter_map(move |p| Some(format!("{:.1} {:.1}", px(p.0), py(*between(p.2)?.get(e)?))))
        };
        let mut band: Vec<String> = edge(0).collect();
        let back: Vec<String> = edge(1).collect();
        band.extend(back.into_iter().rev());
        if band.len() > 2 {
            let _ = writeln!(o, "<path d=\"M{}Z\" fill=\"#e4e4e4\" stroke=\"none\"/>", band.join("L"));
        }
    }
    for (k, second) in curves(vary).iter().enumerate() {
        let mine = of(second);
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

/// A mark of an axis that spans this much: as many decimals as tell the marks apart.
fn within(x: f64, span: f64) -> String {
    let decimals = if span >= 20.0 {
        0
    } else if span >= 2.0 {
        1
    } else if span >= 0.1 {
        2
    } else {
        3
    };
    format!("{x:.decimals$}")
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
