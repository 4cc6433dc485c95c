//! From TOML to a description, all faults at once.

use std::path::Path;
use std::time::Duration;

use leverarm_metrology::quantity::TorqueUnit;
use toml::de::DeTable;

use super::super::checksum::{Checksum, Method, Written};
use super::fault::{Fault, FaultKind, Faults};
use super::table::{Sink, Table, one_of, regex};
use super::{
    Ask, Description, Encoding, FlowControl, Link, Parity, Pattern, Serial, Status, StopBits, TimeAs,
};

const SECONDS: [(&str, f64); 2] = [("s", 1.0), ("ms", 0.001)];
const HERTZ: [(&str, f64); 2] = [("Hz", 1.0), ("kHz", 1000.0)];
const PARTS: [&str; 7] = ["value", "unit", "sign", "status", "time", "checksum", "checked"];

impl Description {
    /// Reads a description; files that it names are looked for in `folder`.
    ///
    /// # Errors
    /// Every fault with its place.
    pub fn parse(text: &str, folder: &Path) -> Result<Description, Faults> {
        let mut sink = Sink { text, faults: Vec::new() };
        let (root, errors) = DeTable::parse_recoverable(text);
        if !errors.is_empty() {
            let fault = |error: &toml::de::Error| {
                let at = error.span().map_or(0, |span| span.start);
                Fault::at(text, at, FaultKind::Syntax { said: error.message().to_owned() })
            };
            return Err(Faults(errors.iter().map(fault).collect()));
        }
        let root = Table { path: "", span: 0..0, entries: root.get_ref() };
        root.only(&mut sink, &["name", "rate", "silence", "link", "lines", "ask", "pattern", "checksum"]);
        let description = read(&root, folder, &mut sink);
        sink.faults.sort_by_key(|fault| (fault.line, fault.column));
        match description {
            Some(description) if sink.faults.is_empty() => Ok(description),
            _ => Err(Faults(sink.faults)),
        }
    }
}

fn read(root: &Table<'_, '_>, folder: &Path, sink: &mut Sink<'_>) -> Option<Description> {
    let name = root.need(sink, "name", "name = \"…\", as the people call it");
    let rate_hz = root.measure(sink, "rate", "50 Hz", &HERTZ);
    let silence = root.measure(sink, "silence", "2 s", &SECONDS).unwrap_or(2.0);
    let link = if root.entries.contains_key("link") {
        root.table(sink, "link", "link").and_then(|table| link(&table, folder, sink))
    } else {
        root.missing(sink, "link", "[link] with kind = \"serial\", \"tcp\" or \"file\"");
        None
    };
    let (mut terminator, mut longest, mut encoding) = (None, None, None);
    if let Some(lines) = root.table(sink, "lines", "lines") {
        lines.only(sink, &["terminator", "longest", "encoding"]);
        terminator = lines.text(sink, "terminator");
        longest = lines.whole(sink, "longest", 1, 65_536);
        encoding = lines.word(sink, "encoding", &[("utf-8", Encoding::Utf8), ("latin-1", Encoding::Latin1)]);
    }
    let ask = root.table(sink, "ask", "ask").and_then(|table| ask(&table, sink));
    let checksum = root.table(sink, "checksum", "checksum").and_then(|table| checksum(&table, sink));
    let has_checksum = root.entries.contains_key("checksum");
    let pattern = if root.entries.contains_key("pattern") {
        root.table(sink, "pattern", "pattern").and_then(|table| pattern(&table, has_checksum, sink))
    } else {
        root.missing(sink, "pattern", "[pattern] with line = '(?<value>[-+0-9.]+) (?<unit>\\S+)'");
        None
    };
    Some(Description {
        name: name?.to_owned(),
        link: link?,
        terminator: terminator.unwrap_or("\n").as_bytes().to_vec(),
        longest: longest.and_then(|n| usize::try_from(n).ok()).unwrap_or(256),
        encoding: encoding.unwrap_or(Encoding::Utf8),
        ask,
        pattern: pattern?,
        checksum,
        rate_hz,
        silence: Duration::from_secs_f64(silence),
    })
}

