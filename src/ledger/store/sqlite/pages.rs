//! What SQLite's own check does not look at: the unused space within pages, and fixed numbers of the
//! header (SQLite's "Database File Format").
//!
//! Entries and files are only ever added at the end of their tables, so SQLite fills a page of theirs
//! and goes on to the next; what is unused stays zero. Where it is not, something else wrote there.
//! So it is in every tree of a single page. Pages of larger indexes and inner nodes are split in the
//! middle, and SQLite leaves old bytes in what it frees: there any byte can stand.

use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

use rusqlite::Connection;

use super::backup;
use super::fault::Place;
use crate::store::{StorageFault, StoreError};

const FAULTS_MAX: usize = 20;
const INNER_INDEX: u8 = 2;
const INNER_TABLE: u8 = 5;
const LEAF_INDEX: u8 = 10;
const LEAF_TABLE: u8 = 13;
/// Offset in the header, and what stands there in every ledger: no reserved space and the payload
/// fractions; schema format 4; no default cache, no vacuuming; UTF-8; reserved for expansion.
const FIXED: [(usize, &[u8]); 4] = [
    (20, &[0, 64, 32, 32]),
    (44, &[0, 0, 0, 4, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1]),
    (64, &[0, 0, 0, 0]),
    (72, &[0; 20]),
];

/// Faults in the pages of the file. It is read from a copy of its own: a second handle on the file
/// itself would, when it is closed, drop the locks of this process (POSIX).
pub(super) fn faults(connection: &Connection, place: &Place) -> Result<Vec<StorageFault>, StoreError> {
    let folder = place.0.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let work = tempfile::tempdir_in(folder).map_err(|error| place.io(&error))?;
    let copy = work.path().join("pages");
    backup::copy(connection, &copy, place)?;
    let sql = "SELECT rootpage FROM sqlite_schema WHERE rootpage > 0 ORDER BY rootpage";
    let mut roots: Vec<u32> = connection
        .prepare(sql)
        .and_then(|mut statement| statement.query_map([], |row| row.get(0))?.collect())
        .map_err(|error| place.error(error))?;
    let mut walk = Walk::open(&copy).map_err(|error| place.io(&error))?;
    walk.header();
    // The list of the tables itself.
    roots.push(1);
    for root in roots {
        walk.tree(root).map_err(|error| place.io(&error))?;
    }
    Ok(walk.faults)
}

struct Walk {
    file: File,
    size: usize,
    count: u32,
    first: Vec<u8>,
    faults: Vec<StorageFault>,
}

fn u16_at(page: &[u8], at: usize) -> Option<usize> {
    Some(usize::from(u16::from_be_bytes(page.get(at..at + 2)?.try_into().ok()?)))
}

fn u32_at(page: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(page.get(at..at + 4)?.try_into().ok()?))
}

/// A number of one to nine bytes, and where it ends.
fn varint_at(page: &[u8], at: usize) -> Option<(u64, usize)> {
    let mut value = 0_u64;
    for (index, byte) in page.get(at..)?.iter().take(9).enumerate() {
        if index == 8 {
            return Some((value << 8 | u64::from(*byte), at + 9));
        }
        value = value << 7 | u64::from(byte & 0x7f);
        if byte & 0x80 == 0 {
            return Some((value, at + index + 1));
        }
    }
    None
}

impl Walk {
    fn open(path: &Path) -> std::io::Result<Walk> {
        let mut file = File::open(path)?;
        let mut first = vec![0; 100];
        file.read_exact(&mut first)?;
        let size = match u16_at(&first, 16) {
            Some(1) => 65_536,
            Some(size) => size.max(512),
            None => 512,
        };
        let count = u32::try_from(file.metadata()?.len() / size as u64).unwrap_or(u32::MAX);
        Ok(Walk { file, size, count, first, faults: Vec::new() })
    }

    fn fault(&mut self, place: String, what: &str) {
        if self.faults.len() < FAULTS_MAX {
            self.faults.push(StorageFault { place, what: what.to_owned() });
        }
    }

    fn header(&mut self) {
        for (at, wanted) in FIXED {
            if self.first.get(at..at + wanted.len()) != Some(wanted) {
                self.fault(
                    format!("bytes {at} to {} of the header", at + wanted.len() - 1),
                    "not as in a ledger",
                );
            }
        }
    }

    fn page(&mut self, number: u32) -> std::io::Result<Vec<u8>> {
        let mut page = vec![0; self.size];
        self.file.seek(SeekFrom::Start(u64::from(number.saturating_sub(1)) * self.size as u64))?;
        self.file.read_exact(&mut page)?;
        Ok(page)
    }

