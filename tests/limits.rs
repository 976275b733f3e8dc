//! Every limit of docs/limits.md: taken at the limit, refused past it, with its number, and soon.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use colletline::intake::{self, IntakeError};
use colletline::masters::calibrate;
use colletline::papers::mesh_report::{MOST_WALLS, check_mesh};
use colletline::params;
use colletline::plan::{bench, compare::Vary, measured};
use colletline::walls::Judgement;
use std::io::Write as _;
use std::path::Path;
use std::process::Command;

const SMALLEST: &str =
    r#"{ "metal": { "alloy": "silver925" }, "stone": { "diameter": 3.0 }, "wearer": { "wrist": 165 } }"#;

fn codes(text: &str) -> Vec<String> {
    params::read(text).map_or_else(|p| p.into_iter().map(|p| p.code).collect(), |_| Vec::new())
}

/// Exit code and all that was said, within so much memory (kB).
fn said(args: &[&str], memory: u64) -> (Option<i32>, String) {
    let o = Command::new("sh")
        .args(["-c", &format!("ulimit -v {memory}; exec \"$0\" \"$@\""), env!("CARGO_BIN_EXE_colletline")])
        .args(args)
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&o.stdout).into_owned() + &String::from_utf8_lossy(&o.stderr);
    assert!(!text.contains("panicked"), "{text}");
    (o.status.code(), text)
}

fn refused(args: &[&str], words: &str) {
    let (code, text) = said(args, 4_000_000);
    assert!(code == Some(2) && text.contains(words), "{args:?}: {code:?} {text}");
}

fn example() -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("params/line-2.5-yellow.jsonc").to_str().unwrap().to_owned()
}

#[test]
fn files_as_long_as_may_be_and_longer() {
    let padded = |n: usize| SMALLEST.to_owned() + &" ".repeat(n - SMALLEST.len());
    assert_eq!(codes(&padded(1_000_000)), [""; 0]);
    assert_eq!(codes(&padded(1_000_001)), ["text.too_large"]);
    assert!(bench::read(&("{}".to_owned() + &" ".repeat(999_998))).is_ok());
    assert!(bench::read(&("{}".to_owned() + &" ".repeat(999_999))).is_err());
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("long.csv");
    let name = file.to_str().unwrap();
    std::fs::write(&file, "#".repeat(200_001)).unwrap();
    refused(&["calibrate", name], "200000");
    std::fs::write(&file, "link\n".to_owned() + &"\n".repeat(1_000_000)).unwrap();
    refused(&["plan", &example(), "--measured", name], "1000000");
}

#[test]
fn nested_as_deep_as_may_be_and_deeper() {
    // Within the limit the nesting itself is no problem, only the key that has no place.
    let nested = |n: usize| format!("{{\"a\":{}{}}}", "[".repeat(n), "]".repeat(n));
    assert!(!codes(&nested(500)).contains(&"text.syntax".to_owned()), "{:?}", codes(&nested(500)));
    assert_eq!(codes(&nested(520)), ["text.syntax"]);
    assert!(bench::read(&nested(100_000)).is_err());
}

#[test]
fn no_list_of_problems_is_without_end() {
    let keys = |n: usize| (0..n).map(|i| format!("\"k{i}\":1,")).collect::<String>();
    assert_eq!(codes(&format!("{{{}}}", keys(60_000))).len(), 100);
    assert_eq!(bench::read(&format!("{{{}}}", keys(60_000))).unwrap_err().len(), 100);
    assert_eq!(calibrate::read(&"x,1\n".repeat(40_000)).unwrap_err().len(), 100);
    assert_eq!(measured::read(&("link\n".to_owned() + &"x\n".repeat(1500))).unwrap_err().len(), 100);
}

#[test]
fn lists_and_counts() {
    let drills = |n: usize| format!("{{ \"drills\": [{}] }}", "1.0,".repeat(n));
    assert_eq!(bench::read(&drills(200)).unwrap().drills.len(), 200);
    assert!(bench::read(&drills(201)).unwrap_err()[0].message.contains("at most 200"));
    let rows = |n: usize| "stone\n".to_owned() + &"2.50\n".repeat(n);
    assert!(measured::read(&rows(2000)).is_ok());
    assert!(measured::read(&rows(2001)).unwrap_err()[0].contains("more than 2000"));
    let stones = |n: u32| SMALLEST.replacen('{', &format!("{{ \"line\": {{ \"count\": {n} }},"), 1);
    assert_eq!(codes(&stones(161)), ["value.range"]);
    assert_ne!(codes(&stones(160)), ["value.range"]);
    assert_eq!(Vary::read("collet.wall=0..399:1").unwrap().values.len(), 400);
    assert!(Vary::read("collet.wall=0..400:1").unwrap_err().contains("400"));
    assert!(Vary::read("collet.wall=0..1e300:1e-300").is_err());
    assert!(Vary::read(&format!("collet.wall={}", vec!["1"; 401].join(","))).is_err());
}

