//! A record and a scenario become one scenario whose feeding and temperature follow the record, checked like any file.
//!
//! The owner's scenario tells the tank, the starter and what was fed before the record begins. From the record's first
//! day on only the record counts.

mod before;
mod names;
mod warmth;

use std::collections::BTreeMap;
use std::path::Path;

use jiff::civil::Date;
use serde_json::{Map, Value, json};

use super::read::days_between;
use super::record::{Doubt, Entry, Fed, Record};
use crate::scenario::{self, Loaded, Problems};
use crate::units::told;
use names::{Names, Share};

pub use warmth::{FAR_K, Leap};

/// Hour at which is read and fed where no hour is noted. Common practice, no source; the same as a scenario's.
pub const USUAL_HOUR: f64 = 8.0;
/// Hours of a day.
pub(crate) const HOURS: f64 = 24.0;
/// Last hour of a day that a scenario takes.
const LAST_HOUR: f64 = 23.99;
/// Longest run \[d\]; the check of a scenario has the same bound.
const LONGEST: i32 = 7300;
/// Longest stretch between filling and first entry that is believed \[d\]: two years.
const LONGEST_LEAD: i32 = 730;
/// Largest multiple of a recipe that a scenario takes.
const MOST_TIMES: f64 = 1000.0;
/// Beginning of the names of recipes that stand for single materials of the record.
const RECIPE: &str = "record: ";

/// A case that follows a record.
#[derive(Debug, Clone)]
pub struct Joined {
    /// The checked case, and its scenario as JSON for more knobs.
    pub loaded: Loaded,
    /// Date of day 0.
    pub start: Date,
    /// Day of the run on which the record begins.
    pub first_day: f64,
    /// What of the record the run does not follow.
    pub doubts: Vec<Doubt>,
    /// What was assumed, in full sentences.
    pub notes: Vec<String>,
    /// What was fed and nobody knows.
    pub left_out: Option<LeftOut>,
    /// What is wrong where the whole record lies before the scenario's filling, and what the run takes instead.
    pub before_filling: Option<String>,
    /// How far the scenario's tank and the record's are apart in warmth where the record begins, if that is far.
    pub leap: Option<Leap>,
}

/// Feeds that neither library nor scenario know, so that the run goes without.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// Their names, each once; empty for a feed without one.
    pub names: Vec<String>,
    /// Their mass \[kg\].
    pub kg: f64,
    /// Mass of all that was fed, them included \[kg\].
    pub of_kg: f64,
}

impl LeftOut {
    fn of(unknown: &[&Fed], of_kg: f64) -> Option<Self> {
        let mut names: Vec<String> = unknown.iter().map(|f| f.material.clone()).collect();
        names.sort();
        names.dedup();
        (!unknown.is_empty()).then(|| Self {
            names,
            kg: unknown.iter().map(|f| f.kg).sum(),
            of_kg,
        })
    }

    /// What is left out, what it costs, and how to mend it, in sentences.
    #[must_use]
    pub fn told(&self) -> String {
        const TOLD: usize = 5;
        let name = |name: &String| match name.is_empty() {
            true => "feed without a name".to_owned(),
            false => format!("\"{name}\""),
        };
        let mut names: Vec<String> = self.names.iter().take(TOLD).map(name).collect();
        if self.names.len() > TOLD {
            names.push(format!("{} more", self.names.len() - TOLD));
        }
        format!(
            "The run goes without {} kg of {}, {:.0} % by weight of what was fed: neither the library nor the scenario knows it. \
             So it gives too little gas from then on. Put it under \"materials\" of the scenario, or correct the name.",
            told(self.kg, 3),
            names.join(", "),
            (100.0 * self.kg / self.of_kg).max(1.0)
        )
    }
}

/// Why a record and a scenario do not go together.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum JoinError {
    /// No entries.
    #[error("The record has no entry that can be used.")]
    Nothing,
    /// Too long a run.
    #[error(
        "From day 0 to the last entry it is {days} days, more than a run can have ({LONGEST}). Is the year of {last} right?"
    )]
    TooLong {
        /// Length \[d\].
        days: i32,
        /// Last day of the record.
        last: Date,
    },
    /// A scenario that is not fed by hand.
    #[error(
        "The scenario has a steady inflow, and a record goes with a digester that is fed by hand."
    )]
    Stream,
    /// The scenario does not pass the check with the record in it.
    #[error("{0}")]
    Scenario(Problems),
}

