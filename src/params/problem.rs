//! What is wrong with a file: a value that knows its place, its reason and its way out.

use serde::Serialize;

/// A piece of the file, in bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

/// Something that keeps the file from being a design.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Problem {
    /// Stable word for programs, such as `value.range`.
    pub code: String,
    /// Parameter path, empty when no one parameter is meant.
    pub path: String,
    /// Place in the file.
    pub span: Span,
    /// Line of the place, from 1.
    pub line: usize,
    /// Column of the place in characters, from 1.
    pub column: usize,
    /// What is wrong, in bench language.
    pub message: String,
    /// The limit that is broken and its reason; empty when the message says all.
    pub limit: String,
    /// A value that would work, as it would stand in the file.
    pub works: Option<String>,
    /// Paths of other parameters each of which alone could give way.
    pub gives_way: Vec<String>,
    /// Paths of parameters of which no one alone can mend it.
    pub together: Vec<String>,
}

impl Problem {
    /// A problem without a place yet; see [`place`].
    #[must_use]
    pub fn new(code: &str, path: &str, span: Span, message: impl Into<String>) -> Self {
        Self {
            code: code.to_owned(),
            path: path.to_owned(),
            span,
            line: 1,
            column: 1,
            message: message.into(),
            limit: String::new(),
            works: None,
            gives_way: Vec::new(),
            together: Vec::new(),
        }
    }
    /// The limit that is broken and its reason.
    #[must_use]
    pub fn limit(mut self, limit: impl Into<String>) -> Self {
        self.limit = limit.into();
        self
    }
    /// A value that would work.
    #[must_use]
    pub fn works(mut self, value: impl Into<String>) -> Self {
        self.works = Some(value.into());
        self
    }
    /// One sentence: what would work and what else could give way.
    #[must_use]
    pub fn way_out(&self) -> String {
        let mut out = String::new();
        if let Some(w) = &self.works {
            out =
                if self.path.is_empty() { format!("write {w}") } else { format!("set {} to {w}", self.path) };
        }
        if !self.gives_way.is_empty() {
            let list = self.gives_way.join(" or ");
            out = if out.is_empty() { format!("change {list}") } else { format!("{out}, or change {list}") };
        }
        if !self.together.is_empty() {
            let all = self.together.join(", ");
            out = if self.together.len() == 1 {
                format!("change {all}, and what depends on it")
            } else {
                format!("no one value mends it: change {all} together")
            };
        }
        out
    }
}

/// Clamps every span into `text`, on character boundaries, fills in line and column, and sorts by place.
pub fn place(text: &str, problems: &mut Vec<Problem>) {
    for p in problems.iter_mut() {
        let mut start = p.span.start.min(text.len());
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let mut end = p.span.end.clamp(start, text.len());
        while !text.is_char_boundary(end) {
            end += 1;
        }
        p.span = Span { start, end };
        let before = text.get(..start).unwrap_or_default();
        p.line = before.matches('\n').count() + 1;
        let line = before.rsplit_once('\n').map_or(before, |x| x.1);
        p.column = line.trim_start_matches('\u{feff}').chars().count() + 1;
    }
    problems.sort_by(|a, b| (a.span, &a.code, &a.message).cmp(&(b.span, &b.code, &b.message)));
    problems.dedup_by(|a, b| a.span == b.span && a.code == b.code && a.message == b.message);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_and_columns_count_from_one_in_characters() {
        let text = "{\r\n  \"é\": 1\r\n}";
        let at = text.find('1').expect("there");
        let mut p = vec![Problem::new("x", "", Span { start: at, end: at + 99 }, "m")];
        place(text, &mut p);
        assert_eq!((p[0].line, p[0].column), (2, 8));
        assert!(p[0].span.end <= text.len());
    }
}
