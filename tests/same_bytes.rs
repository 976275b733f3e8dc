//! Same file, same version, same target: same bytes, whatever the number of threads. What each command writes and prints with one
//! thread in the pool and with four is held against each other, byte by byte. `tests/debug_and_release` does the same with a build
//! without optimisation.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What a command leaves: every file by its name under the folder, and what it printed.
type Left = BTreeMap<PathBuf, Vec<u8>>;

fn files(folder: &Path, under: &Path, into: &mut Left) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for path in entries.map(|e| e.unwrap().path()) {
        if path.is_dir() {
            files(&path, under, into);
        } else {
            into.insert(path.strip_prefix(under).unwrap().to_owned(), std::fs::read(&path).unwrap());
        }
    }
}

/// One run in a folder of its own; files go to `out` there, so that no path differs.
fn left(args: &[&str], threads: &str) -> Left {
    let dir = tempfile::tempdir().unwrap();
    let o = Command::new(env!("CARGO_BIN_EXE_colletline"))
        .args(args)
        .current_dir(dir.path())
        .env("RAYON_NUM_THREADS", threads)
        .output()
        .unwrap();
    assert!(o.status.code().is_some_and(|c| c < 2), "{args:?}: {}", String::from_utf8_lossy(&o.stderr));
    let mut all = Left::from([("printed".into(), o.stdout), ("said".into(), o.stderr)]);
    files(dir.path(), dir.path(), &mut all);
    all
}

fn same(args: &[&str], least: usize) {
    let (one, four) = (left(args, "1"), left(args, "4"));
    let names = |l: &Left| l.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(&one), names(&four), "{args:?}");
    assert!(one.len() >= least + 2, "{args:?} left {:?}", names(&one));
    for (name, bytes) in &one {
        assert!(bytes == &four[name], "{args:?}: {} differs", name.display());
    }
}

fn params(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("params").join(name).to_str().unwrap().to_owned()
}

const ROUND: &str = "line-2.5-yellow.jsonc";
const BLOCK: &str = "line-3.5-rose-block.jsonc";

#[test]
fn make_leaves_the_same_bytes() {
    same(&["make", &params(ROUND), "--out", "out"], 8);
}

#[test]
fn the_clasp_leaves_the_same_bytes() {
    same(&["make", &params(BLOCK), "--out", "out", "--part", "plate,leaf,pins", "--only", "stl,step"], 7);
}

#[test]
fn masters_and_plates_leave_the_same_bytes() {
    same(&["masters", &params(ROUND), "--out", "out"], 6);
    same(&["jigs", &params(ROUND), "--jig", "key,wire", "--out", "out"], 8);
    same(&["plate", &params(BLOCK), "--size", "60x40", "--tag", "A-17", "--out", "out"], 2);
}

#[test]
fn what_is_printed_is_the_same() {
    same(&["plan", &params(BLOCK), "--estimate", "--format", "json"], 0);
    same(&["compare", &params(ROUND), "--vary", "collet.wall=0.40..0.42:0.02", "--format", "json"], 0);
}

/// The same over the other of the two files, and what takes minutes; `tests/long/same_bytes`.
#[test]
#[ignore = "minutes"]
fn more_commands_over_both_files() {
    same(&["make", &params(BLOCK), "--out", "out"], 8);
    same(&["make", &params(ROUND), "--out", "out", "--part", "clasp"], 24);
    same(&["masters", &params(BLOCK), "--out", "out"], 6);
    same(&["plate", &params(ROUND), "--size", "120x68", "--out", "out"], 1);
    same(&["plan", &params(ROUND), "--format", "json"], 0);
    same(&["check", &params(BLOCK), "--format", "json"], 0);
    same(&["motion", &params(ROUND), "--format", "json"], 0);
    same(&["mend", &params(ROUND), "--format", "json"], 0);
}
