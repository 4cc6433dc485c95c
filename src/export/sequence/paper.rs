//! The bench sheet on paper: PDF/A-3a and PDF/UA-1, with room to write by hand.

use chrono::{Datelike, NaiveDate};

use super::Sheet;
use crate::certificate::render::Imprint;
use crate::certificate::view::IssueDate;
use crate::certificate::{Paper, RenderError, Renderer};

const MAIN: &str = "sequence.typ";
/// What the sheet is set with.
pub(crate) const TEMPLATES: [(&str, &str); 2] = [
    (MAIN, include_str!("../../../templates/sequence.typ")),
    ("style.typ", include_str!("../../../templates/style.typ")),
];

/// The sheet as PDF, dated on the day of the work. The same sheet gives the same bytes.
///
/// # Errors
/// [`RenderError`] when the typesetter refuses.
pub fn pdf(sheet: &Sheet, performed: NaiveDate, paper: Paper) -> Result<Vec<u8>, RenderError> {
    let imprint = Imprint {
        ident: format!("bench sheet {} {} {performed}", sheet.job, sheet.condition),
        software: sheet.software.clone(),
        dated: IssueDate {
            text: performed.to_string(),
            year: performed.year(),
            // Both are small by the calendar; a day that is none is refused by the typesetter.
            month: u8::try_from(performed.month()).unwrap_or(0),
            day: u8::try_from(performed.day()).unwrap_or(0),
        },
    };
    Renderer::of_document(MAIN, &TEMPLATES)?.set(sheet, std::iter::empty(), paper, &[], imprint)
}
