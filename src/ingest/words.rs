//! Words that must be one of a list, and which of them a misspelt one was meant to be.

use leverarm_metrology::finding::Check;

use super::value::{Fault, shorten};

/// The known word that is closest to a misspelt one, if any is close.
pub(super) fn did_you_mean<'k>(given: &str, known: impl Iterator<Item = &'k str>) -> Option<&'k str> {
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
    read(given).ok_or_else(|| {
        let remedy = match did_you_mean(given, words.iter().copied()) {
            Some(meant) => format!("did you mean \"{meant}\"?"),
            None => format!(
                "write one of: {}",
                words.iter().map(|w| format!("\"{w}\"")).collect::<Vec<_>>().join(", ")
            ),
        };
        let message = format!("'{}' is not a word that is known here", shorten(given));
        Fault::new(check, message, words.join("; "), remedy)
    })
}
