//! `marshgas diary show`: the record beside the run that follows it.

use std::path::{Path, PathBuf};

use serde::Serialize;

use super::learn::{self, say};
use super::{refused, today};
use crate::cli::failure::Failure;
use crate::cli::folder::Folder;
use crate::cli::input;
use crate::cli::terminal::Terminal;
use crate::diary::{self, Comparison, Doubt, JoinError, Leap, LeftOut, Record, Taken, read};
use crate::report::{self, Document, ReportError};
use crate::scenario::Warning;
use crate::simulate::{self, Outcome};

/// Name and version of the layout of diary.json.
const SCHEMA: (&str, u32) = ("marshgas-diary", 1);
/// How many doubts are told on the terminal.
const TOLD: usize = 30;

/// Set a record beside the model's run.
#[derive(Debug, clap::Args)]
#[command(
    override_usage = "marshgas diary show [OPTIONS] --scenario <SCENARIO> <FILE>",
    after_help = "\
Examples:
  marshgas diary show ready.csv --scenario warm-tote
  marshgas diary show mine.csv --scenario tank.json --out results/diary
  marshgas diary show mine.csv --scenario tank.json --json > diary.json

The scenario tells the tank, the starter, and what was fed before the record
begins; its start_date is the day of the filling. From the record's first day
on the run is fed and warmed as the record says. Doubtful lines are told with
their number and reason, and never dropped in silence.

With --out writes report.html, the figures as SVG, gas.csv and diary.json."
)]
pub(super) struct Options {
    /// The record, a CSV file.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Scenario of the tank: a file, or the name of a bundled one. It is needed.
    #[arg(long, value_name = "SCENARIO")]
    scenario: Option<PathBuf>,
    /// Folder for the report [default: print the summary only].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write the figures as PNG too.
    #[arg(long, requires = "out")]
    png: bool,
}

/// A record beside its run.
struct Shown {
    record: Record,
    comparison: Comparison,
    outcome: Outcome,
    notes: Vec<String>,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let scenario = learn::tank(options.scenario.as_deref())?;
    let mut record =
        read::load(&options.file, Some(today())).map_err(|e| refused(&options.file, &e))?;
    let loaded = input::load(scenario)?.loaded;
    let folder = options.out.as_deref().map(Folder::prepare).transpose()?;
    let label = loaded.case.source.file.clone();
    let tables = scenario
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let joined = diary::join(&record, &loaded.json, &label, Some(tables))
        .map_err(|e| failure(e, &options.file))?;
    record.doubts.extend(joined.doubts.iter().cloned());
    record.doubts.sort_by_key(|d| d.line);
    tell_doubts(&record.doubts, &options.file, terminal);
    let warnings: Vec<Warning> = joined
        .loaded
        .warnings
        .iter()
        // Lines and addresses are those of the joined scenario, which stands in no file.
        .map(|w| Warning {
            line: None,
            ..w.clone()
        })
        .collect();
    let outcome = {
        let progress = terminal.progress("simulating");
        simulate::run(&joined.loaded.case, &mut |share| progress.set(share)).map_err(|failure| {
            Failure::Run {
                file: label,
                failure,
            }
        })?
    };
    let habits = diary::habits(&joined.loaded.case);
    let mut said: Vec<String> = joined.before_filling.iter().cloned().collect();
    said.extend(joined.leap.iter().map(Leap::told));
    for seen in &said {
        terminal.warn(&Warning {
            file: options.file.display().to_string(),
            line: None,
            path: String::new(),
            seen: seen.clone(),
            why: String::new(),
            mend: String::new(),
        });
    }
    said.extend(joined.left_out.as_ref().map(LeftOut::told));
    let shown = Shown {
        comparison: diary::compare(&record, joined.start, &outcome, &habits),
        record,
        outcome,
        notes: joined.notes,
    };
    let mut document = report::diary(
        &shown.record,
        &shown.comparison,
        &shown.outcome,
        &shown.notes,
    );
    say(&mut document, &said);
    let files = match folder {
        Some(folder) => write(folder, &shown, &document, options.png)?,
        None => Vec::new(),
    };
    tell(&shown, &document, &files, &warnings, terminal)
}

pub(super) fn failure(error: JoinError, file: &Path) -> Failure {
    match error {
        JoinError::Scenario(problems) => Failure::Scenario(problems),
        other => Failure::Diary {
            path: file.to_owned(),
            why: other.to_string(),
        },
    }
}

/// Doubts go to standard error like other warnings; with `--json` they stand in the result.
pub(super) fn tell_doubts(doubts: &[Doubt], file: &Path, terminal: &Terminal) {
    let warning = |line: u64, seen: String| Warning {
        file: file.display().to_string(),
        line: usize::try_from(line).ok().filter(|l| *l > 0),
        path: String::new(),
        seen,
        why: String::new(),
        mend: String::new(),
    };
    for doubt in doubts.iter().take(TOLD) {
        terminal.warn(&warning(doubt.line, doubt.reason.clone()));
    }
    if doubts.len() > TOLD {
        let more = doubts.len() - TOLD;
        terminal.warn(&warning(
            0,
            format!("{more} more doubts; the report (--out) and --json list all of them."),
        ));
    }
}

/// The result as JSON: in diary.json, and on standard output with `--json`.
#[derive(Serialize)]
struct Told<'a> {
    schema: &'a str,
    schema_version: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    files: Option<&'a [String]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    warnings: Option<&'a [Warning]>,
    taken: &'a Taken,
    doubts: &'a [Doubt],
    notes: &'a [String],
    comparison: &'a Comparison,
}

impl<'a> Told<'a> {
    fn of(shown: &'a Shown, around: Option<(&'a [String], &'a [Warning])>) -> Self {
        Self {
            schema: SCHEMA.0,
            schema_version: SCHEMA.1,
            files: around.map(|a| a.0),
            warnings: around.map(|a| a.1),
            taken: &shown.record.taken,
            doubts: &shown.record.doubts,
            notes: &shown.notes,
            comparison: &shown.comparison,
        }
    }
}

fn write(
    folder: Folder,
    shown: &Shown,
    document: &Document,
    png: bool,
) -> Result<Vec<String>, Failure> {
    let failed = |error: ReportError| Failure::Write {
        path: folder.path().to_owned(),
        why: error.to_string(),
    };
    let table = report::csv_diary(&shown.comparison).map_err(failed)?;
    let more = vec![
        ("gas.csv".to_owned(), table.into_bytes()),
        (
            "diary.json".to_owned(),
            learn::json_bytes(&Told::of(shown, None))?,
        ),
    ];
    learn::write(folder, document, more, png)
}

fn tell(
    shown: &Shown,
    document: &Document,
    files: &[String],
    warnings: &[Warning],
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    if terminal.wants_json() {
        return terminal.print_json(&Told::of(shown, Some((files, warnings))));
    }
    for warning in warnings {
        terminal.warn(warning);
    }
    learn::print(document, files, terminal)
}
