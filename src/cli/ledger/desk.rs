//! What every command of the ledger needs: the ledger, who writes, and how to say what happened.

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::{Head, Time};
use leverarm_ledger::event::{Authority, Event, FileRef};
use leverarm_ledger::keys::{KeyError, Signer};
use leverarm_ledger::rules::Command;
use leverarm_ledger::state::State;
use leverarm_ledger::text::Id;
use leverarm_ledger::{LedgerError, Refusal};
use rand::SeedableRng;
use rand::rngs::{StdRng, SysRng};
use serde::Serialize;
use zeroize::Zeroizing;

use super::Common;
use super::names;
use crate::cli::key::read_within;
use crate::cli::{Ending, Failure, print_json};
use crate::diagnose::harmless;
use crate::office::store::{self, AnyLedger, Place};

const LEDGER: &str = "LEVERARM_LEDGER";
const PERSON: &str = "LEVERARM_AS";
const SCHEMA: &str = "LEVERARM_SCHEMA";
const KEY: &str = "LEVERARM_KEY";
const PASSPHRASE: &str = "LEVERARM_PASSPHRASE";
const DEFAULT_LEDGER: &str = "ledger.sqlite";
/// Largest key or passphrase file, bytes.
const KEY_MAX: u64 = 64 << 10;

/// Where a command works.
pub(super) struct Desk<'a, W> {
    common: &'a Common,
    pub(super) out: &'a mut W,
}

/// The clock of this computer, with its offset from UTC.
pub(super) fn now() -> Time {
    chrono::Local::now().fixed_offset()
}

