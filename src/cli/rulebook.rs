//! `leverarm rulebook NAME`: prints a procedure with the source and the mark of each value.
//!
//! As text, the values stand in columns and their sources, each once, at the end; as JSON, each
//! value carries its own.

mod json;

use std::fmt::Write as _;

use leverarm_metrology::rulebook::{Certainty, PullRow, Rulebook, Source, Written};
use leverarm_metrology::tool::ToolClass;
use unicode_width::UnicodeWidthStr as _;

pub use json::render_json;

const WIDTH: usize = 100;
const INDENT: usize = 28;

/// The rulebook as plain text, 100 columns wide.
#[must_use]
pub fn render_text(book: &Rulebook) -> String {
    let mut page = Page { text: String::new(), sources: Vec::new() };
    let underline = "=".repeat(book.document().width() + 2 + book.title.width());
    page.line(&format!("{}  {}", book.document(), book.title));
    page.line(&underline);
    page.wrap("", &format!("Rulebook {}: {}.", book.name, book.purpose.words()), 0);
    page.wrap("", &memory_sentence(book), 0);
    heading(&mut page, book);
    limits(&mut page, book);
    sequence(&mut page, book);
    surroundings(&mut page, book);
    budget(&mut page, book);
    judging(&mut page, book);
    certificate(&mut page, book);
    page.list("Remarks", &book.remarks);
    page.list("At the bench", &book.cautions);
    page.footnotes();
    page.text
}

/// How many values are from memory, and what follows.
#[must_use]
pub fn memory_sentence(book: &Rulebook) -> String {
    let all = book.sources().len();
    match book.count_of(Certainty::FromMemory) {
        0 => format!("None of its {all} values is from memory."),
        count => format!(
            "{count} of its {all} values are from memory, marked (M): each laboratory must check them against its \
             own licensed copy of the standard before it relies on them."
        ),
    }
}

const fn mark(certainty: Certainty) -> &'static str {
    match certainty {
        Certainty::Confirmed => "(C)",
        Certainty::FromMemory => "(M)",
        Certainty::CommonPractice => "(P)",
        Certainty::Laboratory => "(L)",
    }
}

fn heading(page: &mut Page, book: &Rulebook) {
    for certainty in
        [Certainty::Confirmed, Certainty::FromMemory, Certainty::CommonPractice, Certainty::Laboratory]
    {
        let count = book.count_of(certainty);
        let values = if count == 1 { "value" } else { "values" };
        let words = format!("{}: {count} {values}", certainty.words());
        page.wrap(&format!("  {}", mark(certainty)), &words, 6);
    }
    page.section("Deviation");
    let note = page.note(&book.deviation.from);
    page.wrap("", &format!("{} {note}", book.deviation.value.words()), 2);
}

fn limits(page: &mut Page, book: &Rulebook) {
    page.section("Permissible deviation, by the maximum of the tool");
    for row in &book.limits {
        let sizes = match (row.above, row.up_to) {
            (None, None) => "every size".to_owned(),
            (Some(above), None) => format!("above {above}"),
            (None, Some(up_to)) => format!("up to {up_to}"),
            (Some(above), Some(up_to)) => format!("above {above}, up to {up_to}"),
        };
        let value = format!("±{}, {sizes}", row.permissible);
        page.value(&classes(&row.classes), &value, &row.from);
    }
    let claim = if book.claim_governs.value { "governs" } else { "does not govern" };
    page.value("maker's tighter claim", claim, &book.claim_governs.from);
}

fn sequence(page: &mut Page, book: &Rulebook) {
    page.section("Preloads at the maximum, in each direction");
    for row in &book.preloads {
        page.value(&classes(&row.classes), &row.count.to_string(), &row.from);
    }
    page.section("Test points, rising, in each direction");
    for row in &book.points {
        page.value(&classes(&row.classes), &row.words(), &row.from);
        page.value("  readings at each", &row.readings.to_string(), &row.readings_from);
        let near = format!("±{} of a point between the ends", row.tolerance);
        page.value("  target within", &near, &row.tolerance_from);
        let ends = format!("±{} of an end of the range", row.tolerance_ends);
        page.value("  target within", &ends, &row.tolerance_ends_from);
    }
    if !book.pulls.is_empty() {
        page.section("Time of a pull from 80 % to 100 %");
    }
    for row in &book.pulls {
        page.value(&classes(&row.classes), &pull_words(row), &row.from);
    }
}

