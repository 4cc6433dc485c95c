//! What came in, counted: how much was understood, what was not and why, how fast.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use serde::Serialize;

use super::description::Description;
use super::{Event, Misfit, Understood, shown};

/// Counts events. It keeps one example of each kind and so never grows.
#[derive(Debug, Clone, Default)]
pub struct Tally {
    lines: u64,
    samples: u64,
    ignored: u64,
    unused: u64,
    too_long: u64,
    connected: u64,
    lost: u64,
    silences: u64,
    kinds: BTreeMap<usize, Kind>,
    last: Option<Instant>,
    intervals: u64,
    spoken: Duration,
    device: Device,
}

/// The rate by the clock of the instrument.
#[derive(Debug, Clone, Copy, Default)]
struct Device {
    last_s: Option<f64>,
    intervals: u32,
    spoken_s: f64,
}

/// Lines that were not understood for one reason.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Kind {
    /// the reason
    pub kind: &'static str,
    /// how many lines
    pub count: u64,
    /// the first of them, made printable
    pub first: String,
    /// what was wrong with it
    pub message: String,
    /// how to mend it
    pub remedy: &'static str,
}

/// What a probe found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// name of the instrument
    pub instrument: String,
    /// lines that were judged
    pub lines: u64,
    /// lines that were a sample
    pub samples: u64,
    /// lines that the description leaves aside
    pub ignored: u64,
    /// first lines after connecting and lines cut by a lost connection, never used
    pub unused: u64,
    /// lines longer than the description allows
    pub too_long: u64,
    /// how often it was connected
    pub connected: u64,
    /// how often the connection was lost or could not be made
    pub lost: u64,
    /// how often silence was said
    pub silences: u64,
    /// samples a second as the description states them
    pub rate_stated_hz: Option<f64>,
    /// samples a second as they came, by the clock of the instrument where it has one
    pub rate_measured_hz: Option<f64>,
    /// the reasons
    pub misfits: Vec<Kind>,
}

impl Tally {
    /// Nothing yet.
    #[must_use]
    pub fn new() -> Tally {
        Tally::default()
    }

    /// Counts an event.
    pub fn count(&mut self, event: &Event<'_>) {
        match event {
            Event::Connected { .. } => self.connected += 1,
            Event::Lost(_) => {
                self.lost += 1;
                self.last = None;
                self.device.last_s = None;
            }
            Event::Silence { .. } => self.silences += 1,
            Event::First { .. } | Event::Cut { .. } => self.unused += 1,
            Event::TooLong { count } => self.too_long += count,
            Event::Line { at, raw, read } => {
                self.lines += 1;
                match read {
                    Ok(Understood::Ignored) => self.ignored += 1,
                    Ok(Understood::Sample(sample)) => {
                        self.samples += 1;
                        self.interval(*at);
                        self.device.interval(sample.time_s);
                    }
                    Err(misfit) => self.misfit(raw, misfit),
                }
            }
        }
    }

    fn interval(&mut self, at: Instant) {
        if let Some(last) = self.last.replace(at) {
            self.intervals += 1;
            self.spoken += at.saturating_duration_since(last);
        }
    }

    fn misfit(&mut self, raw: &[u8], misfit: &Misfit) {
        // The time of a line that was not understood is not known: the gap is no interval.
        self.last = None;
        self.device.last_s = None;
        let kind = self.kinds.entry(misfit.index()).or_insert_with(|| Kind {
            kind: Misfit::KINDS.get(misfit.index()).copied().unwrap_or("unknown"),
            count: 0,
            first: shown(raw),
            message: shown(misfit.to_string().as_bytes()),
            remedy: misfit.remedy(),
        });
        kind.count += 1;
    }

    /// How many lines were judged.
    #[must_use]
    pub fn lines(&self) -> u64 {
        self.lines
    }

    /// What was found; `is_live` where the arrival of the lines tells the rate.
    #[must_use]
    pub fn report(&self, description: &Description, is_live: bool) -> Report {
        #[allow(clippy::cast_precision_loss)]
        let by_arrival = (is_live && self.intervals > 0 && !self.spoken.is_zero())
            .then(|| self.intervals as f64 / self.spoken.as_secs_f64());
        let device = &self.device;
        let by_device = (device.spoken_s > 0.0).then(|| f64::from(device.intervals) / device.spoken_s);
        Report {
            instrument: description.name.clone(),
            lines: self.lines,
            samples: self.samples,
            ignored: self.ignored,
            unused: self.unused,
            too_long: self.too_long,
            connected: self.connected,
            lost: self.lost,
            silences: self.silences,
            rate_stated_hz: description.rate_hz,
            rate_measured_hz: by_device.or(by_arrival),
            misfits: self.kinds.values().cloned().collect(),
        }
    }
}

impl Device {
    fn interval(&mut self, time_s: Option<f64>) {
        let Some(now) = time_s else { return };
        if let Some(last) = self.last_s.replace(now)
            && now >= last
        {
            self.intervals = self.intervals.saturating_add(1);
            self.spoken_s += now - last;
        }
    }
}

impl Report {
    /// Whether every line was understood, and there was a sample at all.
    #[must_use]
    pub fn is_all_understood(&self) -> bool {
        self.samples > 0 && self.misfits.is_empty() && self.too_long == 0
    }

    /// Whether the measured rate is more than a tenth away from the stated one.
    #[must_use]
    pub fn is_rate_off(&self) -> bool {
        match (self.rate_stated_hz, self.rate_measured_hz) {
            (Some(stated), Some(measured)) => (measured - stated).abs() > stated * 0.1,
            _ => false,
        }
    }
}
