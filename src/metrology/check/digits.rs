//! Warnings on digits: values that tool or reference cannot have shown, digits that were dropped,
//! blocks that were copied.

use rust_decimal::Decimal;

use super::Rule;
use super::bench::Bench;
use super::words::{counted, rows};
use crate::finding::{Check, Finding, Place, Severity};
use crate::reading::{Reading, Recorded, Series};
use crate::statistics::Sample;

static OF_TOOL: Check = Check {
    name: "digits-of-tool",
    severity: Severity::Warning,
    about: "Every indicated value is a multiple of the tool's resolution.",
    source: "common practice, no published source",
};
static OF_REFERENCE: Check = Check {
    name: "digits-of-reference",
    severity: Severity::Warning,
    about: "Every value of the reference is a multiple of one step of its display.",
    source: "common practice, no published source",
};
static DROPPED: Check = Check {
    name: "digits-dropped",
    severity: Severity::Warning,
    about: "The values of the reference are not all multiples of ten steps of its display.",
    source: "common practice, no published source",
};
static COPY_OF_TOOL: Check = Check {
    name: "reference-equals-tool",
    severity: Severity::Warning,
    about: "The reference does not agree with the tool to the last digit in every reading.",
    source: "common practice, no published source",
};
static REPEATED: Check = Check {
    name: "block-repeated",
    severity: Severity::Warning,
    about: "No two sequences of five readings or more are the same, digit for digit.",
    source: "common practice, no published source",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &OF_TOOL, look: of_tool },
    Rule { check: &OF_REFERENCE, look: of_reference },
    Rule { check: &DROPPED, look: dropped },
    Rule { check: &COPY_OF_TOOL, look: copy_of_tool },
    Rule { check: &REPEATED, look: repeated },
];

/// Fewest readings from which a habit is read.
const HABIT: usize = 5;
/// A repetition is reported where chance would make it in fewer than one of a million pairs.
const CHANCE: f64 = 1e-6;

/// Whether a value is a whole number of steps; `None` where the two are in different units, or the
/// step is no step.
fn fits(value: Recorded, step: Recorded) -> Option<bool> {
    if value.unit() != step.unit() || step.digits() <= Decimal::ZERO {
        return None;
    }
    value.digits().checked_rem(step.digits()).map(|rest| rest.is_zero())
}

fn valid<'a>(bench: &Bench<'a>) -> Vec<&'a Reading> {
    let compared = |r: &&Reading| r.is_valid() && !matches!(r.series, Series::Preload | Series::Zero);
    bench.run.readings.iter().filter(compared).collect()
}

fn misfits(
    bench: &Bench,
    check: &'static Check,
    column: &'static str,
    step: Recorded,
    value: fn(&Reading) -> Recorded,
) -> Vec<Finding> {
    let wrong: Vec<&Reading> =
        valid(bench).into_iter().filter(|r| fits(value(r), step) == Some(false)).collect();
    let Some(first) = wrong.first() else { return vec![] };
    let whose = if column == "indicated" { "tool" } else { "reference" };
    vec![
        Finding::new(
            check,
            Place::row(first.row, column),
            format!(
                "{}: {} is no multiple of the {step} by which the {whose} steps",
                rows(&wrong),
                value(first)
            ),
        )
        .given(value(first).to_string())
        .wanted(format!("a multiple of {step}"))
        .remedy(format!(
            "compare the digits with the original record, and the resolution on file with the {whose}"
        )),
    ]
}

fn of_tool(bench: &Bench) -> Vec<Finding> {
    let Some(step) = bench.run.tool.resolution else { return vec![] };
    misfits(bench, &OF_TOOL, "indicated", step, |r| r.indicated)
}

fn of_reference(bench: &Bench) -> Vec<Finding> {
    misfits(bench, &OF_REFERENCE, "reference", bench.reference.resolution, |r| r.reference)
}

