//! `tables`: every number of the trade's tables with its source, and which of them the bench file overrules.

use super::args::{Color, PlanForm, Tables};
use super::make;
use super::{Ended, plan};
use crate::plan::form::{Chapter, Item};
use crate::trade::own::digits;
use crate::trade::rows::rows;
use std::io::IsTerminal as _;

/// Runs `tables`.
pub(super) fn tables(a: &Tables, color: Color) -> Ended {
    let paint = make::painted(color, std::io::stdout().is_terminal());
    let bench = match plan::bench(a.bench.as_deref(), paint) {
        Ok(b) => b,
        Err(e) => return e,
    };
    let mut all = rows();
    let mut known: Vec<&str> = Vec::new();
    for r in &all {
        if !known.contains(&r.table) {
            known.push(r.table);
        }
    }
    all.sort_by_key(|r| known.iter().position(|t| *t == r.table));
    if let Some(word) = a.table.as_ref().filter(|t| !known.contains(&t.as_str())) {
        let stderr = format!("there is no table \"{word}\"; there are {}\n", known.join(", "));
        return Ended { code: 2, stdout: String::new(), stderr };
    }
    let shown: Vec<_> =
        all.iter().filter(|r| a.table.as_ref().is_none_or(|t| r.table == t.as_str())).collect();
    let mine = |r: &crate::trade::rows::Row| {
        bench.own.list().iter().find(|o| (o.table, &o.row, o.column) == (r.table, &r.row, r.column))
    };
    if a.format == PlanForm::Json {
        let list: Vec<_> = shown
            .iter()
            .map(|r| {
                let own = mine(r);
                serde_json::json!({
                    "table": r.table, "row": r.row, "column": r.column, "unit": r.unit,
                    "value": own.map_or(r.value, |o| o.value),
                    "source": own.map_or(r.source.as_str(), |o| o.source),
                    "overruled": own.map(|o| o.instead_of),
                })
            })
            .collect();
        let v = serde_json::json!({ "format": "colletline tables 1", "rows": list });
        return Ended { code: 0, stdout: make::json(&v), stderr: String::new() };
    }
    // In a table for people a source stands once, below, and its number in each row.
    let whole = a.format == PlanForm::Csv;
    let mut chapters: Vec<Chapter> = Vec::new();
    let mut sources: Vec<String> = Vec::new();
    for r in shown {
        if chapters.last().is_none_or(|c| c.title != r.table) {
            close(&mut chapters, &mut sources);
            let head = vec!["row", "column", "value", "unit", if whole { "source" } else { "from" }];
            let items = vec![Item::Table(head, Vec::new())];
            chapters.push(Chapter { title: r.table, items });
        }
        let own = mine(r);
        let source = own
            .map_or_else(|| r.source.clone(), |o| format!("{} (table: {})", o.source, digits(o.instead_of)));
        let value = own.map_or(r.value, |o| o.value);
        let from = if whole {
            source
        } else {
            let known = sources.iter().position(|s| *s == source);
            let at = known.unwrap_or_else(|| {
                sources.push(source);
                sources.len() - 1
            });
            format!("[{}]", at + 1)
        };
        if let Some(Item::Table(_, list)) = chapters.last_mut().and_then(|c| c.items.first_mut()) {
            list.push(vec![r.row.clone(), r.column.to_owned(), digits(value), r.unit.to_owned(), from]);
        }
    }
    close(&mut chapters, &mut sources);
    let title = "Tables of the trade";
    Ended {
        code: 0,
        stdout: plan::printed(a.format, (title, title), &chapters, paint),
        stderr: String::new(),
    }
}

/// Puts the sources under the last table.
fn close(chapters: &mut [Chapter], sources: &mut Vec<String>) {
    let list = std::mem::take(sources);
    if let Some(c) = chapters.last_mut() {
        c.items.extend(list.into_iter().enumerate().map(|(i, s)| Item::Note(format!("[{}] {s}", i + 1))));
    }
}
