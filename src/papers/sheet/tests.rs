use super::*;
use crate::mesh;
use crate::params::{self, Design};
use crate::parts::link::{self, LinkShape};
use crate::units::Tolerance;

/// A spread of stones, shapes, joints and kinds.
const LINKS: [(&str, &str, &str, &str); 8] = [
    ("1.8", "round", "wire_loop", "line"),
    ("2.5", "square", "wire_loop", "plain_left"),
    ("3.0", "cushion", "hinge_tube", "line"),
    ("3.1", "round", "hinge_tube", "plain_right"),
    ("4.0", "round", "wire_loop", "plain_right"),
    ("5.0", "square", "hinge_tube", "plain_left"),
    ("6.0", "round", "wire_loop", "line"),
    ("6.0", "cushion", "wire_loop", "line"),
];

fn drawn(text: &str) -> (Design, Vec<Drawing>) {
    let design = params::read(text).unwrap_or_else(|p| panic!("{p:?}"));
    let built = link::build(&LinkShape::finished(&design)).unwrap();
    let mesh = mesh::checked(&built.solid, Tolerance::new(0.005).unwrap()).unwrap();
    let wear = link::wear_points(&built.solid, &built.shape, design.state(), design.own());
    let subject = Subject { design: &design, solid: &built.solid, mesh: &mesh.mesh.mesh, wear: &wear };
    let title = Title {
        date: "14 March 2026".into(),
        revision: "0123456789abcdef".into(),
        verdict: "unverified",
        state: crate::papers::report::NOT_A_MASTER,
        program: "colletline 10.20.30".into(),
    };
    let sheets = [Paper::A4, Paper::Letter]
        .map(|p| sheet(&subject, &title, &Page { part: "link", number: 1, of: 6 }, p).expect("a sheet"))
        .into_iter()
        .collect();
    (design, sheets)
}

#[test]
fn no_text_overlaps_and_nothing_leaves_the_frame() {
    for (stone, shape, joint, kind) in LINKS {
        // The longest name a file may give, in wide letters, too.
        let text = format!(
            r#"{{ "design": {{ "name": "{}" }}, "metal": {{ "alloy": "silver925" }}, "stone": {{ "diameter": {stone} }},
            "wearer": {{ "wrist": 165 }}, "collet": {{ "shape": "{shape}" }}, "joint": {{ "kind": "{joint}" }},
            "link": {{ "kind": "{kind}" }} }}"#,
            "W".repeat(80)
        );
        let (_, sheets) = drawn(&text);
        for (d, paper) in sheets.iter().zip([Paper::A4, Paper::Letter]) {
            let what = format!("{stone} {shape} {joint} {kind} {}", paper.name());
            assert!(paper.frame().holds(&d.bounds().unwrap()), "{what}: {:?}", d.bounds());
            for (i, a) in d.texts.iter().enumerate() {
                for b in &d.texts[i + 1..] {
                    assert!(!a.bounds().overlaps(&b.bounds()), "{what}: {:?} over {:?}", a.text, b.text);
                }
            }
        }
    }
}

#[test]
fn dimensions_say_what_the_file_asked_for() {
    // Every value as it stands in the file of the example, none derived.
    let (design, sheets) = drawn(include_str!("../../../params/line-4.0-platinum.jsonc"));
    let mut found = 0;
    for v in design.values() {
        let (Some(mm), Some(t)) =
            (v.value.as_f64(), sheets[0].texts.iter().find(|t| t.measures == Some(v.path)))
        else {
            continue;
        };
        let number = t.text.trim_start_matches('\u{d8}').split(' ').next().unwrap().to_owned();
        assert_eq!(number, format!("{mm:.2}"), "{}", v.path);
        found += 1;
    }
    assert!(found >= 11, "{found} dimensions found");
}

#[test]
fn the_ruler_is_100_mm_and_the_same_link_gives_the_same_bytes() {
    let text = include_str!("../../../params/line-4.0-platinum.jsonc");
    let (a, b) = (drawn(text).1, drawn(text).1);
    assert_eq!(to_svg(&a[0]), to_svg(&b[0]));
    assert_eq!(to_pdf(&[&a[0], &a[1]], "p"), to_pdf(&[&b[0], &b[1]], "p"));
    let level = |l: &&(Pen, Vec<[f64; 2]>)| l.1.len() == 2 && (l.1[1][0] - l.1[0][0] - 100.0).abs() < 1e-9;
    assert_eq!(a[0].lines.iter().filter(level).count(), 1);
}
