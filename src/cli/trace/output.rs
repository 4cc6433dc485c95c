//! Where a trace goes that was looked at.

use std::fs;
use std::io::{self, BufWriter, IsTerminal, Write};
use std::path::Path;

use super::Arguments;
use crate::certificate::draw;
use crate::cli::{Ending, Failure, print_json};
use crate::export::folder;
use crate::export::trace::{Charset, Seen, chart::chart, csv, text::text};

/// Columns where nobody says how wide the terminal is.
const WIDTH: usize = 80;

/// Makes every file before the first is written; draws on the terminal where none was asked for.
pub(super) fn write(arguments: &Arguments, seen: &Seen, out: &mut impl Write) -> Result<Ending, Failure> {
    let is_printed = |path: &Path| path.as_os_str() == "-";
    if arguments.json && arguments.csv.as_deref().is_some_and(is_printed) {
        return Err(Failure::bad_input(
            "--json and --csv - would both print to the terminal",
            "give --csv a file, or leave one of them out",
        ));
    }
    let mut files: Vec<(&str, &Path, Vec<u8>)> = Vec::new();
    if let Some(path) = &arguments.svg {
        let svg = draw(&chart(seen)).map_err(|error| Failure::fault(error.to_string()))?;
        files.push(("Chart", path, svg.into_bytes()));
    }
    let mut printed = false;
    match arguments.csv.as_deref() {
        Some(path) if is_printed(path) => printed = true,
        Some(path) => {
            let mut bytes = Vec::new();
            csv::write(&seen.trace, &mut bytes)?;
            files.push(("Samples", path, bytes));
        }
        None => {}
    }
    let written: Vec<String> = files
        .iter()
        .map(|(what, path, bytes)| {
            file(path, bytes, arguments.force)?;
            Ok(format!("{what}: {}", path.display()))
        })
        .collect::<Result<_, Failure>>()?;
    if printed {
        let mut buffered = BufWriter::new(&mut *out);
        csv::write(&seen.trace, &mut buffered)?;
        buffered.flush()?;
    } else if arguments.json {
        print_json(out, &seen.facts)?;
    } else if written.is_empty() {
        out.write_all(text(seen, arguments.columns(), arguments.charset()).as_bytes())?;
    } else {
        written.iter().try_for_each(|line| writeln!(out, "{line}"))?;
    }
    Ok(Ending::Done)
}

impl Arguments {
    pub(super) fn columns(&self) -> usize {
        let of_terminal =
            || terminal_size::terminal_size_of(io::stdout()).map(|(width, _)| usize::from(width.0));
        self.width.or_else(of_terminal).unwrap_or(WIDTH)
    }

    /// The text console of Linux and a dumb terminal have no braille.
    pub(super) fn charset(&self) -> Charset {
        let is_plain = || {
            let named = std::env::var("TERM").unwrap_or_default();
            io::stdout().is_terminal() && matches!(named.as_str(), "linux" | "dumb")
        };
        if self.ascii || is_plain() { Charset::Ascii } else { Charset::Unicode }
    }
}

/// Writes a file whole or not at all. Other content is replaced only when that was asked for.
fn file(path: &Path, bytes: &[u8], force: bool) -> Result<(), Failure> {
    if path.exists() {
        if fs::read(path).is_ok_and(|there| there == bytes) {
            return Ok(());
        }
        if !force {
            return Err(Failure::bad_input(
                format!("{} is there with other content", path.display()),
                "give another file, or --force to replace it",
            ));
        }
    }
    folder::replace_file(path, bytes).map_err(|error| {
        Failure::bad_input(
            format!("cannot write {}: {error}", path.display()),
            "give a file in a folder that is there and may be written to",
        )
    })
}
