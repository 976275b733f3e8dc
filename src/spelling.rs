//! Words of a file told again: what a misspelt one was meant to be, and one too long for a line.

/// A word as it can be shown: whole, or its first sixty characters.
pub(crate) fn shorten(word: &str) -> String {
    match word.char_indices().nth(60) {
        Some((end, _)) => format!("{}…", &word[..end]),
        None => word.to_owned(),
    }
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
