//! Every reading, voided ones too, group by group in the order of recording.

use super::words::{NO_BREAK, capital, digits, torque};
use super::{ComposeError, Judged};
use crate::certificate::view::{ReadingCell, ReadingGroup, VoidRow};
use crate::metrology::evaluate::Evaluation;
use crate::metrology::quantity::TorqueUnit;
use crate::metrology::reading::{Direction, Reading, Recorded, Series, Status};
use crate::metrology::rounding::{RoundingError, RoundingRule, round_decimals};
use crate::metrology::run::Run;
use crate::printed::PrintedPoint;

/// Consecutive readings of one series, position and target.
fn same_group(a: &Reading, b: &Reading) -> bool {
    a.series == b.series
        && a.position == b.position
        && a.direction == b.direction
        && a.target.torque().same_as(b.target.torque())
}

pub(super) fn readings(
    judged: &Judged<'_>,
    direction: Direction,
    unit: TorqueUnit,
    rounding: RoundingRule,
) -> Result<Vec<ReadingGroup>, ComposeError> {
    let rows: Vec<&Reading> = judged.run.readings.iter().filter(|r| r.direction == direction).collect();
    let mut groups = Vec::new();
    for chunk in rows.chunk_by(|a, b| same_group(a, b)) {
        let Some(first) = chunk.first() else { continue };
        let cells = chunk
            .iter()
            .map(|reading| cell(judged, reading, unit, rounding))
            .collect::<Result<Vec<_>, _>>()?;
        groups.push(ReadingGroup {
            label: label(first),
            target: in_unit(&first.target, unit),
            readings: cells,
        });
    }
    Ok(groups)
}

/// What is to be said of the pulls of a direction: that their times stand below the readings, and
/// that their traces were kept.
pub(super) fn pulls(run: &Run, direction: Direction) -> Vec<String> {
    let rows: Vec<&Reading> = run.readings.iter().filter(|r| r.direction == direction).collect();
    let mut said = Vec::new();
    if rows.iter().any(|r| r.loading_time.is_some()) {
        said.push(format!(
            "Below a reading stands its loading time, from 80{NO_BREAK}% to 100{NO_BREAK}% of the target, where it was measured."
        ));
    }
    let pulled = rows.iter().filter(|r| r.series != Series::Zero);
    let (kept, all) = pulled.fold((0, 0), |(kept, all), r| (kept + u32::from(r.trace.is_some()), all + 1));
    if kept > 0 {
        let whose = if kept == all {
            "The trace of each pull is".to_owned()
        } else {
            format!("The traces of {kept} of the {all} pulls are")
        };
        said.push(format!("{whose} kept with the run; name and SHA-256 stand in result.json."));
    }
    said
}

/// "Test point", "Drive, 90°".
fn label(reading: &Reading) -> String {
    let name = match reading.series {
        Series::Points => "test point",
        other => other.word(),
    };
    if reading.position.is_empty() {
        capital(name)
    } else {
        format!("{}, {}", capital(name), position(reading))
    }
}

/// A position; a turn that was written as a bare number gets its degree sign.
fn position(reading: &Reading) -> String {
    let turned = matches!(reading.series, Series::Drive | Series::Interface);
    let bare = reading.position.chars().all(|c| c.is_ascii_digit() || c == '.');
    if turned && bare { format!("{}°", reading.position) } else { reading.position.clone() }
}

/// Digits alone where the unit is that of the table.
fn in_unit(recorded: &Recorded, unit: TorqueUnit) -> String {
    if recorded.unit() == unit { digits(recorded) } else { torque(recorded) }
}

fn cell(
    judged: &Judged<'_>,
    reading: &Reading,
    unit: TorqueUnit,
    rounding: RoundingRule,
) -> Result<ReadingCell, RoundingError> {
    let differs = !reading.indicated.torque().same_as(reading.target.torque());
    let result = deviation(judged.evaluation, reading, rounding)?;
    Ok(ReadingCell {
        indicated: differs.then(|| in_unit(&reading.indicated, unit)),
        reference: in_unit(&reading.reference, unit),
        outside: result.as_ref().is_some_and(|(_, within)| !within),
        deviation: result.map(|(text, _)| text),
        void: void_mark(judged.run, reading),
        seconds: reading.loading_time.map(|time| format!("{}{NO_BREAK}s", time.digits())),
    })
}

/// The deviation of a reading at a test point, to the digits of its point's
/// result, and whether it lies within the limits.
fn deviation(
    evaluation: &Evaluation,
    reading: &Reading,
    rounding: RoundingRule,
) -> Result<Option<(String, bool)>, RoundingError> {
    for point in evaluation.points.iter().filter(|p| p.direction == reading.direction) {
        if let Some(found) = point.readings.iter().find(|r| r.row == reading.row) {
            let decimals = PrintedPoint::new(point, rounding)?.decimals;
            let text = round_decimals(found.deviation.value(), decimals)?.signed();
            return Ok(Some((text, found.within)));
        }
    }
    Ok(None)
}

/// "v2" for the second reading of the run that was struck out.
fn void_mark(run: &Run, reading: &Reading) -> Option<String> {
    let position = run.readings.iter().filter(|r| !r.is_valid()).position(|r| r.row == reading.row)?;
    Some(format!("v{}", position + 1))
}

/// What was struck out, and why.
pub(super) fn voids(run: &Run) -> Vec<VoidRow> {
    run.readings
        .iter()
        .filter_map(|reading| match &reading.status {
            Status::Valid => None,
            Status::Void { reason } => Some(VoidRow {
                mark: void_mark(run, reading).unwrap_or_default(),
                place: format!(
                    "{}, {}, {}, row{NO_BREAK}{}",
                    label(reading),
                    torque(&reading.target),
                    reading.direction,
                    reading.row
                ),
                value: torque(&reading.reference),
                reason: reason.clone(),
            }),
        })
        .collect()
}
