//! `leverarm completions` and `leverarm man`.

use std::io::Write;

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::{Cli, Ending, Failure};

/// Arguments of `leverarm completions`.
#[derive(Debug, Args)]
pub struct Completions {
    /// the shell
    shell: Shell,
}

pub(super) fn completions(arguments: &Completions, out: &mut impl Write) -> Result<Ending, Failure> {
    // Written to memory first: the generator panics when its output cannot be written.
    let mut text = Vec::new();
    clap_complete::generate(arguments.shell, &mut Cli::command(), "leverarm", &mut text);
    out.write_all(&text)?;
    Ok(Ending::Done)
}

pub(super) fn manual(out: &mut impl Write) -> Result<Ending, Failure> {
    clap_mangen::Man::new(Cli::command()).render(out)?;
    Ok(Ending::Done)
}
