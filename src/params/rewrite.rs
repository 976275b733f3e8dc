//! A parameter file with some values changed, its comments and layout kept.

use super::table::{Key, Kind};
use jsonc_parser::ParseOptions;
use jsonc_parser::cst::{CstInputValue, CstObject, CstRootNode};

/// The text with these values in it; `None` where it is no object or a group stands where a value should.
///
/// A value keeps its place and the comment beside it; a parameter that was not there is put at the end of its group.
#[must_use]
pub fn rewritten(text: &str, set: &[(Key, f64)]) -> Option<String> {
    let root = CstRootNode::parse(text, &ParseOptions::default()).ok()?;
    let object = root.object_value()?;
    for (key, x) in set {
        let spec = key.spec();
        let mut names: Vec<&str> = spec.path.split('.').collect();
        let leaf = names.pop()?;
        let mut group: CstObject = object.clone();
        for n in names {
            group = group.object_value_or_create(n)?;
        }
        let number = match spec.kind {
            Kind::Count => format!("{x:.0}"),
            _ => format!("{}", (x * 1e6).round() / 1e6),
        };
        match group.get(leaf) {
            Some(prop) => prop.set_value(CstInputValue::Number(number)),
            None => _ = group.append(leaf, CstInputValue::Number(number)),
        }
    }
    Some(root.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_stay_and_new_groups_come() {
        let text =
            "// a line\n{\n  \"stone\": { \"diameter\": 4.0, /* sorted */ \"carat\": 0.25 }, // stones\n}\n";
        let new =
            rewritten(text, &[(Key::Diameter, 3.9), (Key::Wall, 0.45), (Key::PlateThickness, 0.5)]).unwrap();
        for kept in [
            "// a line",
            "/* sorted */",
            "// stones",
            "\"diameter\": 3.9",
            "\"wall\": 0.45",
            "\"thickness\": 0.5",
        ] {
            assert!(new.contains(kept), "{kept} in {new}");
        }
        assert!(rewritten("[]", &[(Key::Wall, 0.5)]).is_none());
    }
}
