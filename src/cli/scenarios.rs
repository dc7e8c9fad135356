//! `marshgas scenarios`: the bundled scenarios.

use serde_json::json;

use crate::scenario;

use super::bundled::{self, BUNDLED};
use super::columns::wrapped;
use super::failure::Failure;
use super::near::nearest;
use super::terminal::Terminal;

/// List the bundled scenarios, or print one of them.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas scenarios
  marshgas scenarios warm-tote > mine.json
  marshgas run warm-tote

All of them are inventions of this project.")]
pub(super) struct Options {
    /// Bundled scenario to print [default: list them all].
    #[arg(value_name = "NAME")]
    name: Option<String>,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    match &options.name {
        Some(name) => show(name, terminal),
        None => list(terminal),
    }
}

fn show(name: &str, terminal: &mut Terminal) -> Result<(), Failure> {
    let bundled = bundled::find(name).ok_or_else(|| Failure::Unknown {
        what: "bundled scenario",
        given: name.to_owned(),
        nearest: nearest(name, BUNDLED.iter().map(|b| b.name)),
        list: "See them all with `marshgas scenarios`.",
    })?;
    terminal.print(bundled.text)
}

fn list(terminal: &mut Terminal) -> Result<(), Failure> {
    let mut rows = Vec::new();
    for bundled in BUNDLED {
        let case = scenario::from_text(bundled.text, bundled.name, None)?.case;
        rows.push((bundled.name, case));
    }
    if terminal.wants_json() {
        let rows: Vec<_> = rows
            .iter()
            .map(|(name, case)| json!({ "name": name, "title": case.title, "about": case.about, "days": case.days }))
            .collect();
        return terminal.print_json(&json!({ "scenarios": rows }));
    }
    let text: Vec<String> = rows
        .iter()
        .map(|(name, case)| {
            format!(
                "{name}\n{}",
                wrapped(&format!("{}. {}", case.title, case.about), 80, 2)
            )
        })
        .collect();
    terminal.print(&text.join("\n"))
}
