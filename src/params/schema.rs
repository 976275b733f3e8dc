//! The JSON Schema and the starter file, both from the table.

use super::quantity;
use super::table::{Key, Kind, SECTIONS, Spec, TABLE};
use serde_json::{Map, Value, json};
use std::fmt::Write as _;

/// The JSON Schema (draft 2020-12) of the parameter file.
///
/// Comments and trailing commas, which a file may hold, are outside of what a schema can say; so are relations between
/// values, and which parameters take part in a shape and joint. Its description says so.
#[must_use]
pub fn schema() -> Value {
    let mut root = group("");
    root["properties"]["$schema"] =
        json!({"type": "string", "description": "Where this schema is, for editors"});
    root["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    root["title"] = json!("Parameter file of a collet-set line bracelet");
    root["description"] = json!(
        "Comments and trailing commas are allowed in a file. This schema knows each value by itself: that a \
         parameter takes part only in some shapes and joints (corners, wire loop, hinge tube, foot block), and that \
         values fit each other, is said by the check command."
    );
    root
}

/// The group at this path with the groups within it; the root has the empty path.
fn group(path: &str) -> Value {
    let mut properties: Map<String, Value> =
        TABLE.iter().filter(|s| s.section() == path).map(|s| (s.leaf().to_owned(), property(s))).collect();
    let mut required: Vec<Value> =
        TABLE.iter().filter(|s| s.section() == path && s.required()).map(|s| s.leaf().into()).collect();
    for (name, about) in inner(path) {
        let leaf = name.rsplit_once('.').map_or(name, |p| p.1);
        let mut within = group(name);
        within["description"] = json!(about);
        if within["required"].is_array() {
            required.push(leaf.into());
        }
        properties.insert(leaf.to_owned(), within);
    }
    let mut out = json!({"type": "object", "properties": properties, "additionalProperties": false});
    if !required.is_empty() {
        out["required"] = Value::Array(required);
    }
    out
}

/// The groups that stand directly in the one at this path, in order.
fn inner(path: &str) -> impl Iterator<Item = (&'static str, &'static str)> {
    SECTIONS.iter().copied().filter(move |s| s.0.rsplit_once('.').map_or("", |p| p.0) == path)
}

fn property(s: &Spec) -> Value {
    let mut about = format!("{}.", s.doc);
    if !s.rule.is_empty() {
        let _ = write!(about, " Left out: {}.", s.rule);
    }
    let number = json!({"type": "number", "minimum": s.least, "maximum": s.most});
    match s.kind {
        Kind::Choice(w) => json!({"description": about, "enum": w.list()}),
        Kind::Text => {
            // What the reader refuses among ASCII; beyond it a schema's patterns do not agree on letters.
            let pattern = if s.key == Key::Contact {
                r#"^[^\x00-\x1f!"$%*;<=>?\[\\\]^`{|}~\x7f]*$"#
            } else {
                r#"^[^\x00-\x1f!"$%*:;<=>?@\[\\\]^`{|}~\x7f]*$"#
            };
            json!({"description": about, "type": "string", "minLength": 1, "maxLength": 80, "pattern": pattern})
        }
        Kind::Count => {
            json!({"description": about, "type": "integer", "minimum": s.least, "maximum": s.most})
        }
        Kind::Share => json!({"description": about, "type": "number", "minimum": s.least, "maximum": s.most}),
        kind => {
            json!({"description": about, "anyOf": [number, {"type": "string", "pattern": quantity::pattern(kind)}]})
        }
    }
}

/// A commented parameter file to start from: what must be given stands, the rest is commented out.
#[must_use]
pub fn starter() -> String {
    let mut out = String::from(
        "// Parameter file of a line bracelet. Lengths are millimetres, or text with a unit: \"0.75 mm\", \"0.03 in\",\n\
         // for wire also \"20 AWG\". What is commented out is found by the rule beside it; take the two strokes away\n\
         // to set it yourself.\n{\n",
    );
    for (name, about) in inner("") {
        write_group(&mut out, name, about, "  ");
    }
    out.push_str("}\n");
    out
}

fn write_group(out: &mut String, path: &str, about: &str, indent: &str) {
    let leaf = path.rsplit_once('.').map_or(path, |p| p.1);
    let _ = writeln!(out, "{indent}// {about}.\n{indent}\"{leaf}\": {{");
    for s in TABLE.iter().filter(|s| s.section() == path) {
        let _ = writeln!(out, "{indent}  // {}.", s.doc);
        if s.required() {
            let _ = writeln!(out, "{indent}  \"{}\": {},", s.leaf(), s.example);
        } else {
            let _ = writeln!(out, "{indent}  // \"{}\": {},   // left out: {}", s.leaf(), s.example, s.rule);
        }
    }
    for (name, about) in inner(path) {
        write_group(out, name, about, &format!("{indent}  "));
    }
    let _ = writeln!(out, "{indent}}},");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::{RuleVerdict, Severity, read};

    #[test]
    fn the_starter_file_reads_and_passes_every_binding_rule() {
        let design = read(&starter()).unwrap_or_else(|p| panic!("{p:#?}"));
        for f in design.findings() {
            assert!(f.severity == Severity::Note || f.verdict == RuleVerdict::Pass, "{f:?}");
        }
    }

    #[test]
    fn the_schema_knows_every_parameter() {
        let s = schema();
        for spec in &TABLE {
            let p = spec.path.split('.').fold(&s, |g, name| &g["properties"][name]);
            assert!(p["description"].is_string(), "{}", spec.path);
        }
    }
}
