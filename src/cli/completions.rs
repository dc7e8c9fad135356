//! `marshgas completions`: a completion script for a shell.

use clap::CommandFactory as _;
use clap_complete::Shell;
use serde_json::json;

use super::args::Args;
use super::failure::Failure;
use super::terminal::Terminal;

/// Print a completion script for a shell.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas completions fish > ~/.config/fish/completions/marshgas.fish
  source <(marshgas completions bash)")]
pub(super) struct Options {
    /// The shell to write for.
    #[arg(value_name = "SHELL", value_enum)]
    shell: Shell,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let mut script = Vec::new();
    clap_complete::generate(options.shell, &mut Args::command(), "marshgas", &mut script);
    let script = String::from_utf8_lossy(&script);
    if terminal.wants_json() {
        return terminal
            .print_json(&json!({ "shell": options.shell.to_string(), "script": script }));
    }
    terminal.print(&script)
}
