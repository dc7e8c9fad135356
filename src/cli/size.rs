//! `marshgas size`: from a wish to the smallest plant that reaches it.

use std::path::{Path, PathBuf};

use serde::Serialize;
use serde_json::json;

use crate::report::{self, Document, ReportError};
use crate::scenario::Warning;
use crate::study::batch::MAX_THREADS;
use crate::study::size::{DRAWS, EXAMPLE, Options as Search, SizeOutcome, Wish, climates, size};

use super::columns::{Side, lines};
use super::failure::Failure;
use super::folder::Folder;
use super::interrupt;
use super::terminal::Terminal;

/// Find the smallest plant that reaches a wish.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas size --example > wish.json
  marshgas size wish.json
  marshgas size --climates
  marshgas run results/wish-size/plant.json

A wish names what there is, the climate, one target (hours of a burner, heat
or current of a winter, a mass to treat) and what you can build. Writes
report.html, the figures as SVG, size.json and the plant as a scenario,
plant.json. That a wish cannot be met is a result. A search takes from some
seconds to some minutes; Ctrl-C ends it early and tells the best plant so
far, a second one ends at once.")]
pub(super) struct Options {
    /// Wish file.
    #[arg(value_name = "FILE", required_unless_present_any = ["example", "climates"])]
    file: Option<PathBuf>,
    /// Print a wish to begin from, and do nothing else.
    #[arg(long, conflicts_with_all = ["file", "climates"])]
    example: bool,
    /// List the named climates, and do nothing else.
    #[arg(long, conflicts_with = "file")]
    climates: bool,
    /// Draws of what is not known, for the chance, 8 to 1000.
    #[arg(long, value_name = "N", default_value_t = 32, value_parser = draws)]
    draws: usize,
    /// Seed of the draws, 0 to 2^64 - 1: the same seed gives the same result.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Folder for the files [default: results/, the name of the file and -size].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write no files, print the summary only [default: write them].
    #[arg(long, conflicts_with = "out")]
    no_files: bool,
    /// Threads, 1 to 256 [default: one for each core]. The result is the same for any number.
    #[arg(long, value_name = "N", value_parser = threads)]
    threads: Option<usize>,
}

fn draws(text: &str) -> Result<usize, String> {
    match text.parse::<usize>() {
        Ok(n) if (DRAWS.0..=DRAWS.1).contains(&n) => Ok(n),
        _ => Err(format!(
            "give a whole number from {} to {}",
            DRAWS.0, DRAWS.1
        )),
    }
}

fn threads(text: &str) -> Result<usize, String> {
    match text.parse::<usize>() {
        Ok(n) if (1..=MAX_THREADS).contains(&n) => Ok(n),
        _ => Err(format!("give a whole number from 1 to {MAX_THREADS}")),
    }
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    match &options.file {
        Some(file) => search(file, options, terminal),
        None if options.climates => list(terminal),
        None => terminal.print(EXAMPLE),
    }
}

fn list(terminal: &mut Terminal) -> Result<(), Failure> {
    if terminal.wants_json() {
        return terminal.print_json(&json!({ "climates": climates() }));
    }
    let rows: Vec<Vec<String>> = climates()
        .iter()
        .map(|c| vec![c.name.clone(), c.about.clone()])
        .collect();
    terminal.print(&lines(&[Side::Left, Side::Left], &rows))
}

fn search(file: &Path, options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let (wish, warnings) = Wish::load(file)?;
    for warning in &warnings {
        terminal.warn(warning);
    }
    let stem = file
        .file_stem()
        .unwrap_or(file.as_os_str())
        .to_string_lossy();
    let folder = match (&options.out, options.no_files) {
        (_, true) => None,
        (Some(out), _) => Some(Folder::prepare(out)?),
        (None, _) => Some(Folder::prepare(
            &Path::new("results").join(format!("{stem}-size")),
        )?),
    };
    let search = Search {
        draws: options.draws,
        seed: options.seed,
        threads: options.threads,
        stop: interrupt::stop_flag(),
    };
    let found = {
        let progress = terminal.progress("sizing the plant");
        size(&wish, &search, &|what, share| progress.stage(what, share)).map_err(Failure::Size)?
    };
    let document = report::size(&found);
    let files = match folder {
        Some(folder) => write(folder, &found, &document)?,
        None => Vec::new(),
    };
    tell(&found, &document, &files, &warnings, terminal)?;
    if found.stopped {
        return Err(Failure::Stopped(
            "stopped before the search was done; the best plant so far is told and kept."
                .to_owned(),
        ));
    }
    Ok(())
}

/// Name and version of the layout of size.json.
const SCHEMA: (&str, u32) = ("marshgas-size", 1);

/// The result with `--json`, and of the file.
#[derive(Serialize)]
struct Told<'a> {
    schema: &'a str,
    schema_version: u32,
    files: &'a [String],
    warnings: &'a [Warning],
    size: &'a SizeOutcome,
}

impl<'a> Told<'a> {
    fn of(size: &'a SizeOutcome, files: &'a [String], warnings: &'a [Warning]) -> Self {
        Self {
            schema: SCHEMA.0,
            schema_version: SCHEMA.1,
            files,
            warnings,
            size,
        }
    }
}

fn pretty(value: &impl Serialize) -> Result<Vec<u8>, ReportError> {
    let text = serde_json::to_string_pretty(value)?;
    Ok(format!("{text}\n").into_bytes())
}

fn write(folder: Folder, found: &SizeOutcome, document: &Document) -> Result<Vec<String>, Failure> {
    let path = folder.path().to_owned();
    let failed = |error: ReportError| Failure::Write {
        path: path.clone(),
        why: error.to_string(),
    };
    let mut files = vec![
        (
            "report.html".to_owned(),
            report::html(document).map_err(failed)?.into_bytes(),
        ),
        (
            "size.json".to_owned(),
            pretty(&Told::of(found, &[], &[])).map_err(failed)?,
        ),
    ];
    if let Some(scenario) = &found.scenario {
        files.push(("plant.json".to_owned(), pretty(scenario).map_err(failed)?));
    }
    for figure in &document.figures {
        files.push((
            format!("{}.svg", figure.id),
            report::svg(figure, report::Theme::Light).into_bytes(),
        ));
    }
    report::write_all(folder.path(), &files).map_err(failed)?;
    folder.keep();
    Ok(files
        .iter()
        .map(|(name, _)| path.join(name).display().to_string())
        .collect())
}

fn tell(
    found: &SizeOutcome,
    document: &Document,
    files: &[String],
    warnings: &[Warning],
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    if terminal.wants_json() {
        return terminal.print_json(&Told::of(found, files, warnings));
    }
    let (width, unicode) = terminal.layout();
    let mut text = report::text(document, width, true, unicode);
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
