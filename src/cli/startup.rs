//! `marshgas startup`: from the filling to a steady flame, and a feeding plan.

use std::path::PathBuf;
use std::sync::atomic::Ordering;

use serde_json::{Map, Value};

use crate::digester::Bands;
use crate::report;
use crate::scenario::Loaded;
use crate::study::startup::{self as study, Startup};
use crate::study::sweep::full_amount;
use crate::study::uncertain::Uncertain;

use super::failure::Failure;
use super::input::{self, Input};
use super::interrupt;
use super::results::{self, Results, Told};
use super::terminal::Terminal;

/// Name and version of the layout of startup.json.
const SCHEMA: (&str, u32) = ("marshgas-startup", 1);
/// Width of the sheet as text \[columns\]: what a printer sets on a page.
const SHEET_WIDTH: usize = 78;
/// Largest factor on the scenario's own feed.
const LARGEST_FULL: f64 = 100.0;

/// Plan a start: days to the flame, and a safe feeding plan.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas startup manure-start
  marshgas startup mine.json --full 0.5 --out results/half
  marshgas startup mine.json --draws 500 --seed 7 --json > startup.json

Takes the filling, the vessels and the daily lines of the scenario, each at its
amount, or at the end of its ramp, and looks for the feeding that reaches them
soonest. Single doses and pauses are left out. Where a winter ends what the
feed can be, the plan ends before it, with the day on which to pause.

Writes report.html, plan.html and plan.txt (for the wall), plan.csv (day by
day), the figures as SVG and startup.json. Ctrl-C ends it early and keeps what
is done; the exit status is then 1.")]
pub(super) struct Options {
    /// Scenario file, or the name of a bundled scenario.
    #[arg(value_name = "SCENARIO")]
    file: PathBuf,
    /// Full feed, in times of the scenario's daily feed, above 0 to 100.
    #[arg(long, value_name = "X", default_value_t = 1.0, value_parser = times, allow_negative_numbers = true)]
    full: f64,
    /// Draws that plans are tried on, 20 to 5000; the check takes twice as many fresh ones, 5000 at most.
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = draws)]
    draws: usize,
    /// Seed of the draws: the same seed gives the same result.
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// Threads, 1 to 256 [default: one for each core]. The result is the same for any number.
    #[arg(long, value_name = "N", value_parser = results::threads)]
    threads: Option<usize>,
    /// Folder for the files [default: results/ and the scenario's name, then -startup].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write the figures as PNG too [default: SVG only].
    #[arg(long)]
    png: bool,
}

/// The sheet for the wall in its forms.
const SHEET: [&str; 3] = ["plan.html", "plan.txt", "plan.csv"];

fn times(word: &str) -> Result<f64, String> {
    match word.parse::<f64>() {
        Ok(value) if value > 0.0 && value <= LARGEST_FULL => Ok(value),
        _ => Err(format!("give a number above 0, at most {LARGEST_FULL}")),
    }
}

fn draws(word: &str) -> Result<usize, String> {
    results::within(word, study::FEWEST_DRAWS, study::MOST_DRAWS)
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let Input { stem, loaded } = input::load_telling(&options.file, terminal)?;
    let case = wanted(&loaded, options)?;
    let room = Results::prepare(
        options.out.as_deref(),
        false,
        (&stem, "-startup"),
        options.png,
    )?;
    let stop = interrupt::stop_flag();
    let found = {
        let progress = terminal.progress("starting");
        study::startup(
            &case,
            options.full,
            &Uncertain::standard(),
            study::Options {
                draws: options.draws,
                checks: (2 * options.draws).min(study::MOST_DRAWS),
                seed: options.seed,
                threads: options.threads,
                stop,
            },
            &|stage, share| progress.stage(stage, share),
        )
        .map_err(|e| failure(e, options))?
    };
    let mut document = report::startup(&found, &Bands::standard());
    let failed = |error: report::ReportError| {
        results::failed(room.folder().unwrap_or(&options.file), &error.to_string())
    };
    let warned: Vec<String> = loaded
        .warnings
        .iter()
        .map(|w| format!("Warning of the scenario: {} {} {}", w.seen, w.why, w.mend))
        .collect();
    document.advice.extend(warned.iter().cloned());
    let sheet = sheet(&found, &warned).map_err(failed)?;
    let told = Told {
        schema: SCHEMA,
        name: "startup",
        found: &found,
        warnings: &loaded.warnings,
        others: sheet,
        stale: &SHEET,
    };
    results::publish(room, &document, told, terminal)?;
    if stop.load(Ordering::Relaxed) {
        return Err(Failure::Stopped(
            "stopped before the end; what was done until then is kept.".to_owned(),
        ));
    }
    Ok(())
}

