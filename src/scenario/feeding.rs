//! From the lines of the feeding plan to a flat list of doses, sorted by time.

use super::address::Address;
use super::calendar::{Calendar, HOURS_PER_DAY};
use super::check::{Checker, KG_PER_L, Recipe, additives, water};
use super::dissolving::{self, First, Line};
use super::limits::{AMOUNT, DAYS, EVERY_DAYS, HOUR, MOST_DOSES, MOST_LINES, RAMP_DAYS};
use super::near::nearest;
use super::schema::{RawDaily, RawDose, RawFeeding, RawOn, RawPause, RawRamp};
use crate::case::{Additive, Dose};
use crate::units::{GIVEN_DIGITS, told};

/// Hour of feeding where none is given. Common practice, no source.
const FEEDING_HOUR: f64 = 8.0;
const KG_PER_M3: f64 = 1000.0;
const L_PER_M3: f64 = 1000.0;

struct Planner<'a> {
    recipes: &'a mut [Recipe],
    calendar: &'a Calendar,
    /// Liquid of the first vessel \[m3\].
    first_m3: f64,
    /// Lines with additives.
    salted: Vec<Line>,
    /// Whether each day lies in a pause.
    paused: Vec<bool>,
    doses: Vec<Dose>,
    overflown: bool,
}

/// The doses of a feeding plan; those of the same moment are one.
pub(crate) fn doses(
    checker: &mut Checker,
    lines: &[RawFeeding],
    recipes: &mut [Recipe],
    calendar: &Calendar,
    first: &First,
) -> Vec<Dose> {
    let top = Address::default().key("feeding");
    let mut planner = Planner {
        recipes,
        calendar,
        first_m3: first.level_l / L_PER_M3,
        salted: Vec::new(),
        // One entry for each day of the longest run.
        paused: vec![false; DAYS.high as usize],
        doses: Vec::new(),
        overflown: false,
    };
    if !checker.is_short(&top, lines.len(), MOST_LINES) {
        return Vec::new();
    }
    for (i, line) in lines.iter().enumerate() {
        if let RawFeeding::Pause(raw) = line {
            planner.pause(checker, &top.index(i).key("pause"), raw);
        }
    }
    for (i, line) in lines.iter().enumerate() {
        let at = top.index(i);
        match line {
            RawFeeding::Daily(raw) => planner.daily(checker, &at.key("daily"), raw),
            RawFeeding::On(raw) => planner.on(checker, &at.key("on"), raw),
            RawFeeding::Dose(raw) => planner.dose(checker, &at.key("dose"), raw),
            RawFeeding::Pause(_) => {}
        }
    }
    if planner.overflown {
        checker.wrong(
            &top,
            format!("The plan makes more than {MOST_DOSES} doses."),
            "Feed less often, or shorten the run.",
        );
    }
    let doses = merged(planner.doses);
    dissolving::check(checker, first, &doses, &planner.salted);
    doses
}

