//! The command line: exit codes, what is written and what is not.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::Path;
use std::process::{Command, Output};

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_colletline"))
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap()
}

fn code(o: &Output) -> i32 {
    o.status.code().unwrap()
}

fn names(dir: &Path) -> Vec<String> {
    let mut v: Vec<String> = std::fs::read_dir(dir)
        .map(|d| d.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect())
        .unwrap_or_default();
    v.sort();
    v
}

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
    assert_eq!(files, ["link.finished.stl", "link.step", "link.trial.stl", "report.json"]);
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
    assert_eq!(names(&out), ["link.step", "report.json"]);
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

#[test]
fn a_master_of_which_nobody_says_who_allows_for_shrink_is_marked_everywhere() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("out");
    let o = run(&["masters", "params/line-2.5-yellow.jsonc", "--out", out.to_str().unwrap()]);
    assert_eq!(code(&o), 1, "{}", String::from_utf8_lossy(&o.stderr));
    let said = String::from_utf8(o.stdout).unwrap();
    assert!(said.contains("NOT COMPENSATED") && said.contains("give master.metal.compensated_by"), "{said}");
    assert!(said.lines().all(|l| l.chars().count() <= 60), "{said}");
    let files = names(&out);
    assert!(files.contains(&"link.master.not-compensated.stl".to_owned()), "{files:?}");
    let text = |f: &str| std::fs::read_to_string(out.join(f)).unwrap();
    let list: serde_json::Value = serde_json::from_str(&text("manifest.json")).unwrap();
    assert_eq!(
        (list["verdict"].as_str(), list["compensation"]["stated"].as_bool()),
        (Some("unverified"), Some(false))
    );
    assert!(text("caster.md").contains("**NOT COMPENSATED"));
    assert_eq!(list["files"].as_array().unwrap().len() + 2, files.len());
}

#[test]
fn a_fabricated_link_has_no_master() {
    let o = run(&["masters", "params/line-3.2-silver-short.jsonc"]);
    assert_eq!(code(&o), 2);
    assert!(String::from_utf8_lossy(&o.stderr).contains("fabricated"));
}
