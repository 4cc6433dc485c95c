//! Everything held against everything: chain, canonical bytes, signatures, rules at the time,
//! numbering, files, derived tables, and what the store itself can tell of damage.

use std::collections::BTreeSet;
use std::fmt;
use std::thread;

use crate::bytes::{Digest, PublicKey};
use crate::derived::{Line, Table};
use crate::entry::{Body, EntryError, Head, Row};
use crate::event::{Evaluated, Event, RunAdded};
use crate::refusal::Refusal;
use crate::rules;
use crate::state::State;
use crate::store::{Reading, StorageFault, StoreError};
use crate::text::Id;

/// How many rows are held in memory at a time.
const BATCH: usize = 2_000;
/// The report does not grow without end.
const FINDINGS_MAX: usize = 1_000;

/// An evaluation to compute anew.
#[derive(Debug, Clone, Copy)]
pub struct Recompute<'a> {
    /// the entry that recorded it
    pub sequence: u64,
    /// the run, with the names of its files
    pub run: &'a RunAdded,
    /// what was recorded: the result's name, the verdict, the software
    pub evaluated: &'a Evaluated,
}

/// Computes an evaluation anew from the files that the store gives, and says what differs.
pub type Recomputing<'a> = dyn FnMut(&Recompute<'_>, &mut dyn Reading) -> Result<(), String> + 'a;

/// What does not hold.
#[derive(Debug)]
pub enum Problem {
    /// the entry is none, or not the next one, or its signature is not its author's
    Entry(EntryError),
    /// its author was not permitted to record it
    Refused(Refusal),
    /// a file that an event names is not kept
    MissingFile(Digest),
    /// a file that is kept is damaged, or cannot be read
    File(StoreError),
    /// a file that is kept is named by no event
    UnnamedFile(Digest),
    /// a line of a derived table is not what the events give
    Derived {
        /// which table
        table: Table,
        /// what is kept
        kept: Option<Line>,
        /// what the events give
        wanted: Option<Line>,
    },
    /// damage below the entries
    Storage(StorageFault),
    /// an evaluation, computed anew, came out otherwise
    Recomputed(String),
    /// the chain does not contain the entry that is known from elsewhere
    Anchor(Head),
    /// the store could not be read further
    Unreadable(StoreError),
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Problem::Entry(error) => write!(f, "{error}"),
            Problem::Refused(refusal) => write!(f, "it was not permitted: {refusal}"),
            Problem::MissingFile(digest) => write!(f, "the file {digest} is missing"),
            Problem::File(error) | Problem::Unreadable(error) => write!(f, "{error}"),
            Problem::UnnamedFile(digest) => write!(f, "the file {digest} is named by no entry"),
            Problem::Derived { table, kept, wanted } => write!(
                f,
                "the derived table {} holds {} where the entries give {}",
                table.name(),
                shown(kept.as_ref()),
                shown(wanted.as_ref())
            ),
            Problem::Storage(fault) => write!(f, "{}: {}", fault.place, fault.what),
            Problem::Recomputed(reason) => write!(f, "the evaluation, computed anew: {reason}"),
            Problem::Anchor(head) => {
                write!(f, "the chain does not contain entry {} with hash {}", head.sequence, head.hash)
            }
        }
    }
}

fn shown(line: Option<&Line>) -> String {
    line.map_or_else(|| "nothing".into(), |line| format!("{:?}", line.cells))
}

/// Something that does not hold, and where.
#[derive(Debug)]
pub struct Finding {
    /// the entry, where it is one
    pub sequence: Option<u64>,
    /// what
    pub problem: Problem,
}

/// What was held against what.
#[derive(Debug)]
pub struct Report {
    /// entries that hold
    pub entries: u64,
    /// files that were read
    pub files: u64,
    /// evaluations that were computed anew
    pub evaluations: u64,
    /// the last entry that holds: to be kept elsewhere as an anchor, since a chain that was cut short
    /// is a chain as well
    pub head: Head,
    /// what does not hold, the first bad entry first
    pub findings: Vec<Finding>,
    /// findings beyond those
    pub unnamed_findings: u64,
}

