//! `leverarm dcc`: the reference file of a transducer from its Digital Calibration Certificate.

use std::io::Write;
use std::path::PathBuf;

use chrono::NaiveDate;
use clap::{Args, Subcommand};
use leverarm_dcc::model::Direction;
use leverarm_dcc::reference::{CurveSelection, Own, Selection};
use leverarm_dcc::{as_reference, to_toml};

use super::key::read_within;
use super::{Ending, Failure};

/// Arguments of `leverarm dcc`.
#[derive(Debug, Args)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Print the reference file of a transducer, from its certificate
    Reference(Box<Reference>),
}

#[derive(Debug, Args)]
struct Reference {
    /// the Digital Calibration Certificate of the transducer, XML
    file: PathBuf,
    /// which item of the certificate, from 1
    #[arg(long, value_name = "NUMBER")]
    item: Option<usize>,
    /// which of its numbers is the serial number
    #[arg(long)]
    serial: Option<String>,
    /// a table that is the calibration clockwise, by its number from 1
    #[arg(long, value_name = "NUMBER")]
    table: Option<usize>,
    /// a table that is the calibration counter-clockwise
    #[arg(long, value_name = "NUMBER")]
    table_counter: Option<usize>,
    /// in the tables: the quantity that is the applied torque, by its name, term or id
    #[arg(long, value_name = "QUANTITY")]
    applied: Option<String>,
    /// the quantity that is what the transducer showed
    #[arg(long, value_name = "QUANTITY", conflicts_with = "deviation")]
    indicated: Option<String>,
    /// the quantity that is the deviation
    #[arg(long, value_name = "QUANTITY")]
    deviation: Option<String>,
    /// the quantity that carries the expanded uncertainty
    #[arg(long, value_name = "QUANTITY")]
    uncertainty: Option<String>,
    /// your own name for the reference
    #[arg(long)]
    id: Option<String>,
    /// to what it is traceable, in words
    #[arg(long)]
    traceability: Option<String>,
    /// last day on which it may be used
    #[arg(long, value_name = "DATE")]
    due: Option<NaiveDate>,
    /// one step of its display, such as "0.01 N·m"
    #[arg(long)]
    resolution: Option<String>,
    /// whether the uncertainties of the certificate hold the resolution
    #[arg(long, value_name = "true|false")]
    resolution_included: Option<bool>,
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let What::Reference(asked) = &arguments.what;
    let bytes = read_within(&asked.file, leverarm_dcc::read::MAX_BYTES as u64)?;
    let shown = asked.file.display();
    let remedy = "correct the file, or write the reference file by hand";
    let dcc = leverarm_dcc::read(&bytes)
        .map_err(|error| Failure::bad_input(format!("{shown}: {error}"), remedy))?;
    let data = as_reference(&dcc, &selection(asked))
        .map_err(|error| Failure::bad_input(format!("{shown}: {error}"), error.remedy()))?;
    let own = Own {
        id: asked.id.clone(),
        traceability: asked.traceability.clone(),
        due: asked.due,
        resolution: asked.resolution.clone(),
        resolution_included: asked.resolution_included,
    };
    out.write_all(to_toml(&data, &own).as_bytes())?;
    Ok(Ending::Done)
}

/// The tables that were named, each with the same names of quantities.
fn selection(asked: &Reference) -> Selection {
    let tables = [(asked.table, Direction::Clockwise), (asked.table_counter, Direction::CounterClockwise)];
    let curves = tables.into_iter().filter_map(|(table, direction)| {
        let table = table?;
        Some(CurveSelection {
            table,
            direction: Some(direction),
            applied: asked.applied.clone(),
            indicated: asked.indicated.clone(),
            deviation: asked.deviation.clone(),
            uncertainty: asked.uncertainty.clone(),
        })
    });
    Selection { item: asked.item, serial: asked.serial.clone(), curves: curves.collect() }
}
