//! A drawing as SVG 1.1, one user unit a millimetre.

use super::font::CAPITALS;
use super::ink::{Anchor, Drawing, Pen, Text};
use std::fmt::Write as _;

/// Writes the drawing. Text keeps the length it was laid out with, whatever font the viewer takes.
#[must_use]
pub fn write(d: &Drawing) -> String {
    let [w, h] = d.size;
    let mut out = String::new();
    let _ = writeln!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{0}mm" height="{1}mm" viewBox="0 0 {0} {1}" role="img">"#,
        number(w),
        number(h)
    );
    let _ = writeln!(out, "<title>{}</title>", escaped(&d.title));
    let _ = writeln!(out, r##"<rect width="{}" height="{}" fill="#fff"/>"##, number(w), number(h));
    for pen in Pen::ALL {
        let path: Vec<String> = d.lines.iter().filter(|l| l.0 == pen).map(|l| path(&l.1, h)).collect();
        if path.is_empty() {
            continue;
        }
        let dashes: Vec<String> = pen.dashes().iter().map(|v| number(*v)).collect();
        let dashes = if dashes.is_empty() {
            String::new()
        } else {
            format!(r#" stroke-dasharray="{}""#, dashes.join(" "))
        };
        let _ = writeln!(
            out,
            r##"<path class="{}" fill="none" stroke="#000" stroke-width="{}" stroke-linecap="round" stroke-linejoin="round"{dashes} d="{}"/>"##,
            pen.name(),
            number(pen.width()),
            path.concat()
        );
    }
    let fills: String = d.fills.iter().map(|f| path(f, h) + "z").collect();
    let _ = writeln!(out, r#"<path class="fill" d="{fills}"/>"#);
    for t in &d.texts {
        let b = t.bounds();
        let _ = writeln!(
            out,
            r##"<rect x="{}" y="{}" width="{}" height="{}" fill="#fff"/>"##,
            number(b.lo[0]),
            number(h - b.hi[1]),
            number(b.width()),
            number(b.height())
        );
    }
    let _ = writeln!(out, r#"<g font-family="Helvetica, Arial, 'Liberation Sans', sans-serif">"#);
    for t in &d.texts {
        text(&mut out, t, h);
    }
    out.push_str("</g>\n</svg>\n");
    out
}

fn text(out: &mut String, t: &Text, h: f64) {
    let (x, y) = (number(t.at[0]), number(h - t.at[1]));
    let anchor = match t.anchor {
        Anchor::Start => "",
        Anchor::Middle => r#" text-anchor="middle""#,
        Anchor::End => r#" text-anchor="end""#,
    };
    let turn = if t.upright { format!(r#" transform="rotate(-90 {x} {y})""#) } else { String::new() };
    let bold = if t.bold { r#" font-weight="bold""# } else { "" };
    let measures = t.measures.map_or(String::new(), |m| format!(r#" data-measures="{m}""#));
    let _ = writeln!(
        out,
        r#"<text x="{x}" y="{y}" font-size="{}" textLength="{}" lengthAdjust="spacingAndGlyphs"{anchor}{turn}{bold}{measures}>{}</text>"#,
        number(t.height / CAPITALS),
        number(t.length()),
        escaped(&t.text)
    );
}

/// A polyline, the first point absolute, the others by steps: to 0.01 mm, a quarter of what a printer's finest dot is wide. The
/// steps are those of the rounded places, so that they do not add up to an error.
fn path(line: &[[f64; 2]], h: f64) -> String {
    let mut out = String::new();
    let mut last: Option<[f64; 2]> = None;
    for p in line {
        let at = [p[0], h - p[1]].map(|v| (v * 100.0).round());
        let [x, y] = last.map_or(at, |l| [at[0] - l[0], at[1] - l[1]]).map(|v| number(v / 100.0));
        let _ = write!(out, "{}{x} {y}", if last.is_none() { 'M' } else { 'l' });
        last = Some(at);
    }
    out
}

/// A micrometre of paper is finer than any printer.
pub(super) fn number(v: f64) -> String {
    let s = format!("{v:.3}");
    let s = s.trim_end_matches('0').trim_end_matches('.');
    if s == "-0" || s.is_empty() { "0".into() } else { s.to_owned() }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
