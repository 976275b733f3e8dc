//! Chapters of facts, tables and sentences, and the three forms they are written in: terminal, Markdown, CSV. One source, so that
//! the forms cannot disagree.

use crate::fold::fold;
use std::fmt::Write as _;

/// One chapter.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Chapter {
    /// Its title.
    pub title: &'static str,
    /// What stands in it, in order.
    pub items: Vec<Item>,
}

/// What can stand in a chapter.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub enum Item {
    /// A name and its value.
    Fact(String, String),
    /// Columns with a head.
    Table(Vec<&'static str>, Vec<Vec<String>>),
    /// A sentence.
    Note(String),
    /// A sentence that asks for attention.
    Finding(String),
}

/// For a terminal of `width` columns.
#[must_use]
pub fn terminal(
    (title, chapters): (&str, &[Chapter]),
    width: usize,
    bold: impl Fn(&str) -> String,
    alert: impl Fn(&str) -> String,
) -> String {
    let mut o = String::new();
    for (i, l) in fold(title, width).iter().enumerate() {
        let _ = writeln!(o, "{}", if i == 0 { bold(l) } else { l.clone() });
    }
    for c in chapters {
        let _ = writeln!(o, "\n{}", bold(c.title));
        for i in &c.items {
            match i {
                Item::Fact(a, b) => folded(&mut o, &format!("{a:<22} {b}"), width, 23),
                Item::Note(n) => folded(&mut o, n, width, 2),
                Item::Finding(n) => {
                    let mut text = String::new();
                    folded(&mut text, &format!("! {n}"), width, 2);
                    o.push_str(&alert(text.trim_end()));
                    o.push('\n');
                }
                Item::Table(head, rows) => table(&mut o, head, rows, width),
            }
        }
    }
    o
}

/// A table in columns; the widest text column gives way and is folded.
fn table(o: &mut String, head: &[&str], rows: &[Vec<String>], width: usize) {
    let n = head.len();
    let count = |s: &str| s.chars().count();
    // Heads are folded at their spaces, so a column is as wide as its longest word there.
    let word = |s: &str| s.split(' ').map(count).max().unwrap_or(0);
    let mut wide: Vec<usize> = (0..n)
        .map(|k| rows.iter().filter_map(|r| r.get(k)).map(|c| count(c)).max().unwrap_or(0).max(word(head[k])))
        .collect();
    let gaps = 2 * n.saturating_sub(1);
    // No column is made narrower than its longest word.
    let least: Vec<usize> = (0..n)
        .map(|k| rows.iter().filter_map(|r| r.get(k)).map(|c| word(c)).max().unwrap_or(0).max(word(head[k])))
        .collect();
    while wide.iter().sum::<usize>() + gaps > width {
        let Some((k, _)) = wide.iter().enumerate().filter(|(k, w)| **w > least[*k]).max_by_key(|x| *x.1)
        else {
            break;
        };
        wide[k] -= 1;
    }
    let mut row = |cells: &[String]| {
        let parts: Vec<Vec<String>> = cells.iter().zip(&wide).map(|(c, w)| fold(c, *w)).collect();
        for line in 0..parts.iter().map(Vec::len).max().unwrap_or(0) {
            let mut text = String::new();
            for (k, p) in parts.iter().enumerate() {
                let cell = p.get(line).map_or("", String::as_str);
                let pad = wide[k].saturating_sub(count(cell));
                if numeric(rows, k) {
                    let _ = write!(text, "{}{cell}", " ".repeat(pad));
                } else {
                    let _ = write!(text, "{cell}{}", " ".repeat(pad));
                }
                if k + 1 < n {
                    text.push_str("  ");
                }
            }
            let _ = writeln!(o, "{}", text.trim_end());
        }
    };
    row(&head.iter().map(|h| (*h).to_owned()).collect::<Vec<_>>());
    for r in rows {
        row(r);
    }
}

