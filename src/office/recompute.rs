//! The files of a run out of the record, evaluated as they stand; and the result held against the
//! recorded one, so that a difference has a name.

use std::collections::BTreeMap;
use std::num::NonZeroUsize;
use std::thread;

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::event::{FileRef, Verdict};
use leverarm_ledger::store::{Reading, StoreError};
use leverarm_ledger::verify::Recompute;
use leverarm_metrology::decision;
use leverarm_metrology::evaluate::{MonteCarloPlan, Options};
use leverarm_metrology::rounding::RoundingError;
use serde_json::Value;
use thiserror::Error;

use crate::assess::{AssessError, Assessed, Overrides, assess_loaded};
use crate::export::json::{self, RESULT_VERSION, ResultFile};
use crate::ingest;
use crate::ingest::store;

use super::layout;

/// The seed of Monte Carlo in the record; any number does, and it stands in every result.
pub const SEED: u64 = 6789;

/// The files of a run, by the names that `run.toml` gives them, however it spells a path.
#[derive(Debug, Clone, Default)]
pub struct StoredRun {
    /// the folders that lead to the run folder
    base: Vec<String>,
    /// by path from the root of what was added
    files: BTreeMap<String, Vec<u8>>,
}

impl StoredRun {
    /// Files of the record by their paths; the first one is `run.toml`, and its folder the run folder.
    #[must_use]
    pub fn new(files: Vec<(String, Vec<u8>)>) -> StoredRun {
        let first = files.first().map(|(path, _)| path.as_str()).unwrap_or_default();
        let base = layout::folder_of(first);
        StoredRun { base, files: files.into_iter().collect() }
    }

    /// Puts other bytes in the place of a file, by the name that the run gives it.
    #[must_use]
    pub fn with(mut self, name: &str, bytes: Vec<u8>) -> StoredRun {
        if let Some(path) = layout::resolve(&self.base, name) {
            self.files.insert(path, bytes);
        }
        self
    }

    /// A file, by the name that the run gives it.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&[u8]> {
        let path = layout::resolve(&self.base, name)?;
        self.files.get(&path).map(Vec::as_slice)
    }
}

impl store::Store for StoredRun {
    fn read(&self, path: &str, limit: u64) -> Result<Vec<u8>, store::StoreError> {
        let bytes = self.get(path).ok_or_else(|| store::StoreError::Missing { path: path.to_owned() })?;
        if bytes.len() as u64 > limit {
            return Err(store::StoreError::TooLarge {
                path: path.to_owned(),
                found: bytes.len() as u64,
                limit,
            });
        }
        Ok(bytes.to_vec())
    }
}

