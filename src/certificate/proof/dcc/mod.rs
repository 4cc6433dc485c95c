//! The certificate as a Digital Calibration Certificate: the same words and digits, in its schema.
//!
//! Every digit is one that `crate::printed` rounded; only what the schema wants in an SI unit beside a
//! unit of trade is rounded here, by the same rules.

mod admin;
mod quantities;
mod results;

use leverarm_dcc::model::{Certificate, Core, Document, Place};
use leverarm_dcc::{DigitsError, Refused, write};
use leverarm_metrology::rounding::RoundingError;
use thiserror::Error;

use super::make::Decided;
use crate::certificate::CertificateView;
use crate::certificate::compose::Judged;

/// Name of the printed certificate, as the XML refers to it.
const PRINTED: &str = "certificate.pdf";

/// Why there is no Digital Calibration Certificate.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum DccError {
    /// There is no run.
    #[error("a certificate needs at least one run")]
    NoRun,
    /// The schema wants what the run does not say.
    #[error("the schema of the Digital Calibration Certificate wants {what}, which is not on record")]
    Missing {
        /// what
        what: &'static str,
        /// how to mend it
        remedy: &'static str,
    },
    /// A printed number that is none.
    #[error("a printed number cannot stand in the certificate: {0}")]
    Digits(#[from] DigitsError),
    /// A number has no printable digits.
    #[error("a result has no printable digits: {0}")]
    Rounding(#[from] RoundingError),
    /// The schema or its rules refuse it.
    #[error(transparent)]
    Refused(#[from] Refused),
}

impl DccError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            DccError::Missing { remedy, .. } => remedy,
            DccError::Refused(refused) => {
                refused.problems.first().map_or("look at run.toml", |problem| problem.fault.remedy())
            }
            _ => "look for a reading or an uncertainty that is absurdly small or large",
        }
    }
}

/// The XML of a certificate, without a signature. `country` is the laboratory's (ISO 3166-1).
///
/// # Errors
/// [`DccError`], above all where the laboratory's country is not on record.
pub fn document(
    runs: &[Judged<'_>],
    view: &CertificateView,
    decided: &Decided,
    country: Option<&str>,
) -> Result<Vec<u8>, DccError> {
    let (Some(first), Some(last)) = (runs.first(), runs.last()) else { return Err(DccError::NoRun) };
    let country = country.map(str::to_owned).ok_or(DccError::Missing {
        what: "the laboratory's country",
        remedy: "write country = \"NO\" (ISO 3166-1, two capitals) to the laboratory",
    })?;
    let results = runs.iter().zip(&view.verdicts).map(|(judged, words)| results::result(judged, words));
    let certificate = Certificate {
        software: vec![admin::software()],
        core: Core {
            country: country.clone(),
            languages: vec!["en".to_owned()],
            binding_languages: vec!["en".to_owned()],
            unique_identifier: decided.number.clone(),
            identifications: admin::numbers(runs),
            received: first.run.received,
            begin: first.run.performed.min(last.run.performed),
            end: first.run.performed.max(last.run.performed),
            place: place(first),
            issued: Some(decided.issued),
            amendment: admin::amendment(first),
            previous: None,
        },
        items: vec![admin::item(&first.run.tool)?],
        laboratory: admin::laboratory(first.run, &country),
        persons: admin::persons(runs)?,
        customer: admin::customer(first.run)?,
        statements: admin::statements(runs, view),
        results: results.collect::<Result<_, _>>()?,
        comment: None,
        document: None::<Document>,
    };
    Ok(write(&certificate)?)
}

fn place(judged: &Judged<'_>) -> Place {
    let words = judged.run.place.as_deref().unwrap_or_default().to_lowercase();
    if words.contains("laboratory") {
        Place::Laboratory
    } else if words.starts_with("on site") {
        Place::Customer
    } else {
        Place::Other
    }
}
