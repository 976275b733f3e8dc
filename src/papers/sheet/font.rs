//! Advance widths of Helvetica and Helvetica-Bold, the sans serif of every PDF reader, so that the place text takes is
//! known when it is laid out. Source: the font metrics that Adobe published for the 14 standard fonts of PDF 1.7
//! (ISO 32000-1, 9.6.2.2), thousandths of the font size. The outside checks compare them with a PDF library's.

/// Height of capitals as a share of the font size (CapHeight of Helvetica, 718).
pub const CAPITALS: f64 = 0.718;

const REGULAR: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556,
    556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667, 611, 778, 722, 278,
    500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469,
    556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500,
    278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

const BOLD: [u16; 95] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556,
    556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667, 611, 778, 722, 278,
    556, 722, 611, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 333, 278, 333, 584,
    556, 333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556, 278, 889, 611, 611, 611, 611, 389, 556,
    333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584,
];

/// Characters beyond ASCII that drawings use: character, code in WinAnsiEncoding (ISO 32000-1, annex D), widths.
const OTHERS: [(char, u8, u16, u16); 10] = [
    ('\u{b0}', 0xb0, 400, 400),
    ('\u{b1}', 0xb1, 584, 584),
    ('\u{b5}', 0xb5, 556, 611),
    ('\u{b7}', 0xb7, 278, 278),
    ('\u{d7}', 0xd7, 584, 584),
    ('\u{d8}', 0xd8, 778, 778),
    ('\u{f8}', 0xf8, 611, 611),
    ('\u{2013}', 0x96, 556, 556),
    ('\u{2026}', 0x85, 1000, 1000),
    ('\u{df}', 0xdf, 611, 611),
];

/// Letters with a mark above or below, in order of their codes from 0xc0: their base letter, which they are as wide as.
const MARKED: &[(char, char)] = &[
    ('\u{c0}', 'A'),
    ('\u{c1}', 'A'),
    ('\u{c2}', 'A'),
    ('\u{c3}', 'A'),
    ('\u{c4}', 'A'),
    ('\u{c5}', 'A'),
    ('\u{c7}', 'C'),
    ('\u{c8}', 'E'),
    ('\u{c9}', 'E'),
    ('\u{ca}', 'E'),
    ('\u{cb}', 'E'),
    ('\u{cc}', 'I'),
    ('\u{cd}', 'I'),
    ('\u{ce}', 'I'),
    ('\u{cf}', 'I'),
    ('\u{d1}', 'N'),
    ('\u{d2}', 'O'),
    ('\u{d3}', 'O'),
    ('\u{d4}', 'O'),
    ('\u{d5}', 'O'),
    ('\u{d6}', 'O'),
    ('\u{d9}', 'U'),
    ('\u{da}', 'U'),
    ('\u{db}', 'U'),
    ('\u{dc}', 'U'),
    ('\u{dd}', 'Y'),
    ('\u{e0}', 'a'),
    ('\u{e1}', 'a'),
    ('\u{e2}', 'a'),
    ('\u{e3}', 'a'),
    ('\u{e4}', 'a'),
    ('\u{e5}', 'a'),
    ('\u{e7}', 'c'),
    ('\u{e8}', 'e'),
    ('\u{e9}', 'e'),
    ('\u{ea}', 'e'),
    ('\u{eb}', 'e'),
    ('\u{f1}', 'n'),
    ('\u{f2}', 'o'),
    ('\u{f3}', 'o'),
    ('\u{f4}', 'o'),
    ('\u{f5}', 'o'),
    ('\u{f6}', 'o'),
    ('\u{f9}', 'u'),
    ('\u{fa}', 'u'),
    ('\u{fb}', 'u'),
    ('\u{fc}', 'u'),
    ('\u{fd}', 'y'),
    ('\u{ff}', 'y'),
];

/// Code and width of a character, thousandths; `None` if the font has it not.
fn glyph(c: char, bold: bool) -> Option<(u8, u16)> {
    if let Some(i) = u32::from(c).checked_sub(32).filter(|i| *i < 95) {
        let table = if bold { &BOLD } else { &REGULAR };
        return Some((u8::try_from(u32::from(c)).ok()?, table[i as usize]));
    }
    if let Some(o) = OTHERS.iter().find(|o| o.0 == c) {
        return Some((o.1, if bold { o.3 } else { o.2 }));
    }
    let base = MARKED.iter().find(|m| m.0 == c)?.1;
    Some((u8::try_from(u32::from(c)).ok()?, glyph(base, bold)?.1))
}

/// The text with every character that the font has not shown as a question mark.
#[must_use]
pub fn printable(text: &str) -> String {
    text.chars().map(|c| if glyph(c, false).is_some() { c } else { '?' }).collect()
}

/// Codes in WinAnsiEncoding.
#[must_use]
pub fn encoded(text: &str) -> Vec<u8> {
    text.chars().map(|c| glyph(c, false).map_or(b'?', |g| g.0)).collect()
}

/// Length of a text whose capitals are 1 high.
#[must_use]
pub fn width(text: &str, bold: bool) -> f64 {
    let sum: f64 = text.chars().map(|c| f64::from(glyph(c, bold).map_or(556, |g| g.1))).sum();
    sum / 1000.0 / CAPITALS
}
