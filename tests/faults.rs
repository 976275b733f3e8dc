//! What the world does to a run: killed, interrupted, no room, no rights, odd files and odd names. Each must end with words and an
//! exit code, and leave old outputs whole.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_colletline");

fn example() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("params/line-2.5-yellow.jsonc")
}

fn text() -> String {
    std::fs::read_to_string(example()).unwrap()
}

fn make(file: &Path, out: &Path) -> Command {
    let mut c = Command::new(PROGRAM);
    c.args(["make", "--part", "link", "--only", "stl,step", "--out"]).arg(out).arg(file).stdin(Stdio::null());
    c
}

fn ended(o: &Output, code: i32, words: &str) {
    let said = String::from_utf8_lossy(&o.stderr).into_owned() + &String::from_utf8_lossy(&o.stdout);
    assert_eq!(o.status.code(), Some(code), "{said}");
    assert!(said.contains(words), "no '{words}' in: {said}");
    assert!(!said.contains("panicked"), "{said}");
}

/// Every file of a folder with its bytes.
fn all(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries =
        std::fs::read_dir(dir).map(|d| d.map(Result::unwrap).collect::<Vec<_>>()).unwrap_or_default();
    let named = |e: std::fs::DirEntry| {
        (e.file_name().to_string_lossy().into_owned(), std::fs::read(e.path()).unwrap_or_default())
    };
    entries.into_iter().map(named).collect()
}

fn check_bytes(bytes: &[u8]) -> Output {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("line.jsonc");
    std::fs::write(&file, bytes).unwrap();
    Command::new(PROGRAM).arg("check").arg(&file).output().unwrap()
}

/// Ends a run after each of some delays and looks at what it left. `leftovers`: whether hidden unfinished files may stay.
fn ended_at_any_moment(signal: &str, leftovers: bool) {
    let dir = tempfile::tempdir().unwrap();
    let (fresh, out) = (dir.path().join("fresh"), dir.path().join("out"));
    let start = Instant::now();
    assert!(make(&example(), &fresh).stdout(Stdio::null()).status().unwrap().success());
    let whole = start.elapsed();
    let new = all(&fresh);
    std::fs::create_dir(&out).unwrap();
    let old: BTreeMap<String, Vec<u8>> = new.keys().map(|k| (k.clone(), b"old".to_vec())).collect();
    let mut stopped = 0;
    // Evenly over the whole run, and a little past its usual end.
    for k in 0..16u32 {
        for (name, bytes) in &old {
            std::fs::write(out.join(name), bytes).unwrap();
        }
        let mut child = make(&example(), &out).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(whole * k / 14 + Duration::from_micros(300));
        let sent =
            Command::new("kill").args([signal, &child.id().to_string()]).stderr(Stdio::null()).status();
        let asked = Instant::now();
        let status = child.wait().unwrap();
        assert!(asked.elapsed() < Duration::from_secs(2), "still running after {signal}");
        stopped += usize::from(sent.unwrap().success() && !status.success());
        for (name, bytes) in all(&out) {
            if name.starts_with(".colletline-") {
                assert!(leftovers, "{name} left behind by {signal}");
                std::fs::remove_file(out.join(&name)).unwrap();
                continue;
            }
            assert!(bytes == old[&name] || bytes == new[&name], "{name} is half written");
        }
    }
    assert!(stopped > 3, "only {stopped} runs were stopped before they were done");
}

#[test]
fn killed_at_any_moment_every_file_is_old_or_new() {
    ended_at_any_moment("-KILL", true);
}

#[test]
fn interrupted_at_any_moment_nothing_is_left_behind() {
    ended_at_any_moment("-INT", false);
    ended_at_any_moment("-TERM", false);
}

#[test]
fn no_room_and_no_such_place_are_told() {
    let dir = tempfile::tempdir().unwrap();
    let out = Path::new("/proc/no-such-place");
    if Path::new("/proc").is_dir() {
        ended(&make(&example(), out).output().unwrap(), 3, "cannot be written");
    }
    let way = dir.path().join("file");
    std::fs::write(&way, "x").unwrap();
    ended(&make(&example(), &way.join("below")).output().unwrap(), 3, "cannot be written");
    // A limit on the size of files stands for a full disk: the write comes back short.
    let out = dir.path().join("out");
    std::fs::create_dir(&out).unwrap();
    std::fs::write(out.join("link.step"), "old").unwrap();
    let o = Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 8; exec \"$0\" make --only step --out \"$1\" \"$2\"", PROGRAM])
        .arg(&out)
        .arg(example())
        .output()
        .unwrap();
    ended(&o, 3, "Nothing was changed");
    assert_eq!(all(&out), BTreeMap::from([("link.step".to_owned(), b"old".to_vec())]));
}

#[test]
fn a_read_only_folder_is_told() {
    use std::os::unix::fs::PermissionsExt as _;
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("out");
    std::fs::create_dir(&out).unwrap();
    std::fs::set_permissions(&out, std::fs::Permissions::from_mode(0o555)).unwrap();
    // The superuser may write everywhere; then there is nothing to be told.
    let barred = std::fs::write(out.join("probe"), "").is_err();
    let o = make(&example(), &out).output().unwrap();
    std::fs::set_permissions(&out, std::fs::Permissions::from_mode(0o755)).unwrap();
    if barred {
        ended(&o, 3, "cannot be written");
        assert!(all(&out).is_empty());
    } else {
        assert!(o.status.success());
    }
}

