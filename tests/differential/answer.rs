//! Reads questions as lines of JSON and writes an answer a line: the pure core's half of the
//! differential tests (see the README beside this file).

mod answering;

use std::io::{BufRead, Error, Write};

fn main() -> Result<(), Error> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for line in std::io::stdin().lock().lines() {
        let answer = serde_json::from_str(&line?)
            .map_err(|error| error.to_string())
            .and_then(answering::answer)
            .unwrap_or_else(|error| serde_json::json!({ "error": error }));
        writeln!(out, "{answer}")?;
    }
    out.flush()
}
