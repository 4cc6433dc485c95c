//! The rulebooks that are built in.

/// A rulebook as it is built in: its name, and its text as anybody can read and copy it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EmbeddedRulebook {
    /// the word that asks for it
    pub name: &'static str,
    /// its TOML
    pub text: &'static str,
}

/// Every built-in rulebook.
pub const EMBEDDED: &[EmbeddedRulebook] = &[
    EmbeddedRulebook { name: "iso-6789-1", text: include_str!("data/iso-6789-1.toml") },
    EmbeddedRulebook { name: "iso-6789-2", text: include_str!("data/iso-6789-2.toml") },
    EmbeddedRulebook { name: "asme-b107-300", text: include_str!("data/asme-b107-300.toml") },
];

/// The built-in rulebook of a name.
#[must_use]
pub fn embedded(name: &str) -> Option<&'static EmbeddedRulebook> {
    EMBEDDED.iter().find(|rulebook| rulebook.name == name)
}
