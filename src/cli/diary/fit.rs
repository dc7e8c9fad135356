//! `marshgas diary fit`: how this very digester is.

use super::learn::{Common, Told, begin, json_bytes, print, say, within, write};
use crate::cli::failure::Failure;
use crate::cli::folder::Folder;
use crate::cli::interrupt;
use crate::cli::terminal::Terminal;
use crate::diary::fit::digester::{
    DigesterFailure, FEWEST_DRAWS, FitOptions, MOST_AHEAD, MOST_DRAWS, fit_digester,
};
use crate::diary::fit::fitted::fitted_scenario;
use crate::diary::fit::unknown::unknowns;
use crate::report;

/// Name and version of the layout of fit.json.
const SCHEMA: (&str, u32) = ("marshgas-diary-fit", 1);

/// Fit the digester to its record, and forecast the next days.
#[derive(Debug, clap::Args)]
#[command(
    override_usage = "marshgas diary fit [OPTIONS] --scenario <SCENARIO> <FILE>",
    after_help = "\
Examples:
  marshgas diary fit ready.csv --scenario warm-tote
  marshgas diary fit mine.csv --scenario tank.json --out results/fit
  marshgas run results/fit/fitted.json

Learns how fast the feed breaks down, how lively the starter was, how much of
the feed is degradable, how much gas is lost, how far the thermometer is off
and what the gas reading shows; says what the record does not fix, and what the
next days should give if they are fed like the last week.

With --out writes report.html, the figures as SVG, fit.json and fitted.json, a
scenario for all other commands. Its text names the values that are guesses,
because the record hardly tells them."
)]
pub(super) struct Options {
    #[command(flatten)]
    common: Common,
    /// Days to forecast beyond the record, 1 to 60.
    #[arg(long, value_name = "DAYS", default_value_t = 7, value_parser = ahead)]
    ahead: usize,
    /// Draws that the bands rest on, 20 to 20000.
    #[arg(long, value_name = "N", default_value_t = 120, value_parser = draws)]
    draws: usize,
}

fn ahead(word: &str) -> Result<usize, String> {
    within(word, 1, MOST_AHEAD)
}

fn draws(word: &str) -> Result<usize, String> {
    within(word, FEWEST_DRAWS, MOST_DRAWS)
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let common = &options.common;
    let ahead = u32::try_from(options.ahead).unwrap_or(1);
    let ready = common.ready(ahead, terminal)?;
    let folder = common.out.as_deref().map(Folder::prepare).transpose()?;
    // The walks ask for some fifty.
    begin(
        "This fit",
        (50 + options.draws) as f64,
        &ready,
        common,
        terminal,
    );
    let unknowns = [unknowns(), ready.more].concat();
    let fit = {
        let progress = terminal.progress("fitting");
        let how = FitOptions {
            draws: options.draws,
            seed: common.seed,
            threads: common.threads,
            stop: interrupt::stop_flag(),
        };
        fit_digester(
            &ready.case,
            &unknowns,
            &ready.readings,
            ready.usual_nl,
            &how,
            &|share| progress.set(share),
        )
        .map_err(|e| failure(e, common))?
    };
    let (scenario, more) = fitted_scenario(&ready.scenario, &ready.planned, &fit);
    let mut notes = ready.notes;
    notes.extend(more);
    let mut document = report::diary_fit(&fit, &notes);
    say(&mut document, &ready.said);
    notes.extend(ready.said);
    let mut told = Told {
        schema: SCHEMA.0,
        schema_version: SCHEMA.1,
        files: None,
        doubts: &ready.doubts,
        notes: &notes,
        result: &fit,
        fitted_scenario: None,
    };
    let files = match folder {
        Some(folder) => write(
            folder,
            &document,
            vec![
                ("fit.json".into(), json_bytes(&told)?),
                ("fitted.json".into(), json_bytes(&scenario)?),
            ],
            common.png,
        )?,
        None => Vec::new(),
    };
    if terminal.wants_json() {
        told.files = Some(&files);
        told.fitted_scenario = Some(&scenario);
        return terminal.print_json(&told);
    }
    print(&document, &files, terminal)
}

fn failure(error: DigesterFailure, common: &Common) -> Failure {
    match error {
        DigesterFailure::NoReadings => Failure::Diary {
            path: common.file.clone(),
            why: format!("{error}. Note at least the gas, a pH or a flame test."),
        },
        DigesterFailure::Run(failure) => Failure::Run {
            file: common.tank().display().to_string(),
            failure,
        },
        DigesterFailure::Stopped => Failure::Stopped("stopped before there was a fit.".into()),
        other => Failure::NoResult(format!("{other}.")),
    }
}
