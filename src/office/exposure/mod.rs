//! What a reference that was found wrong reaches: every run that used it, evaluated again with what
//! is known now, certificate by certificate and point by point; and the letters about it.
//!
//! ```text
//! found       reads the file of the new calibration
//! cases       where runs come from: folders, or the record
//! examine     one run before and after; many of them on several threads
//! record      the report as data
//! text, table the report on the terminal, as CSV
//! letter      a letter a customer, as PDF
//! entry       the finding and its letters as events of the record
//! ```
//!
//! The metrology is [`leverarm_metrology::exposure`]; clauses of ISO/IEC 17025:2017 that ask for this
//! are 6.4.9 and 7.10 (from memory).

pub mod cases;
pub mod entry;
pub mod examine;
pub mod found;
pub mod letter;
pub mod record;
pub mod table;
pub mod text;

pub use cases::Case;
pub use examine::{Question, examine};
pub use record::Report;
