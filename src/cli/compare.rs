//! `compare`: one or two parameters varied, as a table and a plot.

use super::args::{Color, Compare, PlanForm};
use super::make::{self, read_under};
use super::{Ended, files};
use crate::fold::fold;
use crate::params::LARGEST_FILE;
use crate::plan::compare::{Compared, MOST, Measures, compare};
use std::fmt::Write as _;
use std::io::{IsTerminal as _, Write as _};

/// Columns of the table: head, decimals, what.
type Column = (&'static str, usize, fn(&Measures) -> Option<f64>);
const COLUMNS: [Column; 10] = [
    ("metal g", 2, |m| Some(m.finished_g)),
    ("ease mm", 2, |m| Some(m.ease_mm)),
    ("thinnest mm", 3, |m| Some(m.wall_mm)),
    ("over limit", 2, |m| Some(m.wall_margin)),
    ("cost", 2, |m| m.cost),
    ("turns in deg", 1, |m| Some(m.inward_deg)),
    ("turns out deg", 1, |m| Some(m.outward_deg)),
    ("life from years", 2, |m| m.life_range_years.map(|r| r[0])),
    ("life middle years", 1, |m| m.life_years),
    ("life to years", 0, |m| m.life_range_years.map(|r| r[1])),
];
/// In a terminal these first columns stand in a table of their own.
const FIRST: usize = 5;

/// What the numbers are and are not.
fn notes(rows: &[Compared]) -> Vec<&'static str> {
    let by = |word: &str| rows.iter().filter_map(|r| r.measures.as_ref()).any(|m| m.clasp_by == word);
    let mut out = Vec::new();
    if by("estimate") {
        out.push("Metal and cost: the clasp by estimate, within a fifth of its own weight; --exact weighs its solids.");
    }
    if by("bought") {
        out.push("Metal and cost: without the bought clasp.");
    }
    out.push("Turns: closed form; colletline motion proves them. Life: of a joint, an estimate; a factor of ten either way.");
    out
}

/// Runs `compare`.
pub(super) fn run(a: &Compare, color: Color, quiet: bool) -> Ended {
    let paint = make::painted(color, std::io::stderr().is_terminal());
    // The file itself must be right; the varied ones are told in the table.
    let bench = match super::plan::bench(a.bench.as_deref(), paint) {
        Ok(b) => b,
        Err(e) => return e,
    };
    if let Err(e) = read_under(&a.file, &bench, false, color) {
        return e;
    }
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
    let rows = compare(&text, &a.vary, &bench, a.exact, &|n| {
        if shown {
            // Nobody is harmed if it cannot be said.
            let _ = write!(std::io::stderr(), "\rcomparing: {n} of {count} designs");
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
            let v = serde_json::json!({ "format": "colletline comparison 1", "vary": a.vary, "notes": notes(&rows), "designs": rows });
            serde_json::to_string_pretty(&v).unwrap_or_default() + "\n"
        }
        PlanForm::Csv => separated(&heads, &rows, "", ",", ""),
        PlanForm::Markdown => {
            let head = separated(&heads, &rows, "| ", " | ", " |");
            let rule = format!("|{}\n", " --- |".repeat(heads.len() + COLUMNS.len() + 2));
            let table =
                head.split_once('\n').map_or_else(String::new, |(h, rest)| format!("{h}\n{rule}{rest}"));
            format!("{table}\n{}\n", notes(&rows).join("\n"))
        }
        PlanForm::Text => {
            let first: Vec<usize> = (0..FIRST).collect();
            let second: Vec<usize> = (FIRST..COLUMNS.len()).collect();
            let mut o = aligned(&heads, &rows, &first, true);
            o.push('\n');
            o.push_str(&aligned(&heads, &rows, &second, false));
            o.push('\n');
            for n in notes(&rows) {
                fold(n, 60).iter().for_each(|l| _ = writeln!(o, "{l}"));
            }
            o
        }
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

/// Some of the columns, verdict and reason where it is the first table; the reason on a line of its own, so that a narrow window
/// holds the numbers.
fn aligned(paths: &[String], rows: &[Compared], columns: &[usize], first: bool) -> String {
    let mut head = head(paths);
    head.pop();
    let wanted = |k: usize| {
        k < paths.len() || (first && k == paths.len()) || columns.iter().any(|c| c + paths.len() + 1 == k)
    };
    let body: Vec<Vec<String>> = rows.iter().map(cells).collect();
    // A column of dashes says nothing.
    let keep: Vec<usize> = (0..head.len())
        .filter(|&k| wanted(k))
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
    for part in 0..3 {
        let line: Vec<String> = names
            .iter()
            .zip(&wide)
            .map(|(n, w)| format!("{:>w$}", n.split(' ').nth(part).unwrap_or(""), w = *w))
            .collect();
        if !line.iter().all(|l| l.trim().is_empty()) {
            let _ = writeln!(o, "{}", line.join("  ").trim_end());
        }
    }
    for (row, r) in body.iter().zip(rows) {
        let line: Vec<String> =
            keep.iter().zip(&wide).map(|(&k, w)| format!("{:>w$}", row[k], w = *w)).collect();
        let _ = writeln!(o, "{}", line.join("  "));
        for why in r.why.iter().filter(|_| first) {
            fold(why, 54).iter().for_each(|l| _ = writeln!(o, "      {l}"));
        }
    }
    o
}
