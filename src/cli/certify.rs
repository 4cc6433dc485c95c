//! `leverarm certify`: the main job. A run folder, or as found and as left together, becomes a
//! certificate with charts that carries its own proof, with `result.json`, `result.csv`, the Digital
//! Calibration Certificate and the signed list of what is inside, in a folder of its own.

use std::io::Write;
use std::path::{Path, PathBuf};

use chrono::{DateTime, NaiveDate, SubsecRound, Utc};
use clap::{Args, ValueEnum};
use leverarm_metrology::decision::Verdict;
use leverarm_metrology::finding::Severity;
use leverarm_metrology::run::Condition;

use super::evaluate::refuse;
use super::key::{KeyOptions, read_within, seal_failure};
use super::trials::Trials;
use super::{Ending, Failure, print_json};
use crate::assess::{Assessed, Overrides, assess_loaded};
use crate::certificate::compose::Judged;
use crate::certificate::page::{self, PdfBeside};
use crate::certificate::proof::{
    Decided, Gathered, Made, MakeError, PackError, Packed, Parts, RunSource, Sealing, document, gather, make,
    pack, record,
};
use crate::certificate::{Paper, Renderer, number};
use crate::diagnose;
use crate::export::folder::{self, Written};
use crate::ingest;
use crate::ingest::store::Folder;

/// Largest certificate that is looked at before it would be written again, bytes.
const PDF_MAX: u64 = 64 << 20;

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
    #[command(flatten)]
    sign: KeyOptions,
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
    let folders: Vec<&Path> = [Some(&arguments.run), arguments.as_left.as_ref()]
        .into_iter()
        .flatten()
        .map(PathBuf::as_path)
        .collect();
    let (mut runs, mut inputs, mut country) = (Vec::new(), Vec::new(), None);
    for folder in &folders {
        let loaded = ingest::load(folder);
        inputs.push(loaded.inputs.clone());
        country = country.or_else(|| loaded.country.clone());
        let run = assess_loaded(loaded, &overrides)?;
        runs.push(if runs.is_empty() { run } else { run.beside_as_found() });
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
    let decided = Decided {
        number,
        issued,
        paper: match arguments.paper {
            PaperChoice::A4 => Paper::A4,
            PaperChoice::Letter => Paper::UsLetter,
        },
        curve: arguments.curve,
        given_number: arguments.number.clone(),
        given_approver: arguments.approver.clone(),
        seed: overrides.options.monte_carlo.map(|plan| plan.seed),
    };
    let target = target_of(arguments, &decided);
    let stores: Vec<Folder> = folders.iter().map(|folder| Folder::new(folder)).collect();
    let sources: Vec<RunSource> = judged
        .iter()
        .zip(&inputs)
        .zip(&stores)
        .map(|((judged, inputs), store)| RunSource { run: judged.run, inputs, store })
        .collect();
    let files = gather(&sources);
    let certificate = Certificate::new(&runs, &judged, &decided, &files, country.as_deref(), arguments)?;
    let written = folder::write(&target, &certificate.files())?;
    report(arguments, &runs, &certificate, &decided.number, &target, written, out)?;
    let passed = certificate.verdict == Verdict::Pass;
    Ok(if arguments.gate && !passed { Ending::DoesNotConform } else { Ending::Done })
}

/// The files of a certificate, as bytes.
struct Certificate {
    packed: Packed,
    page: Vec<u8>,
    result: Vec<u8>,
    csv: Vec<u8>,
    /// of the last run: the state in which the customer gets the tool back
    verdict: Verdict,
    /// what a careful person is told: no signature, no XML, files that did not go in
    notes: Vec<String>,
}

