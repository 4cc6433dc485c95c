//! The run folder in memory, and everything computed from it anew.

use leverarm_metrology::evaluate::{MonteCarloPlan, Options};
use leverarm_metrology::finding::Severity;

use super::leaves;
use super::parts::Parts;
use super::report::{Difference, Outcome, Report};
use super::{Question, RecheckError};
use crate::assess::{Assessed, Overrides, assess_loaded};
use crate::certificate::compose::Judged;
use crate::certificate::proof::{DccError, Decided, Made, RunFiles, document, make};
use crate::ingest;
use crate::ingest::store::Memory;

/// Most readings of a run that are evaluated: more than any bench takes of one tool.
const READINGS_MAX: usize = 5_000;
/// Most test points of a run.
const POINTS_MAX: usize = 100;
/// Largest file of a run, bytes.
const FILE_MAX: usize = 2 << 20;

/// A certificate that was made again from its attachments.
pub(super) struct Rebuilt {
    pub(super) made: Made,
    pub(super) decided: Decided,
    pub(super) xml: Result<Vec<u8>, DccError>,
    pub(super) replaces: Option<String>,
}

/// Makes the certificate again; `None` where that cannot be, which is then in the report.
pub(super) fn rebuild(
    parts: &Parts<'_>,
    question: &Question<'_>,
    report: &mut Report,
) -> Result<Option<Rebuilt>, RecheckError> {
    let issue = &parts.issue;
    if issue.left_out() > 0 {
        let words =
            format!("{} files are too large to be inside; it cannot be computed anew", issue.left_out());
        report.say("readings", Outcome::Missing, words);
        return Ok(None);
    }
    let plan = issue.seed.map(|seed| MonteCarloPlan::new(seed, question.threads));
    let overrides = Overrides {
        number: issue.given_number.clone(),
        approver: issue.given_approver.clone(),
        options: Options { monte_carlo: plan },
    };
    let (mut runs, mut country) = (Vec::new(), None);
    for files in &issue.runs {
        let Some(run) = run(parts, files, &overrides, &mut country, report)? else { return Ok(None) };
        runs.push(if runs.is_empty() { run } else { run.beside_as_found() });
    }
    let judged: Vec<Judged> = runs.iter().filter_map(Assessed::for_certificate).collect();
    let decided = Decided {
        number: issue.number.clone(),
        issued: issue.issued,
        paper: issue.paper,
        curve: issue.curve,
        given_number: issue.given_number.clone(),
        given_approver: issue.given_approver.clone(),
        seed: issue.seed,
    };
    let made = match make(&runs, &decided) {
        Ok(made) => made,
        Err(error) => {
            report.say("readings", Outcome::Differs, format!("no certificate follows from them: {error}"));
            return Ok(None);
        }
    };
    let conditions: Vec<&str> = judged.iter().map(|judged| judged.run.condition.words()).collect();
    let readings: usize = judged.iter().map(|judged| judged.run.readings.len()).sum();
    let points: usize = judged.iter().map(|judged| judged.evaluation.points.len()).sum();
    let words =
        format!("{readings} readings at {points} test points ({}) computed anew", conditions.join(", "));
    report.say("readings", Outcome::Agrees, words);
    let xml = document(&judged, &made.view, &decided, country.as_deref());
    let replaces = judged.first().and_then(|first| first.run.terms.replaces.clone());
    Ok(Some(Rebuilt { made, decided, xml, replaces }))
}

fn run(
    parts: &Parts<'_>,
    files: &RunFiles,
    overrides: &Overrides,
    country: &mut Option<String>,
    report: &mut Report,
) -> Result<Option<Assessed>, RecheckError> {
    let mut memory = Memory::new();
    for file in &files.files {
        let Some(bytes) = parts.bytes(&file.attachment) else {
            report.say(
                "readings",
                Outcome::Missing,
                format!("the attachment {} is not there", file.attachment),
            );
            return Ok(None);
        };
        if bytes.len() > FILE_MAX {
            let (what, found, limit) = ("bytes of a file of the run", bytes.len(), FILE_MAX);
            return Err(RecheckError::TooMuch { what, found, limit });
        }
        memory = memory.with(&file.path, bytes);
    }
    let loaded = ingest::parse(&memory);
    if let Some(run) = &loaded.run {
        let found = run.readings.len();
        if found > READINGS_MAX {
            return Err(RecheckError::TooMuch { what: "readings of a run", found, limit: READINGS_MAX });
        }
        let found: usize = run.directions().into_iter().map(|direction| run.targets(direction).len()).sum();
        if found > POINTS_MAX {
            return Err(RecheckError::TooMuch { what: "test points of a run", found, limit: POINTS_MAX });
        }
    }
    *country = country.take().or_else(|| loaded.country.clone());
    let differs = built_in_differs(parts, files, &loaded);
    if let Some(difference) = differs {
        report.compare("rulebook", String::new(), vec![difference]);
    }
    let assessed = match assess_loaded(loaded, overrides) {
        Ok(assessed) => assessed,
        Err(error) => {
            report.say("readings", Outcome::Differs, error.to_string());
            return Ok(None);
        }
    };
    if assessed.is_certifiable() {
        return Ok(Some(assessed));
    }
    let against = assessed.findings.iter().filter(|finding| finding.severity() != Severity::Warning);
    let against: Vec<&str> = against.map(|finding| finding.message.as_str()).take(3).collect();
    let words = format!("no certificate may be made of the {} run: {}", files.condition, against.join("; "));
    report.say("readings", Outcome::Differs, words);
    Ok(None)
}

/// A rulebook of the program that is another than the one in the file: another version of the program.
fn built_in_differs(parts: &Parts<'_>, files: &RunFiles, loaded: &ingest::Loaded) -> Option<Difference> {
    let used = loaded
        .inputs
        .iter()
        .find(|input| input.document == leverarm_metrology::finding::Document::Rulebook)?;
    let file = files.files.iter().find(|file| file.path == used.path)?;
    let attached = parts.bytes(&file.attachment)?;
    (attached != used.bytes.as_slice()).then(|| {
        let found = ingest::sha256(attached);
        Difference::new(format!("rulebook {}", file.path), &used.sha256, &found)
    })
}

/// Every leaf of `result.json`.
pub(super) fn compare_result(parts: &Parts<'_>, rebuilt: &Rebuilt, report: &mut Report) {
    let other = parts.issue.program != env!("CARGO_PKG_VERSION");
    let (count, mut differences) = leaves::compare(&rebuilt.made.result, parts.result);
    if other {
        differences.retain(|difference| difference.path != "program");
    } else if differences.is_empty() && rebuilt.made.result != parts.result {
        differences.push(Difference::new("result.json", "the same values", "written in another way"));
    }
    report.compare("result.json", format!("{count} values agree, to the last digit"), differences);
}
