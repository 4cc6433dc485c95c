//! A letter a customer: facts in plain words, no admission and no legal words beyond them. It is a
//! draft for review until somebody approves it.

mod paper;
mod view;
mod words;

use std::collections::BTreeMap;

use chrono::NaiveDate;
use leverarm_metrology::run::Laboratory;

use super::cases::Addressee;
use super::record::{Report, RunRow};
use crate::certificate::RenderError;

pub use paper::Letters;
pub use view::{Group, LetterView, Line};
pub use words::paper_text;

/// What the letters say beyond the report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terms {
    /// the day on them
    pub dated: NaiveDate,
    /// who approved them; none: they are drafts
    pub approved_by: Option<String>,
    /// the laboratory as the record knows it; else as the runs say
    pub laboratory: Option<String>,
    /// whether customers get a letter of whom every verdict stands
    pub unaffected_too: bool,
}

/// A letter, ready to be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letter {
    /// name of the file
    pub file: String,
    /// to whom
    pub to: Addressee,
    /// the PDF
    pub pdf: Vec<u8>,
}

/// Each letter as it will be set, in the order of the customers' names.
#[must_use]
pub fn views(report: &Report, terms: &Terms) -> Vec<(Addressee, LetterView)> {
    let mut by_customer: BTreeMap<&Addressee, Vec<&RunRow>> = BTreeMap::new();
    for row in &report.rows {
        if let Some(customer) = &row.customer {
            by_customer.entry(customer).or_default().push(row);
        }
    }
    let laboratory = laboratory(report, terms);
    by_customer
        .into_iter()
        .filter(|(_, rows)| terms.unaffected_too || rows.iter().any(|row| row.is_affected()))
        .map(|(to, rows)| (to.clone(), view::view(report, terms, &laboratory, to, &rows)))
        .collect()
}

/// Sets every letter. The same report gives the same bytes.
///
/// # Errors
/// [`RenderError`] when the typesetter refuses.
pub fn letters(report: &Report, terms: &Terms) -> Result<Vec<Letter>, RenderError> {
    let views = views(report, terms);
    if views.is_empty() {
        return Ok(Vec::new());
    }
    let press = Letters::new()?;
    let set = |(number, (to, view)): (usize, (Addressee, LetterView))| {
        let file = format!("letter-{:03}-{}.pdf", number + 1, words::file_name(&to.name));
        Ok(Letter { file, pdf: press.pdf(&view, terms.dated)?, to })
    };
    views.into_iter().enumerate().map(set).collect()
}

/// Runs whose customer is not known: nobody gets a letter about them.
pub fn without_customer(report: &Report) -> impl Iterator<Item = &RunRow> {
    report.rows.iter().filter(|row| row.is_affected() && row.customer.is_none())
}

/// As the most recent run says; what the record says of the name holds.
fn laboratory(report: &Report, terms: &Terms) -> Laboratory {
    let of_runs = report
        .rows
        .iter()
        .filter(|row| row.whose.laboratory.name.is_some())
        .max_by(|a, b| (a.whose.performed, &b.origin).cmp(&(b.whose.performed, &a.origin)));
    let mut laboratory = of_runs.map(|row| row.whose.laboratory.clone()).unwrap_or_default();
    if terms.laboratory.is_some() {
        laboratory.name.clone_from(&terms.laboratory);
    }
    laboratory
}
