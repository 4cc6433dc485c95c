//! Checks of the reference as its file describes it: figures, dates, papers.

use chrono::Days;

use super::Rule;
use super::bench::Bench;
use super::words::{blank, counted, unsaid};
use crate::finding::{Check, Finding, Place, Severity};

static RANGE: Check = Check {
    name: "reference-range",
    severity: Severity::Error,
    about: "The range of the reference is not negative and rises.",
    source: "leverarm",
};
static FIGURES: Check = Check {
    name: "reference-figures",
    severity: Severity::Error,
    about: "Resolution, drift and interpolation of the reference are figures that can be.",
    source: "leverarm",
};
static DATES: Check = Check {
    name: "reference-dates",
    severity: Severity::Error,
    about: "The reference was calibrated before the readings, and falls due after its calibration.",
    source: "ISO/IEC 17025:2017, 6.4.6",
};
static OVERDUE: Check = Check {
    name: "reference-overdue",
    severity: Severity::Gap,
    about: "The reference was within its calibration interval on the day of the readings.",
    source: "ISO/IEC 17025:2017, 6.4.7 and 6.4.8",
};
static IDENTITY: Check = Check {
    name: "reference-identity",
    severity: Severity::Gap,
    about: "Serial number, calibration certificate and calibrating laboratory of the reference are on record.",
    source: "ISO/IEC 17025:2017, 6.4.13",
};
static TRACEABILITY: Check = Check {
    name: "reference-traceability",
    severity: Severity::Gap,
    about: "The reference file says in words how its values trace to the SI.",
    source: "ISO/IEC 17025:2017, 6.5 and 7.8.4.1 c",
};
static DUE_SOON: Check = Check {
    name: "reference-due-soon",
    severity: Severity::Warning,
    about: "The reference does not fall due within 30 days of the readings.",
    source: "common practice, no published source",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &RANGE, look: range },
    Rule { check: &FIGURES, look: figures_that_can_be },
    Rule { check: &DATES, look: dates },
    Rule { check: &OVERDUE, look: overdue },
    Rule { check: &IDENTITY, look: identity },
    Rule { check: &TRACEABILITY, look: traceability },
    Rule { check: &DUE_SOON, look: due_soon },
];

const SOON_DAYS: i64 = 30;

fn range(bench: &Bench) -> Vec<Finding> {
    let (lower, upper) = (bench.reference.range.lower, bench.reference.range.upper);
    if lower.torque().newton_metres() >= 0.0 && lower.torque() < upper.torque() {
        return vec![];
    }
    vec![
        Finding::new(
            &RANGE,
            Place::reference("range"),
            format!("the range of the reference starts at {lower} and ends at {upper}"),
        )
        .given(format!("{lower} .. {upper}"))
        .wanted("a range that rises from zero or above")
        .remedy("write magnitudes from the lower to the upper limit; the direction has a key of its own"),
    ]
}

fn figures_that_can_be(bench: &Bench) -> Vec<Finding> {
    let reference = bench.reference;
    let mut found = Vec::new();
    if reference.resolution.torque().newton_metres() <= 0.0 {
        found.push(
            Finding::new(
                &FIGURES,
                Place::reference("resolution"),
                format!(
                    "the resolution of the reference is {}, and must be above zero",
                    reference.resolution
                ),
            )
            .given(reference.resolution.to_string())
            .wanted("one step of its display, above zero")
            .remedy("write one step of the reference's display with its unit"),
        );
    }
    let shares = [
        ("drift_per_year", "drift a year", reference.drift_per_year),
        ("interpolation", "share for interpolation", reference.interpolation),
    ];
    for (key, what, value) in shares {
        let Some(value) = value.filter(|v| !(0.0..100.0).contains(&v.value())) else { continue };
        found.push(
            Finding::new(
                &FIGURES,
                Place::reference(key),
                format!("the {what} of the reference is {value}; it is a half width from 0 % to under 100 %"),
            )
            .given(value.to_string())
            .wanted("a half width in percent of the reading, without a sign")
            .remedy("write the half width as a magnitude, or take the key out where nothing is known"),
        );
    }
    if let Some(effect) = reference.temperature
        && !(effect.per_kelvin.value().is_finite() && effect.calibrated_at.0.is_finite())
    {
        found.push(
            Finding::new(
                &FIGURES,
                Place::reference("temperature"),
                "the temperature effect of the reference is not a number",
            )
            .wanted("percent per kelvin, and the temperature of its calibration")
            .remedy("copy both from the reference's papers, or take them out where nothing is known"),
        );
    }
    found
}

