//! `leverarm certify`: the main job. A run folder, or as found and as left together, becomes a
//! certificate with charts, `result.json` and `result.csv`, in a folder of its own.

use std::io::Write;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::{Args, ValueEnum};
use leverarm_metrology::decision::Verdict;
use leverarm_metrology::finding::Severity;
use leverarm_metrology::rounding::RoundingRule;
use leverarm_metrology::run::Condition;

use super::evaluate::refuse;
use super::trials::Trials;
use super::{Ending, Failure, print_json};
use crate::assess::{Assessed, Overrides, assess};
use crate::certificate::compose::{Issue, Judged, compose};
use crate::certificate::{Paper, Renderer, number};
use crate::diagnose;
use crate::export::curve::{ChangeRecord, changes};
use crate::export::folder::{self, Written};
use crate::export::json::{self, CertificateRecord, RESULT_VERSION, ResultFile};
use crate::export::table_csv;

/// Arguments of `leverarm certify`.
#[derive(Debug, Args)]
pub struct Arguments {
    /// the run folder; with a second one, the run as found
    run: PathBuf,
    /// the run folder as left, for one certificate over both
    as_left: Option<PathBuf>,
    /// where the folder of the certificate goes; it is named by the certificate's number
    #[arg(long, value_name = "FOLDER", default_value = "certificates")]
    out: PathBuf,
    /// the certificate's unique number, in place of the one in run.toml
    #[arg(long)]
    number: Option<String>,
    /// the date of issue, YYYY-MM-DD; today where it is not said
    #[arg(long, value_name = "DATE", value_parser = day)]
    issued: Option<NaiveDate>,
    /// who answers for the certificate, in place of the one in run.toml
    #[arg(long, value_name = "NAME")]
    approver: Option<String>,
    /// the paper
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperChoice,
    /// draw the deviation curve over the range, with its uncertainty band
    #[arg(long)]
    curve: bool,
    #[command(flatten)]
    trials: Trials,
    /// print JSON
    #[arg(long)]
    json: bool,
    /// exit with 1 when the tool does not conform
    #[arg(long)]
    gate: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum PaperChoice {
    /// 210 mm by 297 mm
    A4,
    /// 8.5 in by 11 in
    Letter,
}

fn day(text: &str) -> Result<NaiveDate, String> {
    NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d")
        .map_err(|_| "write the date as YYYY-MM-DD, such as 2026-11-25".to_owned())
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let overrides = Overrides {
        number: arguments.number.clone(),
        approver: arguments.approver.clone(),
        options: arguments.trials.options(),
    };
    let mut runs = vec![assess(&arguments.run, &overrides)?];
    if let Some(as_left) = &arguments.as_left {
        runs.push(assess(as_left, &overrides)?.beside_as_found());
    }
    if runs.iter().any(|run| !run.is_certifiable()) {
        return refuse_certificate(&runs, arguments.json, out);
    }
    let judged: Vec<Judged> = runs.iter().filter_map(Assessed::for_certificate).collect();
    let number = check_pair(&judged)?;
    let today = chrono::Local::now().date_naive();
    let issued = arguments.issued.unwrap_or(today);
    check_dates(&judged, issued)?;
    if issued > today {
        eprintln!("warning: the date of issue {issued} comes after today, {today}");
    }
    let made = Made::new(&runs, &judged, &number, issued, arguments)?;
    let target = arguments.out.join(number::folder_name(&number));
    let written = folder::write(
        &target,
        &[("certificate.pdf", &made.pdf), ("result.json", &made.json), ("result.csv", &made.csv)],
    )?;
    report(arguments, &runs, &made, &number, &target, written, out)?;
    let passed = made.verdict == Verdict::Pass;
    Ok(if arguments.gate && !passed { Ending::DoesNotConform } else { Ending::Done })
}

/// The three files of a certificate, as bytes.
struct Made {
    pdf: Vec<u8>,
    json: Vec<u8>,
    csv: Vec<u8>,
    /// of the last run: the state in which the customer gets the tool back
    verdict: Verdict,
}

impl Made {
    fn new(
        runs: &[Assessed],
        judged: &[Judged],
        number: &str,
        issued: NaiveDate,
        arguments: &Arguments,
    ) -> Result<Made, Failure> {
        let mut records = Vec::new();
        for run in runs {
            records.extend(run.record()?);
        }
        let mut inputs: Vec<(String, String)> = Vec::new();
        for (run, judged) in runs.iter().zip(judged) {
            for input in &run.inputs {
                let own = runs.len() > 1 && !input.file.starts_with("..");
                let name = if own {
                    format!("{}: {}", judged.run.condition, input.file)
                } else {
                    input.file.clone()
                };
                let entry = (name, input.sha256.clone());
                if !inputs.contains(&entry) {
                    inputs.push(entry);
                }
            }
        }
        let issue = Issue {
            number: number.to_owned(),
            issued,
            rounding: RoundingRule::default(),
            curve: arguments.curve,
            inputs,
        };
        let view =
            compose(judged, &issue).map_err(|error| Failure::bad_input(error.to_string(), error.remedy()))?;
        let paper = match arguments.paper {
            PaperChoice::A4 => Paper::A4,
            PaperChoice::Letter => Paper::UsLetter,
        };
        let pdf = Renderer::new()
            .and_then(|renderer| renderer.render(&view, paper))
            .map_err(|error| Failure::fault(format!("the certificate cannot be set: {error}")))?;
        let csv = table_csv::to_bytes(&records)
            .map_err(|error| Failure::fault(format!("result.csv cannot be made: {error}")))?;
        let verdict = records.last().map_or(Verdict::NotJudged, |r| r.verdict);
        let first = judged.first();
        let last = judged.last();
        let result = ResultFile {
            format: "leverarm result",
            version: RESULT_VERSION,
            program: env!("CARGO_PKG_VERSION"),
            certificate: first.map(|first| CertificateRecord {
                number: number.to_owned(),
                issued: issued.to_string(),
                purpose: first.rulebook.purpose,
                approver: last.and_then(|last| last.run.people.approver.clone()),
                replaces: first.run.terms.replaces.clone(),
            }),
            runs: records,
            changes: changes_of(judged)?,
        };
        let json = json::to_bytes(&result)
            .map_err(|error| Failure::fault(format!("result.json cannot be made: {error}")))?;
        Ok(Made { pdf, json, csv, verdict })
    }
}

/// What changed from as found to as left, where both are there.
fn changes_of(judged: &[Judged]) -> Result<Vec<ChangeRecord>, Failure> {
    match judged {
        [found, left] => Ok(changes(
            (found.reference, found.evaluation),
            (left.reference, left.evaluation),
            RoundingRule::default(),
        )?),
        _ => Ok(Vec::new()),
    }
}

/// Two runs on one certificate are as found and as left, in that order. Returns the number. What
/// else they must share is for [`compose`].
fn check_pair(judged: &[Judged]) -> Result<String, Failure> {
    if let [found, left] = judged {
        if (found.run.condition, left.run.condition) != (Condition::AsFound, Condition::AsLeft) {
            return Err(Failure::bad_input(
                format!(
                    "the two runs are '{}' and '{}', not 'as found' and 'as left'",
                    found.run.condition, left.run.condition
                ),
                "name the run as found first and the run as left second",
            ));
        }
        if left.run.performed < found.run.performed {
            return Err(Failure::bad_input(
                format!(
                    "as left ({}) was measured before as found ({})",
                    left.run.performed, found.run.performed
                ),
                "look at 'performed' in both run.toml",
            ));
        }
    }
    let number = judged.first().and_then(|first| first.run.terms.number.clone()).ok_or_else(|| {
        Failure::bad_input(
            "the certificate has no number",
            "write [certificate] number = \"…\" or give --number",
        )
    })?;
    number::check(&number).map_err(|error| Failure::bad_input(error.to_string(), error.remedy()))?;
    Ok(number)
}

fn check_dates(judged: &[Judged], issued: NaiveDate) -> Result<(), Failure> {
    match judged.iter().map(|j| j.run.performed).max() {
        Some(performed) if issued < performed => Err(Failure::bad_input(
            format!("the date of issue {issued} comes before the readings of {performed}"),
            "give the right day with --issued YYYY-MM-DD",
        )),
        _ => Ok(()),
    }
}

fn refuse_certificate(runs: &[Assessed], as_json: bool, out: &mut impl Write) -> Result<Ending, Failure> {
    let list: Vec<&Assessed> = runs.iter().collect();
    let ending = refuse(&list, as_json, out)?;
    let gaps_only = runs.iter().all(|run| run.judged.is_some());
    if gaps_only && !as_json {
        eprintln!(
            "No certificate was made: what is listed as a gap is asked by the clause beside it.\n\
             'leverarm evaluate' shows the numbers all the same."
        );
    }
    Ok(ending)
}

fn report(
    arguments: &Arguments,
    runs: &[Assessed],
    made: &Made,
    number: &str,
    target: &Path,
    written: Written,
    out: &mut impl Write,
) -> Result<(), Failure> {
    if arguments.json {
        return print_json(
            out,
            &serde_json::json!({
                "number": number,
                "verdict": made.verdict,
                "folder": target,
                "files": ["certificate.pdf", "result.json", "result.csv"],
                "new": written == Written::New,
            }),
        );
    }
    for run in runs {
        let Some(judged) = &run.judged else { continue };
        let words = match judged.evaluation.verdict {
            Verdict::Pass => "conforms",
            Verdict::ConditionalPass => "conditional pass",
            Verdict::ConditionalFail => "conditional FAIL",
            Verdict::Fail => "DOES NOT CONFORM",
            Verdict::NotJudged => "is not judged",
        };
        let tool = &judged.run.tool;
        writeln!(
            out,
            "{} {}, serial {}, {}: {words}",
            tool.maker, tool.model, tool.serial, judged.run.condition
        )?;
        let warnings = run.findings.iter().filter(|f| f.severity() == Severity::Warning).count();
        if warnings > 0 {
            writeln!(out, "\n{}", diagnose::text(&run.findings, &run.sources))?;
        }
    }
    let state = match written {
        Written::New => "written",
        Written::Same => "unchanged, it was there already",
    };
    writeln!(out, "Certificate {number}: {state}")?;
    for file in ["certificate.pdf", "result.json", "result.csv"] {
        writeln!(out, "  {}", target.join(file).display())?;
    }
    Ok(())
}
