//! From the text of a file to the values it gives, every problem of text, key, type and range collected.

use super::problem::{Problem, Span};
use super::quantity;
use super::spelling::nearest;
use super::table::{COUNT, Key, Kind, SECTIONS, Spec, TABLE};
use crate::spelling::{near_word, shorten};
use crate::trade::own::Own;
use jsonc_parser::ast::{Object, ObjectProp, ObjectPropName, Value};
use jsonc_parser::common::Ranged;
use jsonc_parser::errors::{ParseError, ParseErrorKind};
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Largest file read, in bytes: a hundred times the longest sensible design.
pub const LARGEST_FILE: usize = 1_000_000;
/// How often a decimal comma is mended to look for further problems; more say nothing new.
const MOST_MENDED_COMMAS: usize = 64;
/// Problems listed for one file; a file with more is not a design at all.
pub(super) const MOST_PROBLEMS: usize = 100;

/// What the file gives.
#[derive(Clone, Debug)]
pub(crate) struct Given {
    /// Values in mm, degrees, carat, counts, or the number of the word in its list.
    pub(crate) num: [Option<f64>; COUNT],
    /// Where they stand.
    pub(crate) span: [Option<Span>; COUNT],
    /// How they are written.
    pub(crate) written: Vec<String>,
    /// Free text of `design.name`.
    pub(crate) name: Option<String>,
    /// Free text of `maker.contact`.
    pub(crate) contact: Option<String>,
    /// The opening brace: the place of what is missing.
    pub(crate) head: Span,
    /// What of the trade's tables the maker overrules.
    pub(crate) own: Arc<Own>,
}

impl Given {
    fn empty(own: &Arc<Own>) -> Self {
        Self {
            num: [None; COUNT],
            span: [None; COUNT],
            written: vec![String::new(); COUNT],
            name: None,
            contact: None,
            head: Span::default(),
            own: Arc::clone(own),
        }
    }
    pub(crate) fn get(&self, k: Key) -> Option<f64> {
        self.num[k as usize]
    }
    /// Whether the file says how the trial print is opened; only then must it be possible.
    pub(crate) fn asks_trial(&self) -> bool {
        self.get(Key::TrialGap).is_some() || self.get(Key::TrialBoreOffset).is_some()
    }
    pub(crate) fn with(&self, k: Key, v: f64) -> Self {
        let mut g = self.clone();
        g.num[k as usize] = Some(v);
        g
    }
    /// The place of a parameter, or of the opening brace when the file is silent on it.
    pub(crate) fn place(&self, k: Key) -> Span {
        self.span[k as usize].unwrap_or(self.head)
    }
}

/// Reads everything; the values are only whole when no problem is returned.
pub(crate) fn read(text: &str, own: &Arc<Own>) -> (Given, Vec<Problem>) {
    let mut out = Reader { given: Given::empty(own), problems: Vec::new(), text };
    out.run();
    out.problems.truncate(MOST_PROBLEMS);
    (out.given, out.problems)
}

struct Reader<'t> {
    given: Given,
    problems: Vec<Problem>,
    text: &'t str,
}

