//! What the program was built with, by its SHA-256: rulebooks, templates, fonts.

use leverarm_metrology::rulebook::EMBEDDED;
use serde::Serialize;

use super::paper;
use crate::certificate::render;
use crate::export::sequence::paper as sequence;
use crate::ingest::sha256;

/// One embedded part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Part {
    /// rulebook, template or font
    pub kind: &'static str,
    /// its name
    pub name: String,
    /// SHA-256 of its bytes
    pub sha256: String,
}

/// Every rulebook, template and font inside the program.
#[must_use]
pub fn embedded() -> Vec<Part> {
    let part = |kind, name: &str, bytes: &[u8]| Part { kind, name: name.to_owned(), sha256: sha256(bytes) };
    let rulebooks = EMBEDDED.iter().map(|r| part("rulebook", r.name, r.text.as_bytes()));
    let more = paper::TEMPLATES.iter().chain(&sequence::TEMPLATES);
    let own = more.filter(|own| render::TEMPLATES.iter().all(|other| other.0 != own.0));
    let templates =
        render::TEMPLATES.iter().chain(own).map(|(name, text)| part("template", name, text.as_bytes()));
    let fonts = render::FONTS.iter().map(|(name, bytes)| part("font", name, bytes));
    rulebooks.chain(templates).chain(fonts).collect()
}
