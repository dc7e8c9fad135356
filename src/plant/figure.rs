//! A number of a data table, with its range, unit and how it became known.

use serde::{Deserialize, Serialize};

/// How a figure became known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Given by the source named.
    Published,
    /// Follows by arithmetic from what is named.
    Derived,
    /// Remembered and not seen again.
    FromMemory,
    /// A trade fact without a source.
    CommonPractice,
    /// Assumed here.
    Assumed,
}

impl Standing {
    /// For people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Derived => "derived",
            Self::FromMemory => "from memory",
            Self::CommonPractice => "common practice, no source",
            Self::Assumed => "assumed",
        }
    }
}

/// A default that a user can change.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// `[low, typical, high]`.
    pub range: [f64; 3],
    /// Unit; empty for a share.
    pub unit: String,
    /// How it became known.
    pub standing: Standing,
    /// Where from, or what it follows from.
    pub source: String,
}

impl Figure {
    /// The value taken where the user gives none.
    #[must_use]
    pub fn typical(&self) -> f64 {
        self.range[1]
    }

    /// Lower end of what is found.
    #[must_use]
    pub fn low(&self) -> f64 {
        self.range[0]
    }

    /// Upper end of what is found.
    #[must_use]
    pub fn high(&self) -> f64 {
        self.range[2]
    }
}

#[cfg(test)]
mod tests {
    use serde_json::Value;

    /// Every figure of a table: `{range, unit, standing, source}` at any depth.
    fn figures<'a>(value: &'a Value, found: &mut Vec<&'a Value>) {
        match value {
            Value::Object(map) if map.contains_key("range") => found.push(value),
            Value::Object(map) => map.values().for_each(|v| figures(v, found)),
            Value::Array(list) => list.iter().for_each(|v| figures(v, found)),
            _ => {}
        }
    }

    #[test]
    fn every_figure_has_an_ordered_range_and_says_how_it_is_known() {
        for (name, text) in [
            ("beds", include_str!("data/beds.json")),
            ("stores", include_str!("data/stores.json")),
            ("uses", include_str!("data/uses.json")),
            ("residue", include_str!("data/residue.json")),
        ] {
            let table: Value = serde_json::from_str(text).unwrap();
            let mut found = Vec::new();
            figures(&table, &mut found);
            assert!(found.len() >= 8, "{name}: {} figures", found.len());
            for value in found {
                let figure: super::Figure = serde_json::from_value(value.clone()).unwrap();
                let [low, typical, high] = figure.range;
                assert!(low <= typical && typical <= high, "{name}: {value}");
                assert!(low >= 0.0 && high.is_finite(), "{name}: {value}");
                assert!(figure.source.len() > 10, "{name}: {value}");
                // What cannot be looked up again is no published figure.
                let year = figure
                    .source
                    .split(|c: char| !c.is_ascii_digit())
                    .any(|part| part.len() == 4 && ["19", "20"].contains(&&part[..2]));
                let published = figure.standing == super::Standing::Published;
                assert!(!published || year, "{name}: {value}");
            }
        }
    }
}