impl<'a, W: Write> Desk<'a, W> {
    pub(super) fn new(common: &'a Common, out: &'a mut W) -> Desk<'a, W> {
        Desk { common, out }
    }

    pub(super) fn json(&self) -> bool {
        self.common.json
    }

    /// Where the ledger is.
    pub(super) fn place(&self) -> Result<Place, Failure> {
        let given = self.common.ledger.as_deref().map(|text| self.place_of(text)).transpose()?;
        Ok(given.unwrap_or_else(|| {
            let found = variable(LEDGER).unwrap_or_else(|| DEFAULT_LEDGER.to_owned());
            self.in_schema(Place::parse(&found))
        }))
    }

    /// A place as it stands on the command line.
    pub(super) fn place_of(&self, text: &str) -> Result<Place, Failure> {
        let place = Place::parse(text);
        if place.names_password() {
            let what = "every user of this computer can read a password on a command line";
            let remedy =
                format!("leave it out: put it into ~/.pgpass, or the whole connection into {LEDGER}");
            return Err(Failure::bad_input(what, remedy));
        }
        Ok(self.in_schema(place))
    }

    fn in_schema(&self, place: Place) -> Place {
        match self.common.schema.clone().or_else(|| variable(SCHEMA)) {
            Some(schema) => place.with_schema(&schema),
            None => place,
        }
    }

    /// Opens the ledger. One that is damaged is not read further: `verify` says what is wrong.
    pub(super) fn open(&self) -> Result<AnyLedger, Failure> {
        let place = self.place()?;
        if let Place::File(path) = &place
            && !path.exists()
        {
            let what = format!("there is no ledger {}", harmless(&path.display().to_string()));
            let remedy =
                format!("name it with --ledger or {LEDGER}; 'leverarm ledger init' founds a new one");
            return Err(Failure::bad_input(what, remedy));
        }
        store::open(&place).map_err(|error| match &error {
            LedgerError::Damaged { .. } => Failure::bad_input(
                harmless(&error.to_string()),
                format!("'leverarm ledger verify' looks at all of it; {}", error.remedy()),
            ),
            _ => failure(&error, None),
        })
    }

    /// Who writes.
    pub(super) fn person(&self) -> Result<Id, Failure> {
        let name = self.common.person.clone().or_else(|| variable(PERSON)).ok_or_else(|| {
            Failure::bad_input(
                "it is not said who writes",
                format!("name yourself with --as PERSON, or in {PERSON}"),
            )
        })?;
        names::id(&name).map_err(|reason| Failure::bad_input(reason, "give the name in the ledger"))
    }

    /// The file of the writer's key.
    pub(super) fn key_path(&self) -> Result<PathBuf, Failure> {
        let path = self.common.key.clone().or_else(|| variable(KEY).map(PathBuf::from));
        path.ok_or_else(|| {
            Failure::bad_input(
                "nothing is written without a signature, and no key was named",
                format!("name your key with --key KEY.pem, or in {KEY}"),
            )
        })
    }

    /// The passphrase of the writer's key; a new one is asked for twice.
    pub(super) fn passphrase(&self, words: &str, new: bool) -> Result<Zeroizing<String>, Failure> {
        passphrase(self.common.passphrase_file.as_deref(), PASSPHRASE, words, new)
    }

    /// The writer with his key.
    pub(super) fn signer(&self, ledger: &AnyLedger) -> Result<Signer, Failure> {
        let id = self.person()?;
        if !ledger.state().people().contains_key(&id) {
            let refusal = Refusal::UnknownAuthor { author: id };
            return Err(failure(&refusal.into(), Some(ledger.state())));
        }
        let path = self.key_path()?;
        let shown = harmless(&path.display().to_string());
        let bytes = Zeroizing::new(read_within(&path, KEY_MAX)?);
        let pem = std::str::from_utf8(&bytes).map_err(|_| {
            Failure::bad_input(format!("{shown} is not text"), "give the PEM file of your key")
        })?;
        let passphrase = self.passphrase(&format!("Passphrase of {shown}: "), false)?;
        Signer::from_pem(id, pem, &passphrase).map_err(|error| key_failure(&error))
    }

    /// Records one event with its files, and says so.
    pub(super) fn record(
        &mut self,
        event: Event,
        files: &[Vec<u8>],
        said: &str,
        more: serde_json::Value,
    ) -> Result<Ending, Failure> {
        let mut ledger = self.open()?;
        let signer = self.signer(&ledger)?;
        let head = write(&mut ledger, &signer, event, files)?;
        self.said(head, said, more)
    }

    /// Says what was recorded.
    pub(super) fn said(
        &mut self,
        head: Head,
        said: &str,
        more: serde_json::Value,
    ) -> Result<Ending, Failure> {
        if self.json() {
            let mut object = serde_json::json!({ "entry": head.sequence, "hash": head.hash });
            if let (Some(object), serde_json::Value::Object(more)) = (object.as_object_mut(), more) {
                object.extend(more);
            }
            print_json(self.out, &object)?;
        } else {
            writeln!(self.out, "{}", harmless(&said.replace('\n', " ")))?;
            writeln!(self.out, "  entry {}, {}", head.sequence, head.hash)?;
        }
        Ok(Ending::Done)
    }

    /// Prints a value as JSON.
    pub(super) fn print(&mut self, value: &impl Serialize) -> Result<Ending, Failure> {
        print_json(self.out, value)?;
        Ok(Ending::Done)
    }

    /// A line for people; what others wrote in it does no harm.
    pub(super) fn line(&mut self, text: &str) -> Result<(), Failure> {
        writeln!(self.out, "{}", harmless(text))?;
        Ok(())
    }

    /// A table for people.
    pub(super) fn table(&mut self, header: &[&str], rows: Vec<Vec<String>>) -> Result<(), Failure> {
        let header = header.iter().map(|&name| name.to_owned()).collect();
        // A line break of a long remark would break the table.
        let cell = |text: String| harmless(&text.replace('\n', " "));
        let rows = rows.into_iter().map(|row| row.into_iter().map(cell).collect()).collect();
        writeln!(self.out, "{}", crate::export::lines::table(header, rows, 0..0))?;
        Ok(())
    }
}

/// Records one event.
pub(super) fn write(
    ledger: &mut AnyLedger,
    signer: &Signer,
    event: Event,
    files: &[Vec<u8>],
) -> Result<Head, Failure> {
    let done = ledger.record(signer, &now, Command::Record(event), files);
    done.map_err(|error| failure(&error, Some(ledger.state())))
}

