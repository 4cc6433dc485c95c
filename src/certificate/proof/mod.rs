//! The certificate that proves itself: what travels inside the PDF, and the signatures over it.
//!
//! - [`Decided`] is what the laboratory decided when it issued; it travels as [`record::ISSUE`], so that
//!   the same certificate can be made again;
//! - [`make()`] makes of judged runs what a certificate consists of before anything is attached or signed;
//! - [`gather`] takes the files that the runs were read from, so that a run folder can be put together
//!   again from the PDF alone;
//! - [`document`] says the same as a Digital Calibration Certificate;
//! - [`pack`] attaches, lists and signs: the manifest, its detached signature, the XML, the PDF last.
//!
//! Nothing here reads a clock or a file; the same input gives the same bytes. What is proved by what
//! stands in `standards-notes/proof.md`.

mod dcc;
mod files;
mod key;
mod make;
mod pack;
pub mod record;
mod xml;

pub use dcc::{DccError, document};
pub use files::{Gathered, RunSource, gather};
pub use key::LaboratoryKey;
pub use make::{Decided, Made, MakeError, make};
pub use pack::{PackError, Packed, Parts, Sealing, pack};
pub use record::{FileRecord, IssueRecord, LeftOut, RecordError, RunFiles};
pub use xml::{XmlFault, XmlSignature, verify_xml};
