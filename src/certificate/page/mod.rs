//! What the customer sees first: one HTML file beside the PDF, complete in itself.
//!
//! The page says what the certificate says, in the same digits: it takes the [`CertificateView`] that the PDF
//! is set from and the [`ResultFile`] that is written as `result.json`, and computes and rounds nothing. It
//! has no script and asks for nothing outside itself: its content security policy allows one style sheet,
//! by its hash. The markup is HTML that is well-formed XML too, so that a test can read it back.

mod chart;
mod front;
mod guide;
mod markup;
mod meaning;
mod results;
mod scale;
mod sign;
mod style;
#[cfg(test)]
mod tests;

use thiserror::Error;

use super::view::CertificateView;
use crate::export::json::ResultFile;
use markup::Html;
use scale::Scale;

/// Greatest size of a page, in bytes.
pub const BYTES_MAX: usize = 300_000;

/// The PDF beside the page, as far as the page speaks of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PdfBeside<'a> {
    /// its file name, in the folder of the page
    pub name: &'a str,
    /// to whom its signature belongs, by the signing certificate; `None` for a PDF without a signature
    pub signed_by: Option<&'a str>,
    /// SHA-256 of its final bytes, in hexadecimal
    pub sha256: Option<&'a str>,
}

/// Why there is no page.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PageError {
    /// View and record are not of the same certificate.
    #[error("the view and the record differ in their {what}: {view} and {record}")]
    Differ {
        /// what is counted or compared
        what: &'static str,
        /// in the view
        view: String,
        /// in the record
        record: String,
    },
    /// A position of the chart is not a finite number, or out of all proportion.
    #[error("the chart of {0} holds a position that cannot be drawn")]
    NotDrawable(String),
    /// The page would be larger than a page may be.
    #[error("the page would have {bytes} bytes, more than the {BYTES_MAX} that it may have")]
    TooLarge {
        /// bytes that it would have
        bytes: usize,
    },
}

impl PageError {
    /// How to mend it.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        match self {
            PageError::Differ { .. } => "make the view and the record from the same runs, in the same order",
            PageError::NotDrawable(_) => "look for a reading or a limit that is absurdly large",
            PageError::TooLarge { .. } => {
                "shorten the remarks and warnings, or certify fewer test points at once"
            }
        }
    }
}

/// The page of a certificate, as the bytes of an HTML file: the same input gives the same bytes.
///
/// # Errors
/// [`PageError`] when view and record are not of the same certificate, when a chart cannot be drawn, or when
/// the page would be larger than [`BYTES_MAX`].
pub fn html(view: &CertificateView, record: &ResultFile, pdf: &PdfBeside<'_>) -> Result<Vec<u8>, PageError> {
    agree(view, record)?;
    let scale = Scale::of(view)?;
    let page = Page { view, record, pdf, scale };
    let mut out = Html::new();
    page.document(&mut out);
    let bytes = out.into_bytes();
    if bytes.len() > BYTES_MAX {
        return Err(PageError::TooLarge { bytes: bytes.len() });
    }
    Ok(bytes)
}

/// What every part of the page reads.
struct Page<'a> {
    view: &'a CertificateView,
    record: &'a ResultFile,
    pdf: &'a PdfBeside<'a>,
    scale: Scale,
}

impl Page<'_> {
    /// "calibration certificate": what the paper is called within a sentence.
    fn paper(&self) -> String {
        self.view.title.to_lowercase()
    }

    fn document(&self, out: &mut Html) {
        out.raw("<!DOCTYPE html>\n");
        out.node("html", &[("lang", "en")], |out| {
            out.node("head", &[], |out| self.head(out));
            out.node("body", &[], |out| {
                self.banner(out);
                out.node("main", &[("id", "main")], |out| {
                    self.opening(out);
                    self.verdicts(out);
                    self.results(out);
                    self.meaning(out);
                    self.joints(out);
                    self.rule(out);
                    self.next_steps(out);
                    self.where_to_look(out);
                    self.genuine(out);
                    self.cautions(out);
                });
                self.closing(out);
            });
        });
        out.raw("\n");
    }

    fn head(&self, out: &mut Html) {
        let policy = format!(
            "default-src 'none'; style-src '{}'; img-src data:; base-uri 'none'; form-action 'none'",
            style::HASH
        );
        out.empty("meta", &[("charset", "utf-8")]);
        out.empty("meta", &[("http-equiv", "Content-Security-Policy"), ("content", &policy)]);
        out.empty("meta", &[("name", "viewport"), ("content", "width=device-width, initial-scale=1")]);
        out.empty("meta", &[("name", "referrer"), ("content", "no-referrer")]);
        out.empty("meta", &[("name", "color-scheme"), ("content", "light dark")]);
        out.empty("meta", &[("name", "generator"), ("content", &self.view.software)]);
        out.leaf("title", &[], &format!("{} {}", self.view.title, self.view.number));
        out.node("style", &[], |out| out.raw(style::CSS));
    }
}

/// Refuses a view and a record that are not of one certificate: a page that mixed them would lie.
fn agree(view: &CertificateView, record: &ResultFile) -> Result<(), PageError> {
    let same = |what, view: String, record: String| {
        if view == record { Ok(()) } else { Err(PageError::Differ { what, view, record }) }
    };
    if let Some(certificate) = &record.certificate {
        same("number", view.number.clone(), certificate.number.clone())?;
    }
    same("runs", view.conditions.len().to_string(), record.runs.len().to_string())?;
    for (condition, run) in view.conditions.iter().zip(&record.runs) {
        same("condition", condition.heading.to_lowercase(), run.condition.words().to_lowercase())?;
        for direction in &condition.directions {
            let printed = results::points_of(run, &direction.heading);
            same("test points", direction.results.len().to_string(), printed.len().to_string())?;
            for (row, point) in direction.results.iter().zip(printed) {
                same("mean deviation", row.deviation.clone(), point.printed.mean_deviation.clone())?;
            }
        }
    }
    Ok(())
}