impl Report {
    /// Whether everything holds.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.findings.is_empty()
    }

    /// The first bad entry.
    #[must_use]
    pub fn first_bad(&self) -> Option<&Finding> {
        self.findings
            .iter()
            .filter(|finding| finding.sequence.is_some())
            .min_by_key(|finding| finding.sequence)
    }

    fn add(&mut self, sequence: Option<u64>, problem: Problem) {
        if self.findings.len() < FINDINGS_MAX {
            self.findings.push(Finding { sequence, problem });
        } else {
            self.unnamed_findings += 1;
        }
    }
}

/// Holds everything against everything. `anchors` are entries known from elsewhere: from a backup,
/// from a printed certificate. After a bad entry the rest of the chain means nothing and is not read;
/// files and storage are still looked at.
pub fn verify(store: &mut dyn Reading, anchors: &[Head], recompute: &mut Recomputing<'_>) -> Report {
    let mut check = Check {
        state: State::new(),
        named: BTreeSet::new(),
        anchors: anchors.to_vec(),
        report: Report {
            entries: 0,
            files: 0,
            evaluations: 0,
            head: Head::NONE,
            findings: Vec::new(),
            unnamed_findings: 0,
        },
    };
    let is_whole = check.chain(store, recompute);
    if is_whole {
        let Check { anchors, report, .. } = &mut check;
        for head in anchors.drain(..) {
            report.add(None, Problem::Anchor(head));
        }
        check.derived(store);
    }
    check.files(store, is_whole);
    match store.faults() {
        Ok(faults) => faults.into_iter().for_each(|fault| check.report.add(None, Problem::Storage(fault))),
        Err(error) => check.report.add(None, Problem::Unreadable(error)),
    }
    check.report
}

struct Check {
    state: State,
    named: BTreeSet<Digest>,
    anchors: Vec<Head>,
    report: Report,
}

/// A signature to be checked.
struct Signed {
    row: Row,
    body: Body,
    key: PublicKey,
}

impl Check {
    /// Whether the whole chain holds.
    fn chain(&mut self, store: &mut dyn Reading, recompute: &mut Recomputing<'_>) -> bool {
        loop {
            let rows = match store.rows(self.report.head.sequence + 1, BATCH) {
                Ok(rows) if rows.is_empty() => return self.is_at_end(store),
                Ok(rows) => rows,
                Err(error) => {
                    self.report.add(Some(self.report.head.sequence + 1), Problem::Unreadable(error));
                    return false;
                }
            };
            let mut batch = Vec::with_capacity(rows.len());
            let mut bad = None;
            for row in rows {
                let sequence = row.sequence;
                match self.fold(row) {
                    Ok(signed) => batch.push(signed),
                    Err(problem) => {
                        bad = Some((sequence, problem));
                        break;
                    }
                }
            }
            if let Some((sequence, error)) = first_bad_signature(&batch) {
                batch.retain(|signed| signed.row.sequence < sequence);
                bad = Some((sequence, Problem::Entry(error)));
            }
            for signed in &batch {
                self.take(signed, store, recompute);
            }
            if let Some((sequence, problem)) = bad {
                self.report.add(Some(sequence), problem);
                return false;
            }
        }
    }

    /// A store that says that it holds more than it gives has lost something in the middle.
    fn is_at_end(&mut self, store: &mut dyn Reading) -> bool {
        let wanted = self.report.head;
        match store.head() {
            Ok(head) if head == wanted => true,
            Ok(head) => {
                let error = EntryError::Sequence { given: head.sequence, wanted: wanted.sequence + 1 };
                self.report.add(Some(wanted.sequence + 1), Problem::Entry(error));
                false
            }
            Err(error) => {
                self.report.add(Some(wanted.sequence + 1), Problem::Unreadable(error));
                false
            }
        }
    }

