//! `marshgas season`: the plant behind the digester through the run, on one sheet, with a calendar of chores.

use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::report::{self, Document, Flavour, ReportError};
use crate::scenario::{Loaded, Warning};
use crate::simulate;
use crate::study::season::{SeasonFailure, SeasonOutcome, season};

use super::failure::Failure;
use super::folder::Folder;
use super::input::{self, Input};
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
    let folder = match (&options.out, options.no_files) {
        (_, true) => None,
        (Some(out), _) => Some(Folder::prepare(out)?),
        (None, _) => Some(Folder::prepare(
            &Path::new("results").join(format!("{stem}-season")),
        )?),
    };
    let outcome = {
        let progress = terminal.progress("simulating");
        simulate::run(&case, &mut |share| progress.set(share)).map_err(|failure| Failure::Run {
            file: file.clone(),
            failure,
        })?
    };
    let season = season(&case, &outcome).map_err(|failure| Failure::of_season(file, failure))?;
    let document = report::season(&season, &outcome);
    let files = match folder {
        Some(folder) => write(folder, &season, &document, options)?,
        None => Vec::new(),
    };
    if terminal.wants_json() {
        return terminal.print_json(&Told {
            schema: report::SEASON_SCHEMA.0,
            schema_version: report::SEASON_SCHEMA.1,
            files: &files,
            warnings: &warnings,
            season: &season,
        });
    }
    let (width, unicode) = terminal.layout();
    let mut text = report::text(&document, width, true, unicode);
    if !files.is_empty() {
        let list: Vec<String> = files.iter().map(|f| format!("  {f}")).collect();
        text.push_str(&format!("\nFiles\n{}\n", list.join("\n")));
        if season.start_date.is_none() {
            text.push_str("No chores.ics: the scenario has no \"start_date\".\n");
        }
    }
    terminal.print(&text)
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

fn write(
    folder: Folder,
    season: &SeasonOutcome,
    document: &Document,
    options: &Options,
) -> Result<Vec<String>, Failure> {
    let path = folder.path().to_owned();
    let failed = |error: ReportError| Failure::Write {
        path: path.clone(),
        why: error.to_string(),
    };
    let files = render(season, document, options).map_err(failed)?;
    report::write_all(folder.path(), &files).map_err(failed)?;
    folder.keep();
    Ok(files
        .iter()
        .map(|(name, _)| path.join(name).display().to_string())
        .collect())
}

/// Names and contents of all files.
fn render(
    season: &SeasonOutcome,
    document: &Document,
    options: &Options,
) -> Result<Vec<(String, Vec<u8>)>, ReportError> {
    let flavour = if options.csv_excel {
        Flavour::Spreadsheet
    } else {
        Flavour::Plain
    };
    let mut files = vec![
        (
            "report.html".to_owned(),
            report::html(document)?.into_bytes(),
        ),
        (
            "plant.csv".to_owned(),
            report::csv_season(season, flavour)?.into_bytes(),
        ),
        (
            "season.json".to_owned(),
            report::json_season(season)?.into_bytes(),
        ),
    ];
    if let Some(calendar) = report::ics(season) {
        files.push(("chores.ics".to_owned(), calendar.into_bytes()));
    }
    for figure in &document.figures {
        files.push((
            format!("{}.svg", figure.id),
            report::svg(figure, report::Theme::Light).into_bytes(),
        ));
        if options.png {
            files.push((format!("{}.png", figure.id), report::png(figure)?));
        }
    }
    Ok(files)
}
