//! Sets a certificate with Typst and writes it as PDF/A-3a and PDF/UA-1.

use serde::Serialize;
use thiserror::Error;
use typst::diag::{SourceDiagnostic, Warned};
use typst::foundations::{Array, Bytes, Datetime, Dict, IntoValue, Smart};
use typst::syntax::{DiagSpan, DiagSpanKind, FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst_as_lib::{TypstAsLibError, TypstEngine, TypstTemplateMainFile};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use super::draw::{DrawError, draw};
use super::view::{CertificateView, Figure, IssueDate};

const MAIN: &str = "certificate.typ";
/// The templates of the certificate: file name and text.
pub(crate) const TEMPLATES: [(&str, &str); 3] = [
    (MAIN, include_str!("../../templates/certificate.typ")),
    ("style.typ", include_str!("../../templates/style.typ")),
    ("results.typ", include_str!("../../templates/results.typ")),
];
/// Every font that a page may use: name and bytes.
pub(crate) const FONTS: [(&str, &[u8]); 4] = [
    ("Noto Sans Regular", notosans::REGULAR_TTF),
    ("Noto Sans Bold", notosans::BOLD_TTF),
    ("Noto Sans Italic", notosans::ITALIC_TTF),
    ("Noto Sans Bold Italic", notosans::BOLD_ITALIC_TTF),
];

/// The size of the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Paper {
    /// 210 mm by 297 mm.
    #[default]
    A4,
    /// 8.5 in by 11 in.
    UsLetter,
}

impl Paper {
    /// The name by which the template knows it.
    fn name(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::UsLetter => "us-letter",
        }
    }
}

/// A file that travels inside the PDF, such as the machine-readable result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// File name.
    pub name: String,
    /// Media type, such as `application/json`.
    pub mime: String,
    /// What it holds, in a few words.
    pub description: String,
    /// Its bytes.
    pub data: Vec<u8>,
}

/// What the file says of itself, apart from its pages.
#[derive(Debug, Clone)]
pub(crate) struct Imprint {
    /// By what the document is told from any other.
    pub ident: String,
    /// Name and version of the program.
    pub software: String,
    /// Its day; the only time stamp in the file.
    pub dated: IssueDate,
}

/// One complaint of the typesetter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Complaint {
    /// What is wrong.
    pub message: String,
    /// Template file, line and column, both counted from 1.
    pub place: Option<(String, usize, usize)>,
    /// What may help.
    pub hints: Vec<String>,
}

impl std::fmt::Display for Complaint {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let Some((file, line, column)) = &self.place {
            write!(f, "{file}:{line}:{column}: ")?;
        }
        f.write_str(&self.message)?;
        self.hints.iter().try_for_each(|hint| write!(f, " ({hint})"))
    }
}

/// A document that could not be rendered.
#[derive(Debug, Error)]
pub enum RenderError {
    /// A chart could not be drawn.
    #[error("chart `{name}`: {source}")]
    Chart {
        /// Name of the figure.
        name: String,
        /// What went wrong.
        source: DrawError,
    },
    /// Two figures bear one name.
    #[error("two figures of the certificate are called `{0}`")]
    FigureTwice(String),
    /// The view could not be written as JSON.
    #[error("the document's content could not be handed over: {0}")]
    Data(#[from] serde_json::Error),
    /// The date of issue is not in the calendar.
    #[error("the date of issue `{0}` is not a day of the calendar")]
    Date(String),
    /// Typst refused the template, or something in the data.
    #[error("the document could not be set:\n{}", list(.0))]
    Template(Vec<Complaint>),
    /// The PDF standards could not be met.
    #[error("the document could not be exported as PDF/A-3a and PDF/UA-1:\n{}", list(.0))]
    Export(Vec<Complaint>),
    /// Anything else that the typesetter reports.
    #[error("the typesetter failed: {0}")]
    Engine(String),
}

fn list(complaints: &[Complaint]) -> String {
    complaints.iter().map(|c| format!("  {c}")).collect::<Vec<_>>().join("\n")
}

/// The typesetter with its fonts and templates: built once, used for a batch.
pub struct Renderer {
    engine: TypstEngine<TypstTemplateMainFile>,
    sources: Vec<Source>,
    standards: PdfStandards,
}

impl Renderer {
    /// Builds the typesetter with the embedded templates and fonts. System
    /// fonts are not looked at, so that every machine gives the same page.
    pub fn new() -> Result<Self, RenderError> {
        Self::with_templates(&TEMPLATES)
    }

    /// Builds the typesetter with other templates: (file name, text). The one
    /// called `certificate.typ` is the main one.
    pub fn with_templates(templates: &[(&str, &str)]) -> Result<Self, RenderError> {
        Self::of_document(MAIN, templates)
    }

    /// Builds the typesetter of another document than the certificate; `main` names its template.
    pub(crate) fn of_document(main: &str, templates: &[(&str, &str)]) -> Result<Self, RenderError> {
        let sources = templates
            .iter()
            .map(|(name, text)| Ok(Source::new(file_id(name)?, (*text).to_owned())))
            .collect::<Result<Vec<_>, RenderError>>()?;
        let main_id = file_id(main)?;
        let main_source = sources
            .iter()
            .find(|source| source.id() == main_id)
            .ok_or_else(|| RenderError::Engine(format!("no template is called {main}")))?;
        let engine = TypstEngine::builder()
            .main_file(main_source.clone())
            .fonts(FONTS.map(|(_, bytes)| Bytes::new(bytes)))
            .with_static_source_file_resolver(sources.iter().cloned())
            .comemo_evict_max_age(Some(0))
            .build();
        let standards = PdfStandards::new(&[PdfStandard::A_3a, PdfStandard::Ua_1])
            .map_err(|error| RenderError::Engine(error.message().to_string()))?;
        Ok(Self { engine, sources, standards })
    }

