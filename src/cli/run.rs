//! `marshgas run`: one run of one scenario, told on the terminal and written into a folder.

use std::path::{Path, PathBuf};

use serde::Serialize;
use serde_json::Value;

use crate::case::Case;
use crate::digester::Bands;
use crate::report::{self, ReportError};
use crate::scenario::{Loaded, Warning};
use crate::simulate::{self, Outcome};
use crate::study::foam::{FoamFailure, FoamRow, foam, kept};

use super::failure::Failure;
use super::input::{self, Input, folder_of};
use super::results::{self, Results};
use super::terminal::Terminal;

/// Run a scenario: plots, tables and a summary.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas run warm-tote
  marshgas run mine.json --out winter --png
  marshgas run cold-yard --foam
  marshgas run mine.json --no-files --json > outcome.json

Writes report.html, the figures as SVG, daily.csv, trajectory.csv and
outcome.json, and heat.csv where the temperature is computed. Open
report.html in a browser; it needs no network.")]
pub(super) struct Options {
    /// Scenario file, or the name of a bundled scenario.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Folder for the files [default: results/ and the scenario's name].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Also run it with 0, 5, 10 and 15 cm of foam and tell what each is worth; needs a heat balance [default: do not].
    #[arg(long)]
    foam: bool,
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
        loaded:
            Loaded {
                case,
                warnings,
                json,
                ..
            },
    } = input::load_telling(&options.file, terminal)?;
    if options.foam && case.vessels.iter().all(|v| v.heat.is_none()) {
        return Err(no_foam(&case, &FoamFailure::NoHeat));
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
    let mut document = report::run(&outcome, &Bands::standard());
    let foam = match options.foam {
        true => Some(try_foam(&options.file, &case, &json, terminal)?),
        false => None,
    };
    if let Some(rows) = &foam {
        document
            .tables
            .insert(0, report::foam_table(rows, &kept(&json)));
    }
    let mut files = Vec::new();
    if let Some(folder) = room.folder() {
        let tables = tables(&outcome, options)
            .map_err(|error| results::failed(folder, &error.to_string()))?;
        let names: Vec<&str> = tables.iter().map(|(name, _)| *name).collect();
        files = room.paths(&document, &names);
        room.write(&document, tables, &[HEAT])?;
    }
    if terminal.wants_json() {
        let (schema, schema_version) = report::OUTCOME_SCHEMA;
        return terminal.print_json(&Told {
            schema,
            schema_version,
            files: &files,
            warnings: &warnings,
            foam: foam.as_deref(),
            outcome: &outcome,
        });
    }
    results::tell(&document, &files, terminal)?;
    if let Some(plant) = &case.plant {
        let one_of = if plant.units > 1 {
            format!(
                " This run is one of its {} equal digesters; `season` counts them all.",
                plant.units
            )
        } else {
            String::new()
        };
        terminal.print(&format!(
            "\nThe scenario has a plant behind the digester: `marshgas season` runs it through the days.{one_of}\n",
        ))?;
    }
    Ok(())
}

fn try_foam(
    file: &Path,
    case: &Case,
    json: &Value,
    terminal: &Terminal,
) -> Result<Vec<FoamRow>, Failure> {
    let progress = terminal.progress("trying foam");
    let source = &case.source.file;
    foam(json, source, folder_of(file), &mut |share| {
        progress.set(share);
    })
    .map_err(|failure| match failure {
        FoamFailure::Scenario(problems) => Failure::Scenario(problems),
        FoamFailure::Run { failure, .. } => Failure::Run {
            file: source.clone(),
            failure,
        },
        FoamFailure::NoHeat => no_foam(case, &failure),
    })
}

fn no_foam(case: &Case, why: &FoamFailure) -> Failure {
    Failure::Study {
        file: case.source.file.clone(),
        why: why.to_string(),
    }
}

/// Table of a run whose temperature is computed.
const HEAT: &str = "heat.csv";

/// The files beside the page and its figures, with their contents.
fn tables(
    outcome: &Outcome,
    options: &Options,
) -> Result<Vec<(&'static str, Vec<u8>)>, ReportError> {
    let flavour = results::flavour(options.csv_excel);
    let mut tables = vec![
        ("daily.csv", report::csv_daily(outcome, flavour)?),
        ("trajectory.csv", report::csv_trace(outcome, flavour)?),
        ("outcome.json", report::json(outcome)?),
    ];
    if let Some(heat) = report::csv_heat(outcome, flavour)? {
        tables.push((HEAT, heat));
    }
    let bytes = tables
        .into_iter()
        .map(|(name, text)| (name, text.into_bytes()));
    Ok(bytes.collect())
}

/// The result with `--json`.
#[derive(Serialize)]
struct Told<'a> {
    schema: &'a str,
    schema_version: u32,
    files: &'a [String],
    warnings: &'a [Warning],
    /// What each thickness of insulation is worth, with `--foam`.
    #[serde(skip_serializing_if = "Option::is_none")]
    foam: Option<&'a [FoamRow]>,
    outcome: &'a Outcome,
}
