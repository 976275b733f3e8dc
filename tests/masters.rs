//! Masters as the command writes them: names, verdicts, exit codes.

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

#[test]
fn a_master_of_which_nobody_says_who_allows_for_shrink_is_marked_everywhere() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("out");
    let o = run(&["masters", "params/line-2.5-yellow.jsonc", "--out", out.to_str().unwrap()]);
    assert_eq!(code(&o), 1, "{}", String::from_utf8_lossy(&o.stderr));
    let said = String::from_utf8(o.stdout).unwrap();
    assert!(said.contains("NOT COMPENSATED") && said.contains("give master.metal.compensated_by"), "{said}");
    assert!(said.lines().all(|l| l.chars().count() <= 60 || l.starts_with("written to")), "{said}");
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
