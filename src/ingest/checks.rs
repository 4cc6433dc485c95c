//! The checks that reading a run folder makes: is every file there, is it written in the way that
//! leverarm reads, does every number have its unit. What the numbers mean is checked by the core.

use leverarm_metrology::finding::{Check, Severity};

const FORMAT: &str = "leverarm, the run folder";

const fn error(name: &'static str, about: &'static str) -> Check {
    Check { name, severity: Severity::Error, about, source: FORMAT }
}

/// A file that the run names is not there.
pub static FILE_MISSING: Check = error("file-missing", "Every file that a run names is there.");
/// A file that cannot be read.
pub static FILE_UNREADABLE: Check = error(
    "file-unreadable",
    "Every file that a run names is a plain file, may be read and is not absurdly large.",
);
/// A file in another encoding.
pub static FILE_ENCODING: Check = error("file-encoding", "Every file is written in UTF-8.");
/// TOML that cannot be read.
pub static TOML_SYNTAX: Check = error("toml-syntax", "A TOML file follows the rules of TOML.");
/// The version of the format.
pub static FORMAT_VERSION: Check = error("format-version", "run.toml says `format = 1` in its first lines.");
/// A key that leverarm does not know.
pub static KEY_UNKNOWN: Check = error("key-unknown", "A TOML file holds no key that leverarm does not know.");
/// A key that must be there.
pub static KEY_MISSING: Check =
    error("key-missing", "A TOML file holds every key without which nothing can be computed.");
/// A number where a text should be, and the like.
pub static VALUE_TYPE: Check =
    error("value-type", "A value is of the kind that its key asks: text, number, yes or no, list, table.");
/// A text without content.
pub static VALUE_EMPTY: Check = error("value-empty", "A text that must be there is not empty.");
/// A character that no certificate can carry.
pub static CHARACTER_UNPRINTABLE: Check = error(
    "character-unprintable",
    "Every text is of characters that the certificate can print, in one line and without control characters.",
);
/// A word that is not one of those allowed.
pub static VALUE_UNKNOWN: Check = error("value-unknown", "A word is one of those that its key allows.");
/// One thing said in two ways.
pub static SAID_TWICE: Check =
    error("said-twice", "Everything is said once: two keys do not give one value.");
/// A number that cannot be read.
pub static NUMBER_UNREADABLE: Check =
    error("number-unreadable", "A number is a plain decimal number, without exponent, infinity or words.");
/// A number without its unit.
pub static NUMBER_WITHOUT_UNIT: Check = error("number-without-unit", "Every number has its unit.");
/// A unit that is not one.
pub static UNIT_UNKNOWN: Check =
    error("unit-unknown", "A unit is one that leverarm knows and fits what is measured.");
/// A comma in a number of a TOML file.
pub static DECIMAL_COMMA: Check = error("decimal-comma", "Numbers in TOML files have a decimal point.");
/// A date that cannot be read.
pub static DATE_UNREADABLE: Check = error("date-unreadable", "A date is written year-month-day and exists.");
/// A range that cannot be read.
pub static RANGE_UNREADABLE: Check = error("range-unreadable", "A range has two ends, each a torque.");
/// The kind and the ISO class of the tool contradict each other.
pub static KIND_CONTRADICTION: Check =
    error("kind-contradiction", "The kind of the tool in words and its type and class agree.");
/// A rulebook that is neither built in nor a file.
pub static RULEBOOK_UNKNOWN: Check =
    error("rulebook-unknown", "The rulebook is a built-in one or a TOML file.");
/// A rulebook that contradicts itself or lacks something.
pub static RULEBOOK_INVALID: Check =
    error("rulebook-invalid", "The rulebook is whole and free of contradictions.");
/// A calibration curve that cannot be one.
pub static REFERENCE_CURVE: Check = error(
    "reference-curve",
    "The reference has one calibration curve a direction, of two or more rising points with uncertainty and k.",
);
/// Readings without a header.
pub static READINGS_EMPTY: Check =
    error("readings-empty", "The readings have a header and at least one row.");
/// Cells separated by two different signs.
pub static CSV_DELIMITER: Check = error(
    "csv-delimiter",
    "The cells of the readings are separated by commas, by semicolons or by tabs, by one sign only.",
);
/// Quotation marks that do not pair.
pub static CSV_QUOTES: Check = error("csv-quotes", "Quotation marks enclose whole cells and are closed.");
/// A row with too many or too few cells.
pub static CSV_FIELDS: Check =
    error("csv-fields", "Every row of the readings has as many cells as the header.");
