//! Checks of dates and times: whether the record runs forward.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, Timelike};

use super::Rule;
use super::bench::Bench;
use super::words::{counted, figures, rows};
use crate::finding::{Check, Finding, Place, Severity};
use crate::reading::Reading;

static BACKWARD: Check = Check {
    name: "times-backward",
    severity: Severity::Error,
    about: "The times of the readings run forward in the order of recording.",
    source: "ISO/IEC 17025:2017, 7.5.1",
};
static RECEIVED: Check = Check {
    name: "received-after-performed",
    severity: Severity::Error,
    about: "The tool came in before it was measured.",
    source: "ISO/IEC 17025:2017, 7.8.2.1 h and i",
};
static OFF_DAY: Check = Check {
    name: "times-off-day",
    severity: Severity::Gap,
    about: "The readings bear the day on which the work is said to have been done, or one beside it, and none before the tool came in.",
    source: "ISO/IEC 17025:2017, 7.8.2.1 i",
};
static TOO_CLOSE: Check = Check {
    name: "times-too-close",
    severity: Severity::Warning,
    about: "No two readings follow each other in less than a second.",
    source: "common practice, no published source",
};
static PARTIAL: Check = Check {
    name: "times-partial",
    severity: Severity::Warning,
    about: "Either every reading has a time or none has.",
    source: "ISO/IEC 17025:2017, 7.5.1",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &BACKWARD, look: backward },
    Rule { check: &RECEIVED, look: received },
    Rule { check: &OFF_DAY, look: off_day },
    Rule { check: &TOO_CLOSE, look: too_close },
    Rule { check: &PARTIAL, look: partial },
];

type Timed<'a> = (&'a Reading, DateTime<FixedOffset>);

fn timed<'a>(bench: &Bench<'a>) -> Vec<Timed<'a>> {
    bench.run.readings.iter().filter_map(|r| Some((r, r.time?))).collect()
}

fn pairs<'a>(timed: &[Timed<'a>]) -> Vec<(Timed<'a>, Timed<'a>)> {
    timed.iter().copied().zip(timed.iter().copied().skip(1)).collect()
}

/// The clock on the wall. Never panics, unlike `DateTime::naive_local` at the ends of the calendar.
fn local(time: DateTime<FixedOffset>) -> Option<NaiveDateTime> {
    time.naive_utc().checked_add_offset(*time.offset())
}

fn clock(time: DateTime<FixedOffset>) -> String {
    local(time).map_or_else(
        || "a time outside the calendar".to_owned(),
        |t| t.format("%Y-%m-%d %H:%M:%S").to_string(),
    )
}

fn backward(bench: &Bench) -> Vec<Finding> {
    let back: Vec<_> = pairs(&timed(bench)).into_iter().filter(|(a, b)| b.1 < a.1).collect();
    let Some(((before, earlier), (after, later))) = back.first() else { return vec![] };
    let more = if back.len() == 1 { String::new() } else { format!(", and so in {} places", back.len()) };
    vec![
        Finding::new(
            &BACKWARD,
            Place::row(after.row, "time"),
            format!(
                "reading {} is of {}, and reading {} before it of {}{more}",
                after.row,
                clock(*later),
                before.row,
                clock(*earlier)
            ),
        )
        .given(clock(*later))
        .wanted(format!("{} or later", clock(*earlier)))
        .remedy("put the rows in the order of the work, or mend the times from the original record"),
    ]
}

fn received(bench: &Bench) -> Vec<Finding> {
    let performed = bench.run.performed;
    let Some(received) = bench.run.received.filter(|received| *received > performed) else { return vec![] };
    vec![
        Finding::new(
            &RECEIVED,
            Place::run("run.received"),
            format!("the tool came in on {received}, after the readings of {performed}"),
        )
        .given(received.to_string())
        .wanted(format!("{performed} or earlier"))
        .remedy("mend one of the two dates"),
    ]
}

fn is_off(bench: &Bench, day: NaiveDate) -> bool {
    let apart = day.signed_duration_since(bench.run.performed).num_days().abs();
    apart > 1 || bench.run.received.is_some_and(|received| received <= bench.run.performed && day < received)
}

fn off_day(bench: &Bench) -> Vec<Finding> {
    let off: Vec<(&Reading, NaiveDate)> = timed(bench)
        .into_iter()
        .filter_map(|(r, time)| Some((r, local(time)?.date())))
        .filter(|(_, day)| is_off(bench, *day))
        .collect();
    let Some((first, day)) = off.first() else { return vec![] };
    let readings: Vec<&Reading> = off.iter().map(|(r, _)| *r).collect();
    let performed = bench.run.performed;
    let came_in = bench.run.received.map_or_else(String::new, |day| format!("; the tool came in on {day}"));
    vec![
        Finding::new(
            &OFF_DAY,
            Place::row(first.row, "time"),
            format!(
                "{}: taken on {day}, and the work is said to have been done on {performed}{came_in}",
                rows(&readings)
            ),
        )
        .given(day.to_string())
        .wanted(format!("{performed} or a day beside it, not before the tool came in"))
        .remedy("mend run.performed or the times; work on days further apart is two runs"),
    ]
}

fn too_close(bench: &Bench) -> Vec<Finding> {
    let timed = timed(bench);
    // Times without seconds cannot tell two readings of one minute apart.
    if timed.iter().all(|(_, time)| time.second() == 0 && time.nanosecond() == 0) {
        return vec![];
    }
    let gap =
        |a: DateTime<FixedOffset>, b: DateTime<FixedOffset>| b.signed_duration_since(a).num_milliseconds();
    let close: Vec<_> =
        pairs(&timed).into_iter().filter(|(a, b)| (0..1000).contains(&gap(a.1, b.1))).collect();
    let Some(((before, earlier), (after, later))) = close.first() else { return vec![] };
    let seconds = figures(gap(*earlier, *later) as f64 / 1000.0);
    vec![
        Finding::new(
            &TOO_CLOSE,
            Place::row(after.row, "time"),
            format!(
                "reading {} follows reading {} after {seconds} s; {} of readings in all less than a second apart",
                after.row,
                before.row,
                counted(close.len(), "pair")
            ),
        )
        .given(format!("{seconds} s"))
        .wanted("at least a second, since the pull alone takes half of one")
        .remedy("look whether rows were copied, or whether the capture wrote one pull twice"),
    ]
}

fn partial(bench: &Bench) -> Vec<Finding> {
    let without: Vec<&Reading> = bench.run.readings.iter().filter(|r| r.time.is_none()).collect();
    let (total, absent) = (bench.run.readings.len(), without.len());
    let Some(first) = without.first().filter(|_| absent < total) else { return vec![] };
    vec![
        Finding::new(
            &PARTIAL,
            Place::row(first.row, "time"),
            format!("{}: no time, while {} of {total} readings have one", rows(&without), total - absent),
        )
        .given("no time")
        .wanted("a time in every row")
        .remedy("look whether these rows were added by hand, and say so in their note"),
    ]
}
