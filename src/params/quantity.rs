//! Lengths, angles and weights written as text with a unit.

use super::table::Kind;
use crate::trade::gauges;

/// Millimetres in an inch, exact by definition.
const INCH: f64 = 25.4;

/// The text forms of a kind as a regular expression, for the schema; empty when text is not taken.
/// [`parse`] takes exactly these.
pub(crate) fn pattern(kind: Kind) -> &'static str {
    match kind {
        Kind::Length => r"^ *[0-9]{1,6}(\.[0-9]{1,9})? *(mm|in) *$",
        Kind::Wire => r"^ *([0-9]{1,6}(\.[0-9]{1,9})? *(mm|in)|([1-9]|[1-3][0-9]|40) *(AWG|awg)) *$",
        Kind::Angle => r"^ *[0-9]{1,6}(\.[0-9]{1,9})? *(deg|°) *$",
        Kind::Carat => r"^ *[0-9]{1,6}(\.[0-9]{1,9})? *ct *$",
        Kind::Count | Kind::Share | Kind::Choice(_) | Kind::Text => "",
    }
}

/// Why a text is no quantity.
#[derive(Debug, PartialEq)]
pub(crate) struct Trouble {
    pub(crate) code: &'static str,
    pub(crate) message: String,
    pub(crate) works: Option<String>,
}

fn trouble(code: &'static str, message: String, works: Option<String>) -> Trouble {
    Trouble { code, message, works }
}

/// The unit a number of this kind is in when none is written.
fn home_unit(kind: Kind) -> &'static str {
    match kind {
        Kind::Angle => "deg",
        Kind::Carat => "ct",
        _ => "mm",
    }
}

/// Reads a text with a unit; the result is in mm, degrees or carat.
pub(crate) fn parse(kind: Kind, text: &str) -> Result<f64, Trouble> {
    let t = text.trim_matches(' ');
    let home = home_unit(kind);
    let split = t.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(t.len());
    let (digits, unit) = t.split_at(split);
    let unit = unit.trim_start_matches(' ');
    if unit.starts_with(',') {
        let mended = t.replacen(',', ".", 1);
        let works = parse(kind, &mended).is_ok().then(|| format!("\"{mended}\""));
        return Err(trouble(
            "value.decimal_comma",
            format!("\"{text}\" has a decimal comma; a decimal point is needed"),
            works,
        ));
    }
    let Some(value) = number(digits) else {
        return Err(trouble(
            "value.number",
            format!("\"{text}\" does not begin with a plain number"),
            Some(format!("a number and its unit, such as {}", example(kind))),
        ));
    };
    let scale = match (kind, unit) {
        (Kind::Length | Kind::Wire, "mm") | (Kind::Angle, "deg" | "°") | (Kind::Carat, "ct") => 1.0,
        (Kind::Length | Kind::Wire, "in") => INCH,
        (Kind::Wire, "AWG" | "awg") => {
            let n = digits.parse::<u32>().ok().filter(|_| !digits.starts_with('0'));
            return n.and_then(gauges::awg).map(crate::units::Mm::get).ok_or_else(|| {
                trouble(
                    "value.gauge",
                    format!("there is no wire gauge {digits} AWG; the table runs from 1 to 40"),
                    Some("\"20 AWG\"".to_owned()),
                )
            });
        }
        (_, "") => {
            return Err(trouble(
                "value.unit",
                format!("\"{text}\" is text without a unit"),
                Some(format!("{digits} or \"{digits} {home}\"")),
            ));
        }
        (Kind::Length, "AWG" | "awg") => {
            return Err(trouble(
                "value.unit",
                format!("\"{text}\" is a wire gauge, and this is no wire"),
                Some("a length in mm".to_owned()),
            ));
        }
        _ => {
            let known = match kind {
                Kind::Wire => "mm, in or AWG",
                Kind::Angle => "deg",
                Kind::Carat => "ct",
                _ => "mm or in",
            };
            return Err(trouble(
                "value.unit",
                format!("\"{unit}\" is no unit for this; {known} is needed"),
                Some(example(kind).to_owned()),
            ));
        }
    };
    Ok(value * scale)
}

/// A plain decimal number: digits, at most one point with digits on both sides, nothing longer than a file
/// could mean.
fn number(digits: &str) -> Option<f64> {
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    let sane = (1..=6).contains(&whole.len()) && (1..=9).contains(&part.len()) && !part.contains('.');
    if sane { digits.parse().ok().filter(|v: &f64| v.is_finite()) } else { None }
}

fn example(kind: Kind) -> &'static str {
    match kind {
        Kind::Wire => "\"0.55 mm\" or \"23 AWG\"",
        Kind::Angle => "\"90 deg\"",
        Kind::Carat => "\"0.25 ct\"",
        _ => "\"0.75 mm\"",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_with_a_unit_are_read() {
        for (text, mm) in [("0.75 mm", 0.75), ("0.75mm", 0.75), (" 4 mm ", 4.0), ("0.03 in", 0.762)] {
            assert!((parse(Kind::Length, text).expect(text) - mm).abs() < 1e-12, "{text}");
        }
        // garlanchain.com B & S table: 20 AWG is 0.812 mm.
        assert!((parse(Kind::Wire, "20 AWG").expect("gauge") - 0.812).abs() < 6e-4);
        assert_eq!(parse(Kind::Angle, "90 deg"), Ok(90.0));
        assert_eq!(parse(Kind::Angle, "90°"), Ok(90.0));
        assert_eq!(parse(Kind::Carat, "0.25 ct"), Ok(0.25));
    }

    #[test]
    fn other_text_is_refused_with_the_reason() {
        for (kind, text, code) in [
            (Kind::Length, "0,75 mm", "value.decimal_comma"),
            (Kind::Length, "0.75", "value.unit"),
            (Kind::Length, "0.75 cm", "value.unit"),
            (Kind::Length, "20 AWG", "value.unit"),
            (Kind::Wire, "41 AWG", "value.gauge"),
            (Kind::Wire, "2.5 AWG", "value.gauge"),
            (Kind::Length, "", "value.number"),
            (Kind::Length, "-1 mm", "value.number"),
            (Kind::Length, "1e3 mm", "value.unit"),
            (Kind::Length, "99999999 mm", "value.number"),
            (Kind::Length, "1.2.3 mm", "value.number"),
            (Kind::Angle, "90 mm", "value.unit"),
        ] {
            assert_eq!(parse(kind, text).map_err(|t| t.code), Err(code), "{text}");
        }
        let t = parse(Kind::Length, "0,75 mm").expect_err("comma");
        assert_eq!(t.works.as_deref(), Some("\"0.75 mm\""));
    }
}
