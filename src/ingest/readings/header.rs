//! The header: which column is where.

use std::ops::Range;

use leverarm_metrology::reading::Direction;

use super::Context;
use super::cells::{QuoteFault, Scan};
use super::note::Notes;
use super::rows::quote_fault;
use crate::ingest::checks;
use crate::ingest::value::{Fault, shorten};
use crate::ingest::words::did_you_mean;

/// Every column that there can be.
pub const NAMES: [&str; 12] = [
    "series",
    "position",
    "target",
    "indicated",
    "reference",
    "unit",
    "time",
    "status",
    "note",
    "direction",
    "seconds",
    "trace",
];
const NEEDED: [&str; 5] = ["series", "target", "indicated", "reference", "status"];

/// Where each column is.
#[derive(Debug, Clone, Default)]
pub(super) struct Columns {
    places: [Option<usize>; NAMES.len()],
    /// how many cells the header has
    pub(super) width: usize,
}

/// A column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Column {
    Series,
    Position,
    Target,
    Indicated,
    Reference,
    Unit,
    Time,
    Status,
    Note,
    Direction,
    Seconds,
    Trace,
}

impl Column {
    pub(super) const fn name(self) -> &'static str {
        NAMES[self as usize]
    }
}

impl Columns {
    /// Reads the header; returns the first byte behind it, too.
    pub(super) fn read(
        text: &str,
        start: usize,
        delimiter: u8,
        context: &Context,
        notes: &mut Notes,
    ) -> (Columns, usize) {
        let scan = Scan::of(text.as_bytes(), start, delimiter);
        if let Some(
            fault @ (QuoteFault::Open { at } | QuoteFault::After { at } | QuoteFault::Within { at }),
        ) = scan.fault
        {
            notes.bytes(at, at + 1, "\"", quote_fault(fault));
        }
        let mut columns = Columns { width: scan.cells.len(), ..Columns::default() };
        let mut meant: Vec<&str> = Vec::new();
        let mut unknowns: Vec<Unknown<'_>> = Vec::new();
        for (place, cell) in scan.cells.iter().enumerate() {
            let name = text.get(cell.clone()).unwrap_or_default().trim().trim_matches('"').trim();
            match NAMES.iter().position(|known| known.eq_ignore_ascii_case(name)) {
                Some(known) => match columns.places.get_mut(known) {
                    Some(slot @ None) => *slot = Some(place),
                    _ => notes.bytes(cell.start, cell.end, name, twice(name)),
                },
                None => {
                    let is_free = |known: &&str| !has(text, &scan, known) && !meant.contains(known);
                    let guess = in_other_words(name)
                        .filter(is_free)
                        .or_else(|| did_you_mean(name, NAMES.into_iter().filter(is_free)));
                    meant.extend(guess);
                    unknowns.push((cell.clone(), name, guess));
                }
            }
        }
        if let [one] = unknowns.as_slice() {
            notes.bytes(one.0.start, one.0.end, one.1, unknown(one.1, one.2));
        } else if let Some((first, ..)) = unknowns.first() {
            // A header in another language is one mistake.
            notes.bytes(first.start, first.end, first_name(&unknowns), several_unknown(&unknowns));
            if unknowns.len() + 1 >= NEEDED.len() {
                meant.extend(NEEDED);
            }
        }
        columns.needed(text, &scan, &meant, context, notes);
        (columns, scan.end)
    }

    fn needed(&self, text: &str, scan: &Scan, meant: &[&str], context: &Context, notes: &mut Notes) {
        let end = scan.end;
        let start = scan.cells.first().map_or(end, |cell| cell.start);
        let header = text.get(start..end).unwrap_or_default();
        for (name, place) in NAMES.into_iter().zip(self.places) {
            if place.is_none() && NEEDED.contains(&name) && !meant.contains(&name) {
                let fault = Fault::new(
                    &checks::COLUMN_MISSING,
                    format!("the column {name} is missing"),
                    NEEDED.join(", "),
                    format!("add the column {name}"),
                );
                notes.bytes(start, end, header, fault);
            }
        }
        let both = context.directions.as_ref().is_some_and(|directions| directions.len() != 1);
        if both && self.at(Column::Direction).is_none() && !meant.contains(&"direction") {
            notes.bytes(
                start,
                end,
                header,
                direction_missing(
                    "the tool is calibrated in both directions and the column direction is missing",
                ),
            );
        }
    }

