//! What stands first: whose paper it is, of which tool, for whom, and the verdict in words.

use super::Page;
use super::markup::Html;
use super::sign;
use crate::certificate::view::{Fact, VerdictView};

/// Sections that a reader may want to go to at once: id and name.
const CONTENTS: [(&str, &str); 6] = [
    ("verdict", "Verdict"),
    ("results", "Point by point"),
    ("meaning", "What it means"),
    ("next", "Next steps"),
    ("where", "Where to look"),
    ("genuine", "Is it genuine?"),
];

impl Page<'_> {
    pub(super) fn banner(&self, out: &mut Html) {
        let view = self.view;
        out.node("header", &[], |out| {
            out.node("div", &[("class", "letterhead")], |out| {
                sign::mark(out);
                out.node("div", &[("class", "house")], |out| {
                    out.node("p", &[("class", "name")], |out| out.typed(&view.laboratory.name));
                    for line in &view.laboratory.lines {
                        out.node("p", &[("class", "small")], |out| out.typed(line));
                    }
                });
                out.node("div", &[("class", "number-box")], |out| {
                    out.leaf("p", &[("class", "small")], "Number");
                    out.node("p", &[("class", "name")], |out| out.typed(&view.number));
                    let issued = &view.issued;
                    let iso = format!("{:04}-{:02}-{:02}", issued.year, issued.month, issued.day);
                    out.node("p", &[("class", "small")], |out| {
                        out.text("issued ");
                        out.leaf("time", &[("datetime", &iso)], &issued.text);
                    });
                });
            });
            sign::ruler(out);
            out.node("nav", &[("aria-label", "On this page")], |out| {
                out.node("ul", &[], |out| {
                    for (id, name) in CONTENTS {
                        out.node("li", &[], |out| out.leaf("a", &[("href", &format!("#{id}"))], name));
                    }
                });
            });
        });
    }

    /// Title, tool, customer, and that the PDF is the certificate.
    pub(super) fn opening(&self, out: &mut Html) {
        let view = self.view;
        out.node("h1", &[], |out| {
            out.text(&view.title);
            out.text(" ");
            out.typed(&view.number);
        });
        if let Some(tool) = self.record.runs.first().map(|run| &run.tool) {
            out.node("p", &[("class", "tool")], |out| {
                out.typed(&tool.maker);
                out.text(" ");
                out.typed(&tool.model);
            });
        }
        out.node("p", &[("class", "item")], |out| out.typed(&view.item_line));
        out.node("p", &[("class", "item")], |out| {
            out.text("For ");
            out.typed(&view.customer.name);
        });
        if let Some(amendment) = &view.amendment {
            out.node("p", &[("class", "notice"), ("dir", "auto")], |out| {
                out.leaf("b", &[], "Amendment. ");
                out.text(amendment);
            });
        }
        out.node("p", &[("class", "small")], |out| {
            out.text(&format!("This page is a first look. The {} itself is the file ", self.paper()));
            self.pdf_link(out);
            out.text(" beside it: where the two could be read differently, that file holds.");
        });
    }

    pub(super) fn pdf_link(&self, out: &mut Html) {
        let target = format!("./{}", encoded(self.pdf.name));
        out.node("a", &[("href", &target)], |out| out.typed(self.pdf.name));
    }

    pub(super) fn verdicts(&self, out: &mut Html) {
        let view = self.view;
        out.section("verdict", "Verdict", |out| {
            if view.verdicts.len() > 1 {
                out.paragraph("The tool was measured twice: as it came in, and as you get it back.");
            }
            out.node("div", &[("class", "panels")], |out| {
                for verdict in &view.verdicts {
                    panel(out, verdict);
                }
            });
            out.node("div", &[("class", "columns")], |out| {
                out.node("div", &[], |out| {
                    out.leaf("h3", &[], "The tool");
                    facts(out, &view.item);
                });
                out.node("div", &[], |out| {
                    out.leaf("h3", &[], "The customer");
                    out.node("p", &[], |out| {
                        out.typed(&view.customer.name);
                        out.text(" †");
                        for line in &view.customer.lines {
                            out.empty("br", &[]);
                            out.typed(line);
                            out.text(" †");
                        }
                    });
                    out.leaf("h3", &[], "The work");
                    facts(out, &view.work);
                    out.leaf("p", &[("class", "small")], "† supplied by the customer");
                });
            });
        });
    }

    pub(super) fn closing(&self, out: &mut Html) {
        out.node("footer", &[], |out| {
            out.node("p", &[], |out| {
                out.text("Made by ");
                out.text(&self.view.software);
                out.text(" from the record of the calibration, in the digits that the PDF prints. The page holds no script and asks for nothing outside itself. Neither the page nor the program says that a laboratory is accredited: whether it is, and for what, is for its accreditation body to say.");
            });
        });
    }
}

fn panel(out: &mut Html, verdict: &VerdictView) {
    let class = format!("panel {}", sign::class(verdict.sign));
    out.node("div", &[("class", &class)], |out| {
        sign::draw(out, verdict.sign);
        out.node("div", &[], |out| {
            out.node("h3", &[], |out| {
                out.leaf("span", &[("class", "condition")], &verdict.condition);
                out.text(" ");
                out.leaf("span", &[("class", "words")], &verdict.words);
            });
            out.paragraph(&verdict.statement);
            for note in &verdict.notes {
                out.paragraph(note);
            }
        });
    });
}

/// Labelled values; what the customer supplied bears a dagger.
pub(super) fn facts(out: &mut Html, facts: &[Fact]) {
    if facts.is_empty() {
        return;
    }
    out.node("dl", &[("class", "facts")], |out| {
        for fact in facts {
            out.node("div", &[], |out| {
                out.leaf("dt", &[], &format!("{}{}", fact.label, if fact.by_customer { " †" } else { "" }));
                out.node("dd", &[], |out| out.typed(&fact.value));
            });
        }
    });
}

/// A file name as part of an address (RFC 3986, 2.3: what is unreserved stays, everything else is encoded).
fn encoded(name: &str) -> String {
    let mut out = String::new();
    for byte in name.bytes().take(1024) {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => out.push(char::from(byte)),
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::encoded;

    #[test]
    fn a_file_name_cannot_leave_its_folder_or_become_another_address() {
        assert_eq!(encoded("certificate.pdf"), "certificate.pdf");
        assert_eq!(encoded("../a b?#.pdf"), "..%2Fa%20b%3F%23.pdf");
        assert_eq!(encoded("javascript:ø"), "javascript%3A%C3%B8");
    }
}
