//! Reading of the reference tables.

use std::collections::BTreeMap;

/// One row of a reference table, by column name.
pub(crate) type Row = BTreeMap<String, String>;

/// Rows of `tests/data/solver/<name>`; lines that begin with # are comments.
pub(crate) fn rows(name: &str) -> Vec<Row> {
    let path = format!("{}/tests/data/solver/{name}", env!("CARGO_MANIFEST_DIR"));
    csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(&path)
        .unwrap_or_else(|e| panic!("{path}: {e}"))
        .into_deserialize()
        .map(|row| row.unwrap())
        .collect()
}

pub(crate) fn number(row: &Row, column: &str) -> f64 {
    row[column]
        .parse()
        .unwrap_or_else(|e| panic!("{column} {:?}: {e}", row[column]))
}

/// Parameters column: a JSON object of numbers or lists of numbers.
pub(crate) fn parameters(row: &Row) -> BTreeMap<String, Vec<f64>> {
    let object: BTreeMap<String, serde_json::Value> =
        serde_json::from_str(&row["parameters"]).unwrap();
    object
        .into_iter()
        .map(|(key, value)| {
            let list = match &value {
                serde_json::Value::Array(list) => {
                    list.iter().map(|v| v.as_f64().unwrap()).collect()
                }
                single => vec![single.as_f64().unwrap()],
            };
            (key, list)
        })
        .collect()
}
