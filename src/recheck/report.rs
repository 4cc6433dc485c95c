//! What a recheck found, line by line.

use std::fmt;

use chrono::{DateTime, Utc};
use serde::Serialize;

use super::Question;

/// Differences that are kept of one line; the others are counted.
const DIFFERENCES_MAX: usize = 40;
/// Characters of a value in a report.
const VALUE_MAX: usize = 120;

/// How a part of the certificate fared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// It agrees.
    Agrees,
    /// It does not.
    Differs,
    /// It could not be looked at, and that is a fault of the file.
    Missing,
    /// To be known, and no fault.
    Note,
}

/// One difference.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// what differs: the path of a number, the name of an attachment
    pub path: String,
    /// on which page, from 1
    #[serde(skip_serializing_if = "Option::is_none")]
    pub page: Option<usize>,
    /// what follows from the readings
    pub computed: String,
    /// what the file says
    pub found: String,
}

impl Difference {
    /// Of a value that has no page.
    #[must_use]
    pub fn new(path: impl Into<String>, computed: &str, found: &str) -> Difference {
        Difference { path: path.into(), page: None, computed: cut(computed), found: cut(found) }
    }

    /// On a page, from 1.
    #[must_use]
    pub fn on(mut self, page: usize) -> Difference {
        self.page = Some(page);
        self
    }
}

/// A value that fits a line and cannot drive a terminal.
pub(super) fn cut(text: &str) -> String {
    let mut cut: String =
        text.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).take(VALUE_MAX).collect();
    if text.chars().nth(VALUE_MAX).is_some() {
        cut.push('…');
    }
    cut
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(page) = self.page {
            write!(f, "page {page}, ")?;
        }
        write!(f, "{}: computed {}, found {}", self.path, self.computed, self.found)
    }
}

/// A part of the certificate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Line {
    /// which part
    pub part: &'static str,
    /// how it fared
    pub outcome: Outcome,
    /// in words
    pub words: String,
    /// what differs; at most forty
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub differences: Vec<Difference>,
    /// how many more differ
    #[serde(skip_serializing_if = "is_zero")]
    pub further: usize,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
fn is_zero(count: &usize) -> bool {
    *count == 0
}

/// What it all comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum Conclusion {
    /// Everything agrees, and a signer who is known signed it, or the caller asked for less.
    Agrees,
    /// Something differs or is missing.
    #[default]
    Differs,
    /// Everything agrees, and nobody signed it.
    Unsigned,
    /// Everything agrees, and whoever signed it is not known to the caller.
    UnknownSigner,
    /// Everything agrees, and the laboratory has withdrawn it.
    Withdrawn,
}

/// Who signed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SignerRecord {
    /// whom the certificate names
    pub subject: String,
    /// its SHA-256
    pub fingerprint: String,
    /// whether the caller knows it
    pub known: bool,
    /// when he says that he signed
    pub signed_at: Option<DateTime<Utc>>,
}

/// What a recheck found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Default)]
pub struct Report {
    /// the certificate's number
    pub number: String,
    /// who signed it
    pub signer: Option<SignerRecord>,
    /// the certificate that it replaces
    pub replaces: Option<String>,
    /// whether it was withdrawn; absent where no list was given
    pub withdrawn: Option<bool>,
    /// each part
    pub lines: Vec<Line>,
    /// what it all comes to
    pub conclusion: Conclusion,
}

impl Report {
    /// Adds a part.
    pub(super) fn say(&mut self, part: &'static str, outcome: Outcome, words: impl Into<String>) {
        let words = cut_words(&words.into());
        self.lines.push(Line { part, outcome, words, differences: Vec::new(), further: 0 });
    }

    /// Adds a part that agrees where nothing differs.
    pub(super) fn compare(&mut self, part: &'static str, agrees: String, mut differences: Vec<Difference>) {
        if differences.is_empty() {
            return self.say(part, Outcome::Agrees, agrees);
        }
        let count = differences.len();
        differences.truncate(DIFFERENCES_MAX);
        let further = count - differences.len();
        let words = if count == 1 { "one difference".to_owned() } else { format!("{count} differences") };
        self.lines.push(Line { part, outcome: Outcome::Differs, words, differences, further });
    }

    /// Whether nothing differs and nothing is missing.
    #[must_use]
    pub fn agrees(&self) -> bool {
        !self.lines.is_empty()
            && self.lines.iter().all(|line| matches!(line.outcome, Outcome::Agrees | Outcome::Note))
    }

    pub(super) fn concluded(mut self, question: &Question<'_>) -> Report {
        self.conclusion = match (&self.signer, self.agrees()) {
            (_, false) => Conclusion::Differs,
            _ if self.withdrawn == Some(true) => Conclusion::Withdrawn,
            (None, true) if !question.unsigned_ok => Conclusion::Unsigned,
            (Some(signer), true) if !signer.known && !question.any_signer => Conclusion::UnknownSigner,
            _ => Conclusion::Agrees,
        };
        self
    }
}

fn cut_words(words: &str) -> String {
    words.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).take(600).collect()
}
