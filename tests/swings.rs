//! How far the joints of the example lines move, against closed forms; `tests/outside/check_motion.py` turns the exported
//! meshes by other means.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use colletline::motion::{Blocked, Joint, Movement, Pose, blocked, closed_form, measure_clasp};
use colletline::params::{self, Design, Key};
use colletline::parts::link::{Built, LinkShape, build};
use colletline::units::{Deg, Mm};
use colletline::walls::Judgement;
use std::path::Path;

fn example(name: &str) -> (Design, Built) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("params").join(name);
    let design = params::read(&std::fs::read_to_string(path).unwrap()).unwrap();
    let link = build(&LinkShape::finished(&design)).unwrap();
    (design, link)
}

fn joint(design: &Design, link: &Built) -> Joint {
    Joint::of(design, &link.solid, &link.solid, Mm(0.0)).unwrap()
}

/// Pulled apart by its play the line bends back until claw meets claw: closed form of two points on circles.
#[test]
fn a_wire_loop_bends_back_as_far_as_the_closed_form() {
    let (design, link) = example("line-4.0-platinum.jsonc");
    let joint = joint(&design, &link);
    let s = joint.swing(Movement::Back);
    let form = closed_form(&design, Movement::Back, Mm(0.0)).unwrap();
    let touches = s.blocked_at.unwrap().get();
    assert_eq!(
        form.agrees(-s.free_to.get(), Some(-touches)),
        Judgement::Pass,
        "{form:?} {:?} {touches}",
        s.free_to
    );
    assert!((s.free_to.get() - touches) < 0.5);
    let pair = joint.turned_to(Movement::Back);
    let claws = s.stops.iter().any(|n| {
        pair.still[n.still.0].face_name(n.still.1).starts_with("claw")
            && pair.moving[n.moving.0].face_name(n.moving.1).starts_with("claw")
    });
    assert!(claws, "{:?}", s.stops);
    // Every tenth of the way back is free, with no play taken but the path's own.
    for p in &s.path {
        assert!(pair.nearest(p, 0.0).is_none(), "{p:?}");
    }
}

/// Inward it turns at least until the wire, were it held in the middle of its play, lies under the roof of its bore (closed form), and a
/// little farther as the wire stands back; the bounds lie close together.
#[test]
fn a_wire_loop_bends_inward_farther_than_the_closed_form_of_its_roof() {
    let (design, link) = example("line-3.2-silver-short.jsonc");
    let s = joint(&design, &link).swing(Movement::Inward);
    let form = closed_form(&design, Movement::Inward, Mm(0.0)).unwrap();
    let touches = s.blocked_at.unwrap().get();
    assert_eq!(
        form.agrees(s.free_to.get(), Some(touches)),
        Judgement::Pass,
        "{form:?} {:?} {touches}",
        s.free_to
    );
    assert!(touches - s.free_to.get() < 0.5, "{:?} {touches}", s.free_to);
}

/// Leaned back the web reaches farther along the loop and takes some of the play; without its share the closed form would lie outside
/// the bounds (a square collet of 4.6, from the random files).
#[test]
fn a_web_that_leans_takes_some_of_the_play() {
    let text = r#"{"metal":{"alloy":"silver925"},"stone":{"diameter":4.5,"tolerance":0.03,"carat":0.3433},
        "collet":{"shape":"square","width":4.6,"wall":0.54,"corner_radius":0.46,"inner_corner_radius":0.1,"height":2.9,"foot_half_width":2.0},
        "seat":{"rim_land":0.32,"bur_angle":90},"claw":{"diameter":1.05,"over":0.3},
        "joint":{"kind":"wire_loop","wire":0.62,"wire_flat":0.48,"bore_width":0.67,"end_play":0.02,"groove_depth":0.5,"groove_width":0.7,
        "web_height":0.65,"web_edge":0.24,"bore_height":0.85},"link":{"route":"fabricated","kind":"line"},"line":{"gap":0.16,"count":42},
        "opening":{"width":1.76,"bottom":0.76,"top":2.2,"stop":0.78,"bur":0.86},"wearer":{"wrist":180.7},"clasp":{"kind":"bought","count":4}}"#;
    let design = params::read(text).unwrap();
    let link = build(&LinkShape::finished(&design)).unwrap();
    let s = joint(&design, &link).swing(Movement::Back);
    let form = closed_form(&design, Movement::Back, Mm(0.0)).unwrap();
    let (free, touches) = (-s.free_to.get(), -s.blocked_at.unwrap().get());
    assert_eq!(form.agrees(free, Some(touches)), Judgement::Pass, "{free} {} {touches}", form.deg);
    // (z - z_w) sin t = g + j_x + (W/2 - x_w)(1 - cos t), the web held for a line; claws stand 0.004 proud of a square rim.
    let (d, w) = (design.dims(), design.dims().wire.as_ref().unwrap());
    let arm = d.claw_top.get() - w.web_middle.get();
    let lever = d.rim_radius.get() - w.web_x.get();
    let room = design.get(Key::Gap) - 2.0 * 0.004 + design.get(Key::EndPlay);
    let (mut low, mut high) = (0.0, 0.2_f64);
    for _ in 0..60 {
        let t = f64::midpoint(low, high);
        if arm * libm::sin(t) - room - lever * (1.0 - libm::cos(t)) > 0.0 { high = t } else { low = t }
    }
    assert!(low.to_degrees() > touches, "{} {touches}", low.to_degrees());
}

