//! `leverarm pair`: the values that an electronic tool stored become the indicated values of a run.

use std::io::Write;
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use clap::Args;
use leverarm_metrology::finding::Document;

use super::{Ending, Failure, print_json};
use crate::bench::live::TRACES;
use crate::diagnose;
use crate::export::folder::{self, FolderError, Written};
use crate::ingest::store::{Folder, Store, TOML_BYTES_MAX, TRACE_BYTES_MAX};
use crate::ingest::stored::{self, Ask, MAPPING_FILE, Named, Paired, RECORD_FILE, Refused, StoredError};
use crate::ingest::{Loaded, load};

/// Where the mappings of a laboratory are, beside its run folders.
const REMEMBERED: &str = "stored-columns";

/// Arguments of `leverarm pair`.
#[derive(Debug, Args)]
pub struct Arguments {
    /// the run folder; the cells of `indicated` that are empty are filled, in a new folder
    run: PathBuf,
    /// the file that the tool gave out: XLSX or CSV
    #[arg(long, value_name = "FILE")]
    stored: PathBuf,
    /// which column is what; without it stored.toml of the run folder is taken, or
    /// stored-columns/MODEL.toml beside the run folder
    #[arg(long, value_name = "FILE")]
    columns: Option<PathBuf>,
    /// take only these rows of the tool's file, such as 12-29
    #[arg(long, value_name = "FIRST-LAST", value_parser = rows)]
    rows: Option<RangeInclusive<u32>>,
    /// the new run folder, beside the old one; without it the name of the run with -paired
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// show the pairing and write nothing
    #[arg(long)]
    show: bool,
    /// print the record of the pairing, or the refusal, as JSON
    #[arg(long)]
    json: bool,
}

fn rows(text: &str) -> Result<RangeInclusive<u32>, String> {
    let wrong = || format!("'{text}' is not a first and a last row such as 12-29");
    let (first, last) = text.split_once('-').ok_or_else(wrong)?;
    let number = |digits: &str| digits.trim().parse::<u32>().map_err(|_| wrong());
    let (first, last) = (number(first)?, number(last)?);
    if first == 0 || last < first { Err(wrong()) } else { Ok(first..=last) }
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    match pair(arguments) {
        Ok((paired, files)) => {
            let written = if arguments.show { None } else { Some(write(arguments, &paired, &files)?) };
            tell(arguments, &paired, written, out)?;
            Ok(Ending::Done)
        }
        Err(Refused::NotReadBack) => Err(Failure::fault(
            "the filled readings do not read back as they were meant; nothing was written",
        )),
        Err(Refused::Run(loaded)) => refuse_run(&loaded, arguments.json, out),
        Err(Refused::Stored(error)) => refuse(&error, arguments.json, out),
    }
}

/// The two files of the tool, as they were read.
struct Files {
    stored_name: String,
    stored: Vec<u8>,
    mapping: Vec<u8>,
}

fn pair(arguments: &Arguments) -> Result<(Paired, Files), Refused> {
    let (mapping_name, mapping) = mapping(arguments)?;
    let (stored_name, stored) = read(&arguments.stored, stored::STORED_BYTES_MAX)?;
    let ask = Ask {
        store: &Folder::new(&arguments.run),
        stored: Named { file: &stored_name, bytes: &stored },
        mapping: Named { file: &mapping_name, bytes: &mapping },
        rows: arguments.rows.clone(),
    };
    let paired = stored::pair_run(&ask)?;
    Ok((paired, Files { stored_name, stored, mapping }))
}

/// The name of a file and its content.
fn read(path: &Path, limit: u64) -> Result<(String, Vec<u8>), StoredError> {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let holder = path.parent().filter(|holder| !holder.as_os_str().is_empty());
    let bytes = Folder::new(holder.unwrap_or(Path::new("."))).read(&name, limit)?;
    Ok((name, bytes))
}

/// The mapping: as it is given, of the run, or remembered for the model.
fn mapping(arguments: &Arguments) -> Result<(String, Vec<u8>), StoredError> {
    if let Some(path) = &arguments.columns {
        return read(path, TOML_BYTES_MAX);
    }
    let own = arguments.run.join(MAPPING_FILE);
    if own.exists() {
        return read(&own, TOML_BYTES_MAX);
    }
    let model = load(&arguments.run).run.map(|run| slug(&run.tool.model)).unwrap_or_default();
    let remembered = beside(&arguments.run).join(REMEMBERED).join(format!("{model}.toml"));
    if !model.is_empty() && remembered.exists() {
        read(&remembered, TOML_BYTES_MAX)
    } else {
        read(&own, TOML_BYTES_MAX)
    }
}

/// A model as a file name: `TE 135` is `te-135`.
fn slug(model: &str) -> String {
    let words: Vec<String> = model
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    words.join("-")
}

fn beside(run: &Path) -> PathBuf {
    let whole = run.canonicalize().unwrap_or_else(|_| run.to_owned());
    whole.parent().map(Path::to_owned).unwrap_or(whole)
}

fn target(arguments: &Arguments) -> PathBuf {
    let run = arguments.run.canonicalize().unwrap_or_else(|_| arguments.run.clone());
    let name = run.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    arguments.out.clone().unwrap_or_else(|| {
        let shown = arguments.run.file_name().and(arguments.run.parent());
        shown.map_or_else(|| beside(&run), Path::to_owned).join(format!("{name}-paired"))
    })
}

