//! `marshgas sweep`: one or two things of a scenario varied, a run for each value.

use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

use serde::Serialize;
use serde_json::{Value, json};

use crate::digester::Bands;
use crate::report::{self, ReportError, SweepRecord};
use crate::scenario::{self, Warning};
use crate::study::sweep::{
    self, Class, NAMED, Plan, SweepError, SweepOptions, SweepPoint, SweepResult, Varied,
};

use super::columns::wrapped;
use super::failure::Failure;
use super::input::{self, Input};
use super::interrupt;
use super::results::{self, Results};
use super::sweep_store::{Store, Sweep, fingerprint};
use super::terminal::Terminal;

/// Name and version of the layout of the list of knobs.
const LIST_SCHEMA: (&str, u32) = ("marshgas-sweep-list", 1);

/// Vary one or two things: curves, maps, and where it turns sour.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas sweep retention-sixty-days --list
  marshgas sweep mine.json --vary 'feed=0.5..3 in 6'
  marshgas sweep mine.json --vary temperature=20,30 --vary 'feed=1..3 in 5'

Ranges: '2..8 in 7' is seven values in equal steps, '1..100 in 9 geometric'
nine in equal ratios, 10,20,30 these three. Runs are made long enough for
their lasting level: at least three retention times, and two years of full
feeding where the temperature changes. The pauses of the last year of a
scenario that lasts a year or longer then come again in every year.

Writes report.html, the figures as SVG, sweep.csv, sweep.json, and
sweep-points.jsonl, from which --resume goes on after an interruption.")]
pub(super) struct Options {
    /// Scenario file, or the name of a bundled scenario.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// What to vary and over which values; give it once or twice [default: none].
    #[arg(long, value_name = "KNOB=RANGE")]
    vary: Vec<String>,
    /// List everything that can be varied with its present value [default: sweep].
    #[arg(long, conflicts_with_all = ["vary", "out", "resume", "days", "threads", "no_files", "png", "csv_excel"])]
    list: bool,
    /// Length of every run in days [default: as the scenario, or as long as a lasting level takes].
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u32).range(1..=7300))]
    days: Option<u32>,
    /// Folder for the files [default: results/ and the scenario's name and -sweep].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write no files, print the summary only [default: write them].
    #[arg(long, conflicts_with_all = ["out", "resume", "png", "csv_excel"])]
    no_files: bool,
    /// Go on with the points in the output folder [default: begin anew; unfinished points there are never overwritten].
    #[arg(long)]
    resume: bool,
    /// Threads, 1 to 256 [default: one for each core]. The result is the same for any number.
    #[arg(long, value_name = "N", value_parser = results::threads)]
    threads: Option<usize>,
    /// Write the figures as PNG too [default: SVG only].
    #[arg(long)]
    png: bool,
    /// Write the table for spreadsheets set to a decimal comma [default: commas, points].
    #[arg(long)]
    csv_excel: bool,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let Input { stem, loaded } = input::load(&options.file)?;
    if options.list {
        return list(&loaded.json, terminal);
    }
    if options.vary.is_empty() {
        return Err(Failure::Usage(format!(
            "say what to vary, such as --vary 'feed=0.5..2 in 7'; `marshgas sweep {} --list` shows everything that can be",
            options.file.display()
        )));
    }
    let read = |text: &String| Varied::read(text, &loaded.json);
    let varied = options
        .vary
        .iter()
        .map(read)
        .collect::<Result<Vec<_>, SweepError>>()?;
    let source = &loaded.case.source;
    let plan = Plan {
        scenario: &loaded.json,
        label: &source.file,
        folder: input::folder_of(&options.file),
        varied,
        days: options.days,
    };
    // Everything that can be wrong with the words is told before a folder is made.
    let planned = plan.grid()?.len();
    for warning in &loaded.warnings {
        terminal.warn(warning);
    }
    let room = Results::prepare(
        options.out.as_deref(),
        options.no_files,
        (&stem, "-sweep"),
        options.png,
    )?;
    let vary = plan.varied.iter().map(|v| format!("{}={}", v.knob, v.axis));
    let courses: Vec<_> = loaded.case.vessels.iter().map(|v| &v.temperature).collect();
    let sweep = Sweep {
        scenario_sha256: source.sha256.clone(),
        tables: fingerprint(&format!("{courses:?}")),
        vary: vary.collect(),
        days: options.days,
        planned,
        ..Sweep::default()
    };
    let store = match room.folder() {
        Some(folder) => Some(Store::open(folder, sweep, options.resume)?),
        None => None,
    };
    let result = compute(options, &plan, planned, store.as_ref(), terminal)?;
    if let Some(store) = &store {
        store.finish()?;
    }
    if result.points.len() < planned {
        let kept = match &store {
            Some(store) => format!(
                "They are kept in {}; the same command with --resume goes on from there.",
                store.path().display()
            ),
            None => "Without files nothing is kept.".to_owned(),
        };
        room.keep();
        return Err(Failure::Stopped(format!(
            "stopped after {} of {planned} points. {kept}",
            result.points.len()
        )));
    }
    if let Some(why) = nothing_came_through(&result) {
        return Err(Failure::NoResult(format!(
            "no point of the sweep came through. The first: {why}"
        )));
    }
    let record = SweepRecord {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        file: source.file.clone(),
        sha256: source.sha256.clone(),
    };
    let document = report::sweep(&result, &Bands::standard(), &record);
    let mut files = room.paths(&document, &TABLES);
    if let Some(folder) = room.folder() {
        let tables = tables(&result, &record, options)
            .map_err(|error| results::failed(folder, &error.to_string()))?;
        room.write(&document, tables, &[])?;
    }
    files.extend(store.map(|s| s.path().display().to_string()));
    if terminal.wants_json() {
        return terminal.print_json(&Told {
            schema: report::SWEEP_SCHEMA.0,
            schema_version: report::SWEEP_SCHEMA.1,
            files: &files,
            warnings: &loaded.warnings,
            record: &record,
            sweep: &result,
        });
    }
    results::tell(&document, &files, terminal)
}

