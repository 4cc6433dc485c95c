//! Checks of the surroundings of the bench.

use super::Rule;
use super::bench::Bench;
use super::words::{clause, figures, list};
use crate::finding::{Check, Finding, Place, Severity};

static IMPOSSIBLE: Check = Check {
    name: "environment-impossible",
    severity: Severity::Error,
    about: "Temperature and humidity are such as a room can have.",
    source: "leverarm",
};
static MISSING: Check = Check {
    name: "environment-missing",
    severity: Severity::Gap,
    about: "Temperature and humidity are on record at the start and at the end of the work.",
    source: "ISO/IEC 17025:2017, 6.3.3 and 7.8.4.1 b",
};
static TEMPERATURE: Check = Check {
    name: "environment-temperature",
    severity: Severity::Gap,
    about: "The temperature was inside the limits of the rulebook.",
    source: "ISO/IEC 17025:2017, 6.3.3; ISO 6789-1:2017, 6.3 (confirmed)",
};
static CHANGE: Check = Check {
    name: "environment-change",
    severity: Severity::Gap,
    about: "The temperature changed by no more than the rulebook allows during the work.",
    source: "ISO/IEC 17025:2017, 6.3.3; ISO 6789-1:2017, 6.3 (confirmed)",
};
static HUMIDITY: Check = Check {
    name: "environment-humidity",
    severity: Severity::Gap,
    about: "The relative humidity was no higher than the rulebook allows.",
    source: "ISO/IEC 17025:2017, 6.3.3; ISO 6789-1:2017, 6.3 (confirmed)",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &IMPOSSIBLE, look: impossible },
    Rule { check: &MISSING, look: missing },
    Rule { check: &TEMPERATURE, look: temperature },
    Rule { check: &CHANGE, look: change },
    Rule { check: &HUMIDITY, look: humidity },
];

const TEMPERATURE_START: &str = "environment.temperature_start";
const TEMPERATURE_END: &str = "environment.temperature_end";
const HUMIDITY_START: &str = "environment.humidity_start";
const HUMIDITY_END: &str = "environment.humidity_end";

fn temperatures(bench: &Bench) -> [(&'static str, Option<f64>); 2] {
    let room = &bench.run.environment;
    [
        (TEMPERATURE_START, room.temperature_start.map(|t| t.0)),
        (TEMPERATURE_END, room.temperature_end.map(|t| t.0)),
    ]
}

fn humidities(bench: &Bench) -> [(&'static str, Option<f64>); 2] {
    let room = &bench.run.environment;
    [
        (HUMIDITY_START, room.humidity_start.map(|h| h.value())),
        (HUMIDITY_END, room.humidity_end.map(|h| h.value())),
    ]
}

fn is_a_room(celsius: f64) -> bool {
    (-30.0..=50.0).contains(&celsius)
}

fn is_a_humidity(percent: f64) -> bool {
    (0.0..=100.0).contains(&percent)
}

fn impossible(bench: &Bench) -> Vec<Finding> {
    let mut found = Vec::new();
    for (key, value) in temperatures(bench) {
        let Some(t) = value.filter(|t| !is_a_room(*t)) else { continue };
        let in_fahrenheit = (t - 32.0) / 1.8;
        let remedy = if (10.0..=40.0).contains(&in_fahrenheit) {
            format!(
                "{t} looks like degrees Fahrenheit, which are {} °C; write degrees Celsius",
                figures(in_fahrenheit)
            )
        } else {
            "write the temperature of the room in degrees Celsius".to_owned()
        };
        found.push(
            Finding::new(&IMPOSSIBLE, Place::run(key), format!("nobody calibrates at {t} °C"))
                .given(format!("{t} °C"))
                .wanted("from -30 °C to 50 °C")
                .remedy(remedy),
        );
    }
    for (key, value) in humidities(bench) {
        let Some(h) = value.filter(|h| !is_a_humidity(*h)) else { continue };
        found.push(
            Finding::new(&IMPOSSIBLE, Place::run(key), format!("a relative humidity of {h} % cannot be"))
                .given(format!("{h} %"))
                .wanted("from 0 % to 100 %")
                .remedy("write the relative humidity in percent"),
        );
    }
    found
}

fn missing(bench: &Bench) -> Vec<Finding> {
    let absent: Vec<&str> = temperatures(bench)
        .into_iter()
        .chain(humidities(bench))
        .filter(|(_, value)| value.is_none())
        .map(|(key, _)| key)
        .collect();
    let Some(first) = absent.first() else { return vec![] };
    let names: Vec<String> =
        absent.iter().map(|key| key.trim_start_matches("environment.").replace('_', " at the ")).collect();
    vec![
        Finding::new(&MISSING, Place::run(first), format!("{} not on record", list(&names)))
            .given("nothing")
            .wanted("temperature and relative humidity, at the start and at the end")
            .remedy("copy them from the room's own record; they cannot be guessed afterwards"),
    ]
}

fn temperature(bench: &Bench) -> Vec<Finding> {
    let limits = &bench.rulebook.environment;
    let (low, high) = (&limits.temperature_min, &limits.temperature_max);
    let allowed = format!("{} to {}", low.words("°C"), high.words("°C"));
    let mut found = Vec::new();
    for (key, value) in temperatures(bench) {
        let Some(t) = value.filter(|t| is_a_room(*t)) else { continue };
        let (side, from) = if t < low.value {
            ("below", &low.from)
        } else if t > high.value {
            ("above", &high.from)
        } else {
            continue;
        };
        found.push(
            Finding::new(
                &TEMPERATURE,
                Place::run(key),
                format!("{t} °C is {side} the {allowed} of rulebook {}", bench.rulebook.name),
            )
            .given(format!("{t} °C"))
            .wanted(&allowed)
            .remedy("bring the room inside its limits, let tool and reference settle, and take the readings again")
            .clause(clause(from)),
        );
    }
    found
}

fn change(bench: &Bench) -> Vec<Finding> {
    let [(_, Some(start)), (key, Some(end))] = temperatures(bench) else { return vec![] };
    let allowed = &bench.rulebook.environment.temperature_change;
    let change = (end - start).abs();
    // A billionth is forgiven: 21.3 less 20.3 is a hair more than 1 in binary.
    if !(is_a_room(start) && is_a_room(end)) || change <= allowed.value + 1e-9 {
        return vec![];
    }
    vec![
        Finding::new(
            &CHANGE,
            Place::run(key),
            format!(
                "the temperature went from {start} °C to {end} °C, {} K, and may change by {} during the work",
                figures(change),
                allowed.words("K")
            ),
        )
        .given(format!("{} K", figures(change)))
        .wanted(format!("at most {}", allowed.words("K")))
        .remedy("take the readings again in a steady room")
        .clause(clause(&allowed.from)),
    ]
}

fn humidity(bench: &Bench) -> Vec<Finding> {
    let allowed = &bench.rulebook.environment.humidity_max;
    humidities(bench)
        .into_iter()
        .filter_map(|(key, value)| Some((key, value.filter(|h| is_a_humidity(*h) && *h > allowed.value)?)))
        .map(|(key, h)| {
            Finding::new(
                &HUMIDITY,
                Place::run(key),
                format!("the relative humidity was {h} %, and may be {} at most", allowed.words("%")),
            )
            .given(format!("{h} %"))
            .wanted(format!("at most {}", allowed.words("%")))
            .remedy("dry the room, let tool and reference settle, and take the readings again")
            .clause(clause(&allowed.from))
        })
        .collect()
}
