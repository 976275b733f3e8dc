//! The command line: exit codes, what is written and what is not.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::command;

use command::{code, names, run};
use std::path::Path;

/// A design that reads, can be built, and breaks a binding rule: the web is too low.
fn low_web(dir: &Path) -> String {
    let text =
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("params/line-4.0-platinum.jsonc"))
            .unwrap()
            .replace("\"web_height\": 0.60", "\"web_height\": 0.48");
    let path = dir.join("low-web.jsonc");
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn an_example_is_made_whole_and_twice_the_same() {
    let dir = tempfile::tempdir().unwrap();
    let (a, b) = (dir.path().join("a"), dir.path().join("b"));
    for out in [&a, &b] {
        let o = run(&[
            "make",
            "params/line-3.2-silver-short.jsonc",
            "--out",
            out.to_str().unwrap(),
            "--only",
            "stl,step,walls",
        ]);
        assert_eq!(code(&o), 0, "{}", String::from_utf8_lossy(&o.stderr));
        let said = String::from_utf8(o.stdout).unwrap();
        assert!(said.contains("not for casting") && said.contains("0.483"), "{said}");
        assert!(!said.contains('\u{1b}'), "colour in a pipe");
    }
    let files = names(&a);
    assert_eq!(
        files,
        [
            "clasp.frame.finished.stl",
            "clasp.frame.step",
            "link.finished.stl",
            "link.step",
            "link.trial.stl",
            "link.walls.png",
            "report.json"
        ]
    );
    for f in files {
        assert!(std::fs::read(a.join(&f)).unwrap() == std::fs::read(b.join(&f)).unwrap(), "{f} differs");
    }
}

#[test]
fn a_broken_rule_keeps_the_parts_back_unless_told_otherwise() {
    let dir = tempfile::tempdir().unwrap();
    let file = low_web(dir.path());
    let out = dir.path().join("out");
    let o = run(&["make", &file, "--out", out.to_str().unwrap(), "--only", "step"]);
    assert_eq!(code(&o), 1);
    let said = String::from_utf8_lossy(&o.stdout).into_owned();
    assert!(said.contains("FAIL") && said.contains("set joint.web_height to 0.50 mm"), "{said}");
    assert!(names(&out).is_empty());
    let o = run(&["make", &file, "--out", out.to_str().unwrap(), "--only", "step", "--anyway"]);
    assert_eq!(code(&o), 1);
    assert_eq!(names(&out), ["clasp.frame.step", "link.step", "report.json"]);
    let report: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("report.json")).unwrap()).unwrap();
    assert_eq!((report["anyway"].as_bool(), report["verdict"].as_str()), (Some(true), Some("fail")));
    assert_eq!(code(&run(&["check", &file])), 1);
}

#[test]
fn a_wrong_file_is_told_in_words_and_in_json_and_leaves_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("out");
    let o = run(&["make", "params/bad/unknown-key.jsonc", "--out", out.to_str().unwrap()]);
    assert_eq!(code(&o), 2);
    assert!(String::from_utf8_lossy(&o.stderr).contains("collet.height"));
    assert!(!out.exists());
    let o = run(&["check", "params/bad/unknown-key.jsonc", "--format", "json"]);
    assert_eq!(code(&o), 2);
    let v: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(v["problems"].as_array().unwrap().len(), 2);
    assert_eq!(v["problems"][0]["line"], 2);
}

#[test]
fn files_that_cannot_be_read_or_written_are_exit_3() {
    let dir = tempfile::tempdir().unwrap();
    assert_eq!(code(&run(&["check", "params/none.jsonc"])), 3);
    assert_eq!(code(&run(&["check", "params"])), 3);
    let in_the_way = dir.path().join("file");
    std::fs::write(&in_the_way, "x").unwrap();
    let o = run(&[
        "make",
        "params/line-2.5-yellow.jsonc",
        "--only",
        "step",
        "--out",
        in_the_way.to_str().unwrap(),
    ]);
    assert_eq!(code(&o), 3);
    assert_eq!(std::fs::read(&in_the_way).unwrap(), b"x");
}

#[test]
fn new_writes_a_file_that_checks_and_never_overwrites() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("my-line.jsonc");
    let file = file.to_str().unwrap();
    assert_eq!(code(&run(&["new", file])), 0);
    assert_eq!(code(&run(&["check", file, "-q"])), 0);
    let o = run(&["new", file]);
    assert_eq!(code(&o), 3);
    assert!(String::from_utf8_lossy(&o.stderr).contains("already there"));
}

#[test]
fn a_tolerance_out_of_range_is_refused_with_the_range() {
    let o = run(&["check", "params/line-2.5-yellow.jsonc", "--tolerance", "0"]);
    assert_eq!(code(&o), 2);
    assert!(String::from_utf8_lossy(&o.stderr).contains("0.0002 to 0.1"));
}

