//! Every key that leverarm reads, table by table: what a table may hold, and to which table a key
//! belongs that stands in a wrong one. `standards-notes/run-folder.md` explains each of them.

use leverarm_metrology::finding::Document;

/// A table of a TOML file and its keys.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Section {
    /// the file
    pub document: Document,
    /// its path; empty for the top of the file
    pub table: &'static str,
    /// its keys, those of tables within it too
    pub keys: &'static [&'static str],
}

const fn section(document: Document, table: &'static str, keys: &'static [&'static str]) -> Section {
    Section { document, table, keys }
}

/// Every table that leverarm reads.
pub const SECTIONS: [Section; 20] = [
    section(
        Document::Run,
        "",
        &[
            "format",
            "run",
            "tool",
            "reference",
            "laboratory",
            "customer",
            "people",
            "environment",
            "prior",
            "study",
            "readings",
            "bench",
            "certificate",
        ],
    ),
    section(
        Document::Run,
        "run",
        &[
            "job",
            "condition",
            "performed",
            "received",
            "place",
            "rulebook",
            "limits",
            "decision",
            "decision_agreed",
        ],
    ),
    section(
        Document::Run,
        "tool",
        &[
            "kind",
            "iso",
            "maker",
            "model",
            "serial",
            "range",
            "set_value",
            "resolution",
            "division",
            "readable",
            "direction",
            "tolerance",
            "drive",
            "head",
            "length",
            "uses",
            "owner_mark",
        ],
    ),
    section(Document::Run, "reference", &["file"]),
    section(Document::Run, "laboratory", &["file", "name", "address", "contact", "country"]),
    section(Document::Run, "customer", &["name", "address", "order"]),
    section(Document::Run, "people", &["technician", "approver"]),
    section(
        Document::Run,
        "environment",
        &["temperature_start", "temperature_end", "humidity_start", "humidity_end"],
    ),
    section(Document::Run, "prior", &["in_tolerance", "mean", "standard_deviation", "source"]),
    section(Document::Run, "study", &["file"]),
    section(Document::Run, "readings", &["file", "decimal"]),
    section(Document::Run, "bench", &["instrument", "rate", "filter", "order", "cut_off", "journal"]),
    section(
        Document::Run,
        "certificate",
        &["number", "replaces", "change", "interval", "method_deviations", "adjustment", "remarks"],
    ),
    section(
        Document::Reference,
        "",
        &[
            "id",
            "description",
            "serial",
            "certificate",
            "calibrated_by",
            "traceability",
            "calibrated_on",
            "due",
            "range",
            "resolution",
            "resolution_included",
            "drift_per_year",
            "interpolation",
            "temperature",
            "curve",
        ],
    ),
    section(Document::Reference, "temperature", &["per_kelvin", "calibrated_at"]),
    section(Document::Reference, "curve", &["direction", "k", "points"]),
    section(
        Document::Reference,
        "curve.points",
        &["indicated", "applied", "torque", "deviation", "expanded", "k"],
    ),
    section(Document::Study, "", &["id", "maker", "model", "tools", "concluded", "widths"]),
    section(Document::Study, "widths", &["reproducibility", "drive", "interface", "loading_point"]),
    section(Document::Laboratory, "", &["name", "address", "contact", "country"]),
];

/// Names that people give to keys of `run.toml`, and the key that is meant.
const OTHER_WORDS: [(&str, &str, &str); 24] = [
    ("deviations", "certificate", "method_deviations"),
    ("deviation", "certificate", "method_deviations"),
    ("deviations_from_method", "certificate", "method_deviations"),
    ("adjusted", "certificate", "adjustment"),
    ("notes", "certificate", "remarks"),
    ("certificate_number", "certificate", "number"),
    ("recalibration", "certificate", "interval"),
    ("date", "run", "performed"),
    ("location", "run", "place"),
    ("state", "run", "condition"),
    ("rule", "run", "decision"),
    ("decision_rule", "run", "decision"),
    ("manufacturer", "tool", "maker"),
    ("type", "tool", "iso"),
    ("class", "tool", "iso"),
    ("scale", "tool", "division"),
    ("claim", "tool", "tolerance"),
    ("operator", "people", "technician"),
    ("temperature", "environment", "temperature_start"),
    ("humidity", "environment", "humidity_start"),
    ("order_number", "customer", "order"),
    ("decimal_sign", "readings", "decimal"),
    ("sample_rate", "bench", "rate"),
    ("cutoff", "bench", "cut_off"),
];

/// The keys of a table; nothing for a table that there is not.
pub(super) fn of(document: Document, table: &str) -> &'static [&'static str] {
    SECTIONS
        .iter()
        .find(|section| section.document == document && section.table == table)
        .map_or(&[], |section| section.keys)
}

/// How to mend a key that stands in a table which does not know it: the table that does.
pub(super) fn elsewhere(document: Document, table: &str, key: &str) -> Option<String> {
    let mut homes = SECTIONS.iter().filter(|section| {
        section.document == document
            && !section.table.is_empty()
            && section.table != table
            && section.keys.contains(&key)
    });
    if let (Some(home), None) = (homes.next(), homes.next()) {
        let home = home.table;
        return Some(format!(
            "`{key}` is a key of [{home}]: move it there; where the header [{home}] was lost, write it above these lines"
        ));
    }
    if document != Document::Run {
        return None;
    }
    let plain = key.to_ascii_lowercase().replace('-', "_");
    OTHER_WORDS
        .iter()
        .find(|(word, _, _)| *word == plain)
        .map(|(_, home, meant)| format!("did you mean `{home}.{meant}`, that is `{meant}` in [{home}]?"))
}
