//! The scenario of the digester as it was fitted, in the keys of every scenario, for all other commands.

use serde_json::{Map, Value, json};

use super::result::{Fit, HARDLY, Learnt};
use super::unknown::{Change, warmer_parameter};
use crate::case::{Case, TemperatureCourse};
use crate::feedstock::library;
use crate::study::uncertain::Effect;

/// Ending of a library material's name as it was fitted.
const ENDING: &str = "-fitted";
/// Digits kept of a fitted number: more than any fit knows.
const DIGITS: f64 = 1e6;

/// `scenario` with the fitted values in it, and what could not be put into its keys, in sentences. `case` is the
/// checked case of the same scenario. The feeding stays the scenario's own.
#[must_use]
pub fn fitted_scenario(scenario: &Value, case: &Case, fit: &Fit) -> (Value, Vec<String>) {
    let mut json = scenario.clone();
    let mut notes = Vec::new();
    let mut factors = Factors::default();
    for learnt in &fit.unknowns {
        let value = learnt.best;
        match &learnt.unknown.change {
            Change::HydrolysisFactor => factors.hydrolysis *= value,
            Change::Effect(Effect::Living) => factors.living *= value,
            Change::Effect(Effect::Degradable) => factors.degradable *= value,
            Change::Effect(Effect::TemperatureOffset) => warm(&mut json, case, value),
            Change::LeakShare => leak(&mut json, case, value * fit.usual_gas_nl),
            Change::Reading => notes.push(format!(
                "A reading shows {value:.3} times the gas that comes; no scenario knows readings, so multiply the gas of a \
                 run by it to compare."
            )),
            Change::WarmerParameters(names) => {
                for (name, times) in names {
                    warm_parameter(&mut json, case, name, times * value);
                }
            }
            Change::Effect(_) => notes.push(format!(
                "\"{}\" = {value:.3} has no key in a scenario and is left out.",
                learnt.unknown.name
            )),
        }
    }
    factors.put(&mut json, &mut notes);
    let title = json["title"].as_str().unwrap_or_default().to_owned();
    json["title"] = json!(format!("{title} (fitted)"));
    let about = json["about"].as_str().unwrap_or_default().to_owned();
    let told = format!(
        "{about} Fitted to {} readings up to day {:.0}; the values are the likeliest ones, each uncertain as the report of \
         the fit says.{}",
        fit.readings,
        fit.last_day,
        guesses(fit).map_or_else(String::new, |guesses| format!(" {guesses}"))
    );
    json["about"] = json!(told.trim_start());
    (json, notes)
}

/// Which values of the fitted scenario the record hardly fixes, in sentences; `None` where it fixes all of them. They stay in
/// it: the others were found beside them, and without them its gas would not be that of the record.
#[must_use]
pub fn guesses(fit: &Fit) -> Option<String> {
    let mut hardly = fit
        .unknowns
        .iter()
        .filter(|l| l.learnt < HARDLY && l.unknown.change != Change::Reading)
        .peekable();
    hardly.peek()?;
    let value = |l: &Learnt| match &l.unknown.change {
        Change::LeakShare => format!(
            "{:.0} litres a day more than your own scenario has",
            l.best * fit.usual_gas_nl
        ),
        _ => format!("{:.2} {}", l.best, l.unknown.unit),
    };
    let leak = match hardly
        .clone()
        .any(|l| l.unknown.change == Change::LeakShare)
    {
        true => {
            " So a run of it may say to mend a leak that nobody has found: look for one with soap water before you \
             believe it."
        }
        false => "",
    };
    let named: Vec<String> = hardly
        .map(|l| format!("{} ({})", l.unknown.words, value(l)))
        .collect();
    Some(format!(
        "Guesses, not findings, because the record hardly tells them: {}. They are kept because the other values were found \
         beside them.{leak}",
        named.join("; ")
    ))
}

/// A number with as many digits as make sense.
fn number(value: f64) -> Value {
    let size = libm::pow(
        10.0,
        libm::floor(libm::log10(value.abs().max(f64::MIN_POSITIVE))),
    );
    json!((value / size * DIGITS).round() / DIGITS * size)
}

fn add(place: &mut Value, more: f64) {
    if let Some(value) = place.as_f64() {
        *place = number(value + more);
    }
}

fn warm(json: &mut Value, case: &Case, kelvin: f64) {
    let Some(vessels) = json["vessels"].as_array_mut() else {
        return;
    };
    for (vessel, checked) in vessels.iter_mut().zip(&case.vessels) {
        let Some(course) = vessel.get_mut("temperature").and_then(Value::as_object_mut) else {
            continue;
        };
        if let Some(constant) = course.get_mut("constant_c") {
            add(constant, kelvin);
        } else if let Some(mean) = course.get_mut("wave").and_then(|w| w.get_mut("mean_c")) {
            add(mean, kelvin);
        } else if let TemperatureCourse::Table(knots) = &checked.temperature {
            // Points and tables alike: the knots as they were read.
            let points: Vec<Value> = knots
                .iter()
                .map(|(day, c)| json!({ "day": day, "temperature_c": number(c + kelvin) }))
                .collect();
            vessel["temperature"] = json!({ "points": points });
        }
    }
}

/// The parameter as fitted, as the case has it or by default.
fn warm_parameter(json: &mut Value, case: &Case, name: &str, kelvin: f64) {
    let value = warmer_parameter(case, name, kelvin);
    if let Some(value) = value {
        json["model"]["parameters"][name] = number(value);
    }
}

