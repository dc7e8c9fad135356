//! `marshgas limit`: where a digester turns sour, and what it survives today.

use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::report::{self, Document, ReportError};
use crate::scenario::{Loaded, Warning};
use crate::study::batch::MAX_THREADS;
use crate::study::limit::{LimitFailure, LimitOutcome, Over, Question, limit};

use super::failure::Failure;
use super::folder::Folder;
use super::input::{self, Input};
use super::interrupt;
use super::terminal::Terminal;

/// Find where the digester turns sour, and the slack to it.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas limit warm-tote
  marshgas limit mine.json --over temperature
  marshgas limit mine.json --day 120 --to 12 --out party

Writes report.html, the figure of the branch as SVG, and limit.json. The
limit is that of the first vessel under its averaged daily feed. That none
is found is a result.")]
pub(super) struct Options {
    /// Scenario file, or the name of a bundled scenario.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// What is pushed: feed (kg a day of the scenario's mixture), retention (days, same mixture) or temperature (C).
    #[arg(long, value_name = "WHAT", value_enum, default_value_t = What::Feed, hide_possible_values = true)]
    over: What,
    /// How far to look, in kg a day, days or C [default: feed 20 times today's; retention 1 d; temperature 1 and 60 C].
    #[arg(long, value_name = "VALUE", allow_negative_numbers = true, value_parser = finite)]
    to: Option<f64>,
    /// Day that counts as today, 1 to the length of the run [default: the last].
    #[arg(long, value_name = "DAY")]
    day: Option<u32>,
    /// Look for the limit only; leave out overfeed, cold spell and rescues [default: try them].
    #[arg(long)]
    no_shocks: bool,
    /// Folder for the files [default: results/, the scenario's name and -limit].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write no files, print the summary only [default: write them].
    #[arg(long, conflicts_with = "out")]
    no_files: bool,
    /// Threads, 1 to 256 [default: one for each core]. The result is the same for any number.
    #[arg(long, value_name = "N", value_parser = threads)]
    threads: Option<usize>,
}

/// What is pushed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum What {
    /// Feed.
    Feed,
    /// Retention time.
    Retention,
    /// Temperature.
    Temperature,
}

fn finite(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => Err("give a finite number with a decimal point, such as 12.5".into()),
    }
}

fn threads(text: &str) -> Result<usize, String> {
    match text.parse::<usize>() {
        Ok(n) if (1..=MAX_THREADS).contains(&n) => Ok(n),
        _ => Err(format!("give a whole number from 1 to {MAX_THREADS}")),
    }
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let Input {
        stem,
        loaded: Loaded { case, warnings, .. },
    } = input::load(&options.file)?;
    for warning in &warnings {
        terminal.warn(warning);
    }
    let folder = match (&options.out, options.no_files) {
        (_, true) => None,
        (Some(out), _) => Some(Folder::prepare(out)?),
        (None, _) => Some(Folder::prepare(
            &Path::new("results").join(format!("{stem}-limit")),
        )?),
    };
    let question = Question {
        over: match options.over {
            What::Feed => Over::Feed,
            What::Retention => Over::Retention,
            What::Temperature => Over::Temperature,
        },
        to: options.to,
        day: options.day,
        shocks: !options.no_shocks,
        threads: options.threads,
        stop: interrupt::stop_flag(),
    };
    let found = {
        let progress = terminal.progress("looking for the limit");
        limit(&case, &question, &|share| progress.set(share))
            .map_err(|e| refused(e, &options.file))?
    };
    let document = report::limit(&found);
    let files = match folder {
        Some(folder) => write(folder, &found, &document)?,
        None => Vec::new(),
    };
    tell(&found, &document, &files, &warnings, terminal)
}

/// A question that cannot be asked is bad input; anything else a job that failed.
fn refused(failure: LimitFailure, file: &Path) -> Failure {
    match failure {
        LimitFailure::Run(failure) => Failure::Run {
            file: file.display().to_string(),
            failure,
        },
        LimitFailure::Range { .. } => Failure::Usage(format!("--to: {failure}")),
        LimitFailure::Day { .. } | LimitFailure::NotFed { .. } => {
            Failure::Usage(format!("--day: {failure}"))
        }
        other => Failure::Limit(other),
    }
}

/// Name and version of the layout of limit.json.
const SCHEMA: (&str, u32) = ("marshgas-limit", 1);

/// The result with `--json`, and of the file.
#[derive(Serialize)]
struct Told<'a> {
    schema: &'a str,
    schema_version: u32,
    files: &'a [String],
    warnings: &'a [Warning],
    limit: &'a LimitOutcome,
}

fn write(
    folder: Folder,
    found: &LimitOutcome,
    document: &Document,
) -> Result<Vec<String>, Failure> {
    let path = folder.path().to_owned();
    let failed = |error: ReportError| Failure::Write {
        path: path.clone(),
        why: error.to_string(),
    };
    let told = Told {
        schema: SCHEMA.0,
        schema_version: SCHEMA.1,
        files: &[],
        warnings: &[],
        limit: found,
    };
    let json = serde_json::to_string_pretty(&told).map_err(|e| failed(e.into()))?;
    let mut files = vec![
        (
            "report.html".to_owned(),
            report::html(document).map_err(failed)?.into_bytes(),
        ),
        ("limit.json".to_owned(), format!("{json}\n").into_bytes()),
    ];
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
    found: &LimitOutcome,
    document: &Document,
    files: &[String],
    warnings: &[Warning],
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    if terminal.wants_json() {
        return terminal.print_json(&Told {
            schema: SCHEMA.0,
            schema_version: SCHEMA.1,
            files,
            warnings,
            limit: found,
        });
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
