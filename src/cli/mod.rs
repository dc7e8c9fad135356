//! Command line (layer 9): arguments, exit status, terminal.

use std::process::ExitCode;

/// Runs the program and returns its exit status: 0 ok, 1 the job failed, 2 bad input.
#[must_use]
pub fn main() -> ExitCode {
    ExitCode::SUCCESS
}
