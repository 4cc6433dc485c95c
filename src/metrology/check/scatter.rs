//! Warnings on the readings of a test point: outliers, values that do not scatter, drift, a reading
//! outside the limits behind a mean that passes. None of them changes a number.

use super::Rule;
use super::bench::{Bench, Group};
use super::readings::is_credible;
use super::words::{counted, figures, rows};
use crate::coverage::{Freedom, coverage_factor};
use crate::decision::DecisionRule;
use crate::finding::{Check, Finding, Place, Severity};
use crate::reading::{Reading, Series};
use crate::statistics::{Sample, grubbs};

static OUTLIER: Check = Check {
    name: "outlier",
    severity: Severity::Warning,
    about: "No reading of a test point is an outlier by Grubbs' two-sided test at 5 %.",
    source: "ISO 5725-2:1994, 7.3.4; Grubbs, Technometrics 11 (1969)",
};
static IDENTICAL: Check = Check {
    name: "readings-identical",
    severity: Severity::Warning,
    about: "The readings of a test point scatter, where the reference is fine enough to show it.",
    source: "common practice, no published source",
};
static DRIFT: Check = Check {
    name: "drift-in-series",
    severity: Severity::Warning,
    about: "The readings of a test point neither rise nor fall throughout, nor follow a slope that is significant at 1 %.",
    source: "common practice, no published source",
};
static OUTSIDE: Check = Check {
    name: "reading-outside-mean-inside",
    severity: Severity::Warning,
    about: "No single reading is outside the limits where the mean is inside.",
    source: "ISO 6789-1:2017, 6.5 (confirmed)",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &OUTLIER, look: outlier },
    Rule { check: &IDENTICAL, look: identical },
    Rule { check: &DRIFT, look: drift },
    Rule { check: &OUTSIDE, look: outside },
];

/// Levels of Grubbs' test, two-sided, %: beyond the first a value is a straggler, beyond the second an
/// outlier (ISO 5725-2:1994, 7.3.2).
const STRAGGLER_PERCENT: f64 = 5.0;
const OUTLIER_PERCENT: f64 = 1.0;
/// Coverage of the test of the slope, two-sided, %.
const SLOPE_PERCENT: f64 = 99.0;
/// Fewest readings in which a drift is looked for.
const DRIFT_READINGS: usize = 5;
/// Fewest readings that are called identical.
const IDENTICAL_READINGS: usize = 3;
/// A reference is fine enough to show the scatter of a hand tool when its step is this share of the
/// permissible deviation or less.
const FINE: f64 = 1.0 / 40.0;

/// A test point's readings with their deviations in percent; those that cannot be taken at their
/// word, or have no deviation, are left out.
fn deviations<'a>(bench: &Bench<'a>, group: &Group<'a>) -> Vec<(&'a Reading, f64)> {
    group.valid.iter().filter(|r| is_credible(r)).filter_map(|r| Some((*r, bench.deviation(r)?))).collect()
}

/// One step of what is read, in percent of the target.
fn step_percent(bench: &Bench, group: &Group) -> f64 {
    bench.step().percent_of(group.target.torque()).value()
}

fn sample(deviations: &[(&Reading, f64)]) -> Option<Sample> {
    Sample::new(deviations.iter().map(|(_, d)| *d).collect()).ok()
}

fn outlier(bench: &Bench) -> Vec<Finding> {
    let finding = |group: &Group| {
        let deviations = deviations(bench, group);
        let sample = sample(&deviations)?;
        let test = grubbs(&sample, STRAGGLER_PERCENT).ok()??;
        let (reading, deviation) = deviations.get(test.index)?;
        let (mean, s) = (sample.mean(), sample.standard_deviation()?);
        // On a coarse scale one step beside equal readings is no outlier, whatever the test says.
        if !test.is_outlier() || (deviation - mean).abs() <= step_percent(bench, group) {
            return None;
        }
        let beyond = grubbs(&sample, OUTLIER_PERCENT).ok()??.is_outlier();
        let word = if beyond { "an outlier, beyond 1 %" } else { "a straggler, beyond 5 % and not 1 %" };
        let (statistic, critical) = (figures(test.statistic), figures(test.critical));
        Some(
            Finding::new(
                &OUTLIER,
                Place::row(reading.row, "reference"),
                format!(
                    "{}: reading {} deviates by {} % where the mean is {} %, s = {} %, {}: {word}",
                    group.name(),
                    reading.row,
                    figures(*deviation),
                    figures(mean),
                    figures(s),
                    counted(sample.n(), "reading")
                ),
            )
            .given(format!("G = {statistic}"))
            .wanted(format!("at most {critical}, the critical value at 5 %"))
            .remedy("look for its cause at the bench; without a cause it stays and counts"),
        )
    };
    bench.of(Series::Points).filter_map(finding).collect()
}

fn all_same(group: &Group) -> bool {
    let Some(first) = group.valid.first() else { return false };
    group.valid.iter().all(|r| {
        r.reference.torque() == first.reference.torque() && r.indicated.torque() == first.indicated.torque()
    })
}

/// The reference shows what the tool shows: `reference-equals-tool` speaks of that.
fn is_copy(group: &Group) -> bool {
    group.valid.iter().all(|r| r.reference.torque() == r.indicated.torque())
}

