//! The fuzzer's targets over the corpus that is kept: every input that once taught the fuzzer something, or broke something, must
//! be taken without a panic and leave the targets' assertions true. `tests/fuzz/run` looks for new ones.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::doc_markdown)]

#[path = "fuzz/targets.rs"]
mod targets;

use std::path::Path;

#[test]
fn the_corpus_is_taken() {
    for (name, target) in targets::ALL {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus").join(name);
        let mut files: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|e| e.unwrap().path()).collect();
        files.sort();
        assert!(!files.is_empty(), "{} holds nothing", folder.display());
        for file in files {
            let bytes = std::fs::read(&file).unwrap();
            let done = std::panic::catch_unwind(|| target(&bytes));
            assert!(done.is_ok(), "{} breaks {name}", file.display());
        }
    }
}
