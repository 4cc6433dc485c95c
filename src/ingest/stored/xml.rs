//! What a spreadsheet's XML parts need: names, attributes, and text with its entities.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::error::WorkbookFault;

/// A part that is read from its beginning to its end.
pub(super) struct Xml<'t> {
    reader: Reader<&'t [u8]>,
    part: &'t str,
}

impl<'t> Xml<'t> {
    pub(super) fn of(part: &'t str, text: &'t str) -> Xml<'t> {
        let mut reader = Reader::from_str(text);
        let config = reader.config_mut();
        config.expand_empty_elements = true;
        config.check_end_names = false;
        Xml { reader, part }
    }

    /// The next event; `None` at the end.
    pub(super) fn next(&mut self) -> Result<Option<Event<'t>>, WorkbookFault> {
        match self.reader.read_event() {
            Ok(Event::Eof) => Ok(None),
            Ok(event) => Ok(Some(event)),
            Err(_) => {
                Err(WorkbookFault::Xml { part: self.part.to_owned(), byte: self.reader.buffer_position() })
            }
        }
    }
}

/// The value of an attribute, by its name without a prefix.
pub(super) fn attribute(element: &BytesStart<'_>, name: &str) -> Option<String> {
    element.attributes().with_checks(false).filter_map(Result::ok).find_map(|attribute| {
        let local = attribute.key.local_name();
        (local.as_ref() == name).then(|| unescaped(&attribute.value))
    })
}

/// Adds the text of an event to what was read of a cell.
pub(super) fn add_text(out: &mut String, event: &Event<'_>) {
    match event {
        Event::Text(text) => out.push_str(text),
        Event::CData(text) => out.push_str(text),
        Event::GeneralRef(name) => out.extend(entity(name)),
        _ => {}
    }
}

fn unescaped(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, behind)) = rest.split_once('&') {
        out.push_str(before);
        let Some((name, after)) = behind.split_once(';') else {
            out.push('&');
            rest = behind;
            continue;
        };
        out.extend(entity(name));
        rest = after;
    }
    out.push_str(rest);
    out
}

/// The character that an entity stands for; nothing for one that XML does not know by itself.
fn entity(name: &str) -> Option<char> {
    match name {
        "amp" => Some('&'),
        "lt" => Some('<'),
        "gt" => Some('>'),
        "quot" => Some('"'),
        "apos" => Some('\''),
        _ => {
            let code = name.strip_prefix('#')?;
            let number = match code.strip_prefix(['x', 'X']) {
                Some(hexadecimal) => u32::from_str_radix(hexadecimal, 16).ok()?,
                None => code.parse().ok()?,
            };
            char::from_u32(number)
        }
    }
}
