//! The temperature of the run: the scenario's own before the record, the record's from its first day on, and how far the
//! two are apart where they meet.

use jiff::civil::Date;
use serde_json::{Value, json};

use super::{HOURS, moment};
use crate::case::{TemperatureCourse, Vessel};
use crate::diary::record::Entry;

/// Days between two temperatures after which the line between them is doubtful \[d\]. Assumption of this project.
const LONG_BETWEEN: f64 = 7.0;
/// How far the scenario's temperature and the record's may be apart where they meet \[K\]. A bare tote of 800 L with 5 m2
/// of wall and 5 W/m2/K falls by some 6 K in half a day where the air is 20 K colder (own estimate): beyond, one of the
/// two does not describe this tank.
pub const FAR_K: f64 = 6.0;

/// The warmth of the scenario's tank and of the record's where the record begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leap {
    /// Day of the run on which the record begins; 0: with the filling.
    pub day: f64,
    /// The scenario's tank there \[C\].
    pub scenario_c: f64,
    /// The record's first temperature \[C\].
    pub record_c: f64,
    /// Whether the scenario feeds it before the record.
    pub fed: bool,
}

impl Leap {
    /// The two, what the run makes of them, and what to do about it, in sentences.
    #[must_use]
    pub fn told(&self) -> String {
        let Self {
            scenario_c,
            record_c,
            ..
        } = self;
        let side = match record_c < scenario_c {
            true => "colder",
            false => "warmer",
        };
        let fed = match self.fed {
            true => ", and what was fed before the record is the scenario's guess",
            false => "",
        };
        format!(
            "The record begins at {record_c:.0} C, {:.0} K {side} than the scenario's tank, which stands at {scenario_c:.0} C there; \
             none turns so fast. So the run is at {record_c:.0} C from the filling on{fed}. Write your tank's own filling, \
             temperatures and feed into the scenario: what is expected hangs on them.",
            (record_c - scenario_c).abs()
        )
    }
}

/// Straight lines between the noted temperatures, for all vessels; the scenario's own course where there is none.
/// Before day `lead` the vessels keep their `own` course, where the two are not far apart there; if they are, the record's
/// first temperature holds from the filling on, and how far is told. `fed_before`: whether the scenario feeds them there.
pub(super) fn follow(
    entries: &[Entry],
    start: Date,
    (own, lead, fed_before): (&[Vessel], f64, bool),
    json: &mut Value,
    notes: &mut Vec<String>,
) -> Option<Leap> {
    let knots = knots(entries, start);
    let Some(&(first_day, record_c)) = knots.first() else {
        notes.push("The record notes no temperature; the run keeps the scenario's.".into());
        return None;
    };
    if first_day - lead > LONG_BETWEEN {
        notes.push(format!(
            "From the record's first day to the first noted temperature, {record_c:.1} C on day {first_day:.0} of the run, \
             this one is held."
        ));
    }
    let longest = knots
        .windows(2)
        .map(|pair| pair[1].0 - pair[0].0)
        .fold(0.0, f64::max);
    if longest > LONG_BETWEEN {
        notes.push(format!(
            "Between two temperatures the run draws a straight line, the longest over {longest:.0} days."
        ));
    }
    let vessels = json["vessels"].as_array_mut()?;
    if vessels.len() > 1 {
        notes.push("The record's temperature is taken for all vessels.".into());
    }
    let points: Vec<Value> = knots
        .iter()
        .map(|(day, celsius)| json!({ "day": day, "temperature_c": celsius }))
        .collect();
    let fed = lead > 0.0 && fed_before;
    let leap = own.first().and_then(|own| leap(own, lead, record_c, fed));
    match &leap {
        Some(leap) => notes.push(leap.told()),
        None if lead > 0.0 && !own.is_empty() => {
            notes.push(
                "Before the record's first day the run keeps the scenario's temperature.".into(),
            );
        }
        None => {}
    }
    for (i, vessel) in vessels.iter_mut().enumerate() {
        let mut all = match own.get(i) {
            Some(own) if lead > 0.0 && leap.is_none() => ahead(&own.temperature, lead),
            _ => Vec::new(),
        };
        if !all.is_empty() && first_day > lead {
            all.push(json!({ "day": lead, "temperature_c": record_c }));
        }
        all.extend_from_slice(&points);
        vessel["temperature"] = json!({ "points": all });
    }
    leap
}

/// How far the scenario's vessel and the record are apart where they meet, if that is far.
fn leap(own: &Vessel, lead: f64, record_c: f64, fed: bool) -> Option<Leap> {
    let leap = Leap {
        day: lead,
        scenario_c: own.temperature.mean_of_day(lead),
        record_c,
        fed,
    };
    Some(leap).filter(|l| (l.record_c - l.scenario_c).abs() >= FAR_K)
}

/// Noted temperatures by their moment (day of the run, C), rising; those of one moment as their mean.
fn knots(entries: &[Entry], start: Date) -> Vec<(f64, f64)> {
    let mut knots: Vec<(f64, f64, f64)> = Vec::new();
    for entry in entries {
        let Some(celsius) = entry.temperature_c else {
            continue;
        };
        let day = moment(entry, start);
        match knots.last_mut() {
            Some((last, sum, count)) if *last == day => {
                *sum += celsius;
                *count += 1.0;
            }
            _ => knots.push((day, celsius, 1.0)),
        }
    }
    knots.sort_by(|a, b| a.0.total_cmp(&b.0));
    let means = knots
        .into_iter()
        .map(|(day, sum, count)| (day, sum / count));
    means.collect()
}

/// A course from day 0 to just before day `lead` \[d\], as points.
fn ahead(course: &TemperatureCourse, lead: f64) -> Vec<Value> {
    /// A daily wave is followed by so many points a day.
    const A_DAY: u32 = 8;
    let last = lead - 1.0 / HOURS;
    let mut days: Vec<f64> = match course {
        TemperatureCourse::Constant(_) => vec![0.0],
        TemperatureCourse::Wave(_) => (0..)
            .map(|i| f64::from(i) / f64::from(A_DAY))
            .take_while(|day| *day < last)
            .collect(),
        TemperatureCourse::Table(knots) => {
            let within = knots
                .iter()
                .map(|k| k.0)
                .filter(|day| *day > 0.0 && *day < last);
            std::iter::once(0.0).chain(within).collect()
        }
    };
    days.push(last);
    days.iter()
        .map(|day| json!({ "day": day, "temperature_c": course.at(*day).0 }))
        .collect()
}
