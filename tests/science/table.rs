//! Reads the reference tables under `tests/data/`.

use std::collections::HashMap;

/// One row of a table, by column name.
pub(crate) struct Row {
    file: String,
    cells: HashMap<String, String>,
}

impl Row {
    pub(crate) fn text(&self, column: &str) -> &str {
        match self.cells.get(column) {
            Some(cell) => cell,
            None => panic!("{} has no column {column}", self.file),
        }
    }

    pub(crate) fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse()
            .unwrap_or_else(|_| panic!("{}: {column} is not a number: {text}", self.file))
    }

    pub(crate) fn has(&self, column: &str) -> bool {
        self.cells.contains_key(column)
    }

    /// A cell that may be empty.
    pub(crate) fn maybe(&self, column: &str) -> Option<f64> {
        (!self.text(column).is_empty()).then(|| self.number(column))
    }

    /// A temperature given in C \[K\].
    pub(crate) fn kelvin(&self, column: &str) -> f64 {
        marshgas::units::kelvin(self.number(column))
    }
}

/// All rows of `tests/data/<name>`; lines that begin with # are its sources.
pub(crate) fn rows(name: &str) -> Vec<Row> {
    let path = format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(&path)
        .unwrap();
    let rows: Vec<Row> = reader
        .deserialize()
        .map(|cells| Row {
            file: name.to_string(),
            cells: cells.unwrap(),
        })
        .collect();
    assert!(!rows.is_empty(), "{name} is empty");
    rows
}

/// Fails unless `got` is within `tolerance` of `want`, relative to it.
#[track_caller]
pub(crate) fn assert_relative(got: f64, want: f64, tolerance: f64, what: &str) {
    let error = (got / want - 1.0).abs();
    assert!(
        error <= tolerance,
        "{what}: got {got}, want {want}, off by {error:.2e}"
    );
}

/// Fails unless `got` is within `tolerance` of `want`.
#[track_caller]
pub(crate) fn assert_absolute(got: f64, want: f64, tolerance: f64, what: &str) {
    let error = (got - want).abs();
    assert!(
        error <= tolerance,
        "{what}: got {got}, want {want}, off by {error:.2e}"
    );
}
