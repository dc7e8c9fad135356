//! Reads the data files that are built into the program.

use serde::Deserialize;
use serde::de::DeserializeOwned;

use super::composition::Range;

/// Parses one embedded file. A fault here is a fault of the build, never of a user, and the tests
/// read every file.
pub(crate) fn read<T: DeserializeOwned>(file: &str, text: &str) -> T {
    let mut json = serde_json::Deserializer::from_str(text);
    match serde_path_to_error::deserialize(&mut json) {
        Ok(table) => table,
        Err(fault) => unreachable!("embedded file {file}: {fault}"),
    }
}

/// Unwraps a look-up between embedded files.
pub(crate) fn linked<T>(found: Option<T>, what: &str, key: &str) -> T {
    match found {
        Some(value) => value,
        None => unreachable!("embedded data: {what} `{key}` is missing"),
    }
}

/// `[low, typical, high]` as the data files write it.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(transparent)]
pub(crate) struct Triple([f64; 3]);

impl Triple {
    pub(crate) fn new(low: f64, typical: f64, high: f64) -> Self {
        Self([low, typical, high])
    }

    pub(crate) fn range(self) -> Range {
        self.times(1.0)
    }

    /// The range in another unit.
    pub(crate) fn times(self, factor: f64) -> Range {
        let [low, typical, high] = self.0;
        Range {
            low: low * factor,
            typical: typical * factor,
            high: high * factor,
        }
    }
}
