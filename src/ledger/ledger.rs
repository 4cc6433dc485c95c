//! A ledger: a store with the record folded up beside it.

use std::collections::BTreeSet;

use crate::bytes::Digest;
use crate::derived::Table;
use crate::entry::{Body, FORMAT, Head, Time};
use crate::error::LedgerError;
use crate::event::{CertificateNumber, Event, FileRef, Founded, Person};
use crate::keys::Signer;
use crate::refusal::Refusal;
use crate::rules::{self, Command};
use crate::state::{State, Touched};
use crate::store::{Reading, Section, Store, StoreError, name_of};
use crate::text::{Id, Text};

/// How many rows are read at a time.
const BATCH: usize = 1_000;

/// A certificate as rendered for its number: files by name.
pub type Documents = Vec<(Id, Vec<u8>)>;

/// Makes the documents of a certificate, once its number is known.
pub type Render<'a> = dyn FnMut(&CertificateNumber) -> Result<Documents, String> + 'a;

/// Tells the time. It is asked inside the exclusive section, so that a wait for the lock does not
/// make an entry look older than the one before it.
pub type Clock<'a> = dyn Fn() -> Time + 'a;

/// A ledger.
#[derive(Debug)]
pub struct Ledger<S> {
    store: S,
    state: State,
}

impl<S: Store> Ledger<S> {
    /// Opens what a store keeps: the chain, the canonical bytes and the rules are held against every
    /// entry; signatures and files are left to [`crate::verify::verify`].
    ///
    /// # Errors
    /// [`LedgerError`], [`LedgerError::Damaged`] with the first bad entry.
    pub fn open(store: S) -> Result<Ledger<S>, LedgerError> {
        let mut ledger = Ledger { store, state: State::new() };
        ledger.refresh()?;
        Ok(ledger)
    }

    /// Founds a laboratory in an empty store. The founder is its first administrator.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn found(
        store: S,
        laboratory: Text,
        name: Text,
        founder: &Signer,
        clock: &Clock<'_>,
    ) -> Result<Ledger<S>, LedgerError> {
        let mut ledger = Ledger::open(store)?;
        let administrator = Person { id: founder.id().clone(), name, key: founder.public() };
        let founded = Event::Founded(Founded { laboratory, administrator });
        ledger.record(founder, clock, Command::Record(founded), &[])?;
        Ok(ledger)
    }

    /// The record as it stood when it was last read.
    #[must_use]
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The store.
    pub fn store(&mut self) -> &mut S {
        &mut self.store
    }

    /// Gives the store back.
    #[must_use]
    pub fn into_store(self) -> S {
        self.store
    }

    /// Reads what others wrote since.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn refresh(&mut self) -> Result<(), LedgerError> {
        catch_up(&mut self.state, &mut self.store)
    }

    /// Records what someone wants to be done, with the files that it names and that are not kept yet:
    /// lock, catch up, decide, sign, write, commit. When it returns, the entry is on the disk.
    ///
    /// # Errors
    /// [`LedgerError`]; nothing is then recorded.
    pub fn record(
        &mut self,
        author: &Signer,
        clock: &Clock<'_>,
        command: Command,
        files: &[Vec<u8>],
    ) -> Result<Head, LedgerError> {
        self.write(author, clock, files, &mut |_, _| Ok(command.clone()))
    }

    /// Issues the certificate of an approved job: draws the next number of the series, has the
    /// documents made for it and records it, all in one exclusive section, so that no number is
    /// skipped or used twice.
    ///
    /// # Errors
    /// [`LedgerError`]; no number is then used up.
    pub fn issue(
        &mut self,
        author: &Signer,
        clock: &Clock<'_>,
        job: &Id,
        series: &Id,
        render: &mut Render<'_>,
    ) -> Result<CertificateNumber, LedgerError> {
        let mut drawn = None;
        self.write(author, clock, &[], &mut |state, section| {
            let number = state.next_number(series);
            let files = documents(section, render, &number)?;
            drawn = Some(number);
            Ok(Command::Issue { job: job.clone(), series: series.clone(), files })
        })?;
        Ok(drawn.unwrap_or_else(|| self.state.next_number(series)))
    }

    /// Puts a new certificate in the place of one that holds, under the next number of its series.
    ///
    /// # Errors
    /// [`LedgerError`]; no number is then used up.
    pub fn amend(
        &mut self,
        author: &Signer,
        clock: &Clock<'_>,
        replaces: &CertificateNumber,
        changed: &Text,
        render: &mut Render<'_>,
    ) -> Result<CertificateNumber, LedgerError> {
        let mut drawn = None;
        self.write(author, clock, &[], &mut |state, section| {
            let number = state.next_number(&replaces.series);
            let files = documents(section, render, &number)?;
            drawn = Some(number);
            Ok(Command::Amend { replaces: replaces.clone(), changed: changed.clone(), files })
        })?;
        Ok(drawn.unwrap_or_else(|| self.state.next_number(&replaces.series)))
    }

    /// A file of the record, held against its name.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn file(&mut self, digest: &Digest) -> Result<Option<Vec<u8>>, StoreError> {
        self.store.file(digest)
    }

    /// Makes the derived tables anew from the events.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn rebuild(&mut self) -> Result<(), LedgerError> {
        let state = &mut self.state;
        self.store.exclusive(&mut |section| {
            catch_up(state, section)?;
            rebuild(state, section)
        })
    }

    fn write(
        &mut self,
        author: &Signer,
        clock: &Clock<'_>,
        files: &[Vec<u8>],
        make: &mut dyn FnMut(&State, &mut dyn Section) -> Result<Command, LedgerError>,
    ) -> Result<Head, LedgerError> {
        let mut is_ahead = false;
        let state = &mut self.state;
        let done = self.store.exclusive(&mut |section| {
            catch_up(state, section)?;
            let now = rules::settle_time(state, clock())?;
            let command = make(state, section)?;
            let events = rules::decide(state, author.id(), command, now)?;
            put_files(section, files, &events)?;
            for event in events {
                let body = next(state, author, now, event)?;
                let row = body.sign(author)?;
                section.append(&row)?;
                is_ahead = true;
                let touched = state.apply(&body, row.head());
                let lines: Vec<_> = touched.iter().filter_map(|touched| state.line(touched)).collect();
                section.derive(&lines)?;
            }
            Ok(())
        });
        if done.is_err() && is_ahead {
            // The state holds what is not on the disk: it is read anew when it is wanted next.
            self.state = State::new();
        }
        done.map(|()| self.state.head())
    }
}

