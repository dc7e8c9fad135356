//! Turning knobs: from the scenario's JSON and values to the JSON of one point.

use serde_json::{Map, Value};

use super::feeding::{
    Steady, daily_lines, daily_lines_mut, daily_recipes, lasts, material_kg, number, number_in,
    water_kg,
};
use super::knob::{Knob, Named};
use super::rules::Rules;
use crate::scenario::{self, NumberError};
use crate::units::{MESSAGE_DIGITS, repeated, told};

/// Longest run that a scenario may ask for \[d\].
const LONGEST_D: f64 = 7300.0;
const PERCENT: f64 = 100.0;
/// Below this a negative amount of water is round-off \[L\].
const ROUND_OFF_L: f64 = 1e-9;

/// Why a knob cannot be turned to a value.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TurnError {
    /// The address leads to no number, or the value is not finite.
    #[error(transparent)]
    Number(#[from] NumberError),
    /// Nothing is fed every day.
    #[error(
        "{0} needs a \"daily\" line in \"feeding\" that lasts to the end of the run, and a recipe with something in it"
    )]
    NoDaily(&'static str),
    /// The value makes no sense for this knob.
    #[error("{knob} cannot be {}: it must be {allowed}", repeated(*value))]
    Value {
        /// Knob.
        knob: &'static str,
        /// Value.
        value: f64,
        /// What may stand there.
        allowed: &'static str,
    },
    /// There would have to be less than no water.
    #[error(
        "{} d at the same loading would need {} L of water in recipe `{recipe}`: without any water its materials stay at \
         most {} d",
        repeated(*retention_d),
        told(*water_l, MESSAGE_DIGITS),
        told(*most_d, MESSAGE_DIGITS)
    )]
    NegativeWater {
        /// Retention time asked for \[d\].
        retention_d: f64,
        /// Recipe.
        recipe: String,
        /// Water it would take \[L\].
        water_l: f64,
        /// Longest retention time without water \[d\].
        most_d: f64,
    },
    /// A steady stream has no water of its own.
    #[error(
        "{0} changes the water of recipes, and this scenario has a steady stream; vary `inflow.l_per_d` or \
         `retention-at-fixed-recipe`"
    )]
    Stream(&'static str),
    /// The temperature comes from a table.
    #[error(
        "{0}.temperature comes from a table and cannot be moved; write it as constant_c, wave or points"
    )]
    Table(String),
    /// The temperature follows a heat balance.
    #[error(
        "{0}.temperature follows a heat balance; vary its parts by their address as --list shows it, such as \
         `{0}.temperature.heat.heater.set_c` or `climate.air.wave.mean_c`"
    )]
    Heat(String),
    /// The starter holds no material, or more than the filling.
    #[error("the starter cannot hold {} kg of material: {why}", repeated(*kg))]
    Starter {
        /// Mass asked for \[kg\].
        kg: f64,
        /// Why.
        why: &'static str,
    },
}

/// The scenario with every knob turned to its value.
///
/// # Errors
/// [`TurnError`].
pub(super) fn turn(base: &Value, knobs: &[(&Knob, f64)]) -> Result<Value, TurnError> {
    let mut scenario = base.clone();
    let mut order: Vec<&(&Knob, f64)> = knobs.iter().collect();
    order.sort_by_key(|(knob, _)| knob.rank());
    for (knob, value) in order {
        match knob {
            Knob::Number(path) => scenario::set_number(&mut scenario, path, *value)?,
            Knob::Named(named) => turn_named(&mut scenario, *named, *value)?,
        }
    }
    Ok(scenario)
}

/// Whether a knob can stand at a value in any scenario.
///
/// # Errors
/// [`TurnError::Value`].
pub(super) fn allow(named: Named, value: f64) -> Result<(), TurnError> {
    let (makes_sense, allowed) = match named {
        Named::Volume => (value > 0.0, "above 0 L"),
        Named::WaterShare => ((0.0..PERCENT).contains(&value), "0 or more and below 100 %"),
        Named::Feed => (value >= 0.0, "0 or more"),
        Named::RetentionAtFixedRecipe | Named::RetentionAtFixedLoading => {
            (value > 0.0, "above 0 d")
        }
        Named::StarterMass => (value > 0.0, "above 0 kg"),
        Named::Temperature => (true, ""),
    };
    if makes_sense {
        return Ok(());
    }
    Err(TurnError::Value {
        knob: named.about().name,
        value,
        allowed,
    })
}