#[test]
fn words_typed_past_their_limits() {
    let file = example();
    let wall = "collet.wall=0.40..0.60:0.01";
    refused(&["compare", &file, "--vary", wall, "--vary", "line.gap=0.1..0.3:0.01"], "441");
    refused(
        &["compare", &file, "--vary", wall, "--vary", "line.gap=0.1", "--vary", "seat.rim_land=0.2"],
        "two",
    );
    for bad in ["0.0001", "0.11", "0", "-1", "nan", "inf", "1e999"] {
        refused(&["check", &file, &format!("--tolerance={bad}")], "--tolerance");
    }
    for bad in ["0", "1001", "-1", "1e3"] {
        refused(&["plate", &file, "--size", "60x40", &format!("--count={bad}")], "--count");
    }
    for bad in ["1e9x1e9", "nanx5", "4x4", "60"] {
        refused(&["plate", &file, "--size", bad], "--size");
    }
    // One link a plate: 300 plates are not meant.
    refused(&["plate", &file, "--size", "5x5", "--count", "300"], "plate");
    let square = example().replace("line-2.5-yellow", "line-4.0-platinum-square");
    refused(
        &["plate", &square, "--size", "1000x1000", "--count", "1000", "--tolerance", "0.0002"],
        "8000000",
    );
}

/// A binary STL of closed, sound blocks of 12 triangles, side by side.
fn blocks(n: u32) -> Vec<u8> {
    let at = |k: usize, i: u32| {
        let x = f64::from(i % 1000) * 2.0 + if k & 4 > 0 { 1.0 } else { 0.0 };
        let y = f64::from(i / 1000) * 2.0 + if k & 2 > 0 { 1.0 } else { 0.0 };
        [x as f32, y as f32, (k & 1) as f32]
    };
    const SIDES: [[usize; 3]; 12] = [
        [0, 1, 3],
        [0, 3, 2],
        [4, 6, 7],
        [4, 7, 5],
        [0, 4, 5],
        [0, 5, 1],
        [2, 3, 7],
        [2, 7, 6],
        [0, 2, 6],
        [0, 6, 4],
        [1, 5, 7],
        [1, 7, 3],
    ];
    let mut out = vec![0_u8; 80];
    out.extend((12 * n).to_le_bytes());
    for i in 0..n {
        for t in SIDES {
            out.extend([0; 12]);
            t.iter().flat_map(|&k| at(k, i)).for_each(|x: f32| out.extend(x.to_le_bytes()));
            out.extend([0; 2]);
        }
    }
    out
}

#[test]
fn large_meshes_are_refused_with_their_number_and_in_bounded_memory() {
    // 8 million triangles and one more.
    let mut many = vec![0_u8; 84 + 50 * 8_000_001];
    many[80..84].copy_from_slice(&8_000_001_u32.to_le_bytes());
    assert_eq!(intake::read(&many), Err(IntakeError::TooMany(8_000_001)));
    drop(many);
    let dir = tempfile::tempdir().unwrap();
    // A file without a byte on the disk.
    let long = dir.path().join("long.stl");
    std::fs::File::create(&long).unwrap().set_len(1_000_000_001).unwrap();
    let (code, text) = said(&["check", long.to_str().unwrap()], 500_000);
    assert!(code == Some(2) && text.contains("1000000000"), "{text}");
    // A megabyte that unpacks to more than a gigabyte.
    let bomb = dir.path().join("bomb.3mf");
    let mut z = zip::ZipWriter::new(std::fs::File::create(&bomb).unwrap());
    let o = zip::write::SimpleFileOptions::default().compression_level(Some(1));
    z.start_file("_rels/.rels", o).unwrap();
    let spaces = vec![b' '; 1_000_000];
    for _ in 0..1001 {
        z.write_all(&spaces).unwrap();
    }
    z.finish().unwrap();
    let (code, text) = said(&["check", bomb.to_str().unwrap()], 4_000_000);
    assert!(code == Some(2) && text.contains("1000000000"), "{text}");
}