impl Planner<'_> {
    fn pause(&mut self, checker: &mut Checker, at: &Address, raw: &RawPause) {
        let mut end = |key: &str, day: Option<f64>| match day {
            Some(day) => self.calendar.day(checker, &at.key(key), day),
            None => {
                checker.missing(&at.key(key), "Give a day, counted from 0.");
                None
            }
        };
        let (from, to) = (end("from_day", raw.from_day), end("to_day", raw.to_day));
        if let (Some(from), Some(to)) = (from, to) {
            ordered(checker, at, from, to);
            self.paused
                .iter_mut()
                .take(to as usize + 1)
                .skip(from as usize)
                .for_each(|paused| *paused = true);
        }
    }

    fn is_paused(&self, day: u32) -> bool {
        self.paused.get(day as usize).is_some_and(|paused| *paused)
    }

    fn daily(&mut self, checker: &mut Checker, at: &Address, raw: &RawDaily) {
        let recipe = self.recipe(checker, at, raw.recipe.as_deref());
        let from = match raw.from_day {
            Some(day) => self.calendar.day(checker, &at.key("from_day"), day),
            None => {
                checker.missing(
                    &at.key("from_day"),
                    "Give the first day of feeding, counted from 0.",
                );
                None
            }
        };
        let to = match raw.to_day {
            Some(day) => self.calendar.day(checker, &at.key("to_day"), day),
            None => self.calendar.days().map(|days| days - 1),
        };
        let every = checker.optional(&at.key("every_days"), raw.every_days, 1.0, &EVERY_DAYS);
        let hour = hour(checker, at, raw.hour);
        let ramp = self.ramp(checker, at, raw);
        let (Some(from), Some(to), Some(recipe)) = (from, to, recipe) else {
            return;
        };
        if !ordered(checker, at, from, to) {
            return;
        }
        let largest = ramp.from.max(ramp.to);
        self.check_size(checker, at, self.recipes[recipe].kg() * largest);
        // Checked to be a whole number from 1 to 366; NaN, after a problem, counts as 0.
        for day in (from..=to).step_by((every as usize).max(1)) {
            if self.overflown {
                return;
            }
            if !self.is_paused(day) {
                let amount = ramp.amount(f64::from(day - from));
                self.feed(recipe, day, hour, amount);
            }
        }
    }

    fn ramp(&self, checker: &mut Checker, at: &Address, raw: &RawDaily) -> Ramp {
        let amount = checker.optional(&at.key("amount"), raw.amount, 1.0, &AMOUNT);
        let Some(RawRamp {
            from,
            to,
            over_days,
        }) = &raw.ramp
        else {
            return Ramp {
                from: amount,
                to: amount,
                over_days: 1.0,
            };
        };
        let at = at.key("ramp");
        if raw.amount.is_some() {
            checker.wrong(
                &at,
                "\"amount\" and \"ramp\" say the same thing twice.",
                "Keep one of the two.",
            );
        }
        Ramp {
            from: checker.required(&at.key("from"), *from, &AMOUNT),
            to: checker.required(&at.key("to"), *to, &AMOUNT),
            over_days: checker.required(&at.key("over_days"), *over_days, &RAMP_DAYS),
        }
    }

    fn on(&mut self, checker: &mut Checker, at: &Address, raw: &RawOn) {
        let recipe = self.recipe(checker, at, raw.recipe.as_deref());
        let days = self.days(checker, at, raw.days.as_deref(), raw.dates.as_deref());
        let hour = hour(checker, at, raw.hour);
        let amount = checker.optional(&at.key("amount"), raw.amount, 1.0, &AMOUNT);
        let Some(recipe) = recipe else {
            return;
        };
        self.check_size(checker, at, self.recipes[recipe].kg() * amount);
        for day in days {
            if self.is_paused(day) {
                checker.warn(
                    at,
                    format!("Day {day} is fed although it lies in a pause."),
                    "A pause holds back daily feeding only; chosen days stay.",
                    "Remove the day or shorten the pause, if that is not meant.",
                );
            }
            self.feed(recipe, day, hour, amount);
        }
    }

    fn dose(&mut self, checker: &mut Checker, at: &Address, raw: &RawDose) {
        let days = self.days(checker, at, raw.days.as_deref(), raw.dates.as_deref());
        let hour = hour(checker, at, raw.hour);
        let water_kg = water(checker, at, raw.water_l);
        let additives = additives(checker, at, raw.bicarbonate_g, raw.lime_g);
        if raw.water_l.is_none() && raw.bicarbonate_g.is_none() && raw.lime_g.is_none() {
            checker.wrong(
                at,
                "This dose is empty.",
                "Give \"water_l\", \"bicarbonate_g\" or \"lime_g\".",
            );
        }
        let kg = water_kg + additives.iter().map(|(_, kg)| kg).sum::<f64>();
        self.check_size(checker, at, kg);
        if !additives.is_empty() {
            self.salted.push(Line {
                at: at.clone(),
                moments: days.iter().map(|day| moment(*day, hour)).collect(),
            });
        }
        for day in days {
            self.push(Dose {
                day: moment(day, hour),
                parts: Vec::new(),
                water_kg,
                additives: additives.clone(),
            });
        }
    }

    /// Index of a recipe; `None` after a problem.
    fn recipe(&mut self, checker: &mut Checker, at: &Address, name: Option<&str>) -> Option<usize> {
        let at = at.key("recipe");
        let Some(name) = name else {
            checker.missing(&at, "Name a recipe of this scenario.");
            return None;
        };
        let found = self.recipes.iter().position(|recipe| recipe.name == name);
        match found {
            Some(index) => self.recipes[index].used += 1,
            None => {
                let names = || self.recipes.iter().map(|recipe| recipe.name.as_str());
                checker.unknown(&at, name, "recipe", nearest(name, names()), names());
            }
        }
        found
    }

    /// Chosen days and dates within the run.
    fn days(
        &self,
        checker: &mut Checker,
        at: &Address,
        days: Option<&[f64]>,
        dates: Option<&[String]>,
    ) -> Vec<u32> {
        if days.is_none_or(<[_]>::is_empty) && dates.is_none_or(<[_]>::is_empty) {
            checker.missing(&at.key("days"), "Give \"days\" or \"dates\" in [ ].");
        }
        let mut chosen = Vec::new();
        for (i, day) in days.unwrap_or_default().iter().enumerate() {
            chosen.extend(self.calendar.day(checker, &at.key("days").index(i), *day));
        }
        for (i, date) in dates.unwrap_or_default().iter().enumerate() {
            let at = at.key("dates").index(i);
            if let Some(day) = self.calendar.day_of(checker, &at, date) {
                if day < 0.0 {
                    checker.wrong_value(
                        &at,
                        format!("\"{date}\""),
                        "That date lies before the start of the run.",
                        "Choose a later date, or begin earlier.",
                    );
                } else {
                    chosen.extend(self.calendar.day(checker, &at, day));
                }
            }
        }
        chosen
    }

    /// Refuses a dose that is larger than the vessel it goes into.
    fn check_size(&self, checker: &mut Checker, at: &Address, kg: f64) {
        let room = self.first_m3 * KG_PER_M3 * KG_PER_L;
        if kg > room {
            checker.wrong_value(
                at,
                format!("a dose of {} L", told(kg, GIVEN_DIGITS)),
                format!(
                    "The first vessel holds only {} L of liquid.",
                    told(room, GIVEN_DIGITS)
                ),
                "Feed less at a time. One kilogram counts as one litre.",
            );
        }
    }

    fn feed(&mut self, recipe: usize, day: u32, hour: f64, amount: f64) {
        let recipe = &self.recipes[recipe];
        let scaled = |(index, kg): &(usize, f64)| (*index, kg * amount);
        let dose = Dose {
            day: moment(day, hour),
            parts: recipe.parts.iter().map(scaled).collect(),
            water_kg: recipe.water_kg * amount,
            additives: Vec::new(),
        };
        self.push(dose);
    }

    fn push(&mut self, mut dose: Dose) {
        dose.parts.retain(|(_, kg)| *kg > 0.0);
        let empty = dose.parts.is_empty() && dose.water_kg <= 0.0 && dose.additives.is_empty();
        if self.doses.len() >= MOST_DOSES {
            self.overflown = true;
        } else if !empty {
            self.doses.push(dose);
        }
    }
}