fn dropped(bench: &Bench) -> Vec<Finding> {
    let step = bench.reference.resolution;
    let Some(ten) = step.digits().checked_mul(Decimal::TEN) else { return vec![] };
    let Ok(ten_steps) = Recorded::new(&ten.to_string(), step.unit()) else { return vec![] };
    let readings = valid(bench);
    let Some(first) = readings.first().filter(|_| readings.len() >= HABIT) else { return vec![] };
    if !readings.iter().all(|r| fits(r.reference, ten_steps) == Some(true)) {
        return vec![];
    }
    vec![
        Finding::new(
            &DROPPED,
            Place::row(first.row, "reference"),
            format!(
                "all {} of the reference are multiples of {ten_steps}, though it steps by {step}",
                counted(readings.len(), "value")
            ),
        )
        .given(format!("multiples of {ten_steps}"))
        .wanted(format!("multiples of {step}"))
        .remedy("write every digit that the reference shows, or mend the resolution on file"),
    ]
}

fn copy_of_tool(bench: &Bench) -> Vec<Finding> {
    let readings: Vec<&Reading> = valid(bench).into_iter().filter(|r| r.series == Series::Points).collect();
    let Some(first) = readings.first().filter(|_| readings.len() >= HABIT) else { return vec![] };
    if !readings.iter().all(|r| r.reference.torque() == r.indicated.torque()) {
        return vec![];
    }
    vec![
        Finding::new(
            &COPY_OF_TOOL,
            Place::row(first.row, "reference"),
            format!(
                "in all {} at test points the reference shows what the tool shows, to the last digit",
                counted(readings.len(), "reading")
            ),
        )
        .given(format!("{} and {} in reading {}", first.indicated, first.reference, first.row))
        .wanted("two independent values")
        .remedy("look whether one column was copied into the other"),
    ]
}

/// Consecutive valid readings of one series, position, direction and target.
fn sequences<'a>(bench: &Bench<'a>) -> Vec<Vec<&'a Reading>> {
    let mut found: Vec<Vec<&Reading>> = Vec::new();
    for reading in valid(bench) {
        let goes_on = |last: &&&Reading| {
            last.series == reading.series
                && last.position == reading.position
                && last.direction == reading.direction
                && last.target.torque() == reading.target.torque()
        };
        match found.last_mut() {
            Some(sequence) if sequence.last().filter(goes_on).is_some() => sequence.push(reading),
            _ => found.push(vec![reading]),
        }
    }
    found
}

/// What a copied block has in common with its source: the digits of the reference, in their order.
fn fingerprint(sequence: &[&Reading]) -> Vec<Decimal> {
    sequence.iter().map(|r| r.reference.digits().normalize()).collect()
}

/// Whether a sequence scatters over so many steps that chance does not repeat it. Two readings of a
/// normal scatter of s steps fall on the same step with a probability of about 1/(2√π s).
fn is_telling(bench: &Bench, sequence: &[&Reading]) -> bool {
    let step = bench.reference.resolution.torque().newton_metres();
    let values = sequence.iter().map(|r| r.reference.torque().newton_metres()).collect();
    let Some(s) = Sample::new(values).ok().and_then(|sample| sample.standard_deviation()) else {
        return false;
    };
    let Ok(n) = i32::try_from(sequence.len()) else { return true };
    let same_step = step / (2.0 * std::f64::consts::PI.sqrt() * s);
    sequence.len() >= HABIT && step > 0.0 && s > 0.0 && same_step.powi(n) < CHANCE
}

fn repeated(bench: &Bench) -> Vec<Finding> {
    let mut prints: Vec<(Vec<Decimal>, Vec<&Reading>)> = sequences(bench)
        .into_iter()
        .filter(|sequence| is_telling(bench, sequence))
        .map(|sequence| (fingerprint(&sequence), sequence))
        .collect();
    // Sorted (and stably so), equal sequences are neighbours, the earlier one first.
    prints.sort_by(|a, b| a.0.cmp(&b.0));
    let mut found: Vec<Finding> = Vec::new();
    for pair in prints.windows(2) {
        let [(a, source), (b, copy)] = pair else { continue };
        let (Some(first), true) = (copy.first(), a == b) else { continue };
        found.push(
            Finding::new(
                &REPEATED,
                Place::row(first.row, "reference"),
                format!("{} hold the same {} digit for digit as {}", rows(copy), counted(copy.len(), "value"), rows(source)),
            )
            .given(format!("the values of {}", rows(source)))
            .wanted("readings of their own")
            .remedy("look whether a block was copied in the spreadsheet; if so, restore the original values or measure again"),
        );
    }
    found
}
