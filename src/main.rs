//! The `colletline` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    colletline::cli::run()
}
