//! What a misspelt key was meant to be.

use super::table::{SECTIONS, TABLE};
use crate::spelling::near_word;

/// The known key nearest to a wrong one: within its own group first, else a value of that name anywhere.
pub(super) fn nearest(path: &str, group: &str) -> Option<String> {
    let leaf = path.rsplit_once('.').map_or(path, |p| p.1);
    let children: Vec<(&str, &str)> = SECTIONS
        .iter()
        .map(|s| s.0)
        .chain(TABLE.iter().map(|s| s.path))
        .map(|p| p.rsplit_once('.').map_or(("", p), |(g, l)| (g, l)))
        .collect();
    // The right name in the wrong group: the nearest group of that name, the file's own first.
    let top = |g: &str| g.split('.').next().unwrap_or_default().to_owned();
    let same = |own: bool| {
        children.iter().find(|(g, l)| *l == leaf && !g.is_empty() && (!own || top(g) == top(group)))
    };
    if !group.is_empty()
        && let Some((g, l)) = same(true).or_else(|| same(false))
    {
        return Some(format!("{g}.{l}"));
    }
    let own: Vec<&str> = children.iter().filter(|c| c.0 == group).map(|c| c.1).collect();
    if let Some(w) = near_word(leaf, &own) {
        return Some(if group.is_empty() { w.to_owned() } else { format!("{group}.{w}") });
    }
    same(false).filter(|_| group.is_empty()).map(|(g, l)| format!("{g}.{l}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_near_key_is_offered() {
        assert_eq!(nearest("collet.hight", "collet").as_deref(), Some("collet.height"));
        assert_eq!(nearest("stone.web_height", "stone").as_deref(), Some("joint.web_height"));
        assert_eq!(nearest("coleet", "").as_deref(), Some("collet"));
        assert_eq!(nearest("clasp.plte", "clasp").as_deref(), Some("clasp.plate"));
        assert_eq!(nearest("clasp.thickness", "clasp").as_deref(), Some("clasp.plate.thickness"));
        assert_eq!(nearest("clasp.plate.gap", "clasp.plate").as_deref(), Some("clasp.gap"));
        assert_eq!(nearest("zzzzzz.q", "zzzzzz"), None);
    }
}
