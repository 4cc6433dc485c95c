//! The container of a spreadsheet: a ZIP archive, of which single parts are unpacked.
//!
//! Written by others, so nothing in it is believed: sizes that it states are not used to reserve
//! memory, and a part is unpacked up to [`PART_BYTES_MAX`] and no further.

use std::io::Read;

use flate2::Crc;
use flate2::read::DeflateDecoder;

use super::error::WorkbookFault;

/// Largest part that is unpacked, in bytes. Ten thousand stored values take about two million.
pub const PART_BYTES_MAX: usize = 16 << 20;
/// Most parts that an archive may have.
const PARTS_MAX: usize = 4096;

const END: &[u8; 4] = b"PK\x05\x06";
const ENTRY: &[u8; 4] = b"PK\x01\x02";
const LOCAL: &[u8; 4] = b"PK\x03\x04";
/// An end record with the longest comment.
const END_BYTES_MAX: usize = 22 + 0xFFFF;

struct Part {
    name: String,
    encrypted: bool,
    method: u16,
    crc: u32,
    packed: usize,
    offset: usize,
}

/// An archive in memory.
pub(super) struct Archive<'b> {
    bytes: &'b [u8],
    parts: Vec<Part>,
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    let pair = bytes.get(at..at.checked_add(2)?)?;
    Some(u16::from_le_bytes(pair.try_into().ok()?))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..at.checked_add(4)?)?;
    Some(u32::from_le_bytes(four.try_into().ok()?))
}

fn size_at(bytes: &[u8], at: usize) -> Option<usize> {
    usize::try_from(u32_at(bytes, at)?).ok()
}

fn length_at(bytes: &[u8], at: usize) -> Option<usize> {
    u16_at(bytes, at).map(usize::from)
}

impl<'b> Archive<'b> {
    /// Reads the list of parts.
    pub(super) fn open(bytes: &'b [u8]) -> Result<Archive<'b>, WorkbookFault> {
        let from = bytes.len().saturating_sub(END_BYTES_MAX);
        let tail = bytes.get(from..).unwrap_or_default();
        let end = tail.windows(4).rposition(|four| four == END).ok_or(WorkbookFault::NotAnArchive)? + from;
        let count = length_at(bytes, end + 10).ok_or(WorkbookFault::NotAnArchive)?;
        if count > PARTS_MAX {
            return Err(WorkbookFault::TooManyParts { found: count, limit: PARTS_MAX });
        }
        let mut at = size_at(bytes, end + 16).ok_or(WorkbookFault::NotAnArchive)?;
        let mut parts = Vec::new();
        for _ in 0..count {
            let (part, next) = entry(bytes, at).ok_or(WorkbookFault::NotAnArchive)?;
            parts.push(part);
            at = next;
        }
        Ok(Archive { bytes, parts })
    }

    /// Whether there is a part of that name.
    pub(super) fn has(&self, name: &str) -> bool {
        self.find(name).is_some()
    }

    fn find(&self, name: &str) -> Option<&Part> {
        self.parts.iter().find(|part| part.name.eq_ignore_ascii_case(name))
    }

    /// A part as text.
    pub(super) fn text(&self, name: &str) -> Result<String, WorkbookFault> {
        let damaged = || WorkbookFault::Damaged { part: name.to_owned() };
        let part = self.find(name).ok_or_else(|| WorkbookFault::Missing { part: name.to_owned() })?;
        if part.encrypted {
            return Err(WorkbookFault::Encrypted);
        }
        let packed = self.packed(part).ok_or_else(damaged)?;
        let mut bytes = Vec::new();
        let limit = PART_BYTES_MAX as u64 + 1;
        match part.method {
            0 => packed.take(limit).read_to_end(&mut bytes),
            8 => DeflateDecoder::new(packed).take(limit).read_to_end(&mut bytes),
            method => return Err(WorkbookFault::Method { part: name.to_owned(), method }),
        }
        .map_err(|_| damaged())?;
        if bytes.len() > PART_BYTES_MAX {
            return Err(WorkbookFault::TooLarge { part: name.to_owned(), limit: PART_BYTES_MAX });
        }
        let mut crc = Crc::new();
        crc.update(&bytes);
        if crc.sum() != part.crc {
            return Err(damaged());
        }
        String::from_utf8(bytes).map_err(|_| damaged())
    }

    fn packed(&self, part: &Part) -> Option<&'b [u8]> {
        let at = part.offset;
        if self.bytes.get(at..at.checked_add(4)?)? != LOCAL {
            return None;
        }
        let start = at + 30 + length_at(self.bytes, at + 26)? + length_at(self.bytes, at + 28)?;
        self.bytes.get(start..start.checked_add(part.packed)?)
    }
}

/// An entry of the list, and where the next one begins.
fn entry(bytes: &[u8], at: usize) -> Option<(Part, usize)> {
    if bytes.get(at..at.checked_add(4)?)? != ENTRY {
        return None;
    }
    let name_length = length_at(bytes, at + 28)?;
    let name = bytes.get(at + 46..at + 46 + name_length)?;
    let part = Part {
        name: String::from_utf8_lossy(name).replace('\\', "/"),
        encrypted: u16_at(bytes, at + 8)? & 1 != 0,
        method: u16_at(bytes, at + 10)?,
        crc: u32_at(bytes, at + 16)?,
        packed: size_at(bytes, at + 20)?,
        offset: size_at(bytes, at + 42)?,
    };
    let next = at + 46 + name_length + length_at(bytes, at + 30)? + length_at(bytes, at + 32)?;
    Some((part, next))
}
