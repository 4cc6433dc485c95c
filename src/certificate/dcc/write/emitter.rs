//! XML as it is written: always the same bytes, and already in canonical form, so that the bytes which
//! are signed are the bytes in the file (Canonical XML 1.1, W3C 2008: attributes in order, no empty tags,
//! fixed escapes).

use super::problem::{Fault, Problem};
use crate::digits::Digits;
use crate::model::Text;

/// Writes elements, and gathers what is wrong with them by their path.
pub(super) struct Emitter<'a> {
    out: String,
    open: Vec<Open>,
    /// languages of the certificate
    languages: &'a [String],
    problems: Vec<Problem>,
}

struct Open {
    name: &'static str,
    children: bool,
}

impl<'a> Emitter<'a> {
    pub(super) fn new(languages: &'a [String]) -> Emitter<'a> {
        let out = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n".to_owned();
        Emitter { out, open: Vec::new(), languages, problems: Vec::new() }
    }

    /// The bytes, or what is wrong.
    pub(super) fn finish(mut self) -> Result<Vec<u8>, Vec<Problem>> {
        self.out.push('\n');
        if self.problems.is_empty() { Ok(self.out.into_bytes()) } else { Err(self.problems) }
    }

    /// Notes a fault of the element that is open.
    pub(super) fn fault(&mut self, fault: Fault) {
        self.fault_at("", fault);
    }

    /// Notes a fault of a child of the element that is open.
    pub(super) fn fault_at(&mut self, child: &str, fault: Fault) {
        let mut path = String::new();
        for name in self.open.iter().map(|open| open.name).chain((!child.is_empty()).then_some(child)) {
            path.push('/');
            path.push_str(name);
        }
        self.problems.push(Problem { path, fault });
    }

    fn indent(&mut self) {
        if let Some(open) = self.open.last_mut() {
            open.children = true;
            self.out.push('\n');
            self.out.push_str(&"  ".repeat(self.open.len()));
        }
    }

    fn start(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.indent();
        self.out.push('<');
        self.out.push_str(name);
        let mut sorted: Vec<_> = attributes.to_vec();
        // `xmlns:…` sorts after every attribute of the DCC by its letters, and comes first by the rule
        sorted.sort_by_key(|(key, _)| (!key.starts_with("xmlns"), *key));
        for (key, value) in sorted {
            self.out.push(' ');
            self.out.push_str(key);
            self.out.push_str("=\"");
            self.characters(value, true);
            self.out.push('"');
        }
        self.out.push('>');
    }

    /// An element with children.
    pub(super) fn element(&mut self, name: &'static str, body: impl FnOnce(&mut Self)) {
        self.with(name, &[], body);
    }

    /// An element with attributes and children.
    pub(super) fn with(
        &mut self,
        name: &'static str,
        attributes: &[(&str, &str)],
        body: impl FnOnce(&mut Self),
    ) {
        self.start(name, attributes);
        self.open.push(Open { name, children: false });
        body(self);
        let children = self.open.pop().is_some_and(|open| open.children);
        if children {
            self.out.push('\n');
            self.out.push_str(&"  ".repeat(self.open.len()));
        }
        self.end(name);
    }

    fn end(&mut self, name: &str) {
        self.out.push_str("</");
        self.out.push_str(name);
        self.out.push('>');
    }

    /// An element with a text that must say something (`dcc:notEmptyStringType`).
    pub(super) fn word(&mut self, name: &'static str, text: &str) {
        if text.is_empty() || text.trim() != text {
            self.fault_at(name, Fault::NotAWord { given: text.to_owned() });
        }
        self.leaf(name, &[], text);
    }

    /// The same, where there is one.
    pub(super) fn maybe_word(&mut self, name: &'static str, text: Option<&String>) {
        if let Some(text) = text {
            self.word(name, text);
        }
    }

    fn leaf(&mut self, name: &'static str, attributes: &[(&str, &str)], text: &str) {
        self.start(name, attributes);
        self.open.push(Open { name, children: false });
        self.characters(text, false);
        self.open.pop();
        self.end(name);
    }

    /// A list with one space between its entries, as the rules of the DCC want it.
    pub(super) fn list<'d>(&mut self, name: &'static str, entries: impl Iterator<Item = &'d str>) {
        self.leaf(name, &[], &entries.collect::<Vec<_>>().join(" "));
    }

    /// A list of numbers.
    pub(super) fn digits(&mut self, name: &'static str, digits: &[Digits]) {
        self.list(name, digits.iter().map(Digits::as_str));
    }

    /// `dcc:content` in every language of the certificate, inside an element of this name.
    pub(super) fn text(&mut self, name: &'static str, text: &Text) {
        self.element(name, |x| x.contents(text));
    }

    /// The same, where there is one.
    pub(super) fn maybe_text(&mut self, name: &'static str, text: Option<&Text>) {
        if let Some(text) = text {
            self.text(name, text);
        }
    }

    pub(super) fn contents(&mut self, text: &Text) {
        let mut given: Vec<&str> = text.by_language.iter().map(|(language, _)| language.as_str()).collect();
        let mut wanted: Vec<&str> = self.languages.iter().map(String::as_str).collect();
        given.sort_unstable();
        wanted.sort_unstable();
        if given != wanted {
            self.fault(Fault::Languages { given: given.join(", "), wanted: wanted.join(", ") });
        }
        for (language, words) in &text.by_language {
            if words.trim().is_empty() {
                self.fault_at("dcc:content", Fault::NotAWord { given: words.clone() });
            }
            self.leaf("dcc:content", &[("lang", language)], words);
        }
    }

    /// A name that needs no translation, in every language of the certificate.
    pub(super) fn name(&mut self, name: &'static str, words: &str) {
        let by_language =
            self.languages.iter().map(|language| (language.clone(), words.to_owned())).collect();
        self.text(name, &Text { by_language });
    }

    /// Canonical XML 1.1, 2.3: which characters are written as references.
    fn characters(&mut self, text: &str, attribute: bool) {
        for c in text.chars() {
            match c {
                '&' => self.out.push_str("&amp;"),
                '<' => self.out.push_str("&lt;"),
                '>' if !attribute => self.out.push_str("&gt;"),
                '"' if attribute => self.out.push_str("&quot;"),
                '\t' if attribute => self.out.push_str("&#x9;"),
                '\n' if attribute => self.out.push_str("&#xA;"),
                '\r' => self.out.push_str("&#xD;"),
                c if allowed(c) => self.out.push(c),
                given => self.fault(Fault::Character { given }),
            }
        }
    }
}

/// Char of XML 1.0, production 2.
fn allowed(c: char) -> bool {
    matches!(c, '\t' | '\n' | '\r') || (c >= ' ' && !matches!(c, '\u{FFFE}' | '\u{FFFF}'))
}
