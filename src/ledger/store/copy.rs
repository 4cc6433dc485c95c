//! From one store to another, of whatever kind.

use std::collections::BTreeSet;

use super::{Reading, Store, StoreError};
use crate::bytes::Digest;
use crate::derived::Table;
use crate::entry::{Body, Head};
use crate::error::LedgerError;
use crate::ledger::rebuild;
use crate::rules;
use crate::state::State;

/// How many rows are held in memory at a time.
const BATCH: usize = 500;

/// Copies a ledger into an empty store, byte by byte: entries, hashes, signatures, and the files that
/// they name in the order in which they came; derived tables are made anew. Each entry is held against
/// chain, rules and signature on the way, each file against its name, so that a damaged ledger is not
/// carried on. All of it is written in one section, or nothing.
///
/// Others may go on writing to the store that is copied: the copy ends with the head it had at first.
/// That head is given back.
///
/// # Errors
/// [`StoreError::Exists`] where the target is not empty, [`LedgerError::Damaged`] where an entry does not
/// hold, [`StoreError::FileDamaged`] where a file does not; [`LedgerError`].
pub fn copy_ledger(from: &mut dyn Reading, to: &mut dyn Store) -> Result<Head, LedgerError> {
    // Before the lock: it may be the same store, in memory, by another handle.
    must_be_empty(to)?;
    let head = from.head()?;
    if head == Head::NONE {
        return Ok(head);
    }
    to.exclusive(&mut |section| {
        must_be_empty(section)?;
        let (mut state, mut named) = (State::new(), BTreeSet::new());
        while state.head().sequence < head.sequence {
            let left = usize::try_from(head.sequence - state.head().sequence).unwrap_or(usize::MAX);
            let rows = from.rows(state.head().sequence + 1, left.min(BATCH))?;
            if rows.is_empty() {
                let sequence = state.head().sequence + 1;
                return Err(LedgerError::Damaged { sequence, reason: "there is no such entry".into() });
            }
            for row in rows {
                let damaged = |reason| LedgerError::Damaged { sequence: row.sequence, reason };
                let body = held(&state, &row).map_err(damaged)?;
                section.append(&row)?;
                named.extend(body.event.digests());
                let _ = state.apply(&body, row.head());
            }
        }
        if state.head() != head {
            let reason =
                format!("the copy ends with hash {}, the ledger with {}", state.head().hash, head.hash);
            return Err(LedgerError::Damaged { sequence: head.sequence, reason });
        }
        let mut skip = 0;
        while !named.is_empty() {
            let digests = from.files(skip, BATCH)?;
            if digests.is_empty() {
                return Err(missing(&named, head));
            }
            skip += digests.len() as u64;
            for digest in digests {
                if named.remove(&digest) {
                    let bytes =
                        from.file(&digest)?.ok_or_else(|| missing(&BTreeSet::from([digest]), head))?;
                    section.put(&digest, &bytes)?;
                }
            }
        }
        rebuild(&state, section)
    })?;
    Ok(head)
}

/// The body of a row that follows on what was read, permitted and signed.
fn held(state: &State, row: &crate::entry::Row) -> Result<Body, String> {
    let body = row.read_after(&state.head()).map_err(|error| error.to_string())?;
    rules::permit(state, &body.author, body.time, &body.event).map_err(|refusal| refusal.to_string())?;
    let key = rules::signing_key(state, &body.author, &body.event);
    let key = key.ok_or_else(|| format!("'{}' has no key", body.author))?;
    row.check_signature(&body.author, &key).map_err(|error| error.to_string())?;
    Ok(body)
}

fn missing(named: &BTreeSet<Digest>, head: Head) -> LedgerError {
    let name = named.first().map(Digest::to_string).unwrap_or_default();
    LedgerError::Damaged { sequence: head.sequence, reason: format!("the file {name} is not kept") }
}

fn must_be_empty<R: Reading + ?Sized>(to: &mut R) -> Result<(), StoreError> {
    let mut is_empty = to.head()? == Head::NONE && to.files(0, 1)?.is_empty();
    for table in Table::ALL {
        is_empty = is_empty && to.lines(table)?.is_empty();
    }
    if is_empty { Ok(()) } else { Err(StoreError::Exists { place: "a ledger to copy into".into() }) }
}
