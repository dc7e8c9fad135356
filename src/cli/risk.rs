//! `marshgas risk`: one scenario many times, each time with what is not known drawn anew.

use std::path::PathBuf;
use std::sync::atomic::Ordering;

use crate::digester::Bands;
use crate::report;
use crate::scenario::Loaded;
use crate::study::axis::Axis;
use crate::study::risk::{self, RiskError, RiskOptions};
use crate::study::uncertain::{Uncertain, UnknownFactor};

use super::failure::Failure;
use super::input::{self, Input};
use super::interrupt;
use super::near::nearest;
use super::results::{self, Results, Told};
use super::terminal::Terminal;

/// Name and version of the layout of the JSON; the number rises whenever a field changes its name or meaning.
const SCHEMA: (&str, u32) = ("marshgas-risk", 1);
/// Levels of feeding lie between nothing and so many times the plan.
const MOST_FEED: f64 = 20.0;

/// Run a scenario many times, drawing anew what is not known.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas risk manure-start --draws 100
  marshgas risk mine.json --feed '0.5..2 in 7'
  marshgas risk mine.json --without temperature --fix starter=0.3
  marshgas risk mine.json --only starter,methanogens --no-files --json

The unknowns are hydrolysis, degradable, methanogens, starter, alkalinity,
ammonia, temperature, daily-feed and batches. How widely each is spread is an
assumption; report.html shows all of them with their sources.

Ctrl-C stops the study and reports on the runs that are done; a second one
ends it at once. The exit status is then 1. Writes report.html, the figures as SVG and risk.json.")]
pub(super) struct Options {
    /// Scenario file, or the name of a bundled scenario.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// How many times the unknowns are drawn, 20 to 100000.
    #[arg(long, value_name = "N", default_value_t = 400)]
    draws: usize,
    /// Number from which all draws follow; the same number gives the same result.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Multiples of the planned feed, 0 to 20, such as '0.5..2 in 7' or 0.5,1,2.
    #[arg(
        long,
        value_name = "RANGE",
        default_value = "1",
        allow_negative_numbers = true
    )]
    feed: String,
    /// Unknowns to hold at their middle, with commas [default: none].
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    without: Vec<String>,
    /// The only unknowns to draw, with commas [default: all].
    #[arg(
        long,
        value_name = "NAMES",
        value_delimiter = ',',
        conflicts_with = "without"
    )]
    only: Vec<String>,
    /// Hold an unknown at a value in its unit; can be given again [default: draw it].
    #[arg(long, value_name = "NAME=VALUE", allow_hyphen_values = true)]
    fix: Vec<String>,
    /// Threads, 1 to 256 [default: one for each core]. The result is the same for any number.
    #[arg(long, value_name = "N", value_parser = results::threads)]
    threads: Option<usize>,
    /// Folder for the files [default: results/ and the scenario's name and -risk].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write no files, print the summary only [default: write them].
    #[arg(long, conflicts_with_all = ["out", "png"])]
    no_files: bool,
    /// Write the figures as PNG too [default: SVG only].
    #[arg(long)]
    png: bool,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let uncertain = factors(options)?;
    let study = RiskOptions {
        draws: options.draws,
        seed: options.seed,
        feed: feed(&options.feed)?,
        threads: options.threads,
    };
    // What is wrong with the options is told before the remarks on the scenario.
    risk::check(&study).map_err(refused)?;
    let Input {
        stem,
        loaded: Loaded { case, warnings, .. },
    } = input::load_telling(&options.file, terminal)?;
    let room = Results::prepare(
        options.out.as_deref(),
        options.no_files,
        (&stem, "-risk"),
        options.png,
    )?;
    let stop = interrupt::stop_flag();
    let result = {
        let progress = terminal.progress("drawing");
        risk::run(&case, &uncertain, &study, stop, &|share| {
            progress.set(share)
        })
        .map_err(refused)?
    };
    if result.levels.iter().all(|level| level.finished == 0) {
        return Err(Failure::NoResult(match result.failures.first() {
            Some(failure) => format!("all runs failed; the first says: {}", failure.why),
            None => "the study was stopped before a run came through".into(),
        }));
    }
    let document = report::risk(&result, &Bands::standard());
    let told = Told {
        schema: SCHEMA,
        name: "risk",
        found: &result,
        warnings: &warnings,
        others: Vec::new(),
        stale: &[],
    };
    results::publish(room, &document, told, terminal)?;
    if stop.load(Ordering::Relaxed) && result.not_begun > 0 {
        let runs = result.draws * result.levels.len();
        return Err(Failure::Stopped(format!(
            "stopped after {} of {runs} runs; what they say is told and kept.",
            runs - result.not_begun
        )));
    }
    Ok(())
}

