//! Everything that is written to the two streams goes through here.
//!
//! Standard output carries results and nothing else. Standard error carries progress, notes, warnings and errors.

use std::ffi::OsString;
use std::io::{self, IsTerminal as _, Write as _};

use anstream::{AutoStream, ColorChoice};
use anstyle::{AnsiColor, Style};
use serde::Serialize;

use crate::scenario::Warning;

use super::args::Colour;
use super::columns::wrapped;
use super::failure::Failure;
use super::progress::Progress;

const ERROR: Style = AnsiColor::Red.on_default().bold();
const WARNING: Style = AnsiColor::Yellow.on_default().bold();

/// Width of a text where there is no terminal, and the narrowest and widest on one \[columns\].
const WIDTH: usize = 80;
const NARROWEST: usize = 40;
const WIDEST: usize = 110;

/// The two streams, and how to write on them.
pub(super) struct Terminal {
    out: AutoStream<io::StdoutLock<'static>>,
    choice: ColorChoice,
    json: bool,
    quiet: bool,
}

impl Terminal {
    pub(super) fn new(colour: Colour, json: bool, quiet: bool) -> Self {
        let choice = match colour {
            Colour::Auto => ColorChoice::Auto,
            Colour::Always => ColorChoice::Always,
            Colour::Never => ColorChoice::Never,
        };
        Self {
            out: AutoStream::new(io::stdout().lock(), choice),
            choice,
            json,
            quiet,
        }
    }

    /// For words that could not be parsed: looks for the options that decide how to say so.
    pub(super) fn from_words(words: &[OsString]) -> Self {
        let typed: Vec<&str> = words
            .iter()
            .filter_map(|w| w.to_str())
            .take_while(|w| *w != "--")
            .collect();
        let asked = |colour: &str| {
            typed.contains(&format!("--color={colour}").as_str())
                || typed.windows(2).any(|pair| pair == ["--color", colour])
        };
        let colour = match () {
            () if asked("never") => Colour::Never,
            () if asked("always") => Colour::Always,
            () => Colour::Auto,
        };
        Self::new(colour, typed.contains(&"--json"), false)
    }

    /// Whether results are asked for as JSON.
    pub(super) fn wants_json(&self) -> bool {
        self.json
    }

    /// How a text may be set: the width of the terminal, or 80 \[columns\], and whether it shows more than ASCII.
    pub(super) fn layout(&self) -> (usize, bool) {
        let width = terminal_size::terminal_size_of(io::stdout())
            .map_or(WIDTH, |(width, _)| usize::from(width.0));
        (width.clamp(NARROWEST, WIDEST), speaks_unicode())
    }

    /// Writes a result, and ends it with a line end where it has none.
    pub(super) fn print(&mut self, text: &str) -> Result<(), Failure> {
        let end = if text.ends_with('\n') { "" } else { "\n" };
        write!(self.out, "{text}{end}").map_err(Failure::Output)?;
        self.out.flush().map_err(Failure::Output)
    }

    /// Writes a result as JSON.
    pub(super) fn print_json(&mut self, value: &impl Serialize) -> Result<(), Failure> {
        let text = serde_json::to_string_pretty(value).map_err(|e| Failure::Output(e.into()))?;
        self.print(&text)
    }

    /// Tells a warning on standard error; with `--json` the caller puts it into the result instead.
    pub(super) fn warn(&self, warning: &Warning) {
        if self.json {
            return;
        }
        let place = warning
            .line
            .map(|line| format!(", line {line}"))
            .unwrap_or_default();
        let path = if warning.path.is_empty() {
            String::new()
        } else {
            format!(" {}:", warning.path)
        };
        let first = wrapped(
            &format!("warning: {}{place}:{path} {}", warning.file, warning.seen),
            WIDTH,
            0,
        );
        let first = first.replacen("warning:", &format!("{WARNING}warning:{WARNING:#}"), 1);
        let rest = wrapped(&format!("{} {}", warning.why, warning.mend), WIDTH, 2);
        self.tell(&format!("{first}{rest}"));
    }

    /// The one progress bar: drawn on a terminal only.
    pub(super) fn progress(&self, what: &str) -> Progress {
        Progress::new(what, !self.quiet && io::stderr().is_terminal())
    }

    /// Tells on standard error what begins, where no bar shows it.
    pub(super) fn begin(&self, line: &str) {
        if !self.quiet && !self.json && !io::stderr().is_terminal() {
            self.tell(&format!("{line}\n"));
        }
    }

    /// Tells a failure and returns the exit status for it.
    pub(super) fn fail(&self, failure: &Failure) -> u8 {
        if failure.is_closed_pipe() {
            return 0;
        }
        if self.json {
            self.tell_json(&failure.to_json());
        } else {
            self.tell(&format!(
                "{ERROR}error:{ERROR:#} {}\n",
                failure.to_string().trim_end()
            ));
        }
        failure.exit_status()
    }

    /// Shows what the argument parser has to say: help and version are results, the rest are errors.
    pub(super) fn usage(&mut self, told: &clap::Error) -> u8 {
        let text = told.render();
        if !told.use_stderr() {
            return match self.print(&text.ansi().to_string()) {
                Ok(()) => 0,
                Err(failure) => self.fail(&failure),
            };
        }
        if self.json {
            return self.fail(&Failure::Usage(
                text.to_string().trim_start_matches("error: ").to_owned(),
            ));
        }
        self.tell(&text.ansi().to_string());
        2
    }

    fn tell_json(&self, value: &serde_json::Value) {
        self.tell(&format!("{value:#}\n"));
    }

    /// Standard error can be closed, and there is nobody left to tell that.
    fn tell(&self, text: &str) {
        let mut err = AutoStream::new(io::stderr().lock(), self.choice);
        let _ = err.write_all(text.as_bytes());
        let _ = err.flush();
    }
}

/// Whether the locale names UTF-8; the first variable that is set decides, as POSIX has it.
fn speaks_unicode() -> bool {
    let set = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
    let locale = set("LC_ALL")
        .or_else(|| set("LC_CTYPE"))
        .or_else(|| set("LANG"));
    locale.map_or(cfg!(windows), |locale| {
        let locale = locale.to_lowercase();
        locale.contains("utf-8") || locale.contains("utf8")
    })
}