fn pull_words(row: &PullRow) -> String {
    let size = row.up_to.map_or("larger tools".to_owned(), |up_to| format!("maximum up to {up_to}"));
    let longest = row.seconds_max.map_or(String::new(), |seconds| format!(", at most {seconds} s"));
    format!("{size}: at least {} s{longest}", row.seconds_min)
}

fn surroundings(page: &mut Page, book: &Rulebook) {
    page.section("Surroundings");
    let room = &book.environment;
    page.value("temperature, lowest", &written(&room.temperature_min, "°C"), &room.temperature_min.from);
    page.value("temperature, highest", &written(&room.temperature_max, "°C"), &room.temperature_max.from);
    let change = format!("at most {}, start to end", written(&room.temperature_change, "K"));
    page.value("temperature, change", &change, &room.temperature_change.from);
    page.value("humidity, highest", &format!("{} %", room.humidity_max.value), &room.humidity_max.from);
    page.section("Equipment");
    let share = |percent: f64| format!("at most {percent} % of the permissible deviation");
    let reference = &book.reference_share;
    page.value("reference uncertainty", &share(reference.value), &reference.from);
    page.value("resolution of the tool", &share(book.resolution_share.value), &book.resolution_share.from);
}

fn budget(page: &mut Page, book: &Rulebook) {
    let Some(plan) = &book.budget else { return };
    page.section("Uncertainty budget");
    for row in &plan.variations {
        let value = format!("{} × {} readings at the lowest point", row.positions, row.readings);
        page.value(row.variation.words(), &value, &row.from);
    }
    page.value("carried upwards as", plan.carried.value.words(), &plan.carried.from);
    page.value("resolution counts", plan.resolution_reads.value.words(), &plan.resolution_reads.from);
    page.value("coverage factor", &plan.coverage.value.words(), &plan.coverage.from);
    page.value("coverage probability", &format!("{} %", plan.probability.value), &plan.probability.from);
    match &plan.study_tools_min {
        Some(tools) => page.value("type study", &format!("at least {} tools", tools.value), &tools.from),
        None => page.wrap("  type study", "may not stand in for a measurement", INDENT),
    }
}

fn judging(page: &mut Page, book: &Rulebook) {
    page.section("Decision rules that may be agreed");
    page.value("rules", &book.decision_words(), &book.decisions.from);
    if let Some(recall) = &book.recall {
        page.section("Due again, unless the owner has a procedure of his own");
        page.value("after", &format!("{} months", recall.months.value), &recall.months.from);
        page.value("or after", &format!("{} uses", recall.uses.value), &recall.uses.from);
    }
}

fn certificate(page: &mut Page, book: &Rulebook) {
    let words = &book.certificate;
    page.section("What a certificate says of it");
    page.wrap("  method", &words.method, INDENT);
    page.wrap("  specification", words.pattern(), INDENT);
    page.wrap("  statement", &words.statement, INDENT);
}

fn classes(classes: &[ToolClass]) -> String {
    let mut out = String::new();
    let mut last = "";
    for class in classes {
        let (kind, letter) = class.code().split_once(' ').unwrap_or((class.code(), ""));
        let gap = if out.is_empty() { "" } else { ", " };
        let _ = if kind == last { write!(out, " {letter}") } else { write!(out, "{gap}{kind} {letter}") };
        last = kind;
    }
    out
}

/// A limit of the room as its document writes it, or the value with its unit.
fn written(limit: &Written, unit: &str) -> String {
    limit.words(unit)
}

