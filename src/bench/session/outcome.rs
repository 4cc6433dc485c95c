//! What a session leaves: the rows of `readings.csv`, the surroundings, who was there.

use chrono::{DateTime, FixedOffset, NaiveDate};
use leverarm_metrology::reading::{Direction, Recorded, Series};

use crate::plan::Plan;
use crate::record::{Acknowledged, Pause, Record, Span, Surroundings};

/// What was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// the rows, in the order of recording
    pub rows: Vec<Row>,
    /// whether rows say their direction
    pub has_directions: bool,
    /// day of the first reading, on the clock of the bench
    pub performed: Option<NaiveDate>,
    /// temperature and humidity before the first reading
    pub start: Option<Surroundings>,
    /// the same after the last one
    pub end: Option<Surroundings>,
    /// who was at the bench, and when
    pub technicians: Vec<Span>,
    /// what was acknowledged, by whom and when
    pub acknowledged: Vec<Acknowledged>,
    /// the pauses
    pub pauses: Vec<Pause>,
    /// what went on in spite of a limit, in words, for the remarks of the certificate
    pub remarks: Vec<String>,
    /// when all was done; none while it is not
    pub finished: Option<DateTime<FixedOffset>>,
}

/// A row of `readings.csv`.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// its number, from 1
    pub number: u32,
    /// the series
    pub series: Series,
    /// the position; empty where there is one only
    pub position: String,
    /// the sense of rotation
    pub direction: Direction,
    /// the torque that was aimed at
    pub target: Recorded,
    /// what the tool was set to or showed; none where that is said later
    pub indicated: Option<Recorded>,
    /// what the reference showed
    pub reference: Recorded,
    /// when
    pub time: DateTime<FixedOffset>,
    /// by whom
    pub technician: String,
    /// the reason why it does not count
    pub void: Option<String>,
    /// a remark
    pub note: String,
    /// loading time from 80 % to 100 % of the target, in seconds
    pub seconds: Option<String>,
    /// the path of its trace within the run folder
    pub trace: Option<String>,
    /// SHA-256 of the trace, as hexadecimal digits
    pub trace_sha256: Option<String>,
}

impl Outcome {
    pub(crate) fn of(plan: &Plan, record: &Record) -> Outcome {
        let row = |kept: &crate::record::Kept| {
            let readings = kept.readings(plan)?;
            Some(Row {
                number: kept.number,
                series: readings.series,
                position: readings.position.clone(),
                direction: readings.direction,
                target: readings.target,
                indicated: kept.indicated,
                reference: kept.reference,
                time: kept.time,
                technician: kept.technician.clone(),
                void: kept.void.clone(),
                note: kept.note.clone(),
                seconds: kept.seconds.clone(),
                trace: kept.trace.as_ref().map(|trace| trace.file.clone()),
                trace_sha256: kept.trace.as_ref().map(|trace| trace.sha256.clone()),
            })
        };
        let rows: Vec<Row> = record.readings.iter().filter_map(row).collect();
        Outcome {
            has_directions: plan.tool.directions.len() != 1,
            performed: rows.first().map(|row| row.time.date_naive()),
            start: record.start.clone(),
            end: record.end.clone(),
            technicians: record.technicians.clone(),
            acknowledged: record.acknowledged.clone(),
            pauses: record.pauses.clone(),
            remarks: remarks(record),
            finished: record.finished,
            rows,
        }
    }
}

fn remarks(record: &Record) -> Vec<String> {
    let room = [("at the start", &record.start), ("at the end", &record.end)];
    room.into_iter()
        .filter_map(|(when, seen)| Some((when, seen.as_ref()?)))
        .filter(|(_, seen)| !seen.outside.is_empty())
        .map(|(when, seen)| {
            let reason = seen.reason.as_deref().unwrap_or_default();
            format!("{when}: {}; went on: {reason}", seen.outside.join("; "))
        })
        .collect()
}

/// The file, in the format of the run folder, with two columns more: `seconds` and `trace`.
///
/// Where target and reference are in one unit, it stands in the column `unit`; otherwise each cell has
/// its own, and nothing is converted.
///
/// # Errors
/// [`csv::Error`], which a write into memory does not give.
pub fn readings_csv(outcome: &Outcome) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut header =
        vec!["series", "position", "target", "indicated", "reference", "unit", "time", "status", "note"];
    if outcome.has_directions {
        header.push("direction");
    }
    header.extend(["seconds", "trace"]);
    writer.write_record(&header)?;
    for row in &outcome.rows {
        writer.write_record(cells(row, outcome.has_directions))?;
    }
    writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

fn cells(row: &Row, has_directions: bool) -> Vec<String> {
    let unit = row.reference.unit();
    let is_one_unit = row.target.unit() == unit && row.indicated.is_none_or(|i| i.unit() == unit);
    let torque = |recorded: Recorded| {
        if is_one_unit { recorded.digits().to_string() } else { recorded.to_string() }
    };
    let (status, note) = match &row.void {
        Some(reason) if row.note.is_empty() => ("void", reason.clone()),
        Some(reason) => ("void", format!("{reason}; {}", row.note)),
        None => ("ok", row.note.clone()),
    };
    let mut cells = vec![
        row.series.word().to_owned(),
        row.position.clone(),
        torque(row.target),
        row.indicated.map(torque).unwrap_or_default(),
        torque(row.reference),
        if is_one_unit { unit.to_string() } else { String::new() },
        row.time.format("%Y-%m-%dT%H:%M:%S%:z").to_string(),
        status.to_owned(),
        note,
    ];
    if has_directions {
        cells.push(row.direction.word().to_owned());
    }
    cells.push(row.seconds.clone().unwrap_or_default());
    cells.push(row.trace.clone().unwrap_or_default());
    cells
}
