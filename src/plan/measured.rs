//! Links and stones as measured, read from a CSV: one row for each link and stone, numbered as they lie in the jig.

use crate::spelling::near_word;

/// Most rows taken.
const MOST_ROWS: usize = 2000;
/// Problems listed for one file.
const MOST_PROBLEMS: usize = 100;

/// Columns that are read.
const COLUMNS: [&str; 4] = ["link", "pitch", "stone", "note"];

/// What the columns are of.
const NEEDED: &str =
    "link (width over the setting), pitch (joint to joint), stone (diameter); note is not read";

/// An inch, mm.
const INCH: f64 = 25.4;

/// Settings that a line can have, mm.
const SIZES: (f64, f64) = (1.0, 10.0);

/// What was measured. A list that was not measured is empty.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Measured {
    /// Widths of the settings, mm, by the number of the link.
    pub links: Vec<f64>,
    /// Distances from joint to joint of each link, mm, by the number of the link.
    pub pitches: Vec<f64>,
    /// Diameters of the stones, mm, by the number of the stone.
    pub stones: Vec<f64>,
}

/// One column of the head: which, and its unit in mm.
#[derive(Clone, Copy)]
struct Column {
    name: &'static str,
    unit: f64,
}

/// Reads a CSV: columns `link` (width over the setting), `pitch` (joint to joint) and `stone` (diameter), any of them, and `note`,
/// separated by comma, semicolon or tab, a decimal comma where the separator is none. A head may name its unit, `link (mm)` or
/// `link_in`; without one it is mm. A column may end early, it may have no holes.
///
/// # Errors
/// Everything that is wrong, in words, each with its line.
pub fn read(text: &str) -> Result<Measured, Vec<String>> {
    table(text).map_err(|mut wrong| {
        wrong.truncate(MOST_PROBLEMS);
        wrong
    })
}

