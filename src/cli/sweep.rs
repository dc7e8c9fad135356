//! `marshgas sweep`: one or two things of a scenario varied, a run for each value.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use serde::Serialize;
use serde_json::{Value, json};

use crate::digester::Bands;
use crate::report::{self, Document, Flavour, ReportError, SweepRecord};
use crate::scenario::{self, Warning};
use crate::study::batch::MAX_THREADS;
use crate::study::sweep::{
    self, Class, NAMED, Plan, SweepError, SweepOptions, SweepPoint, SweepResult, Varied,
};

use super::columns::wrapped;
use super::failure::Failure;
use super::folder::Folder;
use super::input::{self, Input};
use super::interrupt;
use super::sweep_store::{Store, Sweep};
use super::terminal::Terminal;

/// Vary one or two things: curves, maps, and where it turns sour.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas sweep retention-sixty-days --list
  marshgas sweep mine.json --vary 'feed=0.5..3 in 6'
  marshgas sweep mine.json --vary temperature=20,30 --vary 'feed=1..3 in 5'

Ranges: '2..8 in 7' is seven values in equal steps, '1..100 in 9 geometric'
nine in equal ratios, 10,20,30 these three. Runs are made long enough for
their lasting level: at least three retention times.

Writes report.html, the figures as SVG, sweep.csv, sweep.json, and
sweep-points.jsonl, from which --resume goes on after an interruption.")]
pub(super) struct Options {
    /// Scenario file, or the name of a bundled scenario.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// What to vary and over which values; give it once or twice [default: none].
    #[arg(long, value_name = "KNOB=RANGE", required_unless_present = "list")]
    vary: Vec<String>,
    /// List everything that can be varied with its present value [default: sweep].
    #[arg(long, conflicts_with_all = ["vary", "out", "resume", "days", "threads", "no_files", "png", "csv_excel"])]
    list: bool,
    /// Length of every run in days [default: as the scenario, at least 3 retention times].
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u32).range(1..=7300))]
    days: Option<u32>,
    /// Folder for the files [default: results/ and the scenario's name and -sweep].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write no files, print the summary only [default: write them].
    #[arg(long, conflicts_with_all = ["out", "resume", "png", "csv_excel"])]
    no_files: bool,
    /// Go on with the points in the output folder [default: begin anew].
    #[arg(long)]
    resume: bool,
    /// Runs at the same time; the results do not depend on it [default: one per core].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=MAX_THREADS as i64))]
    threads: Option<u16>,
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
    for warning in &loaded.warnings {
        terminal.warn(warning);
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
        folder: folder_of(&options.file),
        varied,
        days: options.days,
    };
    // Everything that can be wrong with the words is told before a folder is made.
    let planned = plan.grid()?.len();
    let folder = match (&options.out, options.no_files) {
        (_, true) => None,
        (Some(out), _) => Some(Folder::prepare(out)?),
        (None, _) => Some(Folder::prepare(
            &Path::new("results").join(format!("{stem}-sweep")),
        )?),
    };
    let vary = plan.varied.iter().map(|v| format!("{}={}", v.knob, v.axis));
    let sweep = Sweep::new(&source.sha256, vary.collect(), options.days);
    let store = match &folder {
        Some(folder) => Some(Store::open(folder.path(), sweep, options.resume)?),
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
        if let Some(folder) = folder {
            folder.keep();
        }
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
    let mut files = match folder {
        Some(folder) => write(folder, &result, &record, &document, options)?,
        None => Vec::new(),
    };
    files.extend(store.map(|s| s.path().display().to_string()));
    tell(
        &Told {
            schema: report::SWEEP_SCHEMA.0,
            schema_version: report::SWEEP_SCHEMA.1,
            files: &files,
            warnings: &loaded.warnings,
            record: &record,
            sweep: &result,
        },
        &document,
        terminal,
    )
}

/// Where the tables of a scenario file are looked for; a bundled scenario has none.
pub(super) fn folder_of(file: &Path) -> Option<&Path> {
    if !file.is_file() {
        return None;
    }
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => Some(folder),
        _ => Some(Path::new(".")),
    }
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
        threads: options.threads.map(usize::from),
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

fn write(
    folder: Folder,
    result: &SweepResult,
    record: &SweepRecord,
    document: &Document,
    options: &Options,
) -> Result<Vec<String>, Failure> {
    let path = folder.path().to_owned();
    let failed = |error: ReportError| Failure::Write {
        path: path.clone(),
        why: error.to_string(),
    };
    let files = render(result, record, document, options).map_err(failed)?;
    report::write_all(folder.path(), &files).map_err(failed)?;
    folder.keep();
    let shown = |(name, _): &(String, Vec<u8>)| path.join(name).display().to_string();
    Ok(files.iter().map(shown).collect())
}

/// Names and contents of all files.
fn render(
    result: &SweepResult,
    record: &SweepRecord,
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
            "sweep.csv".to_owned(),
            report::csv_sweep(result, flavour)?.into_bytes(),
        ),
        (
            "sweep.json".to_owned(),
            report::json_sweep(result, record)?.into_bytes(),
        ),
    ];
    for figure in &document.figures {
        let svg = report::svg(figure, report::Theme::Light).into_bytes();
        files.push((format!("{}.svg", figure.id), svg));
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
    record: &'a SweepRecord,
    sweep: &'a SweepResult,
}

fn tell(told: &Told<'_>, document: &Document, terminal: &mut Terminal) -> Result<(), Failure> {
    if terminal.wants_json() {
        return terminal.print_json(told);
    }
    let (width, unicode) = terminal.layout();
    // Colours are always set; the stream takes them out where nobody wants them.
    let mut page = report::text(document, width, true, unicode);
    if !told.files.is_empty() {
        let files: Vec<String> = told.files.iter().map(|f| format!("  {f}")).collect();
        page.push_str(&format!("\nFiles\n{}\n", files.join("\n")));
    }
    terminal.print(&page)
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
