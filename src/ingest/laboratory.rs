//! `laboratory.toml`: who measures, said once for all runs of a laboratory.

use leverarm_metrology::run::Laboratory;

use super::page::Sink;
use super::table::Table;

/// Reads the file of a laboratory.
pub(super) fn read(root: &Table<'_, '_>, sink: &mut Sink) -> Laboratory {
    root.only(sink);
    fields(root, sink)
}

/// Reads the fields, from a file of their own or from `[laboratory]` of `run.toml`.
pub(super) fn fields(table: &Table<'_, '_>, sink: &mut Sink) -> Laboratory {
    Laboratory {
        name: table.string(sink, "name"),
        address: table.string(sink, "address"),
        contact: table.string(sink, "contact"),
    }
}