    fn fold(&mut self, row: Row) -> Result<Signed, Problem> {
        let body = row.read_after(&self.state.head()).map_err(Problem::Entry)?;
        rules::permit(&self.state, &body.author, body.time, &body.event).map_err(Problem::Refused)?;
        let key = rules::signing_key(&self.state, &body.author, &body.event);
        let unknown = || Problem::Refused(Refusal::UnknownAuthor { author: body.author.clone() });
        let key = key.ok_or_else(unknown)?;
        self.state.apply(&body, row.head());
        Ok(Signed { row, body, key })
    }

    fn take(&mut self, signed: &Signed, store: &mut dyn Reading, recompute: &mut Recomputing<'_>) {
        let Signed { row, body, .. } = signed;
        self.report.entries += 1;
        self.report.head = row.head();
        self.anchors.retain(|anchor| *anchor != row.head());
        for digest in body.event.digests() {
            if self.named.insert(digest) {
                match store.has_file(&digest) {
                    Ok(true) => {}
                    Ok(false) => self.report.add(Some(row.sequence), Problem::MissingFile(digest)),
                    Err(error) => self.report.add(Some(row.sequence), Problem::File(error)),
                }
            }
        }
        if let Event::Evaluated(evaluated) = &body.event
            && let Some(run) = self.run(&evaluated.job, &evaluated.run)
        {
            let asked = Recompute { sequence: row.sequence, run: &run, evaluated };
            let said = recompute(&asked, store);
            self.report.evaluations += 1;
            if let Err(reason) = said {
                self.report.add(Some(row.sequence), Problem::Recomputed(reason));
            }
        }
    }

    fn run(&self, job: &Id, run: &Id) -> Option<RunAdded> {
        Some(self.state.jobs().get(job)?.run(run)?.run.clone())
    }

    fn derived(&mut self, store: &mut dyn Reading) {
        for table in Table::ALL {
            let kept = match store.lines(table) {
                Ok(kept) => kept,
                Err(error) => {
                    self.report.add(None, Problem::Unreadable(error));
                    continue;
                }
            };
            let wanted = self.state.lines(table);
            let differs = kept.iter().zip(&wanted).position(|(kept, wanted)| kept != wanted);
            let at = differs.or_else(|| (kept.len() != wanted.len()).then(|| kept.len().min(wanted.len())));
            if let Some(at) = at {
                let (kept, wanted) = (kept.get(at).cloned(), wanted.get(at).cloned());
                self.report.add(None, Problem::Derived { table, kept, wanted });
            }
        }
    }

    fn files(&mut self, store: &mut dyn Reading, is_whole: bool) {
        let mut skip = 0;
        loop {
            let digests = match store.files(skip, BATCH) {
                Ok(digests) if digests.is_empty() => return,
                Ok(digests) => digests,
                Err(error) => return self.report.add(None, Problem::Unreadable(error)),
            };
            skip += digests.len() as u64;
            for digest in digests {
                self.report.files += 1;
                match store.file(&digest) {
                    Ok(Some(_)) => {}
                    Ok(None) => self.report.add(None, Problem::MissingFile(digest)),
                    Err(error) => self.report.add(None, Problem::File(error)),
                }
                if is_whole && !self.named.contains(&digest) {
                    self.report.add(None, Problem::UnnamedFile(digest));
                }
            }
        }
    }
}

/// Signatures take nearly all the time: each core checks its part of them.
fn first_bad_signature(batch: &[Signed]) -> Option<(u64, EntryError)> {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let part = batch.len().div_ceil(cores).max(1);
    let check = |part: &[Signed]| {
        part.iter().find_map(|Signed { row, body, key }| {
            row.check_signature(&body.author, key).err().map(|error| (row.sequence, error))
        })
    };
    thread::scope(|scope| {
        let workers: Vec<_> = batch.chunks(part).map(|part| scope.spawn(move || check(part))).collect();
        // A worker that died has checked nothing: its part is checked again, here.
        let parts = workers.into_iter().zip(batch.chunks(part));
        parts.map(|(worker, part)| worker.join().unwrap_or_else(|_| check(part))).find_map(|bad| bad)
    })
}
