//! Problems of a file for people: each at its place, underlined, with the way out.

use crate::params::Problem;
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, Severity, SourceCode,
};
use std::fmt;

/// One problem as miette knows it.
#[derive(Debug)]
struct Shown<'a> {
    problem: &'a Problem,
    source: &'a NamedSource<String>,
}

impl fmt::Display for Shown<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.problem.message)
    }
}

impl std::error::Error for Shown<'_> {}

impl Diagnostic for Shown<'_> {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(&self.problem.code))
    }
    fn severity(&self) -> Option<Severity> {
        Some(Severity::Error)
    }
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        let out = self.problem.way_out();
        let text = match (self.problem.limit.is_empty(), out.is_empty()) {
            (true, true) => return None,
            (false, true) => self.problem.limit.clone(),
            (true, false) => out,
            (false, false) => format!("{}: {out}", self.problem.limit),
        };
        Some(Box::new(text))
    }
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self.source)
    }
    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let s = self.problem.span;
        let label = if self.problem.path.is_empty() { "here".to_owned() } else { self.problem.path.clone() };
        Some(Box::new(std::iter::once(LabeledSpan::new(Some(label), s.start, s.end.saturating_sub(s.start)))))
    }
}

/// All problems as text of at most `width` columns.
#[must_use]
pub fn render(problems: &[Problem], file: &str, text: &str, color: bool, width: usize) -> String {
    let source = NamedSource::new(file, text.to_owned());
    let theme = if color { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
    let handler = GraphicalReportHandler::new_themed(theme).with_width(width).with_context_lines(1);
    let mut out = String::new();
    for p in problems {
        // Rendering into a String fails only where the source cannot be read; the message stands for itself then.
        if handler.render_report(&mut out, &Shown { problem: p, source: &source }).is_err() {
            out.push_str(&format!("{}: line {}, column {}: {}\n", file, p.line, p.column, p.message));
        }
    }
    let n = problems.len();
    out.push_str(&format!("{n} problem{} in {file}; nothing was built.\n", if n == 1 { "" } else { "s" }));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::read;

    #[test]
    fn the_place_is_underlined_and_the_way_out_told_in_a_narrow_window() {
        let text = "{ \"metal\": { \"alloy\": \"silver925\" },\n  \"stone\": { \"diameter\": \"4.0\" }, \"wearer\": { \"wrist\": 160 } }\n";
        let problems = read(text).unwrap_err();
        let out = render(&problems, "line.jsonc", text, false, 60);
        assert!(out.contains("line.jsonc:2:") && out.contains("stone.diameter"), "{out}");
        assert!(out.contains("set stone.diameter to"), "{out}");
        assert!(!out.contains('\u{1b}'), "colour in {out}");
        // The source line itself is never broken; everything else fits.
        for line in out.lines().filter(|l| !l.contains("silver925") && !l.contains("\"stone\"")) {
            assert!(line.chars().count() <= 64, "{line}");
        }
    }
}