fn link(table: &Table<'_, '_>, folder: &Path, sink: &mut Sink<'_>) -> Option<Link> {
    table.need(sink, "kind", "kind = \"serial\", \"tcp\" or \"file\"")?;
    match table.word(sink, "kind", &[("serial", 0), ("tcp", 1), ("file", 2)])? {
        0 => serial(table, sink).map(Link::Serial),
        1 => {
            table.only(sink, &["kind", "address"]);
            let address = table.need(sink, "address", "address = \"192.0.2.10:4001\"")?;
            let port = address.rsplit_once(':').filter(|(host, _)| !host.is_empty());
            if port.is_none_or(|(_, port)| port.parse::<u16>().is_err()) {
                let wanted = "host and port, such as \"192.0.2.10:4001\"";
                sink.note(
                    &table.span("address"),
                    FaultKind::WrongType { key: "link.address".into(), wanted },
                );
                return None;
            }
            Some(Link::Tcp { address: address.to_owned() })
        }
        _ => {
            table.only(sink, &["kind", "file"]);
            let path = table.need(sink, "file", "file = \"recorded.txt\"")?;
            Some(Link::File { path: folder.join(path) })
        }
    }
}

fn serial(table: &Table<'_, '_>, sink: &mut Sink<'_>) -> Option<Serial> {
    table.only(sink, &["kind", "port", "speed", "data_bits", "parity", "stop_bits", "flow_control"]);
    let port = table.need(sink, "port", "port = \"/dev/ttyUSB0\", or \"COM3\"");
    if !table.entries.contains_key("speed") {
        table.missing(sink, "speed", "speed = 9600, as in the menu of the display");
    }
    let speed = table.whole(sink, "speed", 50, 4_000_000);
    let data_bits = table.whole(sink, "data_bits", 5, 8).unwrap_or(8);
    let parities = [("none", Parity::None), ("even", Parity::Even), ("odd", Parity::Odd)];
    let parity = table.word(sink, "parity", &parities).unwrap_or(Parity::None);
    let stop_bits = table.whole(sink, "stop_bits", 1, 2).unwrap_or(1);
    let flows = [
        ("none", FlowControl::None),
        ("software", FlowControl::Software),
        ("hardware", FlowControl::Hardware),
    ];
    let flow_control = table.word(sink, "flow_control", &flows).unwrap_or(FlowControl::None);
    Some(Serial {
        port: port?.to_owned(),
        speed: u32::try_from(speed?).ok()?,
        data_bits: u8::try_from(data_bits).ok()?,
        parity,
        stop_bits: if stop_bits == 2 { StopBits::Two } else { StopBits::One },
        flow_control,
    })
}

fn ask(table: &Table<'_, '_>, sink: &mut Sink<'_>) -> Option<Ask> {
    table.only(sink, &["request", "every"]);
    let request = table.need(sink, "request", "request = \"…\\r\\n\", with its own line end");
    if !table.entries.contains_key("every") {
        table.missing(sink, "every", "every = \"100 ms\"");
    }
    let every = table.measure(sink, "every", "100 ms", &SECONDS);
    Some(Ask { request: request?.as_bytes().to_vec(), every: Duration::from_secs_f64(every?) })
}

fn checksum(table: &Table<'_, '_>, sink: &mut Sink<'_>) -> Option<Checksum> {
    table.only(sink, &["method", "written"]);
    table.need(sink, "method", "method = \"xor\"")?;
    let method = table.word(sink, "method", &Method::WORDS);
    let written = table.word(sink, "written", &[("hex", Written::Hex), ("decimal", Written::Decimal)]);
    Some(Checksum { method: method?, written: written.unwrap_or(Written::Hex) })
}

