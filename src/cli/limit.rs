//! `marshgas limit`: where a digester turns sour, and what it survives today.

use std::path::{Path, PathBuf};

use crate::report;
use crate::scenario::Loaded;
use crate::study::limit::{LimitFailure, Over, Question, limit};

use super::failure::Failure;
use super::input::{self, Input};
use super::interrupt;
use super::results::{self, Results, Told};
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
    #[arg(long, conflicts_with_all = ["out", "png"])]
    no_files: bool,
    /// Write the figure as PNG too [default: SVG only].
    #[arg(long)]
    png: bool,
    /// Threads, 1 to 256 [default: one for each core]. The result is the same for any number.
    #[arg(long, value_name = "N", value_parser = results::threads)]
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

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let Input {
        stem,
        loaded: Loaded { case, warnings, .. },
    } = input::load(&options.file)?;
    let room = Results::prepare(
        options.out.as_deref(),
        options.no_files,
        (&stem, "-limit"),
        options.png,
    )?;
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
            .map_err(|e| refused(e, &options.file, options.day))?
    };
    // Not before the question is known to be a good one: a refusal would be buried under them.
    for warning in &warnings {
        terminal.warn(warning);
    }
    let document = report::limit(&found);
    let told = Told {
        schema: SCHEMA,
        name: "limit",
        found: &found,
        warnings: &warnings,
        others: Vec::new(),
        stale: &[],
    };
    results::publish(room, &document, told, terminal)
}

/// A question that cannot be asked is bad input; anything else a job that failed.
fn refused(failure: LimitFailure, file: &Path, day: Option<u32>) -> Failure {
    match failure {
        LimitFailure::Run(failure) => Failure::Run {
            file: file.display().to_string(),
            failure,
        },
        LimitFailure::Range { .. } => Failure::Usage(format!("--to: {failure}")),
        LimitFailure::Day { .. } | LimitFailure::NotFed { .. } => Failure::Usage(match day {
            Some(_) => format!("--day: {failure}"),
            None => failure.to_string(),
        }),
        other => Failure::Limit(other),
    }
}

/// Name and version of the layout of limit.json.
const SCHEMA: (&str, u32) = ("marshgas-limit", 1);