fn failure(error: study::StartupError, options: &Options) -> Failure {
    match error {
        study::StartupError::Run(failure) => Failure::Run {
            file: options.file.display().to_string(),
            failure,
        },
        other => Failure::Study {
            file: options.file.display().to_string(),
            why: other.to_string(),
        },
    }
}

/// The scenario's case with its daily feed, whole and on every day.
fn wanted(loaded: &Loaded, options: &Options) -> Result<crate::case::Case, Failure> {
    let refuse = |e: study::StartupError| failure(e, options);
    if loaded.case.inflow.is_some() {
        return Err(refuse(study::StartupError::Stream));
    }
    let lines = daily_lines(&loaded.json);
    if lines.is_empty() {
        return Err(refuse(study::StartupError::NoFeed));
    }
    let mut json = loaded.json.clone();
    json["feeding"] = Value::Array(lines);
    let folder = input::folder_of(&options.file);
    let mut case = input::from_json(&json, &loaded.case.source.file, folder)?.case;
    for dose in &mut case.doses {
        *dose = study::plan::scaled(dose, options.full);
    }
    case.source = loaded.case.source.clone();
    Ok(case)
}

/// The daily lines that hold on the last day on which any of them holds, from day 0 on and at the amount that it works up to.
fn daily_lines(scenario: &Value) -> Vec<Value> {
    let lines = scenario["feeding"].as_array().into_iter().flatten();
    let daily: Vec<&Map<String, Value>> =
        lines.filter_map(|line| line["daily"].as_object()).collect();
    let end = |line: &Map<String, Value>| {
        let last = line.get("to_day").and_then(Value::as_f64);
        last.unwrap_or(f64::INFINITY)
    };
    let last = daily.iter().map(|l| end(l)).fold(0.0, f64::max);
    daily
        .into_iter()
        .filter(|line| end(line) >= last)
        .map(|line| {
            let mut line = line.clone();
            let amount = full_amount(&line);
            for key in ["to_day", "ramp"] {
                line.shift_remove(key);
            }
            line.insert("amount".into(), amount.into());
            line.insert("from_day".into(), 0.into());
            let mut outer = Map::new();
            outer.insert("daily".into(), Value::Object(line));
            Value::Object(outer)
        })
        .collect()
}

/// The sheet for the wall, where there is a plan.
fn sheet(
    found: &Startup,
    warned: &[String],
) -> Result<Vec<(&'static str, Vec<u8>)>, report::ReportError> {
    let Some(mut sheet) = report::startup_wall(found, &Bands::standard()) else {
        return Ok(Vec::new());
    };
    sheet.advice.extend(warned.iter().cloned());
    let [html, txt, csv] = SHEET;
    let text = report::startup_wall_text(&sheet, SHEET_WIDTH);
    let mut files = vec![
        (html, report::html(&sheet)?.into_bytes()),
        (txt, text.into_bytes()),
    ];
    if let Some(table) = report::csv_startup(found)? {
        files.push((csv, table.into_bytes()));
    }
    Ok(files)
}
