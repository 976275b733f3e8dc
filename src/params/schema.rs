//! The JSON Schema and the starter file, both from the table.

use super::quantity;
use super::table::{Kind, SECTIONS, Spec, TABLE};
use serde_json::{Map, Value, json};
use std::fmt::Write as _;

/// The JSON Schema (draft 2020-12) of the parameter file.
///
/// Comments and trailing commas, which a file may hold, are outside of what a schema can say; so are relations between
/// values, and which parameters take part in a shape and joint. Its description says so.
#[must_use]
pub fn schema() -> Value {
    let mut sections = Map::new();
    sections.insert(
        "$schema".into(),
        json!({"type": "string", "description": "Where this schema is, for editors"}),
    );
    let mut required = Vec::new();
    for (name, about) in SECTIONS {
        let specs: Vec<&Spec> = TABLE.iter().filter(|s| s.section() == name).collect();
        let properties: Map<String, Value> =
            specs.iter().map(|s| (s.leaf().to_owned(), property(s))).collect();
        let needed: Vec<&str> = specs.iter().filter(|s| s.required()).map(|s| s.leaf()).collect();
        if !needed.is_empty() {
            required.push(name);
        }
        let mut section = json!({
            "type": "object", "description": about, "properties": properties, "additionalProperties": false
        });
        if !needed.is_empty() {
            section["required"] = json!(needed);
        }
        sections.insert(name.to_owned(), section);
    }
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Parameter file of a collet-set line bracelet",
        "description": "Comments and trailing commas are allowed in a file. This schema knows each value by itself: that a \
            parameter takes part only in some shapes and joints (corners, wire loop, hinge tube, foot block), and that \
            values fit each other, is said by the check command.",
        "type": "object",
        "properties": sections,
        "required": required,
        "additionalProperties": false
    })
}

fn property(s: &Spec) -> Value {
    let mut about = format!("{}.", s.doc);
    if !s.rule.is_empty() {
        let _ = write!(about, " Left out: {}.", s.rule);
    }
    let number = json!({"type": "number", "minimum": s.least, "maximum": s.most});
    match s.kind {
        Kind::Choice(w) => json!({"description": about, "enum": w.list()}),
        Kind::Text => json!({
            "description": about, "type": "string", "minLength": 1, "maxLength": 80,
            // What the reader refuses among ASCII; beyond it a schema's patterns do not agree on letters.
            "pattern": r#"^[^\x00-\x1f!"$%*:;<=>?@\[\\\]^`{|}~\x7f]*$"#
        }),
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
    for (name, about) in SECTIONS {
        let _ = writeln!(out, "  // {about}.\n  \"{name}\": {{");
        for s in TABLE.iter().filter(|s| s.section() == name) {
            let _ = writeln!(out, "    // {}.", s.doc);
            if s.required() {
                let _ = writeln!(out, "    \"{}\": {},", s.leaf(), s.example);
            } else {
                let _ = writeln!(out, "    // \"{}\": {},   // left out: {}", s.leaf(), s.example, s.rule);
            }
        }
        out.push_str("  },\n");
    }
    out.push_str("}\n");
    out
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
            let p = &s["properties"][spec.section()]["properties"][spec.leaf()];
            assert!(p["description"].is_string(), "{}", spec.path);
        }
    }
}
