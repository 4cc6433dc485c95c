//! The Digital Calibration Certificate (DCC): the open XML schema with D-SI units, written and read.
//!
//! - [`model`] is a certificate as plain data, and [`write()`] makes the XML of schema 3.3.0 of it;
//! - [`read()`] takes the XML of schema 3.2 or 3.3 of any laboratory, as hostile bytes, and gives its tables;
//! - [`reference::as_reference`] makes of the certificate of a reference transducer what a reference file needs;
//! - [`sign`] puts an enveloped XML signature into a certificate and checks what a signature covers; the
//!   cryptographic operation itself is the caller's.
//!
//! Digits are texts ([`Digits`]): what was printed is what is written, and nothing here rounds.
//! What is used of the schema, and what is confirmed, stands in `standards-notes/dcc.md`.

pub mod model;
pub mod read;
pub mod reference;
pub mod sign;
pub mod terms;
pub mod unit;
pub mod write;

mod digits;

pub use digits::{Digits, DigitsError};
pub use read::{Dcc, ReadError, read};
pub use reference::{ReferenceData, as_reference, to_toml};
pub use unit::{NonSiUnit, Unit};
pub use write::{Refused, write};

/// The namespace of the DCC.
pub const DCC: &str = "https://ptb.de/dcc";
/// The namespace of the D-SI.
pub const SI: &str = "https://ptb.de/si";
/// The namespace of XML signatures.
pub const DS: &str = "http://www.w3.org/2000/09/xmldsig#";
/// The version of the schema that is written.
pub const SCHEMA_VERSION: &str = "3.3.0";
