//! A letter as PDF/A-3a and PDF/UA-1.

use chrono::{Datelike, NaiveDate};

use super::view::LetterView;
use crate::certificate::render::Imprint;
use crate::certificate::view::IssueDate;
use crate::certificate::{Paper, RenderError, Renderer};

const MAIN: &str = "letter.typ";
const TEMPLATES: [(&str, &str); 2] = [
    (MAIN, include_str!("../../../../templates/letter.typ")),
    ("style.typ", include_str!("../../../../templates/style.typ")),
];

/// The typesetter of letters: built once, used for all of them.
pub struct Letters {
    renderer: Renderer,
}

impl Letters {
    /// Builds it.
    ///
    /// # Errors
    /// [`RenderError`] when a template is not to be read.
    pub fn new() -> Result<Letters, RenderError> {
        Ok(Letters { renderer: Renderer::of_document(MAIN, &TEMPLATES)? })
    }

    /// Sets a letter. The same view gives the same bytes.
    ///
    /// # Errors
    /// [`RenderError`] when the typesetter refuses.
    pub fn pdf(&self, view: &LetterView, dated: NaiveDate) -> Result<Vec<u8>, RenderError> {
        let imprint = Imprint {
            ident: format!("{} {} {} {}", view.laboratory, view.to, view.subject, view.dated),
            software: view.software.clone(),
            dated: IssueDate {
                text: dated.to_string(),
                year: dated.year(),
                // Both are small by the calendar; a day that is none is refused by the typesetter.
                month: u8::try_from(dated.month()).unwrap_or(0),
                day: u8::try_from(dated.day()).unwrap_or(0),
            },
        };
        self.renderer.set(view, std::iter::empty(), Paper::A4, &[], imprint)
    }
}