    /// Where a column is.
    pub(super) fn at(&self, column: Column) -> Option<usize> {
        self.places[column as usize]
    }

    /// Every column that is there.
    pub(super) fn places(&self) -> Vec<(&'static str, usize)> {
        NAMES.into_iter().zip(self.places).filter_map(|(name, place)| Some((name, place?))).collect()
    }

    /// The direction of a row that does not say it.
    pub(super) fn usual_direction(context: &Context) -> Option<Direction> {
        match context.directions.as_deref() {
            Some([only]) => Some(*only),
            // Not understood in run.toml, where it has its finding; there will be no run.
            None => Some(Direction::Clockwise),
            Some(_) => None,
        }
    }
}

pub(super) fn direction_missing(message: &str) -> Fault {
    Fault::new(
        &checks::DIRECTION_MISSING,
        message,
        "clockwise or counter-clockwise",
        "add the column direction and fill it with clockwise or counter-clockwise",
    )
}

fn has(text: &str, scan: &Scan, name: &str) -> bool {
    scan.cells.iter().any(|cell| {
        text.get(cell.clone()).unwrap_or_default().trim().trim_matches('"').trim().eq_ignore_ascii_case(name)
    })
}

/// A column that is not known: its place, its name and what it may mean.
type Unknown<'t> = (Range<usize>, &'t str, Option<&'static str>);

/// What a column of another name means, where it can mean one thing only.
fn in_other_words(name: &str) -> Option<&'static str> {
    let name = name.to_lowercase();
    let is = |words: &[&str]| words.iter().any(|word| name.starts_with(word));
    match () {
        () if is(&["soll", "nenn", "nominal", "set", "consigne"]) => Some("target"),
        () if is(&["anzeige", "indication", "tool", "werkzeug"]) => Some("indicated"),
        () if is(&["referenz", "normal", "transducer", "aufnehmer"]) => Some("reference"),
        () if is(&["einheit", "unité"]) => Some("unit"),
        () if is(&["uhrzeit", "zeit", "datum", "date", "heure"]) => Some("time"),
        () if is(&["bemerkung", "notiz", "remark", "comment"]) => Some("note"),
        () if is(&["richtung", "sens"]) => Some("direction"),
        () if is(&["reihe", "serie", "série"]) => Some("series"),
        () if is(&["loading", "duration", "dauer", "durée"]) => Some("seconds"),
        () => None,
    }
}

fn first_name<'t>(unknowns: &[Unknown<'t>]) -> &'t str {
    unknowns.first().map_or("", |(_, name, _)| name)
}

fn several_unknown(unknowns: &[Unknown<'_>]) -> Fault {
    const SHOWN: usize = 12;
    let mut names: Vec<String> =
        unknowns.iter().take(SHOWN).map(|(_, name, _)| format!("'{}'", shorten(name))).collect();
    if unknowns.len() > SHOWN {
        names.push(format!("{} more", unknowns.len() - SHOWN));
    }
    let guesses: Vec<String> = unknowns
        .iter()
        .filter_map(|(_, name, guess)| Some(format!("{} for '{}'", (*guess)?, shorten(name))))
        .collect();
    let mut remedy =
        format!("name the columns in these words: {}; columns that are none of them go", NAMES.join(", "));
    if !guesses.is_empty() {
        remedy = format!("{remedy}\nprobably {}", guesses.join(", "));
    }
    let message = format!("{} columns are not known: {}", unknowns.len(), names.join(", "));
    Fault::new(&checks::COLUMN_UNKNOWN, message, "the words of leverarm for the columns", remedy)
}

fn twice(name: &str) -> Fault {
    Fault::new(
        &checks::COLUMN_TWICE,
        format!("the column {} is there twice", shorten(name)),
        "each column once",
        "remove or rename one of the two",
    )
}

fn unknown(name: &str, guess: Option<&str>) -> Fault {
    let message = if name.is_empty() {
        "a column has no name".to_owned()
    } else {
        format!("the column '{}' is not known", shorten(name))
    };
    let remedy = match guess {
        Some(guess) => format!("did you mean {guess}?"),
        None => "remove the column or move its text into note".to_owned(),
    };
    Fault::new(&checks::COLUMN_UNKNOWN, message, NAMES.join(", "), remedy)
}