/// A failure of the ledger with its remedy, and with who may do it instead.
pub(super) fn failure(error: &LedgerError, state: Option<&State>) -> Failure {
    let mut remedy = error.remedy().to_owned();
    if let (LedgerError::Refused(refusal), Some(state)) = (error, state) {
        let may = match refusal {
            Refusal::NotAuthorised { wanted, rulebook, .. } => {
                Some(who_may(state, wanted, rulebook.as_ref(), None))
            }
            Refusal::MeasuredIt { author, job } => {
                let rulebook = state.jobs().get(job).map(|job| &job.received.rulebook);
                Some(who_may(state, &[Authority::Approver, Authority::Amender], rulebook, Some(author)))
            }
            _ => None,
        };
        if let Some(may) = may {
            remedy = format!("{remedy}; {may}");
        }
    }
    Failure::bad_input(harmless(&error.to_string()), harmless(&remedy))
}

/// Who may do something today.
fn who_may(state: &State, wanted: &[Authority], rulebook: Option<&Id>, but: Option<&Id>) -> String {
    let today = now().date_naive();
    let may = |person: &Id| wanted.iter().any(|authority| state.may(person, *authority, rulebook, today));
    let names: Vec<String> = state
        .people()
        .iter()
        .filter(|(id, _)| Some(*id) != but && may(id))
        .map(|(id, person)| format!("{id} ({})", person.name))
        .collect();
    match names.is_empty() {
        true => "nobody may do this today".to_owned(),
        false => format!("today may: {}", names.join(", ")),
    }
}

pub(super) fn key_failure(error: &KeyError) -> Failure {
    Failure::bad_input(error.to_string(), error.remedy())
}

/// A variable of the environment that is not empty.
pub(super) fn variable(name: &str) -> Option<String> {
    std::env::var(name).ok().filter(|found| !found.is_empty())
}

/// A passphrase: of a file, of the environment, or of the person at the terminal, who does not see it.
pub(super) fn passphrase(
    file: Option<&Path>,
    from: &str,
    words: &str,
    new: bool,
) -> Result<Zeroizing<String>, Failure> {
    if let Some(file) = file {
        let bytes = Zeroizing::new(read_within(file, KEY_MAX)?);
        let text = std::str::from_utf8(&bytes)
            .map_err(|_| Failure::bad_input("the passphrase file is not text", "write one line into it"))?;
        return Ok(Zeroizing::new(text.lines().next().unwrap_or_default().to_owned()));
    }
    if let Some(found) = variable(from) {
        return Ok(Zeroizing::new(found));
    }
    let remedy = format!("set {from}, name a file that holds it, or run it at a terminal");
    if !std::io::stdin().is_terminal() {
        return Err(Failure::bad_input("there is no passphrase, and no terminal to ask for it", remedy));
    }
    let ask = |words: &str| {
        rpassword::prompt_password(words).map(Zeroizing::new).map_err(|error| {
            Failure::bad_input(format!("the passphrase cannot be asked for: {error}"), remedy.clone())
        })
    };
    let first = ask(words)?;
    if new && *ask("The same once more: ")? != *first {
        return Err(Failure::bad_input("the two passphrases differ", "type the same twice"));
    }
    Ok(first)
}

/// Bytes that nobody can foresee, seeded by the system.
pub(super) fn random() -> Result<StdRng, Failure> {
    StdRng::try_from_rng(&mut SysRng)
        .map_err(|error| Failure::fault(format!("the system gives no random bytes: {error}")))
}

/// A file that goes into the record, under its own name.
pub(super) fn attach(path: &Path) -> Result<(FileRef, Vec<u8>), Failure> {
    let limit = u64::try_from(leverarm_ledger::store::FILE_BYTES_MAX).unwrap_or(u64::MAX);
    let bytes = read_within(path, limit)?;
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or("file");
    let path = names::id(name).map_err(|reason| Failure::bad_input(reason, "give the file a plain name"))?;
    Ok((FileRef { path, sha256: Digest::of(&bytes) }, bytes))
}

/// Files that go into the record.
pub(super) fn attach_all(paths: &[PathBuf]) -> Result<(Vec<FileRef>, Vec<Vec<u8>>), Failure> {
    let mut all = (Vec::new(), Vec::new());
    for path in paths {
        let (file, bytes) = attach(path)?;
        all.0.push(file);
        all.1.push(bytes);
    }
    Ok(all)
}