/// Joins a record with a scenario. `label` stands for the scenario in messages, its tables are looked for in `folder`.
///
/// # Errors
/// [`JoinError`].
pub fn join(
    record: &Record,
    scenario: &Value,
    label: &str,
    folder: Option<&Path>,
) -> Result<Joined, JoinError> {
    let (Some(first), Some(last)) = (record.entries.first(), record.entries.last()) else {
        return Err(JoinError::Nothing);
    };
    if scenario.get("inflow").is_some_and(|v| !v.is_null()) {
        return Err(JoinError::Stream);
    }
    let mut notes = Vec::new();
    let start = start(scenario, first.date, &mut notes);
    let days = days_between(start, last.date) + 1;
    if days > LONGEST {
        return Err(JoinError::TooLong {
            days,
            last: last.date,
        });
    }
    let lead = days_between(start, first.date);
    let (before_filling, mut doubts) = before_filling(record, scenario);
    let mut json = scenario.clone();
    json["start_date"] = json!(start.to_string());
    json["days"] = json!(days);
    let plan = Plan::of(record, scenario, start, &mut doubts, &mut notes);
    let mut lines = before::lines(scenario, lead, first.date);
    if lead > 0 {
        notes.push(match lines.len() {
            0 => format!("Nothing is fed between the filling on {start} and the record's first day, {}.", first.date),
            _ => format!("From the filling on {start} to the record's first day, {}, the run is fed as the scenario says.", first.date),
        });
    }
    let fed_before = !lines.is_empty();
    let left_out = plan.left_out.clone();
    notes.extend(left_out.as_ref().map(LeftOut::told));
    plan.write(&mut json, &mut lines);
    json["feeding"] = Value::Array(lines);
    // Before the record begins the vessels stand as the scenario says; a scenario that is unfit is told further down.
    let own = scenario::from_value(&json, label, folder).ok();
    let own = own.map_or_else(Vec::new, |own| own.case.vessels);
    let leap = warmth::follow(
        &record.entries,
        start,
        (&own, f64::from(lead), fed_before),
        &mut json,
        &mut notes,
    );
    let mut loaded = scenario::from_value(&json, label, folder).map_err(JoinError::Scenario)?;
    // Single materials are no recipes, and what the record leaves open at its ends is told in the notes.
    let part = format!("recipes[\"{RECIPE}");
    loaded
        .warnings
        .retain(|w| !w.path.starts_with(&part) && !w.path.ends_with("temperature.points"));
    Ok(Joined {
        loaded,
        start,
        first_day: f64::from(lead),
        doubts,
        notes,
        left_out,
        before_filling,
        leap,
    })
}

/// Moment of an entry \[d from `start`\].
#[must_use]
pub fn moment(entry: &Entry, start: Date) -> f64 {
    let hour = entry.time_h.unwrap_or(USUAL_HOUR);
    f64::from(days_between(start, entry.date)) + hour / HOURS
}

/// Day 0: that of the scenario, where the record can follow it.
fn start(scenario: &Value, first: Date, notes: &mut Vec<String>) -> Date {
    let given = scenario.get("start_date").and_then(Value::as_str);
    let Some(date) = given.and_then(|text| text.parse::<Date>().ok()) else {
        notes.push(format!(
            "The scenario has no \"start_date\", so the filling is taken for the record's first day, {first}."
        ));
        return first;
    };
    let lead = days_between(date, first);
    if (0..=LONGEST_LEAD).contains(&lead) {
        return date;
    }
    let why = if lead < 0 {
        "after the record's first day"
    } else {
        "more than two years before the record"
    };
    notes.push(format!(
        "The scenario's \"start_date\", {date}, lies {why}; the filling is taken for {first} instead. Set it to the day of \
         your filling."
    ));
    first
}

/// Entries dated before the scenario's day of filling: either day may be the wrong one. Of a record that lies before it as
/// a whole that is a sentence of its own, for everything found hangs on it.
fn before_filling(record: &Record, scenario: &Value) -> (Option<String>, Vec<Doubt>) {
    let given = scenario.get("start_date").and_then(Value::as_str);
    let Some(filling) = given.and_then(|text| text.parse::<Date>().ok()) else {
        return (None, Vec::new());
    };
    let early: Vec<&Entry> = record.entries.iter().filter(|e| e.date < filling).collect();
    let (Some(first), Some(last)) = (early.first(), record.entries.last()) else {
        return (None, Vec::new());
    };
    if early.len() == record.entries.len() {
        let whole = format!(
            "The whole record, {} to {}, lies before the scenario's filling on {filling}: one of the two is wrong, or this is \
             another filling. The run takes {} for the day of the filling. Set \"start_date\" of the scenario to yours.",
            first.date, last.date, first.date
        );
        return (Some(whole), Vec::new());
    }
    let more = match early.len() {
        1 => String::new(),
        count => format!(", and {} more lines", count - 1),
    };
    let doubt = Doubt {
        line: first.line,
        reason: format!(
            "{} lies before the filling on {filling}{more}; one of the two dates is wrong. The run takes {} for the day of the \
             filling",
            first.date, first.date
        ),
    };
    (None, vec![doubt])
}

/// Amounts by material, kilograms and hour, each with its days.
#[derive(Default)]
struct Plan {
    feeds: BTreeMap<(String, Option<String>, u64, u64), Vec<i32>>,
    water: BTreeMap<(u64, u64), Vec<i32>>,
    left_out: Option<LeftOut>,
}

