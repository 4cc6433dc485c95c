//! `leverarm instrument probe`: what an instrument says, raw and understood, and what does not fit.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use clap::{Args, Subcommand};

use super::{Ending, Failure, print_json};
use crate::bench::instrument::{Description, Event, Feed, Flow, Link, Report, Tally, Understood, shown};

/// A description is a page of text; a larger file is another file.
const BYTES_MAX: u64 = 1024 * 1024;

/// Arguments of `leverarm instrument`.
#[derive(Debug, Args)]
pub struct Arguments {
    #[command(subcommand)]
    command: Instrument,
}

#[derive(Debug, Subcommand)]
enum Instrument {
    /// Listen to an instrument: each line raw and understood, and what does not fit its description
    ///
    /// Exit codes: 0 every line was understood; 1 some were; 2 the description is wrong, or nothing was
    /// understood.
    Probe(Probe),
}

#[derive(Debug, Args)]
struct Probe {
    /// the description of the instrument, a TOML file
    file: PathBuf,
    /// listen so long
    #[arg(long, value_name = "N", default_value_t = 10.0, value_parser = seconds)]
    seconds: f64,
    /// stop after so many lines
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..))]
    lines: Option<u64>,
    /// print the counts as JSON, and no lines
    #[arg(long)]
    json: bool,
}

fn seconds(text: &str) -> Result<f64, String> {
    let number = text.parse::<f64>().ok().filter(|number| *number > 0.0 && *number <= 1e6);
    number.ok_or_else(|| format!("'{text}' is not a number of seconds above 0"))
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let Instrument::Probe(probe) = &arguments.command;
    let description = describe(&probe.file)?;
    let report = listen(probe, &description, out)?;
    if probe.json {
        print_json(out, &report)?;
    } else {
        summary(&report, &description, out)?;
    }
    Ok(if report.is_all_understood() {
        Ending::Done
    } else if report.samples > 0 {
        Ending::PartlyUnderstood
    } else {
        Ending::BadInput
    })
}

pub(super) fn describe(path: &Path) -> Result<Description, Failure> {
    let shown = path.display();
    let unreadable = |said: String| {
        Failure::bad_input(format!("{shown} cannot be read: {said}"), "give the TOML file of an instrument")
    };
    let length = std::fs::metadata(path).map_err(|error| unreadable(error.to_string()))?.len();
    if length > BYTES_MAX {
        return Err(unreadable("it is too large for a description".into()));
    }
    let text = std::fs::read_to_string(path).map_err(|error| unreadable(error.to_string()))?;
    let folder = path.parent().unwrap_or(Path::new(""));
    Description::parse(&text, folder).map_err(|faults| {
        Failure::bad_input(
            format!("{shown} is not the description of an instrument\n{faults}"),
            "mend what is named above; standards-notes/instrument.md explains every key",
        )
    })
}

fn listen(probe: &Probe, description: &Description, out: &mut impl Write) -> Result<Report, Failure> {
    let is_live = !matches!(description.link, Link::File { .. });
    let end = Instant::now() + Duration::from_secs_f64(probe.seconds);
    let (mut feed, mut tally, mut failed) = (Feed::new(description), Tally::new(), None);
    let is_enough = |tally: &Tally| probe.lines.is_some_and(|most| tally.lines() >= most);
    loop {
        let flow = feed.step(&mut |event| {
            if is_enough(&tally) || failed.is_some() {
                return;
            }
            tally.count(&event);
            if !probe.json {
                failed = tell(&event, out).err();
            }
        });
        if let Some(error) = failed.take() {
            return Err(error.into());
        }
        if flow == Flow::Ended || is_enough(&tally) || end.saturating_duration_since(Instant::now()).is_zero()
        {
            return Ok(tally.report(description, is_live));
        }
    }
}

fn tell(event: &Event<'_>, out: &mut impl Write) -> std::io::Result<()> {
    match event {
        Event::Connected { place } => writeln!(out, "── connected: {place}"),
        Event::Lost(trouble) => {
            writeln!(out, "── {}\n   mend: {}", shown(trouble.to_string().as_bytes()), trouble.remedy())
        }
        Event::Silence { lasted, unended: 0 } => {
            writeln!(
                out,
                "── silence for {:.1} s\n   mend: is the display switched on and set to send? compare speed and cable; one that answers only needs [ask]",
                lasted.as_secs_f64()
            )
        }
        Event::Silence { lasted, unended } => writeln!(
            out,
            "── no end of a line for {:.1} s, {unended} bytes wait\n   mend: compare lines.terminator and speed with the manual",
            lasted.as_secs_f64()
        ),
        Event::First { raw } => side(out, raw, "first line, may have lost its beginning: not used"),
        Event::Cut { raw } => side(out, raw, "cut by the lost connection: not used"),
        Event::TooLong { count } => writeln!(out, "── {count} lines longer than lines.longest: dropped"),
        Event::Line { raw, read, .. } => match read {
            Ok(Understood::Ignored) => side(out, raw, "left aside"),
            Ok(Understood::Sample(sample)) => {
                let mut text = sample.torque.to_string();
                if let Some(time_s) = sample.time_s {
                    text.push_str(&format!("  at {time_s} s"));
                }
                if let Some(status) = sample.status {
                    text.push_str(&format!("  {}", status.word()));
                }
                side(out, raw, &text)
            }
            Err(misfit) => side(out, raw, &format!("? {}", shown(misfit.to_string().as_bytes()))),
        },
    }
}

fn side(out: &mut impl Write, raw: &[u8], understood: &str) -> std::io::Result<()> {
    writeln!(out, "{:<40} │ {understood}", shown(raw))
}

fn summary(report: &Report, description: &Description, out: &mut impl Write) -> std::io::Result<()> {
    writeln!(
        out,
        "\n{}: {} lines, {} understood, {} left aside, {} not used, {} too long",
        shown(report.instrument.as_bytes()),
        report.lines,
        report.samples,
        report.ignored,
        report.unused,
        report.too_long
    )?;
    if report.lost > 0 || report.silences > 0 {
        writeln!(
            out,
            "connected {} times, lost {} times, silent {} times",
            report.connected, report.lost, report.silences
        )?;
    }
    for kind in &report.misfits {
        writeln!(
            out,
            "\n{} × {}: {}\n  first: {}\n  mend: {}",
            kind.count, kind.kind, kind.message, kind.first, kind.remedy
        )?;
    }
    if let Some(measured) = report.rate_measured_hz {
        write!(out, "\nrate: {measured:.1} Hz measured")?;
        match report.rate_stated_hz {
            Some(stated) => writeln!(out, ", {stated} Hz stated")?,
            None => writeln!(out)?,
        }
        if report.is_rate_off() {
            let polled = "ask more often, or state the rate that comes in";
            let streamed =
                "set the rate at the display, or correct `rate`; a slow serial line may be the limit";
            writeln!(out, "  mend: {}", if description.ask.is_some() { polled } else { streamed })?;
        }
    }
    if report.samples == 0 && report.lines == 0 {
        writeln!(out, "nothing came in")?;
    }
    Ok(())
}
