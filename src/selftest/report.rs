//! The whole report: which program, on what day, what it covers, and every value.

use chrono::NaiveDate;
use serde::Serialize;

use super::case::{Case, Mark, Value};
use super::parts::{self, Part};

/// What a report is asked with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// the day that the report bears
    pub dated: NaiveDate,
    /// for whom, where it is to be said
    pub laboratory: Option<String>,
    /// SHA-256 of the program that runs
    pub executable_sha256: String,
}

/// The program that computed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Program {
    /// its name
    pub name: &'static str,
    /// its version
    pub version: &'static str,
    /// operating system and processor for which it was built
    pub target: String,
    /// SHA-256 of its file
    pub executable_sha256: String,
}

/// How it ended.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Outcome {
    /// whether every value of every example agrees
    pub passed: bool,
    /// number of examples
    pub cases: usize,
    /// number of values
    pub values: usize,
    /// number of values that do not agree
    pub failed: usize,
    /// the same in a sentence
    pub sentence: String,
}

/// What a mark means.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Meaning {
    /// the mark
    pub mark: Mark,
    /// in a word
    pub word: &'static str,
    /// in a sentence
    pub means: &'static str,
    /// how many values bear it
    pub values: usize,
}

/// A report of the self-test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// says what this file is
    pub format: &'static str,
    /// version of the format
    pub version: u32,
    /// how it ended
    pub outcome: Outcome,
    /// the day of the report
    pub dated: NaiveDate,
    /// the laboratory, where one was named
    pub laboratory: Option<String>,
    /// what this record is, and what it is not
    pub purpose: [&'static str; 3],
    /// the parts of the program that the examples exercise
    pub covers: Vec<&'static str>,
    /// what no value here says anything about
    pub does_not_cover: [&'static str; 7],
    /// the program
    pub program: Program,
    /// what it was built with
    pub parts: Vec<Part>,
    /// the marks of expected values
    pub marks: Vec<Meaning>,
    /// the examples
    pub cases: Vec<Case>,
}

const PURPOSE: [&str; 3] = [
    "This is a record for the validation that ISO/IEC 17025:2017, 7.11.2, asks of a laboratory before it \
     uses software: values of published examples, computed by the program that is named here, on the \
     machine on which it runs.",
    "It is not that validation by itself. The laboratory decides whether these computations are the ones \
     that it uses, adds what is not covered, and approves. It repeats the self-test after every change of \
     program, of machine or of operating system.",
    "It says nothing about the competence or the accreditation of any laboratory, and nobody has approved \
     the program by it.",
];

const DOES_NOT_COVER: [&str; 7] = [
    "the entry of readings, by hand, from a file or from an instrument, and the files that hold them",
    "the laboratory's own rulebooks, templates, spreadsheets and other programs",
    "the rulebooks, apart from the permissible deviations that are listed: compare each value with your \
     own copy of the standard ('leverarm rulebook NAME' prints them with their sources)",
    "whether a budget holds every influence of a laboratory, and whether its inputs are right",
    "the way from the readings of a run to its budget and verdict as one whole: the examples exercise its \
     parts",
    "what stands on a certificate, its wording and its charts",
    "the keeping of records, access to them and their safety",
];

impl Report {
    /// Puts examples that have been computed beside the program that computed them.
    #[must_use]
    pub fn new(ask: Ask, cases: Vec<Case>) -> Report {
        let mut covers: Vec<&str> = Vec::new();
        for case in &cases {
            if !covers.contains(&case.exercises) {
                covers.push(case.exercises);
            }
        }
        let marks = Mark::ALL.map(|mark| Meaning {
            mark,
            word: mark.word(),
            means: mark.words(),
            values: cases.iter().flat_map(|case| &case.values).filter(|value| value.mark == mark).count(),
        });
        Report {
            format: "leverarm selftest",
            version: 1,
            outcome: Outcome::of(&cases),
            dated: ask.dated,
            laboratory: ask.laboratory,
            purpose: PURPOSE,
            covers,
            does_not_cover: DOES_NOT_COVER,
            program: Program {
                name: env!("CARGO_PKG_NAME"),
                version: env!("CARGO_PKG_VERSION"),
                target: format!("{} {}", std::env::consts::OS, std::env::consts::ARCH),
                executable_sha256: ask.executable_sha256,
            },
            parts: parts::embedded(),
            marks: marks.into(),
            cases,
        }
    }

    /// The values that do not agree, each with its example.
    pub fn failed(&self) -> impl Iterator<Item = (&Case, &Value)> {
        self.cases.iter().flat_map(|case| case.failed().map(move |value| (case, value)))
    }

    /// "leverarm 0.1.0".
    #[must_use]
    pub fn software(&self) -> String {
        format!("{} {}", self.program.name, self.program.version)
    }
}

impl Outcome {
    fn of(cases: &[Case]) -> Outcome {
        let values = cases.iter().map(|case| case.values.len()).sum();
        let failed = cases.iter().map(|case| case.failed().count()).sum();
        let empty = cases.iter().filter(|case| case.values.is_empty()).count();
        let passed = !cases.is_empty() && failed == 0 && empty == 0;
        let sentence = if passed {
            format!("All {values} values of {} examples agree with their sources.", cases.len())
        } else if failed > 0 {
            format!(
                "{failed} of {values} values DO NOT AGREE with their sources. Do not use this program until \
                 the cause is known."
            )
        } else {
            format!("{empty} of {} examples have no value: this report proves nothing.", cases.len())
        };
        Outcome { passed, cases: cases.len(), values, failed, sentence }
    }
}
