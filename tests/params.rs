//! The parameter file: examples, bad files, defaults over the whole range of stones, random text.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use colletline::params::{RuleVerdict, Severity, read, read_bytes};
use proptest::prelude::*;
use std::path::Path;
use std::sync::Arc;

pub fn folder(name: &str) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(name))
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "jsonc"))
        .map(|p| {
            (p.file_stem().unwrap().to_string_lossy().into_owned(), std::fs::read_to_string(&p).unwrap())
        })
        .collect();
    out.sort();
    out
}

#[test]
fn the_examples_pass_every_binding_rule() {
    let examples = folder("params");
    assert!(examples.len() >= 3);
    for (name, text) in examples {
        let design = read(&text).unwrap_or_else(|p| panic!("{name}: {p:#?}"));
        for f in design.findings() {
            assert!(f.severity == Severity::Note || f.verdict == RuleVerdict::Pass, "{name}: {f:?}");
        }
    }
}

/// Bad file, the codes it must give.
const BAD: [(&str, &[&str]); 34] = [
    ("block-wider-than-the-setting", &["impossible.block_wider_than_setting"]),
    ("bore-through-the-seat", &["impossible.bore_roof_above_seat"]),
    ("chain-ring-too-tight", &["impossible.clasp_chain_ring"]),
    ("clasp-bead-wider-than-its-tube", &["impossible.clasp_no_tube"]),
    ("clasp-catch-below-the-skin", &["impossible.clasp_catch_below_skin"]),
    ("clasp-catch-on-its-bump", &["impossible.clasp_catch_on_its_bump"]),
    ("clasp-feet-meet", &["impossible.clasp_strips_meet"]),
    ("clasp-leaf-longer-than-the-frame", &["impossible.clasp_catch_too_long", "impossible.clasp_too_short"]),
    ("clasp-pin-thicker-than-its-bore", &["impossible.clasp_pin_thicker_than_bore"]),
    ("clasp-tube-too-fat", &["impossible.clasp_tube_below_skin"]),
    ("claws-beside-the-stone", &["impossible.claw_off_collet", "impossible.claw_off_stone"]),
    ("corners-eat-the-wall", &["impossible.no_flat_wall"]),
    ("decimal-comma", &["text.decimal_comma", "value.decimal_comma"]),
    ("foot-filled-into-the-opening", &["impossible.fill_above_opening"]),
    ("half-a-stone", &["value.type"]),
    ("key-twice", &["key.doubled"]),
    ("light-hole-meets-the-pocket", &["impossible.pocket_meets_light_hole"]),
    ("missing-stone", &["value.missing"]),
    ("no-unit", &["value.unit"]),
    ("not-a-group", &["value.type"]),
    ("opening-above-the-rim", &["impossible.opening_above_seat"]),
    ("out-of-range", &["value.range"]),
    ("pin-thicker-than-its-bore", &["impossible.pin_thicker_than_bore"]),
    ("share-as-text", &["value.type"]),
    ("slot-for-a-pin", &["key.no_part", "key.no_part"]),
    ("syntax-missing-comma", &["text.syntax"]),
    ("syntax-not-closed", &["text.syntax"]),
    ("tube-below-the-skin", &["impossible.tube_below_skin"]),
    ("tube-on-a-loop", &["key.no_part", "key.no_part"]),
    ("unknown-alloy", &["value.choice"]),
    ("unknown-key", &["key.unknown", "key.unknown"]),
    ("wall-fills-the-collet", &["impossible.no_inside"]),
    ("web-edge-too-round", &["impossible.web_edge"]),
    ("wrong-unit", &["value.unit", "value.unit"]),
];

#[test]
fn every_bad_file_is_refused_for_its_reason_and_no_other() {
    let files = folder("params/bad");
    assert_eq!(files.len(), BAD.len());
    for ((name, text), (known, codes)) in files.iter().zip(BAD) {
        assert_eq!(name, known);
        let problems = read(text).expect_err(name);
        let found: Vec<&str> = problems.iter().map(|p| p.code.as_str()).collect();
        assert_eq!(found, codes, "{name}: {problems:#?}");
        for p in &problems {
            assert!(p.span.end <= text.len() && p.line >= 1 && !p.message.is_empty(), "{name}: {p:?}");
            assert!(
                p.works.is_some()
                    || !p.limit.is_empty()
                    || p.code == "key.no_part"
                    || p.code.starts_with("text."),
                "{name}: {p:?}"
            );
        }
    }
}