fn leak(json: &mut Value, case: &Case, litres: f64) {
    let Some(vessels) = json["vessels"].as_array_mut() else {
        return;
    };
    let whole: f64 = case.vessels.iter().map(|v| v.liquid_m3).sum();
    for (vessel, checked) in vessels.iter_mut().zip(&case.vessels) {
        let before = vessel["leak_l_per_d"].as_f64().unwrap_or(0.0);
        vessel["leak_l_per_d"] = number(before + litres * checked.liquid_m3 / whole);
    }
}

/// What multiplies the materials.
struct Factors {
    hydrolysis: f64,
    living: f64,
    degradable: f64,
}

impl Default for Factors {
    fn default() -> Self {
        Self {
            hydrolysis: 1.0,
            living: 1.0,
            degradable: 1.0,
        }
    }
}

impl Factors {
    fn put(&self, json: &mut Value, notes: &mut Vec<String>) {
        let mut used = Vec::new();
        rename(&mut json["starter"], &mut used);
        if let Some(recipes) = json.get_mut("recipes").and_then(Value::as_object_mut) {
            for (_, recipe) in recipes.iter_mut() {
                rename(recipe, &mut used);
            }
        }
        let own = json.get("materials").and_then(Value::as_object);
        let mut materials = own.cloned().unwrap_or_default();
        for (name, material) in &mut materials {
            if let Some(like) = material.get_mut("like").and_then(Value::as_object_mut) {
                self.multiply(like);
            } else if let Some(rates) = material
                .get_mut("analysis")
                .and_then(|a| a.get_mut("hydrolysis_per_d"))
                .and_then(Value::as_object_mut)
            {
                for (_, rate) in rates.iter_mut() {
                    if let Some(value) = rate.as_f64() {
                        *rate = number(value * self.hydrolysis);
                    }
                }
                notes.push(format!(
                    "\"{name}\" is given by its analysis: only its speed could be fitted in, not its degradable share or \
                     what lives in it."
                ));
            } else {
                notes.push(format!(
                    "\"{name}\" is described in a way that has no key for speed, degradable share or living groups: it \
                     stays as it is."
                ));
            }
        }
        for id in used {
            let mut like = Map::new();
            like.insert("name".into(), json!(name_of(&id)));
            like.insert("material".into(), json!(id));
            self.multiply(&mut like);
            materials.insert(format!("{id}{ENDING}"), json!({ "like": like }));
        }
        json["materials"] = Value::Object(materials);
    }

    fn multiply(&self, like: &mut Map<String, Value>) {
        for (key, factor) in [
            ("living_factor", self.living),
            ("hydrolysis_factor", self.hydrolysis),
            ("degradable_factor", self.degradable),
        ] {
            let before = like.get(key).and_then(Value::as_f64).unwrap_or(1.0);
            like.insert(key.into(), number(before * factor));
        }
    }
}

fn name_of(id: &str) -> String {
    let name = library().get(id).map_or(id, |entry| entry.name.as_str());
    format!("{name}, as fitted")
}

/// Gives the library materials of a filling or recipe their fitted names, and collects them.
fn rename(mixture: &mut Value, used: &mut Vec<String>) {
    let parts = mixture.get_mut("materials").and_then(Value::as_array_mut);
    for part in parts.into_iter().flatten() {
        let Some(id) = part["material"].as_str().map(str::to_owned) else {
            continue;
        };
        if library().get(&id).is_none() {
            continue;
        }
        part["material"] = json!(format!("{id}{ENDING}"));
        if !used.contains(&id) {
            used.push(id);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diary::fit::least_squares::Stop;
    use crate::diary::fit::unknown::unknowns;

    fn fit(learnt: f64) -> Fit {
        let learn = |unknown: crate::diary::fit::unknown::Unknown| Learnt {
            best: 0.05,
            mean: 0.05,
            p05: 0.01,
            p50: 0.05,
            p95: 0.1,
            before: (0.005, 0.175),
            learnt,
            unknown,
        };
        Fit {
            title: String::new(),
            start_date: String::new(),
            last_day: 9.0,
            readings: 5,
            unknowns: unknowns().into_iter().map(learn).collect(),
            directions: Vec::new(),
            open: Vec::new(),
            stop: Stop::Settled,
            runs: 1,
            failed: 0,
            starts: Vec::new(),
            noise: 1.0,
            effective_draws: 20.0,
            draws: 20,
            weighted: true,
            seed: 1,
            usual_gas_nl: 520.0,
            residuals: Vec::new(),
            jump: None,
            days: Vec::new(),
            notes: Vec::new(),
            version: "",
            file: String::new(),
            sha256: String::new(),
        }
    }

    #[test]
    fn the_fitted_scenario_names_its_guesses() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/warm-tote.json");
        let loaded = crate::scenario::load(path.as_ref()).unwrap();
        let about = |learnt: f64| {
            let (json, _) = fitted_scenario(&loaded.json, &loaded.case, &fit(learnt));
            json["about"].as_str().unwrap().to_owned()
        };
        let told = about(HARDLY - 0.1);
        for part in [
            "Guesses, not findings",
            "how much gas is lost before it is read (26 litres a day more than your own scenario has)",
            "look for one with soap water",
        ] {
            assert!(told.contains(part), "{part}: {told}");
        }
        // The reading's factor is not in the scenario, so it is no guess of it.
        assert!(!told.contains("what the gas reading shows"), "{told}");
        assert!(!about(HARDLY + 0.1).contains("Guesses"));
    }
}
