//! `leverarm recheck`: is this certificate genuine, and does every number in it follow from the readings.

use std::io::Write;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use chrono::Utc;
use clap::Args;
use leverarm_seal::{Fingerprint, Trust, WithdrawnList};
use serde::Serialize;

use super::key::{read_within, seal_failure, text};
use super::{Ending, Failure, print_json};
use crate::certificate::Renderer;
use crate::certificate::proof::record::SIGNATURE;
use crate::recheck::{
    Conclusion, Outcome, Question, RecheckError, Report, recheck, recheck_manifest, recheck_result,
    recheck_xml,
};

/// Largest file that is rechecked, bytes.
const FILE_MAX: u64 = 64 << 20;
/// Largest list of withdrawn numbers, bytes.
const LIST_MAX: u64 = 8 << 20;

/// Arguments of `leverarm recheck`.
#[derive(Debug, Args)]
#[command(after_help = "Exit codes: 0 everything agrees and a signer who is known (--trust) signed it; \
    1 something differs, or it is unsigned (--unsigned-ok), its signer is not known (--any-signer), or it \
    was withdrawn; 2 the file is no certificate of leverarm or cannot be read. The signature's time is \
    the laboratory's word.")]
pub struct Arguments {
    /// certificate.pdf, result.json, certificate.xml or manifest.sha256; several are rechecked one by one
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// the laboratory's certificate (PEM, its root's too) or its fingerprint, had by a way that you trust
    #[arg(long, value_name = "CERT.pem|FINGERPRINT")]
    trust: Vec<String>,
    /// the laboratory's list of withdrawn certificates; its signature stands beside it as LIST.json.der
    #[arg(long, value_name = "LIST.json")]
    withdrawn: Option<PathBuf>,
    /// an unsigned certificate whose numbers agree is enough
    #[arg(long)]
    unsigned_ok: bool,
    /// a signer who is not known is enough: anybody can have made the file
    #[arg(long)]
    any_signer: bool,
    /// print JSON
    #[arg(long)]
    json: bool,
}

/// What came out for one file.
#[derive(Serialize)]
struct Answer {
    file: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    report: Option<Report>,
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<String>,
    #[serde(skip)]
    remedy: Option<String>,
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let (trust, known) = trust(&arguments.trust)?;
    let withdrawn = arguments.withdrawn.as_deref().map(|path| list(path, &trust)).transpose()?;
    let renderer = Renderer::new().map_err(|error| Failure::fault(error.to_string()))?;
    let processors = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    let many = arguments.files.len() > 1;
    let question = Question {
        trust: &trust,
        known: &known,
        now: Utc::now(),
        withdrawn: withdrawn.as_ref(),
        unsigned_ok: arguments.unsigned_ok,
        any_signer: arguments.any_signer,
        renderer: &renderer,
        // One certificate uses every processor; of many, each uses one.
        threads: if many { NonZeroUsize::MIN } else { processors },
    };
    let answers = answers(&arguments.files, &question, if many { processors.get() } else { 1 });
    if arguments.json {
        print_json(out, &answers)?;
    } else {
        for answer in &answers {
            print(answer, out)?;
        }
        if many {
            summary(&answers, out)?;
        }
    }
    Ok(ending(&answers))
}

/// Rechecks each file, in the order given, on so many threads.
fn answers(files: &[PathBuf], question: &Question<'_>, threads: usize) -> Vec<Answer> {
    if threads == 1 {
        return files.iter().map(|file| answer(file, question)).collect();
    }
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, Answer)>> = Mutex::new(Vec::with_capacity(files.len()));
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                while let Some((place, file)) = {
                    let place = next.fetch_add(1, Ordering::Relaxed);
                    files.get(place).map(|file| (place, file))
                } {
                    let found = answer(file, question);
                    if let Ok(mut done) = done.lock() {
                        done.push((place, found));
                    }
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_default();
    done.sort_by_key(|(place, _)| *place);
    done.into_iter().map(|(_, answer)| answer).collect()
}

fn answer(file: &Path, question: &Question<'_>) -> Answer {
    let shown = file.display().to_string();
    let refused = |message: String, remedy: &str| Answer {
        file: shown.clone(),
        report: None,
        error: Some(message),
        remedy: Some(remedy.to_owned()),
    };
    let bytes = match read_within(file, FILE_MAX) {
        Ok(bytes) => bytes,
        Err(failure) => return refused(failure.to_string(), "see whether the path is right"),
    };
    match report(file, &bytes, question) {
        Ok(report) => Answer { file: shown, report: Some(report), error: None, remedy: None },
        Err(error) => refused(error.to_string(), error.remedy()),
    }
}

