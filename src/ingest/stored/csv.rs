//! A CSV file as a table. The names of the mapped columns decide which sign separates the cells.

use std::collections::BTreeMap;

use leverarm_metrology::finding::Document;

use super::error::StoredError;
use super::table::{COLUMNS_MAX, Cell, ROWS_MAX, Table};
use crate::ingest::encoding::{decode, mark_length};

const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// Reads a CSV file; `header` is its line with the names of the columns.
pub(super) fn read(file: &str, bytes: &[u8], header: u32, names: &[&str]) -> Result<Table, StoredError> {
    let text = decode(Document::Readings, bytes)
        .map_err(|finding| StoredError::Encoding { file: file.to_owned(), message: finding.message })?;
    let text = text.get(mark_length(bytes)..).unwrap_or_default();
    let mut fits = Vec::new();
    for delimiter in DELIMITERS {
        let head = rows(file, text, delimiter, header)?;
        let cells = head.get(&header);
        let has =
            |name: &&str| cells.is_some_and(|row| row.values().any(|cell| same_name(cell.text(), name)));
        if names.iter().all(has) {
            fits.push((cells.map_or(0, BTreeMap::len), delimiter));
        }
    }
    // One mapped name alone may be found with every sign: the one that cuts most cells is meant.
    let widest = fits.iter().map(|(width, _)| *width).max().unwrap_or(0);
    fits.retain(|(width, _)| *width == widest);
    let delimiter = match fits.as_slice() {
        [] => most_frequent(text, header),
        [(_, only)] => *only,
        [(_, first), ..] if widest == 1 => *first,
        _ => return Err(StoredError::Delimiter { file: file.to_owned(), line: header }),
    };
    Ok(Table {
        file: file.to_owned(),
        delimiter: Some(delimiter),
        rows: rows(file, text, delimiter, u32::MAX)?,
        ..Table::default()
    })
}

/// Whether two names of a column are the same for a reader.
pub(super) fn same_name(found: &str, wanted: &str) -> bool {
    let plain = |name: &str| name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    plain(found) == plain(wanted)
}

fn most_frequent(text: &str, header: u32) -> u8 {
    let line = text.lines().nth(usize::try_from(header.saturating_sub(1)).unwrap_or(0)).unwrap_or_default();
    let count = |sign: u8| line.bytes().filter(|byte| *byte == sign).count();
    DELIMITERS.into_iter().rev().max_by_key(|sign| count(*sign)).unwrap_or(b',')
}

type Rows = BTreeMap<u32, BTreeMap<u32, Cell>>;

/// The rows up to a line.
fn rows(file: &str, text: &str, delimiter: u8, last: u32) -> Result<Rows, StoredError> {
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut record = csv::StringRecord::new();
    let mut rows = Rows::new();
    let (mut line, mut counted) = (1_u32, 0_usize);
    loop {
        let before = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
        if !reader.read_record(&mut record).unwrap_or(false) {
            return Ok(rows);
        }
        // The reader passes over empty lines, which count.
        let rest = text.as_bytes().get(before..).unwrap_or_default();
        let start = before + rest.iter().take_while(|byte| matches!(byte, b'\n' | b'\r')).count();
        line = line.saturating_add(line_ends(text, counted, start));
        counted = start;
        if line > last {
            return Ok(rows);
        }
        let mut cells = BTreeMap::new();
        for (cell, column) in record.iter().zip(1_u32..) {
            if cell.trim().is_empty() {
                continue;
            }
            if column > COLUMNS_MAX {
                return Err(StoredError::TooWide { file: file.to_owned(), row: line, limit: COLUMNS_MAX });
            }
            cells.insert(column, Cell::Text(cell.to_owned()));
        }
        if cells.is_empty() {
            continue;
        }
        rows.insert(line, cells);
        if rows.len() > ROWS_MAX {
            return Err(StoredError::TooLong { file: file.to_owned(), limit: ROWS_MAX });
        }
    }
}

fn line_ends(text: &str, from: usize, to: usize) -> u32 {
    let bytes = text.as_bytes();
    let ends = (from..to.min(bytes.len())).filter(|at| {
        let next = bytes.get(at + 1);
        matches!(bytes.get(*at), Some(b'\n'))
            || (matches!(bytes.get(*at), Some(b'\r')) && next != Some(&b'\n'))
    });
    u32::try_from(ends.count()).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn lines_and_columns_are_those_of_the_file() {
        let text = "Tool;7\r\n\r\nNo.;Peak\r\n1;\"81,2\"\r\n\r\n2;81,0\r\n";
        let table = read("a.csv", text.as_bytes(), 3, &["no.", "Peak"]).unwrap();
        assert_eq!(table.delimiter, Some(b';'));
        assert_eq!(table.rows.keys().copied().collect::<Vec<_>>(), [1, 3, 4, 6]);
        assert_eq!(table.cell(6, 2).unwrap().text(), "81,0");
        assert_eq!(table.place(6, Some(2)).to_string(), "a.csv, line 6, column 2");
    }

    #[test]
    fn what_is_too_wide_or_too_long_is_refused() {
        let wide = ",x".repeat(600);
        assert!(matches!(read("a", wide.as_bytes(), 1, &["x"]), Err(StoredError::TooWide { .. })));
        let long = "x\n".repeat(30_000);
        assert!(matches!(read("a", long.as_bytes(), 1, &["x"]), Err(StoredError::TooLong { .. })));
        assert!(matches!(read("a", b"\xff\xfe", 1, &["x"]), Err(StoredError::Encoding { .. })));
    }
}
