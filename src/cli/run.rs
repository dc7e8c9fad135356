//! `marshgas run`: one run of one scenario, told on the terminal and written into a folder.

use std::path::{Path, PathBuf};

use serde::Serialize;
use serde_json::Value;

use crate::case::Case;
use crate::digester::Bands;
use crate::report::{self, Document, Flavour, ReportError};
use crate::scenario::{Loaded, Warning};
use crate::simulate::{self, Outcome};
use crate::study::foam::{FoamFailure, FoamRow, foam};

use super::failure::Failure;
use super::folder::Folder;
use super::input::{self, Input};
use super::sweep::folder_of;
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
    } = input::load(&options.file)?;
    for warning in &warnings {
        terminal.warn(warning);
    }
    if options.foam && case.vessels.iter().all(|v| v.heat.is_none()) {
        return Err(no_foam(&case, &FoamFailure::NoHeat));
    }
    let folder = match (&options.out, options.no_files) {
        (_, true) => None,
        (Some(out), _) => Some(Folder::prepare(out)?),
        (None, _) => Some(Folder::prepare(&Path::new("results").join(stem))?),
    };
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
        document.tables.insert(0, report::foam_table(rows));
    }
    let files = match folder {
        Some(folder) => write(folder, &outcome, &document, options)?,
        None => Vec::new(),
    };
    let told = Told {
        schema: report::OUTCOME_SCHEMA.0,
        schema_version: report::OUTCOME_SCHEMA.1,
        files: &files,
        warnings: &warnings,
        plant: case.plant.is_some(),
        foam: foam.as_deref(),
        outcome: &outcome,
    };
    tell(&told, &document, terminal)
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

fn write(
    folder: Folder,
    outcome: &Outcome,
    document: &Document,
    options: &Options,
) -> Result<Vec<String>, Failure> {
    let path = folder.path().to_owned();
    let failed = |error: ReportError| Failure::Write {
        path: path.clone(),
        why: error.to_string(),
    };
    let files = render(outcome, document, options).map_err(failed)?;
    report::write_all(folder.path(), &files).map_err(failed)?;
    folder.keep();
    Ok(files
        .iter()
        .map(|(name, _)| path.join(name).display().to_string())
        .collect())
}

/// Names and contents of all files.
fn render(
    outcome: &Outcome,
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
            "daily.csv".to_owned(),
            report::csv_daily(outcome, flavour)?.into_bytes(),
        ),
        (
            "trajectory.csv".to_owned(),
            report::csv_trace(outcome, flavour)?.into_bytes(),
        ),
        (
            "outcome.json".to_owned(),
            report::json(outcome)?.into_bytes(),
        ),
    ];
    if let Some(heat) = report::csv_heat(outcome, flavour)? {
        files.push(("heat.csv".to_owned(), heat.into_bytes()));
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

/// The result with `--json`.
#[derive(Serialize)]
struct Told<'a> {
    schema: &'a str,
    schema_version: u32,
    files: &'a [String],
    warnings: &'a [Warning],
    /// Whether the scenario has a plant that `season` would run.
    #[serde(skip)]
    plant: bool,
    /// What each thickness of insulation is worth, with `--foam`.
    #[serde(skip_serializing_if = "Option::is_none")]
    foam: Option<&'a [FoamRow]>,
    outcome: &'a Outcome,
}

fn tell(told: &Told<'_>, document: &Document, terminal: &mut Terminal) -> Result<(), Failure> {
    if terminal.wants_json() {
        return terminal.print_json(told);
    }
    let files = told.files;
    let (width, unicode) = terminal.layout();
    // Colours are always set; the stream takes them out where nobody wants them.
    let mut text = report::text(document, width, true, unicode);
    if told.plant {
        text.push_str(
            "\nThe scenario has a plant behind the digester: `marshgas season` runs it through the days.\n",
        );
    }
    if !files.is_empty() {
        text.push_str(&format!(
            "\nFiles\n{}\n",
            files
                .iter()
                .map(|f| format!("  {f}"))
                .collect::<Vec<_>>()
                .join("\n")
        ));
    }
    terminal.print(&text)
}
