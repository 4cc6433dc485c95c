//! A text in one language or more.

/// A text for people, once in each language of the certificate.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Text {
    /// language (ISO 639-1) and words; at most one entry a language
    pub by_language: Vec<(String, String)>,
}

impl Text {
    /// A text in English.
    #[must_use]
    pub fn en(words: impl Into<String>) -> Text {
        Text { by_language: vec![("en".to_owned(), words.into())] }
    }

    /// The same text, in one more language.
    #[must_use]
    pub fn and(mut self, language: impl Into<String>, words: impl Into<String>) -> Text {
        self.by_language.push((language.into(), words.into()));
        self
    }
}
