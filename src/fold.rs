//! Sentences in lines of a given width, for every text that is printed.

/// A text in lines of at most `width` columns, broken at its spaces; a longer word has a line of its own.
#[must_use]
pub fn fold(text: &str, width: usize) -> Vec<String> {
    let mut out = vec![String::new()];
    for word in text.split(' ') {
        let full =
            out.last().is_some_and(|l| !l.is_empty() && l.chars().count() + 1 + word.chars().count() > width);
        if full {
            out.push(String::new());
        }
        if let Some(line) = out.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_too_long_and_no_word_is_lost() {
        let text = "one two three antidisestablishmentarianism four";
        let lines = fold(text, 9);
        assert_eq!(lines, ["one two", "three", "antidisestablishmentarianism", "four"]);
        assert_eq!(lines.join(" "), text);
        assert_eq!(fold("", 9), [""]);
    }
}