#[derive(Clone, Copy)]
struct Ramp {
    from: f64,
    to: f64,
    over_days: f64,
}

impl Ramp {
    /// Amount some days after the first feed.
    fn amount(self, after: f64) -> f64 {
        self.from + (self.to - self.from) * (after / self.over_days).min(1.0)
    }
}

fn ordered(checker: &mut Checker, at: &Address, from: u32, to: u32) -> bool {
    if from > to {
        checker.wrong_value(
            &at.key("to_day"),
            to,
            format!("The last day lies before the first, day {from}."),
            "Exchange them.",
        );
    }
    from <= to
}

fn hour(checker: &mut Checker, at: &Address, hour: Option<f64>) -> f64 {
    checker.optional(&at.key("hour"), hour, FEEDING_HOUR, &HOUR)
}

fn moment(day: u32, hour: f64) -> f64 {
    f64::from(day) + hour / HOURS_PER_DAY
}

/// Sorts by time and joins doses of the same moment.
fn merged(mut doses: Vec<Dose>) -> Vec<Dose> {
    doses.sort_by(|a, b| a.day.total_cmp(&b.day));
    let mut out: Vec<Dose> = Vec::with_capacity(doses.len());
    for dose in doses {
        match out.last_mut() {
            Some(last) if last.day == dose.day => {
                last.water_kg += dose.water_kg;
                for (index, kg) in dose.parts {
                    add(&mut last.parts, index, kg);
                }
                for (additive, kg) in dose.additives {
                    add::<Additive>(&mut last.additives, additive, kg);
                }
            }
            _ => out.push(dose),
        }
    }
    out
}

fn add<K: PartialEq>(list: &mut Vec<(K, f64)>, key: K, kg: f64) {
    match list.iter_mut().find(|(known, _)| *known == key) {
        Some((_, sum)) => *sum += kg,
        None => list.push((key, kg)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ramp_climbs_evenly_and_stays() {
        let ramp = Ramp {
            from: 0.2,
            to: 1.0,
            over_days: 8.0,
        };
        let amounts = [0.0, 4.0, 8.0, 20.0].map(|day| ramp.amount(day));
        for (amount, expected) in amounts.into_iter().zip([0.2, 0.6, 1.0, 1.0]) {
            assert!((amount - expected).abs() < 1e-12);
        }
    }
}
