//! What every command that writes a page shares: its folder, its files, its words on the terminal.

use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::report::{self, Document, Flavour, ReportError};
use crate::scenario::Warning;
use crate::study::batch::MAX_THREADS;

use super::failure::Failure;
use super::folder::Folder;
use super::terminal::Terminal;

/// Where the results of a command go, if anywhere.
pub(super) struct Results {
    folder: Option<Folder>,
    png: bool,
}

impl Results {
    /// Makes the folder asked for, or `results/` and the scenario's name with `ending`; none with `no_files`.
    pub(super) fn prepare(
        out: Option<&Path>,
        no_files: bool,
        (stem, ending): (&str, &str),
        png: bool,
    ) -> Result<Self, Failure> {
        let folder = match (out, no_files) {
            (_, true) => None,
            (Some(out), _) => Some(Folder::prepare(out)?),
            (None, _) => Some(Folder::prepare(
                &Path::new("results").join(format!("{stem}{ending}")),
            )?),
        };
        Ok(Self { folder, png })
    }

    /// The folder, where there is one.
    pub(super) fn folder(&self) -> Option<&Path> {
        self.folder.as_ref().map(Folder::path)
    }

    /// The folder stays, whatever becomes of the job.
    pub(super) fn keep(self) {
        if let Some(folder) = self.folder {
            folder.keep();
        }
    }

    /// Paths of the page, of `others` and of the figures, in the order in which they are told.
    pub(super) fn paths(&self, document: &Document, others: &[&str]) -> Vec<String> {
        let Some(folder) = self.folder() else {
            return Vec::new();
        };
        let mut names = vec!["report.html".to_owned()];
        names.extend(others.iter().map(|name| (*name).to_owned()));
        for figure in &document.figures {
            names.push(format!("{}.svg", figure.id));
            if self.png {
                names.push(format!("{}.png", figure.id));
            }
        }
        let told = names
            .iter()
            .map(|name| folder.join(name).display().to_string());
        told.collect()
    }

    /// Writes the page, `others` (name, contents) and the figures. Files called as one of `stale` that are not among
    /// them go away: an old plan beside a new page would be taken for its own.
    pub(super) fn write(
        self,
        document: &Document,
        others: Vec<(&str, Vec<u8>)>,
        stale: &[&str],
    ) -> Result<(), Failure> {
        let Some(folder) = self.folder else {
            return Ok(());
        };
        let failed = |error: ReportError| failed(folder.path(), &error.to_string());
        let mut files = vec![(
            "report.html".to_owned(),
            report::html(document).map_err(failed)?.into_bytes(),
        )];
        files.extend(others.into_iter().map(|(name, it)| (name.to_owned(), it)));
        for figure in &document.figures {
            let svg = report::svg(figure, report::Theme::Light).into_bytes();
            files.push((format!("{}.svg", figure.id), svg));
            if self.png {
                let png = report::png(figure).map_err(failed)?;
                files.push((format!("{}.png", figure.id), png));
            }
        }
        report::write_all(folder.path(), &files).map_err(failed)?;
        for name in stale {
            let path = folder.path().join(name);
            if files.iter().all(|(written, _)| written != name) && path.exists() {
                std::fs::remove_file(&path).map_err(|e| Failure::Write {
                    path: path.clone(),
                    why: format!("this file of an earlier result cannot be removed: {e}"),
                })?;
            }
        }
        folder.keep();
        Ok(())
    }
}

/// A file that could not be made.
pub(super) fn failed(folder: &Path, why: &str) -> Failure {
    Failure::Write {
        path: PathBuf::from(folder),
        why: why.to_owned(),
    }
}

/// What a study tells besides its page.
pub(super) struct Told<'a, T> {
    /// Name and version of the layout of its JSON.
    pub(super) schema: (&'a str, u32),
    /// Its name there, and of its file with `.json` behind.
    pub(super) name: &'static str,
    /// What was found.
    pub(super) found: &'a T,
    /// Warnings of the scenario.
    pub(super) warnings: &'a [Warning],
    /// Files besides the page, the JSON and the figures, with their contents.
    pub(super) others: Vec<(&'static str, Vec<u8>)>,
    /// Files of these names that are not among them go away.
    pub(super) stale: &'a [&'a str],
}

/// Writes the page of a study with its JSON and its other files, and tells it on the terminal as it is wanted there.
pub(super) fn publish<T: Serialize>(
    room: Results,
    document: &Document,
    told: Told<'_, T>,
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    let json_name = format!("{}.json", told.name);
    let mut names = vec![json_name.as_str()];
    names.extend(told.others.iter().map(|(name, _)| *name));
    let files = room.paths(document, &names);
    let mut json = serde_json::Map::new();
    let failed =
        |e: serde_json::Error| failed(room.folder().unwrap_or(Path::new("")), &e.to_string());
    for (key, value) in [
        ("schema", serde_json::to_value(told.schema.0)),
        ("schema_version", serde_json::to_value(told.schema.1)),
        ("files", serde_json::to_value(&files)),
        ("warnings", serde_json::to_value(told.warnings)),
        (told.name, serde_json::to_value(told.found)),
    ] {
        json.insert(key.to_owned(), value.map_err(failed)?);
    }
    let mut text = serde_json::to_vec_pretty(&json).map_err(failed)?;
    text.push(b'\n');
    let mut others = vec![(json_name.as_str(), text)];
    others.extend(told.others);
    room.write(document, others, told.stale)?;
    if terminal.wants_json() {
        return terminal.print_json(&json);
    }
    tell(document, &files, terminal)
}

/// The page on the terminal, with the files that were written.
pub(super) fn tell(
    document: &Document,
    files: &[String],
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    let (width, unicode) = terminal.layout();
    // Colours are always set; the stream takes them out where nobody wants them.
    let mut text = report::text(document, width, true, unicode);
    if !files.is_empty() {
        let list: Vec<String> = files.iter().map(|f| format!("  {f}")).collect();
        text.push_str(&format!("\nFiles\n{}\n", list.join("\n")));
    }
    terminal.print(&text)
}

/// How tables are written, with `--csv-excel` or without.
pub(super) fn flavour(csv_excel: bool) -> Flavour {
    if csv_excel {
        Flavour::Spreadsheet
    } else {
        Flavour::Plain
    }
}

/// Reads a number of worker threads.
pub(super) fn threads(word: &str) -> Result<usize, String> {
    within(word, 1, MAX_THREADS)
}

/// Reads a whole number within limits.
pub(super) fn within(word: &str, low: usize, high: usize) -> Result<usize, String> {
    match word.parse::<usize>() {
        Ok(value) if (low..=high).contains(&value) => Ok(value),
        _ => Err(format!("give a whole number from {low} to {high}")),
    }
}
