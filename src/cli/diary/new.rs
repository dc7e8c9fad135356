//! `marshgas diary new`: an empty record.

use std::fs::OpenOptions;
use std::io::{ErrorKind, Write as _};
use std::path::PathBuf;

use serde_json::json;

use crate::cli::failure::Failure;
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
    let failed = |why: String| Failure::Write {
        path: file.clone(),
        why,
    };
    let text = if options.example {
        EXAMPLE.to_owned()
    } else {
        diary::text(&Record::default()).map_err(|e| failed(e.to_string()))?
    };
    let refuse = |why: String, mend| Failure::Path {
        path: file.clone(),
        why,
        mend,
    };
    let mut opened = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(file)
        .map_err(|e| match e.kind() {
            ErrorKind::AlreadyExists => refuse(
                "this is already there, and nothing is overwritten".into(),
                "Give another name.",
            ),
            ErrorKind::NotFound => refuse(
                "its folder does not exist".into(),
                "Make the folder first, or give another name.",
            ),
            _ => refuse(
                format!("the file cannot be made: {e}"),
                "Give another name.",
            ),
        })?;
    opened
        .write_all(text.as_bytes())
        .map_err(|e| failed(e.to_string()))?;
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
