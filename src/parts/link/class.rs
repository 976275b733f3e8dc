//! Which class of wall lies between two faces of a link: the classes of its wear points, found from the names.

use crate::trade::limits::{self, WallLimit};

type Row = (&'static str, &'static str, &'static WallLimit);

/// First words of both names without sides and numbers, the more particular rows first.
const CLASSES: [Row; 13] = [
    ("collet.outside", "collet.inside", &limits::COLLET_SKIN),
    ("collet.corner", "collet.hollow", &limits::CORNER),
    ("opening.roof", "seat", &limits::OVER_OPENING),
    ("bore.floor", "groove.roof", &limits::WEB_HEIGHT),
    ("web.inside", "web.outside", &limits::WEB_DEPTH),
    ("bore.roof", "seat", &limits::CROWN),
    ("bore.side", "knuckle.side", &limits::TUBE),
    ("bore.side", "opening", &limits::BESIDE_BORE),
    ("pocket", "foot.light", &limits::BEHIND_POCKET),
    ("pocket", "opening", &limits::POCKET_TO_OPENING),
    ("pocket", "collet.inside", &limits::POCKET_TO_INSIDE),
    ("pocket.roof", "foot.top", &limits::UNDER_BLOCK_TOP),
    ("claw.side", "claw.side", &limits::CLAW),
];

/// The class of the wall between two faces; `None` where the trade's table has none for it.
#[must_use]
pub fn wall_class(a: &str, b: &str) -> Option<&'static WallLimit> {
    let (a, b) = (kind(a), kind(b));
    let starts =
        |name: &str, with: &str| name.strip_prefix(with).is_some_and(|r| r.is_empty() || r.starts_with('.'));
    CLASSES
        .iter()
        .find(|(x, y, _)| starts(&a, x) && starts(&b, y) || starts(&b, x) && starts(&a, y))
        .map(|row| row.2)
}

/// Name of a face without the side it is on, without numbers and without the stone it belongs to: `bore.left.side.2` is of
/// the kind `bore.side`, `stone3.seat` of the kind `seat`. Faces of one kind are the same feature, divided by seams or
/// repeated at the other end, side or stone.
#[must_use]
pub fn kind(name: &str) -> String {
    let plain = |w: &&str| !SIDES.contains(w) && !w.bytes().all(|b| b.is_ascii_digit());
    of_setting(name)
        .unwrap_or(name)
        .split('.')
        .map(|w| w.split('-').next().unwrap_or(w))
        .enumerate()
        .filter(|(i, w)| *i == 0 || plain(w))
        .map(|(_, w)| w)
        .collect::<Vec<_>>()
        .join(".")
}

/// What a face of one of a clasp's settings is called on a link: `seat` of `stone3.seat`.
#[must_use]
pub fn of_setting(name: &str) -> Option<&str> {
    let (number, rest) = name.strip_prefix("stone")?.split_once('.')?;
    number.bytes().all(|b| b.is_ascii_digit()).then_some(rest)
}

const SIDES: [&str; 4] = ["front", "back", "left", "right"];

/// A face in bench words: `bore.left.side.2` is the left bore, side.
#[must_use]
pub fn words(name: &str) -> String {
    let mut parts: Vec<&str> = name.split('.').collect();
    // The number of a piece of a face says nothing at the bench; that of a claw, in second place, does.
    if parts.len() > 2 && parts.last().is_some_and(|w| w.bytes().all(|b| b.is_ascii_digit())) {
        parts.pop();
    }
    let Some((first, rest)) = parts.split_first() else { return String::new() };
    let spaced = |w: &[&str]| w.join(" ").replace('-', " ");
    match rest {
        [] => (*first).to_owned(),
        [side] if SIDES.contains(side) => format!("{side} {first}"),
        [side, more @ ..] if SIDES.contains(side) => format!("{side} {first}, {}", spaced(more)),
        [number, more @ ..] if number.bytes().all(|b| b.is_ascii_digit()) && !more.is_empty() => {
            format!("{first} {number}, {}", spaced(more))
        }
        _ => format!("{first}, {}", spaced(rest)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_give_classes_and_bench_words() {
        assert_eq!(kind("bore.left.side.6"), "bore.side");
        assert_eq!(kind("opening.front.floor-right"), "opening.floor");
        assert_eq!(kind("claw.2.foot"), "claw.foot");
        assert_eq!(kind("stone12.claw.2.foot"), "claw.foot");
        assert_eq!(words("bore.left.side.6"), "left bore, side");
        assert_eq!(words("opening.front.floor-right"), "front opening, floor right");
        assert_eq!(words("claw.2.foot"), "claw 2, foot");
        assert_eq!(words("collet.outside.4"), "collet, outside");
        assert_eq!(words("seat"), "seat");
        let class = |a, b| wall_class(a, b).map(|l| l.class);
        assert_eq!(class("groove.left.roof", "bore.left.floor.2"), Some("web under the bore, height"));
        assert_eq!(class("collet.inside.back.2", "collet.outside.back"), Some("collet wall"));
        assert_eq!(class("foot.top", "pocket.left.roof"), Some("foot block over the pocket"));
        assert_eq!(class("opening.back.floor-left", "collet.outside"), None);
    }
}
