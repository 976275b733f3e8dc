//! The fuzzer's targets over the corpus that is kept: every input that once taught the fuzzer something, or broke something, must
//! be taken without a panic and leave the targets' assertions true. `tests/fuzz/run` looks for new ones.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::doc_markdown)]

#[path = "fuzz/targets.rs"]
mod targets;

use std::path::{Path, PathBuf};

/// The files of a folder, in order.
fn files_in(folder: &Path) -> Vec<PathBuf> {
    let mut files: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).filter(|f| f.is_file()).collect();
    files.sort();
    files
}

#[test]
fn the_corpus_is_taken() {
    for (name, target) in targets::ALL {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut files = files_in(&root.join("tests/fuzz/corpus").join(name));
        assert!(!files.is_empty(), "{name} has no corpus");
        if name == "text" {
            files.extend(files_in(&root.join("params")));
            files.extend(files_in(&root.join("params/bad")));
        }
        for file in files {
            let bytes = std::fs::read(&file).unwrap();
            let done = std::panic::catch_unwind(|| target(&bytes));
            assert!(done.is_ok(), "{} breaks {name}", file.display());
        }
    }
}
