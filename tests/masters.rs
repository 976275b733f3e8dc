//! Masters as the command writes them: names, verdicts, exit codes.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::command;

use command::{code, names, run};

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
fn a_fabricated_part_has_no_master() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("out");
    let o = run(&["masters", "params/line-3.2-silver-short.jsonc", "--out", out.to_str().unwrap()]);
    assert_eq!(code(&o), 1, "{}", String::from_utf8_lossy(&o.stderr));
    let files = names(&out);
    assert!(files.iter().any(|f| f.starts_with("clasp.frame.master")), "{files:?}");
    assert!(files.iter().all(|f| !f.starts_with("link")), "{files:?}");
    let none = dir.path().join("none.jsonc");
    let text = std::fs::read_to_string("params/line-3.2-silver-short.jsonc").unwrap();
    let built =
        text.replace("\"link\": {", "\"clasp\": { \"frame\": { \"route\": \"fabricated\" } }, \"link\": {");
    assert_ne!(built, text);
    std::fs::write(&none, built).unwrap();
    let o = run(&["masters", none.to_str().unwrap()]);
    assert_eq!(code(&o), 2);
    assert!(String::from_utf8_lossy(&o.stderr).contains("is cast"));
}

#[test]
fn plates_hold_every_link_once_and_a_small_plate_is_told() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("out");
    let file = "params/line-4.0-platinum.jsonc";
    let o = run(&["plate", file, "--size", "40x30", "--tag", "A-17", "--out", out.to_str().unwrap()]);
    assert_eq!(code(&o), 0, "{}", String::from_utf8_lossy(&o.stderr));
    let text = std::fs::read_to_string(out.join("plates.json")).unwrap();
    let laid: serde_json::Value = serde_json::from_str(&text).unwrap();
    let plates = laid["plates"].as_array().unwrap();
    assert_eq!(plates.iter().map(|p| p["parts"][0]["count"].as_u64().unwrap()).sum::<u64>(), 37);
    assert_eq!(plates.iter().map(|p| p["parts"][1]["count"].as_u64().unwrap()).sum::<u64>(), 1);
    assert_eq!(names(&out).len(), 2 * plates.len() + 1);
    let o = run(&["plate", file, "--size", "5x5"]);
    assert_eq!(code(&o), 2);
    assert!(String::from_utf8_lossy(&o.stderr).contains("too small for link"));
}

#[test]
fn the_gauge_is_written_and_its_readings_become_values_for_the_file() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("gauge");
    let o = run(&["coupon", "--out", out.to_str().unwrap()]);
    assert_eq!(code(&o), 0, "{}", String::from_utf8_lossy(&o.stderr));
    assert_eq!(names(&out).len(), 8);
    let blank = std::fs::read_to_string(out.join("readings.csv")).unwrap();
    let file = dir.path().join("readings.csv");
    // Along x the print is 1 % small; y is true; upwards 0.5 % small; holes 0.06 small.
    let (mut filled, mut n) = (String::new(), 0);
    for line in blank.lines() {
        let size = line.split(',').nth(1).and_then(|s| s.parse::<f64>().ok());
        filled += line;
        if let Some(size) = size {
            n += 1;
            let noise = [0.004, -0.003, 0.001, -0.002][n % 4];
            let k = [("x", 0.99), ("y", 1.0), ("z", 0.995), ("hole", 1.0)];
            let (what, k) = k.into_iter().find(|k| line.starts_with(k.0)).unwrap();
            let c = if what == "hole" { -0.06 } else { 0.0 };
            filled += &format!("{:.4}", k * size + c + noise);
        }
        filled.push('\n');
    }
    std::fs::write(&file, filled).unwrap();
    let o = run(&["calibrate", file.to_str().unwrap(), "--format", "json"]);
    assert_eq!(code(&o), 0, "{}", String::from_utf8_lossy(&o.stderr));
    let v: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    let p = &v["parameters"]["master"]["pattern"];
    let value = |k: &str| p[k].as_f64().unwrap();
    assert!((value("shrink_x") - 1.0).abs() < 0.05 && value("shrink_y").abs() < 1e-12, "{p}");
    assert!((value("shrink_z") - 0.5).abs() < 0.05 && (value("hole_closes") - 0.03).abs() < 0.005, "{p}");
    // The blank file itself is told line by line.
    let o = run(&["calibrate", out.join("readings.csv").to_str().unwrap()]);
    assert_eq!(code(&o), 2);
    assert!(String::from_utf8_lossy(&o.stderr).contains("no size has a reading yet"));
}

#[test]
fn jigs_are_those_that_serve_the_design_and_keep_their_walls() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("out");
    let to = out.to_str().unwrap();
    let hinged = "params/line-3.0-silver-cushion.jsonc";
    // A hinge tube has no wire to form: nothing is written, the reason is told.
    let o = run(&["jigs", hinged, "--jig", "wire", "--out", to]);
    assert_eq!(code(&o), 2);
    assert!(String::from_utf8_lossy(&o.stderr).contains("there is no wire to form"));
    assert!(!out.exists());
    let o = run(&["jigs", hinged, "--jig", "key,wire", "--out", to]);
    assert_eq!(code(&o), 0, "{}", String::from_utf8_lossy(&o.stderr));
    let said = String::from_utf8(o.stdout).unwrap();
    assert!(said.lines().all(|l| l.chars().count() <= 60 || l.starts_with("written to")), "{said}");
    assert_eq!(names(&out), ["jig.key.png", "jig.key.step", "jig.key.stl", "jigs.json", "jigs.md"]);
    let thin = dir.path().join("thin.jsonc");
    let text = std::fs::read_to_string(hinged).unwrap();
    let end = text.rfind('}').unwrap();
    let jig = ",\n\"jig\": { \"wall\": 0.9, \"guide_length\": 1.2 }\n}";
    std::fs::write(&thin, text[..end].trim_end().trim_end_matches(',').to_owned() + jig).unwrap();
    let o = run(&["jigs", thin.to_str().unwrap(), "--jig", "openings", "--out", to, "--quiet"]);
    assert_eq!(code(&o), 1, "{}", String::from_utf8_lossy(&o.stderr));
    let said = String::from_utf8(o.stdout).unwrap();
    assert!(
        said.contains("wall of the jig: 0.900, at least 1.20 mm") && said.contains("change jig.wall"),
        "{said}"
    );
}
