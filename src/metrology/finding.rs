//! What a check found: its name, how grave it is, where, what was given, what was wanted and how
//! to mend it. Checks return lists of findings, so that everything wrong is said at once.

use schemars::JsonSchema;
use serde::Serialize;

/// How grave a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The record contradicts itself or cannot be read; nothing is evaluated.
    Error,
    /// Something that a standard or the rulebook asks of a certificate is not there; the numbers
    /// can be shown, a certificate is refused.
    Gap,
    /// Suspicious and not wrong; it goes on the record and changes no number.
    Warning,
}

/// A check, as the catalogue lists it.
#[derive(Debug, PartialEq, Eq)]
pub struct Check {
    /// its name, in lower case with hyphens; also the name of the broken sample that provokes it
    pub name: &'static str,
    /// how grave its findings are
    pub severity: Severity,
    /// what it looks for, in one sentence
    pub about: &'static str,
    /// where the demand comes from: standard and clause, `common practice, no published source`,
    /// or `leverarm` for what the file format itself asks
    pub source: &'static str,
}

/// Which file of a run a finding is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Document {
    /// `run.toml`
    Run,
    /// `readings.csv`
    Readings,
    /// the reference file
    Reference,
    /// the type study
    Study,
    /// the laboratory file
    Laboratory,
    /// the rulebook
    Rulebook,
    /// the journal of the session at the bench
    Journal,
}

/// Where in that file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// a key of a TOML document, by its dotted path such as `environment.temperature_start`; the
    /// key need not be there (then the edge points at the closest table above it)
    Key {
        /// the file
        document: Document,
        /// the dotted path
        path: String,
    },
    /// a row of the readings
    Row {
        /// [`crate::reading::Reading::row`]
        row: u32,
        /// the column's name, where one column is to blame
        column: Option<&'static str>,
    },
    /// the file as a whole
    Whole(Document),
    /// an exact place in a file's bytes, known to the edge that read it
    Bytes {
        /// the file
        document: Document,
        /// first byte
        start: usize,
        /// one past the last byte
        end: usize,
    },
}

impl Place {
    /// A key of `run.toml`.
    #[must_use]
    pub fn run(path: &str) -> Place {
        Place::Key { document: Document::Run, path: path.to_owned() }
    }

    /// A key of the reference file.
    #[must_use]
    pub fn reference(path: &str) -> Place {
        Place::Key { document: Document::Reference, path: path.to_owned() }
    }

    /// A row of the readings and one of its columns.
    #[must_use]
    pub fn row(row: u32, column: &'static str) -> Place {
        Place::Row { row, column: Some(column) }
    }
}

/// What a check found.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// the check
    pub check: &'static Check,
    /// where
    pub place: Place,
    /// the clause that asks it, where it is narrower than the check's own source
    pub clause: Option<String>,
    /// what is wrong, one sentence with the numbers of both sides
    pub message: String,
    /// the value that was found
    pub given: String,
    /// what was wanted
    pub wanted: String,
    /// how to mend it
    pub remedy: String,
}

impl Finding {
    /// A finding of a check at a place; the message says what is wrong.
    #[must_use]
    pub fn new(check: &'static Check, place: Place, message: impl Into<String>) -> Finding {
        Finding {
            check,
            place,
            clause: None,
            message: message.into(),
            given: String::new(),
            wanted: String::new(),
            remedy: String::new(),
        }
    }

    /// Says what was given.
    #[must_use]
    pub fn given(mut self, given: impl Into<String>) -> Finding {
        self.given = given.into();
        self
    }

    /// Says what was wanted.
    #[must_use]
    pub fn wanted(mut self, wanted: impl Into<String>) -> Finding {
        self.wanted = wanted.into();
        self
    }

    /// Says how to mend it.
    #[must_use]
    pub fn remedy(mut self, remedy: impl Into<String>) -> Finding {
        self.remedy = remedy.into();
        self
    }

    /// Names the clause that asks it.
    #[must_use]
    pub fn clause(mut self, clause: impl Into<String>) -> Finding {
        self.clause = Some(clause.into());
        self
    }

    /// How grave it is.
    #[must_use]
    pub fn severity(&self) -> Severity {
        self.check.severity
    }
}

/// Several things in a sentence, with a word before the last: `a`, `a and b`, `a, b and c`.
#[must_use]
pub fn joined<S: AsRef<str>>(things: &[S], word: &str) -> String {
    let (Some((last, front)), true) = (things.split_last(), things.len() > 1) else {
        return things.first().map(|only| only.as_ref().to_owned()).unwrap_or_default();
    };
    let front: Vec<&str> = front.iter().map(AsRef::as_ref).collect();
    format!("{} {word} {}", front.join(", "), last.as_ref())
}
