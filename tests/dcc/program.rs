//! The program's half of `tests/dcc/independent.py`: it writes certificates with what stands in them, and
//! does the two halves of a signature around a key that it does not have.
//!
//! `dcc write FOLDER` · `dcc prepare FILE CERTIFICATE.der ecdsa|rsa` · `dcc finish FILE CERTIFICATE.der
//! ecdsa|rsa SIGNATURE` · `dcc open FILE` · `dcc reference FILE` · `dcc units`

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

use std::fs;
use std::io::Write;
use std::path::Path;

use leverarm_dcc::reference::{Own, Selection};
use leverarm_dcc::sign::{Algorithm, Prepared, open, prepare};
use leverarm_dcc::{NonSiUnit, Unit, as_reference, read, to_toml, write};

mod sample;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match arguments.as_slice() {
        ["write", folder] => {
            for (name, certificate) in [("full", sample::full()), ("small", sample::small())] {
                let folder = Path::new(folder);
                fs::write(folder.join(format!("{name}.xml")), write(&certificate).unwrap()).unwrap();
                fs::write(folder.join(format!("{name}.tsv")), said(&certificate)).unwrap();
            }
        }
        ["prepare", file, certificate, algorithm] => {
            out(&prepared(file, certificate, algorithm).signed_info())
        }
        ["finish", file, certificate, algorithm, signature] => {
            out(&prepared(file, certificate, algorithm).finish(&fs::read(signature).unwrap()));
        }
        ["open", file] => match open(&fs::read(file).unwrap()) {
            Ok(opened) => out(&opened.signed_info),
            Err(error) => {
                eprintln!("{error}");
                std::process::exit(2);
            }
        },
        ["reference", file] => {
            let dcc = read(&fs::read(file).unwrap()).unwrap();
            out(to_toml(&as_reference(&dcc, &Selection::default()).unwrap(), &Own::default()).as_bytes());
        }
        ["units"] => {
            Unit::ALL.iter().for_each(|unit| println!("{}", unit.d_si()));
            NonSiUnit::ALL.iter().for_each(|unit| println!("{}", unit.mark()));
        }
        _ => panic!("see the head of the source"),
    }
}

fn out(bytes: &[u8]) {
    std::io::stdout().write_all(bytes).unwrap();
}

fn prepared(file: &str, certificate: &str, algorithm: &str) -> Prepared {
    let algorithm = if algorithm == "rsa" { Algorithm::RsaSha256 } else { Algorithm::EcdsaSha256 };
    prepare(&fs::read(file).unwrap(), algorithm, &[fs::read(certificate).unwrap()]).unwrap()
}

/// What stands in the certificate, from the model and not from the XML: one line a list of values, in the
/// order of the file: unit, values, expanded uncertainties, k, probability.
fn said(certificate: &leverarm_dcc::model::Certificate) -> String {
    let join = |list: &[leverarm_dcc::Digits]| list.iter().map(|d| d.as_str()).collect::<Vec<_>>().join(" ");
    let mut lines = Vec::new();
    for direction in certificate.results.iter().flat_map(|result| &result.directions) {
        let torques = [&direction.nominal, &direction.reference].into_iter().chain(&direction.indicated);
        for series in torques {
            lines.push(format!("{}\t{}\t\t\t", series.unit.d_si(), join(&series.values)));
        }
        let deviation = &direction.deviation;
        let (u, k, p) = match &deviation.expanded {
            Some(expanded) => (join(&expanded.values), join(&expanded.k), join(&expanded.probability)),
            None => Default::default(),
        };
        lines.push(format!(
            "{}\t{}\t{u}\t{k}\t{p}",
            deviation.series.unit.d_si(),
            join(&deviation.series.values)
        ));
        for further in &direction.further {
            lines.push(format!("{}\t{}\t\t\t", further.series.unit.d_si(), join(&further.series.values)));
        }
        for at in &direction.readings {
            let point = &direction.nominal.values[at.point];
            lines.push(format!("{}\t{point}\t\t\t", direction.nominal.unit.d_si()));
            lines.push(format!("{}\t{}\t\t\t", at.reference.unit.d_si(), join(&at.reference.values)));
        }
    }
    lines.join("\n") + "\n"
}