fn turn_named(scenario: &mut Value, named: Named, value: f64) -> Result<(), TurnError> {
    let knob = named.about().name;
    allow(named, value)?;
    match named {
        Named::Volume => {
            let factor = value / liquid_l(scenario);
            scale_volume(scenario, factor);
            Ok(())
        }
        Named::StarterMass => starter_mass(scenario, value),
        Named::Temperature => temperature(scenario, value),
        Named::WaterShare => for_daily_recipes(scenario, knob, |material, _| {
            Ok(material * value / (PERCENT - value))
        }),
        Named::Feed => {
            if daily_lines(scenario).next().is_none() {
                return Err(TurnError::NoDaily(knob));
            }
            scale_feed(scenario, value);
            Ok(())
        }
        Named::RetentionAtFixedRecipe => {
            let present = Steady::of(scenario).litres_per_d();
            if present <= 0.0 {
                return Err(TurnError::NoDaily(knob));
            }
            let factor = liquid_l(scenario) / value / present;
            scale_feed(scenario, factor);
            if let Some(stream) = scenario.get_mut("inflow").and_then(Value::as_object_mut) {
                scale(stream, "l_per_d", factor, None);
            }
            Ok(())
        }
        Named::RetentionAtFixedLoading => {
            let steady = Steady::of(scenario);
            if steady.stream_l_per_d > 0.0 {
                return Err(TurnError::Stream(knob));
            }
            if steady.daily_l_per_d <= 0.0 {
                return Err(TurnError::NoDaily(knob));
            }
            let present_d = liquid_l(scenario) / steady.daily_l_per_d;
            for_daily_recipes(scenario, knob, |material, recipe| {
                let kg = material + water_kg(recipe);
                let water_l = kg * present_d / value - material;
                if water_l < -ROUND_OFF_L {
                    return Err(TurnError::NegativeWater {
                        retention_d: value,
                        recipe: String::new(),
                        water_l,
                        most_d: present_d * kg / material,
                    });
                }
                Ok(water_l.max(0.0))
            })
        }
    }
}

/// Liquid of all vessels \[L\].
pub(super) fn liquid_l(scenario: &Value) -> f64 {
    let vessels = scenario.get("vessels").and_then(Value::as_array);
    let litres = vessels
        .into_iter()
        .flatten()
        .filter_map(|v| number(v, "liquid_l"));
    litres.sum()
}

/// What a named knob stands at, where that is one number.
#[must_use]
pub fn present(named: Named, scenario: &Value) -> Option<f64> {
    let steady = Steady::of(scenario);
    let retention = || {
        let flow = steady.litres_per_d();
        (flow > 0.0).then(|| liquid_l(scenario) / flow)
    };
    match named {
        Named::Volume => Some(liquid_l(scenario)),
        Named::StarterMass => scenario.get("starter").map(material_kg),
        Named::Temperature => {
            let vessels = scenario.get("vessels")?.as_array()?;
            let mut known = vessels
                .iter()
                .map(|v| number(v.get("temperature")?, "constant_c"));
            let first = known.next()??;
            known.all(|t| t == Some(first)).then_some(first)
        }
        Named::WaterShare => match daily_recipes(scenario).as_slice() {
            [only] => {
                let recipe = scenario.get("recipes")?.get(only)?;
                let water = water_kg(recipe);
                Some(PERCENT * water / (water + material_kg(recipe)))
            }
            _ => None,
        },
        Named::Feed => daily_lines(scenario).next().map(|_| 1.0),
        Named::RetentionAtFixedRecipe => retention(),
        Named::RetentionAtFixedLoading => (steady.stream_l_per_d <= 0.0).then(retention)?,
    }
}

fn put(group: &mut Map<String, Value>, key: &str, value: f64) {
    group.insert(key.to_owned(), Value::from(value));
}

