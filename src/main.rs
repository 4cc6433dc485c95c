//! The program `leverarm`: see the library of the same name.

use std::process::ExitCode;

fn main() -> ExitCode {
    leverarm::cli::main()
}
