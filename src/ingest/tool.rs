//! `[tool]`: the tool under test.

use leverarm_metrology::quantity::{Millimetres, Percent};
use leverarm_metrology::reading::{Direction, Recorded};
use leverarm_metrology::tool::{Tool, ToolClass, TorqueRange};

use super::checks;
use super::page::Sink;
use super::range::range;
use super::table::Table;
use super::value::{Fault, length, part_of_division, percent, torque};
use super::words::one_of;

/// What could be read of the tool.
#[derive(Debug, Default)]
pub(super) struct ToolDraft {
    class: Option<ToolClass>,
    maker: Option<String>,
    model: Option<String>,
    serial: Option<String>,
    range: Option<TorqueRange>,
    resolution: Option<Recorded>,
    /// `None` where it was not understood
    pub(super) directions: Option<Vec<Direction>>,
    claim: Option<Percent>,
    drive: Option<String>,
    head: Option<String>,
    length: Option<Millimetres>,
    uses: Option<u64>,
    owner_mark: Option<String>,
}

impl ToolDraft {
    pub(super) fn finish(self) -> Option<Tool> {
        Some(Tool {
            class: self.class?,
            maker: self.maker?,
            model: self.model?,
            serial: self.serial?,
            range: self.range?,
            resolution: self.resolution,
            directions: self.directions?,
            claim: self.claim,
            drive: self.drive,
            head: self.head,
            length: self.length,
            uses: self.uses,
            owner_mark: self.owner_mark,
        })
    }
}

/// Reads `[tool]`.
pub(super) fn read(table: &Table<'_, '_>, sink: &mut Sink) -> ToolDraft {
    table.only(sink);
    let class = class(table, sink);
    ToolDraft {
        class,
        maker: table.need_text(sink, "maker", "who made the tool").map(str::to_owned),
        model: table.need_text(sink, "model", "the maker's name for the model").map(str::to_owned),
        serial: table
            .need_text(sink, "serial", "the serial number, or the owner's mark where it has none")
            .map(str::to_owned),
        range: tool_range(table, sink, class),
        resolution: resolution(table, sink),
        directions: table.need(sink, "direction", "clockwise", directions),
        claim: table.value(sink, "tolerance", "2 %", percent),
        drive: table.string(sink, "drive"),
        head: table.string(sink, "head"),
        length: table.value(sink, "length", "487 mm", length),
        uses: table.count(sink, "uses"),
        owner_mark: table.string(sink, "owner_mark"),
    }
}

fn directions(text: &str) -> Result<Vec<Direction>, Fault> {
    if text.trim().eq_ignore_ascii_case("both") {
        return Ok(vec![Direction::Clockwise, Direction::CounterClockwise]);
    }
    one_of(text, &checks::VALUE_UNKNOWN, &["clockwise", "counter-clockwise", "both"], Direction::parse)
        .map(|direction| vec![direction])
}

fn class(table: &Table<'_, '_>, sink: &mut Sink) -> Option<ToolClass> {
    let words: Vec<&str> = ToolClass::ALL.iter().map(|class| class.words()).collect();
    let codes: Vec<&str> = ToolClass::ALL.iter().map(|class| class.code()).collect();
    let read = |words: &[&str], text: &str| one_of(text, &checks::VALUE_UNKNOWN, words, ToolClass::parse);
    let kind = table.value(sink, "kind", ToolClass::IIA.words(), |text| {
        read(&words, text).map_err(|fault| match everyday(text) {
            Some(remedy) => Fault { remedy, ..fault },
            None => fault,
        })
    });
    let iso = table.value(sink, "iso", "II A", |text| read(&codes, text));
    if !table.has("kind") && !table.has("iso") {
        sink.missing(
            &table.path("kind"),
            "the kind of the tool",
            "add `kind = \"setting wrench, adjustable, graduated\"` or `iso = \"II A\"`",
        );
    }
    match (kind, iso, table.entry("kind")) {
        (Some(kind), Some(iso), Some(entry)) if kind != iso => {
            let message = format!(
                "the kind in words is that of type and class {}, the key `iso` says {}",
                kind.code(),
                iso.code()
            );
            let remedy = format!("{} is \"{}\": mend one of the two or remove one", iso.code(), iso.words());
            let fault = Fault::new(&checks::KIND_CONTRADICTION, message, iso.words(), remedy);
            sink.fault(&entry.path, &entry.span, kind.words(), fault);
            None
        }
        _ => kind.or(iso),
    }
}