/// Multiplies a number; one that is not written counts as `default`, or stays out without one.
fn scale(group: &mut Map<String, Value>, key: &str, factor: f64, default: Option<f64>) {
    if let Some(present) = number_in(group, key).or(default) {
        put(group, key, present * factor);
    }
}

fn scale_feed(scenario: &mut Value, factor: f64) {
    for line in daily_lines_mut(scenario) {
        match line.get_mut("ramp").and_then(Value::as_object_mut) {
            Some(ramp) => {
                scale(ramp, "from", factor, None);
                scale(ramp, "to", factor, None);
            }
            None => scale(line, "amount", factor, Some(1.0)),
        }
    }
}

fn scale_volume(scenario: &mut Value, factor: f64) {
    let vessels = scenario.get_mut("vessels").and_then(Value::as_array_mut);
    for vessel in vessels.into_iter().flatten() {
        if let Some(vessel) = vessel.as_object_mut() {
            scale(vessel, "liquid_l", factor, None);
            scale(vessel, "headspace_l", factor, None);
        }
    }
    let Some(starter) = scenario.get_mut("starter").and_then(Value::as_object_mut) else {
        return;
    };
    for key in ["water_l", "bicarbonate_g", "lime_g"] {
        scale(starter, key, factor, None);
    }
    scale_parts(starter, factor);
}

fn scale_parts(mixture: &mut Map<String, Value>, factor: f64) {
    let parts = mixture.get_mut("materials").and_then(Value::as_array_mut);
    for part in parts.into_iter().flatten() {
        if let Some(part) = part.as_object_mut() {
            scale(part, "kg", factor, None);
        }
    }
}

fn starter_mass(scenario: &mut Value, kg: f64) -> Result<(), TurnError> {
    let refuse = |why| TurnError::Starter { kg, why };
    let starter = scenario.get("starter");
    let material = starter.map_or(0.0, material_kg);
    let filling = material + starter.map_or(0.0, water_kg);
    if material <= 0.0 {
        return Err(refuse("there is none in it that could be made more"));
    }
    if kg <= 0.0 {
        return Err(refuse("without any there is nothing that lives"));
    }
    if kg > filling {
        return Err(refuse(
            "that is more than the whole filling of the scenario",
        ));
    }
    if let Some(starter) = scenario.get_mut("starter").and_then(Value::as_object_mut) {
        scale_parts(starter, kg / material);
        put(starter, "water_l", filling - kg);
    }
    Ok(())
}

fn temperature(scenario: &mut Value, celsius: f64) -> Result<(), TurnError> {
    let vessels = scenario.get_mut("vessels").and_then(Value::as_array_mut);
    for (i, vessel) in vessels.into_iter().flatten().enumerate() {
        let Some(course) = vessel.get_mut("temperature").and_then(Value::as_object_mut) else {
            continue;
        };
        if course.contains_key("table") {
            return Err(TurnError::Table(format!("vessels[{i}]")));
        }
        if course.contains_key("heat") {
            return Err(TurnError::Heat(format!("vessels[{i}]")));
        }
        if course.contains_key("constant_c") {
            put(course, "constant_c", celsius);
        } else if let Some(wave) = course.get_mut("wave").and_then(Value::as_object_mut) {
            put(wave, "mean_c", celsius);
        } else if let Some(points) = course.get_mut("points").and_then(Value::as_array_mut) {
            let known: Vec<f64> = points
                .iter()
                .filter_map(|p| number(p, "temperature_c"))
                .collect();
            let mean = known.iter().sum::<f64>() / known.len().max(1) as f64;
            for point in points.iter_mut().filter_map(Value::as_object_mut) {
                if let Some(present) = number_in(point, "temperature_c") {
                    put(point, "temperature_c", present + celsius - mean);
                }
            }
        }
    }
    Ok(())
}