/// Files that can be built but break a rule that binds: the rule, the parameter it would move and where that is written.
const AGAINST: [(&str, &str, &str, &str); 3] = [
    ("mark-struck-in-thin-plate", "mark.metal", "clasp.plate.thickness", "\"thickness\": 0.46"),
    ("pin-bead-smaller-than-its-bore", "clasp.pin_play", "clasp.tube_bore", "\"tube_bore\": 0.54"),
    ("pitch-too-short", "gap.least", "line.gap", "\"gap\": 0.06"),
];

/// Each breaks one binding rule and no other, and with the number that is told in place of the one that is wrong it breaks none.
#[test]
fn every_file_against_a_rule_is_told_the_number_that_works() {
    let files = folder("params/bad/rules");
    assert_eq!(files.len(), AGAINST.len());
    for ((name, text), (known, rule, path, written)) in files.iter().zip(AGAINST) {
        assert_eq!(name, known);
        let broken = |text: &str| -> Vec<(String, String)> {
            let all = read(text).unwrap_or_else(|p| panic!("{name}: {p:#?}")).findings();
            all.into_iter()
                .filter(|f| f.severity == Severity::Refuse && f.verdict != RuleVerdict::Pass)
                .map(|f| (f.rule.to_owned(), f.change.unwrap_or_default()))
                .collect()
        };
        let found = broken(text);
        assert!(found.len() == 1 && found[0].0 == rule, "{name}: {found:?}");
        let told = found[0].1.split(&format!("{path} to ")).nth(1).expect(&found[0].1);
        let number = told.split_whitespace().next().unwrap();
        assert_eq!(text.matches(written).count(), 1, "{name}");
        let key = written.split(':').next().unwrap();
        let mended = text.replace(written, &format!("{key}: {number}"));
        assert!(broken(&mended).is_empty(), "{name} with {number}: {:?}", broken(&mended));
    }
}

#[test]
fn stone_metal_wrist_shape_and_joint_are_enough_for_every_stone() {
    let mut refused = Vec::new();
    for shape in SHAPES {
        for joint in JOINTS {
            for i in 0..=84 {
                let d = 1.8 + 0.05 * f64::from(i);
                for (metal, wrist) in
                    [("platinum950_ru", 140.0), ("gold750_yellow", 165.0), ("silver925", 210.0)]
                {
                    let name = format!("{shape} {joint} {d:.2} {wrist}");
                    match read(&shortest(metal, d, wrist, shape, joint)) {
                        Err(p) => refused.push(format!("{name}: {}", p[0].message)),
                        Ok(design) => refused.extend(
                            design
                                .findings()
                                .into_iter()
                                .filter(|f| f.severity == Severity::Refuse && f.verdict != RuleVerdict::Pass)
                                .map(|f| {
                                    format!("{name}: {} {} {:?} {:?}", f.rule, f.value, f.least, f.most)
                                }),
                        ),
                    }
                }
            }
        }
    }
    assert!(refused.is_empty(), "{} refused:\n{}", refused.len(), refused.join("\n"));
}

const SHAPES: [&str; 3] = ["round", "square", "cushion"];
const JOINTS: [&str; 2] = ["wire_loop", "hinge_tube"];

/// Stone, metal, wrist, shape and joint, and nothing else.
fn shortest(metal: &str, diameter: f64, wrist: f64, shape: &str, joint: &str) -> String {
    format!(
        "{{\"metal\":{{\"alloy\":\"{metal}\"}},\"stone\":{{\"diameter\":{diameter:.2}}},\"wearer\":{{\"wrist\":{wrist}}},\
         \"collet\":{{\"shape\":\"{shape}\"}},\"joint\":{{\"kind\":\"{joint}\"}}}}"
    )
}

/// The whole file as plain JSON.
fn json(text: &str) -> serde_json::Value {
    let mut out = String::new();
    for line in text.lines() {
        out.push_str(line.split("//").next().unwrap());
        out.push('\n');
    }
    serde_json::from_str(&out).unwrap()
}

/// The same file with one value set.
fn set(text: &str, path: &str, value: &str) -> String {
    let mut root = json(text);
    let place = path.split('.').fold(&mut root, |group, name| &mut group[name]);
    *place = serde_json::from_str(value).unwrap();
    root.to_string()
}

