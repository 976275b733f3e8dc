//! What the limits of the trade say of a clasp's movements.

use super::clasp::{ClaspMotion, ClaspMoved, OPENS, RestGap, TongueMotion};
use super::measure::MotionFinding;
use crate::params::{Design, Key};
use crate::walls::Judgement;

/// A tongue is made to give way by its snap; what is measured may differ by this much, mm: facets, and the slope of the ridge
/// against the corner of the cheek.
const SNAP_FIT: f64 = 0.01;

/// Every finding.
pub(super) fn clasp_findings(design: &Design, m: &ClaspMotion) -> Vec<MotionFinding> {
    let Some(c) = design.dims().clasp.as_ref() else { return Vec::new() };
    let mut out: Vec<MotionFinding> = m.at_rest.iter().map(room).collect();
    out.extend(m.movements.iter().filter(|x| x.asked_deg.is_some()).map(opens));
    out.push(play(&m.tongue, c.over_centre.get() / 2.0));
    out.push(gives_way(&m.tongue, design.get(Key::TongueSnap)));
    out
}

/// Two parts of a shut clasp must not touch; where they do a parameter is to be changed.
fn room(g: &RestGap) -> MotionFinding {
    let [low, high] = g.gap_mm;
    let verdict = if low > 0.0 {
        Judgement::Pass
    } else if high <= 0.0 {
        Judgement::Fail
    } else {
        Judgement::Unverified
    };
    let [a, b] = g.parts;
    let says = if verdict == Judgement::Pass {
        format!("{a} and {b} are {low:.3} mm apart or more, shut")
    } else {
        format!("{a} and {b}: {} and {} touch or nearly touch, shut", g.between[0], g.between[1])
    };
    MotionFinding {
        rule: "clasp.room",
        binds: true,
        verdict,
        says,
        source: "measured on the solids",
        parameters: movers(&g.between),
    }
}

fn opens(m: &ClaspMoved) -> MotionFinding {
    let asked = m.asked_deg.unwrap_or(OPENS);
    let verdict = if m.turns_freely || m.free_to_deg >= asked {
        Judgement::Pass
    } else if m.touches_by_deg.is_some_and(|t| t < asked) {
        Judgement::Fail
    } else {
        Judgement::Unverified
    };
    let what = words(m.movement);
    let says = match (verdict, m.between.first()) {
        (Judgement::Pass, _) => format!("{what}: free to {asked:.0} deg, every pose of the way"),
        (_, Some([a, b])) => {
            let by = m.touches_by_deg.map_or_else(String::new, |t| format!(" to {t:.1}"));
            format!(
                "{what}: free to {:.1}{by} deg only, then {a} meets {b}; {asked:.0} is asked",
                m.free_to_deg
            )
        }
        (_, None) => format!("{what}: proved free to {:.1} deg only; {asked:.0} is asked", m.free_to_deg),
    };
    MotionFinding {
        rule: "clasp.opens",
        binds: true,
        verdict,
        says,
        source: "both hinges open flat, so that the line gains twice the leaf",
        parameters: m.between.first().map_or_else(Vec::new, movers),
    }
}

/// The tongue must hold before dead centre is crossed.
fn play(t: &TongueMotion, most: f64) -> MotionFinding {
    let verdict = match t.play_mm {
        [_, Some(high)] if high <= most => Judgement::Pass,
        [Some(low), _] if low > most => Judgement::Fail,
        [None, None] => Judgement::Fail,
        _ => Judgement::Unverified,
    };
    let says = match t.play_mm {
        [Some(low), Some(high)] => {
            format!("the tongue holds after {low:.3} to {high:.3} mm of lift; at most {most:.3} is asked")
        }
        [Some(low), None] => format!("the tongue does not hold before {low:.3} mm of lift"),
        _ => "the tongue does not hold the frame at all".to_owned(),
    };
    MotionFinding {
        rule: "tongue.play",
        binds: true,
        verdict,
        says,
        source: "half of the over-centre; proposal",
        parameters: vec!["clasp.back_height", "clasp.tongue.hold_angle"],
    }
}

fn gives_way(t: &TongueMotion, snap: f64) -> MotionFinding {
    let [low, high] = t.gives_way_mm;
    let verdict = if high < t.slot_mm && low <= snap + SNAP_FIT && high >= snap - SNAP_FIT {
        Judgement::Pass
    } else if low >= t.slot_mm || high < snap - SNAP_FIT || low > snap + SNAP_FIT {
        Judgement::Fail
    } else {
        Judgement::Unverified
    };
    let most = if high.is_finite() { format!("{high:.3}") } else { "more than the slot".to_owned() };
    MotionFinding {
        rule: "tongue.way",
        binds: true,
        verdict,
        says: format!(
            "a strip gives way by {low:.3} to {most} mm and lets go; made for {snap:.2}, its slot leaves {:.2}",
            t.slot_mm
        ),
        source: "ridge less the clearance of strip and cheek",
        parameters: vec!["clasp.tongue.snap", "clasp.tongue.slot"],
    }
}

/// A movement of the clasp in bench words.
#[must_use]
pub fn words(movement: &str) -> &str {
    match movement {
        "leaf_on_plate" => "leaf about the back hinge",
        "frame_on_leaf" => "frame about the front hinge",
        "frame_over_plate" => "frame over the plate, parallel",
        "one_end_lifted" => "frame lifted at one end only",
        other => other,
    }
}

/// Parameters that move two faces, the usual one first.
fn movers(between: &[String; 2]) -> Vec<&'static str> {
    const ALL: [(&str, &[&str]); 9] = [
        ("stone", &["collet.height", "clasp.leaf.thickness"]),
        ("pin", &["clasp.pin", "clasp.tube_bore"]),
        ("lug", &["clasp.lug", "clasp.count"]),
        ("knuckle", &["clasp.tube_outer", "clasp.outer_share"]),
        ("room", &["clasp.tube_outer"]),
        ("cheek", &["clasp.cheek", "clasp.tongue.slot"]),
        ("strip", &["clasp.tongue.snap", "clasp.cheek"]),
        ("rail", &["clasp.rail_width"]),
        ("leaf", &["clasp.gap", "clasp.leaf.thickness"]),
    ];
    let mut out: Vec<&'static str> = Vec::new();
    for (word, parameters) in ALL {
        if between.iter().any(|b| b.contains(word)) {
            out.extend(parameters.iter().filter(|p| !out.contains(p)).collect::<Vec<_>>());
        }
    }
    if out.is_empty() { vec!["clasp.gap"] } else { out }
}
