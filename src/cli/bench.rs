//! `leverarm bench`: the guided session at the bench.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use clap::{Args, ValueEnum};
use leverarm_pull::butterworth::Order;
use leverarm_screen::look::Look;
use leverarm_session::plan::Filter;
use leverarm_session::{Indicated, Outcome};

use super::{Ending, Failure, instrument};
use crate::bench::instrument::Description;
use crate::bench::live::{self, Bench, Choices, Disk, Ended, LiveFault, Prepared};
use crate::bench::simulate::{Door, Operator, Pace, Simulation};
use crate::diagnose;

/// Arguments of `leverarm bench`.
#[derive(Debug, Args)]
pub struct Arguments {
    /// the run folder; its run.toml says what is to be measured. A session that was left or cut off
    /// goes on where it stopped
    run: PathBuf,
    /// the description of the instrument that speaks, a TOML file
    #[arg(long, value_name = "FILE", required_unless_present = "simulate", conflicts_with = "simulate")]
    instrument: Option<PathBuf>,
    /// who is at the bench, where run.toml does not say it
    #[arg(long, value_name = "NAME")]
    technician: Option<String>,
    /// how the value of an indicating tool is got
    #[arg(long, value_enum)]
    indicated: Option<Value>,
    /// frequency of the mains, whose hum is taken out; 0 leaves it
    #[arg(long, value_name = "HZ", default_value_t = 50.0, value_parser = hertz)]
    mains: f64,
    /// a low-pass before the readings, such as 50 or 50/4: cut-off in Hz and order (2 or 4)
    #[arg(long, value_name = "HZ[/ORDER]", value_parser = filter)]
    filter: Option<Low>,
    /// the display shows clockwise torque as negative
    #[arg(long)]
    clockwise_negative: bool,
    /// begin without sounds; the key s turns them on
    #[arg(long)]
    quiet: bool,
    /// draw with plain characters only
    #[arg(long)]
    ascii: bool,
    /// no hardware: a simulated wrench, hand and transducer, to learn the work
    #[arg(long)]
    simulate: bool,
    /// the simulated pulls are those of this number
    #[arg(long, value_name = "N", default_value_t = 1, requires = "simulate")]
    seed: u64,
    /// who pulls the simulated tool
    #[arg(long, value_enum, default_value = "steady", requires = "simulate")]
    hand: Hand,
    /// how fast: real, a number of times as fast, or max
    #[arg(long, value_name = "PACE", default_value = "real", requires = "simulate", value_parser = pace)]
    pace: Pace,
    /// samples a second of the simulated display
    #[arg(long, value_name = "HZ", default_value_t = 1000, requires = "simulate", value_parser = clap::value_parser!(u32).range(20..=10_000))]
    rate: u32,
    /// the door that the simulated display speaks through
    #[arg(long, value_enum, default_value = "tcp", requires = "simulate")]
    door: Through,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Value {
    /// typed after each pull
    Typed,
    /// paired later with what the tool stored itself (leverarm pair)
    Stored,
    /// the target: a key is pressed while the tool shows it
    AtTarget,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Hand {
    /// a person with practice
    Steady,
    /// a person in a hurry
    Hasty,
    /// a person who pulls on after the click
    Heavy,
    /// a person who trembles
    Unsteady,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Through {
    /// a TCP port of this machine
    Tcp,
    /// a pseudo-terminal, as a serial port
    Pty,
}

#[derive(Debug, Clone, Copy)]
struct Low(Filter);

fn hertz(text: &str) -> Result<f64, String> {
    let number = text.parse::<f64>().ok().filter(|hz| *hz == 0.0 || (10.0..=1000.0).contains(hz));
    number.ok_or_else(|| format!("'{text}' is not a frequency of the mains in Hz, such as 50 or 60"))
}

fn filter(text: &str) -> Result<Low, String> {
    let wrong = || format!("'{text}' is not a cut-off in Hz with an order, such as 50 or 50/4");
    let (hz, order) = text.split_once('/').unwrap_or((text, "2"));
    let cutoff_hz =
        hz.trim().parse::<f64>().ok().filter(|hz| hz.is_finite() && *hz > 0.0).ok_or_else(wrong)?;
    let order = match order.trim() {
        "2" => Order::Second,
        "4" => Order::Fourth,
        _ => return Err(wrong()),
    };
    Ok(Low(Filter { order, cutoff_hz }))
}

fn pace(text: &str) -> Result<Pace, String> {
    match text {
        "real" => Ok(Pace::RealTime),
        "max" => Ok(Pace::AtSpeed),
        number => number
            .parse()
            .ok()
            .filter(|times: &f64| times.is_finite() && *times > 0.0)
            .map(Pace::Times)
            .ok_or_else(|| format!("'{text}' is neither real, nor a number such as 10, nor max")),
    }
}

impl From<LiveFault> for Failure {
    fn from(fault: LiveFault) -> Failure {
        if fault.is_ours() {
            Failure::fault(format!("{fault}\n  mend: {}", fault.remedy()))
        } else {
            Failure::bad_input(fault.to_string(), fault.remedy())
        }
    }
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let prepared = match live::read(&arguments.run)? {
        Ok(prepared) => prepared,
        Err(loaded) => {
            eprintln!("{}", diagnose::text(&loaded.findings, &loaded.sources));
            return Ok(Ending::BadInput);
        }
    };
    let simulation = if arguments.simulate { Some(simulate(arguments, &prepared)?) } else { None };
    let description = describe(arguments, simulation.as_ref())?;
    let plan = prepared.plan(&description, &choices(arguments))?;
    let (disk, journal) = Disk::open(&arguments.run).map_err(LiveFault::from)?;
    let stop = Arc::new(AtomicBool::new(false));
    // A terminal that hangs up ends the process as it always does: what was said is on disk.
    for signal in [signal_hook::consts::SIGTERM, signal_hook::consts::SIGINT] {
        signal_hook::flag::register(signal, Arc::clone(&stop))
            .map_err(|error| Failure::fault(format!("cannot watch for signals: {error}")))?;
    }
    let ended = live::lead(Bench {
        plan,
        disk,
        journal,
        description,
        simulation,
        look: look(arguments.ascii),
        has_sound: !arguments.quiet,
        stop,
    })?;
    tell(arguments, &ended, out)?;
    Ok(Ending::Done)
}

fn choices(arguments: &Arguments) -> Choices {
    Choices {
        indicated: arguments.indicated.map(|value| match value {
            Value::Typed => Indicated::Typed,
            Value::Stored => Indicated::Stored,
            Value::AtTarget => Indicated::AtTarget,
        }),
        technician: arguments.technician.clone(),
        mains_hz: (arguments.mains > 0.0).then_some(arguments.mains),
        filter: arguments.filter.map(|Low(filter)| filter),
        clockwise_is_negative: arguments.clockwise_negative,
    }
}

fn look(ascii: bool) -> Look {
    let of = |name| std::env::var(name).ok();
    Look::of(of("TERM").as_deref(), of("NO_COLOR").as_deref(), ascii)
}

fn simulate(arguments: &Arguments, prepared: &Prepared) -> Result<Simulation, Failure> {
    let operator = match arguments.hand {
        Hand::Steady => Operator::steady(),
        Hand::Hasty => Operator::hasty(),
        Hand::Heavy => Operator::heavy_handed(),
        Hand::Unsteady => Operator::unsteady(),
    };
    let settings = live::simulated_settings(
        &prepared.run.tool,
        &prepared.reference,
        arguments.seed,
        arguments.rate,
        operator,
    );
    let door = match arguments.door {
        Through::Tcp => Door::Tcp,
        Through::Pty => Door::Pty,
    };
    Simulation::start(settings, door, arguments.pace)
        .map_err(|error| Failure::bad_input(error.to_string(), error.remedy()))
}

fn describe(arguments: &Arguments, simulation: Option<&Simulation>) -> Result<Description, Failure> {
    match (&arguments.instrument, simulation) {
        (Some(path), _) => instrument::describe(path),
        (None, Some(simulation)) => {
            Description::parse(&simulation.description(), Path::new("")).map_err(|faults| {
                Failure::fault(format!("the simulated display is described wrongly\n{faults}"))
            })
        }
        (None, None) => Err(Failure::bad_input(
            "there is no instrument",
            "give its description with --instrument FILE, or --simulate to learn without hardware",
        )),
    }
}

/// What was taken, where it is, and what comes next.
fn tell(arguments: &Arguments, ended: &Ended, out: &mut impl Write) -> Result<(), Failure> {
    let run = arguments.run.display();
    let Outcome { rows, finished, .. } = &ended.outcome;
    let voided = rows.iter().filter(|row| row.void.is_some()).count();
    let counted = rows.len().saturating_sub(voided);
    writeln!(out, "{counted} readings count, {voided} are voided; all are in {run}")?;
    if let Some(words) = ended.figures.words() {
        writeln!(out, "{words}")?;
    }
    for (key, was) in &ended.replaced {
        writeln!(out, "run.toml: {key} was '{was}' when the run was prepared")?;
    }
    if finished.is_none() {
        writeln!(out, "the session is not finished; the same command goes on with it")?;
        return Ok(());
    }
    let waits = rows.iter().any(|row| row.void.is_none() && row.indicated.is_none());
    if waits {
        if let Some(file) = store(&arguments.run, ended)? {
            writeln!(out, "the simulated tool gave out {}", file.display())?;
        }
        writeln!(out, "next: leverarm pair {run} --stored FILE, with the file that the tool gives out")?;
    } else {
        writeln!(out, "next: leverarm evaluate {run}")?;
    }
    Ok(())
}

/// What a simulated electronic tool would give out.
fn store(run: &Path, ended: &Ended) -> Result<Option<PathBuf>, Failure> {
    if ended.stored.is_empty() {
        return Ok(None);
    }
    let mut writer = csv::Writer::from_writer(Vec::new());
    let made = std::iter::once(Ok([String::from("No."), "Peak".into(), "Unit".into()]))
        .chain(ended.stored.iter().map(|peak| {
            Ok([peak.number.to_string(), peak.indicated.newton_metres().to_string(), "N·m".to_owned()])
        }))
        .try_for_each(|row: Result<[String; 3], csv::Error>| writer.write_record(row?));
    let bytes = made.ok().and_then(|()| writer.into_inner().ok());
    let bytes = bytes.ok_or_else(|| Failure::fault("the stored values cannot be written as CSV"))?;
    let path = run.join("tool-stored.csv");
    if !path.exists() {
        crate::export::folder::replace_file(&path, &bytes)
            .map_err(|error| Failure::fault(format!("cannot write {}: {error}", path.display())))?;
    }
    Ok(Some(path))
}
