//! A store in memory: for tests, and to try something before it counts.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::{Reading, Section, StorageFault, Store, StoreError, Work, checked};
use crate::bytes::Digest;
use crate::derived::{Cell, Line, Table};
use crate::entry::{Head, Row};
use crate::error::LedgerError;

/// A store in memory. Its clones share what it keeps.
#[derive(Debug, Clone, Default)]
pub struct MemoryStore {
    kept: Arc<Mutex<Kept>>,
}

#[derive(Debug, Clone, Default)]
struct Kept {
    rows: Vec<Row>,
    order: Vec<Digest>,
    files: BTreeMap<Digest, Vec<u8>>,
    lines: BTreeMap<(Table, Vec<Cell>), Line>,
}

impl MemoryStore {
    /// An empty one.
    #[must_use]
    pub fn new() -> MemoryStore {
        MemoryStore::default()
    }

    fn lock(&self) -> MutexGuard<'_, Kept> {
        // A section that was left by a panic has changed nothing: it worked on a copy.
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Reading for Kept {
    fn head(&mut self) -> Result<Head, StoreError> {
        Ok(self.rows.last().map_or(Head::NONE, Row::head))
    }

    fn rows(&mut self, from: u64, most: usize) -> Result<Vec<Row>, StoreError> {
        let skip = usize::try_from(from.saturating_sub(1)).unwrap_or(usize::MAX);
        Ok(self.rows.iter().skip(skip).take(most).cloned().collect())
    }

    fn file(&mut self, digest: &Digest) -> Result<Option<Vec<u8>>, StoreError> {
        self.files.get(digest).map(|bytes| checked(digest, bytes.clone())).transpose()
    }

    fn has_file(&mut self, digest: &Digest) -> Result<bool, StoreError> {
        Ok(self.files.contains_key(digest))
    }

    fn files(&mut self, skip: u64, most: usize) -> Result<Vec<Digest>, StoreError> {
        let skip = usize::try_from(skip).unwrap_or(usize::MAX);
        Ok(self.order.iter().skip(skip).take(most).copied().collect())
    }

    fn lines(&mut self, table: Table) -> Result<Vec<Line>, StoreError> {
        Ok(self.lines.iter().filter(|((of, _), _)| *of == table).map(|(_, line)| line.clone()).collect())
    }

    fn faults(&mut self) -> Result<Vec<StorageFault>, StoreError> {
        Ok(Vec::new())
    }
}

impl Section for Kept {
    fn append(&mut self, row: &Row) -> Result<(), StoreError> {
        let last = self.head()?.sequence;
        if row.sequence != last + 1 {
            return Err(StoreError::NotNext { given: row.sequence, last });
        }
        self.rows.push(row.clone());
        Ok(())
    }

    fn put(&mut self, digest: &Digest, bytes: &[u8]) -> Result<(), StoreError> {
        if !self.files.contains_key(digest) {
            self.order.push(*digest);
            self.files.insert(*digest, bytes.to_vec());
        }
        Ok(())
    }

    fn derive(&mut self, lines: &[Line]) -> Result<(), StoreError> {
        for line in lines {
            let key = line.cells.iter().take(line.table.key_columns()).cloned().collect();
            self.lines.insert((line.table, key), line.clone());
        }
        Ok(())
    }

    fn clear_derived(&mut self) -> Result<(), StoreError> {
        self.lines.clear();
        Ok(())
    }
}

impl Reading for MemoryStore {
    fn head(&mut self) -> Result<Head, StoreError> {
        self.lock().head()
    }

    fn rows(&mut self, from: u64, most: usize) -> Result<Vec<Row>, StoreError> {
        self.lock().rows(from, most)
    }

    fn file(&mut self, digest: &Digest) -> Result<Option<Vec<u8>>, StoreError> {
        self.lock().file(digest)
    }

    fn has_file(&mut self, digest: &Digest) -> Result<bool, StoreError> {
        self.lock().has_file(digest)
    }

    fn files(&mut self, skip: u64, most: usize) -> Result<Vec<Digest>, StoreError> {
        self.lock().files(skip, most)
    }

    fn lines(&mut self, table: Table) -> Result<Vec<Line>, StoreError> {
        self.lock().lines(table)
    }

    fn faults(&mut self) -> Result<Vec<StorageFault>, StoreError> {
        self.lock().faults()
    }
}

impl Store for MemoryStore {
    fn exclusive(&mut self, work: &mut Work<'_>) -> Result<(), LedgerError> {
        let mut kept = self.lock();
        let mut copy = kept.clone();
        work(&mut copy)?;
        *kept = copy;
        Ok(())
    }
}
