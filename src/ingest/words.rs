//! Words that must be one of a list, and which of them a misspelt one was meant to be.

use leverarm_metrology::finding::Check;

use super::value::{Fault, shorten};

/// The known word that is closest to a misspelt one, if any is close.
pub(crate) fn did_you_mean<'k>(given: &str, known: impl Iterator<Item = &'k str>) -> Option<&'k str> {
    // A likeness takes time by the square of the length.
    const CHARS_MAX: usize = 60;
    if given.chars().nth(CHARS_MAX).is_some() {
        return None;
    }
    let given = given.to_lowercase();
    known
        .map(|word| (strsim::jaro_winkler(&given, &word.to_lowercase()), word))
        .filter(|(likeness, _)| *likeness >= 0.85)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, word)| word)
}

/// A word that must be one of a list.
pub(super) fn one_of<T>(
    given: &str,
    check: &'static Check,
    words: &[&str],
    read: impl FnOnce(&str) -> Option<T>,
) -> Result<T, Fault> {
    const LISTED_CHARS: usize = 80;
    read(given).ok_or_else(|| {
        let is_long = words.iter().map(|word| word.len()).sum::<usize>() > LISTED_CHARS;
        let quoted: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
        let remedy = match did_you_mean(given, words.iter().copied()) {
            Some(meant) => format!("did you mean \"{meant}\"?"),
            None if is_long => format!("write one of these:\n{}", quoted.join("\n")),
            None => format!("write one of: {}", quoted.join(", ")),
        };
        let message = format!("'{}' is not a word that is known here", shorten(given));
        let wanted = if is_long { format!("one of {} words", words.len()) } else { words.join("; ") };
        Fault::new(check, message, wanted, remedy)
    })
}
