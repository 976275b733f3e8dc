//! The built program, run from the top of the project.

use std::path::Path;
use std::process::{Command, Output};

pub fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_colletline"))
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap()
}

pub fn code(o: &Output) -> i32 {
    o.status.code().unwrap()
}

pub fn names(dir: &Path) -> Vec<String> {
    let mut v: Vec<String> = std::fs::read_dir(dir)
        .map(|d| d.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect())
        .unwrap_or_default();
    v.sort();
    v
}
