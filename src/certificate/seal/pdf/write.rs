//! Objects as bytes.

use super::object::{Dictionary, Object};
use super::parser::is_regular;

/// Writes an object. A stream is written as its dictionary only: no update of ours carries one over.
pub(crate) fn write(object: &Object, out: &mut Vec<u8>) {
    match object {
        Object::Null => out.extend_from_slice(b"null"),
        Object::Boolean(value) => out.extend_from_slice(value.to_string().as_bytes()),
        Object::Integer(value) => out.extend_from_slice(value.to_string().as_bytes()),
        Object::Real(text) => out.extend_from_slice(text.as_bytes()),
        Object::Name(name) => write_name(name, out),
        Object::String(string) => write_string(&string.bytes, out),
        Object::Array(items) => {
            out.push(b'[');
            for (place, item) in items.iter().enumerate() {
                if place > 0 {
                    out.push(b' ');
                }
                write(item, out);
            }
            out.push(b']');
        }
        Object::Dictionary(dictionary) => write_dictionary(dictionary, out),
        Object::Stream(stream) => write_dictionary(&stream.dictionary, out),
        Object::Reference(id) => {
            out.extend_from_slice(format!("{} {} R", id.number, id.generation).as_bytes());
        }
    }
}

fn write_dictionary(dictionary: &Dictionary, out: &mut Vec<u8>) {
    out.extend_from_slice(b"<<");
    for (key, value) in dictionary.iter() {
        write_name(key, out);
        out.push(b' ');
        write(value, out);
    }
    out.extend_from_slice(b">>");
}

fn write_name(name: &[u8], out: &mut Vec<u8>) {
    out.push(b'/');
    for byte in name {
        if is_regular(*byte) && byte.is_ascii_graphic() && *byte != b'#' {
            out.push(*byte);
        } else {
            out.extend_from_slice(format!("#{byte:02X}").as_bytes());
        }
    }
}

fn write_string(bytes: &[u8], out: &mut Vec<u8>) {
    let plain = bytes.iter().all(|b| matches!(b, 32..=126) && !matches!(b, b'(' | b')' | b'\\'));
    if plain {
        out.push(b'(');
        out.extend_from_slice(bytes);
        out.push(b')');
    } else {
        out.push(b'<');
        out.extend_from_slice(hex(bytes).as_bytes());
        out.push(b'>');
    }
}

/// A text string: as it is when ASCII, else UTF-16 with its mark (ISO 32000-1, 7.9.2.2).
pub(crate) fn text_string(text: &str) -> Vec<u8> {
    let mut out = Vec::new();
    if text.bytes().all(|b| matches!(b, 32..=126)) {
        write_string(text.as_bytes(), &mut out);
    } else {
        let mut bytes = vec![0xFE, 0xFF];
        bytes.extend(text.encode_utf16().flat_map(u16::to_be_bytes));
        write_string(&bytes, &mut out);
    }
    out
}

/// Lower-case hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
        // Writing to a string cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}