/// Whether a column holds numbers, so that it is set flush right.
fn numeric(rows: &[Vec<String>], k: usize) -> bool {
    rows.iter()
        .filter_map(|r| r.get(k))
        .all(|c| c.starts_with(|c: char| c.is_ascii_digit() || "+-".contains(c)))
}

fn folded(o: &mut String, text: &str, width: usize, indent: usize) {
    // Runs of spaces that align a fact are kept: only the rest is folded.
    let lines = fold(text, width.saturating_sub(indent).max(20));
    let first: String = text.chars().take(width).collect();
    if text.chars().count() <= width {
        let _ = writeln!(o, "{first}");
        return;
    }
    if indent > 2 {
        let (label, rest) = text.split_at(text.char_indices().nth(indent).map_or(text.len(), |c| c.0));
        for (i, l) in fold(rest, width.saturating_sub(indent).max(20)).iter().enumerate() {
            let _ = writeln!(o, "{}{l}", if i == 0 { label.to_owned() } else { " ".repeat(indent) });
        }
        return;
    }
    for (i, l) in lines.iter().enumerate() {
        let _ = writeln!(o, "{}{l}", if i == 0 { "" } else { "  " });
    }
}

/// As Markdown.
#[must_use]
pub fn markdown(title: &str, chapters: &[Chapter]) -> String {
    let safe = |s: &str| {
        s.replace('\\', "\\\\")
            .replace('|', "\\|")
            .replace('<', "&lt;")
            .replace('*', "\\*")
            .replace('_', "\\_")
    };
    let mut o = format!("# {}\n", safe(title));
    for c in chapters {
        let _ = write!(o, "\n## {}\n\n", c.title);
        let mut before = "";
        for i in &c.items {
            let kind = match i {
                Item::Fact(..) => "fact",
                Item::Table(..) => "table",
                Item::Note(_) => "note",
                Item::Finding(_) => "finding",
            };
            if !before.is_empty() && (kind != before || kind != "fact") {
                o.push('\n');
            }
            before = kind;
            match i {
                Item::Fact(a, b) => _ = writeln!(o, "- {}: {}", safe(a), safe(b)),
                Item::Note(n) => _ = writeln!(o, "{}", safe(n)),
                Item::Finding(n) => _ = writeln!(o, "> {}", safe(n)),
                Item::Table(head, rows) => {
                    let _ = writeln!(o, "| {} |", head.join(" | "));
                    let _ = writeln!(o, "|{}", " --- |".repeat(head.len()));
                    for r in rows {
                        let cells: Vec<String> = r.iter().map(|c| safe(c)).collect();
                        let _ = writeln!(o, "| {} |", cells.join(" | "));
                    }
                }
            }
        }
    }
    o
}

/// As CSV: chapter, row, then cells; texts in quotes, points as decimal marks.
#[must_use]
pub fn csv(chapters: &[Chapter]) -> String {
    let cell = |s: &str| {
        // A cell that begins like a formula is text in every spreadsheet.
        let guarded = if s.starts_with(['=', '@']) { format!("'{s}") } else { s.to_owned() };
        if guarded.contains([',', '"', '\n', ';']) {
            format!("\"{}\"", guarded.replace('"', "\"\""))
        } else {
            guarded
        }
    };
    let mut o = String::new();
    for c in chapters {
        for i in &c.items {
            let rows: Vec<Vec<String>> = match i {
                Item::Fact(a, b) => vec![vec![a.clone(), b.clone()]],
                Item::Note(n) => vec![vec!["note".into(), n.clone()]],
                Item::Finding(n) => vec![vec!["!".into(), n.clone()]],
                Item::Table(head, rows) => std::iter::once(head.iter().map(|h| (*h).to_owned()).collect())
                    .chain(rows.iter().cloned())
                    .collect(),
            };
            for r in rows {
                let cells: Vec<String> = r.iter().map(|c| cell(c)).collect();
                let _ = writeln!(o, "{},{}", cell(c.title), cells.join(","));
            }
        }
    }
    o
}