fn pattern(table: &Table<'_, '_>, has_checksum: bool, sink: &mut Sink<'_>) -> Option<Pattern> {
    table.only(sink, &["line", "ignore", "unit", "units", "signs", "status", "overload", "decimal", "time"]);
    let unit = table.text(sink, "unit").and_then(|text| torque_unit(sink, table, "unit", text));
    let mut units = Vec::new();
    for (word, text, span) in table.words(sink, "units", "pattern.units") {
        match TorqueUnit::parse(text) {
            Ok(unit) => units.push((word, unit)),
            Err(error) => sink.note(&span, FaultKind::Unit { key: format!("pattern.units.{word}"), error }),
        }
    }
    let mut signs = Vec::new();
    for (word, text, span) in table.words(sink, "signs", "pattern.signs") {
        let key = format!("pattern.signs.{word}");
        if let Some(minus) = one_of(sink, &span, key, text, &[("+", false), ("-", true)]) {
            signs.push((word, minus));
        }
    }
    let mut status = Vec::new();
    for (word, text, span) in table.words(sink, "status", "pattern.status") {
        if let Some(meant) = one_of(sink, &span, format!("pattern.status.{word}"), text, &Status::WORDS) {
            status.push((word, meant));
        }
    }
    let times = [
        ("s", TimeAs::Seconds),
        ("ms", TimeAs::Milliseconds),
        ("us", TimeAs::Microseconds),
        ("clock", TimeAs::Clock),
    ];
    let time = table.word(sink, "time", &times);
    let decimal = table.word(sink, "decimal", &[(".", false), (",", true)]);
    let mut ignore = Vec::new();
    for (text, span) in table.texts(sink, "ignore") {
        ignore.extend(regex(sink, &span, "pattern.ignore".into(), text));
    }
    let overload =
        table.texts(sink, "overload").into_iter().map(|(text, _)| text.trim().to_owned()).collect();
    let line = table.need(sink, "line", "line = '(?<value>[-+0-9.]+) (?<unit>\\S+)'")?;
    let line = regex(sink, &table.span("line"), "pattern.line".into(), line)?;
    let decimal_comma = decimal.unwrap_or(false);
    let pattern = Pattern { line, ignore, unit, units, signs, status, overload, decimal_comma, time };
    parts(table, &pattern, has_checksum, sink);
    Some(pattern)
}

fn torque_unit(sink: &mut Sink<'_>, table: &Table<'_, '_>, key: &str, text: &str) -> Option<TorqueUnit> {
    TorqueUnit::parse(text)
        .map_err(|error| sink.note(&table.span(key), FaultKind::Unit { key: table.path(key), error }))
        .ok()
}

/// Whether the parts of the pattern and the other keys belong together.
fn parts(table: &Table<'_, '_>, pattern: &Pattern, has_checksum: bool, sink: &mut Sink<'_>) {
    let names: Vec<&str> = pattern.line.capture_names().flatten().collect();
    let has = |part: &str| names.contains(&part);
    let mut kinds = Vec::new();
    for name in &names {
        if !PARTS.contains(name) {
            kinds.push(FaultKind::UnknownPart { part: (*name).to_owned() });
        }
    }
    let mut need = |part, is_needed: bool, why| {
        if is_needed && !has(part) {
            kinds.push(FaultKind::PartMissing { part, why });
        }
    };
    need("value", true, "without it there is no reading");
    need(
        "unit",
        pattern.unit.is_none(),
        "a number needs a unit; where the line has none, write pattern.unit",
    );
    need("unit", !pattern.units.is_empty(), "[pattern.units] explains it");
    need("sign", !pattern.signs.is_empty(), "[pattern.signs] explains it");
    need("status", !pattern.status.is_empty(), "[pattern.status] explains it");
    need("time", pattern.time.is_some(), "pattern.time explains it");
    need("checksum", has_checksum, "[checksum] explains it");
    need("checked", has_checksum, "[checksum] is computed over it");
    let mut explained = |part, is_explained: bool, key| {
        if has(part) && !is_explained {
            kinds.push(FaultKind::PartUnexplained { part, key });
        }
    };
    explained("status", !pattern.status.is_empty(), "pattern.status");
    explained("time", pattern.time.is_some(), "pattern.time");
    explained("checksum", has_checksum, "checksum.method");
    for kind in kinds {
        sink.note(&table.span("line"), kind);
    }
}
