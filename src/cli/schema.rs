//! `marshgas schema`: the JSON Schema of a scenario.

use crate::scenario;

use super::failure::Failure;
use super::terminal::Terminal;

/// Print the JSON Schema of a scenario file.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas schema > scenario.schema.json

An editor that knows JSON Schema can then check and complete a scenario while
you type.")]
pub(super) struct Options {}

pub(super) fn run(_: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    terminal.print_json(&scenario::schema())
}
