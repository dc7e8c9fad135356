//! `marshgas season`: the plant behind the digester through the run, on one sheet, with a calendar of chores.

use std::path::PathBuf;

use serde::Serialize;

use crate::report::{self, ReportError};
use crate::scenario::{Loaded, Warning};
use crate::simulate;
use crate::study::season::{SeasonFailure, SeasonOutcome, season};

use super::failure::Failure;
use super::input::{self, Input};
use super::results::{self, Results};
use super::terminal::Terminal;

/// Run the plant through the year: cleaning, store, uses, chores.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas season winter-engine
  marshgas season mine.json --out year
  marshgas season mine.json --no-files --json > season.json

The scenario needs a \"plant\": at least a store, better with appliances and a
timetable. Writes report.html (one sheet for the year), plant.csv (by day),
season.json, the figures as SVG and, where the scenario has a \"start_date\",
chores.ics for your calendar.")]
pub(super) struct Options {
    /// Scenario file, or the name of a bundled scenario.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Folder for the files [default: results/ and the scenario's name with -season].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write no files, print the summary only [default: write them].
    #[arg(long, conflicts_with_all = ["out", "png", "csv_excel"])]
    no_files: bool,
    /// Write the figures as PNG too [default: SVG only].
    #[arg(long)]
    png: bool,
    /// Write the table for spreadsheets set to a decimal comma: semicolons, decimal commas [default: commas, points].
    #[arg(long)]
    csv_excel: bool,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let Input {
        stem,
        loaded: Loaded { case, warnings, .. },
    } = input::load(&options.file)?;
    let file = &case.source.file;
    for warning in &warnings {
        terminal.warn(warning);
    }
    if case.plant.is_none() {
        return Err(Failure::of_season(file, SeasonFailure::NoPlant));
    }
    let room = Results::prepare(
        options.out.as_deref(),
        options.no_files,
        (&stem, "-season"),
        options.png,
    )?;
    let outcome = {
        let progress = terminal.progress("simulating");
        simulate::run(&case, &mut |share| progress.set(share)).map_err(|failure| Failure::Run {
            file: file.clone(),
            failure,
        })?
    };
    let season = season(&case, &outcome).map_err(|failure| Failure::of_season(file, failure))?;
    let document = report::season(&season, &outcome);
    let mut files = Vec::new();
    let written = room.folder().is_some();
    if let Some(folder) = room.folder() {
        let tables = tables(&season, options)
            .map_err(|error| results::failed(folder, &error.to_string()))?;
        let names: Vec<&str> = tables.iter().map(|(name, _)| *name).collect();
        files = room.paths(&document, &names);
        room.write(&document, tables, &[CALENDAR])?;
    }
    if terminal.wants_json() {
        return terminal.print_json(&Told {
            schema: report::SEASON_SCHEMA.0,
            schema_version: report::SEASON_SCHEMA.1,
            files: &files,
            warnings: &warnings,
            season: &season,
        });
    }
    results::tell(&document, &files, terminal)?;
    if written && season.start_date.is_none() {
        terminal.print("No chores.ics: the scenario has no \"start_date\".\n")?;
    }
    Ok(())
}

/// The result with `--json`.
#[derive(Serialize)]
struct Told<'a> {
    schema: &'a str,
    schema_version: u32,
    files: &'a [String],
    warnings: &'a [Warning],
    season: &'a SeasonOutcome,
}

/// The chores as a calendar, where the scenario has a date.
const CALENDAR: &str = "chores.ics";

/// The files beside the sheet and its figures, with their contents.
fn tables(
    season: &SeasonOutcome,
    options: &Options,
) -> Result<Vec<(&'static str, Vec<u8>)>, ReportError> {
    let flavour = results::flavour(options.csv_excel);
    let mut tables = vec![
        ("plant.csv", report::csv_season(season, flavour)?),
        ("season.json", report::json_season(season)?),
    ];
    if let Some(calendar) = report::ics(season) {
        tables.push((CALENDAR, calendar));
    }
    let bytes = tables
        .into_iter()
        .map(|(name, text)| (name, text.into_bytes()));
    Ok(bytes.collect())
}
