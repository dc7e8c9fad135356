//! From the word that names a scenario to the checked scenario.

use std::path::Path;

use crate::scenario::{self, Loaded};

use super::bundled::{self, BUNDLED};
use super::failure::Failure;
use super::near::nearest;
use super::terminal::Terminal;

/// A scenario and the name that its results go by.
#[derive(Debug)]
pub(super) struct Input {
    /// File name without its ending.
    pub(super) stem: String,
    pub(super) loaded: Loaded,
}

/// Reads and checks a file, or else the bundled scenario of this name.
pub(super) fn load(word: &Path) -> Result<Input, Failure> {
    let stem = word
        .file_stem()
        .unwrap_or(word.as_os_str())
        .to_string_lossy()
        .into_owned();
    let name = word.to_str().filter(|_| !word.is_file());
    if let Some(bundled) = name.and_then(bundled::find) {
        let label = format!("{} (bundled)", bundled.name);
        let loaded = scenario::from_text(bundled.text, &label, None)?;
        return Ok(Input { stem, loaded });
    }
    // A bare word that is no file was meant as a name.
    if let Some(name) = name.filter(|name| is_bare(name) && !word.exists()) {
        return Err(Failure::Unknown {
            what: "file and no bundled scenario",
            given: name.to_owned(),
            nearest: nearest(name, BUNDLED.iter().map(|b| b.name)),
            list: "See the bundled ones with `marshgas scenarios`.",
        });
    }
    Ok(Input {
        stem,
        loaded: scenario::load(word)?,
    })
}

/// The same, with its warnings told on the terminal.
pub(super) fn load_telling(word: &Path, terminal: &Terminal) -> Result<Input, Failure> {
    let input = load(word)?;
    for warning in &input.loaded.warnings {
        terminal.warn(warning);
    }
    Ok(input)
}

/// Checks a scenario given as JSON; tables are looked for in `folder`.
pub(super) fn from_json(
    json: &serde_json::Value,
    label: &str,
    folder: Option<&Path>,
) -> Result<Loaded, Failure> {
    Ok(scenario::from_value(json, label, folder)?)
}

/// Where the tables of a scenario file are looked for; a bundled scenario has none.
pub(super) fn folder_of(file: &Path) -> Option<&Path> {
    if !file.is_file() {
        return None;
    }
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => Some(folder),
        _ => Some(Path::new(".")),
    }
}

fn is_bare(name: &str) -> bool {
    !name.contains(['/', '\\', '.'])
}
