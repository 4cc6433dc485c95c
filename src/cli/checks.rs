//! `leverarm checks`: what every run is checked for.

use std::io::Write;

use clap::Args;
use leverarm_metrology::finding::{Check, Severity};
use serde_json::json;

use super::{Ending, Failure, print_json};
use crate::assess::catalogue;
use crate::diagnose::harmless;
use crate::ingest::words::did_you_mean;

/// Arguments of `leverarm checks`.
#[derive(Debug, Args)]
pub struct Arguments {
    /// the name of one check, to explain it
    name: Option<String>,
    /// print JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let checks = match &arguments.name {
        Some(name) => vec![find(name)?],
        None => catalogue(),
    };
    if arguments.json {
        let list: Vec<_> = checks
            .iter()
            .map(|c| json!({ "name": c.name, "severity": c.severity, "about": c.about, "source": c.source }))
            .collect();
        print_json(out, &list)?;
        return Ok(Ending::Done);
    }
    if arguments.name.is_some() {
        for check in checks {
            writeln!(out, "{}  ({})\n", check.name, words(check.severity))?;
            writeln!(out, "{}\n\nsource: {}", check.about, check.source)?;
            writeln!(out, "a sample that provokes it: sample-runs/broken/{}", check.name)?;
        }
        return Ok(Ending::Done);
    }
    for severity in [Severity::Error, Severity::Gap, Severity::Warning] {
        writeln!(out, "{}\n", words(severity))?;
        for check in checks.iter().filter(|c| c.severity == severity) {
            writeln!(out, "  {:<34} {}", check.name, check.about)?;
        }
        writeln!(out)?;
    }
    Ok(Ending::Done)
}

const fn words(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error: nothing is evaluated until it is mended",
        Severity::Gap => "gap: the numbers are shown, a certificate is refused",
        Severity::Warning => "warning: it goes on the record and changes no number",
    }
}

fn find(name: &str) -> Result<&'static Check, Failure> {
    let all = catalogue();
    all.iter().find(|c| c.name == name).copied().ok_or_else(|| {
        let remedy = match did_you_mean(name, all.iter().map(|check| check.name)) {
            Some(near) => format!("did you mean '{near}'? 'leverarm checks' lists them all"),
            None => "'leverarm checks' lists them all".to_owned(),
        };
        Failure::bad_input(format!("there is no check '{}'", harmless(name)), remedy)
    })
}