    /// Renders one certificate. The same view gives the same bytes.
    pub fn render(&self, view: &CertificateView, paper: Paper) -> Result<Vec<u8>, RenderError> {
        self.render_with(view, paper, &[])
    }

    /// Renders one certificate with files attached to it.
    pub fn render_with(
        &self,
        view: &CertificateView,
        paper: Paper,
        attachments: &[Attachment],
    ) -> Result<Vec<u8>, RenderError> {
        let imprint = Imprint {
            ident: format!("{} {}", view.laboratory.name, view.number),
            software: view.software.clone(),
            dated: view.issued.clone(),
        };
        self.set(view, view.figures(), paper, attachments, imprint)
    }

    /// Sets any view by a template that reads `view`, `svgs`, `paper` and `attachments`.
    pub(crate) fn set<'a>(
        &self,
        view: &impl Serialize,
        figures: impl Iterator<Item = &'a Figure>,
        paper: Paper,
        attachments: &[Attachment],
        imprint: Imprint,
    ) -> Result<Vec<u8>, RenderError> {
        let options = self.options(imprint)?;
        let inputs = inputs(view, figures, paper, attachments)?;
        let Warned { output, .. } = self.engine.compile_with_input::<_, PagedDocument>(inputs);
        let document = output.map_err(|error| self.explain(error))?;
        typst_pdf::pdf(&document, &options)
            .map_err(|errors| RenderError::Export(self.complaints(errors.iter())))
    }

    fn options(&self, imprint: Imprint) -> Result<PdfOptions, RenderError> {
        let date = calendar_day(&imprint.dated)?;
        Ok(PdfOptions {
            ident: Smart::Custom(imprint.ident),
            creator: Smart::Custom(Some(imprint.software)),
            timestamp: Some(Timestamp::new_utc(date)),
            standards: self.standards.clone(),
            tagged: true,
            ..PdfOptions::default()
        })
    }

    fn explain(&self, error: TypstAsLibError) -> RenderError {
        match error {
            TypstAsLibError::TypstSource(errors) => RenderError::Template(self.complaints(errors.iter())),
            other => RenderError::Engine(other.to_string()),
        }
    }

    fn complaints<'a>(&self, errors: impl Iterator<Item = &'a SourceDiagnostic>) -> Vec<Complaint> {
        errors
            .map(|error| Complaint {
                message: error.message.to_string(),
                place: self.place(error.span),
                hints: error.hints.iter().map(|hint| hint.v.to_string()).collect(),
            })
            .collect()
    }

    fn place(&self, span: DiagSpan) -> Option<(String, usize, usize)> {
        let (id, start) = match span.get() {
            DiagSpanKind::Detached => return None,
            DiagSpanKind::Range { id, range } => (id, range.start),
            DiagSpanKind::Number { id, num, sub_range } => {
                let source = self.sources.iter().find(|source| source.id() == id)?;
                (id, source.range(num, sub_range)?.start)
            }
        };
        let source = self.sources.iter().find(|source| source.id() == id)?;
        let (line, column) = source.lines().byte_to_line_column(start)?;
        Some((id.get().vpath().get_without_slash().to_owned(), line + 1, column + 1))
    }
}

fn file_id(name: &str) -> Result<FileId, RenderError> {
    let path = VirtualPath::new(name).map_err(|e| RenderError::Engine(format!("{name}: {e:?}")))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

/// Midnight UTC of the day of issue: a record has a day, not a moment.
fn calendar_day(issued: &IssueDate) -> Result<Datetime, RenderError> {
    Datetime::from_ymd_hms(issued.year, issued.month, issued.day, 0, 0, 0)
        .ok_or_else(|| RenderError::Date(issued.text.clone()))
}

fn inputs<'a>(
    view: &impl Serialize,
    figures: impl Iterator<Item = &'a Figure>,
    paper: Paper,
    attachments: &[Attachment],
) -> Result<Dict, RenderError> {
    let mut svgs = Dict::new();
    for figure in figures {
        let svg =
            draw(&figure.chart).map_err(|source| RenderError::Chart { name: figure.name.clone(), source })?;
        if svgs.contains(&figure.name) {
            return Err(RenderError::FigureTwice(figure.name.clone()));
        }
        svgs.insert(figure.name.as_str().into(), svg.into_value());
    }
    let files: Array = attachments
        .iter()
        .map(|file| {
            let mut entry = Dict::new();
            entry.insert("name".into(), file.name.as_str().into_value());
            entry.insert("mime".into(), file.mime.as_str().into_value());
            entry.insert("description".into(), file.description.as_str().into_value());
            entry.insert("data".into(), Bytes::new(file.data.clone()).into_value());
            entry.into_value()
        })
        .collect();
    let mut inputs = Dict::new();
    inputs.insert("view".into(), Bytes::new(serde_json::to_vec(view)?).into_value());
    inputs.insert("svgs".into(), svgs.into_value());
    inputs.insert("paper".into(), paper.name().into_value());
    inputs.insert("attachments".into(), files.into_value());
    Ok(inputs)
}
