//! `marshgas new`: a scenario of one's own, begun from a template.

use std::fs::OpenOptions;
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use serde_json::json;

use crate::scenario::{self, Template};

use super::bundled;
use super::columns::{Side, lines};
use super::failure::Failure;
use super::near::nearest;
use super::terminal::Terminal;

/// Start a scenario file of your own from a template.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas new --list
  marshgas new mine.json
  marshgas new drum.json --template drum

A file that is already there is never overwritten.")]
pub(super) struct Options {
    /// The scenario file to make.
    #[arg(value_name = "FILE", required_unless_present = "list")]
    file: Option<PathBuf>,
    /// Template to begin from; see --list.
    #[arg(long, value_name = "NAME", default_value = "tote")]
    template: String,
    /// List the templates and make nothing [default: make the file].
    #[arg(long, conflicts_with = "file")]
    list: bool,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    match &options.file {
        Some(file) => make(file, &options.template, terminal),
        None => list(terminal),
    }
}

fn list(terminal: &mut Terminal) -> Result<(), Failure> {
    let templates = scenario::templates();
    if terminal.wants_json() {
        let rows: Vec<_> = templates
            .iter()
            .map(|t| json!({ "name": t.name, "about": t.about }))
            .collect();
        return terminal.print_json(&json!({ "templates": rows }));
    }
    let rows: Vec<Vec<String>> = templates
        .iter()
        .map(|t| vec![t.name.to_owned(), t.about.to_owned()])
        .collect();
    terminal.print(&lines(&[Side::Left, Side::Left], &rows))
}

fn make(file: &Path, name: &str, terminal: &mut Terminal) -> Result<(), Failure> {
    if scenario::templates().iter().all(|t| t.name != name) && bundled::find(name).is_some() {
        return Err(Failure::Usage(format!(
            "--template {name}: this is a bundled scenario, no template. Write it to a file with `marshgas scenarios {name} > {}`",
            file.display()
        )));
    }
    let template = find(name)?;
    write_new(file, template.text)?;
    if terminal.wants_json() {
        return terminal
            .print_json(&json!({ "file": file.display().to_string(), "template": template.name }));
    }
    terminal.print(&format!(
        "{file}: made from the template {name}.\nChange it in an editor, then: marshgas check {file}",
        file = file.display(),
        name = template.name
    ))
}

fn find(name: &str) -> Result<&'static Template, Failure> {
    let templates = scenario::templates();
    templates
        .iter()
        .find(|template| template.name == name)
        .ok_or_else(|| Failure::Unknown {
            what: "template",
            given: name.to_owned(),
            nearest: nearest(name, templates.iter().map(|t| t.name)),
            list: "See them all with `marshgas new --list`.",
        })
}

/// Makes a file that is not there yet.
pub(super) fn write_new(file: &Path, text: &str) -> Result<(), Failure> {
    let refuse = |why: String, mend| Failure::Path {
        path: file.to_owned(),
        why,
        mend,
    };
    let mut opened = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(file)
        .map_err(|e| match e.kind() {
            ErrorKind::AlreadyExists => refuse(
                "this is already there, and nothing is overwritten".into(),
                "Give another name.",
            ),
            ErrorKind::NotFound => refuse(
                "its folder does not exist".into(),
                "Make the folder first, or give another name.",
            ),
            _ => refuse(
                format!("the file cannot be made: {e}"),
                "Give another name.",
            ),
        })?;
    opened
        .write_all(text.as_bytes())
        .map_err(|e| Failure::Write {
            path: file.to_owned(),
            why: e.to_string(),
        })
}
