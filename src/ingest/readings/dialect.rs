//! Which sign separates the cells. The header decides: no name of a column holds one of them.

use leverarm_metrology::finding::{Document, Finding, Place};

use super::cells::Scan;
use super::header::NAMES;
use crate::ingest::checks;
use crate::ingest::value::shorten;

const DELIMITERS: [(u8, &str); 3] = [(b',', "commas"), (b';', "semicolons"), (b'\t', "tabs")];

/// The first byte of the line that holds a byte.
pub(super) fn line_start(bytes: &[u8], from: usize, at: usize) -> usize {
    let before = bytes.get(from..at).unwrap_or_default();
    before.iter().rposition(|b| matches!(b, b'\n' | b'\r')).map_or(from, |end| from + end + 1)
}

/// The first byte behind a line such as `sep=;`, which spreadsheets write before the header; the
/// header itself decides.
pub(super) fn behind_separator_line(text: &str, line_start: usize) -> usize {
    let rest = text.get(line_start..).unwrap_or_default();
    let end = rest.find(['\n', '\r']).unwrap_or(rest.len());
    let line = rest.get(..end).unwrap_or_default();
    let plain = line.trim_matches(|c: char| c == '"' || c == ' ').to_ascii_lowercase();
    let names_one = plain.strip_prefix("sep=").is_some_and(|sign| sign.chars().count() <= 1);
    if !names_one && !line.trim_end_matches('\t').eq_ignore_ascii_case("sep=") {
        return line_start;
    }
    let behind = rest.get(end..).unwrap_or_default();
    line_start + end + behind.bytes().take_while(u8::is_ascii_whitespace).count()
}

/// The delimiter of the header that begins at a byte.
pub(super) fn delimiter(text: &str, header_start: usize) -> Result<u8, Box<Finding>> {
    let rest = text.get(header_start..).unwrap_or_default();
    let line = rest.split(['\n', '\r']).next().unwrap_or_default();
    let present: Vec<(u8, &str)> =
        DELIMITERS.into_iter().filter(|(sign, _)| line.as_bytes().contains(sign)).collect();
    let place =
        Place::Bytes { document: Document::Readings, start: header_start, end: header_start + line.len() };
    let refuse = |message: String| {
        Box::new(
            Finding::new(&checks::CSV_DELIMITER, place, message)
                .given(shorten(line))
                .wanted("one sign between the cells: comma, semicolon or tab")
                .remedy("write the header such as series,position,target,indicated,reference,unit,time,status,note"),
        )
    };
    match present.as_slice() {
        [] => {
            Err(refuse("the header has neither commas nor semicolons nor tabs between its cells".to_owned()))
        }
        [(only, _)] => Ok(*only),
        several => {
            // A tab or a blank-like sign may stand beside a delimiter by accident; names decide.
            let good: Vec<u8> =
                several.iter().map(|(sign, _)| *sign).filter(|sign| all_known(line, *sign)).collect();
            match good.as_slice() {
                [one] => Ok(*one),
                _ => {
                    let words: Vec<&str> = several.iter().map(|(_, words)| *words).collect();
                    Err(refuse(format!("the header has {} between its cells", words.join(" and "))))
                }
            }
        }
    }
}

fn all_known(line: &str, delimiter: u8) -> bool {
    Scan::of(line.as_bytes(), 0, delimiter).cells.into_iter().all(|cell| {
        let name = line.get(cell).unwrap_or_default().trim().trim_matches('"').trim();
        NAMES.iter().any(|known| known.eq_ignore_ascii_case(name))
    })
}
