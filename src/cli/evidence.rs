//! `marshgas evidence`: published check values beside what this build computes.

use serde::Serialize;
use serde_json::json;

use super::columns::{Side, lines, wrapped};
use super::failure::Failure;
use super::terminal::Terminal;

/// Compare published check values with what this build computes.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas evidence
  marshgas evidence --json > evidence.json")]
pub(super) struct Options {}

/// One check value.
#[derive(Debug, Serialize)]
struct Row {
    /// What is compared.
    what: String,
    unit: String,
    published: f64,
    computed: f64,
    /// Largest difference that the tests allow.
    tolerance: f64,
    source: String,
}

/// THE SEAM: the check values of this build.
fn rows() -> Vec<Row> {
    Vec::new()
}

pub(super) fn run(_: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let rows = rows();
    if terminal.wants_json() {
        return terminal.print_json(&json!({ "evidence": rows }));
    }
    let mut text = String::new();
    for row in &rows {
        text.push_str(&row.what);
    }
    let _ = (lines(&[Side::Left], &[]), wrapped("", 80, 0));
    terminal.print(&text)
}
