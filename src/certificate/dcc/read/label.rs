//! Texts for people, and terms for programs.

use super::tree::{At, Space};

/// A text in its languages.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Label {
    /// language, where it is said, and words
    pub by_language: Vec<(Option<String>, String)>,
}

impl Label {
    /// The words in English, where there are any, else the first; empty where there are none.
    #[must_use]
    pub fn words(&self) -> &str {
        let english = self.by_language.iter().find(|(language, _)| language.as_deref() == Some("en"));
        english.or(self.by_language.first()).map_or("", |(_, words)| words)
    }

    /// Whether these are its words in any language.
    #[must_use]
    pub fn is(&self, words: &str) -> bool {
        self.by_language.iter().any(|(_, known)| known == words)
    }

    /// Whether any language has a word for which this holds; words are split at what is no letter, except
    /// the hyphen.
    pub(crate) fn any_word(&self, holds: impl Fn(&str) -> bool) -> bool {
        let words = self
            .by_language
            .iter()
            .flat_map(|(_, words)| words.split(|c: char| !c.is_alphabetic() && c != '-'));
        words.filter(|word| !word.is_empty()).any(|word| holds(&word.to_lowercase()))
    }
}

/// The contents of a text element.
pub(super) fn label(at: At<'_>) -> Label {
    let contents = at.all(Space::Dcc, "content");
    let by_language =
        contents.map(|c| (c.attribute("lang").map(str::to_owned), one_line(c.text()))).collect();
    Label { by_language }
}

/// The terms of an element.
pub(super) fn terms(at: At<'_>) -> Vec<String> {
    at.attribute("refType").unwrap_or_default().split_ascii_whitespace().map(str::to_owned).collect()
}

/// A text with its space collapsed: a certificate is indented as its program liked.
pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
