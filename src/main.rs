//! Hands the command line over and exits with what comes back.

use std::process::ExitCode;

fn main() -> ExitCode {
    lowbell::cli::main()
}
