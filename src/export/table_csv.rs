//! `result.csv`: one row a test point, plain numbers, for a spreadsheet.

use super::json::RunRecord;

/// The table of one or two runs as bytes: commas, decimal points, a header, UTF-8.
///
/// # Errors
/// [`csv::Error`], which a table in memory does not give.
pub fn to_bytes(runs: &[RunRecord]) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "job",
        "condition",
        "serial",
        "direction",
        "target",
        "n",
        "mean_reference",
        "mean_deviation_percent",
        "standard_deviation_percent",
        "expanded_uncertainty_percent",
        "coverage_factor",
        "interval_percent",
        "limit_percent",
        "acceptance_limit_percent",
        "readings_outside",
        "verdict",
    ])?;
    for run in runs {
        for point in &run.points {
            let p = &point.printed;
            let or_empty = |value: &Option<String>| value.clone().unwrap_or_default();
            writer.write_record([
                run.job.clone(),
                run.condition.to_string(),
                run.tool.serial.clone(),
                p.direction.clone(),
                p.target.clone(),
                p.n.clone(),
                p.mean_reference.clone(),
                p.mean_deviation.replace('\u{2212}', "-"),
                or_empty(&p.standard_deviation),
                or_empty(&p.expanded),
                or_empty(&p.k),
                or_empty(&p.interval),
                p.limit.clone(),
                or_empty(&p.acceptance_limit),
                p.readings_outside.clone(),
                p.verdict.clone(),
            ])?;
        }
    }
    writer.into_inner().map_err(|error| error.into_error().into())
}
