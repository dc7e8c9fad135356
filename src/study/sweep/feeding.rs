//! The daily feeding of a scenario once it has reached its full size, read from the JSON.

use serde_json::{Map, Value};

/// Mass of a litre of water and of feed \[kg/L\], as the check of a scenario counts volumes.
const KG_PER_L: f64 = 1.0;

/// What is fed day by day at the end of the run. Pauses and feeds on chosen days are left out.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Steady {
    /// Material and water of the daily lines that last to the end of the run \[L/d\].
    pub(super) daily_l_per_d: f64,
    /// Steady stream \[L/d\].
    pub(super) stream_l_per_d: f64,
    /// Day on which the last of these lines has reached its full size \[d\].
    pub(super) full_from: f64,
    /// Days after which the feeding repeats itself \[d\].
    pub(super) cycle_d: usize,
}

impl Steady {
    /// Reads it from a scenario that has been checked.
    pub(super) fn of(scenario: &Value) -> Self {
        let days = number(scenario, "days").unwrap_or(0.0);
        let stream = scenario.get("inflow").and_then(|i| number(i, "l_per_d"));
        let mut steady = Self {
            stream_l_per_d: stream.unwrap_or(0.0),
            cycle_d: 1,
            ..Self::default()
        };
        for line in daily_lines(scenario).filter(|line| lasts(line, days)) {
            let every = number_in(line, "every_days").unwrap_or(1.0).max(1.0);
            let ramp = line.get("ramp");
            let per_feed = recipe_of(scenario, line).map_or(0.0, |r| material_kg(r) + water_kg(r));
            steady.daily_l_per_d += full_amount(line) * per_feed / KG_PER_L / every;
            let from = number_in(line, "from_day").unwrap_or(0.0);
            let climb = ramp.and_then(|r| number(r, "over_days")).unwrap_or(0.0);
            steady.full_from = steady.full_from.max(from + climb);
            // Whole and at least 1 in a checked scenario.
            steady.cycle_d = common_multiple(steady.cycle_d, every as usize);
        }
        steady
    }

    /// Everything that flows in \[L/d\].
    pub(super) fn litres_per_d(&self) -> f64 {
        self.daily_l_per_d + self.stream_l_per_d
    }
}

/// What a daily line gives of its recipe once it has reached its full size.
#[must_use]
pub fn full_amount(line: &Map<String, Value>) -> f64 {
    let amount = match line.get("ramp") {
        Some(ramp) => number(ramp, "to"),
        None => number_in(line, "amount"),
    };
    amount.unwrap_or(1.0)
}

/// Whether a daily line feeds up to the last day of the run.
pub(super) fn lasts(line: &Map<String, Value>, days: f64) -> bool {
    number_in(line, "to_day").is_none_or(|to| to >= days - 1.0)
}

/// The bodies of all daily lines.
pub(super) fn daily_lines(scenario: &Value) -> impl Iterator<Item = &Map<String, Value>> {
    let lines = scenario.get("feeding").and_then(Value::as_array);
    lines
        .into_iter()
        .flatten()
        .filter_map(|line| line.get("daily")?.as_object())
}

/// The same, to be changed.
pub(super) fn daily_lines_mut(
    scenario: &mut Value,
) -> impl Iterator<Item = &mut Map<String, Value>> {
    let lines = scenario.get_mut("feeding").and_then(Value::as_array_mut);
    lines
        .into_iter()
        .flatten()
        .filter_map(|line| line.get_mut("daily")?.as_object_mut())
}

/// Names of the recipes of the daily lines, each once.
pub(super) fn daily_recipes(scenario: &Value) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for line in daily_lines(scenario) {
        if let Some(name) = line.get("recipe").and_then(Value::as_str)
            && !names.iter().any(|known| known == name)
        {
            names.push(name.to_owned());
        }
    }
    names
}

fn recipe_of<'a>(scenario: &'a Value, line: &Map<String, Value>) -> Option<&'a Value> {
    scenario.get("recipes")?.get(line.get("recipe")?.as_str()?)
}

/// Weight of the materials of a recipe or starter \[kg\].
pub(super) fn material_kg(mixture: &Value) -> f64 {
    let parts = mixture.get("materials").and_then(Value::as_array);
    let kg = parts.into_iter().flatten().filter_map(|p| number(p, "kg"));
    // From +0: the sum of nothing is -0 otherwise.
    kg.fold(0.0, |sum, kg| sum + kg)
}

/// Weight of the added water of a recipe or starter \[kg\].
pub(super) fn water_kg(mixture: &Value) -> f64 {
    KG_PER_L * number(mixture, "water_l").unwrap_or(0.0)
}

/// A number by its key.
pub(super) fn number(group: &Value, key: &str) -> Option<f64> {
    group.get(key)?.as_f64()
}

/// A number by its key within a map.
pub(super) fn number_in(group: &Map<String, Value>, key: &str) -> Option<f64> {
    group.get(key)?.as_f64()
}

fn common_multiple(a: usize, b: usize) -> usize {
    let (mut x, mut y) = (a.max(1), b.max(1));
    while y > 0 {
        (x, y) = (y, x % y);
    }
    (a.max(1) / x).saturating_mul(b.max(1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn the_full_feeding_counts_ramps_intervals_and_the_stream() {
        let scenario = json!({
            "days": 100,
            "inflow": {"l_per_d": 5},
            "recipes": {"a": {"materials": [{"kg": 2}, {"kg": 1}], "water_l": 3},
                        "b": {"materials": [{"kg": 7}]}},
            "feeding": [
                {"daily": {"recipe": "a", "from_day": 10, "ramp": {"from": 0.1, "to": 2, "over_days": 20}}},
                {"daily": {"recipe": "b", "from_day": 0, "every_days": 7}},
                {"daily": {"recipe": "b", "from_day": 0, "to_day": 50}},
                {"on": {"recipe": "b", "days": [3]}}
            ]
        });
        let steady = Steady::of(&scenario);
        assert!((steady.daily_l_per_d - 13.0).abs() < 1e-12);
        assert!((steady.litres_per_d() - 18.0).abs() < 1e-12);
        assert_eq!((steady.full_from, steady.cycle_d), (30.0, 7));
        assert_eq!(daily_recipes(&scenario), ["a", "b"]);
    }
}
