//! Who may record what, and when. The same rules are asked before an entry is written and again,
//! entry by entry, when the ledger is verified.

mod job;
mod people;
mod things;

use chrono::NaiveDate;

use crate::bytes::PublicKey;
use crate::entry::Time;
use crate::event::{Amended, Authority, CertificateNumber, Event, FileRef, Issued};
use crate::refusal::{Kind, Refusal};
use crate::state::State;
use crate::text::{Id, Text};

/// Clocks of several computers differ by less than this: an entry that is late by no more takes the
/// time of the entry before it.
const CLOCKS_DIFFER_S: i64 = 10;
/// Offsets from UTC lie between −12 h and +14 h.
const OFFSET_S: std::ops::RangeInclusive<i32> = -43_200..=50_400;

/// What someone wants to be done. Numbers of certificates are drawn when it is decided, inside the
/// exclusive section of the store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Command {
    /// record this event
    Record(Event),
    /// issue the certificate of an approved job under the next number of a series
    Issue {
        /// which job
        job: Id,
        /// name of the series
        series: Id,
        /// the certificate and what belongs to it
        files: Vec<FileRef>,
    },
    /// put a new certificate of the same series in the place of one that holds
    Amend {
        /// the one that will hold no more
        replaces: CertificateNumber,
        /// what changed, and why
        changed: Text,
        /// the certificate and what belongs to it
        files: Vec<FileRef>,
    },
}

/// Decides what is recorded when someone asks for something.
///
/// # Errors
/// [`Refusal`] with the data and a remedy.
pub fn decide(state: &State, author: &Id, command: Command, now: Time) -> Result<Vec<Event>, Refusal> {
    let event = match command {
        Command::Record(event) => event,
        Command::Issue { job, series, files } => {
            Event::Issued(Issued { job, certificate: state.next_number(&series), files })
        }
        Command::Amend { replaces, changed, files } => {
            let certificate = state.next_number(&replaces.series);
            Event::Amended(Amended { replaces, certificate, changed, files })
        }
    };
    permit(state, author, now, &event)?;
    Ok(vec![event])
}

/// Whether an author may record an event now.
///
/// # Errors
/// [`Refusal`] with the data and a remedy.
pub fn permit(state: &State, author: &Id, now: Time, event: &Event) -> Result<(), Refusal> {
    check_time(state, now)?;
    let asking = Asking { state, author, day: now.date_naive() };
    if let Event::Founded(founded) = event {
        return people::found(&asking, founded);
    }
    if state.laboratory().is_none() {
        return Err(Refusal::NotFounded);
    }
    let Some(person) = state.people().get(author) else {
        return Err(Refusal::UnknownAuthor { author: author.clone() });
    };
    if person.is_revoked {
        return Err(Refusal::KeyRevoked { author: author.clone() });
    }
    match event {
        Event::Founded(_)
        | Event::PersonEnrolled(_)
        | Event::Authorised(_)
        | Event::AuthorisationEnded(_)
        | Event::KeyReplaced(_)
        | Event::KeyRevoked(_) => people::permit(&asking, event),
        Event::CustomerRegistered(_)
        | Event::CustomerSuperseded(_)
        | Event::ToolRegistered(_)
        | Event::ToolSuperseded(_)
        | Event::ReferenceRegistered(_)
        | Event::ReferenceSuperseded(_)
        | Event::ReferenceCalibrated(_)
        | Event::CheckStandardRegistered(_)
        | Event::CheckStandardMeasured(_)
        | Event::ReferenceFoundWrong(_)
        | Event::LettersWritten(_) => things::permit(&asking, event),
        Event::JobReceived(_)
        | Event::RunAdded(_)
        | Event::Evaluated(_)
        | Event::Submitted(_)
        | Event::Returned(_)
        | Event::Approved(_)
        | Event::Issued(_)
        | Event::Amended(_)
        | Event::Withdrawn(_)
        | Event::JobClosed(_) => job::permit(&asking, event),
    }
}

/// The key that the next entry of an author must be signed with: the one enrolled, and for the
/// foundation the one that it carries.
#[must_use]
pub fn signing_key(state: &State, author: &Id, event: &Event) -> Option<PublicKey> {
    match event {
        Event::Founded(founded) if state.laboratory().is_none() => Some(founded.administrator.key),
        _ => state.people().get(author).map(|person| person.key),
    }
}

/// The time that an entry gets: that of the clock, or that of the last entry where the clock is late
/// by no more than the clocks of several computers differ.
///
/// # Errors
/// [`Refusal::TimeBackwards`].
pub fn settle_time(state: &State, now: Time) -> Result<Time, Refusal> {
    match state.time() {
        Some(last) if now < last && (last - now).num_seconds() <= CLOCKS_DIFFER_S => {
            Ok(last.with_timezone(now.offset()))
        }
        _ => check_time(state, now).map(|()| now),
    }
}

fn check_time(state: &State, now: Time) -> Result<(), Refusal> {
    let seconds = now.offset().local_minus_utc();
    if !OFFSET_S.contains(&seconds) {
        return Err(Refusal::NoSuchOffset { seconds });
    }
    match state.time() {
        Some(last) if now < last => Err(Refusal::TimeBackwards { given: now, last }),
        _ => Ok(()),
    }
}

/// Who asks, of what, on which day.
struct Asking<'a> {
    state: &'a State,
    author: &'a Id,
    day: NaiveDate,
}

impl Asking<'_> {
    /// The author must be authorised today for one of these, for a rulebook where one is named.
    fn must_be(&self, wanted: &[Authority], rulebook: Option<&Id>) -> Result<(), Refusal> {
        self.must_have_been(wanted, rulebook, self.day)
    }

    fn must_have_been(
        &self,
        wanted: &[Authority],
        rulebook: Option<&Id>,
        day: NaiveDate,
    ) -> Result<(), Refusal> {
        if wanted.iter().any(|authority| self.state.may(self.author, *authority, rulebook, day)) {
            return Ok(());
        }
        Err(Refusal::NotAuthorised {
            author: self.author.clone(),
            wanted: wanted.to_vec(),
            rulebook: rulebook.cloned(),
            day,
        })
    }

    fn not_after(&self, what: &'static str, given: NaiveDate, latest: NaiveDate) -> Result<(), Refusal> {
        if given > latest { Err(Refusal::DayTooLate { what, given, latest }) } else { Ok(()) }
    }

    fn not_in_future(&self, what: &'static str, given: NaiveDate) -> Result<(), Refusal> {
        self.not_after(what, given, self.day)
    }
}

fn must_be_new(kind: Kind, id: &Id, is_known: bool) -> Result<(), Refusal> {
    if is_known { Err(Refusal::Exists { kind, id: id.clone() }) } else { Ok(()) }
}

fn must_be_known(kind: Kind, id: &Id, is_known: bool) -> Result<(), Refusal> {
    if is_known { Ok(()) } else { Err(Refusal::Unknown { kind, id: id.to_string() }) }
}

/// Paths lie inside their folder and stand once each.
fn check_files(files: &[FileRef], may_be_empty: bool) -> Result<(), Refusal> {
    if files.is_empty() && !may_be_empty {
        return Err(Refusal::NoFiles);
    }
    let mut seen = std::collections::BTreeSet::new();
    for FileRef { path, .. } in files {
        let is_part = |part: &str| !matches!(part, "" | "." | "..") && !part.contains(['\\', ':']);
        if !path.as_str().split('/').all(is_part) {
            return Err(Refusal::BadPath { path: path.clone() });
        }
        if !seen.insert(path) {
            return Err(Refusal::SamePath { path: path.clone() });
        }
    }
    Ok(())
}
