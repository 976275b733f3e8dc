//! What `check --whole` adds: the room between parts that turn in each other, and the thinnest places of the clasp's parts.

use crate::motion::rest_gaps;
use crate::papers::movers;
use crate::papers::part_walls::{Asked, PartThinnest, thin_places};
use crate::papers::wall_places::{WallPlace, map_of};
use crate::params::Design;
use crate::parts::line::{Pose, pieces};
use crate::parts::{Part, joint};
use crate::solid::Solid;
use crate::units::Mm;
use crate::walls::{Interval, Judgement, MeasureError, Placed, clearance, judge};
use serde::Serialize;

/// Room between two parts at rest.
#[derive(Clone, Debug, Serialize)]
pub struct Room {
    /// In bench words.
    pub what: String,
    /// Shortest distance found; nothing where the search was not settled.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value_mm: Option<f64>,
    /// Proved: they are nowhere nearer.
    pub lower_mm: f64,
    /// Length of a real line between them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub upper_mm: Option<f64>,
    /// The two faces.
    pub between: [String; 2],
    /// Both ends.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<[[f64; 3]; 2]>,
    /// Least room by a rule.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_mm: Option<f64>,
    /// The rule it comes from, see `rules`; of a play all round, half of it on each side.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<&'static str>,
    /// Against the least; nothing where no rule names one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Judgement>,
    /// Why it is unverified.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// Walls of a part of the clasp.
#[derive(Clone, Debug, Serialize)]
pub struct PartWall {
    /// File name of the part.
    pub part: &'static str,
    /// In bench words.
    pub title: &'static str,
    /// Thinnest place; nothing where none was found, and then `why` says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thinnest: Option<PartThinnest>,
    /// The thinnest places, one for each pair of kinds of faces.
    pub places: Vec<WallPlace>,
    /// Why nothing was measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<&'static str>,
}

/// The whole bracelet.
#[derive(Clone, Debug, Serialize)]
pub struct Whole {
    /// Room between parts.
    pub room: Vec<Room>,
    /// Walls of the clasp's plate, leaf and frame.
    pub clasp: Vec<PartWall>,
}

/// Parts of the clasp whose walls are measured; the others are wire and strip as bought.
pub const WALLED: [&str; 3] = ["clasp.plate", "clasp.leaf", "clasp.frame"];

/// Work that each of them may take: some times what a frame takes.
const WORK: usize = 100_000_000;

/// Measures both. `parts` are those of the clasp that were built.
///
/// # Errors
/// In bench words, where the joint or the clasp cannot be built.
pub fn whole(design: &Design, link: &Solid, parts: &[&Part], count: usize) -> Result<Whole, String> {
    let mut room = of_joint(design, link)?;
    room.extend(of_clasp(design)?);
    let clasp = parts.iter().filter(|p| WALLED.contains(&p.name)).map(|p| walls(design, p, count));
    Ok(Whole { room, clasp: clasp.collect() })
}

fn walls(design: &Design, part: &Part, count: usize) -> PartWall {
    let map = map_of(&part.solid);
    let asked = Asked {
        count,
        work: WORK,
        state: design.state(),
        own: design.own(),
        movers: &movers::of_clasp,
        map: map.as_ref(),
    };
    let found = thin_places(&part.solid, &asked);
    let why =
        found.is_none().then_some("it could not be meshed finely enough, or no two faces oppose each other");
    let (thinnest, places) = found.unzip();
    PartWall { part: part.name, title: part.title, thinnest, places: places.unwrap_or_default(), why }
}

/// A pair of features of the joint: what, part and features of both, rule, its least value, and what part of it counts.
type Asks = (&'static str, (&'static str, &'static str), (&'static str, &'static str), &'static str, f64);

const WIRE: [Asks; 2] = [
    (
        "wire in the bore of the left link",
        ("wire", "wire.upper"),
        ("left link", "bore.right.side"),
        "joint.wire_play",
        0.5,
    ),
    (
        "wire in the bore of the right link",
        ("wire", "wire.upper"),
        ("right link", "bore.left.side"),
        "joint.wire_play",
        0.5,
    ),
];

const HINGE: [Asks; 5] = [
    (
        "pin in the bore of the left link",
        ("pin", "pin.side"),
        ("left link", "bore.right.side"),
        "hinge.pin_play",
        0.5,
    ),
    (
        "pin in the bore of the right link",
        ("pin", "pin.side"),
        ("right link", "bore.left.side"),
        "hinge.pin_play",
        0.5,
    ),
    (
        "knuckle to knuckle",
        ("left link", "knuckle.right"),
        ("right link", "knuckle.left"),
        "hinge.side_gap",
        1.0,
    ),
    (
        "knuckle of the left link in its pocket",
        ("left link", "knuckle.right.side"),
        ("right link", "pocket.left"),
        "hinge.clearance",
        1.0,
    ),
    (
        "knuckle of the right link in its pocket",
        ("right link", "knuckle.left.side"),
        ("left link", "pocket.right"),
        "hinge.clearance",
        1.0,
    ),
];

/// Between two links and what joins them, the line straight.
fn of_joint(design: &Design, link: &Solid) -> Result<Vec<Room>, String> {
    let placed = pieces(design, Pose::Straight);
    let frame = |part: &str, number: usize| {
        placed.iter().find(|p| p.part == part && p.number == number).map(|p| p.frame)
    };
    let (Some(a), Some(b), Some(j)) = (frame("link", 0), frame("link", 1), frame("joint", 1)) else {
        return Ok(Vec::new());
    };
    // All in the frame of the left link, whose numbers are small.
    let joint = joint::build(design).map_err(|e| format!("what joins the links: {e}"))?;
    let solids = [link.clone(), link.moved(&b.inside(&a.inverse())), joint.moved(&j.inside(&a.inverse()))];
    let wire = design.dims().wire.is_some();
    let asked: &[Asks] = if wire { &WIRE } else { &HINGE };
    let limit = |rule: &str| design.findings().iter().find(|f| f.rule == rule).and_then(|f| f.least);
    let solid = |name: &str| match name {
        "left link" => &solids[0],
        "right link" => &solids[1],
        _ => &solids[2],
    };
    let one = |&(what, from, to, rule, part): &Asks| {
        let (f, g) = ([from.1], [to.1]);
        let place = |name: &'static str, faces| Placed { name, solid: solid(name), faces };
        let least = limit(rule).map(|l| l * part);
        room(what, clearance(&place(from.0, &f), &place(to.0, &g)), rule, least)
    };
    Ok(asked.iter().map(one).collect())
}

fn room(
    what: &str,
    found: Result<crate::walls::Measured, MeasureError>,
    rule: &'static str,
    least: Option<f64>,
) -> Room {
    let mut out = Room {
        what: what.to_owned(),
        value_mm: None,
        lower_mm: 0.0,
        upper_mm: None,
        between: Default::default(),
        at: None,
        least_mm: least,
        rule: least.map(|_| rule),
        verdict: least.map(|_| Judgement::Unverified),
        why: None,
    };
    match found {
        Ok(m) => {
            out.value_mm = Some(m.value.get());
            out.lower_mm = m.interval.lower.get();
            out.upper_mm = Some(m.interval.upper.get());
            out.at = Some(m.at.map(|p| [p.x, p.y, p.z]));
            out.between = m.between;
            out.verdict = least.map(|l| judge(&m.interval, Mm(l)));
            if out.verdict == Some(Judgement::Unverified) {
                out.why = Some("the limit lies between what is proved and what was found".into());
            }
        }
        Err(e) => out.why = Some(e.to_string()),
    }
    out
}

/// Between the parts of the shut clasp; those farther apart than some millimetres are left out.
fn of_clasp(design: &Design) -> Result<Vec<Room>, String> {
    let gaps = rest_gaps(design).map_err(|e| e.to_string())?.unwrap_or_default();
    Ok(gaps
        .into_iter()
        .filter(|g| g.gap_mm[1].is_finite())
        .map(|g| {
            let i = Interval { lower: Mm(g.gap_mm[0].max(0.0)), upper: Mm(g.gap_mm[1]) };
            Room {
                what: format!("clasp: {} and {}", g.parts[0], g.parts[1]),
                value_mm: Some(i.upper.get()),
                lower_mm: i.lower.get(),
                upper_mm: Some(i.upper.get()),
                between: g.between,
                at: None,
                least_mm: None,
                rule: None,
                verdict: None,
                why: None,
            }
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::papers::part_walls::PROVED;
    use crate::params::{Key, read};
    use crate::parts::clasp::ClaspPart;
    use crate::parts::link::{LinkShape, build};

    /// Closed forms of the design: half of bore less wire or pin; the gap between knuckles; the clearance of the pocket.
    #[test]
    fn room_in_the_joint_is_that_of_the_design() {
        for (file, asks) in [("line-4.0-platinum", 2), ("line-3.5-rose-block", 5)] {
            let design = read(&std::fs::read_to_string(format!("params/{file}.jsonc")).unwrap()).unwrap();
            let link = build(&LinkShape::finished(&design)).unwrap();
            let rooms = of_joint(&design, &link.solid).unwrap();
            assert_eq!(rooms.len(), asks, "{rooms:?}");
            for r in rooms {
                println!("{r:?}");
                let g = |k| design.get(k);
                let truth = match r.rule.unwrap() {
                    "joint.wire_play" => (g(Key::BoreWidth) - g(Key::Wire)) / 2.0,
                    "hinge.pin_play" => design.dims().hinge.as_ref().unwrap().pin_play.get() / 2.0,
                    "hinge.side_gap" => g(Key::SideGap),
                    _ => g(Key::PocketClearance),
                };
                // A real line, within a twentieth of a micrometre of the shortest.
                assert!((r.value_mm.unwrap() - truth).abs() < 5e-5, "{} {truth}", r.what);
                assert!(
                    r.lower_mm <= truth + 1e-11 && r.lower_mm >= truth - 3e-6,
                    "{} {}",
                    r.what,
                    r.lower_mm
                );
                assert_eq!(r.verdict, Some(Judgement::Pass), "{r:?}");
            }
        }
    }

    /// Plate, leaf and frame: no wall thinner than what is told was missed within 2 um. The first has cones and tubes that
    /// close on air at 28 deg, both have snap ridges at twice the lean of a chord.
    #[test]
    fn walls_of_the_clasp_are_known_within_two_micrometres() {
        for file in ["line-2.5-yellow", "line-4.0-platinum-square"] {
            let design = read(&std::fs::read_to_string(format!("params/{file}.jsonc")).unwrap()).unwrap();
            for part in ClaspPart::ALL.into_iter().filter(|p| WALLED.contains(&p.name())) {
                let part = crate::parts::clasp::build(&design, part).unwrap().unwrap();
                let w = walls(&design, &part, 5);
                let t = w.thinnest.unwrap();
                let width = 1e3 * (t.place.value_mm - t.place.lower_mm);
                println!("{file} {}: {} [{width:.3} um] {}", w.part, t.place.value_mm, t.how);
                assert!(t.how == PROVED && (0.0..=2.0).contains(&width), "{file} {}: {width}", w.part);
            }
        }
    }
}
