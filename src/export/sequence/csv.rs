//! An empty `readings.csv`: a row for each reading of the sequence, to be filled in.

use super::Sheet;

/// The rows in the order of the work, indicated value, reference and time left empty. What stands in
/// the file already is what the sequence gives.
///
/// # Errors
/// [`csv::Error`], which a write into memory does not give.
pub fn to_bytes(sheet: &Sheet) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut header =
        vec!["series", "position", "target", "indicated", "reference", "unit", "time", "status", "note"];
    if sheet.has_directions {
        header.push("direction");
    }
    writer.write_record(&header)?;
    for step in sheet.groups.iter().flat_map(|group| &group.steps) {
        let (Some(series), Some(direction)) = (step.series, step.direction) else { continue };
        let mut row = vec![series, &step.position, &step.target, "", "", &step.unit, "", "ok", ""];
        if sheet.has_directions {
            row.push(direction);
        }
        for _ in 0..step.count {
            writer.write_record(&row)?;
        }
    }
    writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}
