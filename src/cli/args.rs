//! The words a user can type. Each command keeps its own options in its own file.

use clap::{Parser, Subcommand, ValueEnum};

use super::{
    check, completions, diary, evidence, feedstocks, leak, limit, manual, new, risk, run,
    scenarios, schema, season, size, startup, sweep,
};

/// Simulates small hand-fed biogas digesters.
#[derive(Debug, Parser)]
#[command(
    name = "marshgas",
    version,
    about = "Simulates small hand-fed biogas digesters: start-up, feeding, retention, gas.",
    after_help = MAIN_HELP,
    max_term_width = 80,
    disable_help_subcommand = true,
    subcommand_value_name = "COMMAND",
    infer_long_args = false
)]
pub(super) struct Args {
    #[command(subcommand)]
    pub(super) command: Command,
    #[command(flatten)]
    pub(super) everywhere: Everywhere,
}

const MAIN_HELP: &str = "\
Examples:
  marshgas scenarios               list the ready scenarios
  marshgas run warm-tote           run one, write plots and tables
  marshgas limit warm-tote         find where it would turn sour
  marshgas new mine.json           start a scenario of your own
  marshgas check mine.json         see every problem at once
  marshgas run mine.json           run it

Results go to standard output. Progress, warnings and errors go to standard
error. With --json both are JSON. NO_COLOR switches colours off.

Exit status:
  0  done (also when the reader of a pipe stops early)
  1  the job failed: the simulation or the writing of a file
  2  bad input: the command line, a scenario or a path

A simulation is no permission. Biogas burns, explodes and poisons: follow your
local rules and ask licensed people about gas, pressure and engines.";

/// Options that every command takes.
#[derive(Debug, Clone, Copy, clap::Args)]
#[command(next_help_heading = "Options of every command")]
pub(super) struct Everywhere {
    /// Write results and errors as JSON [default: as text].
    #[arg(long, global = true)]
    pub(super) json: bool,
    /// Leave out the progress bar; warnings and errors stay [default: show it].
    #[arg(long, short, global = true)]
    pub(super) quiet: bool,
    /// When to use colours: auto (on a terminal, unless NO_COLOR is set), always or never.
    #[arg(long, global = true, value_name = "WHEN", value_enum, default_value_t = Colour::Auto, hide_possible_values = true)]
    pub(super) color: Colour,
}

/// When to use colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Colour {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Even into a file or a pipe.
    Always,
    /// Not at all.
    Never,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    Run(run::Options),
    Risk(risk::Options),
    Startup(startup::Options),
    Sweep(sweep::Options),
    Limit(limit::Options),
    Season(season::Options),
    Size(size::Options),
    Leak(leak::Options),
    Diary(diary::Options),
    New(new::Options),
    Check(check::Options),
    Feedstocks(feedstocks::Options),
    Schema(schema::Options),
    Evidence(evidence::Options),
    Scenarios(scenarios::Options),
    Completions(completions::Options),
    Manual(manual::Options),
}