#[test]
fn every_way_out_of_an_impossible_file_works() {
    let mut wrong = Vec::new();
    let mut tried = 0;
    for (name, text) in folder("params/bad") {
        for p in read(&text).expect_err(&name).into_iter().filter(|p| p.code.starts_with("impossible.")) {
            tried += 1;
            if p.works.is_none() && p.gives_way.is_empty() && p.together.is_empty() {
                wrong.push(format!("{name}: no way out of {}", p.code));
            }
            if let Some(w) = &p.works {
                match read(&set(&text, &p.path, w)) {
                    Err(q) => wrong.push(format!("{name}: {} to {w}: {}", p.path, q[0].message)),
                    Ok(d) => wrong.extend(
                        d.findings()
                            .iter()
                            .filter(|f| f.severity == Severity::Refuse && f.verdict == RuleVerdict::Fail)
                            .map(|f| format!("{name}: {} to {w} breaks {}", p.path, f.rule)),
                    ),
                }
            }
            for other in &p.gives_way {
                let could = (0..=750).any(|i| {
                    let x = format!("{:.2}", 0.01 * f64::from(i));
                    read(&set(&text, other, &x)).is_ok()
                });
                if !could {
                    wrong.push(format!("{name}: {other} cannot give way"));
                }
            }
        }
    }
    assert!(tried >= 12 && wrong.is_empty(), "{tried} tried\n{}", wrong.join("\n"));
}

#[test]
fn a_parameter_of_another_link_is_refused_at_its_place() {
    let refused = |shape: &str, joint: &str, path: &str, value: &str| {
        let text = set(&shortest("silver925", 3.0, 165.0, shape, joint), path, value);
        read(&text).err().map(|p| (p[0].code.clone(), p[0].path.clone(), p[0].message.clone()))
    };
    for shape in SHAPES {
        for (path, value) in
            [("joint.bore_width", "0.5"), ("joint.wire", "0.45"), ("joint.web_height", "0.55")]
        {
            let (code, at, message) = refused(shape, "hinge_tube", path, value).unwrap();
            assert_eq!((code.as_str(), at.as_str()), ("key.no_part", path));
            assert_eq!(
                message,
                format!("{path} belongs to a wire loop; this file has hinge tubes: leave it out")
            );
            assert!(refused(shape, "wire_loop", path, value).is_none_or(|r| r.0 != "key.no_part"), "{path}");
        }
        for (path, value) in [("joint.pin", "0.4"), ("collet.light_hole", "0.6"), ("collet.foot_fill", "1.2")]
        {
            assert_eq!(refused(shape, "wire_loop", path, value).unwrap().0, "key.no_part");
            assert!(refused(shape, "hinge_tube", path, value).is_none_or(|r| r.0 != "key.no_part"), "{path}");
        }
    }
    let no_part = |s, j, p| refused(s, j, p, "0.3").is_some_and(|r| r.0 == "key.no_part");
    assert!(no_part("round", "wire_loop", "collet.corner_radius"));
    assert!(!no_part("round", "hinge_tube", "collet.corner_radius"));
    assert!(no_part("round", "hinge_tube", "collet.inner_corner_radius"));
    assert!(no_part("square", "hinge_tube", "collet.block_half_width"));
    assert!(!no_part("cushion", "wire_loop", "collet.inner_corner_radius"));
}

#[test]
fn only_parameters_that_take_part_are_listed() {
    for shape in SHAPES {
        for joint in JOINTS {
            let design = read(&shortest("silver925", 3.0, 165.0, shape, joint)).unwrap();
            let values = design.values();
            let has = |p: &str| values.iter().any(|v| v.path == p);
            assert_eq!(has("joint.wire"), joint == "wire_loop");
            assert_eq!(has("joint.tube_outer"), joint == "hinge_tube");
            assert_eq!(has("collet.inner_corner_radius"), shape != "round");
            assert_eq!(has("collet.block_half_width"), shape == "round" && joint == "hinge_tube");
            // Written out in full it is the same design.
            let mut text = shortest("silver925", 3.0, 165.0, shape, joint);
            for v in values.iter().filter(|v| v.path != "design.name") {
                text = set(&text, v.path, &v.value.to_string());
            }
            let again = read(&text).unwrap_or_else(|p| panic!("{shape} {joint}: {p:#?}"));
            for v in &values {
                if v.path != "design.name" {
                    assert!(
                        again.values().iter().any(|w| w.path == v.path && w.value == v.value),
                        "{}",
                        v.path
                    );
                }
            }
        }
    }
}

