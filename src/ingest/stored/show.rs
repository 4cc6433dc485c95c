//! The pairing as a table of text.

use std::fmt::Write as _;

use unicode_width::UnicodeWidthStr;

use super::record::{PairRecord, PairingRecord};
use crate::diagnose::harmless;

const HEAD: [&str; 8] = ["reading", "series", "target", "reference", "stored", "row", "deviation", "clocks"];

/// The pairing for a terminal. A pair that is farther from the others of its test point than the
/// noise bears an exclamation mark.
#[must_use]
pub fn text(record: &PairingRecord) -> String {
    let mut rows: Vec<[String; 8]> = vec![HEAD.map(str::to_owned)];
    rows.extend(record.pairs.iter().map(row));
    let widths: Vec<usize> = (0..HEAD.len())
        .map(|at| rows.iter().filter_map(|row| row.get(at)).map(|cell| cell.width()).max().unwrap_or(0))
        .collect();
    let mut out = String::new();
    for (row, pair) in rows.iter().zip(std::iter::once(None).chain(record.pairs.iter().map(Some))) {
        let cells = row.iter().zip(&widths).enumerate().map(|(at, (cell, width))| {
            let blanks = " ".repeat(width.saturating_sub(cell.width()));
            if at == 1 { format!("{cell}{blanks}") } else { format!("{blanks}{cell}") }
        });
        let mark = if pair.is_some_and(|pair| pair.misfit.abs() > 1.0) { "  !" } else { "" };
        // Writing to a String cannot fail.
        let _ = writeln!(out, "{}{mark}", cells.collect::<Vec<_>>().join("  "));
    }
    if record.pairs.iter().any(|pair| pair.misfit.abs() > 1.0) {
        out.push_str(
            "! farther from the others of its test point than the noise; no other pairing explains it\n",
        );
    }
    if let Some(clock) = record.clock {
        let _ = writeln!(
            out,
            "Clock of the tool: {:+.1} s from that of the bench, every pair within {:.1} s of it, drift {:+.1} s an hour",
            clock.offset_s, clock.spread_s, clock.drift_s_per_hour
        );
    } else {
        out.push_str("Clock: not on both sides; paired by order and values\n");
    }
    let tool = &record.tool;
    let confirmed = if tool.serial_confirmed {
        "confirmed by the file of the tool"
    } else {
        "NOT in the file of the tool"
    };
    let _ = writeln!(out, "Serial number: {} ({confirmed})", harmless(&tool.serial));
    out
}

fn row(pair: &PairRecord) -> [String; 8] {
    [
        pair.reading.to_string(),
        pair.series.clone(),
        pair.target.clone(),
        pair.reference.clone(),
        pair.indicated.clone(),
        pair.place.row.to_string(),
        format!("{:+.2} %", pair.deviation_percent),
        pair.clock_difference_s.map(|s| format!("{s:+.1} s")).unwrap_or_default(),
    ]
}