/// By what the file holds, not by its name.
fn report(file: &Path, bytes: &[u8], question: &Question<'_>) -> Result<Report, RecheckError> {
    if bytes.starts_with(b"%PDF-") {
        return recheck(bytes, question);
    }
    let folder = file.parent().unwrap_or_else(|| Path::new(""));
    let beside = |name: &str| read_within(&folder.join(name), FILE_MAX).ok();
    let pdf = beside("certificate.pdf");
    let start = bytes.iter().position(|byte| !byte.is_ascii_whitespace()).unwrap_or(bytes.len());
    match bytes.get(start).copied() {
        Some(b'{') => recheck_result(bytes, pdf.as_deref(), question),
        Some(b'<') => recheck_xml(bytes, pdf.as_deref(), question),
        Some(b'#') => recheck_manifest(bytes, beside(SIGNATURE).as_deref(), pdf.as_deref(), question),
        _ => Err(RecheckError::NotOurs { reason: "it is neither PDF, JSON, XML nor a manifest".to_owned() }),
    }
}

/// Whom the caller trusts.
pub(super) fn trust(given: &[String]) -> Result<(Trust, Vec<Fingerprint>), Failure> {
    let (mut trust, mut known) = (Trust::nobody(), Vec::new());
    for word in given {
        if let Some(fingerprint) = Fingerprint::parse(word) {
            trust = trust.known(fingerprint);
            known.push(fingerprint);
            continue;
        }
        let pem = text(Path::new(word))?;
        trust = trust.known_pem(&pem).and_then(|trust| trust.roots_pem(&pem)).map_err(seal_failure)?;
        known.extend(super::key::fingerprints(&pem)?);
    }
    Ok((trust, known))
}

fn list(path: &Path, trust: &Trust) -> Result<WithdrawnList, Failure> {
    let json = read_within(path, LIST_MAX)?;
    let mut name = path.as_os_str().to_owned();
    name.push(".der");
    let beside = [PathBuf::from(name), path.with_extension("der")];
    let signature = beside.iter().find_map(|path| read_within(path, LIST_MAX).ok());
    let signature = signature.ok_or_else(|| {
        let what = format!("the signature of the list is not there: {}", beside[0].display());
        Failure::bad_input(what, "fetch both files from the laboratory")
    })?;
    match WithdrawnList::verify(&json, &signature, trust, Utc::now()) {
        Ok((list, _)) => Ok(list),
        Err(error) => Err(Failure::bad_input(error.to_string(), error.remedy())),
    }
}

fn print(answer: &Answer, out: &mut impl Write) -> Result<(), Failure> {
    if let Some(error) = &answer.error {
        writeln!(out, "{}\n  cannot be rechecked: {error}", answer.file)?;
        if let Some(remedy) = &answer.remedy {
            writeln!(out, "  mend: {remedy}")?;
        }
        return Ok(());
    }
    let Some(report) = &answer.report else { return Ok(()) };
    writeln!(out, "{}: certificate {}", answer.file, report.number)?;
    for line in &report.lines {
        let mark = match line.outcome {
            Outcome::Agrees => "agrees ",
            Outcome::Differs => "DIFFERS",
            Outcome::Missing => "MISSING",
            Outcome::Note => "note   ",
        };
        writeln!(out, "  {mark}  {:<15}  {}", line.part, line.words)?;
        for difference in &line.differences {
            writeln!(out, "             {difference}")?;
        }
        if line.further > 0 {
            writeln!(out, "             and {} more", line.further)?;
        }
    }
    writeln!(out, "{}", conclusion(report.conclusion))?;
    Ok(())
}

const fn conclusion(conclusion: Conclusion) -> &'static str {
    match conclusion {
        Conclusion::Agrees => "Everything agrees.",
        Conclusion::Differs => {
            "DO NOT RELY ON THIS FILE: it is not what follows from its own readings, or not what was signed."
        }
        Conclusion::Unsigned => {
            "Every number follows from the readings inside; but nobody signed it, and nobody can tell whose it is."
        }
        Conclusion::UnknownSigner => {
            "Every number follows from the readings inside; but the signer is not known to you (--trust)."
        }
        Conclusion::Withdrawn => "NO LONGER VALID: the laboratory has withdrawn this certificate.",
    }
}

fn summary(answers: &[Answer], out: &mut impl Write) -> Result<(), Failure> {
    let count = |wanted: Conclusion| {
        let reports = answers.iter().filter_map(|answer| answer.report.as_ref());
        reports.filter(|report| report.conclusion == wanted).count()
    };
    let refused = answers.iter().filter(|answer| answer.report.is_none()).count();
    writeln!(
        out,
        "\n{} files: {} agree, {} differ, {} unsigned, {} of a signer who is not known, {} withdrawn, {refused} \
         cannot be rechecked",
        answers.len(),
        count(Conclusion::Agrees),
        count(Conclusion::Differs),
        count(Conclusion::Unsigned),
        count(Conclusion::UnknownSigner),
        count(Conclusion::Withdrawn),
    )?;
    Ok(())
}

fn ending(answers: &[Answer]) -> Ending {
    let agrees = |answer: &Answer| {
        answer.report.as_ref().is_some_and(|report| report.conclusion == Conclusion::Agrees)
    };
    if answers.iter().any(|answer| answer.report.is_none()) {
        Ending::BadInput
    } else if answers.iter().all(agrees) {
        Ending::Done
    } else {
        Ending::RecheckFailed
    }
}
