//! The command line: one file a command; each parses, calls, prints.

mod bench;
mod certify;
mod checks;
mod dcc;
mod evaluate;
mod exposure;
mod failure;
mod instrument;
mod key;
mod ledger;
mod pair;
mod recheck;
pub mod rulebook;
mod rulebook_command;
mod selftest;
mod sequence;
mod shell;
mod trace;
mod trials;
mod under;

use std::io::Write;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

pub use failure::{Failure, Kind};

/// The working bench of a laboratory that calibrates hand torque tools: click wrenches, dial and
/// electronic wrenches, torque screwdrivers.
///
/// Readings of a reference transducer go in; deviation, repeatability and an uncertainty budget per
/// test point are computed; conformity is judged by a stated decision rule; a certificate with
/// charts comes out.
///
/// Exit codes: 0 done, or the tool conforms; 1 the tool does not conform (with --gate), or a value of
/// the self-test, or a certificate that is rechecked, does not agree; 2 the input is wrong or not enough for a certificate; 3 a fault of
/// leverarm's own.
#[derive(Debug, Parser)]
#[command(name = "leverarm", version, max_term_width = 100)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Make the certificate of a run, or of as found and as left together
    Certify(certify::Arguments),
    /// Show the numbers and the verdict of a run on the terminal
    Evaluate(evaluate::Arguments),
    /// Print the sequence of the work as a bench sheet, before there are readings
    Sequence(sequence::Arguments),
    /// Lead through the work at the bench, take the readings, and keep them as they come
    Bench(bench::Arguments),
    /// Fill the indicated values of a run from what an electronic tool stored itself
    Pair(pair::Arguments),
    /// Find what a wrong reference reaches: verdicts that change, and letters to customers
    Exposure(exposure::Arguments),
    /// Check a certificate: its signature, and whether every number in it follows from its readings
    Recheck(recheck::Arguments),
    /// Read a Digital Calibration Certificate
    Dcc(dcc::Arguments),
    /// Make the laboratory's own key, or show what a certificate says
    Key(key::Arguments),
    /// The laboratory's record, from the tool at the door to the withdrawn certificate
    Ledger(ledger::Arguments),
    /// Listen to an instrument as its description says it speaks
    Instrument(instrument::Arguments),
    /// Draw the trace of a pull, with its first peak, its peak and its loading time
    Trace(trace::Arguments),
    /// Print a rulebook with the source of each of its values
    Rulebook(rulebook_command::Arguments),
    /// List the checks that every run goes through, or explain one
    Checks(checks::Arguments),
    /// Compute published examples inside this program and report whether they agree
    Selftest(selftest::Arguments),
    /// Print the JSON Schema of result.json
    Schema {
        /// of what `evaluate --under … --json` prints
        #[arg(long)]
        under: bool,
    },
    /// Print completions for a shell
    Completions(shell::Completions),
    /// Print the manual page
    Man,
}

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// It did what was asked.
    Done,
    /// The tool does not conform, and `--gate` was given.
    DoesNotConform,
    /// A value of the self-test does not agree.
    SelfTestFailed,
    /// A certificate does not agree, or nobody who is known signed it.
    RecheckFailed,
    /// Something in the ledger does not hold.
    LedgerNotWhole,
    /// A verdict changed with a reference that was found wrong, and `--gate` was given.
    VerdictsChanged,
    /// Some lines of an instrument were understood, and some were not.
    PartlyUnderstood,
    /// The input is wrong; everything has been said.
    BadInput,
}

/// Runs a command line and returns the exit code.
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    match run(cli, &mut std::io::stdout().lock()) {
        Ok(Ending::Done) => ExitCode::SUCCESS,
        Ok(
            Ending::DoesNotConform
            | Ending::SelfTestFailed
            | Ending::RecheckFailed
            | Ending::VerdictsChanged
            | Ending::LedgerNotWhole
            | Ending::PartlyUnderstood,
        ) => ExitCode::from(1),
        Ok(Ending::BadInput) => ExitCode::from(2),
        Err(failure) if failure.is_closed_pipe() => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("leverarm: {failure}");
            ExitCode::from(failure.kind.code())
        }
    }
}

fn run(cli: Cli, out: &mut impl Write) -> Result<Ending, Failure> {
    match cli.command {
        Command::Certify(arguments) => certify::run(&arguments, out),
        Command::Evaluate(arguments) => evaluate::run(&arguments, out),
        Command::Sequence(arguments) => sequence::run(&arguments, out),
        Command::Bench(arguments) => bench::run(&arguments, out),
        Command::Pair(arguments) => pair::run(&arguments, out),
        Command::Exposure(arguments) => exposure::run(&arguments, out),
        Command::Recheck(arguments) => recheck::run(&arguments, out),
        Command::Dcc(arguments) => dcc::run(&arguments, out),
        Command::Key(arguments) => key::run(&arguments, out),
        Command::Ledger(arguments) => ledger::run(&arguments, out),
        Command::Instrument(arguments) => instrument::run(&arguments, out),
        Command::Trace(arguments) => trace::run(&arguments, out),
        Command::Rulebook(arguments) => rulebook_command::run(&arguments, out),
        Command::Checks(arguments) => checks::run(&arguments, out),
        Command::Selftest(arguments) => selftest::run(&arguments, out),
        Command::Schema { under } => {
            use crate::export::{json, under as comparison};
            print_json(out, &if under { comparison::schema() } else { json::schema() })?;
            Ok(Ending::Done)
        }
        Command::Completions(arguments) => shell::completions(&arguments, out),
        Command::Man => shell::manual(out),
    }
}

/// Prints JSON, indented, with a newline at its end.
fn print_json(out: &mut impl Write, value: &impl serde::Serialize) -> Result<(), Failure> {
    serde_json::to_writer_pretty(&mut *out, value)?;
    writeln!(out)?;
    Ok(())
}
