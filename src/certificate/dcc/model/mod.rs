//! A certificate as plain data, before it is written.
//!
//! It knows nothing of how a result was computed: digits come in as they are printed, words as they are
//! to be read. What the schema does not check is checked when it is written ([`crate::write()`]).

mod admin;
mod result;
mod text;

pub use admin::{
    Amendment, Change, Contact, Core, Identification, Issuer, Item, Laboratory, Location, Person, Place,
    PreviousReport, Software, Statement,
};
pub use result::{
    Beside, Condition, Conformities, Conformity, Deviation, Direction, DirectionResult, Equipment, Expanded,
    Limits, MeasurementResult, Method, Named, ReadingsAt, Series, State,
};
pub use text::Text;

/// The whole certificate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Certificate {
    /// the programs that made it; one or more
    pub software: Vec<Software>,
    /// number, dates, place, languages
    pub core: Core,
    /// what was calibrated; one or more
    pub items: Vec<Item>,
    /// who calibrated
    pub laboratory: Laboratory,
    /// who answers for it; one or more, exactly one of them the main signer
    pub persons: Vec<Person>,
    /// for whom
    pub customer: Contact,
    /// statements on the whole: the verdict with its rule, traceability, remarks
    pub statements: Vec<Statement>,
    /// the results; one or more
    pub results: Vec<MeasurementResult>,
    /// a comment on the file
    pub comment: Option<Text>,
    /// the certificate as it is printed
    pub document: Option<Document>,
}

/// The certificate as it is printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Document {
    /// the file itself is inside the XML
    Embedded {
        /// its name
        file_name: String,
        /// its media type, such as `application/pdf`
        media_type: String,
        /// its bytes
        bytes: Vec<u8>,
    },
    /// the XML names it and its hash
    Referred {
        /// its name
        file_name: String,
        /// SHA-256 of its bytes, in hexadecimal
        sha256: String,
    },
}