/// Why a run cannot be had out of the record, or not be evaluated.
#[derive(Debug, Error)]
pub enum RunError {
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A file is not kept.
    #[error("the file {path} ({digest}) is not in the record")]
    Missing {
        /// its path
        path: String,
        /// its name
        digest: Digest,
    },
    /// The run has findings that are errors.
    #[error("the run cannot be evaluated: {first}{}", more(*others))]
    Findings {
        /// the first
        first: String,
        /// how many besides
        others: usize,
    },
    /// The evaluation refuses.
    #[error(transparent)]
    Assess(#[from] AssessError),
    /// A number has no printable digits.
    #[error("a result has no printable digits: {0}")]
    Rounding(#[from] RoundingError),
    /// The result cannot be written.
    #[error("result.json cannot be made: {0}")]
    Json(#[from] serde_json::Error),
}

fn more(others: usize) -> String {
    if others == 0 { String::new() } else { format!(" (and {others} more)") }
}

/// The files of a run out of the record.
///
/// # Errors
/// [`RunError::Missing`], [`RunError::Store`].
pub fn run_of(reading: &mut dyn Reading, files: &[FileRef]) -> Result<StoredRun, RunError> {
    let mut found = Vec::with_capacity(files.len());
    for FileRef { path, sha256 } in files {
        let missing = || RunError::Missing { path: path.to_string(), digest: *sha256 };
        let bytes = reading.file(sha256)?.ok_or_else(missing)?;
        found.push((path.to_string(), bytes));
    }
    Ok(StoredRun::new(found))
}

/// What an evaluation for the record does beyond the GUM. Threads change no result.
#[must_use]
pub fn options(seed: Option<u64>) -> Options {
    let threads = thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    Options { monte_carlo: seed.map(|seed| MonteCarloPlan::new(seed, threads)) }
}

/// Reads, checks and evaluates a run of the record.
///
/// # Errors
/// [`AssessError`].
pub fn assess_stored(run: &StoredRun, overrides: &Overrides) -> Result<Assessed, AssessError> {
    assess_loaded(ingest::parse(run), overrides)
}

/// An evaluation as it is recorded.
#[derive(Debug)]
pub struct Outcome {
    /// the bytes of its `result.json`
    pub result: Vec<u8>,
    /// what it says
    pub verdict: Verdict,
    /// whether nothing stands against a certificate but what is decided when it is issued
    pub certifiable: bool,
}

/// The `result.json` of a run that can be evaluated.
///
/// # Errors
/// [`RunError::Findings`] where it cannot.
pub fn outcome(assessed: &Assessed) -> Result<Outcome, RunError> {
    let Some(record) = assessed.record()? else {
        let errors: Vec<_> = assessed
            .findings
            .iter()
            .filter(|finding| finding.severity() == leverarm_metrology::finding::Severity::Error)
            .collect();
        let first = errors.first().map_or_else(|| "a value is missing".to_owned(), |f| f.message.clone());
        return Err(RunError::Findings { first, others: errors.len().saturating_sub(1) });
    };
    let (verdict, certifiable) = (word(record.verdict), record.certifiable);
    let file = ResultFile {
        format: "leverarm result",
        version: RESULT_VERSION,
        program: env!("CARGO_PKG_VERSION"),
        certificate: None,
        runs: vec![record],
        changes: Vec::new(),
    };
    Ok(Outcome { result: json::to_bytes(&file)?, verdict, certifiable })
}

/// A verdict in the words of the record.
#[must_use]
pub fn word(verdict: decision::Verdict) -> Verdict {
    match verdict {
        decision::Verdict::Pass => Verdict::Conforms,
        decision::Verdict::ConditionalPass => Verdict::ConditionallyConforms,
        decision::Verdict::ConditionalFail => Verdict::ConditionallyFails,
        decision::Verdict::Fail => Verdict::DoesNotConform,
        decision::Verdict::NotJudged => Verdict::NoStatement,
    }
}

/// Computes a recorded evaluation anew from its stored inputs and holds it against what was recorded.
///
/// # Errors
/// What differs, in words: a place of `result.json` with both values.
pub fn recompute(asked: &Recompute<'_>, reading: &mut dyn Reading) -> Result<(), String> {
    let recorded = reading.file(&asked.evaluated.result).map_err(|error| error.to_string())?;
    let recorded = recorded.ok_or_else(|| format!("its result {} is not kept", asked.evaluated.result))?;
    let before: Value = serde_json::from_slice(&recorded)
        .map_err(|error| format!("the recorded result is not JSON: {error}"))?;
    let run = run_of(reading, &asked.run.files).map_err(|error| error.to_string())?;
    let overrides = Overrides { options: options(seed_of(&before)), ..Overrides::default() };
    let assessed = assess_stored(&run, &overrides).map_err(|error| error.to_string())?;
    let outcome = outcome(&assessed).map_err(|error| error.to_string())?;
    if outcome.verdict != asked.evaluated.verdict {
        return Err(format!("verdict {}, recorded {}", outcome.verdict, asked.evaluated.verdict));
    }
    if outcome.result == recorded {
        return Ok(());
    }
    let after: Value = serde_json::from_slice(&outcome.result)
        .map_err(|error| format!("the new result is not JSON: {error}"))?;
    let same_program = asked.evaluated.software.as_str() == SOFTWARE;
    match difference(&before, &after, "") {
        Some(place) => Err(place),
        // Another version of the program may write the same numbers otherwise; this one may not.
        None if same_program => Err("the same values in other bytes".to_owned()),
        None => Ok(()),
    }
}

/// The program that evaluates, as the record names it.
pub const SOFTWARE: &str = concat!("leverarm ", env!("CARGO_PKG_VERSION"));

/// The seed of the trials of a result: that of the first point that has any.
#[must_use]
pub fn seed_of(result: &Value) -> Option<u64> {
    let runs = result.get("runs")?.as_array()?;
    runs.iter().find_map(|run| find_seed(run.get("points")?))
}

fn find_seed(value: &Value) -> Option<u64> {
    match value {
        Value::Object(map) => match map.get("monte_carlo").and_then(|check| check.get("seed")) {
            Some(seed) => seed.as_u64(),
            None => map.values().find_map(find_seed),
        },
        Value::Array(list) => list.iter().find_map(find_seed),
        _ => None,
    }
}

/// The first place where two results differ, the version of the program apart. The depth is that of
/// JSON that was parsed, which is bounded.
fn difference(before: &Value, after: &Value, at: &str) -> Option<String> {
    match (before, after) {
        (Value::Object(before), Value::Object(after)) => {
            let gone = before.keys().find(|key| !after.contains_key(*key));
            if let Some(key) = gone {
                return Some(format!("{at}/{key} is recorded and does not come out"));
            }
            after.iter().filter(|(key, _)| !(at.is_empty() && *key == "program")).find_map(|(key, now)| {
                let at = format!("{at}/{key}");
                match before.get(key) {
                    Some(then) => difference(then, now, &at),
                    None => Some(format!("{at} comes out and is not recorded")),
                }
            })
        }
        (Value::Array(then), Value::Array(now)) if then.len() == now.len() => then
            .iter()
            .zip(now)
            .enumerate()
            .find_map(|(index, (then, now))| difference(then, now, &format!("{at}/{index}"))),
        _ if before == after => None,
        _ => Some(format!("{at} is {}, recorded {}", shown(after), shown(before))),
    }
}

fn shown(value: &Value) -> String {
    let text = value.to_string();
    if text.chars().count() <= 80 { text } else { text.chars().take(77).collect::<String>() + "..." }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::ingest::store::Store;

    #[test]
    fn a_difference_has_a_place_and_both_values() {
        let before = json!({"program": "1", "runs": [{"a": 1.5, "b": "x"}]});
        let same = json!({"program": "2", "runs": [{"a": 1.5, "b": "x"}]});
        assert_eq!(difference(&before, &same, ""), None);
        let other = json!({"program": "1", "runs": [{"a": 1.25, "b": "x"}]});
        assert_eq!(difference(&before, &other, "").as_deref(), Some("/runs/0/a is 1.25, recorded 1.5"));
        let less = json!({"program": "1", "runs": [{"a": 1.5}]});
        let said = difference(&before, &less, "");
        assert_eq!(said.as_deref(), Some("/runs/0/b is recorded and does not come out"));
    }

    #[test]
    fn names_are_found_however_they_are_spelt() {
        let run = StoredRun::new(vec![
            ("house/run/run.toml".into(), b"r".to_vec()),
            ("house/references/rt.toml".into(), b"t".to_vec()),
        ]);
        for name in ["../references/rt.toml", "./../references/./rt.toml", "../run/../references/rt.toml"] {
            assert_eq!(run.read(name, 10).unwrap_or_default(), b"t", "{name}");
        }
        assert!(run.read("../../../x", 10).is_err());
        assert_eq!(run.read("run.toml", 10).unwrap_or_default(), b"r");
    }
}
