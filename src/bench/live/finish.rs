//! A session that is done becomes an ordinary run folder.
//!
//! The journal stays what the readings rest on. `run.toml` as it was prepared is kept as
//! [`PREPARED_FILE`] before anything is written into it; every file is replaced whole. A crash between
//! two files leaves a session that finishes again, with the same bytes, when it is opened next.

use std::fs;
use std::path::Path;

use leverarm_pull::butterworth::Order;
use leverarm_session::{Outcome, Plan, readings_csv};

use super::complete::{Completed, Seen, Value, complete};
use super::disk::{JOURNAL_FILE, keep};
use super::fault::LiveFault;

/// `run.toml` as it was before the session.
pub const PREPARED_FILE: &str = "run-as-prepared.toml";

/// Writes `readings.csv` and what was seen at the bench into `run.toml`. Returns the keys that said
/// something else before, with what they said.
///
/// # Errors
/// What the disk says; where `run.toml` can no longer be read.
pub fn finish(folder: &Path, plan: &Plan, outcome: &Outcome) -> Result<Vec<(String, String)>, LiveFault> {
    let read = |name: &str| {
        let path = folder.join(name);
        fs::read(&path).map_err(|error| LiveFault::Unreadable { path, error })
    };
    let has_prepared = folder.join(PREPARED_FILE).exists();
    let prepared = read(if has_prepared { PREPARED_FILE } else { "run.toml" })?;
    let rows = readings_csv(outcome).map_err(|error| LiveFault::Rows(error.to_string()))?;
    let text = String::from_utf8_lossy(&prepared);
    let Completed { text, replaced } = complete(&text, &seen(plan, outcome))?;
    if !has_prepared {
        keep(folder, PREPARED_FILE, &prepared)?;
    }
    keep(folder, "readings.csv", &rows)?;
    keep(folder, "run.toml", text.as_bytes())?;
    Ok(replaced)
}

fn seen(plan: &Plan, outcome: &Outcome) -> Vec<Seen> {
    let mut seen = Vec::new();
    let mut add = |section, key, value: String| seen.push(Seen { section, key, value: Value::Text(value) });
    if let Some(day) = outcome.performed {
        add("run", "performed", day.to_string());
    }
    let mut names: Vec<&str> = Vec::new();
    for span in &outcome.technicians {
        if !span.name.is_empty() && !names.contains(&span.name.as_str()) {
            names.push(&span.name);
        }
    }
    if !names.is_empty() {
        add("people", "technician", names.join(", "));
    }
    let room = [
        (&outcome.start, "temperature_start", "humidity_start"),
        (&outcome.end, "temperature_end", "humidity_end"),
    ];
    for (surroundings, temperature, humidity) in room {
        if let Some(surroundings) = surroundings {
            add("environment", temperature, surroundings.temperature.clone());
            add("environment", humidity, surroundings.humidity.clone());
        }
    }
    let instrument = &plan.instrument;
    add("bench", "instrument", instrument.name.clone());
    add("bench", "rate", format!("{} Hz", instrument.sample_rate_hz));
    if let Some(filter) = instrument.filter {
        add("bench", "filter", "butterworth".to_owned());
        add("bench", "cut_off", format!("{} Hz", filter.cutoff_hz));
    }
    add("bench", "journal", JOURNAL_FILE.to_owned());
    if let Some(filter) = instrument.filter {
        let order = match filter.order {
            Order::Second => 2,
            Order::Fourth => 4,
        };
        seen.push(Seen { section: "bench", key: "order", value: Value::Whole(order) });
    }
    if !outcome.remarks.is_empty() {
        let remarks = Value::More(outcome.remarks.clone());
        seen.push(Seen { section: "certificate", key: "remarks", value: remarks });
    }
    seen
}
