//! `leverarm rulebook`: a rulebook with the source of each of its values.

use std::io::{ErrorKind, Write};
use std::path::Path;

use clap::Args;
use leverarm_metrology::rulebook::{EMBEDDED, Rulebook, embedded};

use super::{Ending, Failure, print_json, rulebook};
use crate::{diagnose, ingest};

/// Arguments of `leverarm rulebook`.
#[derive(Debug, Args)]
pub struct Arguments {
    /// name of a built-in rulebook, or path of the laboratory's own; without it the built-in ones
    /// are listed
    name: Option<String>,
    /// print JSON
    #[arg(long)]
    json: bool,
    /// print the TOML itself, to start a rulebook of the laboratory's own from
    #[arg(long, conflicts_with = "json")]
    toml: bool,
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let Some(name) = &arguments.name else { return list(arguments.json, out) };
    let text = match embedded(name) {
        Some(found) => found.text.to_owned(),
        None => read(name)?,
    };
    if arguments.toml {
        out.write_all(text.as_bytes())?;
        return Ok(Ending::Done);
    }
    let parsed = parse(&text, name)?;
    let unprintable =
        if embedded(name).is_some() { Vec::new() } else { ingest::rulebook::unprintable(&text) };
    if !unprintable.is_empty() {
        let said = diagnose::rulebook_findings(&text, name, &unprintable);
        return Err(Failure::bad_input(
            format!("this rulebook holds what cannot be printed\n\n{}", said.trim_end()),
            "mend these texts",
        ));
    }
    if arguments.json {
        print_json(out, &rulebook::render_json(&parsed))?;
    } else {
        out.write_all(rulebook::render_text(&parsed).as_bytes())?;
    }
    Ok(Ending::Done)
}

fn list(as_json: bool, out: &mut impl Write) -> Result<Ending, Failure> {
    let mut rulebooks = Vec::new();
    for found in EMBEDDED {
        rulebooks.push(parse(found.text, found.name)?);
    }
    if as_json {
        let list: Vec<_> = rulebooks
            .iter()
            .map(|r| serde_json::json!({ "name": r.name, "title": r.title, "purpose": r.purpose }))
            .collect();
        print_json(out, &list)?;
    } else {
        for r in rulebooks {
            writeln!(out, "{:<16} {}", r.name, r.title)?;
        }
    }
    Ok(Ending::Done)
}

fn read(name: &str) -> Result<String, Failure> {
    std::fs::read_to_string(Path::new(name)).map_err(|error| {
        let name = diagnose::harmless(name);
        let why = match error.kind() {
            ErrorKind::NotFound => "there is no such file".to_owned(),
            ErrorKind::IsADirectory => "it is a folder".to_owned(),
            ErrorKind::InvalidData => "the file is not written in UTF-8".to_owned(),
            _ => format!("the file cannot be read: {error}"),
        };
        let names: Vec<&str> = EMBEDDED.iter().map(|r| r.name).collect();
        Failure::bad_input(
            format!("there is no built-in rulebook '{name}', and {why}"),
            format!("name one of {}, or a TOML file", names.join(", ")),
        )
    })
}

fn parse(text: &str, name: &str) -> Result<Rulebook, Failure> {
    Rulebook::parse(text).map_err(|errors| {
        Failure::bad_input(
            format!(
                "this rulebook cannot be used\n\n{}",
                diagnose::rulebook_errors(text, name, &errors).trim_end()
            ),
            "'leverarm rulebook iso-6789-2 --toml' prints one that is right",
        )
    })
}
