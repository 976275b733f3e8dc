//! Drawings as the pages of a PDF, in true size. Text is set in the standard fonts every PDF reader has.

use super::font::{CAPITALS, encoded};
use super::ink::{Anchor, Drawing, Pen, Text};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

/// Points a millimetre.
const POINT: f64 = 72.0 / 25.4;

#[allow(clippy::cast_possible_truncation)]
fn pt(mm: f64) -> f32 {
    // A thousandth of a point is a third of a micrometre.
    ((mm * POINT * 1000.0).round() / 1000.0) as f32
}

/// Writes the drawings, a page each; `creator` is the program with its version.
#[must_use]
pub fn write(drawings: &[&Drawing], creator: &str) -> Vec<u8> {
    let mut next = 0;
    let mut new = || {
        next += 1;
        Ref::new(next)
    };
    let (catalog, pages, regular, bold, info) = (new(), new(), new(), new(), new());
    let each: Vec<(Ref, Ref, &Drawing)> = drawings.iter().map(|d| (new(), new(), *d)).collect();
    let mut pdf = Pdf::new();
    pdf.catalog(catalog).pages(pages);
    pdf.pages(pages).kids(each.iter().map(|e| e.0)).count(i32::try_from(each.len()).unwrap_or(i32::MAX));
    for (page, content, d) in &each {
        let mut p = pdf.page(*page);
        p.media_box(Rect::new(0.0, 0.0, pt(d.size[0]), pt(d.size[1]))).parent(pages).contents(*content);
        p.resources().fonts().pair(Name(b"R"), regular).pair(Name(b"B"), bold);
        p.finish();
        pdf.stream(*content, &page_content(d));
    }
    pdf.type1_font(regular).base_font(Name(b"Helvetica")).encoding_predefined(Name(b"WinAnsiEncoding"));
    pdf.type1_font(bold).base_font(Name(b"Helvetica-Bold")).encoding_predefined(Name(b"WinAnsiEncoding"));
    let title = drawings.first().map_or("", |d| d.title.as_str());
    pdf.document_info(info).title(TextStr(title)).creator(TextStr(creator)).producer(TextStr(creator));
    pdf.finish()
}

fn page_content(d: &Drawing) -> Vec<u8> {
    let mut c = Content::new();
    c.set_line_cap(pdf_writer::types::LineCapStyle::RoundCap);
    c.set_line_join(pdf_writer::types::LineJoinStyle::RoundJoin);
    for pen in Pen::ALL {
        c.set_line_width(pt(pen.width()));
        c.set_dash_pattern(pen.dashes().iter().map(|v| pt(*v)), 0.0);
        for (_, line) in d.lines.iter().filter(|l| l.0 == pen) {
            trace(&mut c, line);
            c.stroke();
        }
    }
    for f in &d.fills {
        trace(&mut c, f);
        c.close_path().fill_nonzero();
    }
    c.set_fill_gray(1.0);
    for t in &d.texts {
        let b = t.bounds();
        c.rect(pt(b.lo[0]), pt(b.lo[1]), pt(b.width()), pt(b.height())).fill_nonzero();
    }
    c.set_fill_gray(0.0);
    for t in &d.texts {
        text(&mut c, t);
    }
    c.finish().to_vec()
}

fn trace(c: &mut Content, line: &[[f64; 2]]) {
    for (i, p) in line.iter().enumerate() {
        if i == 0 {
            c.move_to(pt(p[0]), pt(p[1]));
        } else {
            c.line_to(pt(p[0]), pt(p[1]));
        }
    }
}

fn text(c: &mut Content, t: &Text) {
    let back = match t.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => t.length() / 2.0,
        Anchor::End => t.length(),
    };
    let [x, y] = if t.upright { [t.at[0], t.at[1] - back] } else { [t.at[0] - back, t.at[1]] };
    let turn = if t.upright { [0.0, 1.0, -1.0, 0.0] } else { [1.0, 0.0, 0.0, 1.0] };
    c.begin_text();
    c.set_font(Name(if t.bold { b"B" } else { b"R" }), pt(t.height / CAPITALS));
    c.set_text_matrix([turn[0], turn[1], turn[2], turn[3], pt(x), pt(y)]);
    c.show(Str(&encoded(&t.text)));
    c.end_text();
}