impl Reader<'_> {
    fn say(&mut self, p: Problem) {
        self.problems.push(p);
    }

    fn run(&mut self) {
        let n = self.text.len();
        if n > LARGEST_FILE {
            let message = format!("the file has {n} bytes; a design has at most {LARGEST_FILE}");
            self.say(Problem::new("text.too_large", "", Span { start: 0, end: 1 }, message));
            return;
        }
        // A byte order mark is blanked, not cut, so that every place stays right.
        let mut copy = self.text.to_owned();
        if copy.starts_with('\u{feff}') {
            copy.replace_range(..'\u{feff}'.len_utf8(), "   ");
        }
        let mut missing_comma = false;
        for _ in 0..MOST_MENDED_COMMAS {
            let tree = parse_to_ast(&copy, &CollectOptions::default(), &options(missing_comma));
            let error = match tree {
                Ok(tree) => {
                    self.root(tree.value.as_ref());
                    return;
                }
                Err(e) => e,
            };
            let at = Span { start: error.range().start, end: error.range().end };
            if let Some(comma) = decimal_comma(&copy, &error) {
                let (start, end) = number_around(&copy, comma);
                let good = copy.get(start..end).unwrap_or_default().replacen(',', ".", 1);
                self.say(
                    Problem::new(
                        "text.decimal_comma",
                        "",
                        Span { start, end },
                        "a number has a decimal comma; a decimal point is needed",
                    )
                    .works(good),
                );
                copy.replace_range(comma..=comma, ".");
            } else {
                self.say(Problem::new("text.syntax", "", at, syntax(error.kind())));
                if !matches!(error.kind(), ParseErrorKind::ExpectedComma) {
                    return;
                }
                missing_comma = true;
            }
        }
    }

    fn root(&mut self, value: Option<&Value<'_>>) {
        match value {
            None => self.say(
                Problem::new("text.empty", "", Span { start: 0, end: 1 }, "the file is empty")
                    .limit("a design needs at least metal.alloy, stone.diameter and wearer.wrist"),
            ),
            Some(Value::Object(root)) => {
                self.given.head = Span { start: root.range.start, end: root.range.start + 1 };
                self.group("", root);
            }
            Some(other) => {
                let s = span(other);
                self.say(Problem::new(
                    "value.type",
                    "",
                    s,
                    "a design is written in braces: { \"metal\": { … }, … }",
                ));
            }
        }
    }

    /// One group and the groups within it; `path` is empty at the root.
    fn group(&mut self, path: &str, group: &Object<'_>) {
        let mut seen = BTreeMap::new();
        for prop in &group.properties {
            if self.problems.len() > MOST_PROBLEMS {
                return;
            }
            let name = self.name(prop, path, &mut seen);
            let inner = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
            if name.contains('.') {
                // Each group stands in its own braces; a dotted name is no short form of them.
                self.unknown(&name, path, prop);
            } else if inner == "$schema" {
                if !matches!(prop.value, Value::StringLit(_)) {
                    self.say(Problem::new("value.type", "$schema", span(&prop.value), "$schema is a text"));
                }
            } else if SECTIONS.iter().any(|s| s.0 == inner) {
                match &prop.value {
                    Value::Object(object) => self.group(&inner, object),
                    other => self.no_group(&inner, &name, span(other)),
                }
            } else if let Some(spec) = TABLE.iter().find(|s| s.path == inner) {
                self.value(spec, &prop.value);
            } else {
                self.unknown(&name, path, prop);
            }
        }
    }

    fn no_group(&mut self, path: &str, name: &str, place: Span) {
        let first = TABLE.iter().find(|s| s.section() == path).map_or("", Spec::leaf);
        let message = format!("{path} is a group, written in braces: \"{name}\": {{ \"{first}\": … }}");
        self.say(
            Problem::new("value.type", path, place, message)
                .limit("the values of a group stand in its braces"),
        );
    }

    /// The key of a property; says so when it is doubled or not in double quotes.
    fn name(&mut self, prop: &ObjectProp<'_>, section: &str, seen: &mut BTreeMap<String, usize>) -> String {
        let name = prop.name.as_str().to_owned();
        let range = prop.name.range();
        let place = Span { start: range.start, end: range.end };
        let path = if section.is_empty() { name.clone() } else { format!("{section}.{name}") };
        let quoted = matches!(prop.name, ObjectPropName::String(_)) && self.slice(place).starts_with('"');
        if !quoted {
            let message = format!("the key {name} must stand in double quotes");
            self.say(Problem::new("text.syntax", &path, place, message).works(format!("\"{name}\"")));
        }
        if let Some(first) = seen.get(&name) {
            let line = self.text.get(..*first).unwrap_or_default().matches('\n').count() + 1;
            let message = format!("{path} is given twice; the first time on line {line}");
            self.say(
                Problem::new("key.doubled", &path, place, message)
                    .limit("each key once; take one of the two out"),
            );
        }
        seen.entry(name.clone()).or_insert(place.start);
        name
    }

    fn unknown(&mut self, name: &str, section: &str, prop: &ObjectProp<'_>) {
        let range = prop.name.range();
        let path = if section.is_empty() { name.to_owned() } else { format!("{section}.{name}") };
        let mut p = Problem::new(
            "key.unknown",
            &path,
            Span { start: range.start, end: range.end },
            format!("there is no parameter \"{}\"", shorten(&path)),
        );
        if let Some(best) = nearest(&path, section) {
            p.limit = format!("the nearest is \"{best}\"");
        }
        self.say(p);
    }

    fn slice(&self, s: Span) -> &str {
        self.text.get(s.start..s.end).unwrap_or_default()
    }

    fn value(&mut self, spec: &'static Spec, value: &Value<'_>) {
        let place = span(value);
        let k = spec.key as usize;
        self.given.span[k] = Some(place);
        self.given.written[k] = self.slice(place).to_owned();
        if let Value::StringLit(_) = value
            && self.slice(place).starts_with('\'')
        {
            self.say(Problem::new("text.syntax", spec.path, place, "text must stand in double quotes"));
        }
        let read = match (spec.kind, value) {
            (Kind::Text, Value::StringLit(s)) => return self.free_text(spec, &s.value, place),
            (Kind::Choice(words), Value::StringLit(s)) => {
                let list = words.list();
                let Some(i) = list.iter().position(|w| *w == s.value) else {
                    let mut p = Problem::new(
                        "value.choice",
                        spec.path,
                        place,
                        format!("\"{}\" is no choice for {}", shorten(&s.value), spec.path),
                    )
                    .limit(format!("one of {}", list.join(", ")));
                    p.works =
                        near_word(&s.value, &list).or(list.first().copied()).map(|w| format!("\"{w}\""));
                    return self.say(p);
                };
                #[allow(clippy::cast_precision_loss)] // a handful of words
                Ok(i as f64)
            }
            (Kind::Length | Kind::Wire | Kind::Angle | Kind::Carat, Value::StringLit(s)) => {
                quantity::parse(spec.kind, &s.value).map_err(|t| (t.code, t.message, t.works))
            }
            (
                Kind::Length | Kind::Wire | Kind::Angle | Kind::Carat | Kind::Count | Kind::Share,
                Value::NumberLit(n),
            ) => plain_number(n.value).and_then(|v| {
                if spec.kind == Kind::Count && v.fract() != 0.0 {
                    Err((
                        "value.type",
                        format!("{} is a count: a whole number", spec.path),
                        Some(format!("{:.0}", v.clamp(-1e9, 1e9))),
                    ))
                } else {
                    Ok(v)
                }
            }),
            (kind, _) => Err((
                "value.type",
                format!("{} must be {}", spec.path, wanted(kind)),
                Some(spec.example.to_owned()),
            )),
        };
        match read {
            Ok(v) => self.in_range(spec, v, place),
            Err((code, message, works)) => {
                let mut p = Problem::new(code, spec.path, place, message);
                p.works = works;
                self.say(p);
            }
        }
    }

    fn in_range(&mut self, spec: &'static Spec, v: f64, place: Span) {
        if !matches!(spec.kind, Kind::Choice(_)) && !(spec.least..=spec.most).contains(&v) {
            let near = v.clamp(spec.least, spec.most);
            let (range, shown) = (format!("{} to {} {}", spec.least, spec.most, spec.unit()), show(v));
            let message =
                format!("{} is {shown} {}; it runs from {}", spec.path, spec.unit(), range.trim_end());
            let near = if near == 0.0 { spec.example.to_owned() } else { format!("{near}") };
            self.say(
                Problem::new("value.range", spec.path, place, message.replace(" ;", ";"))
                    .limit(spec.why)
                    .works(near),
            );
            return;
        }
        self.given.num[spec.key as usize] = Some(v);
    }

    fn free_text(&mut self, spec: &'static Spec, s: &str, place: Span) {
        let n = s.chars().count();
        let contact = spec.key == Key::Contact;
        let plain =
            |c: char| c.is_alphanumeric() || " .,-_'()+#/&".contains(c) || (contact && "@:".contains(c));
        if n == 0 || n > 80 {
            let message = format!("{} has {n} characters; 1 to 80 are taken", spec.path);
            self.say(Problem::new("value.text", spec.path, place, message).limit(spec.why));
        } else if let Some(c) = s.chars().find(|c| !plain(*c)) {
            let message = format!("{} holds the character {:?}", spec.path, c);
            self.say(Problem::new("value.text", spec.path, place, message).limit(if contact {
                "letters, digits, spaces and . , - _ ' ( ) + # / & @ : are taken"
            } else {
                "letters, digits, spaces and . , - _ ' ( ) + # / & are taken"
            }));
        } else {
            let text = if contact { &mut self.given.contact } else { &mut self.given.name };
            *text = Some(s.to_owned());
        }
    }
}

