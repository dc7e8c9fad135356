//! The `marshgas` binary: hands the arguments to [`marshgas::cli`] and returns its exit status.

use std::process::ExitCode;

fn main() -> ExitCode {
    marshgas::cli::main()
}
