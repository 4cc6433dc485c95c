//! The traces of a run: one of them, or all on a list.

use std::io::Write;
use std::path::{Component, Path};

use leverarm_metrology::reading::{Reading, Series, Status};
use leverarm_metrology::run::Run;
use leverarm_metrology::tool::Acting;
use leverarm_pull::detector::{LoadingWindow, Mode};
use serde_json::json;

use super::{Arguments, output, refusal};
use crate::cli::{Ending, Failure, print_json};
use crate::diagnose;
use crate::export::trace::Seen;
use crate::export::trace::list::{Row, text};
use crate::ingest::store::{Folder, StoreError};
use crate::ingest::{self, Loaded};
use crate::trace_view::analyse::{Wanted, analyse};
use crate::trace_view::facts::{FACTS_VERSION, ReadingFacts, facts};
use crate::trace_view::open::{OpenError, open};

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let mut loaded = ingest::load(&arguments.path);
    let Some(run) = loaded.run.take() else { return refuse(&loaded, arguments.json, out) };
    let folder = Folder::new(&arguments.path);
    let see = |reading: &Reading| see(&folder, reading, arguments.wanted(known(reading, &run, &loaded)));
    match arguments.reading {
        Some(row) => {
            let reading = run.readings.iter().find(|reading| reading.row == row).ok_or_else(|| {
                Failure::bad_input(
                    format!("the run has no reading {row}; it has {}", run.readings.len()),
                    "count the rows of readings.csv from 1, without its header",
                )
            })?;
            output::write(arguments, &see(reading).map_err(|error| refusal(&error))?, out)
        }
        None => list(arguments, &run, see, out),
    }
}

/// What the run says of the pull of a reading.
fn known(reading: &Reading, run: &Run, loaded: &Loaded) -> Wanted {
    let tool = &run.tool;
    let is_timed = !matches!(reading.series, Series::Preload | Series::Zero);
    let rulebook = loaded.rulebook.as_ref().filter(|_| is_timed);
    let row = rulebook.and_then(|rulebook| rulebook.pull_for(tool.class, tool.range.upper.torque()));
    // A preload of a setting tool is taken to its maximum, where it need not release.
    let mode = match (tool.class.acting(), reading.series) {
        (Acting::Setting, Series::Preload) | (Acting::Indicating, _) => Mode::Peak,
        (Acting::Setting, _) => Mode::FirstPeak,
    };
    Wanted {
        mode,
        target: Some(reading.target),
        window: row.map(|row| LoadingWindow { seconds_min: row.seconds_min, seconds_max: row.seconds_max }),
        resolution: loaded.reference.as_ref().map(|reference| reference.resolution.torque()),
    }
}

/// The file of a reading's trace: as `readings.csv` names it, else by the number of the row.
fn file_of(reading: &Reading) -> String {
    match &reading.trace {
        Some(trace) => trace.file.clone(),
        None => format!("traces/{:04}.ltrc", reading.row),
    }
}

fn see(folder: &Folder, reading: &Reading, wanted: Wanted) -> Result<Seen, OpenError> {
    let file = file_of(reading);
    // A run names no file outside itself: what it opens may come from anywhere.
    if !Path::new(&file).components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir)) {
        return Err(StoreError::NotRelative { path: file }.into());
    }
    let trace = open(folder, &file)?;
    let analysis = analyse(&trace, wanted);
    let facts = facts(&file, &trace, &analysis, Some(reading_facts(reading)));
    Ok(Seen { trace, analysis, facts })
}

fn reading_facts(reading: &Reading) -> ReadingFacts {
    let position = match reading.position.as_str() {
        "" => String::new(),
        position => format!(" {position}"),
    };
    ReadingFacts {
        row: reading.row,
        words: format!("{}{position}, {} {}", reading.series, reading.target, reading.direction),
        reference: reading.reference.to_string(),
        void: match &reading.status {
            Status::Valid => None,
            Status::Void { reason } => Some(reason.clone()),
        },
    }
}

/// Every reading that has a trace; one that cannot be opened does not hide the others.
fn list(
    arguments: &Arguments,
    run: &Run,
    see: impl Fn(&Reading) -> Result<Seen, OpenError>,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    if arguments.svg.is_some() || arguments.csv.is_some() {
        return Err(Failure::bad_input(
            "--svg and --csv are for one trace, and a run has many",
            "say which one by --reading ROW; without options the run's traces are listed",
        ));
    }
    let (mut rows, mut without) = (Vec::new(), 0_usize);
    for reading in &run.readings {
        match see(reading) {
            Ok(seen) => rows.push(Row::of(reading_facts(reading), seen)),
            Err(OpenError::Store(StoreError::Missing { .. })) if reading.trace.is_none() => without += 1,
            Err(error) => {
                let trouble = format!("{error}; {}", error.remedy());
                rows.push(Row::troubled(reading_facts(reading), file_of(reading), trouble));
            }
        }
    }
    if rows.is_empty() {
        return Err(Failure::bad_input(
            format!("no reading of {} has a trace", arguments.path.display()),
            "traces are kept by `leverarm bench`; readings that were typed have none",
        ));
    }
    if arguments.json {
        let list = json!({
            "format": "leverarm traces",
            "version": FACTS_VERSION,
            "program": env!("CARGO_PKG_VERSION"),
            "without_trace": without,
            "traces": rows,
        });
        print_json(out, &list)?;
    } else {
        out.write_all(text(&rows, without, arguments.columns(), arguments.charset()).as_bytes())?;
    }
    let is_whole = rows.iter().all(|row| row.trouble.is_none());
    Ok(if is_whole { Ending::Done } else { Ending::BadInput })
}

fn refuse(loaded: &Loaded, as_json: bool, out: &mut impl Write) -> Result<Ending, Failure> {
    if as_json {
        let findings = diagnose::entries(&loaded.findings, &loaded.sources);
        print_json(out, &json!({ "findings": findings }))?;
    } else {
        eprintln!("{}", diagnose::text(&loaded.findings, &loaded.sources));
    }
    Ok(Ending::BadInput)
}