/// The unknowns as the user wants them.
fn factors(options: &Options) -> Result<Uncertain, Failure> {
    let standard = Uncertain::standard();
    let unknown = |UnknownFactor(given): UnknownFactor| {
        let names = Uncertain::standard();
        Failure::Unknown {
            what: "unknown",
            nearest: nearest(&given, names.factors.iter().map(|f| f.name.as_str())),
            given,
            list: "See all names with `marshgas risk --help`.",
        }
    };
    let mut chosen = if options.only.is_empty() {
        standard.without(&options.without)
    } else {
        standard.only(&options.only)
    }
    .map_err(unknown)?;
    for text in &options.fix {
        let (name, value) = fixed(text)?;
        chosen = chosen.fix(name, value).map_err(unknown)?;
    }
    Ok(chosen)
}

fn fixed(text: &str) -> Result<(&str, f64), Failure> {
    let refuse = || {
        Failure::Usage(format!(
            "--fix {text}: write a name, an equals sign and a finite number, such as starter=0.3"
        ))
    };
    let (name, value) = text.split_once('=').ok_or_else(refuse)?;
    let value: f64 = value.trim().parse().map_err(|_| refuse())?;
    let name = name.trim();
    // What is multiplied cannot turn negative; what is added or moved can.
    let multiplied = Uncertain::standard()
        .find(name)
        .is_ok_and(|factor| factor.effect.neutral() == 1.0);
    if multiplied && value < 0.0 {
        return Err(Failure::Usage(format!(
            "--fix {text}: {name} is a multiple; give 0 or more"
        )));
    }
    if value.is_finite() && value.abs() <= MOST_FIXED {
        Ok((name, value))
    } else {
        Err(refuse())
    }
}

/// A fixed value beyond this is a slip of the pen.
const MOST_FIXED: f64 = 1000.0;

fn feed(text: &str) -> Result<Vec<f64>, Failure> {
    let refuse = |why: String| Failure::Usage(format!("--feed {text}: {why}"));
    if may_be_a_decimal(text) {
        return Err(refuse(format!(
            "this is two levels or a decimal comma. Write {} for one level, or '{}' with a space for two",
            text.replace(',', "."),
            text.replace(',', ", ")
        )));
    }
    let axis: Axis = text.parse().map_err(|e| refuse(format!("{e}")))?;
    let levels = axis.values().map_err(|e| refuse(format!("{e}")))?;
    match levels.iter().find(|f| !(0.0..=MOST_FEED).contains(*f)) {
        Some(far) => Err(refuse(format!(
            "{far} times the planned feed cannot be; give 0 to {MOST_FEED}"
        ))),
        None => Ok(levels),
    }
}

/// Whether a text is two whole numbers with a bare comma, as many write one number with a decimal part.
fn may_be_a_decimal(text: &str) -> bool {
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    text.split_once(',')
        .is_some_and(|(whole, part)| digits(whole) && digits(part))
}

/// What a study refuses are its options: the case was checked before.
fn refused(error: RiskError) -> Failure {
    Failure::Usage(error.to_string())
}
