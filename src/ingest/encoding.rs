//! Bytes to text: UTF-8, with or without a byte order mark. Everything else is refused with the
//! place of the first byte that does not fit.

use leverarm_metrology::finding::{Document, Finding, Place};

use super::checks;

const SAVE_AS: &str =
    "open it in the program that wrote it and save it as UTF-8 (in spreadsheets: 'CSV UTF-8')";

/// How many bytes a byte order mark takes at the start.
pub(super) fn mark_length(bytes: &[u8]) -> usize {
    if bytes.starts_with(&[0xEF, 0xBB, 0xBF]) { 3 } else { 0 }
}

/// The text of a file; a byte order mark stays in it, so that places stay true.
pub(super) fn decode(document: Document, bytes: &[u8]) -> Result<&str, Box<Finding>> {
    let refuse = |at: usize, message: String, given: String| {
        let place = Place::Bytes { document, start: at, end: (at + 1).min(bytes.len()) };
        Box::new(
            Finding::new(&checks::FILE_ENCODING, place, message).given(given).wanted("UTF-8").remedy(SAVE_AS),
        )
    };
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        return Err(refuse(
            0,
            "the file is written in UTF-16: byte 1 is the mark of that encoding".into(),
            "UTF-16".into(),
        ));
    }
    if let Some(at) = bytes.iter().take(256).position(|b| *b == 0) {
        let message = format!("byte {} is zero, as in UTF-16 or in a file that is not text", at + 1);
        return Err(refuse(at, message, "a zero byte".into()));
    }
    std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let byte = bytes.get(at).copied().unwrap_or_default();
        let message = format!(
            "byte {} (0x{byte:02X}) is not UTF-8; the file was probably saved in an older encoding such as Latin-1",
            at + 1
        );
        refuse(at, message, format!("0x{byte:02X}"))
    })
}
