//! A sample of the differential tests: what GTC (uncertainty trees), scipy and numpy expect, as
//! written by `tests/differential/differential.py`. The versions of the libraries and the commands
//! that made it stand in the head of the data file; how each tolerance comes about, in the README
//! beside that script.
//!
//! Marks: R. The whole of it, 2,000 budgets and more, runs in `.ci/run`.

#[path = "../differential/answering.rs"]
mod answering;

use serde::Deserialize;
use serde_json::Value;

const DATA: &str = include_str!("data/differential.json");

#[derive(Deserialize)]
struct Sample {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    question: answering::Question,
    expected: Vec<Expected>,
}

/// A value of the answer, and how near it must be; words, truths and nulls must be the same.
#[derive(Deserialize)]
struct Expected {
    at: String,
    expected: Value,
    within: f64,
}

impl Expected {
    fn holds(&self, answer: &Value) -> bool {
        match (answer.pointer(&self.at), self.expected.as_f64()) {
            (Some(found), Some(expected)) => {
                found.as_f64().is_some_and(|found| (found - expected).abs() <= self.within)
            }
            (Some(found), None) => *found == self.expected,
            (None, _) => false,
        }
    }
}

#[test]
fn general_purpose_libraries_expect_the_same() {
    let sample: Sample = serde_json::from_str(DATA).unwrap();
    assert_eq!(sample.cases.len(), 62);
    for (number, case) in sample.cases.into_iter().enumerate() {
        let asked = format!("{:?}", case.question);
        let answer = answering::answer(case.question).unwrap();
        assert!(!case.expected.is_empty());
        for expected in &case.expected {
            let Expected { at, expected: value, within } = expected;
            assert!(
                expected.holds(&answer),
                "case {number}: {at} is not {value} ± {within}: {answer} {asked}"
            );
        }
    }
}
