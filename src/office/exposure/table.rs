//! The report as CSV: one row a point, the gravest run first. A run that could not be computed again
//! has one row with its reason.

use super::record::{PointRow, Report, RunRow};

const HEADER: [&str; 19] = [
    "gravity",
    "certificate",
    "origin",
    "customer",
    "tool",
    "condition",
    "performed",
    "point",
    "direction",
    "limit",
    "deviation_certified_percent",
    "deviation_now_percent",
    "shift_percent",
    "expanded_certified_percent",
    "expanded_now_percent",
    "verdict_certified",
    "verdict_now",
    "change",
    "reason",
];

/// The table as bytes: commas, decimal points, a header, UTF-8.
///
/// # Errors
/// [`csv::Error`], which a table in memory does not give.
pub fn to_bytes(report: &Report) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADER)?;
    for run in &report.rows {
        if run.points.is_empty() {
            writer.write_record(row(run, None))?;
        }
        for point in &run.points {
            writer.write_record(row(run, Some(point)))?;
        }
    }
    writer.into_inner().map_err(|error| error.into_error().into())
}

fn row(run: &RunRow, point: Option<&PointRow>) -> Vec<String> {
    let of = |get: fn(&PointRow) -> String| point.map(get).unwrap_or_default();
    let or_empty = |value: &Option<String>| value.clone().unwrap_or_default();
    let gravity = point.map_or(run.gravity, |point| point.gravity);
    let cells = [
        gravity.words().to_owned(),
        run.name().to_owned(),
        run.origin.clone(),
        run.customer.as_ref().map(|customer| customer.name.clone()).unwrap_or_default(),
        run.whose.tool(),
        run.whose.condition.unwrap_or_default().to_owned(),
        run.whose.performed.map(|day| day.to_string()).unwrap_or_default(),
        of(|p| p.target.clone()),
        of(|p| p.direction.clone()),
        of(|p| p.limit.clone()),
        of(|p| p.printed_before.replace('\u{2212}', "-")),
        of(|p| p.printed_after.replace('\u{2212}', "-")),
        of(|p| p.printed_shift.replace('\u{2212}', "-")),
        of(|p| p.printed_expanded_before.clone().unwrap_or_default()),
        of(|p| p.printed_expanded_after.clone().unwrap_or_default()),
        of(|p| p.verdict_before.word().to_owned()),
        of(PointRow::now),
        of(|p| p.change.to_owned()),
        or_empty(&run.reason),
    ];
    cells.map(unformula).to_vec()
}

/// A spreadsheet takes a text that begins with one of these for a formula; a number keeps its sign.
fn unformula(cell: String) -> String {
    let is_number = cell.parse::<f64>().is_ok();
    if !is_number && cell.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{cell}") } else { cell }
}
