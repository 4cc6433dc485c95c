//! `leverarm trace`: the trace of a pull as a picture, and what was found in it.

mod output;
mod run;
#[cfg(test)]
mod tests;

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use leverarm_metrology::reading::Recorded;
use leverarm_pull::detector::{LoadingWindow, Mode};

use super::{Ending, Failure};
use crate::export::trace::Seen;
use crate::ingest::store::Folder;
use crate::trace_view::analyse::{Wanted, analyse};
use crate::trace_view::facts::facts;
use crate::trace_view::open::{OpenError, open};

/// Arguments of `leverarm trace`.
#[derive(Debug, Args)]
pub struct Arguments {
    /// the trace of a pull (.ltrc), or a run folder
    path: PathBuf,
    /// draw the trace of this row of the readings; without it, every trace of the run on a line
    #[arg(long, value_name = "ROW", value_parser = clap::value_parser!(u32).range(1..))]
    reading: Option<u32>,
    /// the target of the pull, such as "120 N·m"; of a run, in place of the one on record
    #[arg(long, value_name = "TORQUE", value_parser = torque, allow_hyphen_values = true)]
    target: Option<Recorded>,
    /// what of the pull is the reading; peak where neither this nor a run says it
    #[arg(long, value_enum)]
    mode: Option<Modes>,
    /// the shortest time allowed from 80 % to 100 % of the target
    #[arg(long, value_name = "S", value_parser = seconds)]
    seconds_min: Option<f64>,
    /// the longest time allowed
    #[arg(long, value_name = "S", value_parser = seconds)]
    seconds_max: Option<f64>,
    /// write the chart as SVG
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// write every sample: time_s, value, unit; `-` writes to the terminal
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// let --svg and --csv replace files with other content
    #[arg(long)]
    force: bool,
    /// draw with ASCII characters only
    #[arg(long)]
    ascii: bool,
    /// draw so many columns wide; the width of the terminal where it is not said, else 80
    #[arg(long, value_name = "N")]
    width: Option<usize>,
    /// print JSON
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Modes {
    /// the highest torque, as of an indicating tool
    Peak,
    /// the torque just before the first release, as of a setting tool
    FirstPeak,
    /// the torque held at the target
    Track,
}

impl From<Modes> for Mode {
    fn from(mode: Modes) -> Mode {
        match mode {
            Modes::Peak => Mode::Peak,
            Modes::FirstPeak => Mode::FirstPeak,
            Modes::Track => Mode::Track,
        }
    }
}

fn torque(text: &str) -> Result<Recorded, String> {
    let torque = Recorded::parse(text).map_err(|error| format!("{error}; {}", error.remedy()))?;
    if torque.value() == 0.0 {
        return Err("at a target of zero nothing is pulled; give the torque of the pull".to_owned());
    }
    Ok(torque)
}

fn seconds(text: &str) -> Result<f64, String> {
    let number = text.parse::<f64>().ok().filter(|number| (0.0..=1e6).contains(number));
    number.ok_or_else(|| format!("'{text}' is not a number of seconds from 0 to a million"))
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    arguments.check()?;
    if arguments.path.is_dir() {
        return run::run(arguments, out);
    }
    if arguments.reading.is_some() {
        return Err(Failure::bad_input(
            "--reading was given with a file, and readings belong to a run folder",
            "give the run folder with --reading, or the trace alone without it",
        ));
    }
    let wanted = arguments.wanted(Wanted { mode: Mode::Peak, target: None, window: None, resolution: None });
    output::write(arguments, &see_file(&arguments.path, wanted)?, out)
}

impl Arguments {
    fn check(&self) -> Result<(), Failure> {
        match (self.seconds_min, self.seconds_max) {
            (Some(least), Some(most)) if least > most => Err(Failure::bad_input(
                format!("--seconds-min {least} is above --seconds-max {most}"),
                "give the shorter time first, such as --seconds-min 0.5 --seconds-max 4",
            )),
            _ => Ok(()),
        }
    }

    /// What is known of the pull: the options stand for what a run says.
    fn wanted(&self, known: Wanted) -> Wanted {
        let window = match (self.seconds_min, self.seconds_max, known.window) {
            (None, None, window) => window,
            (min, max, window) => Some(LoadingWindow {
                seconds_min: min.or(window.map(|window| window.seconds_min)).unwrap_or(0.0),
                seconds_max: max.or(window.and_then(|window| window.seconds_max)),
            }),
        };
        Wanted {
            mode: self.mode.map_or(known.mode, Mode::from),
            target: self.target.or(known.target),
            window,
            resolution: known.resolution,
        }
    }
}

fn see_file(path: &Path, wanted: Wanted) -> Result<Seen, Failure> {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let folder = Folder::new(path.parent().unwrap_or(Path::new("")));
    let trace = open(&folder, &name).map_err(|error| refusal(&error))?;
    let analysis = analyse(&trace, wanted);
    let facts = facts(&path.display().to_string(), &trace, &analysis, None);
    Ok(Seen { trace, analysis, facts })
}

/// A trace that is none.
fn refusal(error: &OpenError) -> Failure {
    Failure::bad_input(crate::diagnose::harmless(&error.to_string()), error.remedy())
}
