//! A month in a file.

use schemars::JsonSchema;

/// A month: its number, 1 for January, or its English name, whole or the first three letters.
#[derive(JsonSchema)]
#[serde(untagged)]
#[schemars(rename = "Month")]
#[allow(dead_code, reason = "only its description is used")]
pub(crate) enum RawMonth {
    /// 1 for January.
    Number(#[schemars(range(min = 1.0, max = 12.0))] f64),
    /// Such as "january" or "jan".
    Name(String),
}
