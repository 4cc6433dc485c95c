//! A certificate as XML of schema 3.3.0.
//!
//! The order of the elements is that of the schema. What the schema does not check is checked here while
//! it is written: lengths of lists, units, numbers that can be what they stand for, languages, dates.
//! `relativeUncertainty` is never written, as the rules of the DCC refuse it beside `expandedMU`. All that is wrong is told at
//! once, each by the path of its element. The same certificate always gives the same bytes.

mod admin;
mod emitter;
mod problem;
mod quantity;
mod result;

pub use problem::{Fault, Problem, Refused};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use crate::model::{Certificate, Document};
use crate::{DCC, SCHEMA_VERSION, SI};
use emitter::Emitter;

/// The XML of a certificate, in UTF-8.
///
/// # Errors
/// [`Refused`] with everything that is wrong with it.
pub fn write(certificate: &Certificate) -> Result<Vec<u8>, Refused> {
    let mut x = Emitter::new(&certificate.core.languages);
    let attributes = [("xmlns:dcc", DCC), ("xmlns:si", SI), ("schemaVersion", SCHEMA_VERSION)];
    x.with("dcc:digitalCalibrationCertificate", &attributes, |x| {
        admin::write(x, certificate);
        x.element("dcc:measurementResults", |x| {
            if certificate.results.is_empty() {
                x.fault(Fault::Nothing { what: "result" });
            }
            for measured in &certificate.results {
                result::write(x, measured, certificate.items.len());
            }
        });
        if let Some(comment) = &certificate.comment {
            x.element("dcc:comment", |x| x.contents(comment));
        }
        if let Some(Document::Embedded { file_name, media_type, bytes }) = &certificate.document {
            x.element("dcc:document", |x| {
                x.word("dcc:fileName", file_name);
                x.word("dcc:mimeType", media_type);
                x.word("dcc:dataBase64", &STANDARD.encode(bytes));
            });
        }
    });
    x.finish().map_err(|problems| Refused { problems })
}