/// The next entry, for the author whose key is enrolled.
fn next(state: &State, author: &Signer, time: Time, event: Event) -> Result<Body, LedgerError> {
    if rules::signing_key(state, author.id(), &event) != Some(author.public()) {
        return Err(Refusal::OtherKey { author: author.id().clone() }.into());
    }
    let head = state.head();
    Ok(Body {
        format: FORMAT,
        sequence: head.sequence + 1,
        previous: head.hash,
        time,
        author: author.id().clone(),
        event,
    })
}

fn documents(
    section: &mut dyn Section,
    render: &mut Render<'_>,
    number: &CertificateNumber,
) -> Result<Vec<FileRef>, LedgerError> {
    let documents = render(number).map_err(|reason| LedgerError::Render { reason })?;
    let mut files = Vec::with_capacity(documents.len());
    for (path, bytes) in documents {
        let sha256 = name_of(&bytes)?;
        section.put(&sha256, &bytes)?;
        files.push(FileRef { path, sha256 });
    }
    Ok(files)
}

/// Keeps the files given that the events name, and none besides.
fn put_files(section: &mut dyn Section, files: &[Vec<u8>], events: &[Event]) -> Result<(), LedgerError> {
    let named: BTreeSet<Digest> = events.iter().flat_map(Event::digests).collect();
    for bytes in files {
        let digest = name_of(bytes)?;
        if named.contains(&digest) {
            section.put(&digest, bytes)?;
        }
    }
    for digest in named {
        if !section.has_file(&digest)? {
            return Err(Refusal::MissingFile { digest }.into());
        }
    }
    Ok(())
}

/// Puts every line of every derived table in place.
pub(crate) fn rebuild(state: &State, section: &mut dyn Section) -> Result<(), LedgerError> {
    section.clear_derived()?;
    for table in Table::ALL {
        section.derive(&state.lines(table))?;
    }
    Ok(())
}

/// Folds in what was written since, each entry held against chain and rules.
pub(crate) fn catch_up<R: Reading + ?Sized>(state: &mut State, reading: &mut R) -> Result<(), LedgerError> {
    loop {
        let rows = reading.rows(state.head().sequence + 1, BATCH)?;
        if rows.is_empty() {
            return Ok(());
        }
        for row in rows {
            let damaged = |reason: String| LedgerError::Damaged { sequence: row.sequence, reason };
            let body = row.read_after(&state.head()).map_err(|error| damaged(error.to_string()))?;
            rules::permit(state, &body.author, body.time, &body.event)
                .map_err(|refusal| damaged(refusal.to_string()))?;
            let _: Vec<Touched> = state.apply(&body, row.head());
        }
    }
}