fn table(text: &str) -> Result<Measured, Vec<String>> {
    let text = text.trim_start_matches('\u{feff}');
    let mut lines =
        text.lines().enumerate().filter(|(_, l)| !l.trim().is_empty() && !l.trim_start().starts_with('#'));
    let Some((at, head)) = lines.next() else {
        return Err(vec![format!("the file is empty; its first line names the columns: {NEEDED}")]);
    };
    let separator = [';', '\t', ','].into_iter().find(|s| head.contains(*s)).unwrap_or(',');
    let mut wrong = Vec::new();
    let columns = heads(head, separator, at + 1, &mut wrong);
    // Lengths under heads that are not understood say nothing.
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let mut found: Vec<Vec<(usize, f64)>> = vec![Vec::new(); columns.len()];
    let mut rows = 0;
    for (i, line) in lines {
        rows += 1;
        if rows > MOST_ROWS {
            wrong.push(format!("more than {MOST_ROWS} rows; a line has at most 160 stones"));
            break;
        }
        let cells: Vec<&str> = line.split(separator).map(|c| c.trim().trim_matches('"').trim()).collect();
        if cells.len() > columns.len() && !cells[columns.len()..].iter().all(|c| c.is_empty()) {
            let hint = if separator == ',' { "; decimal commas? Then separate columns with ;" } else { "" };
            wrong.push(format!("line {}: {} values under {} heads{hint}", i + 1, cells.len(), columns.len()));
            continue;
        }
        for ((column, cell), into) in columns.iter().zip(&cells).zip(&mut found) {
            let Some(column) = column.filter(|_| !cell.is_empty()) else { continue };
            match length(column, cell, separator) {
                Ok(mm) => into.push((rows, mm)),
                Err(why) => wrong.push(format!("line {}: {why}", i + 1)),
            }
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let mut out = Measured::default();
    for (column, list) in columns.iter().zip(&found) {
        let Some(column) = column else { continue };
        if let Some(k) = (0..list.len()).find(|k| list[*k].0 != k + 1) {
            wrong.push(format!(
                "row {}: {} is empty and goes on below; measure it, or leave the link or stone out",
                k + 1,
                column.name
            ));
        } else if list.is_empty() {
            wrong.push(format!("column {} has no values; leave it out", column.name));
        }
        let values = list.iter().map(|x| x.1).collect();
        match column.name {
            "link" => out.links = values,
            "pitch" => out.pitches = values,
            _ => out.stones = values,
        }
    }
    // Width and pitch are of the same links.
    if !out.links.is_empty() && !out.pitches.is_empty() && out.links.len() != out.pitches.len() {
        wrong.push(format!(
            "{} widths and {} pitches: both are of the same links; measure both of each, or leave a column out",
            out.links.len(),
            out.pitches.len()
        ));
    }
    if wrong.is_empty() { Ok(out) } else { Err(wrong) }
}

/// The columns of the head; `None` for a note.
fn heads(head: &str, separator: char, line: usize, wrong: &mut Vec<String>) -> Vec<Option<Column>> {
    let mut out: Vec<Option<Column>> = Vec::new();
    for cell in head.split(separator) {
        let cell = cell.trim().trim_matches('"').trim().to_lowercase();
        let name: String = cell.chars().take_while(char::is_ascii_alphabetic).collect();
        let rest = cell[name.len()..].trim_matches([' ', '_', '(', ')', '[', ']']);
        let unit = match rest {
            "" | "mm" => Some(1.0),
            "in" | "inch" => Some(INCH),
            _ => None,
        };
        match (COLUMNS.iter().find(|c| **c == name), unit) {
            (Some(&"note"), _) => out.push(None),
            (Some(c), _) if out.iter().flatten().any(|o| o.name == *c) => {
                wrong.push(format!("line {line}: two columns are called {c}"));
            }
            (Some(c), Some(unit)) => out.push(Some(Column { name: c, unit })),
            (Some(c), None) => {
                wrong.push(format!("line {line}: \"{cell}\": lengths are in mm or in; write {c} or {c} (mm)"))
            }
            (None, _) => {
                let near = near_word(&name, &COLUMNS).map_or(String::new(), |n| format!(", perhaps {n}"));
                let digits = !cell.is_empty() && cell.chars().all(|c| c.is_ascii_digit() || ".,".contains(c));
                wrong.push(if digits {
                    format!("line {line}: \"{cell}\" is a number; the first line names the columns: {NEEDED}")
                } else {
                    format!("line {line}: there is no column \"{cell}\"{near}; the columns are {NEEDED}")
                });
            }
        }
    }
    if wrong.is_empty() && out.iter().flatten().next().is_none() {
        wrong.push(format!("line {line}: nothing is measured; the columns are {NEEDED}"));
    }
    out
}

/// A cell in mm.
fn length(column: Column, cell: &str, separator: char) -> Result<f64, String> {
    let name = column.name;
    let bare = cell.trim_end_matches("mm").trim();
    let plain = if separator == ',' { bare.to_owned() } else { bare.replace(',', ".") };
    let x: f64 = plain.parse().map_err(|_| {
        let hint = if plain.contains(',') { "; with decimal commas separate columns with ;" } else { "" };
        format!("{name} \"{cell}\" is not a number{hint}")
    })?;
    let mm = x * column.unit;
    let (least, most) = SIZES;
    if (least..most).contains(&mm) {
        return Ok(mm);
    }
    if column.unit < INCH && (least..most).contains(&(x * INCH)) {
        return Err(format!(
            "{name} {cell} looks like inches: {:.2} mm; write that, or {name} (in) as the head",
            x * INCH
        ));
    }
    if (least..most).contains(&(mm / 100.0)) {
        return Err(format!("{name} {cell} looks like hundredths of a mm; write {:.2}", mm / 100.0));
    }
    Err(format!("{name} {cell} is no size of a link or stone of {least:.0} to {most:.0} mm"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str, words: &[&str]) {
        let e = read(text).unwrap_err().join("\n");
        assert!(words.iter().all(|w| e.contains(w)), "{text:?}: {e}");
    }

    #[test]
    fn columns_separators_commas_and_units() {
        let m = read("link;stone\n4,10;4,02\n4,11;3,98\n").unwrap();
        assert_eq!((m.links, m.stones), (vec![4.10, 4.11], vec![4.02, 3.98]));
        let m =
            read("# jig 2\nlink (mm)\tnote\tStone_mm\n4.10\tpit\t4.0\n\n4.2\t\t4.1 mm\n\t\t4.0\n").unwrap();
        assert_eq!((m.links, m.stones), (vec![4.10, 4.2], vec![4.0, 4.1, 4.0]));
        assert!((read("stone in\n0.158\n").unwrap().stones[0] - 4.0132).abs() < 1e-9);
    }

    #[test]
    fn what_is_wrong_is_told_all_at_once() {
        refused("link,stone\n0.161,4.0\nx,4.0\n412,4.0\n", &["inches", "4.09", "line 3", "hundredths"]);
        refused("link,stone\n4,10,4,02\n", &["line 2", "4 values under 2 heads", ";"]);
        refused("link,ptich\n4.1,4.2\n", &["\"ptich\"", "perhaps pitch"]);
        refused("4.10,4.20\n4.11,4.20\n", &["names the columns"]);
        refused("link cm\n0.41\n", &["mm or in"]);
        refused("link,link\n4.1,4.1\n", &["two columns"]);
        refused("note\nx\n", &["nothing is measured"]);
        refused("link,pitch\n4.1,4.2\n,4.2\n4.1,4.2\n", &["row 2", "link is empty"]);
        refused("link,pitch\n4.1,4.2\n4.1,\n", &["2 widths and 1 pitches"]);
        refused("", &["empty"]);
        refused("stone\n", &["no values"]);
    }
}
