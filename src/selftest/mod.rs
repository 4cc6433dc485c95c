//! The self-test: published examples, computed inside the program that is installed, as a dated report.
//!
//! [`cases::run`] computes them, [`Report::new`] puts beside them which program, rulebooks, templates
//! and fonts they were computed with, and [`text`], [`json`] and [`paper`] write it. Nothing here reads
//! a clock or a file: the same program with the same date gives the same bytes. The values are set down
//! here a second time and share nothing with the tests of the sources, which are the developer's: this
//! report is the user's.

pub mod case;
pub mod cases;
pub mod paper;
pub mod parts;
mod print;
pub mod report;
pub mod text;

pub use case::{Agreement, Case, Mark, Value};
pub use report::{Ask, Report};

/// The report as JSON, indented, with a newline at its end.
///
/// # Errors
/// What the writer of JSON reports.
pub fn json(report: &Report) -> Result<Vec<u8>, serde_json::Error> {
    let mut bytes = serde_json::to_vec_pretty(report)?;
    bytes.push(b'\n');
    Ok(bytes)
}
