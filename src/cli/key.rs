//! `leverarm key`: a self-made key with its certificate for a start, and what a certificate says. Also
//! how every command gets at the laboratory's key: the passphrase never stands on the command line.

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

use chrono::{DateTime, SubsecRound, Utc};
use clap::{Args, Subcommand};
use leverarm_seal::{Fingerprint, SealError, self_made};
use rand::SeedableRng;
use rand::rngs::{StdRng, SysRng};
use serde::Serialize;
use x509_cert::Certificate;
use x509_cert::der::Encode;
use x509_cert::time::Time;
use zeroize::Zeroizing;

use super::{Ending, Failure, print_json};
use crate::certificate::proof::LaboratoryKey;

/// Where a passphrase may stand, beside a file.
const VARIABLE: &str = "LEVERARM_PASSPHRASE";
/// Largest key, certificate or passphrase file that is read, bytes.
const FILE_MAX: u64 = 256 << 10;

/// Arguments of `leverarm key`.
#[derive(Debug, Args)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Make a key of your own, encrypted, with a certificate to hand to your customers
    New(New),
    /// Show whose a certificate is, its fingerprint and how long it is valid
    Show {
        /// the certificate, PEM
        file: PathBuf,
        /// print JSON
        #[arg(long)]
        json: bool,
    },
}

#[derive(Debug, Args)]
struct New {
    /// the name that customers see as the signer
    #[arg(long)]
    name: String,
    /// the laboratory
    #[arg(long)]
    organisation: String,
    /// the folder for key.pem and certificate.pem; nothing in it is overwritten
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    /// for how many years
    #[arg(long, default_value_t = 5)]
    years: u32,
    /// the first line of this file is the passphrase; else LEVERARM_PASSPHRASE, else it is asked for
    #[arg(long, value_name = "FILE")]
    passphrase_file: Option<PathBuf>,
}

/// The laboratory's key, as options of a command that signs.
#[derive(Debug, Clone, Args)]
pub(super) struct KeyOptions {
    /// sign with the key of this certificate (PEM; those of its issuers may follow in the file)
    #[arg(long, value_name = "CERT.pem", requires = "key")]
    sign_with: Option<PathBuf>,
    /// the key of the certificate, encrypted (PKCS#8, PEM)
    #[arg(long, value_name = "KEY.pem", requires = "sign_with")]
    key: Option<PathBuf>,
    /// sign with the key and certificate of a PKCS#12 file (.p12, .pfx)
    #[arg(long, value_name = "FILE", conflicts_with_all = ["sign_with", "key"])]
    pkcs12: Option<PathBuf>,
    /// the first line of this file is the key's passphrase; else LEVERARM_PASSPHRASE, else it is asked for
    #[arg(long, value_name = "FILE")]
    passphrase_file: Option<PathBuf>,
    /// the time of signing, such as 2026-11-25T10:30:00Z; now where it is not said
    #[arg(long, value_name = "TIME", value_parser = moment)]
    pub(super) signed_at: Option<DateTime<Utc>>,
}

fn moment(text: &str) -> Result<DateTime<Utc>, String> {
    DateTime::parse_from_rfc3339(text.trim())
        .map(|time| time.with_timezone(&Utc).trunc_subsecs(0))
        .map_err(|_| "write the time with its zone, such as 2026-11-25T10:30:00Z".to_owned())
}

impl KeyOptions {
    /// Opens the key that was named; `None` where none was.
    pub(super) fn open(&self) -> Result<Option<LaboratoryKey>, Failure> {
        if let Some(path) = &self.pkcs12 {
            let bytes = Zeroizing::new(read(path)?);
            let passphrase = passphrase(self.passphrase_file.as_deref(), false)?;
            return LaboratoryKey::from_pkcs12(&bytes, &passphrase).map(Some).map_err(seal_failure);
        }
        let (Some(certificate), Some(key)) = (&self.sign_with, &self.key) else { return Ok(None) };
        let (certificate, key) = (text(certificate)?, Zeroizing::new(text(key)?));
        let passphrase = passphrase(self.passphrase_file.as_deref(), false)?;
        LaboratoryKey::from_pem(&key, &certificate, &passphrase).map(Some).map_err(seal_failure)
    }
}

