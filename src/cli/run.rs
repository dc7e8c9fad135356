//! `marshgas run`: one run of one scenario, told on the terminal and written into a folder.

use std::path::PathBuf;

use serde::Serialize;

use crate::digester::Bands;
use crate::report::{self, Flavour, ReportError};
use crate::scenario::{Loaded, Warning};
use crate::simulate::{self, Outcome};

use super::failure::Failure;
use super::input::{self, Input};
use super::results::{self, Results};
use super::terminal::Terminal;

/// Run a scenario: plots, tables and a summary.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas run warm-tote
  marshgas run mine.json --out winter --png
  marshgas run mine.json --no-files --json > outcome.json

Writes report.html, the figures as SVG, daily.csv, trajectory.csv and
outcome.json. Open report.html in a browser; it needs no network.")]
pub(super) struct Options {
    /// Scenario file, or the name of a bundled scenario.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Folder for the files [default: results/ and the scenario's name].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write no files, print the summary only [default: write them].
    #[arg(long, conflicts_with_all = ["out", "png", "csv_excel"])]
    no_files: bool,
    /// Write the figures as PNG too [default: SVG only].
    #[arg(long)]
    png: bool,
    /// Write tables for spreadsheets set to a decimal comma: semicolons, decimal commas [default: commas, points].
    #[arg(long)]
    csv_excel: bool,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let Input {
        stem,
        loaded: Loaded { case, warnings, .. },
    } = input::load(&options.file)?;
    for warning in &warnings {
        terminal.warn(warning);
    }
    let room = Results::prepare(
        options.out.as_deref(),
        options.no_files,
        (&stem, ""),
        options.png,
    )?;
    let outcome = {
        let progress = terminal.progress("simulating");
        simulate::run(&case, &mut |share| progress.set(share)).map_err(|failure| Failure::Run {
            file: case.source.file.clone(),
            failure,
        })?
    };
    let document = report::run(&outcome, &Bands::standard());
    let files = room.paths(&document, &TABLES);
    if let Some(folder) = room.folder() {
        let tables = tables(&outcome, options)
            .map_err(|error| results::failed(folder, &error.to_string()))?;
        room.write(&document, tables, &[])?;
    }
    if terminal.wants_json() {
        let (schema, schema_version) = report::OUTCOME_SCHEMA;
        return terminal.print_json(&Told {
            schema,
            schema_version,
            files: &files,
            warnings: &warnings,
            outcome: &outcome,
        });
    }
    results::tell(&document, &files, terminal)
}

/// The files beside the page and its figures.
const TABLES: [&str; 3] = ["daily.csv", "trajectory.csv", "outcome.json"];

/// Their contents.
fn tables(
    outcome: &Outcome,
    options: &Options,
) -> Result<Vec<(&'static str, Vec<u8>)>, ReportError> {
    let flavour = if options.csv_excel {
        Flavour::Spreadsheet
    } else {
        Flavour::Plain
    };
    let [daily, trajectory, json] = TABLES;
    Ok(vec![
        (daily, report::csv_daily(outcome, flavour)?.into_bytes()),
        (
            trajectory,
            report::csv_trace(outcome, flavour)?.into_bytes(),
        ),
        (json, report::json(outcome)?.into_bytes()),
    ])
}

/// The result with `--json`.
#[derive(Serialize)]
struct Told<'a> {
    schema: &'a str,
    schema_version: u32,
    files: &'a [String],
    warnings: &'a [Warning],
    outcome: &'a Outcome,
}
