//! `marshgas diary new`: an empty record.

use std::path::PathBuf;

use serde_json::json;

use crate::cli::failure::Failure;
use crate::cli::new::write_new;
use crate::cli::terminal::Terminal;
use crate::diary::{self, Record};

/// Start an empty record.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas diary new mine.csv
  marshgas diary new ready.csv --example

Writes the heading of a table. Any column may be removed, any cell left empty.
A file that is already there is never overwritten.")]
pub(super) struct Options {
    /// The record to make, a CSV file.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Write an invented record of the scenario warm-tote [default: an empty one].
    #[arg(long)]
    example: bool,
}

/// The ready record.
const EXAMPLE: &str = include_str!("../../../scenarios/diary-tote.csv");

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let file = &options.file;
    let text = if options.example {
        EXAMPLE.to_owned()
    } else {
        diary::text(&Record::default()).map_err(|e| Failure::Write {
            path: file.clone(),
            why: e.to_string(),
        })?
    };
    write_new(file, &text)?;
    let name = file.display().to_string();
    if terminal.wants_json() {
        return terminal.print_json(&json!({ "file": name }));
    }
    if options.example {
        return terminal.print(&format!(
            "{name}: an invented record, not measured.\nLook at it: marshgas diary show {name} --scenario warm-tote"
        ));
    }
    terminal.print(&format!(
        "{name}: an empty record.\nFill it in a spreadsheet, or at the tank: marshgas diary add {name} fed 2 kg \
         kitchen-scraps gas 310"
    ))
}
