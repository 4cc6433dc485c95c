//! Exposure of a reference: what a run says once its reference is known to have been wrong.
//!
//! A reference comes back from its own calibration with another deviation than the one that its runs
//! were evaluated with (ISO/IEC 17025:2017, 6.4.9, equipment outside its requirements, and 7.10,
//! nonconforming work; clause numbers from memory). Nobody knows when it changed: a [`Model`] says
//! what is assumed. [`as_known_now`] makes the reference that a run is evaluated with again, by the
//! same [`crate::evaluate::evaluate`], and [`compare`] holds the two evaluations side by side.
//!
//! What moves. With d the deviation of the reference, indicated less applied over applied, the torque
//! behind an indication x is x/(1 + d). A relative deviation a of a tool, over the reference torque,
//! was (1 + a) = X/(x/(1 + d)), so that after a change of the reference from d to d′
//!
//! ```text
//! a′ = (1 + a)·(1 + d′)/(1 + d) − 1
//! ```
//!
//! exactly: a reference that shows 0.5 % more than was believed adds 0.5 %·(1 + a).

mod comparison;
#[cfg(test)]
mod tests;

use chrono::NaiveDate;
use thiserror::Error;

use crate::quantity::{Percent, Torque};
use crate::reading::Direction;
use crate::reference::{CalibrationCurve, CalibrationPoint, Reference, ReferenceError};

pub use comparison::{Change, Comparison, PointComparison, compare};

/// When the reference is taken to have changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Model {
    /// the day after its last calibration: the deviation as found held for every run. The largest
    /// change that a one-way change can have made
    #[default]
    AtOnce,
    /// evenly, from its last calibration to the one that found it
    Linear,
}

impl Model {
    /// Every model.
    pub const ALL: [Model; 2] = [Model::AtOnce, Model::Linear];

    /// Its name on the command line and in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Model::AtOnce => "at-once",
            Model::Linear => "linear",
        }
    }
}

/// Why a reference cannot be made as it is known now.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ExposureError {
    /// Two instruments.
    #[error("the run used the reference {was}, the new calibration is of {found}")]
    OtherReference {
        /// name and serial number of the one that the run used
        was: String,
        /// name and serial number of the one that was calibrated
        found: String,
    },
    /// A run on the day of the new calibration or later is not in between.
    #[error("the run of {performed} is not between the calibrations of {was} and {found}")]
    NotBetween {
        /// day of the calibration that the run was evaluated with
        was: NaiveDate,
        /// day of the run
        performed: NaiveDate,
        /// day of the new calibration
        found: NaiveDate,
    },
    /// The two calibrations have no range in common.
    #[error("the calibrations before and after have no range in common {direction}")]
    NothingInCommon {
        /// the direction
        direction: Direction,
    },
    /// The mixture is no curve.
    #[error("the two calibrations do not make a curve together: {0}")]
    Curve(#[from] ReferenceError),
}

impl ExposureError {
    /// What can be done about it.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        match self {
            ExposureError::OtherReference { .. } => {
                "give the new calibration of the same reference, with its name and serial number"
            }
            ExposureError::NotBetween { .. } => {
                "give the calibration that found the deviation; a later run was made with a later calibration"
            }
            ExposureError::NothingInCommon { .. } | ExposureError::Curve(_) => {
                "see whether the new reference file holds the points of the whole certificate"
            }
        }
    }
}

/// The reference of a run as it is known now that a later calibration found it changed.
///
/// The uncertainty is that of the new calibration, with the resolution, interpolation and temperature
/// coefficient stated beside it; under [`Model::Linear`] it lies between those of the two
/// calibrations, as for fully correlated errors (the larger of what GUM 5.2.2 allows: both mostly
/// come from one standard), and grows by the shape that is not known, as [`mixed`] says. What the
/// certificate allowed for drift is kept as it was: a bad finding does not make a result better known.
///
/// # Errors
/// [`ExposureError`].
pub fn as_known_now(
    was: &Reference,
    found: &Reference,
    model: Model,
    performed: NaiveDate,
) -> Result<Reference, ExposureError> {
    if was.id != found.id || was.serial != found.serial {
        let name = |reference: &Reference| format!("{} ({})", reference.id, reference.serial);
        return Err(ExposureError::OtherReference { was: name(was), found: name(found) });
    }
    // What is recorded of a day has no order within the day; the same calibration twice moves nothing.
    if was != found && !(was.calibrated_on <= performed && performed <= found.calibrated_on) {
        return Err(ExposureError::NotBetween {
            was: was.calibrated_on,
            performed,
            found: found.calibrated_on,
        });
    }
    let (certificate, curves) = match model {
        Model::AtOnce => (found.certificate.clone(), found.curves.clone()),
        Model::Linear => linear(was, found, performed)?,
    };
    Ok(Reference {
        certificate,
        curves,
        calibrated_on: was.calibrated_on,
        due: was.due,
        range: was.range,
        drift_per_year: was.drift_per_year,
        ..found.clone()
    })
}