fn compute(
    options: &Options,
    plan: &Plan<'_>,
    planned: usize,
    store: Option<&Store>,
    terminal: &Terminal,
) -> Result<SweepResult, Failure> {
    let known = store.map(Store::points).unwrap_or_default();
    let done = AtomicUsize::new(known.len());
    let progress = terminal.progress("sweeping");
    let share = |done: usize| done as f64 / planned.max(1) as f64;
    progress.set(share(known.len()));
    let options = SweepOptions {
        threads: options.threads,
        stop: interrupt::stop_flag(),
        known,
    };
    let on_point = |point: &SweepPoint| {
        if let Some(store) = store {
            store.add(point);
        }
        progress.set(share(done.fetch_add(1, Ordering::Relaxed) + 1));
    };
    Ok(sweep::run(plan, &options, &on_point)?)
}

/// The first mishap, if there is nothing else.
fn nothing_came_through(result: &SweepResult) -> Option<String> {
    if result.points.iter().any(|p| p.class != Class::Failed) {
        return None;
    }
    let first = result.points.first()?.mishap.as_ref()?;
    Some(first.message.clone())
}

/// The files beside the page and its figures.
const TABLES: [&str; 2] = ["sweep.csv", "sweep.json"];

/// Their contents.
fn tables(
    result: &SweepResult,
    record: &SweepRecord,
    options: &Options,
) -> Result<Vec<(&'static str, Vec<u8>)>, ReportError> {
    let flavour = results::flavour(options.csv_excel);
    let [csv, json] = TABLES;
    Ok(vec![
        (csv, report::csv_sweep(result, flavour)?.into_bytes()),
        (json, report::json_sweep(result, record)?.into_bytes()),
    ])
}

/// The result with `--json`.
#[derive(Serialize)]
struct Told<'a> {
    schema: &'a str,
    schema_version: u32,
    files: &'a [String],
    warnings: &'a [Warning],
    record: &'a SweepRecord,
    sweep: &'a SweepResult,
}

/// Everything that can be varied, with its present value.
fn list(scenario: &Value, terminal: &mut Terminal) -> Result<(), Failure> {
    let numbers = scenario::list_numbers(scenario);
    if terminal.wants_json() {
        let named = NAMED.iter().map(|a| {
            json!({"knob": a.name, "unit": a.unit, "value": sweep::present(a.knob, scenario), "does": a.does})
        });
        let numbers = numbers
            .iter()
            .map(|(path, value)| json!({"knob": path, "value": value}));
        return terminal.print_json(&json!({
            "schema": LIST_SCHEMA.0,
            "schema_version": LIST_SCHEMA.1,
            "knobs": named.collect::<Vec<_>>(),
            "numbers": numbers.collect::<Vec<_>>(),
        }));
    }
    let (width, _) = terminal.layout();
    let mut text = String::from("Knobs that turn several numbers together\n");
    for about in &NAMED {
        let now = match sweep::present(about.knob, scenario) {
            Some(value) => format!("now {} {}", short(value), about.unit),
            None => "no single value now".to_owned(),
        };
        text.push_str(&format!("  {}, {}\n", about.name, now.trim_end()));
        text.push_str(&wrapped(&format!("    {}", about.does), width, 4));
    }
    text.push_str("\nNumbers of the scenario\n");
    for (path, value) in &numbers {
        text.push_str(&format!("  {path}, now {value}\n"));
    }
    terminal.print(&text)
}

/// A number as people read it: six digits tell everything here.
fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
