//! `leverarm evaluate`: the numbers and the verdict of a run on the terminal.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use leverarm_metrology::decision::Verdict;

use super::trials::Trials;
use super::under::Under;
use super::{Ending, Failure, print_json};
use crate::assess::{Assessed, Overrides, assess};
use crate::diagnose;
use crate::export::json::{RESULT_VERSION, ResultFile};
use crate::export::text;
use crate::export::under::{EvaluatedUnder, text as under_text};

/// Arguments of `leverarm evaluate`.
#[derive(Debug, Args)]
pub struct Arguments {
    /// the run folder
    run: PathBuf,
    #[command(flatten)]
    trials: Trials,
    #[command(flatten)]
    under: Under,
    /// print result.json instead of the table
    #[arg(long)]
    json: bool,
    /// exit with 1 when the tool does not conform, with 2 when the record has gaps
    #[arg(long)]
    gate: bool,
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let wanted = arguments.under.wanted()?;
    let overrides = Overrides { options: arguments.trials.options(), ..Overrides::default() };
    let assessed = assess(&arguments.run, &overrides)?;
    let (Some(record), Some(judged)) = (assessed.record()?, &assessed.judged) else {
        return refuse(&[&assessed], arguments.json, out);
    };
    let (verdict, certifiable) = (record.verdict, record.certifiable);
    let compared = wanted.as_ref().map(|wanted| wanted.compare(judged)).transpose()?;
    let drawn = match wanted.as_ref().zip(compared.as_ref()) {
        Some((wanted, compared)) => wanted.draw(judged, compared)?,
        None => None,
    };
    if arguments.json {
        let result = ResultFile {
            format: "leverarm result",
            version: RESULT_VERSION,
            program: env!("CARGO_PKG_VERSION"),
            certificate: None,
            runs: vec![record],
            changes: Vec::new(),
        };
        match compared {
            Some(compared) => print_json(out, &EvaluatedUnder { result, under: compared.record })?,
            None => print_json(out, &result)?,
        }
    } else {
        out.write_all(text::render(&record, judged.unit())?.as_bytes())?;
        if !assessed.findings.is_empty() {
            writeln!(out, "\n{}", diagnose::text(&assessed.findings, &assessed.sources))?;
        }
        if let Some(compared) = compared {
            write!(out, "\n{}", under_text::render(&compared.record))?;
        }
        if let Some(drawn) = drawn {
            writeln!(out, "\n{drawn}")?;
        }
    }
    Ok(match (arguments.gate, certifiable, verdict) {
        (false, _, _) | (true, true, Verdict::Pass) => Ending::Done,
        (true, false, _) => Ending::BadInput,
        (true, true, _) => Ending::DoesNotConform,
    })
}

/// Says everything that stands against what was asked of these runs.
pub(super) fn refuse(runs: &[&Assessed], as_json: bool, out: &mut impl Write) -> Result<Ending, Failure> {
    if as_json {
        let findings: Vec<_> =
            runs.iter().flat_map(|run| diagnose::entries(&run.findings, &run.sources)).collect();
        print_json(out, &serde_json::json!({ "findings": findings }))?;
    } else {
        for run in runs {
            eprintln!("{}", diagnose::text(&run.findings, &run.sources));
        }
    }
    Ok(Ending::BadInput)
}
