//! The points of a curve.

use super::fault::ReferenceError;
use super::select::{Chosen, name};
use super::{Amount, Curve, Point, Shown};
use crate::digits::Digits;
use crate::model::Direction;
use crate::read::{Column, Dcc, Expanded};
use crate::unit::{Dimension, dimension};

pub(super) fn read(dcc: &Dcc, chosen: &Chosen<'_>, notes: &mut Vec<String>) -> Result<Curve, ReferenceError> {
    let applied = torques(dcc, chosen.applied)?;
    let indicated = chosen.indicated.map(|column| torques(dcc, column)).transpose()?;
    let deviation = chosen.deviation.map(|column| amounts(dcc, column, &column.values)).transpose()?;
    let lengths =
        chosen.indicated.iter().chain(&chosen.deviation).map(|column| (*column, column.values.len()));
    for (column, given) in lengths {
        if given != applied.len() {
            let place = dcc.place(column.spot);
            return Err(ReferenceError::Rows { place, given, wanted: applied.len() });
        }
    }
    if let (Some(indicated), Some(deviation), Some(column)) = (&indicated, &deviation, chosen.deviation) {
        agree(dcc, column, &applied, indicated, deviation)?;
    }
    let (carrier, expanded) = uncertainty(dcc, chosen)?;
    if carrier.values.len() != applied.len() {
        let place = dcc.place(carrier.spot);
        return Err(ReferenceError::Rows { place, given: carrier.values.len(), wanted: applied.len() });
    }
    let of_row = |list: &[Digits], row: usize| list.get(row).or_else(|| list.first()).cloned();
    let spread: Vec<Digits> = (0..applied.len()).filter_map(|row| of_row(&expanded.values, row)).collect();
    let uncertainties = amounts(dcc, carrier, &spread)?;
    let mut rows = Vec::with_capacity(applied.len());
    for (row, (applied, uncertainty)) in applied.into_iter().zip(uncertainties).enumerate() {
        let shown = match (indicated.as_ref(), deviation.as_ref()) {
            (Some(list), _) => list.get(row).cloned().map(Shown::Indicated),
            (None, list) => list.and_then(|list| list.get(row)).cloned().map(Shown::Deviation),
        };
        let (k, probability) = (of_row(&expanded.k, row), of_row(&expanded.probability, row));
        if let (Some(shown), Some(k), Some(probability)) = (shown, k, probability) {
            rows.push(Point { applied, shown, expanded: uncertainty, k, probability });
        }
    }
    let rows = upright(dcc, chosen, rows, notes)?;
    let points = without_zero(chosen, rows, notes);
    check(dcc, chosen, expanded, &points)?;
    Ok(Curve { direction: chosen.direction, points: points.into_iter().map(|(_, point)| point).collect() })
}

fn unit(column: &Column, row: usize) -> &str {
    column.units.get(row).or_else(|| column.units.first()).map_or("", String::as_str)
}

fn torques(dcc: &Dcc, column: &Column) -> Result<Vec<Digits>, ReferenceError> {
    amounts(dcc, column, &column.values)?
        .into_iter()
        .enumerate()
        .map(|(row, amount)| match amount {
            Amount::Torque(digits) => Ok(digits),
            Amount::Percent(_) => Err(wrong_unit(dcc, column, row, r"a torque such as \newton\metre")),
        })
        .collect()
}

fn wrong_unit(dcc: &Dcc, column: &Column, row: usize, wanted: &'static str) -> ReferenceError {
    ReferenceError::Unit { place: dcc.place(column.unit_spot), given: unit(column, row).to_owned(), wanted }
}

/// Values in the units of a column: N·m, or percent.
fn amounts(dcc: &Dcc, column: &Column, values: &[Digits]) -> Result<Vec<Amount>, ReferenceError> {
    let number =
        |digits: &Digits| ReferenceError::Number { place: dcc.place(column.spot), given: digits.to_string() };
    let convert = |(row, digits): (usize, &Digits)| match dimension(unit(column, row)) {
        Dimension::Torque { power } => digits.plain(power).map(Amount::Torque).ok_or_else(|| number(digits)),
        Dimension::Ratio { power } => digits.plain(power).map(Amount::Percent).ok_or_else(|| number(digits)),
        _ => Err(wrong_unit(dcc, column, row, r"a torque such as \newton\metre, or \percent or \one")),
    };
    values.iter().enumerate().map(convert).collect()
}

/// Indication and deviation stand for the same: within one step of the last digit of each.
fn agree(
    dcc: &Dcc,
    column: &Column,
    applied: &[Digits],
    indicated: &[Digits],
    deviation: &[Amount],
) -> Result<(), ReferenceError> {
    for (row, ((applied, indicated), deviation)) in applied.iter().zip(indicated).zip(deviation).enumerate() {
        let difference = indicated.value() - applied.value();
        let (wanted, step) = match deviation {
            Amount::Torque(digits) => (digits.value(), digits.last_digit()),
            // a percentage of zero says nothing
            Amount::Percent(_) if applied.value() == 0.0 => continue,
            Amount::Percent(digits) => (
                digits.value() * applied.value() / 100.0,
                digits.last_digit() * applied.value().abs() / 100.0,
            ),
        };
        if (difference - wanted).abs() > (step + indicated.last_digit() + applied.last_digit()) * 1.000_001 {
            let (place, deviation) = (dcc.place(column.spot), text(deviation));
            return Err(ReferenceError::Contradiction { place, row: row + 1, deviation });
        }
    }
    Ok(())
}

