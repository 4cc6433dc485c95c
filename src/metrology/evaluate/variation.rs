//! Variations: how far the means move when the tool is taken off and put back, its drive or the
//! adaptor is turned, or the hand moves on the grip.

use super::point::corrected;
use super::{Context, EvaluateError};
use crate::budget::Variation;
use crate::quantity::{Percent, Torque};
use crate::reading::{Direction, Recorded, Series};
use crate::statistics::Sample;

/// A variation that was measured in this run.
#[derive(Debug, Clone, PartialEq)]
pub struct VariationResult {
    /// which
    pub variation: Variation,
    /// in which direction
    pub direction: Direction,
    /// the point at which it was measured
    pub target: Recorded,
    /// mean reference torque of each sequence or position, in their order
    pub means: Vec<(String, Torque)>,
    /// full width b: the largest of these means less the smallest
    pub width: Torque,
    /// b in percent of the mean reference torque
    pub relative_width: Percent,
}

const fn series(variation: Variation) -> Series {
    match variation {
        Variation::Reproducibility => Series::Reproducibility,
        Variation::Drive => Series::Drive,
        Variation::Interface => Series::Interface,
        Variation::LoadingPoint => Series::Grip,
    }
}

/// Measures every variation of the run, in each direction that has readings for it.
pub(super) fn measure(context: &Context) -> Result<Vec<VariationResult>, EvaluateError> {
    let mut found = Vec::new();
    for variation in Variation::ALL {
        for direction in [Direction::Clockwise, Direction::CounterClockwise] {
            found.extend(measure_one(context, variation, direction)?);
        }
    }
    Ok(found)
}

/// Means are of the reference torque scaled to the target (times target over indicated value), so
/// that an indicating tool, which is never stopped at exactly the same value twice, is not charged
/// with the hand's own differences. For a setting tool the factor is one.
fn measure_one(
    context: &Context,
    variation: Variation,
    direction: Direction,
) -> Result<Option<VariationResult>, EvaluateError> {
    let mut groups: Vec<(String, Vec<f64>)> = Vec::new();
    let mut target = None;
    for reading in context.run.valid(series(variation), direction) {
        let indicated = reading.indicated.torque().newton_metres();
        if indicated <= 0.0 {
            return Err(EvaluateError::NoTorque { row: reading.row });
        }
        let scale = reading.target.torque().newton_metres() / indicated;
        let value = corrected(context, reading)?.newton_metres() * scale;
        target.get_or_insert(reading.target);
        match groups.iter_mut().find(|(position, _)| *position == reading.position) {
            Some((_, values)) => values.push(value),
            None => groups.push((reading.position.clone(), vec![value])),
        }
    }
    let Some(target) = target.filter(|_| groups.len() >= 2) else { return Ok(None) };
    let mut means = Vec::with_capacity(groups.len());
    for (position, values) in groups {
        means.push((position, Sample::new(values)?.mean()));
    }
    let of_means = Sample::new(means.iter().map(|(_, mean)| *mean).collect())?;
    let width = Torque::from_newton_metres(of_means.spread());
    Ok(Some(VariationResult {
        variation,
        direction,
        target,
        means: means.into_iter().map(|(p, m)| (p, Torque::from_newton_metres(m))).collect(),
        width,
        relative_width: width.percent_of(Torque::from_newton_metres(of_means.mean())),
    }))
}