/// Sets the water of every recipe of the daily lines from its materials \[kg\].
fn for_daily_recipes(
    scenario: &mut Value,
    knob: &'static str,
    water_l: impl Fn(f64, &Value) -> Result<f64, TurnError>,
) -> Result<(), TurnError> {
    let names = daily_recipes(scenario);
    if names.is_empty() {
        return Err(TurnError::NoDaily(knob));
    }
    for name in names {
        let recipe = scenario.get_mut("recipes").and_then(|r| r.get_mut(&name));
        let Some(recipe) = recipe else { continue };
        let litres = water_l(material_kg(recipe), recipe).map_err(|error| match error {
            TurnError::NegativeWater {
                retention_d,
                water_l,
                most_d,
                ..
            } => TurnError::NegativeWater {
                retention_d,
                recipe: name.clone(),
                water_l,
                most_d,
            },
            other => other,
        })?;
        if let Some(recipe) = recipe.as_object_mut() {
            put(recipe, "water_l", litres);
        }
    }
    Ok(())
}

/// Whether the temperature of some vessel changes.
fn is_seasonal(scenario: &Value) -> bool {
    let vessels = scenario.get("vessels").and_then(Value::as_array);
    vessels
        .into_iter()
        .flatten()
        .filter_map(|v| v.get("temperature"))
        .any(|course| number(course, "constant_c").is_none())
}

/// Whether some of the feeding is given for days of its own, so that a longer run does not repeat it.
pub(super) fn has_own_days(scenario: &Value, rules: &Rules) -> bool {
    let days = number(scenario, "days").unwrap_or(0.0);
    let repeats = repeats_pauses(scenario, days, rules);
    let lines = scenario.get("feeding").and_then(Value::as_array);
    lines.into_iter().flatten().any(|line| {
        if let Some(daily) = line.get("daily").and_then(Value::as_object) {
            return !lasts(daily, days);
        }
        !(repeats && line.get("pause").is_some())
    })
}

/// Whether the pauses of a scenario stand for those of every year: it lasts a year or longer, and its temperature
/// changes, so that the year is what is read. Under a steady temperature the level of steady feeding is, without them.
fn repeats_pauses(scenario: &Value, days: f64, rules: &Rules) -> bool {
    is_seasonal(scenario) && days >= rules.year_d.value as f64
}

/// The pauses of the last year of a scenario of so many days, first and last day: what a longer run repeats year by year. Those that
/// end before the feeding has reached its full size belong to the start and are not among them.
pub(super) fn yearly_pauses(scenario: &Value, days: f64, rules: &Rules) -> Vec<(f64, f64)> {
    if !repeats_pauses(scenario, days, rules) {
        return Vec::new();
    }
    let since = days - rules.year_d.value as f64;
    let full_from = Steady::of(scenario).full_from;
    let lines = scenario.get("feeding").and_then(Value::as_array);
    lines
        .into_iter()
        .flatten()
        .filter_map(|line| {
            let pause = line.get("pause")?;
            let (from, to) = (number(pause, "from_day")?, number(pause, "to_day")?);
            (to >= since.max(full_from)).then_some((from.max(since), to))
        })
        .collect()
}

/// Gives a run that is longer than its scenario the pauses of the scenario's last year again in every year after it.
pub(super) fn repeat_pauses(scenario: &mut Value, pauses: &[(f64, f64)], rules: &Rules) {
    let days = number(scenario, "days").unwrap_or(0.0);
    let year = rules.year_d.value as f64;
    let Some(lines) = scenario.get_mut("feeding").and_then(Value::as_array_mut) else {
        return;
    };
    for (from, to) in pauses {
        let mut later = year;
        while from + later < days {
            let to = (to + later).min(days - 1.0);
            lines.push(serde_json::json!({"pause": {"from_day": from + later, "to_day": to}}));
            later += year;
        }
    }
}

/// Makes the run long enough for its lasting level, and lets the feeding go on; returns its length \[d\].
pub(super) fn lengthen(scenario: &mut Value, rules: &Rules) -> f64 {
    let days = number(scenario, "days").unwrap_or(0.0);
    let steady = Steady::of(scenario);
    let flow = steady.litres_per_d();
    if flow <= 0.0 {
        return days;
    }
    let rest = rules.retention_times.value * liquid_l(scenario) / flow;
    let needed = if is_seasonal(scenario) {
        // A year to be read, and the year before it to be held against.
        let year = rules.year_d.value as f64;
        steady.full_from + rest.max(year) + year
    } else {
        steady.full_from + rest
    };
    let needed = needed.ceil().min(LONGEST_D);
    if needed > days {
        set_days(scenario, needed);
    }
    needed.max(days)
}

