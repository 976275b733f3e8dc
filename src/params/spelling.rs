//! What a misspelt key was meant to be.

use super::table::{SECTIONS, TABLE};

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

/// The word of a list nearest to a wrong one; `None` where none is near.
pub(crate) fn near_word<'a>(word: &str, list: &[&'a str]) -> Option<&'a str> {
    // Words longer than any key are not compared: the distance is quadratic in the length.
    if word.chars().count() > 60 {
        return None;
    }
    let word = word.to_lowercase();
    let best = list.iter().map(|w| (distance(&word, w), *w)).min_by_key(|d| d.0)?;
    // Up to half the letters may differ, else it is another word.
    (best.0 * 2 <= best.1.chars().count().max(2) || best.1.contains(word.as_str()) && word.len() > 2)
        .then_some(best.1)
}

/// Levenshtein distance in characters.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut last = i;
        if let Some(r) = row.first_mut() {
            *r = i + 1;
        }
        for (j, cb) in b.iter().enumerate() {
            let (left, up) = (row.get(j).copied().unwrap_or(0), row.get(j + 1).copied().unwrap_or(0));
            let best = (last + usize::from(ca != *cb)).min(left + 1).min(up + 1);
            last = up;
            if let Some(r) = row.get_mut(j + 1) {
                *r = best;
            }
        }
    }
    row.last().copied().unwrap_or(0)
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