/// Writes the new run folder: everything that the run has of its own, the filled readings, what the
/// tool gave out, the mapping and the record.
fn write(arguments: &Arguments, paired: &Paired, files: &Files) -> Result<(PathBuf, Written), Failure> {
    let target = target(arguments);
    let record = json(&paired.record)?;
    let inputs = &paired.before.inputs;
    let own = |path: &str| !path.contains(['/', '\\']);
    let reaches_out = |path: &str| path.starts_with("../");
    let is_file = |document: Document, path: &str| document != Document::Rulebook || path.ends_with(".toml");
    let mut content: Vec<(&str, &[u8])> = Vec::new();
    for input in inputs.iter().filter(|input| is_file(input.document, &input.path)) {
        let path = input.path.as_str();
        let bytes =
            if path == paired.readings_path { paired.readings.as_slice() } else { input.bytes.as_slice() };
        if own(path) {
            content.push((path, bytes));
        } else if !reaches_out(path) || path == paired.readings_path {
            return Err(Failure::bad_input(
                format!("the run names {path}, which is neither in the run folder itself nor beside it"),
                "move that file into the run folder, or to the folders beside it",
            ));
        } else if beside(&target) != beside(&arguments.run) && !same_holder(&target, &arguments.run) {
            return Err(Failure::bad_input(
                format!("{} is not beside the run folder, and the run names {path}", target.display()),
                "give a folder (--out) beside the run folder, so that its paths stay true",
            ));
        }
    }
    let traces = traces(arguments)?;
    content.extend(traces.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())));
    content.extend([
        (files.stored_name.as_str(), files.stored.as_slice()),
        (MAPPING_FILE, files.mapping.as_slice()),
        (RECORD_FILE, record.as_slice()),
    ]);
    let twice = content
        .iter()
        .enumerate()
        .find(|(at, (name, _))| content.iter().skip(at + 1).any(|(n, _)| n == name));
    if let Some((_, (name, _))) = twice {
        return Err(Failure::bad_input(
            format!("the file of the tool and one of the run are both called {name}"),
            "give the file of the tool another name",
        ));
    }
    match folder::write(&target, &content) {
        Ok(written) => Ok((target, written)),
        Err(FolderError::Occupied { path, file }) => Err(Failure::bad_input(
            format!(
                "{} is there already and holds something else (the first difference is {file})",
                path.display()
            ),
            "give another folder (--out); a record is never edited in place",
        )),
        Err(error) => Err(error.into()),
    }
}

/// The traces of the run: they belong to the new folder as to the old one.
fn traces(arguments: &Arguments) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let folder = arguments.run.join(TRACES);
    let unreadable = |error: std::io::Error| {
        Failure::bad_input(
            format!("{} cannot be read: {error}", folder.display()),
            "give yourself permission to read the traces",
        )
    };
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let store = Folder::new(&arguments.run);
    let mut traces = Vec::new();
    for entry in std::fs::read_dir(&folder).map_err(unreadable)? {
        let name = format!("{TRACES}/{}", entry.map_err(unreadable)?.file_name().to_string_lossy());
        let bytes = store.read(&name, TRACE_BYTES_MAX).map_err(|error| {
            Failure::bad_input(error.to_string(), "leave nothing but traces in the folder of the traces")
        })?;
        traces.push((name, bytes));
    }
    traces.sort();
    Ok(traces)
}

fn same_holder(target: &Path, run: &Path) -> bool {
    let holder = target.parent().filter(|holder| !holder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    holder.canonicalize().is_ok_and(|holder| holder == beside(run))
}

fn json(value: &impl serde::Serialize) -> Result<Vec<u8>, Failure> {
    let mut bytes = serde_json::to_vec_pretty(value)?;
    bytes.push(b'\n');
    Ok(bytes)
}

fn tell(
    arguments: &Arguments,
    paired: &Paired,
    written: Option<(PathBuf, Written)>,
    out: &mut impl Write,
) -> Result<(), Failure> {
    if arguments.json {
        return print_json(out, &paired.record);
    }
    out.write_all(stored::text(&paired.record).as_bytes())?;
    let count = paired.record.pairs.len();
    match written {
        None => writeln!(out, "{count} readings paired; nothing written (--show)")?,
        Some((folder, Written::New)) => {
            writeln!(out, "{count} readings paired, written to {}", folder.display())?
        }
        Some((folder, Written::Same)) => {
            writeln!(out, "{count} readings paired, unchanged: {} was there already", folder.display())?;
        }
    }
    Ok(())
}

fn refuse_run(loaded: &Loaded, as_json: bool, out: &mut impl Write) -> Result<Ending, Failure> {
    if as_json {
        let findings: Vec<_> = diagnose::entries(&loaded.findings, &loaded.sources);
        print_json(out, &serde_json::json!({ "verdict": "refused", "findings": findings }))?;
    } else {
        eprintln!("{}", diagnose::text(&loaded.findings, &loaded.sources));
    }
    Ok(Ending::BadInput)
}

fn refuse(error: &StoredError, as_json: bool, out: &mut impl Write) -> Result<Ending, Failure> {
    let (name, message, remedy) = (error.name(), error.to_string(), error.remedy());
    if as_json {
        let doubt = match error {
            StoredError::Doubt(doubt) => serde_json::to_value(doubt)?,
            _ => serde_json::Value::Null,
        };
        let said = serde_json::json!({
            "verdict": "refused", "error": name, "message": message, "remedy": remedy, "numbers": doubt,
        });
        print_json(out, &said)?;
    } else {
        // A message that begins with the name of a file keeps it as it is spelled.
        let sentence = match error {
            StoredError::Doubt(_) => diagnose::sentence(&message),
            _ => format!("{message}."),
        };
        let sentence = diagnose::harmless(&sentence);
        eprintln!(
            "ERROR {name}\n  {sentence}\n  {:<9}{remedy}\nNothing was paired and nothing written.",
            "mend"
        );
    }
    Ok(Ending::BadInput)
}