/// Settings as wide as their stones, with gap enough: stone meets stone before claw meets claw (rule 36), at the closed form of two
/// points on circles, and the tool says so; with the usual tenth between, no movement ends at a stone.
#[test]
fn where_stones_are_the_stop_it_is_said() {
    let text = include_str!("../params/line-4.0-platinum.jsonc");
    let wide = text.replace("\"width\": 4.1,", "\"width\": 4.0,").replace("\"gap\": 0.10", "\"gap\": 0.15");
    assert_ne!(wide, text);
    for (text, stop) in [(wide.as_str(), true), (text, false)] {
        let design = params::read(text).unwrap();
        let link = build(&LinkShape::finished(&design)).unwrap();
        let m = colletline::motion::measure(&design, &link).unwrap().report;
        let back = m.movements.iter().find(|x| x.movement == Movement::Back).unwrap();
        assert_eq!(back.stones_stop, stop, "{back:?}");
        assert_eq!(back.agrees, Some(Judgement::Pass), "{back:?}");
        let said = m.findings.iter().any(|f| f.rule == "stones.stop" && f.says.contains("stone meets stone"));
        assert_eq!(said, stop, "{:?}", m.findings);
        assert_eq!(back.between[0].iter().all(|f| f.starts_with("stone")), stop, "{back:?}");
        assert!(stop || m.movements.iter().all(|x| !x.stones_stop), "{:?}", m.movements);
    }
}

/// A pin in its bore is a straight lens, as deep all along: the search for its middle ends, and both bounds are found.
#[test]
fn a_pin_in_its_bore_is_turned_to_an_end() {
    let (design, link) = example("line-3.5-rose-block.jsonc");
    let m = colletline::motion::measure(&design, &link).unwrap().report;
    for x in &m.movements {
        let touches = x.touches_by_deg.unwrap();
        assert!(x.free_to_deg < touches && touches - x.free_to_deg < 0.5, "{x:?}");
        assert_ne!(x.agrees, Some(Judgement::Fail), "{x:?}");
    }
}

/// About its pin the cushion line turns at least until foot would meet foot, and back until claw meets claw.
#[test]
fn a_hinge_turns_as_far_as_the_closed_forms() {
    let (design, link) = example("line-3.0-silver-cushion.jsonc");
    let joint = joint(&design, &link);
    for m in [Movement::Inward, Movement::Back] {
        let s = joint.swing(m);
        let form = closed_form(&design, m, Mm(0.0)).unwrap();
        let touches = s.blocked_at.unwrap().get().abs();
        assert_eq!(
            form.agrees(s.free_to.get().abs(), Some(touches)),
            Judgement::Pass,
            "{m:?} {form:?} {:?} {touches}",
            s.free_to
        );
        assert!(touches - s.free_to.get().abs() < 0.5);
        // Beyond the bound contact stays proved.
        let beyond = s.blocked_at.unwrap() + Deg(0.5 * s.free_to.get().signum());
        let pair = joint.turned_to(m);
        assert_eq!(blocked(&pair, &joint.play_in(m), beyond, &Pose::REST), Blocked::Proved);
    }
}

/// The clasp opens flat without touching, its pins have half their play all round, and the tongue holds soon after the frame lifts
/// and lets go when it gives way by its snap (closed forms: play of the ridge in its groove over the slope; ridge less clearance).
#[test]
fn the_clasp_opens_flat_and_its_tongue_holds_and_lets_go_as_the_closed_forms_say() {
    for name in ["line-4.0-platinum.jsonc", "line-3.0-silver-cushion.jsonc"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("params").join(name);
        let design = params::read(&std::fs::read_to_string(path).unwrap()).unwrap();
        let m = measure_clasp(&design, Mm(0.05)).unwrap().unwrap();
        for x in m.movements.iter().filter(|x| x.asked_deg.is_some()) {
            assert!(x.turns_freely && x.free_to_deg == 180.0, "{name} {x:?}");
        }
        let one_end = m.movements.iter().find(|x| x.movement == "one_end_lifted").unwrap();
        assert!(!one_end.turns_freely && one_end.touches_by_deg.is_some(), "{name} {one_end:?}");
        let get = |k: Key| design.get(k);
        let half = (get(Key::ClaspTubeBore) - get(Key::ClaspPin)) / 2.0;
        for g in m.at_rest.iter().filter(|g| g.parts[0].ends_with("pin")) {
            assert!(
                g.gap_mm[0] <= half && half <= g.gap_mm[1] && g.gap_mm[1] - g.gap_mm[0] < 0.004,
                "{name} {g:?}"
            );
        }
        // 0.02 of play across, on a slope of the hold angle from the line's plane.
        let lift = 0.02 / libm::tan(get(Key::HoldAngle).to_radians());
        let [low, high] = m.tongue.play_mm.map(Option::unwrap);
        assert!(low <= lift + 1e-3 && lift <= high + 1e-3 && high - low < 0.01, "{name} {low} {lift} {high}");
        let [low, high] = m.tongue.gives_way_mm;
        let snap = get(Key::TongueSnap);
        assert!(low <= snap && snap <= high + 0.005 && high - low < 0.02, "{name} {low} {snap} {high}");
        assert!(m.findings.iter().all(|f| f.verdict == Judgement::Pass), "{name} {:?}", m.findings);
    }
}
