//! Checks of whether the reference reaches: direction, range, uncertainty, what the budget asks.

use super::Rule;
use super::bench::Bench;
use super::readings::is_credible;
use super::words::{clause, figures, list, percent, rows, torque};
use crate::finding::{Check, Finding, Place, Severity};
use crate::quantity::{Percent, Torque};
use crate::reading::{Direction, Reading, Series};

static DIRECTION: Check = Check {
    name: "reference-direction",
    severity: Severity::Error,
    about: "The reference was calibrated in every direction in which there are readings.",
    source: "ISO/IEC 17025:2017, 6.4.6",
};
static OUTSIDE: Check = Check {
    name: "reading-outside-reference",
    severity: Severity::Error,
    about: "Every reading lies within the calibration and the range of the reference, since nothing is extrapolated.",
    source: "ISO/IEC 17025:2017, 6.4.5",
};
static SHARE: Check = Check {
    name: "reference-share",
    severity: Severity::Gap,
    about: "The relative expanded uncertainty of the reference is at most its share of the permissible deviation at every test point.",
    source: "ISO 6789-2:2017, 4.3 (confirmed)",
};
static DRIFT_UNKNOWN: Check = Check {
    name: "reference-drift-unknown",
    severity: Severity::Gap,
    about: "The reference file states a drift per year for the budget, be it zero.",
    source: "ISO/IEC 17025:2017, 7.6.1; JCGM 100:2008, 4.3",
};
static LINEARITY_UNKNOWN: Check = Check {
    name: "reference-interpolation-unknown",
    severity: Severity::Gap,
    about: "Three calibration points or a stated figure say what a straight line between the points may miss.",
    source: "ISO/IEC 17025:2017, 7.6.1; JCGM 100:2008, 4.3",
};
static TEMPERATURE: Check = Check {
    name: "reference-temperature",
    severity: Severity::Warning,
    about: "A reference whose temperature coefficient is given as zero is used within 5 K of the temperature of its calibration.",
    source: "common practice, no published source",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &DIRECTION, look: direction },
    Rule { check: &OUTSIDE, look: outside },
    Rule { check: &SHARE, look: share },
    Rule { check: &DRIFT_UNKNOWN, look: drift_unknown },
    Rule { check: &LINEARITY_UNKNOWN, look: linearity_unknown },
    Rule { check: &TEMPERATURE, look: temperature },
];

const BOTH: [Direction; 2] = [Direction::Clockwise, Direction::CounterClockwise];

/// Furthest from the temperature of its calibration without a coefficient.
const FAR_KELVIN: f64 = 5.0;

fn direction(bench: &Bench) -> Vec<Finding> {
    let known: Vec<String> = bench.reference.curves.iter().map(|c| c.direction.to_string()).collect();
    BOTH.into_iter()
        .filter(|direction| bench.reference.curve(*direction).is_err())
        .filter(|direction| bench.measured().any(|g| g.direction == *direction && !g.valid.is_empty()))
        .map(|direction| {
            let given = if known.is_empty() { "no direction".to_owned() } else { list(&known) };
            Finding::new(
                &DIRECTION,
                Place::reference("curve"),
                format!("there are readings {direction}, and reference {} was calibrated {given}", bench.reference.id),
            )
            .given(given)
            .wanted(direction.word())
            .remedy("use a reference that was calibrated in this direction, or mend the direction of the readings")
        })
        .collect()
}

/// From where to where the reference may be read in a direction: the narrower of curve and range.
fn span(bench: &Bench, direction: Direction) -> Option<(Torque, Torque)> {
    let (low, high) = bench.reference.curve(direction).ok()?.span();
    let range = bench.reference.range;
    let (lower, upper) = (range.lower.torque(), range.upper.torque());
    // A range that does not rise is reported as such, not also by every reading outside it.
    (lower < upper)
        .then_some((if lower > low { lower } else { low }, if upper < high { upper } else { high }))
}

fn outside(bench: &Bench) -> Vec<Finding> {
    let mut found = Vec::new();
    for direction in BOTH {
        let Some((low, high)) = span(bench, direction) else { continue };
        let readings: Vec<&Reading> = bench
            .measured()
            .filter(|g| g.direction == direction)
            .flat_map(|g| g.valid.iter().copied())
            .filter(|r| is_credible(r))
            .collect();
        let below = readings
            .iter()
            .copied()
            .filter(|r| r.reference.torque() < low && !r.reference.torque().same_as(low));
        let above = readings
            .iter()
            .copied()
            .filter(|r| r.reference.torque() > high && !r.reference.torque().same_as(high));
        for (side, out) in [("below", below.collect::<Vec<_>>()), ("above", above.collect())] {
            let Some(first) = out.first() else { continue };
            let unit = first.reference.unit();
            let wanted = format!("{} to {}", torque(low, unit), torque(high, unit));
            found.push(
                Finding::new(
                    &OUTSIDE,
                    Place::row(first.row, "reference"),
                    format!(
                        "{}: {} {direction} lies {side} the {wanted} in which reference {} is calibrated and may be used",
                        rows(&out),
                        first.reference,
                        bench.reference.id
                    ),
                )
                .given(first.reference.to_string())
                .wanted(wanted)
                .remedy("use a reference whose calibration covers the readings; nothing is extrapolated"),
            );
        }
    }
    found
}

