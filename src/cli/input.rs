//! From the word that names a scenario to the checked scenario.

use std::path::Path;

use crate::case::NetworkKind;
use crate::kinetics::{Parameters, adm1, four_stage};
use crate::scenario::{self, Loaded, Vocabulary};

use super::bundled::{self, BUNDLED};
use super::failure::Failure;
use super::near::nearest;

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
        let loaded = scenario::from_text_with(bundled.text, &label, None, &Known)?;
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
        loaded: scenario::load_with(word, &Known)?,
    })
}

/// Checks a scenario given as JSON; tables are looked for in `folder`.
pub(super) fn from_json(
    json: &serde_json::Value,
    label: &str,
    folder: Option<&Path>,
) -> Result<Loaded, Failure> {
    Ok(scenario::from_value_with(json, label, folder, &Known)?)
}

fn is_bare(name: &str) -> bool {
    !name.contains(['/', '\\', '.'])
}

/// The names that the equations know.
struct Known;

/// The names that the equations know, for checks elsewhere.
pub(super) fn vocabulary() -> &'static (dyn Vocabulary + Sync) {
    &Known
}

/// Largest concentration of a component in a steady inflow \[kg COD or kmol per m3\]: thicker than any liquor that
/// flows.
const MOST: f64 = 1000.0;

impl Vocabulary for Known {
    fn parameter(&self, network: NetworkKind, name: &str) -> Result<(f64, f64), Vec<String>> {
        let known = match network {
            NetworkKind::FourStage => Parameters::four_stage(),
            NetworkKind::Adm1 => Parameters::adm1(),
        };
        match known.find(name) {
            Ok(parameter) => Ok((parameter.low, parameter.high)),
            Err(_) => Err(known.parameters.into_iter().map(|p| p.name).collect()),
        }
    }

    fn component(&self, network: NetworkKind, name: &str) -> Result<(f64, f64), Vec<String>> {
        let built = match network {
            NetworkKind::FourStage => four_stage(&Parameters::four_stage()),
            NetworkKind::Adm1 => adm1(&Parameters::adm1()),
        };
        // With the parameters of this build a network always closes; a run would tell otherwise.
        let names: Vec<&str> = built
            .iter()
            .flat_map(|n| &n.components)
            .map(|c| c.name)
            .collect();
        if names.contains(&name) {
            Ok((0.0, MOST))
        } else {
            Err(names.into_iter().map(str::to_owned).collect())
        }
    }
}
