//! `marshgas schema`: the JSON Schema of a scenario or of a wish.

use crate::scenario;

use super::failure::Failure;
use super::terminal::Terminal;

/// Print the JSON Schema of a scenario or wish file.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas schema > scenario.schema.json
  marshgas schema wish > wish.schema.json

An editor that knows JSON Schema can then check and complete a file while
you type.")]
pub(super) struct Options {
    /// Kind of file: scenario, or wish for `marshgas size`.
    #[arg(value_name = "KIND", value_enum, default_value_t = Kind::Scenario, hide_possible_values = true)]
    kind: Kind,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Kind {
    /// A scenario.
    Scenario,
    /// A wish.
    Wish,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    terminal.print_json(&match options.kind {
        Kind::Scenario => scenario::schema(),
        Kind::Wish => scenario::wish_schema(),
    })
}