    /// Every page of a table, and of an index that is one page; each once: more than the file has
    /// would be a ring.
    fn tree(&mut self, root: u32) -> std::io::Result<()> {
        let (mut waiting, mut seen) = (vec![root], 0);
        while let Some(number) = waiting.pop() {
            seen += 1;
            if number == 0 || number > self.count || seen > self.count {
                self.fault(format!("page {number}"), "it is not one of the file, or stands in a ring");
                return Ok(());
            }
            let page = self.page(number)?;
            let head = if number == 1 { 100 } else { 0 };
            let read = match page.get(head) {
                Some(&INNER_TABLE) => children(&page, head).map(|children| waiting.extend(children)),
                Some(&(LEAF_TABLE | LEAF_INDEX)) => self.leaf(number, &page, head)?,
                Some(&INNER_INDEX) => Some(()),
                _ => None,
            };
            if read.is_none() {
                self.fault(format!("page {number}"), "it is no page of a tree");
            }
        }
        Ok(())
    }

    /// Whatever is not header, pointer, cell or the head of a free block must be zero.
    fn leaf(&mut self, number: u32, page: &[u8], head: usize) -> std::io::Result<Option<()>> {
        let mut unused = page.to_vec();
        let Some(overflows) = clear_used(page, head, &mut unused) else { return Ok(None) };
        if unused.iter().any(|byte| *byte != 0) {
            self.fault(format!("page {number}"), "there is something where nothing is kept");
        }
        for (first, bytes) in overflows {
            self.overflow(first, bytes)?;
        }
        Ok(Some(()))
    }

    /// The pages of a long value: the last one is zero after its end.
    fn overflow(&mut self, first: u32, bytes: u64) -> std::io::Result<()> {
        let (mut number, mut left) = (first, bytes);
        while left > 0 {
            if number == 0 || number > self.count {
                self.fault(format!("page {number}"), "it is not one of the file");
                return Ok(());
            }
            let page = self.page(number)?;
            let here = left.min(self.size as u64 - 4);
            let end = 4 + usize::try_from(here).unwrap_or(self.size);
            if page.get(end..).is_some_and(|rest| rest.iter().any(|byte| *byte != 0)) {
                self.fault(format!("page {number}"), "there is something where nothing is kept");
            }
            left -= here;
            number = u32_at(&page, 0).unwrap_or(0);
        }
        Ok(())
    }
}

/// The pages below an inner node of a table.
fn children(page: &[u8], head: usize) -> Option<Vec<u32>> {
    let mut children = vec![u32_at(page, head + 8)?];
    for index in 0..u16_at(page, head + 3)? {
        children.push(u32_at(page, u16_at(page, head + 12 + 2 * index)?)?);
    }
    Some(children)
}

/// Sets to zero what is used of a leaf; gives the long values' further pages: the first
/// one, and how many bytes they hold.
fn clear_used(page: &[u8], head: usize, unused: &mut [u8]) -> Option<Vec<(u32, u64)>> {
    let is_table = *page.get(head)? == LEAF_TABLE;
    let cells = u16_at(page, head + 3)?;
    unused.get_mut(..head + 8 + 2 * cells)?.fill(0);
    let mut overflows = Vec::new();
    for index in 0..cells {
        let start = u16_at(page, head + 8 + 2 * index)?;
        let (payload, at) = varint_at(page, start)?;
        let at = if is_table { varint_at(page, at)?.1 } else { at };
        let local = local_bytes(payload, page.len() as u64, is_table);
        let mut end = at + usize::try_from(local).ok()?;
        if local < payload {
            overflows.push((u32_at(page, end)?, payload - local));
            end += 4;
        }
        unused.get_mut(start..end.max(start + 4))?.fill(0);
    }
    let mut block = u16_at(page, head + 1)?;
    while block != 0 {
        unused.get_mut(block..block + 4)?.fill(0);
        // They stand in rising order, so that this comes to an end.
        block = u16_at(page, block).filter(|next| *next == 0 || *next > block)?;
    }
    Some(overflows)
}

/// How many bytes of a value stand in the leaf itself.
fn local_bytes(payload: u64, usable: u64, is_table: bool) -> u64 {
    let most = if is_table { usable - 35 } else { (usable - 12) * 64 / 255 - 23 };
    if payload <= most {
        return payload;
    }
    let least = (usable - 12) * 32 / 255 - 23;
    let fit = least + (payload - least) % (usable - 4);
    if fit <= most { fit } else { least }
}