/// A failure of the seal: what the user can mend, or ours.
pub(super) fn seal_failure(error: SealError) -> Failure {
    match error.remedy() {
        Some(remedy) => Failure::bad_input(error.to_string(), remedy),
        None if matches!(error, SealError::Fault { .. }) => Failure::fault(error.to_string()),
        None => Failure::bad_input(error.to_string(), "look whether this is the right file"),
    }
}

/// The passphrase: of a file, of the environment, or of the person at the terminal, who does not see it.
fn passphrase(file: Option<&Path>, new: bool) -> Result<Zeroizing<String>, Failure> {
    if let Some(file) = file {
        let text = Zeroizing::new(text(file)?);
        return Ok(Zeroizing::new(text.lines().next().unwrap_or_default().to_owned()));
    }
    if let Ok(found) = std::env::var(VARIABLE) {
        return Ok(Zeroizing::new(found));
    }
    let remedy = format!("set {VARIABLE}, name a file with --passphrase-file, or run it at a terminal");
    if !std::io::stdin().is_terminal() {
        return Err(Failure::bad_input("there is no passphrase for the key, and no terminal to ask", remedy));
    }
    let ask = |words: &str| {
        rpassword::prompt_password(words).map(Zeroizing::new).map_err(|error| {
            Failure::bad_input(format!("the passphrase cannot be asked for: {error}"), remedy.clone())
        })
    };
    let first = ask("Passphrase of the key: ")?;
    if new && *ask("The same once more: ")? != *first {
        return Err(Failure::bad_input("the two passphrases differ", "type the same twice"));
    }
    Ok(first)
}

/// A small file.
pub(super) fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    read_within(path, FILE_MAX)
}

/// A file of at most so many bytes; a folder, a pipe or a device is none.
pub(super) fn read_within(path: &Path, limit: u64) -> Result<Vec<u8>, Failure> {
    use std::io::Read;
    let shown = path.display();
    let failure = |error: std::io::Error| {
        Failure::bad_input(format!("cannot read {shown}: {error}"), "see whether the path is right")
    };
    let about = std::fs::metadata(path).map_err(failure)?;
    if !about.is_file() || about.len() > limit {
        let what = format!("{shown} is not a file of at most {limit} bytes");
        return Err(Failure::bad_input(what, "see whether this is the right file"));
    }
    let mut bytes = Vec::new();
    std::fs::File::open(path).map_err(failure)?.take(limit).read_to_end(&mut bytes).map_err(failure)?;
    Ok(bytes)
}

pub(super) fn text(path: &Path) -> Result<String, Failure> {
    String::from_utf8(read(path)?).map_err(|_| {
        let shown = path.display();
        Failure::bad_input(format!("{shown} is not text"), "give the PEM file, or use --pkcs12")
    })
}

/// Bytes that nobody can foresee, seeded by the system.
fn random() -> Result<StdRng, Failure> {
    StdRng::try_from_rng(&mut SysRng)
        .map_err(|error| Failure::fault(format!("the system gives no random bytes: {error}")))
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    match &arguments.what {
        What::New(new) => make(new, out),
        What::Show { file, json } => show(&text(file)?, *json, out),
    }
}

