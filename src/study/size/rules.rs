//! Lines of practice and assumptions, as data, and the named climates.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::embedded;

/// Straight or exponential pieces over the temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// (C, value), rising in C.
    pub points: Vec<(f64, f64)>,
    /// What the values are.
    pub unit: String,
    /// Source.
    pub source: String,
}

/// A number with its source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Assumed {
    /// The number.
    pub value: f64,
    /// Source.
    pub source: String,
}

/// Numbers to try, with their source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tried {
    /// The numbers.
    pub values: Vec<f64>,
    /// Source.
    pub source: String,
}

/// All rules of the search.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rules {
    /// What the file holds.
    pub about: String,
    /// Highest loading over the temperature of the liquor \[kg VS/m3/d\].
    pub loading: Line,
    /// Shortest retention over the temperature of the liquor \[d\].
    pub retention: Line,
    /// Share of the model's own limit that may be used.
    pub limit_share: Assumed,
    /// Total solids of the mixture fed that are tried \[%\].
    pub feed_solids_pct: Tried,
    /// Share of the gas's energy that a boiler turns into useful heat.
    pub boiler_share: Assumed,
    /// Share of a unit that holds liquid.
    pub liquid_share: Assumed,
    /// Kelvin by which the first-order rate of the first estimate halves.
    pub halving_k: Assumed,
    /// Share of the long side that a window takes.
    pub window_share: Assumed,
    /// Share of the sun on level ground that falls on an upright window.
    pub upright_share: Assumed,
    /// Room around a unit in its greenhouse \[cm\].
    pub greenhouse_gap_cm: Assumed,
    /// Share of what there is that is fed in the month in which a plant begins again.
    pub restart_share: Assumed,
    /// Days in which a heater warms a plant that rested.
    pub warm_up_days: Assumed,
    /// Share above the heat that a plant's run buys up to which a draw still counts.
    pub bought_reserve: Assumed,
    /// Least share of the wish for which something is built on.
    pub least_gain: Assumed,
    /// Share of the litres of the smallest by which a plant may be larger and still count as equally large.
    pub near_litres: Assumed,
    /// Days that an iron bed is sized for.
    pub iron_days: Assumed,
}

static RULES: LazyLock<Rules> = LazyLock::new(|| {
    embedded::read(
        "study/size/data/rules.json",
        include_str!("data/rules.json"),
    )
});

/// The rules of this build.
#[must_use]
pub fn rules() -> &'static Rules {
    &RULES
}

impl Rules {
    /// Highest loading at a temperature of the liquor \[kg VS/m3/d\]; 0 below the coldest point.
    #[must_use]
    pub fn loading_line(&self, celsius: f64) -> f64 {
        let points = &self.loading.points;
        match points.first() {
            Some(first) if celsius >= first.0 => between(points, celsius, true),
            _ => 0.0,
        }
    }

    /// Shortest retention at a temperature of the liquor \[d\].
    #[must_use]
    pub fn retention_line(&self, celsius: f64) -> f64 {
        between(&self.retention.points, celsius, false)
    }
}

/// The value at `x`, held beyond the ends.
fn between(points: &[(f64, f64)], x: f64, by_ratio: bool) -> f64 {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return f64::NAN;
    };
    if x <= first.0 {
        return first.1;
    }
    for pair in points.windows(2) {
        if let [(x0, y0), (x1, y1)] = *pair
            && x <= x1
        {
            let share = (x - x0) / (x1 - x0);
            return if by_ratio {
                y0 * (y1 / y0).powf(share)
            } else {
                y0 + share * (y1 - y0)
            };
        }
    }
    last.1
}

/// A named climate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NamedClimate {
    /// Name in a wish.
    pub name: String,
    /// In a few words.
    pub about: String,
    /// The scenario's `climate`.
    pub climate: Value,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Climates {
    #[serde(rename = "about")]
    _about: String,
    climates: Vec<NamedClimate>,
}

static CLIMATES: LazyLock<Climates> = LazyLock::new(|| {
    embedded::read(
        "study/size/data/climates.json",
        include_str!("data/climates.json"),
    )
});

/// The named climates.
#[must_use]
pub fn climates() -> &'static [NamedClimate] {
    &CLIMATES.climates
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_practice_pass_through_their_sources() {
        let rules = rules();
        assert!((rules.loading_line(35.0) - 1.5).abs() < 1e-12);
        assert!((rules.loading_line(20.0) - 0.5).abs() < 1e-12);
        assert_eq!(rules.loading_line(14.9), 0.0);
        // 1/40 of the liquid a day.
        assert!((rules.retention_line(30.0) - 40.0).abs() < 1e-12);
        assert!((rules.retention_line(10.0) - 100.0).abs() < 1e-12);
        for c in 10..40 {
            let (c, next) = (f64::from(c), f64::from(c + 1));
            assert!(rules.loading_line(next) >= rules.loading_line(c));
            assert!(rules.retention_line(next) <= rules.retention_line(c));
        }
    }
}
