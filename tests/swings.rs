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
    let form = closed_form(&design, Movement::Back).unwrap();
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
    let form = closed_form(&design, Movement::Inward).unwrap();
    let touches = s.blocked_at.unwrap().get();
    assert_eq!(
        form.agrees(s.free_to.get(), Some(touches)),
        Judgement::Pass,
        "{form:?} {:?} {touches}",
        s.free_to
    );
    assert!(touches - s.free_to.get() < 0.5, "{:?} {touches}", s.free_to);
}

/// About its pin the cushion line turns at least until foot would meet foot, and back until claw meets claw.
#[test]
fn a_hinge_turns_as_far_as_the_closed_forms() {
    let (design, link) = example("line-3.0-silver-cushion.jsonc");
    let joint = joint(&design, &link);
    for m in [Movement::Inward, Movement::Back] {
        let s = joint.swing(m);
        let form = closed_form(&design, m).unwrap();
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