/// A column that leverarm does not know.
pub static COLUMN_UNKNOWN: Check =
    error("column-unknown", "The readings hold no column that leverarm does not know.");
/// A column that must be there.
pub static COLUMN_MISSING: Check =
    error("column-missing", "The readings have the columns series, target, indicated, reference and status.");
/// A column twice.
pub static COLUMN_TWICE: Check = error("column-twice", "The readings have each column once.");
/// An empty cell.
pub static CELL_EMPTY: Check =
    error("cell-empty", "Series, target, indicated, reference and status are filled in every row.");
/// Both decimal signs in one file.
pub static DECIMAL_MIXED: Check = error("decimal-mixed", "One file of readings has one decimal sign.");
/// A number that two countries read differently.
pub static DECIMAL_AMBIGUOUS: Check =
    error("decimal-ambiguous", "It is certain whether a sign is a decimal sign or a separator of thousands.");
/// Separators of thousands.
pub static DIGIT_GROUPING: Check = error("digit-grouping", "Numbers have no separators of thousands.");
/// A series that does not exist.
pub static SERIES_UNKNOWN: Check =
    error("series-unknown", "Every reading belongs to a series that leverarm knows.");
/// A status that does not exist.
pub static STATUS_UNKNOWN: Check = error("status-unknown", "The status of a reading is ok or void.");
/// A direction that does not exist.
pub static DIRECTION_UNKNOWN: Check =
    error("direction-unknown", "The direction of a reading is clockwise or counter-clockwise.");
/// A direction that nobody said.
pub static DIRECTION_MISSING: Check = error(
    "direction-missing",
    "Where a tool is calibrated in both directions, every reading says which it is of.",
);
/// A time that cannot be read.
pub static TIME_UNREADABLE: Check = error(
    "time-unreadable",
    "A time is written year-month-day hour:minute:second, with or without its offset from UTC.",
);
/// Some times with and some without offset.
pub static TIME_OFFSET_MIXED: Check =
    error("time-offset-mixed", "Either every time of a file has its offset from UTC or none has.");

/// A trace that is not there.
pub static TRACE_MISSING: Check =
    error("trace-missing", "Every trace that a reading names is a file inside the run folder.");
/// A trace that cannot be read.
pub static TRACE_UNREADABLE: Check = error(
    "trace-unreadable",
    "Every trace that a reading names can be read, and all of them together are not absurdly large.",
);
/// One trace of two readings.
pub static TRACE_SHARED: Check =
    error("trace-shared", "Every reading has a trace of its own: no two readings name one file.");
/// A trace in another unit.
pub static TRACE_UNIT: Check = error("trace-unit", "A trace is in the unit of its reading.");
/// A trace that shows something else.
pub static TRACE_DIFFERS: Check = error(
    "trace-differs",
    "The trace of a valid reading shows the torque and the loading time that its row says.",
);

/// Every check of this module, in the order of the work.
pub static CATALOGUE: [&Check; 44] = [
    &FILE_MISSING,
    &FILE_UNREADABLE,
    &FILE_ENCODING,
    &TOML_SYNTAX,
    &FORMAT_VERSION,
    &KEY_UNKNOWN,
    &KEY_MISSING,
    &VALUE_TYPE,
    &VALUE_EMPTY,
    &CHARACTER_UNPRINTABLE,
    &VALUE_UNKNOWN,
    &SAID_TWICE,
    &NUMBER_UNREADABLE,
    &NUMBER_WITHOUT_UNIT,
    &UNIT_UNKNOWN,
    &DECIMAL_COMMA,
    &DATE_UNREADABLE,
    &RANGE_UNREADABLE,
    &KIND_CONTRADICTION,
    &RULEBOOK_UNKNOWN,
    &RULEBOOK_INVALID,
    &REFERENCE_CURVE,
    &READINGS_EMPTY,
    &CSV_DELIMITER,
    &CSV_QUOTES,
    &CSV_FIELDS,
    &COLUMN_UNKNOWN,
    &COLUMN_MISSING,
    &COLUMN_TWICE,
    &CELL_EMPTY,
    &DECIMAL_MIXED,
    &DECIMAL_AMBIGUOUS,
    &DIGIT_GROUPING,
    &SERIES_UNKNOWN,
    &STATUS_UNKNOWN,
    &DIRECTION_UNKNOWN,
    &DIRECTION_MISSING,
    &TIME_UNREADABLE,
    &TIME_OFFSET_MIXED,
    &TRACE_MISSING,
    &TRACE_UNREADABLE,
    &TRACE_SHARED,
    &TRACE_UNIT,
    &TRACE_DIFFERS,
];
