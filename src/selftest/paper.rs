//! The report on paper: PDF/A-3a and PDF/UA-1, with its JSON attached.

use chrono::Datelike;
use serde::Serialize;

use super::case::{Case, Value};
use super::print::{allowed, shown};
use super::report::Report;
use crate::certificate::render::{Attachment, Imprint};
use crate::certificate::view::IssueDate;
use crate::certificate::{Paper, RenderError, Renderer};

const MAIN: &str = "selftest.typ";
/// The templates of this report: file name and text.
pub(crate) const TEMPLATES: [(&str, &str); 2] = [
    (MAIN, include_str!("../../templates/selftest.typ")),
    ("style.typ", include_str!("../../templates/style.typ")),
];

/// Every word of the page, ready to print.
#[derive(Serialize)]
struct View<'a> {
    title: String,
    report: &'a Report,
    failed: Vec<FailedView<'a>>,
    cases: Vec<CaseView<'a>>,
}

#[derive(Serialize)]
struct FailedView<'a> {
    id: &'a str,
    source: &'a str,
    row: Row<'a>,
}

#[derive(Serialize)]
struct CaseView<'a> {
    case: &'a Case,
    passed: bool,
    rows: Vec<Row<'a>>,
}

#[derive(Serialize)]
struct Row<'a> {
    quantity: &'a str,
    expected: String,
    found: String,
    within: String,
    mark: &'static str,
    passed: bool,
}

impl<'a> Row<'a> {
    fn new(value: &'a Value) -> Row<'a> {
        Row {
            quantity: &value.quantity,
            expected: shown(&value.expected),
            found: shown(&value.found),
            within: allowed(value),
            mark: value.mark.word(),
            passed: value.passed,
        }
    }
}

/// The report as PDF. The same report gives the same bytes.
///
/// # Errors
/// [`RenderError`] when the typesetter refuses.
pub fn pdf(report: &Report) -> Result<Vec<u8>, RenderError> {
    let software = report.software();
    let title = format!("Self-test of {software}");
    let view = View {
        title: title.clone(),
        report,
        failed: report
            .failed()
            .map(|(case, value)| FailedView { id: case.id, source: case.source, row: Row::new(value) })
            .collect(),
        cases: report
            .cases
            .iter()
            .map(|case| CaseView {
                case,
                passed: case.passed(),
                rows: case.values.iter().map(Row::new).collect(),
            })
            .collect(),
    };
    let attachment = Attachment {
        name: "selftest.json".to_owned(),
        mime: "application/json".to_owned(),
        description: "The values of this report for machines".to_owned(),
        data: super::json(report)?,
    };
    let imprint = Imprint {
        ident: format!("{title} {} {}", report.dated, report.program.executable_sha256),
        software,
        dated: issue_date(report),
    };
    Renderer::of_document(MAIN, &TEMPLATES)?.set(&view, std::iter::empty(), Paper::A4, &[attachment], imprint)
}

fn issue_date(report: &Report) -> IssueDate {
    let day = report.dated;
    IssueDate {
        text: day.to_string(),
        year: day.year(),
        // Both are small by the calendar; a day that is none is refused by the typesetter.
        month: u8::try_from(day.month()).unwrap_or(0),
        day: u8::try_from(day.day()).unwrap_or(0),
    }
}