/// A maker writes stone, metal, wrist, shape, joint and a few wishes near what is usual; at least nine in ten such files of
/// every shape and joint must be taken.
#[test]
fn nine_in_ten_files_with_a_few_wishes_are_taken() {
    let mut state = 11u64;
    let mut random = move || {
        // Knuth's MMIX multiplier; the upper bits are as random as this needs.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    const DRAWS: usize = 250;
    for shape in SHAPES {
        for joint in JOINTS {
            let mut taken = 0;
            let mut why = std::collections::BTreeMap::new();
            for _ in 0..DRAWS {
                let d = 1.8 + (random() * 84.0).round() * 0.05;
                let plain = shortest("silver925", d, 150.0 + (random() * 40.0).round(), shape, joint);
                let values = read(&plain).unwrap().values();
                let mut text = plain;
                for _ in 0..1 + (random() * 4.0) as usize {
                    let v = &values[(random() * values.len() as f64) as usize];
                    let section = v.path.split('.').next().unwrap();
                    if v.unit != "mm" || ["stone", "wearer", "trial"].contains(&section) {
                        continue;
                    }
                    let x = v.value.as_f64().unwrap() * (0.94 + 0.12 * random());
                    text = set(&text, v.path, &format!("{:.2}", x));
                }
                match read(&text) {
                    Ok(_) => taken += 1,
                    Err(p) => *why.entry(p[0].code.clone()).or_insert(0) += 1,
                }
            }
            println!("{shape} {joint}: {taken} of {DRAWS}, refused {why:?}");
            assert!(taken * 10 >= DRAWS * 9, "{shape} {joint}: {taken} of {DRAWS}, refused {why:?}");
        }
    }
}

/// Condition, example it is tripped on, values that trip it.
type Trip = (&'static str, &'static str, &'static [(&'static str, &'static str)]);

const IMPOSSIBLE: &[Trip] = &[
    ("no_flat_inside", CUSHION, &[("collet.inner_corner_radius", "0.70")]),
    (
        "corner_wall",
        CUSHION,
        &[
            ("collet.corner_radius", "1.05"),
            ("collet.inner_corner_radius", "0.05"),
            ("collet.wall", "0.20"),
            ("seat.rim_land", "0.10"),
        ],
    ),
    ("seat_grazes_inner_corner", CUSHION, &[("collet.inner_corner_radius", "0.61")]),
    ("no_middle_knuckle", CUSHION, &[("joint.tube_length", "0.60"), ("joint.outer_share", "0.35")]),
    ("bore_leaves_no_tube", CUSHION, &[("joint.tube_bore", "1.12"), ("joint.pin", "1.10")]),
    ("tube_off_wall", CUSHION, &[("joint.tube_outer", "0.70")]),
    ("bore_grazes_wall", CUSHION, &[("joint.tube_bore", "0.68"), ("joint.pin", "0.64")]),
    (
        "pocket_meets_inside",
        CUSHION,
        &[("joint.tube_outer", "1.40"), ("joint.tube_height", "0.70"), ("collet.foot_fill", "0.70")],
    ),
    (
        "pocket_meets_opening",
        CUSHION,
        &[("joint.tube_outer", "1.40"), ("joint.tube_height", "0.70"), ("opening.width", "2.50")],
    ),
    ("light_hole_wider_than_inside", CUSHION, &[("joint.tube_outer", "0.90"), ("collet.light_hole", "1.70")]),
    (
        "seat_bur_in_foot",
        CUSHION,
        &[
            ("collet.foot_fill", "2.0"),
            ("opening.bottom", "2.0"),
            ("opening.top", "2.3"),
            ("opening.bur", "0.2"),
        ],
    ),
    ("trial_hinge", CUSHION, &[("joint.tube_bore", "0.70"), ("joint.pin", "0.66")]),
    ("tube_grazes_foot_edge", BLOCK, &[("collet.block_half_width", "1.80"), ("joint.tube_outer", "1.28")]),
    ("block_inside_collet", BLOCK, &[("collet.block_half_width", "1.60")]),
    ("block_corner", BLOCK, &[("collet.corner_radius", "1.60")]),
    ("pocket_above_block", BLOCK, &[("collet.foot_fill", "1.30")]),
    (
        "slit_under_claws",
        BLOCK,
        &[("collet.foot_fill", "1.65"), ("opening.bottom", "1.75"), ("opening.bur", "0.5")],
    ),
];

const CUSHION: &str = include_str!("../params/line-3.0-silver-cushion.jsonc");
const BLOCK: &str = include_str!("../params/line-3.5-rose-block.jsonc");

#[test]
fn each_condition_of_corners_and_hinge_tubes_trips_and_its_way_out_works() {
    let mut wrong = Vec::new();
    for (code, base, changes) in IMPOSSIBLE {
        let text = changes.iter().fold((*base).to_owned(), |t, (path, value)| set(&t, path, value));
        let problems = read(&text).err().unwrap_or_default();
        let Some(p) = problems.iter().find(|p| p.code == format!("impossible.{code}")) else {
            let codes: Vec<&str> = problems.iter().map(|p| p.code.as_str()).collect();
            wrong.push(format!("{code}: {codes:?}"));
            continue;
        };
        let mended = p.works.as_ref().is_none_or(|w| read(&set(&text, &p.path, w)).is_ok());
        if !mended || p.way_out().is_empty() {
            wrong.push(format!("{code}: {}", p.way_out()));
        }
        // On its own the one value that trips it can be put right; of several that break something together, not always.
        if changes.len() == 1 && p.works.is_none() && p.gives_way.is_empty() {
            wrong.push(format!("{code}: {}", p.way_out()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A link whose opened joint would not be whole is refused only where the file asks for the trial print.
#[test]
fn a_trial_print_that_cannot_be_made_does_not_stop_the_link() {
    let tight = set(&set(CUSHION, "joint.tube_bore", "0.70"), "joint.pin", "0.66");
    let asked = read(&set(&tight, "trial.gap", "0.075")).err().unwrap_or_default();
    assert!(asked.iter().any(|p| p.code == "impossible.trial_hinge"), "{asked:#?}");
    let start = tight.find("\"trial\"").expect("the example gives it");
    let end = start + tight[start..].find('}').expect("closed") + 1;
    let silent =
        read(&format!("{}{}", &tight[..start], &tight[end..])).expect("the finished link can be made");
    assert!(silent.no_trial().is_some_and(|why| why.contains("trial link")));
    assert!(read(CUSHION).expect("sound").no_trial().is_none());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, rng_seed: proptest::test_runner::RngSeed::Fixed(5), failure_persistence: None, ..ProptestConfig::default() })]
    /// Whatever numbers stand in a file, it is read or refused with a place and a way out, and judged without a panic.
    #[test]
    fn no_numbers_panic(shape in 0usize..3, joint in 0usize..2, picks in proptest::collection::vec((0usize..45, 0.0f64..3.0), 1..6)) {
        let plain = shortest("silver925", 3.0, 165.0, SHAPES[shape], JOINTS[joint]);
        let values = read(&plain).unwrap().values();
        let mut text = plain;
        for (i, x) in picks {
            let v = &values[i % values.len()];
            if v.unit == "mm" {
                text = set(&text, v.path, &format!("{x:.3}"));
            }
        }
        match read(&text) {
            Ok(d) => prop_assert!(d.findings().iter().all(|f| f.value.is_finite())),
            Err(p) => prop_assert!(p.iter().all(|p| !p.message.is_empty() && !p.message.contains("NaN") && !p.way_out().is_empty()), "{p:#?}"),
        }
    }
}

#[test]
fn bytes_that_are_no_text_are_a_problem() {
    for bytes in
        [&b"\xff\xfe{\0}\0"[..], b"{ \"stone\": \"\xc3\x28\" }", b"\xef\xbb\xbf", &vec![b' '; 2_000_000]]
    {
        assert!(!read_bytes(bytes, &Arc::default()).unwrap_err().is_empty());
    }
    let crlf = folder("params")[0].1.replace('\n', "\r\n");
    read_bytes(format!("\u{feff}{crlf}").as_bytes(), &Arc::default()).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, rng_seed: proptest::test_runner::RngSeed::Fixed(7), failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn no_text_panics_and_every_refusal_has_a_place(text in "\\PC{0,200}") {
        if let Err(p) = read(&text) {
            prop_assert!(!p.is_empty());
            prop_assert!(p.iter().all(|p| p.span.end <= text.len()));
        }
    }

    #[test]
    fn no_damaged_file_panics(cut in 0usize..1400, len in 0usize..30, with in "[{}\\[\\]\",:0-9a-z/* .-]{0,8}") {
        let mut text = folder("params").pop().unwrap().1 + &folder("params")[0].1[..0];
        let at = |i: usize, t: &str| { let mut i = i.min(t.len()); while !t.is_char_boundary(i) { i -= 1 } i };
        let (a, b) = (at(cut, &text), at(cut + len, &text));
        text.replace_range(a..b, &with);
        if let Err(p) = read(&text) {
            prop_assert!(!p.is_empty() && p.iter().all(|p| p.span.end <= text.len()));
        }
    }
}