fn options(missing_comma: bool) -> ParseOptions {
    ParseOptions {
        allow_comments: true,
        allow_trailing_commas: true,
        // Read leniently, so that one pass finds all of them; each is a problem all the same.
        allow_loose_object_property_names: true,
        allow_single_quoted_strings: true,
        allow_hexadecimal_numbers: true,
        allow_unary_plus_numbers: true,
        allow_bare_decimal_point_numbers: true,
        allow_non_finite_numbers: true,
        allow_missing_commas: missing_comma,
        allow_extended_string_escapes: false,
    }
}

fn span(v: &Value<'_>) -> Span {
    let r = v.range();
    Span { start: r.start, end: r.end }
}

fn show(v: f64) -> String {
    if v.abs() < 1e6 { format!("{v}") } else { format!("{v:e}") }
}

fn wanted(kind: Kind) -> &'static str {
    match kind {
        Kind::Length => "a length: a number of mm, or text such as \"0.75 mm\"",
        Kind::Wire => "a wire: a number of mm, or text such as \"0.55 mm\" or \"23 AWG\"",
        Kind::Angle => "an angle: a number of degrees, or text such as \"90 deg\"",
        Kind::Carat => "a weight: a number of carat, or text such as \"0.25 ct\"",
        Kind::Count => "a whole number",
        Kind::Share => "a share: a plain number such as 0.30",
        Kind::Choice(_) => "one of its words, in double quotes",
        Kind::Text => "a text in double quotes",
    }
}

