//! Reads the check values of the feedstock part.

use serde::de::DeserializeOwned;

/// Rows of a file in tests/data/feedstock; lines that start with `#` are its header.
pub(crate) fn rows<T: DeserializeOwned>(file: &str) -> Vec<T> {
    let path = format!("{}/tests/data/feedstock/{file}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(&path)
        .unwrap();
    let rows: Vec<T> = reader.deserialize().map(Result::unwrap).collect();
    assert!(!rows.is_empty(), "{path} holds no rows");
    rows
}

/// Fails unless `value` is within `relative` of `expected`.
#[track_caller]
pub(crate) fn close(value: f64, expected: f64, relative: f64, what: &str) {
    assert!(
        (value - expected).abs() <= relative * expected.abs(),
        "{what}: {value} is {:+.3} % off {expected}",
        (value / expected - 1.0) * 100.0
    );
}
