//! The `inkjoule` command.
#![forbid(unsafe_code)]

use std::process::ExitCode;

fn main() -> ExitCode {
    inkjoule::cli::main()
}
