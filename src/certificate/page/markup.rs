//! A writer of markup that cannot be left open and lets no text through unescaped.

/// Characters of one text that the page shows; the certificate has it in full.
const TEXT_MAX: usize = 600;

/// Markup in the making: HTML that is well-formed XML.
pub(super) struct Html {
    out: String,
}

/// Name and value of an attribute.
pub(super) type Attribute<'a> = (&'a str, &'a str);

impl Html {
    pub(super) fn new() -> Html {
        Html { out: String::with_capacity(48_000) }
    }

    pub(super) fn into_bytes(self) -> Vec<u8> {
        self.out.into_bytes()
    }

    /// What the program itself wrote: never anything of a run.
    pub(super) fn raw(&mut self, text: &'static str) {
        self.out.push_str(text);
    }

    fn begin(&mut self, tag: &str, attributes: &[Attribute<'_>]) {
        if is_block(tag) {
            self.out.push('\n');
        }
        self.out.push('<');
        self.out.push_str(tag);
        for (name, value) in attributes {
            self.out.push(' ');
            self.out.push_str(name);
            self.out.push_str("=\"");
            escape(&mut self.out, value);
            self.out.push('"');
        }
    }

    /// An element with content.
    pub(super) fn node(&mut self, tag: &str, attributes: &[Attribute<'_>], body: impl FnOnce(&mut Html)) {
        self.begin(tag, attributes);
        self.out.push('>');
        body(self);
        self.out.push_str("</");
        self.out.push_str(tag);
        self.out.push('>');
    }

    /// An element that has no content.
    pub(super) fn empty(&mut self, tag: &str, attributes: &[Attribute<'_>]) {
        self.begin(tag, attributes);
        self.out.push_str("/>");
    }

    /// An element with text in it.
    pub(super) fn leaf(&mut self, tag: &str, attributes: &[Attribute<'_>], text: &str) {
        self.node(tag, attributes, |out| out.text(text));
    }

    /// Text.
    pub(super) fn text(&mut self, text: &str) {
        escape(&mut self.out, text);
    }

    /// Text that somebody typed: set apart, so that writing from right to left cannot reorder what stands
    /// beside it.
    pub(super) fn typed(&mut self, text: &str) {
        self.leaf("bdi", &[], text);
    }

    /// A paragraph.
    pub(super) fn paragraph(&mut self, text: &str) {
        self.leaf("p", &[], text);
    }

    /// A paragraph of text that holds what somebody typed.
    pub(super) fn paragraph_typed(&mut self, text: &str) {
        self.leaf("p", &[("dir", "auto")], text);
    }

    /// A list; nothing where there are no items.
    pub(super) fn list<S: AsRef<str>>(&mut self, items: &[S]) {
        if items.is_empty() {
            return;
        }
        self.node("ul", &[], |out| {
            for item in items {
                out.node("li", &[], |out| out.typed(item.as_ref()));
            }
        });
    }

    /// A section under a heading of the second level.
    pub(super) fn section(&mut self, id: &str, heading: &str, body: impl FnOnce(&mut Html)) {
        let label = format!("{id}-heading");
        self.node("section", &[("id", id), ("aria-labelledby", &label)], |out| {
            out.leaf("h2", &[("id", &label)], heading);
            body(out);
        });
    }
}

/// Elements that begin a line of the file, so that it can be read and compared.
fn is_block(tag: &str) -> bool {
    !matches!(
        tag,
        "bdi" | "span" | "a" | "b" | "code" | "time" | "rect" | "line" | "circle" | "path" | "text"
    )
}

/// Escapes a text for content and attributes alike, and takes out what could mislead the eye or break a parser.
fn escape(out: &mut String, text: &str) {
    for (count, c) in text.chars().enumerate() {
        if count == TEXT_MAX {
            out.push_str(" … (cut here; in full in the certificate)");
            return;
        }
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' | '\u{85}' | '\u{2028}' | '\u{2029}' => out.push(' '),
            _ if misleads(c) => out.push('\u{fffd}'),
            _ => out.push(c),
        }
    }
}

/// Control characters, those that turn the direction of writing (Unicode, UAX 9), what no one can see, and
/// what XML 1.0 does not allow.
fn misleads(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{61c}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
            | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{fdd0}'..='\u{fdef}' | '\u{e0000}'..='\u{e007f}')
        || u32::from(c) & 0xfffe == 0xfffe
}

#[cfg(test)]
mod tests {
    use super::*;

    fn escaped(text: &str) -> String {
        let mut out = String::new();
        escape(&mut out, text);
        out
    }

    #[test]
    fn what_a_browser_would_take_for_markup_is_escaped() {
        assert_eq!(
            escaped("<script>alert(\"x\" & 'y')</script>"),
            "&lt;script&gt;alert(&quot;x&quot; &amp; &#39;y&#39;)&lt;/script&gt;"
        );
    }

    /// Unicode Standard Annex 9: the explicit directional formatting characters.
    #[test]
    fn what_turns_the_direction_of_writing_is_shown_as_a_replacement() {
        for c in ['\u{61c}', '\u{200e}', '\u{200f}', '\u{202a}', '\u{202e}', '\u{2066}', '\u{2069}'] {
            assert_eq!(escaped(&format!("a{c}b")), "a\u{fffd}b");
        }
        assert_eq!(escaped("a\u{0}b\u{1b}c\u{ffff}d\u{1fffe}"), "a\u{fffd}b\u{fffd}c\u{fffd}d\u{fffd}");
        assert_eq!(escaped("two\nlines"), "two lines");
        assert_eq!(escaped("שלום 扭矩 N·m"), "שלום 扭矩 N·m");
    }

    #[test]
    fn a_text_without_end_is_cut_and_says_so() {
        let long = escaped(&"x".repeat(10_000));
        assert!(long.starts_with(&"x".repeat(TEXT_MAX)) && long.ends_with("in full in the certificate)"));
        assert_eq!(escaped(&"x".repeat(TEXT_MAX)), "x".repeat(TEXT_MAX));
    }
}