fn make(new: &New, out: &mut impl Write) -> Result<Ending, Failure> {
    let (key, certificate) = (new.out.join("key.pem"), new.out.join("certificate.pem"));
    if let Some(there) = [&key, &certificate].into_iter().find(|path| path.exists()) {
        let what = format!("{} is there already; a key is never overwritten", there.display());
        return Err(Failure::bad_input(what, "name another folder with --out"));
    }
    let passphrase = passphrase(new.passphrase_file.as_deref(), true)?;
    let now = Utc::now().trunc_subsecs(0);
    let made = self_made(&new.name, &new.organisation, &mut random()?, now, new.years, &passphrase)
        .map_err(seal_failure)?;
    let made_key = Zeroizing::new(made.key_pem);
    let written = std::fs::create_dir_all(&new.out)
        .and_then(|()| create(&certificate, made.certificate_pem.as_bytes(), false))
        .and_then(|()| create(&key, made_key.as_bytes(), true));
    written.map_err(|error| {
        let what = format!("cannot write the key into {}: {error}", new.out.display());
        Failure::bad_input(what, "name a folder that may be written to and holds no key yet")
    })?;
    writeln!(out, "{}  the key, encrypted: keep it, and keep a copy elsewhere", key.display())?;
    writeln!(out, "{}  the certificate: give it to your customers", certificate.display())?;
    show(&made.certificate_pem, false, out)
}

/// Writes a new file; what is there is never overwritten. A secret one is for its owner alone.
fn create(path: &Path, bytes: &[u8], secret: bool) -> std::io::Result<()> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, if secret { 0o600 } else { 0o644 });
    let _ = secret;
    let mut file = options.open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn show(pem: &str, json: bool, out: &mut impl Write) -> Result<Ending, Failure> {
    let found = certificates(pem)?;
    if json {
        print_json(out, &found)?;
        return Ok(Ending::Done);
    }
    for certificate in &found {
        writeln!(out, "\nsubject      {}", certificate.subject)?;
        let issuer = if certificate.self_issued { "itself" } else { &certificate.issuer };
        writeln!(out, "issued by    {issuer}")?;
        let day = |time: DateTime<Utc>| time.format("%Y-%m-%d").to_string();
        writeln!(out, "valid        {} to {}", day(certificate.not_before), day(certificate.not_after))?;
        writeln!(out, "fingerprint  {}", certificate.sha256)?;
    }
    writeln!(
        out,
        "\nPublish the fingerprint where your customers can see that it is yours, such as on paper or on \
         your web site: they compare it with what their reader or 'leverarm recheck' shows."
    )?;
    Ok(Ending::Done)
}

/// The fingerprint of each certificate of a PEM text.
pub(super) fn fingerprints(pem: &str) -> Result<Vec<Fingerprint>, Failure> {
    Ok(certificates(pem)?.iter().filter_map(|found| Fingerprint::parse(&found.sha256)).collect())
}

/// What a person wants to know of a certificate.
#[derive(Debug, Serialize)]
struct Summary {
    subject: String,
    issuer: String,
    self_issued: bool,
    not_before: DateTime<Utc>,
    not_after: DateTime<Utc>,
    sha256: String,
}

/// What the certificates of a PEM text say.
fn certificates(pem: &str) -> Result<Vec<Summary>, Failure> {
    let unreadable = |reason: String| {
        Failure::bad_input(
            format!("no certificate can be read: {reason}"),
            "give the certificate, -----BEGIN CERTIFICATE-----, not the key",
        )
    };
    let found = Certificate::load_pem_chain(pem.as_bytes()).map_err(|error| unreadable(error.to_string()))?;
    if found.is_empty() {
        return Err(unreadable("there is none".to_owned()));
    }
    found
        .iter()
        .map(|certificate| {
            let tbs = certificate.tbs_certificate();
            let moment = |time: &Time| {
                let seconds = i64::try_from(time.to_unix_duration().as_secs()).unwrap_or(i64::MAX);
                DateTime::from_timestamp(seconds, 0).unwrap_or_default()
            };
            let der = certificate.to_der().map_err(|error| unreadable(error.to_string()))?;
            Ok(Summary {
                subject: tbs.subject().to_string(),
                issuer: tbs.issuer().to_string(),
                self_issued: tbs.subject() == tbs.issuer(),
                not_before: moment(&tbs.validity().not_before),
                not_after: moment(&tbs.validity().not_after),
                sha256: Fingerprint::of(&der).to_string(),
            })
        })
        .collect()
}
