//! What is fed with bytes: each target reads them as one kind of input, takes it as far as a run would, and asserts what must
//! hold of the result whatever the bytes. The fuzzer calls these, and so does `tests/corpus.rs` with the kept corpus.
//!
//! A target that needs values and not text takes them from the bytes itself, three at a time, so that the corpus can be
//! replayed without the fuzzer's libraries.

use colletline::masters::calibrate;
use colletline::mesh::{self, witness};
use colletline::papers::mesh_report::check_mesh;
use colletline::params::edit;
use colletline::parts::clasp::{self, ClaspPart};
use colletline::parts::link::{self, LinkShape};
use colletline::plan::{arrange, bench, compare::Vary, form, measured, sheet};
use colletline::units::{Mm, Tolerance};
use colletline::{intake, life, params};
use serde_json::{Map, Value, json};
use std::io::Write as _;
use std::sync::Arc;
use std::sync::LazyLock;

/// A target and the name of its folder in the corpus.
pub type Target = (&'static str, fn(&[u8]));

/// Every target.
pub const ALL: [Target; 13] = [
    ("text", text),
    ("quantity", quantity),
    ("link", link),
    ("walls", walls),
    ("clasp", clasp),
    ("mend", mend),
    ("readings", readings),
    ("measured", measured_links),
    ("bench", bench_file),
    ("vary", vary),
    ("mesh", mesh_file),
    ("model", model),
    ("edits", edits),
];

/// Designs that values are changed in.
const BASES: [&str; 6] = [
    include_str!("../../params/line-2.5-yellow.jsonc"),
    include_str!("../../params/line-3.0-silver-cushion.jsonc"),
    include_str!("../../params/line-3.2-silver-short.jsonc"),
    include_str!("../../params/line-3.5-rose-block.jsonc"),
    include_str!("../../params/line-4.0-platinum-square.jsonc"),
    include_str!("../../params/line-4.0-platinum.jsonc"),
];

/// The text of a parameter file.
pub fn text(bytes: &[u8]) {
    match params::read_bytes(bytes, &Arc::default()) {
        Ok(design) => sound(&design),
        Err(problems) => told(&problems, bytes),
    }
}

/// A design whatever it is made from: its numbers are numbers, its rules have words.
fn sound(design: &params::Design) {
    for v in design.values() {
        // JSON has no word for what is no number.
        assert!(!v.value.is_null(), "{} is no number", v.path);
    }
    for f in design.findings() {
        assert!(!f.title.is_empty() && !f.rule.is_empty());
    }
    let _ = life::life(design);
}

/// Problems: at least one, each with words and a place in the text, and together a text for people.
fn told(problems: &[params::Problem], bytes: &[u8]) {
    assert!(!problems.is_empty(), "refused without a reason");
    for p in problems {
        assert!(!p.message.is_empty() && p.line >= 1 && p.column >= 1, "{p:?}");
        assert!(p.span.start <= p.span.end, "{p:?}");
    }
    let text = String::from_utf8_lossy(bytes);
    let shown = colletline::cli::problems::render(problems, "line.jsonc", &text, false, 60);
    assert!(shown.contains("nothing was built"), "{shown}");
}

/// The text of one value: a length, a wire, an angle, a weight. What is taken is taken alike as a bare number.
pub fn quantity(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let written = |path: &str, value: &Value| {
        let mut v = json!({ "metal": { "alloy": "silver925" }, "stone": { "diameter": 3.0 }, "wearer": { "wrist": 165 } });
        put(&mut v, path, value.clone());
        v.to_string()
    };
    for path in ["stone.diameter", "claw.diameter", "seat.bur_angle", "stone.carat"] {
        let file = written(path, &text.into());
        match params::read(&file) {
            Err(problems) => told(&problems, file.as_bytes()),
            Ok(design) => {
                let all = design.values();
                let Some(value) = all.iter().find(|v| v.path == path).map(|v| v.value.clone()) else {
                    return;
                };
                let number = params::read(&written(path, &value));
                assert!(number.is_ok_and(|d| d.values() == all), "{text} is not {value}");
            }
        }
    }
}

/// Parameters that a file may give: path, and least and largest number or the words.
static FIELDS: LazyLock<Vec<(String, Field)>> = LazyLock::new(|| {
    let mut out = Vec::new();
    fields("", &params::schema(), &mut out);
    assert!(out.len() > 100, "the schema has {} parameters", out.len());
    out
});

#[derive(Debug)]
enum Field {
    Number(f64, f64),
    Words(Vec<Value>),
}

fn fields(path: &str, schema: &Value, out: &mut Vec<(String, Field)>) {
    let Some(all) = schema["properties"].as_object() else { return };
    for (name, s) in all {
        let path = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
        let alone = std::slice::from_ref(s);
        let forms = s["anyOf"].as_array().map_or(alone, Vec::as_slice);
        let range = forms.iter().find_map(|f| f["minimum"].as_f64().zip(f["maximum"].as_f64()));
        if let Some((least, most)) = range {
            out.push((path, Field::Number(least, most)));
        } else if let Some(words) = s["enum"].as_array() {
            out.push((path, Field::Words(words.clone())));
        } else {
            fields(&path, s, out);
        }
    }
}

fn put(v: &mut Value, path: &str, value: Value) {
    let mut at = v;
    for name in path.split('.') {
        if !at.is_object() {
            *at = Value::Object(Map::new());
        }
        at = &mut at[name];
    }
    *at = value;
}

/// A design from bytes: the first chooses the base; then three each change one parameter, near to what it was or anywhere in
/// its range.
fn drawn(bytes: &[u8]) -> Option<params::Design> {
    let (first, rest) = bytes.split_first()?;
    let base = params::read(BASES[usize::from(*first) % BASES.len()]).ok()?;
    let mut v = Value::Object(Map::new());
    for value in base.values().iter().filter(|v| v.origin == params::Origin::Given) {
        put(&mut v, value.path, value.value.clone());
    }
    for change in rest.chunks_exact(3).take(24) {
        let (path, field) = &FIELDS[usize::from(change[0]) % FIELDS.len()];
        let x = u16::from_le_bytes([change[1], change[2]]);
        let value = match field {
            Field::Words(w) => w[usize::from(x) % w.len()].clone(),
            Field::Number(least, most) => {
                let share = f64::from(x & 0x3fff) / f64::from(0x3fff);
                let was = base.values().iter().find(|v| v.path == path).and_then(|v| v.value.as_f64());
                let x = match was {
                    Some(was) if x & 0x8000 == 0 => was * (0.85 + 0.3 * share),
                    _ => least + (most - least) * share,
                };
                // Half of them as a bench writes them: so many hundredths.
                let x = if x.is_finite() && change[1] & 1 == 0 { (x * 100.0).round() / 100.0 } else { x };
                if path.ends_with("count") { json!(x.round().clamp(*least, *most)) } else { json!(x) }
            }
        };
        put(&mut v, path, value);
    }
    let file = v.to_string();
    match params::read(&file) {
        Ok(design) => Some(design),
        Err(problems) => {
            told(&problems, file.as_bytes());
            None
        }
    }
}

/// A chord at which a mesh is quick.
const CHORD: f64 = 0.02;

/// Checked parameters to the link: what the kernel builds must mesh, and the second kernel must not contradict it.
pub fn link(bytes: &[u8]) {
    let (Some(design), Some(chord)) = (drawn(bytes), Tolerance::new(CHORD)) else { return };
    sound(&design);
    let Ok(built) = link::build(&LinkShape::finished(&design)) else { return };
    meshed(&built.solid, chord);
}

/// Checked parameters to the walls at the wear points; some shapes take seconds.
pub fn walls(bytes: &[u8]) {
    let Some(design) = drawn(bytes) else { return };
    let Ok(built) = link::build(&LinkShape::finished(&design)) else { return };
    for w in link::wear_points(&built.solid, &built.shape, design.state(), design.own()) {
        assert!(w.value_mm.is_none_or(f64::is_finite), "{w:?}");
    }
}

fn meshed(solid: &colletline::solid::Solid, chord: Tolerance) {
    match mesh::checked(solid, chord) {
        Ok(checked) => {
            let said = witness::confirm(solid, &checked.exact);
            assert!(!matches!(said, Err(witness::Objection::Against(_))), "{said:?}");
        }
        Err(e) => panic!("a solid without a mesh: {e}"),
    }
}

/// Checked parameters to the small parts of the clasp.
pub fn clasp(bytes: &[u8]) {
    let (Some(design), Some(chord)) = (drawn(bytes), Tolerance::new(CHORD)) else { return };
    sound(&design);
    let small = [ClaspPart::Plate, ClaspPart::Leaf, ClaspPart::FrontStrip, ClaspPart::Rivet, ClaspPart::Pin];
    for part in small {
        if let Some(Ok(part)) = clasp::build(&design, part) {
            meshed(&part.solid, chord);
        }
    }
}

/// A changed design to its mending: what is offered reads, and every binding rule holds then.
pub fn mend(bytes: &[u8]) {
    let Some((first, rest)) = bytes.split_first() else { return };
    let mut file = BASES[usize::from(*first) % BASES.len()].to_owned();
    for change in rest.chunks_exact(3).take(2) {
        // A digit of the file becomes another.
        let places: Vec<usize> = file.char_indices().filter(|c| c.1.is_ascii_digit()).map(|c| c.0).collect();
        let at = places[usize::from(u16::from_le_bytes([change[0], change[1]])) % places.len()];
        file.replace_range(at..=at, &(change[2] % 10).to_string());
    }
    let Ok(params::Mended::Ways { ways, .. }) = params::mend(&file, &params::Freedom::default()) else {
        return;
    };
    assert!(!ways.is_empty(), "mended without a way");
    for way in &ways {
        let after = params::after(&file, way, &Arc::default());
        let holds = after.is_ok_and(|d| {
            d.findings()
                .iter()
                .all(|f| f.severity != params::Severity::Refuse || f.verdict == params::RuleVerdict::Pass)
        });
        assert!(holds, "{way:?}");
    }
}

/// Caliper readings.
pub fn readings(bytes: &[u8]) {
    match calibrate::read(&String::from_utf8_lossy(bytes)).and_then(|r| calibrate::lines(&r)) {
        Ok(lines) => {
            for l in lines {
                let all = [l.scale.value, l.scale.half, l.offset.value, l.offset.half, l.scatter];
                assert!(all.iter().all(|x| x.is_finite()), "{l:?}");
            }
        }
        Err(why) => assert!(!why.is_empty()),
    }
}

/// Links and stones as measured.
pub fn measured_links(bytes: &[u8]) {
    match measured::read(&String::from_utf8_lossy(bytes)) {
        Ok(m) => {
            let Ok(design) = params::read(BASES[0]) else { return };
            let a = arrange::arrange(&design, &m);
            assert!(a.length_mm.is_finite() && a.gaps_mm.iter().all(|x| x.is_finite()), "{a:?}");
        }
        Err(why) => assert!(!why.is_empty()),
    }
}

/// The bench file, to the end of a plan.
pub fn bench_file(bytes: &[u8]) {
    static DESIGN: LazyLock<Option<(params::Design, colletline::mesh::exact::SolidMass)>> =
        LazyLock::new(|| {
            let design = params::read(BASES[0]).ok()?;
            let built = link::build(&LinkShape::finished(&design)).ok()?;
            let mass = colletline::mesh::exact::solid_mass(&built.solid);
            Some((design, mass))
        });
    let text = String::from_utf8_lossy(bytes);
    match bench::read(&text) {
        Ok(bench) => {
            let Some((design, mass)) = DESIGN.as_ref() else { return };
            let plan = colletline::plan::plan(design, &bench, *mass, Some(Mm(180.0)));
            let same = |s: &str| s.to_owned();
            let chapters = sheet::chapters(&plan);
            let said = form::terminal(("plan", &chapters), 60, same, same);
            assert!(!said.contains("NaN") && !said.contains("inf "), "{said}");
            let _ = (form::markdown("plan", &chapters), form::csv(&chapters));
        }
        Err(problems) => told(&problems, bytes),
    }
}

/// A parameter and its values as typed.
pub fn vary(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match Vary::read(text) {
        Ok(v) => assert!((1..=colletline::plan::compare::MOST).contains(&v.values.len())),
        Err(why) => assert!(!why.is_empty()),
    }
}

/// A mesh that comes back, as bytes.
pub fn mesh_file(bytes: &[u8]) {
    match intake::read(bytes) {
        // Larger ones only cost time.
        Ok(soup) if soup.triangles.len() <= 400 => {
            let report = check_mesh(&soup, Some(Mm(0.4)), 5);
            assert!(report.mesh.sound || report.faults.iter().any(|f| f.breaks));
        }
        Ok(_) => {}
        Err(why) => assert!(!why.to_string().is_empty()),
    }
}

/// The model of a 3MF, packed as the standard asks.
pub fn model(bytes: &[u8]) {
    const RELATIONS: &[u8] = br#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/a.model"/></Relationships>"#;
    let mut z = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, content) in [("_rels/.rels", RELATIONS), ("3D/a.model", bytes)] {
        if z.start_file(name, options).is_err() || z.write_all(content).is_err() {
            return;
        }
    }
    if let Ok(packed) = z.finish() {
        mesh_file(&packed.into_inner());
    }
}

/// What the page asks to be changed, as the text of its request; before a NUL byte a file of its own, else one of ours.
pub fn edits(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let (file, asked) = text.split_once('\0').unwrap_or_else(|| (BASES[bytes.len() % BASES.len()], &text));
    let Ok(edits) = serde_json::from_str::<edit::Edits>(asked) else { return };
    let (before, sane) = (edit::written(file), params::read(file).is_ok());
    match edit::edited(file, &edits) {
        Ok(new) => {
            let after = edit::written(&new);
            for (path, value) in &edits {
                let (now, wanted) = (after.get(path.as_str()), value.as_deref().map(str::trim));
                assert!(
                    !sane || now.map(String::as_str) == wanted,
                    "{path} is {now:?}, not {wanted:?}: {new}"
                );
            }
            for (path, was) in before.iter().filter(|(p, _)| !edits.contains_key(**p)) {
                assert!(!sane || after.get(path) == Some(was), "{path} was {was}: {new}");
            }
            assert!(edit::edited(&new, &edits).is_ok_and(|twice| twice == new), "twice is another: {new}");
            if let Err(problems) = params::read(&new) {
                told(&problems, new.as_bytes());
            }
        }
        Err(why) => assert!(!why.is_empty()),
    }
}