fn identical(bench: &Bench) -> Vec<Finding> {
    let Some(limit) = bench.limit else { return vec![] };
    let is_fine = |group: &Group| {
        let step = bench.reference.resolution.torque().percent_of(group.target.torque()).value();
        step > 0.0 && step <= limit.value() * FINE
    };
    bench
        .of(Series::Points)
        .filter(|group| {
            group.valid.len() >= IDENTICAL_READINGS && all_same(group) && is_fine(group) && !is_copy(group)
        })
        .filter_map(|group| {
            let first = group.valid.first()?;
            Some(
                Finding::new(
                    &IDENTICAL,
                    Place::row(first.row, "reference"),
                    format!(
                        "{}, {}: all show {}, though the reference steps by {}",
                        group.name(),
                        rows(&group.valid),
                        first.reference,
                        bench.reference.resolution
                    ),
                )
                .given(format!("{} times {}", group.valid.len(), first.reference))
                .wanted("some scatter, as every hand has")
                .remedy("look whether one reading was copied down, or the display held its value; say so in the note"),
            )
        })
        .collect()
}

/// Student's t of the slope of values against their order; `None` where there is no scatter or no
/// degree of freedom.
fn slope_t(values: &[f64]) -> Option<(f64, f64)> {
    let n = values.len() as f64;
    let middle = (n - 1.0) / 2.0;
    let mean = Sample::new(values.to_vec()).ok()?.mean();
    let (mut sxx, mut sxy, mut syy) = (0.0, 0.0, 0.0);
    for (i, y) in values.iter().enumerate() {
        let (dx, dy) = (i as f64 - middle, y - mean);
        sxx += dx * dx;
        sxy += dx * dy;
        syy += dy * dy;
    }
    let slope = sxy / sxx;
    let residue = syy - slope * sxy;
    if !(slope.is_finite() && n > 2.0 && syy > 0.0) {
        return None;
    }
    // All values on one line: the scatter is nothing and the slope beyond doubt.
    let t = if residue > syy * 1e-12 { slope / (residue / (n - 2.0) / sxx).sqrt() } else { f64::INFINITY };
    Some((slope, t.abs()))
}

fn is_monotone(values: &[f64]) -> bool {
    values.windows(2).all(|w| w[1] > w[0]) || values.windows(2).all(|w| w[1] < w[0])
}

fn drift(bench: &Bench) -> Vec<Finding> {
    let finding = |group: &Group| {
        let deviations = deviations(bench, group);
        if deviations.len() < DRIFT_READINGS {
            return None;
        }
        let values: Vec<f64> = deviations.iter().map(|(_, d)| *d).collect();
        let (slope, t) = slope_t(&values)?;
        let critical = coverage_factor(SLOPE_PERCENT, Freedom::Finite(values.len() as f64 - 2.0)).ok()?;
        let monotone = is_monotone(&values);
        let whole = slope * (values.len() as f64 - 1.0);
        if !(monotone || t > critical) || whole.abs() <= step_percent(bench, group) {
            return None;
        }
        let (first, last) = (deviations.first()?, deviations.last()?);
        let how = if monotone {
            "every reading goes on the same way"
        } else {
            "the slope stands out of the scatter"
        };
        Some(
            Finding::new(
                &DRIFT,
                Place::row(first.0.row, "reference"),
                format!(
                    "{}: the deviation runs from {} % in reading {} to {} % in reading {}, and {how}",
                    group.name(),
                    figures(first.1),
                    first.0.row,
                    figures(last.1),
                    last.0.row
                ),
            )
            .given(format!("slope {} % per reading, |t| = {}", figures(slope), figures(t)))
            .wanted(format!("|t| up to {} and no run in one direction", figures(critical)))
            .remedy("look for a tool that was not settled, a warming amplifier or a slipping grip; preload and measure again if in doubt"),
        )
    };
    bench.of(Series::Points).filter_map(finding).collect()
}

fn outside(bench: &Bench) -> Vec<Finding> {
    // Under each-reading the reading itself fails the tool, and that is the verdict, not a remark.
    let Some(limit) = bench.limit else { return vec![] };
    if bench.run.agreement.is_some_and(|a| a.rule == DecisionRule::EachReading) {
        return vec![];
    }
    let finding = |group: &Group| {
        let deviations = deviations(bench, group);
        let mean = sample(&deviations)?.mean();
        let out: Vec<(&Reading, f64)> =
            deviations.into_iter().filter(|(_, d)| d.abs() > limit.value()).collect();
        let first = out.first().filter(|_| mean.abs() <= limit.value())?.0;
        let (farthest, deviation) = out.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
        let readings: Vec<&Reading> = out.iter().map(|(r, _)| *r).collect();
        Some(
            Finding::new(
                &OUTSIDE,
                Place::row(first.row, "reference"),
                format!(
                    "{}: {} outside ±{limit}, the farthest with {} % in reading {}, while the mean of {} % is inside; the rule each-reading would fail the tool",
                    group.name(),
                    rows(&readings),
                    figures(*deviation),
                    farthest.row,
                    figures(mean)
                ),
            )
            .given(format!("{} %", figures(*deviation)))
            .wanted(format!("within ±{limit}"))
            .remedy("the agreed rule judges the mean; tell the customer that ISO 6789-1 judges each reading"),
        )
    };
    bench.of(Series::Points).filter_map(finding).collect()
}