impl Plan {
    fn of(
        record: &Record,
        scenario: &Value,
        start: Date,
        doubts: &mut Vec<Doubt>,
        notes: &mut Vec<String>,
    ) -> Self {
        let names = Names::of(scenario);
        let room = scenario["vessels"][0]["liquid_l"]
            .as_f64()
            .unwrap_or(f64::INFINITY);
        let mut plan = Self::default();
        let mut unknown: Vec<&Fed> = Vec::new();
        let mut unnamed = false;
        let mut taken = BTreeMap::new();
        for entry in &record.entries {
            let kg: f64 = entry.fed.iter().map(|f| f.kg).sum();
            let water = entry.water_l.unwrap_or(0.0);
            if kg + water > room {
                doubts.push(Doubt {
                    line: entry.line,
                    reason: format!(
                        "{kg} kg and {water} L in one go are more than the {room} L of the vessel; the run leaves them out"
                    ),
                });
                continue;
            }
            let day = days_between(start, entry.date);
            // Non-negative floats sort like their bits, and are equal when they are.
            let hour = entry.time_h.unwrap_or(USUAL_HOUR).min(LAST_HOUR).to_bits();
            for fed in &entry.fed {
                if let Some(meant) = names.taken_for(&fed.material) {
                    taken.insert(fed.material.clone(), meant);
                }
                match names.resolve(&fed.material) {
                    Some(shares) => {
                        unnamed |= fed.material.is_empty();
                        for Share {
                            material,
                            pieces,
                            share,
                        } in shares
                        {
                            let key = (material, pieces, (fed.kg * share).to_bits(), hour);
                            plan.feeds.entry(key).or_default().push(day);
                        }
                    }
                    None => {
                        doubts.push(Doubt {
                            line: entry.line,
                            reason: names.unknown(fed),
                        });
                        unknown.push(fed);
                    }
                }
            }
            if water > 0.0 {
                plan.water
                    .entry((water.to_bits(), hour))
                    .or_default()
                    .push(day);
            }
        }
        let of_kg = record.entries.iter().flat_map(|e| &e.fed).map(|f| f.kg);
        plan.left_out = LeftOut::of(&unknown, of_kg.sum());
        notes.extend(
            taken
                .into_iter()
                .map(|(name, meant)| format!("\"{name}\" is taken for {meant}.")),
        );
        if unnamed {
            notes.push("Feeds without a name are taken for the scenario's only recipe.".into());
        }
        if plan.feeds.is_empty() && plan.water.is_empty() && plan.left_out.is_none() {
            notes.push(
                "The record notes no feed, so the run has none from its first day on.".into(),
            );
        } else {
            notes.push("On days without a noted feed the run has none.".into());
        }
        plan
    }

    /// Recipes of one kilogram each, and lines that take them so many times.
    fn write(self, json: &mut Value, lines: &mut Vec<Value>) {
        let mut recipes: Map<String, Value> =
            json["recipes"].as_object().cloned().unwrap_or_default();
        for ((material, pieces, kg, hour), days) in self.feeds {
            let kg = f64::from_bits(kg);
            let unit = if kg > MOST_TIMES { MOST_TIMES } else { 1.0 };
            let cut = pieces.as_deref().unwrap_or("as usual");
            let name = format!("{RECIPE}{unit} kg {material}, {cut}");
            let mut part = json!({ "material": material, "kg": unit });
            if let Some(pieces) = &pieces {
                part["pieces"] = json!(pieces);
            }
            recipes
                .entry(name.clone())
                .or_insert_with(|| json!({ "materials": [part] }));
            lines.push(json!({ "on": {
                "recipe": name, "days": distinct(&days), "hour": f64::from_bits(hour), "amount": kg / unit
            } }));
            lines.extend(again(&days).map(|days| {
                json!({ "on": {
                    "recipe": name, "days": days, "hour": f64::from_bits(hour), "amount": kg / unit
                } })
            }));
        }
        for ((water, hour), days) in self.water {
            let water = f64::from_bits(water);
            let line = |days: Vec<i32>| json!({ "dose": { "days": days, "hour": f64::from_bits(hour), "water_l": water } });
            lines.push(line(distinct(&days)));
            lines.extend(again(&days).map(line));
        }
        json["recipes"] = Value::Object(recipes);
    }
}

/// Days, each once.
fn distinct(days: &[i32]) -> Vec<i32> {
    let mut once = days.to_vec();
    once.dedup();
    once
}

/// Days that come a second and further time: a line of their own each, for a line of a plan takes a day once.
fn again(days: &[i32]) -> impl Iterator<Item = Vec<i32>> + '_ {
    days.windows(2)
        .filter(|pair| pair[0] == pair[1])
        .map(|pair| vec![pair[1]])
}
