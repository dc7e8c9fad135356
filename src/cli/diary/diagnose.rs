//! `marshgas diary diagnose`: what may be wrong, and the test that would tell.

use super::learn::{Common, Told, begin, json_bytes, print, say, write};
use crate::cli::failure::Failure;
use crate::cli::folder::Folder;
use crate::cli::interrupt;
use crate::cli::terminal::Terminal;
use crate::diary::diagnose::story::Book;
use crate::diary::diagnose::{DiagnosisFailure, Options as Diagnosing, Past, WEEK, diagnose_pasts};
use crate::report;

/// Name and version of the layout of diagnosis.json.
const SCHEMA: (&str, u32) = ("marshgas-diary-diagnosis", 1);

/// Runs that a diagnosis asks for, roughly.
const RUNS: f64 = 1700.0;

/// Rank what may be wrong, and name the test that would tell.
#[derive(Debug, clap::Args)]
#[command(
    override_usage = "marshgas diary diagnose [OPTIONS] --scenario <SCENARIO> <FILE>",
    after_help = "\
Examples:
  marshgas diary diagnose mine.csv --scenario tank.json
  marshgas diary diagnose mine.csv --scenario tank.json --out results/why

Runs competing stories against the same record: a leak, a cold liquor, souring,
a weak starter, ammonia or salt, gas held back, a wrong meter, or nothing wrong.
Gives each a chance, what speaks for it, its look of the next week, and the one
cheap test that tells most between the two likeliest. Of a leak, a cold liquor,
souring, gas held back and a wrong meter it also looks for the day on which it
began, and tells it with a range. A few days of \"no gas\" and a temperature are
enough to begin with.

With --out writes report.html, the figures as SVG and diagnosis.json."
)]
pub(super) struct Options {
    #[command(flatten)]
    common: Common,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let common = &options.common;
    let ready = common.ready(WEEK, terminal)?;
    let folder = common.out.as_deref().map(Folder::prepare).transpose()?;
    let pasts = if ready.fresh.is_some() { 2.0 } else { 1.0 };
    begin("This diagnosis", pasts * RUNS, &ready, common, terminal);
    let diagnosis = {
        let progress = terminal.progress("telling stories");
        let how = Diagnosing {
            seed: common.seed,
            threads: common.threads,
            stop: interrupt::stop_flag(),
        };
        let own = Past {
            case: &ready.case,
            readings: &ready.readings,
        };
        let fresh = ready
            .fresh
            .as_ref()
            .map(|(case, readings)| Past { case, readings });
        diagnose_pasts(
            &Book::standard().with_open(ready.more),
            own,
            fresh,
            ready.usual_nl,
            &how,
            &|share| progress.set(share),
        )
        .map_err(|e| failure(&e, common))?
    };
    let mut said = ready.said;
    if ready.fresh.is_some() {
        said.push(
            "Every story is told twice, of the scenario's tank and of one that was filled with its starter when the record \
             began; each is as likely before the record is looked at."
                .into(),
        );
    }
    let mut document = report::diary_diagnosis(&diagnosis, &ready.notes);
    say(&mut document, &said);
    let notes = [ready.notes, said].concat();
    let mut told = Told {
        schema: SCHEMA.0,
        schema_version: SCHEMA.1,
        files: None,
        doubts: &ready.doubts,
        notes: &notes,
        result: &diagnosis,
        fitted_scenario: None,
    };
    let files = match folder {
        Some(folder) => write(
            folder,
            &document,
            vec![("diagnosis.json".into(), json_bytes(&told)?)],
            common.png,
        )?,
        None => Vec::new(),
    };
    if terminal.wants_json() {
        told.files = Some(&files);
        return terminal.print_json(&told);
    }
    print(&document, &files, terminal)
}

fn failure(error: &DiagnosisFailure, common: &Common) -> Failure {
    match error {
        DiagnosisFailure::NoReadings => Failure::Diary {
            path: common.file.clone(),
            why: format!("{error}. Note at least the gas, a pH or a flame test."),
        },
        DiagnosisFailure::Stopped => {
            Failure::Stopped("stopped before there was a diagnosis.".into())
        }
        other => Failure::NoResult(format!("{other}.")),
    }
}
