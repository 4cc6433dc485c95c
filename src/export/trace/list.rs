//! Every trace of a run on a line of its own.

use serde::Serialize;

use super::{Charset, Seen};
use crate::diagnose::harmless;
use crate::export::lines;
use crate::trace_view::analyse::Analysis;
use crate::trace_view::columns::columns;
use crate::trace_view::facts::{Facts, ReadingFacts};
use leverarm_pull::trace::Trace;

/// Characters of a picture of one line.
const PICTURE: usize = 20;
const BLOCKS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
const PLAIN: [char; 8] = ['_', '.', ':', '-', '=', '+', '*', '#'];

/// A reading of a run and its trace.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// the reading
    pub reading: ReadingFacts,
    /// its trace
    pub file: String,
    /// what was found; none where it cannot be opened
    pub facts: Option<Facts>,
    /// why it cannot
    pub trouble: Option<String>,
    /// the picture: heights from 1 to 8, 0 where no sample came
    #[serde(skip)]
    pub picture: Vec<u8>,
}

impl Row {
    /// A trace that was opened. Its samples are not kept: a run may have hundreds.
    #[must_use]
    pub fn of(reading: ReadingFacts, seen: Seen) -> Row {
        let picture = picture(&seen.trace, &seen.analysis);
        Row { reading, file: seen.facts.file.clone(), facts: Some(seen.facts), trouble: None, picture }
    }

    /// A trace that cannot be opened.
    #[must_use]
    pub fn troubled(reading: ReadingFacts, file: String, trouble: String) -> Row {
        Row { reading, file, facts: None, trouble: Some(trouble), picture: Vec::new() }
    }
}

/// The farthest value of each column, from 1 at zero to 8 at the farthest of all; 0 where nothing came.
fn picture(trace: &Trace, analysis: &Analysis) -> Vec<u8> {
    let sign = analysis.sign();
    let most = analysis.highest.value.max(-analysis.lowest.value);
    let mut heights = vec![0; PICTURE];
    for column in columns(trace, PICTURE) {
        let value = (column.lowest.value * sign).max(column.highest.value * sign);
        let share = if most > 0.0 { (value / most).clamp(0.0, 1.0) } else { 0.0 };
        if let Some(height) = heights.get_mut(column.index) {
            // From 1 to 8.
            *height = 1 + (share * 7.0).round() as u8;
        }
    }
    heights
}

fn drawn(heights: &[u8], charset: Charset) -> String {
    let set = if charset == Charset::Unicode { &BLOCKS } else { &PLAIN };
    let of = |height: &u8| usize::from(*height).checked_sub(1).and_then(|i| set.get(i)).copied();
    heights.iter().map(|height| of(height).unwrap_or(' ')).collect()
}

/// The list, what is to be said of its rows, and how many readings have no trace.
#[must_use]
pub fn text(rows: &[Row], without: usize, width: usize, charset: Charset) -> String {
    let header = ["row", "pull", "trace", "recorded", "loading", ""].map(str::to_owned).to_vec();
    let body = rows.iter().map(|row| cells(row, charset)).collect();
    let mut out = lines::table(header, body, 0..1);
    out.push('\n');
    let digits = rows.iter().map(|row| row.reading.row.to_string().len()).max().unwrap_or(0);
    let remarks = rows.iter().flat_map(|row| remarks(row).into_iter().map(move |said| (row, said)));
    for ((row, said), i) in remarks.zip(0_usize..) {
        if i == 0 {
            out.push('\n');
        }
        let first = format!(" {:>digits$}  ", row.reading.row);
        lines::wrapped(&mut out, &first, &" ".repeat(digits + 3), &harmless(&said), width.max(40));
    }
    if without > 0 {
        let (are, have) = if without == 1 { ("reading", "has") } else { ("readings", "have") };
        out.push_str(&format!("\n{without} {are} of the run {have} no trace.\n"));
    }
    charset.of(out)
}

fn cells(row: &Row, charset: Charset) -> Vec<String> {
    let pull = row.facts.as_ref().and_then(|facts| facts.pull.as_ref());
    let loading = pull.and_then(|pull| pull.loading.as_ref());
    let state = match (&row.reading.void, pull) {
        (Some(_), _) => "void",
        (None, _) if row.trouble.is_some() => "not opened",
        (None, None) => "no pull",
        (None, Some(pull)) if pull.flaws.is_empty() => "",
        (None, Some(_)) => "see below",
    };
    vec![
        row.reading.row.to_string(),
        harmless(&row.reading.words),
        drawn(&row.picture, charset),
        row.reading.reference.clone(),
        loading.map_or_else(String::new, |loading| format!("{} s", loading.seconds)),
        state.to_owned(),
    ]
}

/// All that is not as it should be, in whole words.
fn remarks(row: &Row) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    said.extend(row.reading.void.as_ref().map(|why| format!("void: {why}")));
    said.extend(row.trouble.as_ref().map(|why| format!("not opened: {why}")));
    let facts = row.facts.as_ref();
    said.extend(facts.and_then(|facts| facts.without.clone()));
    let pull = facts.and_then(|facts| facts.pull.as_ref());
    said.extend(pull.into_iter().flat_map(|pull| &pull.flaws).map(|flaw| flaw.words.clone()));
    said
}
