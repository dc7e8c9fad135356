//! The list of checks, read from the data file that is part of the program.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use crate::embedded;

/// What the list expects of this build.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Expectation {
    /// The value is met within the allowed gap.
    Agrees,
    /// It is not, and the list says by how much and why.
    Misses,
    /// An assumption of the model was set with this value in sight, so it does not count.
    SetBy,
}

/// One check.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Name by which its value is computed.
    pub id: String,
    /// Heading under which it is shown.
    pub topic: String,
    /// What is compared.
    pub what: String,
    /// Unit.
    #[serde(default)]
    pub unit: String,
    /// Published value, where there is one; otherwise there is a band.
    #[serde(default)]
    pub published: Option<f64>,
    /// Allowed gap as a share of the published value.
    #[serde(default)]
    pub allowed_share: Option<f64>,
    /// Allowed gap in the unit.
    #[serde(default)]
    pub allowed: Option<f64>,
    /// Low end of a published band.
    #[serde(default)]
    pub low: Option<f64>,
    /// High end of a published band.
    #[serde(default)]
    pub high: Option<f64>,
    /// What is expected of this build.
    pub expected: Expectation,
    /// Size of a known miss \[unit\].
    #[serde(default)]
    pub known_gap: Option<f64>,
    /// Why a known miss misses, or what was set by the value.
    #[serde(default)]
    pub cause: String,
    /// Key of its source.
    pub source: String,
}

impl Check {
    /// Lowest and highest value that agrees.
    #[must_use]
    pub fn range(&self) -> (f64, f64) {
        match self.published {
            Some(value) => {
                let gap =
                    self.allowed.unwrap_or(0.0) + self.allowed_share.unwrap_or(0.0) * value.abs();
                (value - gap, value + gap)
            }
            None => (
                self.low.unwrap_or(f64::NEG_INFINITY),
                self.high.unwrap_or(f64::INFINITY),
            ),
        }
    }

    /// Whether a computed value agrees. Something that never happens agrees with no band.
    #[must_use]
    pub fn holds(&self, computed: f64) -> bool {
        let (low, high) = self.range();
        computed.is_finite() && low <= computed && computed <= high
    }

    /// Distance from the published value, or from the band \[unit\].
    #[must_use]
    pub fn gap(&self, computed: f64) -> f64 {
        match self.published {
            Some(value) => (computed - value).abs(),
            None => {
                let (low, high) = self.range();
                (low - computed).max(computed - high).max(0.0)
            }
        }
    }
}

/// The whole list.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Book {
    /// What it holds.
    pub about: String,
    /// Sources in full by key.
    pub sources: BTreeMap<String, String>,
    /// The checks in the order in which they are shown.
    pub checks: Vec<Check>,
}

static BOOK: LazyLock<Book> =
    LazyLock::new(|| embedded::read("evidence.json", include_str!("../data/evidence.json")));

/// The list of this build.
#[must_use]
pub fn book() -> &'static Book {
    &BOOK
}