/// A torus of n by n quarters, two triangles each: one closed surface.
fn torus(n: u32) -> Vec<u8> {
    let at = |i: u32, j: u32| {
        let turn = |k: u32| f64::from(k % n) / f64::from(n) * std::f64::consts::TAU;
        let (u, v) = (turn(i), turn(j));
        let r = 3.0 + libm::cos(v);
        [(r * libm::cos(u)) as f32, (r * libm::sin(u)) as f32, libm::sin(v) as f32]
    };
    let mut out = vec![0_u8; 80];
    out.extend((2 * n * n).to_le_bytes());
    for i in 0..n {
        for j in 0..n {
            let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
            for t in [[a, b, c], [a, c, d]] {
                out.extend([0; 12]);
                t.iter().flatten().for_each(|x| out.extend(x.to_le_bytes()));
                out.extend([0; 2]);
            }
        }
    }
    out
}

#[test]
#[ignore = "a minute and four gigabytes; tests/long/run runs it"]
fn the_largest_mesh_is_taken_within_its_memory() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("torus.stl");
    std::fs::write(&file, torus(2000)).unwrap();
    let (code, text) =
        said(&["check", file.to_str().unwrap(), "--min-wall", "0.4", "--format", "json"], 4_000_000);
    let report: serde_json::Value = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}: {text}"));
    // Walls of so many triangles are not measured, so the whole is not decided.
    assert_eq!((code, report["mesh"]["triangles"].as_u64()), (Some(1), Some(8_000_000)), "{text}");
    // Pappus: 2 pi^2 R r^2; the chords of 2000 steps lie within 1e-5 of it.
    let volume = report["mesh"]["volume_mm3"].as_f64().unwrap();
    let truth = 2.0 * std::f64::consts::PI * std::f64::consts::PI * 3.0;
    assert!((volume - truth).abs() < 1e-5 * truth, "{volume} {truth}");
}

#[test]
#[ignore = "half a minute; tests/long/run runs it"]
fn a_3mf_of_too_many_vertices_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("many.3mf");
    let mut z = zip::ZipWriter::new(std::fs::File::create(&file).unwrap());
    let o = zip::write::SimpleFileOptions::default().compression_level(Some(1));
    z.start_file("_rels/.rels", o).unwrap();
    z.write_all(br#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/a.model"/></Relationships>"#).unwrap();
    z.start_file("3D/a.model", o).unwrap();
    z.write_all(br#"<model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="1" type="model"><mesh><vertices>"#).unwrap();
    let thousand = r#"<vertex x="0" y="0" z="0"/>"#.repeat(1000);
    for _ in 0..24_001 {
        z.write_all(thousand.as_bytes()).unwrap();
    }
    z.finish().unwrap();
    let (code, text) = said(&["check", file.to_str().unwrap()], 4_000_000);
    assert!(code == Some(2) && text.contains("24000000 vertices"), "{text}");
}

#[test]
fn walls_of_very_large_meshes_are_told_as_not_measured() {
    let n = u32::try_from(MOST_WALLS / 12 + 1).unwrap();
    // More bodies than are told apart, and more triangles than walls are measured on: neither may take long.
    let report = check_mesh(&intake::read(&blocks(n)).unwrap(), None, 5);
    assert!(report.faults.iter().any(|f| f.code == "shells"), "{:?}", report.faults);
    assert_ne!(report.walls.verdict, Judgement::Pass);
}

#[test]
fn a_tangle_is_given_up_soon() {
    // 20,000 slivers, all through one point but none flat on another: every pair meets.
    let n = 20_000_u32;
    let mut soup = vec![0_u8; 80];
    soup.extend((4 * n).to_le_bytes());
    for i in 0..n {
        let a = f64::from(i) / f64::from(n) * 3.0;
        let (c, s) = (libm::cos(a), libm::sin(a));
        let p = |x: f64, y: f64, z: f64| [x as f32, y as f32, z as f32];
        let corners = [p(c, s, 0.0), p(-c, -s, 0.001), p(-c, -s, -0.001), p(-c * 0.9, -s * 0.9, 0.0005)];
        for t in [[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]] {
            soup.extend([0; 12]);
            t.iter().flat_map(|&k: &usize| corners[k]).for_each(|x| soup.extend(x.to_le_bytes()));
            soup.extend([0; 2]);
        }
    }
    let report = check_mesh(&intake::read(&soup).unwrap(), None, 5);
    let crossing = report.faults.iter().find(|f| f.code == "crossing").unwrap();
    assert_eq!((crossing.count, report.verdict), (10_000, Judgement::Fail));
}

#[test]
fn the_page_of_limits_says_what_the_program_says() {
    let page = include_str!("../docs/limits.md").replace(' ', "");
    for number in [
        params::LARGEST_FILE,
        bench::LARGEST_BENCH,
        intake::MOST,
        MOST_WALLS,
        colletline::plan::compare::MOST,
    ] {
        assert!(page.contains(&number.to_string()), "{number}");
    }
}
