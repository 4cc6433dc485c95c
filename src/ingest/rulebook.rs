//! The rulebook that a run asks for: a built-in one by its name, a laboratory's own by its path.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use leverarm_metrology::finding::{Document, Finding, Place};
use leverarm_metrology::rulebook::{EMBEDDED, Rulebook, RulebookError};

use super::checks;
use super::page::Page;
use super::value::{Fault, shorten};
use super::words::did_you_mean;

/// Whether a word of `run.toml` is a path and not the name of a built-in rulebook.
pub(super) fn is_path(word: &str) -> bool {
    word.contains(['/', '\\']) || word.to_ascii_lowercase().ends_with(".toml")
}

/// The fault of a name that no built-in rulebook has.
pub(super) fn unknown(word: &str) -> Fault {
    let names: Vec<&str> = EMBEDDED.iter().map(|rulebook| rulebook.name).collect();
    let remedy = match did_you_mean(word, names.iter().copied()) {
        Some(meant) => format!("did you mean \"{meant}\"? Built in are {}", names.join(", ")),
        None => format!(
            "write one of {}, or the path of a TOML file such as ../rulebooks/own.toml",
            names.join(", ")
        ),
    };
    let message = format!("there is no built-in rulebook '{}'", shorten(word));
    Fault::new(&checks::RULEBOOK_UNKNOWN, message, "the name of a built-in rulebook, or a path", remedy)
}

/// The findings of a rulebook that cannot be used.
pub(crate) fn findings(errors: &[RulebookError]) -> Vec<Finding> {
    errors
        .iter()
        .map(|error| {
            let place = match &error.span {
                Some(span) => Place::Bytes { document: Document::Rulebook, start: span.start, end: span.end },
                None => Place::Whole(Document::Rulebook),
            };
            let message = error.problem.to_string();
            let lacks = ["source", "certainty"].iter().any(|field| message.contains(&format!("field `{field}`")));
            let remedy = if lacks {
                "say where the value comes from and how sure that is: { value = …, source = \"…\", certainty = \"confirmed\" }".to_owned()
            } else {
                error.problem.remedy().to_string()
            };
            Finding::new(&checks::RULEBOOK_INVALID, place, message).remedy(remedy)
        })
        .collect()
}

/// Every text of a laboratory's own rulebook with a character that cannot be printed.
pub(crate) fn unprintable(text: &str) -> Vec<Finding> {
    let mut page = Page::open(Document::Rulebook, text);
    let mut sink = page.take_sink();
    page.printable(&mut sink);
    sink.findings
}

/// Reads a rulebook from its text.
pub(super) fn parse(text: &str) -> Result<Rulebook, Vec<Finding>> {
    Rulebook::parse(text).map_err(|errors| findings(&errors))
}

/// A built-in rulebook, as every run that asks for it gets it.
pub(super) struct BuiltIn {
    pub(super) bytes: Arc<Vec<u8>>,
    pub(super) sha256: String,
    pub(super) rulebook: Rulebook,
}

/// The built-in rulebook of a name. Each is read once for the life of the program: its text is part
/// of the program, and reading it takes longer than judging a run by it.
pub(super) fn built_in(name: &str) -> Option<&'static BuiltIn> {
    static ALL: OnceLock<BTreeMap<&'static str, BuiltIn>> = OnceLock::new();
    let read = || {
        EMBEDDED
            .iter()
            .filter_map(|found| {
                let bytes = Arc::new(found.text.as_bytes().to_vec());
                let rulebook = Rulebook::parse(found.text).ok()?;
                let sha256 = super::sha256(&bytes);
                Some((found.name, BuiltIn { bytes, sha256, rulebook }))
            })
            .collect()
    };
    ALL.get_or_init(read).get(name)
}
