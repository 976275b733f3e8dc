//! Changes to the text of a parameter file that leave everything else as it is: comments, order, spaces.

use super::table::{Kind, TABLE};
use jsonc_parser::ParseOptions;
use jsonc_parser::cst::{CstInputValue, CstObject, CstRootNode};
use std::collections::BTreeMap;

/// What is to stand at a path; `None` takes the parameter out of the file.
pub type Edits = BTreeMap<String, Option<String>>;

/// The parameters that a file gives, as they are written there; text without its quotation marks. Empty for a text that
/// is no JSON.
#[must_use]
pub fn written(text: &str) -> BTreeMap<&'static str, String> {
    let Ok(root) = CstRootNode::parse(bare(text), &ParseOptions::default()) else { return BTreeMap::new() };
    let Some(top) = root.object_value() else { return BTreeMap::new() };
    TABLE
        .iter()
        .filter_map(|s| {
            let value = object_at(&top, s.section())?.get(s.leaf())?.value()?;
            let text = value.to_string();
            let plain = serde_json::from_str::<String>(&text).unwrap_or(text);
            Some((s.path, plain))
        })
        .collect()
}

/// The text without a byte order mark.
fn bare(text: &str) -> &str {
    text.strip_prefix('\u{feff}').unwrap_or(text)
}

fn object_at(top: &CstObject, section: &str) -> Option<CstObject> {
    section.split('.').try_fold(top.clone(), |o, name| o.object_value(name))
}

/// The text with the edits.
///
/// # Errors
/// One sentence: the text is no JSON object, or a path is no parameter.
pub fn edited(text: &str, edits: &Edits) -> Result<String, String> {
    if edits.is_empty() {
        return Ok(text.to_owned());
    }
    let root = CstRootNode::parse(bare(text), &ParseOptions::default()).map_err(|e| e.to_string())?;
    let top = root.object_value().ok_or("the file is no group of parameters")?;
    for (path, value) in edits {
        let spec = TABLE.iter().find(|s| s.path == path).ok_or_else(|| format!("{path} is no parameter"))?;
        let Some(value) = value else {
            if let Some(prop) = object_at(&top, spec.section()).and_then(|o| o.get(spec.leaf())) {
                prop.remove();
            }
            continue;
        };
        let value = value.trim();
        let number = serde_json::from_str::<serde_json::Number>(value).is_ok();
        let input = if number && !matches!(spec.kind, Kind::Text | Kind::Choice(_)) {
            CstInputValue::Number(value.to_owned())
        } else {
            CstInputValue::String(value.to_owned())
        };
        let group = spec.section().split('.').fold(top.clone(), |o, name| o.object_value_or_set(name));
        match group.get(spec.leaf()) {
            Some(prop) => prop.set_value(input),
            None => {
                group.append(spec.leaf(), input);
            }
        }
    }
    Ok(root.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edits(list: &[(&str, Option<&str>)]) -> Edits {
        list.iter().map(|(p, v)| ((*p).to_owned(), v.map(str::to_owned))).collect()
    }

    #[test]
    fn comments_stay_and_only_the_value_changes() {
        let text = include_str!("../../params/line-4.0-platinum.jsonc");
        let new = edited(text, &edits(&[("collet.wall", Some("0.48"))])).unwrap();
        let changed: Vec<_> = text.lines().zip(new.lines()).filter(|(a, b)| a != b).collect();
        assert_eq!(
            changed,
            [(
                r#"    "wall": 0.50         // square to the skin"#,
                r#"    "wall": 0.48         // square to the skin"#
            )]
        );
        assert_eq!(text.lines().count(), new.lines().count());
        assert_eq!(edited(text, &Edits::new()).unwrap(), text);
    }

    #[test]
    fn parameters_come_and_go_with_their_groups() {
        let text = "{ // mine\n  \"metal\": { \"alloy\": \"silver925\" },\n  \"stone\": { \"diameter\": 3.0 },\n  \"wearer\": { \"wrist\": 165 }\n}\n";
        let list = [("collet.wall", Some("0.5 mm")), ("clasp.plate.thickness", Some("0.6"))];
        let new = edited(text, &edits(&list)).unwrap();
        assert!(new.contains("// mine"));
        let found = written(&new);
        assert_eq!(found["collet.wall"], "0.5 mm");
        assert_eq!(found["clasp.plate.thickness"], "0.6");
        assert_eq!(found["metal.alloy"], "silver925");
        assert!(crate::params::read(&new).is_ok());
        let gone = edited(&new, &edits(&[("collet.wall", None)])).unwrap();
        assert!(!written(&gone).contains_key("collet.wall"));
        assert!(edited(text, &edits(&[("no.such", Some("1"))])).is_err());
        assert!(edited("[1", &edits(&[("collet.wall", Some("0.5"))])).is_err());
        assert_eq!(edited("[1", &Edits::new()).unwrap(), "[1");
    }
}
