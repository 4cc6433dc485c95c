//! What a rulebook says for the paper: its name and its specification as a certificate cites them,
//! and limits of the room in the digits of the document. Remarks, sources and marks of certainty are
//! for the listing of the rulebook and never printed on a certificate.

use super::parse::Reader;
use super::problem::{Bounds, RulebookProblem};
use super::raw::{RawCertificate, RawEnvironment, RawWritten};
use super::{EnvironmentLimits, Source};
use crate::rounding::figures;
use crate::tool::ToolClass;

const SHARE: Bounds = Bounds { lower: 0.0, above: true, upper: Some(100.0), below: false };
const ABOVE_ZERO: Bounds = Bounds { lower: 0.0, above: true, upper: None, below: false };
const ROOM: Bounds = Bounds { lower: -40.0, above: false, upper: Some(60.0), below: false };

/// A limit of the room.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// the value
    pub value: f64,
    /// the value with its unit as the document writes it, where it was converted
    pub as_written: Option<String>,
    /// where it comes from
    pub from: Source,
}

impl Written {
    /// As the document writes it; else the value in this unit.
    #[must_use]
    pub fn words(&self, unit: &str) -> String {
        self.as_written.clone().unwrap_or_else(|| format!("{} {unit}", figures(self.value)))
    }
}

/// What a certificate says of the rulebook, in the rulebook's own words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CertificateWords {
    /// the method, as a certificate cites it: `ISO 6789-2:2017`
    pub method: String,
    /// what was done, and as what the document was used, in a sentence or two
    pub statement: String,
    /// what a statement of conformity is made against; `{class}` stands for type and class of the
    /// tool, `{kind}` for its kind in words
    specification: String,
}

impl CertificateWords {
    /// The specification for a tool; `class` is its type and class as the paper writes them.
    #[must_use]
    pub fn specification(&self, tool: ToolClass, class: &str) -> String {
        self.specification.replace("{class}", class).replace("{kind}", tool.words())
    }

    /// The specification as the rulebook writes it, with its placeholders.
    #[must_use]
    pub fn pattern(&self) -> &str {
        &self.specification
    }

    /// What is said where a rulebook says nothing of its own.
    fn plain(document: &str, title: &str) -> CertificateWords {
        CertificateWords {
            method: document.to_owned(),
            statement: format!("{title}."),
            specification: format!("{{class}} by {document}"),
        }
    }
}

impl Reader {
    pub(super) fn certificate(
        &mut self,
        raw: Option<RawCertificate>,
        document: &str,
        title: &str,
    ) -> CertificateWords {
        let Some(raw) = raw else { return CertificateWords::plain(document, title) };
        let span = raw.specification.span();
        let words = CertificateWords {
            method: self.text("certificate.method", raw.method),
            statement: self.text("certificate.statement", raw.statement),
            specification: self.text("certificate.specification", raw.specification),
        };
        let left = words.specification(ToolClass::IIA, "");
        if left.contains(['{', '}']) {
            let given = words.specification.clone();
            self.report(Some(span), RulebookProblem::Placeholder { given });
        }
        words
    }

    pub(super) fn environment(&mut self, raw: RawEnvironment) -> EnvironmentLimits {
        let span = raw.temperature_max_celsius.value.span();
        let temperature_min = self.written("temperature_min_celsius", raw.temperature_min_celsius, ROOM);
        let temperature_max = self.written("temperature_max_celsius", raw.temperature_max_celsius, ROOM);
        if temperature_min.value > temperature_max.value {
            let problem =
                RulebookProblem::Temperatures { min: temperature_min.value, max: temperature_max.value };
            self.report(Some(span), problem);
        }
        let change = raw.temperature_change_kelvin;
        EnvironmentLimits {
            temperature_min,
            temperature_max,
            temperature_change: self.written("temperature_change_kelvin", change, ABOVE_ZERO),
            humidity_max: self.written("humidity_max_percent", raw.humidity_max_percent, SHARE),
        }
    }

    fn written(&mut self, key: &'static str, raw: RawWritten, wanted: Bounds) -> Written {
        Written {
            value: self.bounded(key, &raw.value, wanted),
            as_written: raw.as_written.map(|text| self.text("as_written", text)),
            from: self.source(raw.source, raw.certainty, raw.note),
        }
    }
}
