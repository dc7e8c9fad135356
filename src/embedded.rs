//! Reads the data files that are built into the program (layer 0).

use serde::de::DeserializeOwned;

/// Parses one embedded file. A fault here is a fault of the build, never of a user, and the tests
/// read every file.
pub(crate) fn read<T: DeserializeOwned>(file: &str, text: &str) -> T {
    match serde_json::from_str(text) {
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
