//! What a certificate prints, and nothing else: text that has been rounded
//! already, in the order in which it stands on the page.
//!
//! The template only lays out. Whoever builds a [`CertificateView`] has taken
//! every number through `leverarm_metrology::rounding`; from here on a number
//! is a string and cannot lose or gain a digit.

mod budget;
mod results;
mod verdict;

use serde::Serialize;

use super::chart::Chart;

pub use budget::{BudgetRow, BudgetView};
pub use results::{
    ChangeRow, ConditionView, CurveView, DirectionView, ReadingCell, ReadingGroup, ResultRow, VoidRow,
};
pub use verdict::{DecisionRow, DecisionView, FloorView, Sign, VerdictView};

/// A whole certificate, ready to be laid out.
#[derive(Debug, Clone, Serialize)]
pub struct CertificateView {
    /// "Calibration certificate" or "Declaration of conformance".
    pub title: String,
    /// The certificate's unique number, printed on every page.
    pub number: String,
    /// Date of issue; also the time stamp inside the PDF.
    pub issued: IssueDate,
    /// Name and version of the program, for the file's own record.
    pub software: String,
    /// What was changed, in which certificate, and why; only in an amendment.
    pub amendment: Option<String>,
    /// Who calibrated.
    pub laboratory: PartyView,
    /// For whom. Printed as supplied by the customer.
    pub customer: PartyView,
    /// One line that names the tool: type, maker, model, serial.
    pub item_line: String,
    /// The item, unambiguously.
    pub item: Vec<Fact>,
    /// Place and dates of the work.
    pub work: Vec<Fact>,
    /// Conditions in the room.
    pub environment: Vec<EnvironmentRow>,
    /// The verdict of each condition, as the front page says it.
    pub verdicts: Vec<VerdictView>,
    /// The procedure.
    pub method: MethodView,
    /// The references used and what they are traceable to.
    pub references: Vec<ReferenceView>,
    /// The decision rule, in words.
    pub decision: DecisionView,
    /// How a deviation is defined: its sign and its denominator.
    pub deviation_definition: String,
    /// What the expanded uncertainty means: k, coverage, and what k would have
    /// been where the rulebook fixes it.
    pub uncertainty: Vec<String>,
    /// As found, as left: one each, in the order of the work.
    pub conditions: Vec<ConditionView>,
    /// What changed between them; empty for one condition.
    pub changes: Vec<ChangeRow>,
    /// Who measured and who approved.
    pub people: Vec<PersonView>,
    /// Next calibration, only where the customer agreed to its being printed.
    pub interval: Option<String>,
    /// What the certificate does and does not say: relates only to the item,
    /// reproduction in full, and the like.
    pub statements: Vec<String>,
    /// How not to be hurt, and the limits of what was shown.
    pub cautions: Vec<String>,
    /// Hash of every input, so that the certificate can be checked again.
    pub inputs: Vec<Fact>,
}

impl CertificateView {
    /// Every figure of the certificate, in order of appearance.
    pub fn figures(&self) -> impl Iterator<Item = &Figure> {
        self.conditions.iter().flat_map(|condition| {
            let directions = condition.directions.iter().flat_map(|d| {
                let curve = d.curve.as_ref().and_then(|curve| curve.figure.as_ref());
                d.deviation.iter().chain(curve).chain(&d.shares)
            });
            directions.chain(&condition.sequence)
        })
    }
}

/// The date of issue, for the eye and for the file.
#[derive(Debug, Clone, Serialize)]
pub struct IssueDate {
    /// As it is printed.
    pub text: String,
    /// Year.
    pub year: i32,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month.
    pub day: u8,
}

/// A laboratory or a customer.
#[derive(Debug, Clone, Serialize)]
pub struct PartyView {
    /// Name.
    pub name: String,
    /// Address and whatever else stands below the name, a line each.
    pub lines: Vec<String>,
}

/// One labelled value.
#[derive(Debug, Clone, Serialize)]
pub struct Fact {
    /// What it is.
    pub label: String,
    /// Its value.
    pub value: String,
    /// True where the customer supplied it: printed with a mark that says so.
    pub by_customer: bool,
}

impl Fact {
    /// A fact that the laboratory itself established.
    pub fn new(label: impl Into<String>, value: impl Into<String>) -> Self {
        Self { label: label.into(), value: value.into(), by_customer: false }
    }

    /// A fact that the customer supplied.
    pub fn from_customer(label: impl Into<String>, value: impl Into<String>) -> Self {
        Self { by_customer: true, ..Self::new(label, value) }
    }
}

/// One quantity of the room.
#[derive(Debug, Clone, Serialize)]
pub struct EnvironmentRow {
    /// "Air temperature", and whose run it belongs to where there are two.
    pub quantity: String,
    /// At the start, with its unit.
    pub start: String,
    /// At the end, with its unit.
    pub end: String,
    /// What the procedure allows.
    pub allowed: String,
}

/// The procedure that was followed.
#[derive(Debug, Clone, Serialize)]
pub struct MethodView {
    /// Rulebook with its edition.
    pub name: String,
    /// What was done, in a sentence or two.
    pub statement: String,
    /// Each deviation from the procedure. Empty is printed as "none recorded".
    pub deviations: Vec<String>,
}

/// One reference.
#[derive(Debug, Clone, Serialize)]
pub struct ReferenceView {
    /// Its facts: identification, serial, certificate, laboratory, dates.
    pub facts: Vec<Fact>,
    /// To what it is traceable, and whether its deviation was corrected.
    pub traceability: String,
}

/// Somebody who answers for the certificate.
#[derive(Debug, Clone, Serialize)]
pub struct PersonView {
    /// "Measured by".
    pub role: String,
    /// Name, and function where it is known.
    pub name: String,
    /// Date.
    pub date: String,
}

/// A chart with the words that stand for it.
#[derive(Debug, Clone, Serialize)]
pub struct Figure {
    /// Unique within the certificate.
    pub name: String,
    /// Printed below.
    pub caption: String,
    /// What the chart shows, with its numbers, for whoever cannot see it.
    pub alt: String,
    /// What is drawn.
    #[serde(skip)]
    pub chart: Chart,
}