fn linear(
    was: &Reference,
    found: &Reference,
    performed: NaiveDate,
) -> Result<(String, Vec<CalibrationCurve>), ExposureError> {
    let days = |to: NaiveDate| (to - was.calibrated_on).num_days() as f64;
    let whole = days(found.calibrated_on);
    let fraction = if whole > 0.0 { (days(performed) / whole).clamp(0.0, 1.0) } else { 1.0 };
    let of_found = |direction| found.curves.iter().find(move |curve| curve.direction == direction);
    let curves = was
        .curves
        .iter()
        .filter_map(|old| of_found(old.direction).map(|new| mixed(old, new, fraction)))
        .collect::<Result<Vec<_>, _>>()?;
    let certificate = if was.certificate == found.certificate {
        found.certificate.clone()
    } else {
        format!("{}, drifted evenly to {}", was.certificate, found.certificate)
    };
    Ok((certificate, curves))
}

/// The curve when a fraction f of the time between two calibrations has passed.
///
/// The correction is that of the straight line in time, c + f·Δ with Δ the change of the correction.
/// A path from one end to the other that only rises or only falls, taken as a parabola, is
/// c + (f + q·f·(1 − f))·Δ with q from −1 to 1: it lies within |Δ|·f·(1 − f) of the line, which is
/// nothing at either calibration and a quarter of the change halfway. That is the half width of a
/// rectangular distribution (own derivation; common practice, no published source), combined with
/// the uncertainty of the calibrations into the line `reference, calibration`.
///
/// It is taken at the points of both calibrations within the range that they share; a point of the
/// later one that stands by a point of the earlier one is the same nominal torque and is left out.
///
/// # Errors
/// [`ExposureError`] where the ranges do not overlap or the mixture does not rise.
pub fn mixed(
    old: &CalibrationCurve,
    new: &CalibrationCurve,
    fraction: f64,
) -> Result<CalibrationCurve, ExposureError> {
    if old == new {
        return Ok(old.clone());
    }
    let points =
        grid(old, new).into_iter().map(|x| mixed_at(old, new, fraction, x)).collect::<Result<Vec<_>, _>>()?;
    if points.len() < 2 {
        return Err(ExposureError::NothingInCommon { direction: old.direction });
    }
    Ok(CalibrationCurve::new(old.direction, points)?)
}

fn mixed_at(
    old: &CalibrationCurve,
    new: &CalibrationCurve,
    fraction: f64,
    x: Torque,
) -> Result<CalibrationPoint, ReferenceError> {
    let (a, b) = (old.at(x)?, new.at(x)?);
    let line = |from: f64, to: f64| from + fraction * (to - from);
    let change = (b.correction - a.correction).newton_metres();
    let correction = line(a.correction.newton_metres(), b.correction.newton_metres());
    let calibrations = line(a.standard_uncertainty.newton_metres(), b.standard_uncertainty.newton_metres());
    let shape = change.abs() * fraction * (1.0 - fraction) / 3.0_f64.sqrt();
    Ok(CalibrationPoint {
        indicated: x,
        applied: x + Torque::from_newton_metres(correction),
        expanded: Torque::from_newton_metres(2.0 * calibrations.hypot(shape)),
        k: 2.0,
    })
}

/// Indications of two calibrations nearer than this, relative, are of one nominal torque.
const SAME_NOMINAL: f64 = 0.03;

fn grid(old: &CalibrationCurve, new: &CalibrationCurve) -> Vec<Torque> {
    let ((a, b), (c, d)) = (old.span(), new.span());
    let lower = if a >= c { a } else { c };
    let upper = if b <= d { b } else { d };
    if lower >= upper {
        return Vec::new();
    }
    let near = |x: Torque, y: Torque| {
        (x.newton_metres() - y.newton_metres()).abs() <= SAME_NOMINAL * x.newton_metres().abs()
    };
    let inside = |x: &Torque| *x > lower && *x < upper;
    let mut grid: Vec<Torque> = old.points().iter().map(|p| p.indicated).filter(inside).collect();
    let of_old = grid.clone();
    let added = new.points().iter().map(|p| p.indicated).filter(inside);
    let stands_alone = |x: &Torque| !of_old.iter().chain([&lower, &upper]).any(|y| near(*x, *y));
    grid.extend(added.filter(stands_alone));
    grid.extend([lower, upper]);
    grid.sort_by(|x, y| x.newton_metres().total_cmp(&y.newton_metres()));
    grid
}

/// The largest change of the torque that stands behind an indication, with its sign, in percent of
/// the torque as it was believed; over the points of both calibrations where they share a range.
/// `None` where they share none.
#[must_use]
pub fn largest_change(was: &Reference, found: &Reference) -> Option<Percent> {
    let changes = was.curves.iter().flat_map(|old| {
        let new = found.curves.iter().find(|curve| curve.direction == old.direction);
        let at = move |new: &CalibrationCurve| {
            grid(old, new)
                .into_iter()
                .filter_map(|x| {
                    let (a, b) = (old.at(x).ok()?.torque, new.at(x).ok()?.torque);
                    (a.newton_metres() > 0.0).then(|| (b - a).percent_of(a))
                })
                .collect::<Vec<_>>()
        };
        new.map(at).unwrap_or_default()
    });
    changes.max_by(|a, b| a.abs().value().total_cmp(&b.abs().value()))
}
