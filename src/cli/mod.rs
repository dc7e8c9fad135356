//! Command line (layer 10): arguments, exit status, terminal. One file per command.

mod args;
mod bundled;
mod columns;
mod failure;
mod folder;
mod input;
mod interrupt;
mod near;
mod progress;
mod results;
mod terminal;

mod check;
mod check_plant;
mod completions;
mod diary;
mod evidence;
mod feedstocks;
mod leak;
mod limit;
mod manual;
mod new;
mod risk;
mod run;
mod scenarios;
mod schema;
mod season;
mod size;
mod startup;
mod sweep;
mod sweep_store;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::Parser as _;

use args::{Args, Command};
use failure::Failure;
use terminal::Terminal;

/// Runs the program and returns its exit status: 0 ok, 1 the job failed, 2 bad input.
///
/// A closed pipe on standard output counts as ok. A fault of the program itself is caught at the last moment, told
/// plainly, and counts as a failed job.
#[must_use]
pub fn main() -> ExitCode {
    let words: Vec<OsString> = std::env::args_os().collect();
    failure::remember_panics();
    ExitCode::from(guarded(&words, start))
}

/// Does the work and turns a panic into an apology.
fn guarded(words: &[OsString], work: fn(&[OsString]) -> u8) -> u8 {
    std::panic::catch_unwind(|| work(words)).unwrap_or_else(|_| {
        Terminal::from_words(words).fail(&Failure::Fault(failure::last_panic()))
    })
}

/// Reads the arguments, does the command, tells a failure.
fn start(words: &[OsString]) -> u8 {
    let args = match Args::try_parse_from(words) {
        Ok(args) => args,
        Err(told) => return Terminal::from_words(words).usage(&told),
    };
    let mut terminal = Terminal::new(
        args.everywhere.color,
        args.everywhere.json,
        args.everywhere.quiet,
    );
    match dispatch(args.command, &mut terminal) {
        Ok(()) => 0,
        Err(failure) => terminal.fail(&failure),
    }
}

fn dispatch(command: Command, terminal: &mut Terminal) -> Result<(), Failure> {
    match command {
        Command::Run(options) => run::run(&options, terminal),
        Command::Risk(options) => risk::run(&options, terminal),
        Command::Startup(options) => startup::run(&options, terminal),
        Command::Sweep(options) => sweep::run(&options, terminal),
        Command::Limit(options) => limit::run(&options, terminal),
        Command::Season(options) => season::run(&options, terminal),
        Command::Size(options) => size::run(&options, terminal),
        Command::Leak(options) => leak::run(&options, terminal),
        Command::Diary(options) => diary::run(&options, terminal),
        Command::New(options) => new::run(&options, terminal),
        Command::Check(options) => check::run(&options, terminal),
        Command::Feedstocks(options) => feedstocks::run(&options, terminal),
        Command::Schema(options) => schema::run(&options, terminal),
        Command::Evidence(options) => evidence::run(&options, terminal),
        Command::Scenarios(options) => scenarios::run(&options, terminal),
        Command::Completions(options) => completions::run(&options, terminal),
        Command::Manual(options) => manual::run(&options, terminal),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_of_the_program_is_a_failed_job() {
        assert_eq!(guarded(&[], |_| panic!("a fault made by this test")), 1);
        assert_eq!(guarded(&[], |_| 2), 2);
    }
}
