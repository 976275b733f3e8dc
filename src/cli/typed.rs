//! Numbers and words typed on the command line: how much is taken, and what is said of the rest.

use crate::units::Tolerance;
use std::ops::RangeInclusive;

/// A number of millimetres.
fn millimetres(text: &str, range: &RangeInclusive<f64>) -> Result<f64, String> {
    let mm: f64 = text.trim().parse().map_err(|_| format!("{text} is not a number of millimetres"))?;
    if range.contains(&mm) {
        Ok(mm)
    } else {
        Err(format!("{text} mm is outside {} to {} mm", range.start(), range.end()))
    }
}

/// A whole number; else what it is not.
fn whole(text: &str, range: &RangeInclusive<usize>, is_no: &str) -> Result<usize, String> {
    text.trim()
        .parse()
        .ok()
        .filter(|n| range.contains(n))
        .ok_or_else(|| format!("{text} is no {is_no} {} to {}", range.start(), range.end()))
}

/// Least wall of a mesh, mm.
pub(super) fn least_wall(text: &str) -> Result<f64, String> {
    millimetres(text, &(0.001..=20.0))
}

/// Shortest to longest line, mm.
pub(super) fn length(text: &str) -> Result<f64, String> {
    millimetres(text, &(20.0..=1000.0))
}

/// Coarser than this a claw is no longer round, finer than this a link has millions of triangles.
pub(super) fn tolerance(text: &str) -> Result<Tolerance, String> {
    let mm = millimetres(text, &(0.0002..=0.1))?;
    Tolerance::new(mm).ok_or_else(|| format!("{text} is no tolerance"))
}

/// Length and width of a build plate, mm.
pub(super) fn plate_size(text: &str) -> Result<[f64; 2], String> {
    let side = |s: &str| millimetres(s, &(5.0..=1000.0)).ok();
    match text.split_once(['x', 'X']).map(|(l, w)| (side(l), side(w))) {
        Some((Some(l), Some(w))) => Ok([l, w]),
        _ => Err(format!("{text} is no plate: length x width in mm, each 5 to 1000, such as 120x68")),
    }
}

/// Between parts on a plate, mm.
pub(super) fn spacing(text: &str) -> Result<f64, String> {
    millimetres(text, &(0.2..=50.0))
}

/// A parameter and what moving it weighs.
pub(super) fn weighed(text: &str) -> Result<(String, f64), String> {
    let (path, number) = text.split_once('=').ok_or("write path=weight, such as joint.wire=5")?;
    let weight = number.trim().parse::<f64>().ok().filter(|w| (0.1..=100.0).contains(w));
    let weight = weight.ok_or_else(|| format!("{number} is no weight of 0.1 to 100"))?;
    Ok((path.trim().to_owned(), weight))
}

/// Width of a picture.
pub(super) fn pixels(text: &str) -> Result<usize, String> {
    whole(text, &(64..=4000), "width in pixels,")
}

/// Copies on plates.
pub(super) fn copies(text: &str) -> Result<usize, String> {
    whole(text, &(1..=1000), "count of")
}

/// Thin places told.
pub(super) fn thin_places(text: &str) -> Result<usize, String> {
    whole(text, &(1..=50), "count of places,")
}

/// Longest date taken, characters.
const DATE: usize = 24;

/// A date as it will be read by people.
pub(super) fn date(text: &str) -> Result<String, String> {
    let fine = |c: char| c.is_ascii_alphanumeric() || " .,-/".contains(c);
    if text.trim().is_empty() || text.chars().count() > DATE || !text.chars().all(fine) {
        return Err(format!(
            "a date of at most {DATE} letters, digits and . , - / is needed, such as 2026-03-14"
        ));
    }
    Ok(text.trim().to_owned())
}
