//! `marshgas diary`: an owner's record. One file per thing to do with it.

mod add;
mod diagnose;
mod fit;
mod learn;
mod new;
mod show;
mod store;

use std::path::Path;

use jiff::Zoned;
use jiff::civil::Date;

use super::failure::Failure;
use super::terminal::Terminal;
use crate::diary::read::Refusal;

/// Keep a record of your digester and set the model beside it.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "\
Examples:
  marshgas diary new mine.csv
  marshgas diary add mine.csv fed 2 kg kitchen-scraps water 2 gas 310 ph 7.1
  marshgas diary show mine.csv --scenario tank.json
  marshgas diary fit mine.csv --scenario tank.json
  marshgas diary diagnose mine.csv --scenario tank.json

The record is a table that any spreadsheet opens. Edit it there as you like.",
    subcommand_value_name = "WHAT",
    subcommand_help_heading = "What to do",
    disable_help_subcommand = true
)]
pub(super) struct Options {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    New(new::Options),
    Add(add::Options),
    Show(show::Options),
    Fit(fit::Options),
    Diagnose(diagnose::Options),
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    match &options.what {
        What::New(options) => new::run(options, terminal),
        What::Add(options) => add::run(options, terminal),
        What::Show(options) => show::run(options, terminal),
        What::Fit(options) => fit::run(options, terminal),
        What::Diagnose(options) => diagnose::run(options, terminal),
    }
}

/// The day on the clock of this machine.
fn today() -> Date {
    Zoned::now().date()
}

fn refused(file: &Path, refusal: &Refusal) -> Failure {
    Failure::Diary {
        path: file.to_owned(),
        why: refusal.to_string(),
    }
}