type Refused = (&'static str, String, Option<String>);

/// A JSON number; the loose forms the parser lets through are refused here with their reason.
fn plain_number(text: &str) -> Result<f64, Refused> {
    let bare = text.trim_start_matches(['-', '+']);
    let bad = |message: &str, works: Option<String>| Err(("value.number", message.to_owned(), works));
    if bare.starts_with("0x") || bare.starts_with("0X") {
        return bad("a hexadecimal number is no measure", None);
    }
    if !bare.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
        return bad("a measure must be a finite number", None);
    }
    let Ok(v) = text.parse::<f64>() else {
        return bad("this is not a number", None);
    };
    if !v.is_finite() {
        return bad("the number is too large", None);
    }
    let mantissa = bare.split(['e', 'E']).next().unwrap_or_default();
    if text.starts_with('+') || mantissa.starts_with('.') || mantissa.ends_with('.') {
        return bad("a number needs digits on both sides of the point and no plus sign", Some(show(v)));
    }
    Ok(v)
}

/// The byte of a comma between two digits just before the place where the parser gave up.
fn decimal_comma(text: &str, error: &ParseError) -> Option<usize> {
    if !matches!(
        error.kind(),
        ParseErrorKind::ExpectedColonAfterObjectKey | ParseErrorKind::UnexpectedTokenInObject
    ) {
        return None;
    }
    let head = text.as_bytes().get(..error.range().start)?;
    let comma = head.iter().rposition(|b| *b == b',')?;
    let digit = |i: usize| text.as_bytes().get(i).is_some_and(u8::is_ascii_digit);
    let only_digits = head.get(comma + 1..)?.iter().all(|b| b.is_ascii_digit() || b.is_ascii_whitespace());
    (comma > 0 && digit(comma - 1) && digit(comma + 1) && only_digits).then_some(comma)
}

fn number_around(text: &str, comma: usize) -> (usize, usize) {
    let bytes = text.as_bytes();
    let part = |b: &u8| b.is_ascii_digit() || b".-".contains(b);
    let start = bytes.get(..comma).map_or(0, |h| h.iter().rposition(|b| !part(b)).map_or(0, |i| i + 1));
    let tail = bytes.get(comma + 1..).unwrap_or_default();
    let end = comma + 1 + tail.iter().position(|b| !b.is_ascii_digit()).unwrap_or(tail.len());
    (start, end)
}

