//! A small reader of PDF files for verification: bounded, without recursion that a file could
//! drive, and strict: what two readers might read in two ways is an error, never a guess.
//!
//! ISO 32000-1:2008. Encrypted files, tables of objects in both forms at once, and filters other
//! than `FlateDecode` are refused.

mod attached;
pub(crate) mod date;
mod document;
mod error;
mod filter;
mod inspect;
mod object;
mod parser;
mod place;
pub(crate) mod write;
mod xref;

pub use attached::{Association, EmbeddedFile};
pub use date::{parse_date, pdf_date};
pub use document::Document;
pub use error::PdfError;
pub use inspect::{Coverage, Information, Inspection, Limits, SignatureField, inspect, inspect_within};
pub use object::{Dictionary, Object, ObjectId, PdfString, Stream};