pub(super) fn text(amount: &Amount) -> String {
    match amount {
        Amount::Torque(digits) => format!("{digits} N·m"),
        Amount::Percent(digits) => format!("{digits} %"),
    }
}

/// The uncertainty of the calibration: the one that is named, or the only one that is given. The one of
/// the applied torque alone is only a part of it and must be named.
fn uncertainty<'d>(dcc: &Dcc, chosen: &Chosen<'d>) -> Result<(&'d Column, &'d Expanded), ReferenceError> {
    let candidates: Vec<&'d Column> = match chosen.uncertainty {
        Some(named) => vec![named],
        None => chosen.indicated.into_iter().chain(chosen.deviation).collect(),
    };
    let carriers: Vec<(&'d Column, &'d Expanded)> =
        candidates.iter().filter_map(|column| Some((*column, column.expanded.as_ref()?))).collect();
    match carriers.as_slice() {
        [one] => Ok(*one),
        [] => {
            let spot = candidates.first().map_or(chosen.table.spot, |column| column.spot);
            let other = candidates.iter().find_map(|column| column.other_uncertainty.clone());
            Err(ReferenceError::NoUncertainty { place: dcc.place(spot), other })
        }
        [first, others @ ..] => {
            let same = |(column, expanded): &(&Column, &Expanded)| {
                column.units == first.0.units && expanded.values == first.1.values && expanded.k == first.1.k
            };
            if others.iter().all(same) {
                return Ok(*first);
            }
            let columns = carriers.iter().map(|(column, _)| name(column)).collect();
            Err(ReferenceError::Uncertainties { place: dcc.place(chosen.table.spot), columns })
        }
    }
}

/// Counter-clockwise torque that is counted below zero, counted above zero.
fn upright(
    dcc: &Dcc,
    chosen: &Chosen<'_>,
    mut rows: Vec<Point>,
    notes: &mut Vec<String>,
) -> Result<Vec<Point>, ReferenceError> {
    let Some(below) = rows.iter().position(|point| point.applied.value() < 0.0) else { return Ok(rows) };
    let above = rows.iter().any(|point| point.applied.value() > 0.0);
    if above || chosen.direction == Direction::Clockwise {
        let (place, direction) = (dcc.place(chosen.applied.spot), chosen.direction.word());
        return Err(ReferenceError::Negative { place, row: below + 1, direction });
    }
    for point in &mut rows {
        point.applied = point.applied.negated();
        point.shown = match &point.shown {
            Shown::Indicated(digits) => Shown::Indicated(digits.negated()),
            Shown::Deviation(Amount::Torque(digits)) => Shown::Deviation(Amount::Torque(digits.negated())),
            // relative to a torque whose sign turns, too
            relative => relative.clone(),
        };
    }
    notes
        .push("the certificate counts counter-clockwise torque below zero; here it is above zero".to_owned());
    Ok(rows)
}

/// The rows above zero, each with its number in the certificate, from 1.
fn without_zero(chosen: &Chosen<'_>, rows: Vec<Point>, notes: &mut Vec<String>) -> Vec<(usize, Point)> {
    let mut kept = Vec::with_capacity(rows.len());
    for (row, point) in rows.into_iter().enumerate() {
        if point.applied.value() == 0.0 {
            let direction = chosen.direction.word();
            notes.push(format!("row {} of the calibration {direction}, at 0 N·m, is left out", row + 1));
        } else {
            kept.push((row + 1, point));
        }
    }
    kept
}

fn check(
    dcc: &Dcc,
    chosen: &Chosen<'_>,
    expanded: &Expanded,
    points: &[(usize, Point)],
) -> Result<(), ReferenceError> {
    if points.len() < 2 {
        return Err(ReferenceError::TooFew { place: dcc.place(chosen.table.spot), given: points.len() });
    }
    let shown = |point: &Point| match &point.shown {
        Shown::Indicated(digits) => digits.value(),
        Shown::Deviation(Amount::Torque(digits)) => point.applied.value() + digits.value(),
        Shown::Deviation(Amount::Percent(digits)) => point.applied.value() * (1.0 + digits.value() / 100.0),
    };
    for ((_, before), (row, point)) in points.iter().zip(points.iter().skip(1)) {
        if point.applied.value() <= before.applied.value() || shown(point) <= shown(before) {
            return Err(ReferenceError::NotRising { place: dcc.place(chosen.applied.spot), row: *row });
        }
    }
    for (row, point) in points {
        let (Amount::Torque(digits) | Amount::Percent(digits)) = &point.expanded;
        if digits.value() <= 0.0 {
            return Err(ReferenceError::ZeroUncertainty { place: dcc.place(expanded.spot), row: *row });
        }
    }
    Ok(())
}