/// A plate 4 x 3 with a square pocket from below that leaves 0.35 mm over it, as text STL.
fn pocketed_plate(top: f64) -> String {
    let mut text = String::from("solid plate\n");
    let mut quad = |a: [f64; 3], b: [f64; 3], c: [f64; 3], d: [f64; 3]| {
        for t in [[a, b, c], [a, c, d]] {
            text += "facet normal 0 0 0\nouter loop\n";
            for v in t {
                text += &format!("vertex {} {} {}\n", v[0], v[1], v[2]);
            }
            text += "endloop\nendfacet\n";
        }
    };
    let o = [[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]];
    let i = [[1.0, 1.0], [3.0, 1.0], [3.0, 2.0], [1.0, 2.0]];
    let at = |p: [f64; 2], z: f64| [p[0], p[1], z];
    quad(at(o[0], top), at(o[1], top), at(o[2], top), at(o[3], top));
    quad(at(i[0], 0.65), at(i[3], 0.65), at(i[2], 0.65), at(i[1], 0.65));
    for k in 0..4 {
        let n = (k + 1) % 4;
        quad(at(o[k], 0.0), at(o[n], 0.0), at(o[n], top), at(o[k], top));
        quad(at(i[k], 0.0), at(i[k], 0.65), at(i[n], 0.65), at(i[n], 0.0));
        quad(at(o[k], 0.0), at(i[k], 0.0), at(i[n], 0.0), at(o[n], 0.0));
    }
    text + "endsolid plate\n"
}

#[test]
fn a_mesh_is_measured_judged_and_refused_where_it_is_broken() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("plate.STL");
    std::fs::write(&file, pocketed_plate(1.0)).unwrap();
    let file = file.to_str().unwrap();
    let o = run(&["check", file, "--format", "json", "--min-wall", "0.3"]);
    assert_eq!(code(&o), 0, "{o:?}");
    let v: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    let thinnest = &v["walls"]["thinnest"];
    // Closed form: 1 - 0.65, in single precision.
    let [value, lower, upper] = ["value_mm", "lower_mm", "upper_mm"].map(|k| thinnest[k].as_f64().unwrap());
    assert!(
        (value - 0.35).abs() < 1e-7 && lower <= 0.35 && upper >= 0.35 - 1e-7 && upper - lower < 2e-4,
        "{v}"
    );
    assert!(thinnest["between"].as_array().unwrap().iter().all(|n| n.as_str().unwrap().starts_with("flat")));
    assert_eq!(code(&run(&["check", file, "--min-wall", "0.4"])), 1);
    let o = run(&["check", file]);
    let said = String::from_utf8_lossy(&o.stdout).into_owned();
    assert!(code(&o) == 0 && said.lines().skip(1).all(|l| l.chars().count() <= 60), "{said}");
    let holed = dir.path().join("holed.stl");
    let text = pocketed_plate(1.0).replacen("facet normal 0 0 0", "facet hole", 1);
    let hole = text.find("facet hole").unwrap();
    let end = text.find("endfacet").unwrap() + "endfacet\n".len();
    std::fs::write(&holed, format!("{}{}", &text[..hole], &text[end..])).unwrap();
    let o = run(&["check", holed.to_str().unwrap(), "--min-wall", "0.3"]);
    let said = String::from_utf8_lossy(&o.stdout).into_owned();
    assert!(code(&o) == 1 && said.contains("open") && said.contains("no inside"), "{said}");
    let not = dir.path().join("not.3mf");
    std::fs::write(&not, "no archive").unwrap();
    assert_eq!(code(&run(&["check", not.to_str().unwrap()])), 2);
    assert_eq!(code(&run(&["check", dir.path().join("none.stl").to_str().unwrap()])), 3);
    assert_eq!(code(&run(&["check", "params/line-2.5-yellow.jsonc", "--min-wall", "0.4"])), 2);
}

/// The maker's own limit judges and is named; a mesh has no rules for it to set.
#[test]
fn a_bench_file_overrules_what_judges() {
    let dir = tempfile::tempdir().unwrap();
    let bench = dir.path().join("bench.jsonc");
    std::fs::write(&bench, r#"{ "tables": { "walls": { "claw": { "finished": 0.99 } } } }"#).unwrap();
    let bench = bench.to_str().unwrap();
    let o = run(&["check", "params/line-4.0-platinum.jsonc", "--part", "link", "--bench", bench]);
    let said = String::from_utf8(o.stdout.clone()).unwrap();
    assert!(code(&o) == 1 && said.contains("0.99 mm by the bench file, 0.6 in the table"), "{said}");
    let o = run(&[
        "check",
        "params/line-4.0-platinum.jsonc",
        "--part",
        "link",
        "--bench",
        bench,
        "--format",
        "json",
    ]);
    let v: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!((&v["overruled"][0]["row"], &v["overruled"][0]["instead_of"]), (&"claw".into(), &0.6.into()));
    let o = run(&["check", "params/no.stl", "--bench", bench]);
    let said = String::from_utf8(o.stderr.clone()).unwrap();
    assert!(code(&o) == 2 && said.contains("--min-wall"), "{said}");
}
