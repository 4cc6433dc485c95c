//! Where the cells of a row stand, and whether their quotation marks pair.

use std::ops::Range;

/// How the readings lie in their file, for the source map.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadingsSource {
    /// the sign between cells
    pub delimiter: u8,
    /// the known columns and their places in a row
    pub columns: Vec<(&'static str, usize)>,
    /// the first byte of each row of readings
    pub row_starts: Vec<usize>,
}

impl ReadingsSource {
    /// The bytes of a cell, or of a whole row where no column is named.
    #[must_use]
    pub fn cell(&self, bytes: &[u8], row: u32, column: Option<&str>) -> Option<Range<usize>> {
        let index = usize::try_from(row).ok()?.checked_sub(1)?;
        let start = *self.row_starts.get(index)?;
        let scan = Scan::of(bytes, start, self.delimiter);
        let wanted = column.and_then(|name| self.columns.iter().find(|(known, _)| *known == name));
        match wanted.and_then(|(_, place)| scan.cells.get(*place)) {
            Some(cell) => Some(trimmed(bytes, cell.clone())),
            None => Some(start..scan.end),
        }
    }
}

/// A cell without blanks and quotation marks around it; an empty one keeps its place.
fn trimmed(bytes: &[u8], cell: Range<usize>) -> Range<usize> {
    let (mut start, mut end) = (cell.start, cell.end.min(bytes.len()));
    let around = |at: usize| matches!(bytes.get(at), Some(b' ' | b'"' | b'\t'));
    while start < end && around(start) {
        start += 1;
    }
    while end > start && around(end - 1) {
        end -= 1;
    }
    if start == end { cell } else { start..end }
}

/// What is wrong with the quotation marks of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum QuoteFault {
    /// the cell that a mark opens never ends
    Open {
        /// the opening mark
        at: usize,
    },
    /// something stands between the closing mark and the end of the cell
    After {
        /// the opening mark
        at: usize,
    },
    /// a mark within a cell that does not begin with one
    Within {
        /// the mark
        at: usize,
    },
}

/// A row, cut into cells in the way of the CSV reader.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Scan {
    pub(super) cells: Vec<Range<usize>>,
    /// one past the last byte of the row, before its line end
    pub(super) end: usize,
    pub(super) fault: Option<QuoteFault>,
}

impl Scan {
    pub(super) fn of(bytes: &[u8], start: usize, delimiter: u8) -> Scan {
        let mut scan = Scan::default();
        let mut at = start;
        loop {
            let cell_start = at;
            at = scan.cell_end(bytes, cell_start, delimiter);
            scan.cells.push(cell_start..at);
            if bytes.get(at) != Some(&delimiter) {
                break;
            }
            at += 1;
        }
        scan.end = at;
        scan
    }

    fn note(&mut self, fault: QuoteFault) {
        self.fault.get_or_insert(fault);
    }

    fn cell_end(&mut self, bytes: &[u8], start: usize, delimiter: u8) -> usize {
        let ends = |byte: u8| byte == delimiter || byte == b'\n' || byte == b'\r';
        let mut at = start;
        if bytes.get(start) == Some(&b'"') {
            at += 1;
            loop {
                match (bytes.get(at), bytes.get(at + 1)) {
                    (Some(b'"'), Some(b'"')) => at += 2,
                    (Some(b'"'), _) => break,
                    (Some(_), _) => at += 1,
                    (None, _) => {
                        self.note(QuoteFault::Open { at: start });
                        return at;
                    }
                }
            }
            at += 1;
            if bytes.get(at).is_some_and(|byte| !ends(*byte)) {
                self.note(QuoteFault::After { at: start });
            }
        }
        while let Some(byte) = bytes.get(at) {
            if ends(*byte) {
                break;
            }
            if *byte == b'"' {
                self.note(QuoteFault::Within { at });
            }
            at += 1;
        }
        at
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(row: &str) -> Vec<&str> {
        Scan::of(row.as_bytes(), 0, b',').cells.into_iter().map(|c| &row[c]).collect()
    }

    #[test]
    fn rows_are_cut_at_delimiters_outside_quotes() {
        assert_eq!(cells("a,\"b,c\",d\nnext"), ["a", "\"b,c\"", "d"]);
        assert_eq!(cells("a,,"), ["a", "", ""]);
        assert_eq!(cells("\"say \"\"no\"\"\",x\r\n"), ["\"say \"\"no\"\"\"", "x"]);
    }

    #[test]
    fn marks_that_do_not_pair_are_found() {
        let fault = |row: &str| Scan::of(row.as_bytes(), 0, b',').fault;
        assert_eq!(fault("a,\"b"), Some(QuoteFault::Open { at: 2 }));
        assert_eq!(fault("a,\"b\"c,d"), Some(QuoteFault::After { at: 2 }));
        assert_eq!(fault("a,1/2\",d"), Some(QuoteFault::Within { at: 5 }));
        assert_eq!(fault("a,\"b\",c"), None);
    }
}
