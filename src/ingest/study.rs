//! `study.toml`: what several tools of a model showed, for the tools of that model to come.

use leverarm_metrology::budget::Variation;
use leverarm_metrology::study::TypeStudy;

use super::checks;
use super::page::Sink;
use super::table::Table;
use super::value::{Fault, percent};

const WIDTHS: [(&str, Variation); 4] = [
    ("reproducibility", Variation::Reproducibility),
    ("drive", Variation::Drive),
    ("interface", Variation::Interface),
    ("loading_point", Variation::LoadingPoint),
];

/// Reads a study; `None` where something in it cannot be read.
pub(super) fn read(root: &Table<'_, '_>, sink: &mut Sink) -> Option<TypeStudy> {
    root.only(sink);
    let id = root.need_text(sink, "id", "the laboratory's number for the study").map(str::to_owned);
    let maker = root.need_text(sink, "maker", "the maker of the model").map(str::to_owned);
    let model = root.need_text(sink, "model", "the model").map(str::to_owned);
    if !root.has("tools") {
        sink.missing("tools", "how many tools were measured", "add `tools = 10`");
    }
    let tools = root.count(sink, "tools").and_then(|count| tools(root, sink, count));
    let concluded = root.need_date(sink, "concluded");
    if !root.has("widths") {
        sink.missing("widths", "the widths that the study found", "add a table [widths]");
    }
    let mut widths = Vec::new();
    if let Some(table) = root.table(sink, "widths") {
        table.only(sink);
        for (key, variation) in WIDTHS {
            if let Some(width) = table.value(sink, key, "0.4 %", percent) {
                widths.push((variation, width));
            }
        }
    }
    let study =
        TypeStudy { id: id?, maker: maker?, model: model?, tools: tools?, concluded: concluded?, widths };
    if sink.is_clean() { Some(study) } else { None }
}

fn tools(root: &Table<'_, '_>, sink: &mut Sink, count: u64) -> Option<u32> {
    let fits = u32::try_from(count).ok();
    if let (None, Some(entry)) = (fits, root.entry("tools")) {
        let message = format!("nobody studies {count} tools");
        let fault = Fault::new(
            &checks::NUMBER_UNREADABLE,
            message,
            "how many tools were measured",
            "write how many tools were measured",
        );
        sink.fault(&entry.path, &entry.span, &count.to_string(), fault);
    }
    fits
}