/// Words that stay on one line: a number and its unit, a type and its class, a body and its number.
fn belong_together(before: &str, after: &str) -> bool {
    let number = before.chars().next_back().is_some_and(|c| c.is_ascii_digit());
    let unit = after.trim_end_matches(|c: char| c.is_ascii_punctuation() && c != '%');
    number && matches!(unit, "%" | "N·m" | "lbf·ft" | "K" | "s" | "mm" | "°C" | "°F")
        || matches!(before, "ISO" | "ISO/IEC" | "JIS" | "ASME" | "clause" | "I" | "II" | "=")
        || before == "B" && after.starts_with(|c: char| c.is_ascii_digit())
}

struct Page {
    text: String,
    sources: Vec<String>,
}

impl Page {
    fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    fn section(&mut self, title: &str) {
        self.line("");
        self.line(title);
        self.line(&"-".repeat(title.width()));
    }

    fn value(&mut self, label: &str, value: &str, from: &Source) {
        let note = self.note(from);
        self.wrap(&format!("  {label}"), &format!("{value} {note}"), INDENT);
    }

    /// The mark of a value and the number of its source, such as `(C) [3]`.
    fn note(&mut self, from: &Source) -> String {
        let note = from.note.as_ref().map_or(String::new(), |note| format!(": {note}"));
        let source = format!("{}{note}", from.source);
        let number = self.sources.iter().position(|known| *known == source).unwrap_or_else(|| {
            self.sources.push(source);
            self.sources.len() - 1
        });
        format!("{} [{}]", mark(from.certainty), number + 1)
    }

    fn footnotes(&mut self) {
        self.section("Sources and notes");
        for (i, source) in std::mem::take(&mut self.sources).iter().enumerate() {
            self.wrap(&format!("  [{}]", i + 1), source, 7);
        }
    }

    fn list(&mut self, title: &str, items: &[String]) {
        if items.is_empty() {
            return;
        }
        self.section(title);
        for item in items {
            self.wrap("  -", item, 4);
        }
    }

    /// A text in lines of at most [`WIDTH`] columns, each indented; the first begins with a label.
    fn wrap(&mut self, label: &str, text: &str, indent: usize) {
        let start = |label: &str| format!("{label}{}", " ".repeat(indent.saturating_sub(label.width())));
        let mut line = start(label);
        if label.width() >= indent && indent > 0 {
            self.line(&line);
            line = start("");
        }
        let mut empty = true;
        for chunk in chunks(text) {
            if !empty && line.width() + 1 + chunk.width() > WIDTH {
                self.line(&line);
                line = start("");
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(&chunk);
            empty = false;
        }
        self.line(&line);
    }
}

/// The words of a text, those that belong together as one.
fn chunks(text: &str) -> Vec<String> {
    let mut chunks: Vec<String> = Vec::new();
    let mut before = "";
    for word in text.split_whitespace() {
        match chunks.last_mut() {
            Some(chunk) if belong_together(before, word) => {
                chunk.push(' ');
                chunk.push_str(word);
            }
            _ => chunks.push(word.to_owned()),
        }
        before = word;
    }
    chunks
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use leverarm_metrology::rulebook::EMBEDDED;

    use super::*;

    #[test]
    fn every_value_is_printed_with_its_mark_and_fits_the_page() {
        for built_in in EMBEDDED {
            let book = Rulebook::parse(built_in.text).unwrap();
            let text = render_text(&book);
            for line in text.lines() {
                assert!(line.width() <= WIDTH, "{line}");
            }
            let flat: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
            for source in book.sources() {
                assert!(flat.contains(&source.source), "{}", source.source);
                assert!(source.note.as_ref().is_none_or(|note| flat.contains(note.as_str())));
            }
            assert!(flat.contains("own licensed copy"));
        }
    }

    #[test]
    fn the_json_has_a_source_and_a_certainty_for_each_value() {
        for built_in in EMBEDDED {
            let book = Rulebook::parse(built_in.text).unwrap();
            let json = render_json(&book).to_string();
            assert_eq!(json.matches("\"certainty\":").count(), book.sources().len());
            let from_memory = json.matches("\"certainty\":\"from-memory\"").count();
            assert_eq!(from_memory, book.count_of(Certainty::FromMemory));
        }
    }
}
