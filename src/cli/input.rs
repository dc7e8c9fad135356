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
    let stem = stem(word);
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

/// Files that this program itself writes under the same name into many folders.
const SAME_NAMES: [&str; 2] = ["plant.json", "fitted.json"];

/// The name that the results of a file go by: its own without the ending. One that this program calls the same
/// everywhere gets that of its folder before it, or two of them would share a folder of results.
fn stem(word: &Path) -> String {
    let own = word
        .file_stem()
        .unwrap_or(word.as_os_str())
        .to_string_lossy()
        .into_owned();
    let same = word
        .file_name()
        .is_some_and(|name| SAME_NAMES.iter().any(|s| name == *s));
    let whole = std::path::absolute(word).ok();
    let folder = whole
        .as_deref()
        .and_then(Path::parent)
        .and_then(Path::file_name);
    match folder {
        Some(folder) if same && word.is_file() => format!("{}-{own}", folder.to_string_lossy()),
        _ => own,
    }
}

fn is_bare(name: &str) -> bool {
    !name.contains(['/', '\\', '.'])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plants_of_two_folders_have_results_of_their_own() {
        let root = tempfile::tempdir().unwrap();
        let mut stems = Vec::new();
        for folder in ["tote-size", "drum-size"] {
            let folder = root.path().join(folder);
            std::fs::create_dir(&folder).unwrap();
            let file = folder.join("plant.json");
            std::fs::write(&file, "{}").unwrap();
            stems.push(stem(&file));
        }
        assert_eq!(stems, ["tote-size-plant", "drum-size-plant"]);
        let mine = root.path().join("mine.json");
        std::fs::write(&mine, "{}").unwrap();
        assert_eq!(stem(&mine), "mine");
        assert_eq!(stem(Path::new("warm-tote")), "warm-tote");
    }
}