#[test]
fn a_link_out_of_the_folder_is_replaced_not_followed() {
    let dir = tempfile::tempdir().unwrap();
    let (out, elsewhere) = (dir.path().join("out"), dir.path().join("elsewhere"));
    std::fs::create_dir(&out).unwrap();
    std::fs::write(&elsewhere, "keep").unwrap();
    std::os::unix::fs::symlink(&elsewhere, out.join("link.step")).unwrap();
    assert!(make(&example(), &out).stdout(Stdio::null()).status().unwrap().success());
    assert_eq!(std::fs::read(&elsewhere).unwrap(), b"keep");
    assert!(!out.join("link.step").symlink_metadata().unwrap().is_symlink());
}

#[test]
fn encodings_line_ends_and_decimal_commas() {
    let text = text();
    assert_eq!(check_bytes(format!("\u{feff}{text}").as_bytes()).status.code(), Some(0));
    assert_eq!(check_bytes(text.replace('\n', "\r\n").as_bytes()).status.code(), Some(0));
    let utf16: Vec<u8> =
        std::iter::once(0xfeff).chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    ended(&check_bytes(&utf16), 2, "UTF-8");
    ended(&check_bytes(&[text.as_bytes(), &[0xe9]].concat()), 2, "UTF-8");
    ended(&check_bytes(text.replacen("\"diameter\": 2.5", "\"diameter\": 2,5", 1).as_bytes()), 2, "2.5");
    ended(&check_bytes(b""), 2, "");
    ended(&check_bytes(b"\0\0\0"), 2, "");
}

#[test]
fn large_and_deep_files_are_refused_at_once() {
    let start = Instant::now();
    ended(&check_bytes("[".repeat(900_000).as_bytes()), 2, "");
    ended(&check_bytes(format!("{}{}", "{\"a\":".repeat(150_000), "}".repeat(150_000)).as_bytes()), 2, "");
    // A gigabyte without a byte on the disk: only its beginning is read.
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("line.jsonc");
    std::fs::File::create(&file).unwrap().set_len(1 << 30).unwrap();
    ended(&Command::new(PROGRAM).arg("check").arg(&file).output().unwrap(), 2, "1000000 bytes");
    assert!(start.elapsed() < Duration::from_secs(20), "{:?}", start.elapsed());
}

#[test]
fn a_file_that_changes_while_it_is_read_is_read_or_refused() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("line.jsonc");
    let text = text();
    std::fs::write(&file, &text).unwrap();
    let done = std::sync::atomic::AtomicBool::new(false);
    std::thread::scope(|s| {
        s.spawn(|| {
            let mut long = true;
            while !done.load(std::sync::atomic::Ordering::Relaxed) {
                std::fs::write(&file, if long { &text[..text.len() / 2] } else { &text }).unwrap();
                long = !long;
            }
        });
        for _ in 0..6 {
            let o = Command::new(PROGRAM).args(["check", "-q"]).arg(&file).output().unwrap();
            assert!(matches!(o.status.code(), Some(0 | 2)), "{o:?}");
        }
        done.store(true, std::sync::atomic::Ordering::Relaxed);
    });
}

#[test]
fn names_with_separators_and_markup_stay_names() {
    let dir = tempfile::tempdir().unwrap();
    for name in ["../../etc/x", "<script>alert(1)</script>", "a\\u0000b", "\\u001b[31mred"] {
        let named = text().replacen("{\n", &format!("{{\n \"design\": {{ \"name\": \"{name}\" }},\n"), 1);
        let named = if text().contains("\"design\"") {
            let line = text();
            let at = line.lines().find(|l| l.contains("\"design\"")).unwrap().to_owned();
            line.replacen(&at, &format!("  \"design\": {{ \"name\": \"{name}\" }},"), 1)
        } else {
            named
        };
        let file = dir.path().join("line.jsonc");
        std::fs::write(&file, named).unwrap();
        let out = dir.path().join("out");
        let o = make(&file, &out).output().unwrap();
        let said = String::from_utf8_lossy(&o.stdout).into_owned() + &String::from_utf8_lossy(&o.stderr);
        // The name goes into titles, never into a path.
        assert!(matches!(o.status.code(), Some(0 | 2)), "{name}: {said}");
        assert!(!said.contains('\u{1b}') && !said.contains('\0'), "{name}: {said:?}");
        assert!(all(&out).keys().all(|k| k.starts_with("link.") || k == "report.json"));
    }
    // A file named oddly gives a folder of that name and nothing else.
    let odd = dir.path().join("-q <b>.jsonc");
    std::fs::write(&odd, text()).unwrap();
    let o = Command::new(PROGRAM)
        .args(["make", "--only", "step"])
        .arg(&odd)
        .current_dir(dir.path())
        .output()
        .unwrap();
    assert!(o.status.success(), "{o:?}");
    assert!(dir.path().join("out/-q <b>/link.step").is_file());
}