fn syntax(kind: &ParseErrorKind) -> String {
    use ParseErrorKind as E;
    match kind {
        E::ExpectedComma => "a comma is missing here".to_owned(),
        E::ExpectedColonAfterObjectKey => "a colon is missing after the key".to_owned(),
        E::ExpectedObjectValue => "a value is missing after the colon".to_owned(),
        E::UnterminatedObject => "a closing brace } is missing".to_owned(),
        E::UnterminatedArray => "a closing bracket ] is missing".to_owned(),
        E::UnterminatedCommentBlock => "the comment is not closed with */".to_owned(),
        E::MultipleRootJsonValues => "there is something after the closing brace of the design".to_owned(),
        E::NestingDepthExceeded => {
            "the file is nested too deeply; a design has groups and values, no more".to_owned()
        }
        E::UnexpectedWord => "a bare word stands here; text needs double quotes".to_owned(),
        E::UnexpectedComma => "a comma too many".to_owned(),
        other => {
            let text = other.to_string();
            let mut chars = text.chars();
            chars.next().map_or(String::new(), |c| c.to_lowercase().chain(chars).collect())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn codes(text: &str) -> Vec<String> {
        read(text, &Arc::default()).1.into_iter().map(|p| p.code).collect()
    }

    #[test]
    fn values_and_their_places_are_read() {
        let text = "\u{feff}{\r\n // how wide\r\n \"stone\": { \"diameter\": \"4.0 mm\", },\r\n}";
        let (g, p) = read(text, &Arc::default());
        assert_eq!(p, []);
        assert_eq!(g.get(Key::Diameter), Some(4.0));
        let s = g.span[Key::Diameter as usize].expect("placed");
        assert_eq!(&text[s.start..s.end], "\"4.0 mm\"");
    }

    #[test]
    fn every_problem_is_found_in_one_pass() {
        let text = "{ stone: { 'diameter': .5, \"tolerance\": +0.05, \"carat\": 0x10 }, \"claw\": { \"diameter\": NaN, \"over\": 0,4 }, \"collet\": 7, \"colet\": {} }";
        let c = codes(text);
        for want in ["text.syntax", "value.number", "text.decimal_comma", "value.type", "key.unknown"] {
            assert!(c.iter().any(|x| x == want), "{want} not in {c:?}");
        }
        assert_eq!(c.len(), 9, "{c:?}");
    }

    #[test]
    fn a_missing_comma_does_not_hide_the_rest() {
        let c = codes("{ \"stone\": { \"diameter\": 4 \"tolerance\": 9 } }");
        assert_eq!(c, ["text.syntax", "value.range"]);
    }

    #[test]
    fn deep_nesting_and_large_files_are_refused() {
        let deep = format!("{{\"a\":{}", "[".repeat(100_000));
        assert_eq!(codes(&deep), ["text.syntax"]);
        assert_eq!(codes(&" ".repeat(LARGEST_FILE + 1)), ["text.too_large"]);
        assert_eq!(codes("  // nothing\n"), ["text.empty"]);
        assert_eq!(codes("[1]"), ["value.type"]);
    }

    #[test]
    fn a_group_within_a_group_is_read() {
        let text = "{ \"clasp\": { \"plate\": { \"thickness\": 0.5 }, \"count\": 5 } }";
        let (g, p) = read(text, &Arc::default());
        assert_eq!(p, []);
        assert_eq!(g.get(Key::PlateThickness), Some(0.5));
        assert_eq!(g.get(Key::ClaspCount), Some(5.0));
        for (bad, code, path) in [
            ("{ \"clasp\": { \"plate\": 0.5 } }", "value.type", "clasp.plate"),
            ("{ \"clasp\": { \"plate\": { \"thicknes\": 0.5 } } }", "key.unknown", "clasp.plate.thicknes"),
            ("{ \"clasp\": { \"plat\": { } } }", "key.unknown", "clasp.plat"),
            ("{ \"clasp.plate\": { \"thickness\": 0.5 } }", "key.unknown", "clasp.plate"),
            ("{ \"clasp\": { \"plate\": { \"thickness\": 50 } } }", "value.range", "clasp.plate.thickness"),
            ("{ \"clasp\": { \"plate\": { \"thickness\": {} } } }", "value.type", "clasp.plate.thickness"),
        ] {
            let p = read(bad, &Arc::default()).1;
            assert_eq!(
                p.iter().map(|p| (p.code.as_str(), p.path.as_str())).collect::<Vec<_>>(),
                [(code, path)],
                "{bad}"
            );
        }
    }
}
