//! The administrative data: who, for whom, what, when, where.

use chrono::NaiveDate;

use super::{Conformity, Text};

/// A program that had a part in the certificate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Software {
    /// its name
    pub name: Text,
    /// its version, a letter and up to four numbers: `v0.1.0`
    pub release: String,
}

/// Number, dates, place and languages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Core {
    /// country of the laboratory (ISO 3166-1, two capitals)
    pub country: String,
    /// every language in which the certificate has texts (ISO 639-1)
    pub languages: Vec<String>,
    /// those that bind; each of them is one of `languages`
    pub binding_languages: Vec<String>,
    /// the number of the certificate
    pub unique_identifier: String,
    /// further numbers: the job, the customer's order
    pub identifications: Vec<Identification>,
    /// when the tool came in
    pub received: Option<NaiveDate>,
    /// first day of the work
    pub begin: NaiveDate,
    /// last day of the work
    pub end: NaiveDate,
    /// where it was done
    pub place: Place,
    /// day of issue
    pub issued: Option<NaiveDate>,
    /// what certificate it amends or replaces
    pub amendment: Option<Amendment>,
    /// that certificate with its hash
    pub previous: Option<PreviousReport>,
}

/// Where the work was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// in the laboratory
    Laboratory,
    /// at the customer's
    Customer,
    /// in a branch of the laboratory
    LaboratoryBranch,
    /// in a branch of the customer's
    CustomerBranch,
    /// elsewhere
    Other,
}

/// What this certificate is to an earlier one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amendment {
    /// whether it amends or replaces it
    pub change: Change,
    /// number of the earlier certificate
    pub replaced: String,
}

/// Amended or replaced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// it is to be read with the earlier one
    Amended,
    /// it stands in its place
    Substituted,
}

/// Another certificate or report, by number and hash.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PreviousReport {
    /// what it is
    pub referral: Text,
    /// its number
    pub number: String,
    /// SHA-256 of the file, in hexadecimal
    pub sha256: String,
}

/// A number or mark, and who gave it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identification {
    /// who gave it
    pub issuer: Issuer,
    /// the number or mark
    pub value: String,
    /// what kind of number it is
    pub name: Option<Text>,
}

/// Who gave a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Issuer {
    /// the maker
    Manufacturer,
    /// the laboratory
    Laboratory,
    /// the customer
    Customer,
    /// the owner
    Owner,
    /// someone else
    Other,
}

/// What was calibrated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// what it is
    pub name: Text,
    /// anything further to say of it
    pub description: Option<Text>,
    /// who made it
    pub maker: Option<String>,
    /// the maker's name of the model
    pub model: Option<String>,
    /// its numbers; one or more
    pub identifications: Vec<Identification>,
    /// what is known of it as a quantity: range, resolution
    pub quantities: Vec<super::Named>,
}

/// Who calibrated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Laboratory {
    /// its code with an accreditation body
    pub code: Option<String>,
    /// name and address
    pub contact: Contact,
}

/// Name and address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contact {
    /// name
    pub name: String,
    /// mail
    pub mail: Option<String>,
    /// telephone
    pub phone: Option<String>,
    /// address
    pub location: Location,
}

/// An address. At least one field must say something.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Location {
    /// city
    pub city: Option<String>,
    /// country (ISO 3166-1, two capitals)
    pub country: Option<String>,
    /// post code
    pub post_code: Option<String>,
    /// street, with its number
    pub street: Option<String>,
    /// the whole address, where it is not known in parts
    pub further: Option<Text>,
}

/// Who answers for the certificate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    /// name
    pub name: String,
    /// role in the laboratory
    pub role: Option<String>,
    /// whether this is the one that signs
    pub main_signer: bool,
}

/// A statement on the certificate as a whole.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Statement {
    /// its term
    pub ref_type: Option<String>,
    /// whether it says that the results are traceable
    pub traceable: Option<bool>,
    /// standards it rests on
    pub norms: Vec<String>,
    /// clauses, or other references
    pub references: Vec<String>,
    /// its words
    pub declaration: Option<Text>,
    /// a date that belongs to it
    pub date: Option<NaiveDate>,
    /// the verdict that it gives
    pub conformity: Option<Conformity>,
}
