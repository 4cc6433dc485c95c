//! `leverarm ledger`: the laboratory's record at the command line, from the tool at the door to the
//! withdrawn certificate.

mod answer;
mod certificate;
mod desk;
mod evaluation;
mod keeping;
mod lists;
mod names;
mod people;
mod receiving;
mod references;
mod runs;
mod show;
mod things;

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, Subcommand};

use self::desk::Desk;
use super::{Ending, Failure};

/// Arguments of `leverarm ledger`.
///
/// Who writes names himself with --as and signs with his own key; its passphrase is in
/// LEVERARM_PASSPHRASE or is asked for. Reading needs neither.
#[derive(Debug, Args)]
pub struct Arguments {
    #[command(flatten)]
    common: Common,
    #[command(subcommand)]
    what: What,
}

/// Options of every command of the ledger.
#[derive(Debug, Args)]
struct Common {
    /// the ledger: a file, or postgres://… ; else LEVERARM_LEDGER, else ledger.sqlite here
    #[arg(long, global = true, value_name = "FILE")]
    ledger: Option<String>,
    /// the schema of the ledger in a PostgreSQL database; else LEVERARM_SCHEMA, else ledger
    #[arg(long, global = true, value_name = "NAME")]
    schema: Option<String>,
    /// who writes, by the name in the ledger; else LEVERARM_AS
    #[arg(long = "as", global = true, value_name = "PERSON")]
    person: Option<String>,
    /// his key, encrypted (PEM); else LEVERARM_KEY
    #[arg(long, global = true, value_name = "KEY.pem")]
    key: Option<PathBuf>,
    /// the first line of this file is the key's passphrase; else LEVERARM_PASSPHRASE, else it is asked for
    #[arg(long, global = true, value_name = "FILE")]
    passphrase_file: Option<PathBuf>,
    /// print JSON
    #[arg(long, global = true)]
    json: bool,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Found the laboratory's ledger; the founder is its first administrator
    Init(people::Init),
    /// People, their keys and what they may do
    #[command(subcommand)]
    Person(people::Person),
    /// Customers
    #[command(subcommand)]
    Customer(things::Customer),
    /// Tools of customers
    #[command(subcommand)]
    Tool(things::Tool),
    /// References of the laboratory and their calibrations
    #[command(subcommand)]
    Reference(references::Reference),
    /// Check standards and their measurements
    #[command(subcommand)]
    CheckStandard(references::CheckStandard),
    /// Receive a tool with what was agreed: a new job
    Receive(receiving::Receive),
    /// Add a run folder to a job, every file of it
    AddRun(runs::AddRun),
    /// Write the run folders of a job out again, byte for byte
    ExportRun(runs::ExportRun),
    /// Evaluate the runs of a job and record the results
    Evaluate(evaluation::Evaluate),
    /// Hand a job to the approvers
    Submit(answer::Submit),
    /// Give a job back with remarks
    Return(answer::Return),
    /// Answer for a job
    Approve(answer::Approve),
    /// End a job without a certificate
    Close(answer::Close),
    /// Issue the certificate of an approved job under the next number of a series
    Issue(certificate::Issue),
    /// Put a new certificate in the place of one that holds
    Amend(certificate::Amend),
    /// Withdraw a certificate
    Withdraw(certificate::Withdraw),
    /// How the record stands: how many jobs are where
    Status,
    /// The jobs that wait: for an approver first, then for whom else
    Queue,
    /// Everything about a certificate, a job, a tool or a reference
    Show(show::Show),
    /// The entries, one a line
    Log(lists::Log),
    /// Tools and references that are due, by date and by uses
    Due(lists::Due),
    /// Hold everything against everything, and compute every evaluation anew
    Verify(keeping::Verify),
    /// Copy the ledger into a file while others write, with its SHA-256 beside it
    Backup(keeping::Backup),
    /// Restore a backup into a new ledger file, after it was verified
    Restore(keeping::Restore),
    /// Copy the ledger into a new one, from a file to a PostgreSQL server or back
    Copy(keeping::Copy),
    /// Write entries and tables for other programs
    Export(keeping::Export),
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let mut desk = Desk::new(&arguments.common, out);
    match &arguments.what {
        What::Init(arguments) => people::init(&mut desk, arguments),
        What::Person(arguments) => people::run(&mut desk, arguments),
        What::Customer(arguments) => things::customer(&mut desk, arguments),
        What::Tool(arguments) => things::tool(&mut desk, arguments),
        What::Reference(arguments) => references::reference(&mut desk, arguments),
        What::CheckStandard(arguments) => references::check_standard(&mut desk, arguments),
        What::Receive(arguments) => receiving::run(&mut desk, arguments),
        What::AddRun(arguments) => runs::add(&mut desk, arguments),
        What::ExportRun(arguments) => runs::export(&mut desk, arguments),
        What::Evaluate(arguments) => evaluation::run(&mut desk, arguments),
        What::Submit(arguments) => answer::submit(&mut desk, arguments),
        What::Return(arguments) => answer::give_back(&mut desk, arguments),
        What::Approve(arguments) => answer::approve(&mut desk, arguments),
        What::Close(arguments) => answer::close(&mut desk, arguments),
        What::Issue(arguments) => certificate::issue(&mut desk, arguments),
        What::Amend(arguments) => certificate::amend(&mut desk, arguments),
        What::Withdraw(arguments) => certificate::withdraw(&mut desk, arguments),
        What::Status => lists::status(&mut desk),
        What::Queue => lists::queue(&mut desk),
        What::Show(arguments) => show::run(&mut desk, arguments),
        What::Log(arguments) => lists::log(&mut desk, arguments),
        What::Due(arguments) => lists::due(&mut desk, arguments),
        What::Verify(arguments) => keeping::verify(&mut desk, arguments),
        What::Backup(arguments) => keeping::backup(&mut desk, arguments),
        What::Restore(arguments) => keeping::restore(&mut desk, arguments),
        What::Copy(arguments) => keeping::copy(&mut desk, arguments),
        What::Export(arguments) => keeping::export(&mut desk, arguments),
    }
}