fn share(bench: &Bench) -> Vec<Finding> {
    let Some(limit) = bench.limit else { return vec![] };
    let share = &bench.rulebook.reference_share;
    let wanted = Percent::new(limit.value() * share.value / 100.0);
    let mut found = Vec::new();
    for direction in BOTH {
        let over: Vec<(String, Percent)> = bench
            .of(Series::Points)
            .filter(|g| g.direction == direction)
            .filter_map(|g| {
                let w = bench.reference.relative_expanded(direction, g.target.torque()).ok()?;
                (w > wanted && !close(w, wanted)).then(|| (g.target.to_string(), w))
            })
            .collect();
        let Some((worst, w)) = over.iter().max_by(|a, b| a.1.value().total_cmp(&b.1.value())) else {
            continue;
        };
        let points: Vec<String> =
            over.iter().map(|(target, w)| format!("{} at {target}", percent(*w))).collect();
        found.push(
            Finding::new(
                &SHARE,
                Place::reference("curve"),
                format!(
                    "the reference has an expanded uncertainty of {} {direction}; {} % of the permissible ±{limit} are {}",
                    list(&points),
                    share.value,
                    percent(wanted)
                ),
            )
            .given(format!("{} at {worst}", percent(*w)))
            .wanted(format!("at most {}", percent(wanted)))
            .remedy("use a reference with a smaller uncertainty at these points")
            .clause(clause(&share.from)),
        );
    }
    found
}

/// Equal but for what binary arithmetic does to the last digits.
fn close(a: Percent, b: Percent) -> bool {
    (a.value() - b.value()).abs() <= 1e-9 * b.value().abs()
}

fn drift_unknown(bench: &Bench) -> Vec<Finding> {
    if bench.rulebook.budget.is_none() || bench.reference.drift_per_year.is_some() {
        return vec![];
    }
    vec![
        Finding::new(
            &DRIFT_UNKNOWN,
            Place::reference("drift_per_year"),
            format!(
                "the file of reference {} states no drift, and {} years have passed since its calibration",
                bench.reference.id,
                figures(bench.reference.years_since_calibration(bench.run.performed))
            ),
        )
        .given("nothing")
        .wanted("a half width per year, in percent of the reading")
        .remedy("take it from two calibrations of the reference, or from its maker; write 0 only where that is known"),
    ]
}

fn linearity_unknown(bench: &Bench) -> Vec<Finding> {
    if bench.rulebook.budget.is_none() || bench.reference.interpolation.is_some() {
        return vec![];
    }
    bench
        .reference
        .curves
        .iter()
        .filter(|curve| curve.points().len() < 3)
        .filter(|curve| bench.of(Series::Points).any(|g| g.direction == curve.direction))
        .map(|curve| {
            Finding::new(
                &LINEARITY_UNKNOWN,
                Place::reference("interpolation"),
                format!(
                    "reference {} has {} calibration points {}, from which nobody can tell how straight it is between them",
                    bench.reference.id,
                    curve.points().len(),
                    curve.direction
                ),
            )
            .given(format!("{} points", curve.points().len()))
            .wanted("three points or more, or a stated half width")
            .remedy("add the other points of its certificate, or interpolation = \"…\" with the half width from it")
        })
        .collect()
}

fn temperature(bench: &Bench) -> Vec<Finding> {
    let Some(effect) = bench.reference.temperature else { return vec![] };
    let Some(difference) = bench.run.farthest_from(effect.calibrated_at) else { return vec![] };
    if effect.per_kelvin.value().abs() > 0.0 || difference.is_nan() || difference <= FAR_KELVIN {
        return vec![];
    }
    vec![
        Finding::new(
            &TEMPERATURE,
            Place::reference("temperature"),
            format!(
                "the reference was calibrated at {} and used up to {} K away from it, with a temperature coefficient of zero",
                effect.calibrated_at,
                figures(difference)
            ),
        )
        .given(format!("{} per kelvin", effect.per_kelvin))
        .wanted("the coefficient of the transducer")
        .remedy("look up the coefficient in the transducer's data sheet, or work closer to the temperature of its calibration"),
    ]
}
