//! `compare`: one or two parameters varied, as a table and a plot.

use super::args::{Color, Compare, PlanForm};
use super::make::{self, read_design};
use super::{Ended, files};
use crate::params::LARGEST_FILE;
use crate::plan::compare::{Compared, MOST, Measures, compare};
use std::fmt::Write as _;
use std::io::{IsTerminal as _, Write as _};

/// Columns of the table: head, decimals, what.
type Column = (&'static str, usize, fn(&Measures) -> Option<f64>);
const COLUMNS: [Column; 7] = [
    ("metal g", 2, |m| Some(m.finished_g)),
    ("ease mm", 2, |m| Some(m.ease_mm)),
    ("thinnest mm", 3, |m| Some(m.wall_mm)),
    ("over limit", 2, |m| Some(m.wall_margin)),
    ("turns in deg", 1, |m| Some(m.inward_deg)),
    ("life years", 1, |m| m.life_years),
    ("cost", 2, |m| m.cost),
];

/// Runs `compare`.
pub(super) fn run(a: &Compare, color: Color, quiet: bool) -> Ended {
    let paint = make::painted(color, std::io::stderr().is_terminal());
    // The file itself must be right; the varied ones are told in the table.
    if let Err(e) = read_design(&a.file, false, color) {
        return e;
    }
    let bench = match super::plan::bench(a.bench.as_deref(), paint) {
        Ok(b) => b,
        Err(e) => return e,
    };
    let count: usize = a.vary.iter().map(|v| v.values.len()).product();
    if a.vary.len() > 2 || count > MOST {
        let stderr = format!(
            "at most two parameters and {MOST} designs are compared; these are {} and {count}\n",
            a.vary.len()
        );
        return Ended { code: 2, stdout: String::new(), stderr };
    }
    let text = match files::read(&a.file, LARGEST_FILE as u64) {
        Ok(b) => String::from_utf8_lossy(&b).into_owned(),
        Err(e) => return make::unwritten(&e),
    };
    let shown = !quiet && std::io::stderr().is_terminal();
    let rows = compare(&text, &a.vary, &bench, &|n| {
        if shown {
            // Nobody is harmed if it cannot be said.
            let _ = write!(std::io::stderr(), "\r{n} of {count}");
        }
    });
    if shown {
        let _ = writeln!(std::io::stderr());
    }
    if let Some(path) = &a.plot {
        let svg = crate::papers::plot::plot(&a.vary, &rows);
        if let Err(e) = files::write_new(path, &svg) {
            return make::unwritten(&e);
        }
    }
    let heads: Vec<String> = a.vary.iter().map(|v| v.path.clone()).collect();
    let stdout = match a.format {
        PlanForm::Json => {
            let v =
                serde_json::json!({ "format": "colletline comparison 1", "vary": a.vary, "designs": rows });
            serde_json::to_string_pretty(&v).unwrap_or_default() + "\n"
        }
        PlanForm::Csv => separated(&heads, &rows, "", ",", ""),
        PlanForm::Markdown => {
            let head = separated(&heads, &rows, "| ", " | ", " |");
            let rule = format!("|{}\n", " --- |".repeat(heads.len() + COLUMNS.len() + 2));
            head.split_once('\n').map_or_else(String::new, |(h, rest)| format!("{h}\n{rule}{rest}"))
        }
        PlanForm::Text => aligned(&heads, &rows),
    };
    Ended { code: 0, stdout, stderr: String::new() }
}

fn cells(r: &Compared) -> Vec<String> {
    let number = |x: Option<f64>, decimals: usize| {
        x.filter(|x| x.is_finite()).map_or_else(|| "-".into(), |x| format!("{x:.decimals$}"))
    };
    let mut out: Vec<String> = r.values.iter().map(|x| format!("{x}")).collect();
    out.push(r.verdict.replace('_', " "));
    out.extend(COLUMNS.iter().map(|c| number(r.measures.as_ref().and_then(c.2), c.1)));
    out.push(r.why.clone().unwrap_or_default());
    out
}

fn head(paths: &[String]) -> Vec<String> {
    let mut out = paths.to_vec();
    out.push("verdict".into());
    out.extend(COLUMNS.iter().map(|c| c.0.to_owned()));
    out.push("why".into());
    out
}

fn separated(paths: &[String], rows: &[Compared], first: &str, between: &str, last: &str) -> String {
    let safe = |s: &String| {
        if between == "," && s.contains([',', '"']) {
            format!("\"{}\"", s.replace('"', "\"\""))
        } else {
            s.replace('|', "/")
        }
    };
    let mut o = String::new();
    for row in std::iter::once(head(paths)).chain(rows.iter().map(cells)) {
        let _ = writeln!(o, "{first}{}{last}", row.iter().map(safe).collect::<Vec<_>>().join(between));
    }
    o
}

/// In columns; the reason on a line of its own, so that a narrow window holds the numbers.
fn aligned(paths: &[String], rows: &[Compared]) -> String {
    let mut head = head(paths);
    head.pop();
    let body: Vec<Vec<String>> = rows.iter().map(cells).collect();
    // A column of dashes says nothing.
    let keep: Vec<usize> = (0..head.len())
        .filter(|&k| k < paths.len() || body.iter().any(|r| r.get(k).is_some_and(|c| c != "-")))
        .collect();
    let short = |s: &str| s.rsplit_once('.').map_or(s.to_owned(), |p| p.1.to_owned());
    let names: Vec<String> =
        keep.iter().map(|&k| if k < paths.len() { short(&head[k]) } else { head[k].clone() }).collect();
    let wide: Vec<usize> = keep
        .iter()
        .zip(&names)
        .map(|(&k, n)| {
            body.iter()
                .map(|r| r[k].chars().count())
                .max()
                .unwrap_or(0)
                .max(n.split(' ').map(str::len).max().unwrap_or(0))
        })
        .collect();
    let mut o = String::new();
    for part in 0..2 {
        let line: Vec<String> = names
            .iter()
            .zip(&wide)
            .map(|(n, w)| format!("{:>w$}", n.split(' ').nth(part).unwrap_or(""), w = *w))
            .collect();
        let _ = writeln!(o, "{}", line.join("  ").trim_end());
    }
    for (row, r) in body.iter().zip(rows) {
        let line: Vec<String> =
            keep.iter().zip(&wide).map(|(&k, w)| format!("{:>w$}", row[k], w = *w)).collect();
        let _ = writeln!(o, "{}", line.join("  "));
        if let Some(why) = &r.why {
            let _ = writeln!(o, "      {why}");
        }
    }
    o
}