impl Certificate {
    fn new(
        runs: &[Assessed],
        judged: &[Judged],
        decided: &Decided,
        files: &Gathered,
        country: Option<&str>,
        arguments: &Arguments,
    ) -> Result<Certificate, Failure> {
        let made = make(runs, decided).map_err(make_failure)?;
        let mut notes = Vec::new();
        let xml = match document(judged, &made.view, decided, country) {
            Ok(xml) => Some(xml),
            Err(error) => {
                notes.push(format!("no certificate.xml: {error}\n  mend: {}", error.remedy()));
                None
            }
        };
        for left in files.runs.iter().flat_map(|run| &run.left_out) {
            notes.push(format!(
                "{} ({} bytes) is too large for the PDF: keep it, a recheck needs it beside",
                left.path, left.bytes
            ));
        }
        let key = arguments.sign.open()?;
        let sealing = key.as_ref().map(|key| {
            // A certificate that is there already was signed when it was signed.
            let at = signed_at(&target_of(arguments, decided))
                .or(arguments.sign.signed_at)
                .unwrap_or_else(Utc::now);
            Sealing { key, at: at.trunc_subsecs(0) }
        });
        if sealing.is_none() {
            notes.push(
                "not signed: nobody can tell whose it is, or whether it was changed as a whole \
                 (--sign-with CERT.pem --key KEY.pem; 'leverarm key new' makes a key)"
                    .to_owned(),
            );
        }
        let renderer = Renderer::new().map_err(|error| Failure::fault(error.to_string()))?;
        let parts = Parts { made: &made, decided, files, xml };
        let packed = pack(&renderer, &parts, sealing).map_err(pack_failure)?;
        let owner = key.as_ref().and_then(|key| key.signer().certificate()).map(|owner| owner.subject);
        let beside = PdfBeside {
            name: "certificate.pdf",
            signed_by: owner.as_deref(),
            sha256: Some(&ingest::sha256(&packed.pdf)),
        };
        let page = page::html(&made.view, &made.record, &beside)
            .map_err(|error| Failure::fault(format!("{}: {error}", record::PAGE)))?;
        let Made { result, csv, verdict, .. } = made;
        Ok(Certificate { packed, page, result, csv, verdict, notes })
    }

    /// Name and bytes of each file.
    fn files(&self) -> Vec<(&'static str, &[u8])> {
        let mut files: Vec<(&'static str, &[u8])> = vec![
            ("certificate.pdf", &self.packed.pdf),
            (record::PAGE, &self.page),
            (record::RESULT, &self.result),
            ("result.csv", &self.csv),
        ];
        files.extend(self.packed.xml.as_deref().map(|xml| (record::XML, xml)));
        files.push((record::MANIFEST, &self.packed.manifest));
        files.extend(self.packed.signature.as_deref().map(|signature| (record::SIGNATURE, signature)));
        files
    }
}

/// The folder of the certificate.
fn target_of(arguments: &Arguments, decided: &Decided) -> PathBuf {
    arguments.out.join(number::folder_name(&decided.number))
}

/// When the certificate that is there already was signed. With the same time the same bytes come out,
/// so that what differs in nothing but the time of signing is the same certificate.
fn signed_at(target: &Path) -> Option<DateTime<Utc>> {
    let there = read_within(&target.join("certificate.pdf"), PDF_MAX).ok()?;
    leverarm_seal::pdf::inspect(&there).ok()?.signatures.first()?.signed_at
}

fn make_failure(error: MakeError) -> Failure {
    match &error {
        MakeError::Compose(inner) => Failure::bad_input(error.to_string(), inner.remedy()),
        MakeError::Rounding(_) => Failure::bad_input(
            error.to_string(),
            "look for a reading or an uncertainty that is absurdly small or large",
        ),
        MakeError::Json(_) | MakeError::Csv(_) => Failure::fault(error.to_string()),
    }
}

fn pack_failure(error: PackError) -> Failure {
    match error {
        PackError::Seal(error) => seal_failure(error),
        PackError::Render(error) => Failure::fault(format!("the certificate cannot be set: {error}")),
        PackError::Fault { .. } => Failure::fault(error.to_string()),
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
    certificate: &Certificate,
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
                "verdict": certificate.verdict,
                "folder": target,
                "files": certificate.files().iter().map(|(name, _)| *name).collect::<Vec<_>>(),
                "new": written == Written::New,
                "signed": certificate.packed.signature.is_some(),
                "notes": certificate.notes,
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
    for (file, _) in certificate.files() {
        writeln!(out, "  {}", target.join(file).display())?;
    }
    for note in &certificate.notes {
        writeln!(out, "{note}")?;
    }
    Ok(())
}
