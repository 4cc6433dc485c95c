//! One published example: what it says, what the program finds, and whether they agree.

use serde::Serialize;

use super::print::full_digits;

/// How sure an expected value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// seen in the source, or in a published text that quotes it
    Seen,
    /// recalled, and reproduced by a calculation that is not this program's
    Reproduced,
    /// from memory only
    FromMemory,
    /// follows from definitions, computed apart from this program
    Derivable,
}

impl Mark {
    /// Every mark, the surest first as they are explained.
    pub const ALL: [Mark; 4] = [Mark::Seen, Mark::Reproduced, Mark::Derivable, Mark::FromMemory];

    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Mark::Seen => "seen",
            Mark::Reproduced => "reproduced",
            Mark::FromMemory => "from memory",
            Mark::Derivable => "derivable",
        }
    }

    /// In a sentence.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Mark::Seen => "read in the source, or in a published text that quotes it",
            Mark::Reproduced => "recalled, and reproduced by a calculation that is not this program's",
            Mark::FromMemory => "recalled only; hold it against your own copy of the source",
            Mark::Derivable => {
                "needs no source: it follows from definitions, computed apart from this program"
            }
        }
    }
}

/// When a value that was found agrees with the one that was expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Agreement {
    /// within half a unit of the last digit that is printed
    HalfUnit,
    /// within a fraction of the expected value
    Relative(f64),
    /// exactly the number
    Exact,
    /// no more than the number
    AtMost,
    /// within half a unit of the last digit and four standard errors of the trials
    Trials(f64),
    /// within four standard errors of the trials
    TrialsOfExact(f64),
}

/// A value that a source bounds or rounds from an exact half lies on the edge, and binary cannot hold it.
const EDGE: f64 = 1.0 + 1e-9;
const STANDARD_ERRORS: f64 = 4.0;

impl Agreement {
    /// The greatest difference that is allowed; `None` where a bound and no difference is held to.
    fn tolerance(self, expected: &str, number: f64) -> Option<f64> {
        match self {
            Agreement::HalfUnit => Some(half_unit(expected)),
            Agreement::Relative(share) => Some(share * number.abs()),
            Agreement::Exact => Some(0.0),
            Agreement::AtMost => None,
            Agreement::Trials(error) => Some(half_unit(expected) + STANDARD_ERRORS * error),
            Agreement::TrialsOfExact(error) => Some(STANDARD_ERRORS * error),
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Agreement::HalfUnit => "half a unit of the last printed digit",
            Agreement::Relative(_) => "a fraction of the expected value",
            Agreement::Exact => "the same number",
            Agreement::AtMost => "no more than the expected value",
            Agreement::Trials(_) => "half a unit of the last printed digit and four standard errors",
            Agreement::TrialsOfExact(_) => "four standard errors of the trials",
        }
    }
}

/// Half a unit of the last digit of a printed decimal number.
fn half_unit(printed: &str) -> f64 {
    let decimals = printed.split_once('.').map_or(0, |(_, after)| after.len());
    format!("5e-{}", decimals + 1).parse().unwrap_or(0.0)
}

/// One value of an example.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Value {
    /// what it is, with its unit
    pub quantity: String,
    /// as the source prints it
    pub expected: String,
    /// what the program finds, with every digit
    pub found: String,
    /// the greatest difference that is allowed
    pub tolerance: Option<f64>,
    /// what the tolerance is
    pub agreement: &'static str,
    /// how sure the expected value is
    pub mark: Mark,
    /// whether they agree
    pub passed: bool,
}

/// What stops an example from being computed.
pub type Stopped = Box<dyn std::error::Error>;

/// One published example with its values.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Case {
    /// a short name
    pub id: &'static str,
    /// the source with its clause
    pub source: &'static str,
    /// what it is about
    pub about: &'static str,
    /// the part of the program that it exercises
    pub exercises: &'static str,
    /// where source and program part on purpose, and what else a reader should know
    pub notes: Vec<&'static str>,
    /// its values
    pub values: Vec<Value>,
    #[serde(skip)]
    mark: Mark,
}

impl Case {
    /// An example without values yet; they bear this mark until another one is set.
    #[must_use]
    pub fn new(
        id: &'static str,
        source: &'static str,
        about: &'static str,
        exercises: &'static str,
        mark: Mark,
    ) -> Case {
        Case { id, source, about, exercises, notes: vec![], values: vec![], mark }
    }

    /// The mark of the values that follow.
    pub fn mark(&mut self, mark: Mark) {
        self.mark = mark;
    }

    /// A remark for the reader.
    pub fn note(&mut self, text: &'static str) {
        self.notes.push(text);
    }

    /// Holds a number against the digits of the source.
    pub fn printed(&mut self, quantity: &str, expected: &str, found: impl Into<Option<f64>>) {
        self.holds(quantity, expected, Agreement::HalfUnit, found);
    }

    /// Holds a number against one of the source in another way. No number agrees with nothing.
    pub fn holds(
        &mut self,
        quantity: &str,
        expected: &str,
        agreement: Agreement,
        found: impl Into<Option<f64>>,
    ) {
        let found = found.into();
        let number: Option<f64> = expected.parse().ok();
        let tolerance = number.and_then(|number| agreement.tolerance(expected, number));
        let passed = match (found, number) {
            (Some(found), Some(number)) => match tolerance {
                Some(allowed) => (found - number).abs() <= allowed * EDGE,
                None => found <= number,
            },
            _ => false,
        };
        self.values.push(Value {
            quantity: quantity.to_owned(),
            expected: expected.to_owned(),
            found: found.map_or_else(|| "no value".to_owned(), full_digits),
            tolerance,
            agreement: agreement.words(),
            mark: self.mark,
            passed,
        });
    }

    /// Holds a printed result against the words or digits of the source, character by character.
    pub fn reads(&mut self, quantity: &str, expected: &str, found: &str) {
        self.values.push(Value {
            quantity: quantity.to_owned(),
            expected: expected.to_owned(),
            found: found.to_owned(),
            tolerance: None,
            agreement: "the same characters",
            mark: self.mark,
            passed: expected == found,
        });
    }

    /// The example could not be computed to its end: that is a value that does not agree.
    pub fn stopped(&mut self, reason: &Stopped) {
        self.reads("the computation", "runs to its end", &reason.to_string());
    }

    /// Whether every value agrees. An example without a value proves nothing.
    #[must_use]
    pub fn passed(&self) -> bool {
        !self.values.is_empty() && self.failed().next().is_none()
    }

    /// The values that do not agree.
    pub fn failed(&self) -> impl Iterator<Item = &Value> {
        self.values.iter().filter(|value| !value.passed)
    }
}
