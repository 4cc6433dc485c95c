//! `laboratory.toml`: who measures, said once for all runs of a laboratory.

use leverarm_metrology::run::Laboratory;

use super::checks;
use super::page::Sink;
use super::table::Table;
use super::value::{Fault, shorten};

/// Reads the file of a laboratory.
pub(super) fn read(root: &Table<'_, '_>, sink: &mut Sink) -> (Laboratory, Option<String>) {
    root.only(sink);
    (fields(root, sink), country(root, sink))
}

/// The country as ISO 3166-1 writes it in two letters; only the Digital Calibration Certificate needs it.
pub(super) fn country(table: &Table<'_, '_>, sink: &mut Sink) -> Option<String> {
    table.value(sink, "country", "NO", |text| {
        let is_code = text.len() == 2 && text.bytes().all(|byte| byte.is_ascii_uppercase());
        is_code.then(|| text.to_owned()).ok_or_else(|| {
            Fault::new(
                &checks::VALUE_UNKNOWN,
                format!("'{}' is no code of a country", shorten(text)),
                "two capitals (ISO 3166-1)",
                "write the two capitals of the country, such as NO or DE",
            )
        })
    })
}

/// Reads the fields, from a file of their own or from `[laboratory]` of `run.toml`.
pub(super) fn fields(table: &Table<'_, '_>, sink: &mut Sink) -> Laboratory {
    Laboratory {
        name: table.string(sink, "name"),
        address: table.string(sink, "address"),
        contact: table.string(sink, "contact"),
    }
}