fn dates(bench: &Bench) -> Vec<Finding> {
    let (reference, performed) = (bench.reference, bench.run.performed);
    let mut found = Vec::new();
    if reference.calibrated_on > performed {
        found.push(
            Finding::new(
                &DATES,
                Place::reference("calibrated_on"),
                format!(
                    "the reference was calibrated on {}, after the readings of {performed}",
                    reference.calibrated_on
                ),
            )
            .given(reference.calibrated_on.to_string())
            .wanted(format!("on or before {performed}"))
            .remedy(
                "use the reference file that was valid on the day of the readings, or mend one of the dates",
            ),
        );
    }
    if reference.due < reference.calibrated_on {
        found.push(
            Finding::new(
                &DATES,
                Place::reference("due"),
                format!(
                    "the reference falls due on {}, before its calibration on {}",
                    reference.due, reference.calibrated_on
                ),
            )
            .given(reference.due.to_string())
            .wanted(format!("after {}", reference.calibrated_on))
            .remedy("mend one of the dates from the reference's certificate"),
        );
    }
    found
}

fn overdue(bench: &Bench) -> Vec<Finding> {
    let (reference, performed) = (bench.reference, bench.run.performed);
    let days = performed.signed_duration_since(reference.due).num_days();
    if days <= 0 || reference.due < reference.calibrated_on {
        return vec![];
    }
    let late = usize::try_from(days).unwrap_or(usize::MAX);
    vec![
        Finding::new(
            &OVERDUE,
            Place::reference("due"),
            format!(
                "reference {} was due on {} and the readings were taken on {performed}, {} later",
                reference.id,
                reference.due,
                counted(late, "day")
            ),
        )
        .given(reference.due.to_string())
        .wanted(format!("{performed} or later"))
        .remedy("have the reference recalibrated and take the readings again, or use one that is within its interval"),
    ]
}

fn identity(bench: &Bench) -> Vec<Finding> {
    let reference = bench.reference;
    [
        ("serial", "serial number", &reference.serial),
        ("certificate", "number of the calibration certificate", &reference.certificate),
        ("calibrated_by", "name of the laboratory that calibrated it", &reference.calibrated_by),
    ]
    .into_iter()
    .filter(|(_, _, text)| blank(text))
    .map(|(key, what, text)| {
        Finding::new(
            &IDENTITY,
            Place::reference(key),
            format!("the {what} is missing for reference {}", reference.id),
        )
        .given(if text.trim().is_empty() { "nothing" } else { text.trim() })
        .wanted(format!("the {what}"))
        .remedy("copy it from the reference's calibration certificate")
    })
    .collect()
}

fn traceability(bench: &Bench) -> Vec<Finding> {
    if !unsaid(bench.reference.traceability.as_ref()) {
        return vec![];
    }
    vec![
        Finding::new(
            &TRACEABILITY,
            Place::reference("traceability"),
            format!("the file of reference {} does not say how its values trace to the SI", bench.reference.id),
        )
        .given("nothing")
        .wanted("a sentence that names the chain to a national standard")
        .remedy("add traceability = \"…\": who calibrated it, under which accreditation, to which national standard"),
    ]
}

fn due_soon(bench: &Bench) -> Vec<Finding> {
    let (due, performed) = (bench.reference.due, bench.run.performed);
    let left = due.signed_duration_since(performed).num_days();
    if !(0..=SOON_DAYS).contains(&left) {
        return vec![];
    }
    let days = usize::try_from(left).unwrap_or_default();
    let wanted = performed.checked_add_days(Days::new(SOON_DAYS.unsigned_abs()));
    vec![
        Finding::new(
            &DUE_SOON,
            Place::reference("due"),
            format!(
                "reference {} falls due on {due}, {} after the readings",
                bench.reference.id,
                counted(days, "day")
            ),
        )
        .given(due.to_string())
        .wanted(wanted.map_or_else(|| "a later day".to_owned(), |day| format!("after {day}")))
        .remedy("plan its recalibration; what it drifted by then reaches back to these readings"),
    ]
}