/// How to say in the words of the standard what a tool is called at the bench.
fn everyday(text: &str) -> Option<String> {
    let text = text.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| text.contains(word));
    let driver = has(&["driver"]);
    let electronic = has(&["electr", "digital"]);
    let fixed = has(&["fixed", "preset", "pre-set", "single"]);
    let classes: &[ToolClass] = match (driver, electronic, fixed) {
        (true, true, _) => &[ToolClass::IE],
        (true, _, true) => &[ToolClass::IIE],
        (true, ..) if has(&["dial", "indicat"]) => &[ToolClass::ID],
        (true, ..) => &[ToolClass::IID, ToolClass::IIF],
        (_, true, _) => &[ToolClass::IC],
        (_, _, true) => &[ToolClass::IIB],
        _ if has(&["dial"]) => &[ToolClass::IB],
        _ if has(&["beam", "deflect", "torsion", "flexion"]) => &[ToolClass::IA],
        _ if has(&["click", "trigger", "release", "setting", "adjustable"]) => {
            &[ToolClass::IIA, ToolClass::IIC]
        }
        _ => return None,
    };
    let words: Vec<String> =
        classes.iter().map(|class| format!("\"{}\" ({})", class.words(), class.code())).collect();
    Some(format!("in the words of the standard this is {}", words.join("\nor ")))
}

fn twice(first: &str, second: &str) -> Fault {
    Fault::new(
        &checks::SAID_TWICE,
        format!("both `{first}` and `{second}` are given"),
        "one of the two",
        format!("remove `{first}` or `{second}`"),
    )
}

fn tool_range(table: &Table<'_, '_>, sink: &mut Sink, class: Option<ToolClass>) -> Option<TorqueRange> {
    if let (true, Some(entry)) = (table.has("range"), table.entry("set_value")) {
        sink.fault(&entry.path, &entry.span, "both", twice("range", "set_value"));
        return None;
    }
    if table.has("set_value") {
        let value = table.value(sink, "set_value", "90 N·m", torque)?;
        return Some(TorqueRange { lower: value, upper: value });
    }
    if !table.has("range") && class.is_some_and(ToolClass::is_fixed) {
        sink.missing(
            &table.path("set_value"),
            "the torque that it is fixed to",
            "add `set_value = \"90 N·m\"`",
        );
        return None;
    }
    table.need(sink, "range", "40 N·m .. 200 N·m", range)
}

/// One step of a display, or the part of a division that can be read.
fn resolution(table: &Table<'_, '_>, sink: &mut Sink) -> Option<Recorded> {
    if let (true, Some(entry)) = (table.has("resolution"), table.entry("division")) {
        sink.fault(&entry.path, &entry.span, "both", twice("resolution", "division"));
        sink.failed.insert(table.path("resolution"));
        return None;
    }
    if table.has("resolution") {
        return table.value(sink, "resolution", "1 N·m", torque);
    }
    if !table.has("division") && !table.has("readable") {
        return None;
    }
    let division = table.need(sink, "division", "2 N·m", torque);
    let part = match division {
        Some(division) => table.need(sink, "readable", "1/2", |text| part_of_division(division, text)),
        None => None,
    };
    if part.is_none() {
        sink.failed.insert(table.path("resolution"));
    }
    part
}