/// Sets the length of the run \[d\]; a feeding that lasts to its end goes on or stops with it.
pub(super) fn set_days(scenario: &mut Value, days: f64) {
    let before = number(scenario, "days").unwrap_or(0.0);
    for line in daily_lines_mut(scenario).filter(|line| lasts(line, before)) {
        line.remove("to_day");
    }
    if let Some(top) = scenario.as_object_mut() {
        put(top, "days", days);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn scenario() -> Value {
        json!({
            "days": 60,
            "vessels": [{"liquid_l": 600, "headspace_l": 100, "temperature": {"constant_c": 30}},
                        {"liquid_l": 200, "headspace_l": 100,
                         "temperature": {"points": [{"day": 0, "temperature_c": 10}, {"day": 9, "temperature_c": 20}]}}],
            "starter": {"materials": [{"material": "x", "kg": 300}, {"material": "y", "kg": 100}], "water_l": 400},
            "recipes": {"r": {"materials": [{"material": "x", "kg": 4}], "water_l": 6}},
            "feeding": [{"daily": {"recipe": "r", "from_day": 5, "to_day": 59}}]
        })
    }

    fn turned(named: Named, value: f64) -> Result<Value, TurnError> {
        turn(&scenario(), &[(&Knob::Named(named), value)])
    }

    #[test]
    fn retention_at_fixed_recipe_scales_the_amount() {
        let s = turned(Named::RetentionAtFixedRecipe, 40.0).unwrap();
        assert_eq!(number(&s["feeding"][0]["daily"], "amount"), Some(2.0));
        assert!((Steady::of(&s).litres_per_d() - 20.0).abs() < 1e-12);
    }

    #[test]
    fn retention_at_fixed_loading_changes_the_water_alone_and_stops_at_none() {
        let s = turned(Named::RetentionAtFixedLoading, 40.0).unwrap();
        assert_eq!(number(&s["recipes"]["r"], "water_l"), Some(16.0));
        assert!(s["feeding"][0]["daily"].get("amount").is_none());
        let dry = turned(Named::RetentionAtFixedLoading, 200.0).unwrap();
        assert_eq!(number(&dry["recipes"]["r"], "water_l"), Some(0.0));
        let told = turned(Named::RetentionAtFixedLoading, 201.0).unwrap_err();
        assert!(
            matches!(&told, TurnError::NegativeWater { recipe, most_d, .. } if recipe == "r" && *most_d == 200.0)
        );
    }

    #[test]
    fn water_share_keeps_the_materials() {
        let s = turned(Named::WaterShare, 75.0).unwrap();
        assert_eq!(number(&s["recipes"]["r"], "water_l"), Some(12.0));
        assert!(turned(Named::WaterShare, 100.0).is_err());
    }

    #[test]
    fn volume_takes_gas_space_and_starter_along() {
        let s = turned(Named::Volume, 1600.0).unwrap();
        assert_eq!(liquid_l(&s), 1600.0);
        assert_eq!(number(&s["vessels"][1], "headspace_l"), Some(200.0));
        assert_eq!(material_kg(&s["starter"]) + water_kg(&s["starter"]), 1600.0);
    }

    #[test]
    fn starter_mass_keeps_the_filling() {
        let s = turned(Named::StarterMass, 600.0).unwrap();
        assert_eq!(number(&s["starter"]["materials"][0], "kg"), Some(450.0));
        assert_eq!(number(&s["starter"], "water_l"), Some(200.0));
        for wrong in [0.0, 801.0] {
            assert!(turned(Named::StarterMass, wrong).is_err());
        }
    }

    #[test]
    fn temperature_sets_constants_and_moves_courses() {
        let s = turned(Named::Temperature, 25.0).unwrap();
        assert_eq!(s["vessels"][0]["temperature"]["constant_c"], 25.0);
        let points = &s["vessels"][1]["temperature"]["points"];
        assert_eq!(
            (
                number(&points[0], "temperature_c"),
                number(&points[1], "temperature_c")
            ),
            (Some(20.0), Some(30.0))
        );
    }

    #[test]
    fn the_order_of_two_knobs_does_not_matter() {
        let (volume, retention) = (
            Knob::Named(Named::Volume),
            Knob::Named(Named::RetentionAtFixedRecipe),
        );
        let one = turn(&scenario(), &[(&volume, 400.0), (&retention, 20.0)]).unwrap();
        let two = turn(&scenario(), &[(&retention, 20.0), (&volume, 400.0)]).unwrap();
        assert_eq!(one, two);
        assert!((Steady::of(&one).litres_per_d() - 20.0).abs() < 1e-12);
    }

    #[test]
    fn a_run_is_lengthened_to_three_retention_times_and_fed_to_its_end() {
        let mut s = scenario();
        s["vessels"][1]["temperature"] = json!({"constant_c": 20});
        assert_eq!(lengthen(&mut s, &Rules::standard()), 245.0);
        assert_eq!(number(&s, "days"), Some(245.0));
        assert!(s["feeding"][0]["daily"].get("to_day").is_none());
        let mut fed_for_a_while = scenario();
        fed_for_a_while["feeding"][0]["daily"]["to_day"] = json!(30);
        assert_eq!(lengthen(&mut fed_for_a_while, &Rules::standard()), 60.0);
    }
    #[test]
    fn a_changing_temperature_takes_a_year_to_read_and_the_year_before() {
        let mut s = scenario();
        s["vessels"][0]["temperature"] = json!({"wave": {"mean_c": 18, "yearly_swing_k": 7}});
        // Full from day 5, three retention times of 80 d are less than a year.
        assert_eq!(lengthen(&mut s, &Rules::standard()), 735.0);
        s["recipes"]["r"]["water_l"] = json!(0);
        // 800 L at 4 L a day stay 200 d.
        assert_eq!(lengthen(&mut s, &Rules::standard()), 970.0);
        let rules = Rules::standard();
        assert!(!has_own_days(&s, &rules));
        s["feeding"][0]["daily"]["to_day"] = json!(30);
        assert!(has_own_days(&s, &rules));
        s["feeding"] = json!([{"pause": {"from_day": 3, "to_day": 5}}]);
        s["days"] = json!(364);
        assert!(has_own_days(&s, &rules), "less than a year");
        s["days"] = json!(365);
        assert!(!has_own_days(&s, &rules));
        s["vessels"] = json!([{"liquid_l": 600, "temperature": {"constant_c": 30}}]);
        assert!(has_own_days(&s, &rules), "no season");
    }

    #[test]
    fn a_longer_run_keeps_the_pauses_of_the_last_year_and_not_those_of_the_start() {
        let rules = Rules::standard();
        let mut s = scenario();
        s["days"] = json!(540);
        s["feeding"] = json!([
            {"daily": {"recipe": "r", "from_day": 30, "ramp": {"from": 0.2, "to": 1, "over_days": 150}}},
            {"pause": {"from_day": 170, "to_day": 350}},
            {"pause": {"from_day": 100, "to_day": 178}},
        ]);
        // The last year begins with day 175; the feed is full from day 180 on.
        let pauses = yearly_pauses(&s, 540.0, &rules);
        assert_eq!(pauses, [(175.0, 350.0)]);
        set_days(&mut s, 920.0);
        repeat_pauses(&mut s, &pauses, &rules);
        let added = &s["feeding"].as_array().unwrap()[3..];
        let told: Vec<(Option<f64>, Option<f64>)> = added
            .iter()
            .map(|l| {
                (
                    number(&l["pause"], "from_day"),
                    number(&l["pause"], "to_day"),
                )
            })
            .collect();
        assert_eq!(
            told,
            [(Some(540.0), Some(715.0)), (Some(905.0), Some(919.0))]
        );
    }

    #[test]
    fn what_no_knob_can_stand_at_is_known_before_anything_runs() {
        for (named, value) in [
            (Named::Feed, -1.0),
            (Named::Volume, 0.0),
            (Named::RetentionAtFixedRecipe, 0.0),
            (Named::WaterShare, 100.0),
        ] {
            assert!(allow(named, value).is_err(), "{named:?}");
        }
        assert!(allow(Named::Feed, 0.0).is_ok());
    }
}
