//! The proposed plant hour by hour: whether its store holds the pauses, and whether the wish is served when it is asked.

use std::sync::atomic::{AtomicBool, Ordering};

use serde::Serialize;
use serde_json::{Value, json};

use super::beside::{Beds, Store, bell, bell_of, tenth};
use super::draft;
use super::judge::Tried;
use super::timetable::{Uses, all_of_it, as_wished};
use super::wish::{Target, Wish};
use super::year::{LEAD, MONTHS, month_at, stretches};
use crate::case::Case;
use crate::plant::cleaning::StageOutcome;
use crate::scenario::{self, Problems};
use crate::simulate::{self, Outcome};
use crate::study::season::{SeasonDay, season};

/// Share of the gas for use that may overflow while all of it is used at its times.
const OVERFLOW: f64 = 0.01;
/// Share of the wished hours that may be short.
const SHORT: f64 = 0.02;
/// The store grows by steps of its volume by day, up to so many times it.
const GROWTH: (f64, f64) = (0.1, 3.0);
/// Bells of these widths, bags beside them \[cm\].
const BELL_CM: (f64, f64) = (20.0, 200.0);
/// Smallest bag and smallest bed of a scenario.
const LEAST: (f64, f64) = (1.0, 0.01);

/// What a year of hours showed; whole plant, the judged year.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hourly {
    /// Volume that the day's figures give \[L\].
    pub by_day_l: f64,
    /// Hours of the day at which gas is used.
    pub used_at_h: Vec<f64>,
    /// Every how many days.
    pub used_each_days: usize,
    /// Months in which gas is wanted, January first.
    pub used_in: [bool; MONTHS],
    /// Burners that are lit together; 1 for anything else.
    pub burners: f64,
    /// Of these, as many as one line of the timetable stands for: with more than one the hours of `season` are those of all
    /// of them together.
    pub burners_a_line: f64,
    /// Share of the gas for use of these months that overflows with the store by the day's figures, all gas used at its
    /// times.
    pub overflow_by_day: f64,
    /// The same with the store proposed.
    pub overflow: f64,
    /// Hours with overflow then, in these months.
    pub overflow_hours: u32,
    /// The tightest month as `season` finds it of the written plant, 1 to 12; `None` where nothing is wanted.
    pub tightest_month: Option<usize>,
    /// With no more used than wished; `None` where the wish asks for no gas.
    pub wished: Option<Wished>,
    /// The hours of each month with no more used than wished, January first; for a mass to treat with its gas used evenly.
    pub months: Vec<HourlyMonth>,
    /// Frost on pipes, beds and store; `None` where there is none.
    pub frost: Option<Frosts>,
}

/// Nights of a year on which the air falls below freezing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Frosts {
    /// How many.
    pub nights: usize,
    /// The coldest hour \[C\].
    pub coldest_c: f64,
}

/// Hours of a month; of one burner, where burners are wished for.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct HourlyMonth {
    /// 1 to 12.
    pub month: usize,
    /// Days.
    pub days: u32,
    /// Wanted.
    pub wanted_h: f64,
    /// Served.
    pub served_h: f64,
    /// Too little gas, no flame or gas that the engine refuses.
    pub short_h: f64,
}

/// The year with no more gas used than is wished for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Wished {
    /// Hours asked for in the months that count; of one burner, where burners are wished for.
    pub asked_h: f64,
    /// Hours that got too little gas, no flame or gas that the engine refuses.
    pub short_h: f64,
    /// Hours of overflow in the whole year.
    pub overflow_hours: u32,
    /// Share of the gas for use that overflows over the whole year.
    pub overflow: f64,
}

/// The store as it was run, or as it stood when the search was stopped, and the scenario of the plant with all that stands beside the digester.
pub(super) struct Stood {
    pub(super) store: Store,
    /// The beds as the gas of the judged year loads them.
    pub(super) beds: Option<Beds>,
    /// `None` where the search was stopped before it.
    pub(super) hourly: Option<Hourly>,
    pub(super) scenario: Value,
}

/// Runs the plant with its store through the hours, and enlarges the store where it does not hold. Where `stop` is true no
/// hour is run any more, and what is written stands on the day's figures.
///
/// # Errors
/// Why it could not be run, in words.
pub(super) fn stand(
    wish: &Wish,
    tried: &Tried,
    store: Store,
    beds: Option<&Beds>,
    stop: &AtomicBool,
) -> Result<Stood, String> {
    let asks = as_wished(wish, tried);
    let drawn = Draft {
        wish,
        tried,
        iron_kg: beds.map(|b| b.iron_kg),
    };
    let stopped = || stop.load(Ordering::Relaxed);
    let found = if stopped() {
        None
    } else {
        let outcome = drawn.outcome()?;
        by_hour(&drawn, &outcome, store.volume_l, &asks, &stopped)?
    };
    let Some((volume_l, stages, hourly)) = found else {
        return Ok(Stood {
            store,
            beds: beds.copied(),
            hourly: None,
            scenario: drawn.scenario(store.volume_l, &asks),
        });
    };
    Ok(Stood {
        store: bell(Store { volume_l, ..store }),
        beds: beds.map(|beds| beds.as_run(&stages)),
        hourly: Some(hourly),
        scenario: drawn.scenario(volume_l, &asks),
    })
}

/// The store that holds \[L\], what the stages of the cleaning did, and the hours; `None` where it was stopped.
fn by_hour(
    drawn: &Draft<'_>,
    outcome: &Outcome,
    by_day_l: f64,
    asks: &Uses,
    stopped: &dyn Fn() -> bool,
) -> Result<Option<(f64, Vec<StageOutcome>, Hourly)>, String> {
    let (wish, all) = (drawn.wish, all_of_it(drawn.wish, drawn.tried));
    let year = |volume_l: f64, uses: &Uses| drawn.year(outcome, volume_l, uses);
    let mut used = year(by_day_l, &all)?;
    let (mut volume_l, overflow_by_day) = (by_day_l, used.overflow_then);
    while used.overflow_then > OVERFLOW && volume_l < GROWTH.1 * by_day_l * (1.0 - 1e-9) {
        if stopped() {
            return Ok(None);
        }
        volume_l += GROWTH.0 * by_day_l;
        used = year(volume_l, &all)?;
    }
    let mut served = year(volume_l, asks)?;
    // Hours short for want of store, not of gas, a larger one cures.
    let mut larger_l = volume_l;
    while served.short_share() > SHORT && larger_l < GROWTH.1 * by_day_l * (1.0 - 1e-9) {
        if stopped() {
            return Ok(None);
        }
        larger_l += GROWTH.0 * by_day_l;
        let with = year(larger_l, asks)?;
        if with.short_share() <= SHORT {
            (volume_l, served) = (larger_l, with);
            used = year(volume_l, &all)?;
        }
    }
    let wished = (!matches!(wish.target, Target::Treat(_))).then_some(Wished {
        asked_h: served.asked_h,
        short_h: served.short_h,
        overflow_hours: served.overflow_hours,
        overflow: served.overflow,
    });
    let hourly = Hourly {
        by_day_l,
        used_at_h: all.sessions.from_h.clone(),
        used_each_days: all.sessions.each_days,
        used_in: all.months,
        burners: asks.burners,
        burners_a_line: asks.a_line,
        overflow_by_day,
        overflow: used.overflow_then,
        overflow_hours: used.overflow_hours_then,
        tightest_month: served.tightest_month,
        wished,
        months: served.months,
        frost: served.frost,
    };
    Ok(Some((volume_l, served.stages, hourly)))
}

/// The first of the problems in a line: the file is not the user's own.
fn words(problems: Problems) -> String {
    let Some(first) = problems.problems.first() else {
        return String::new();
    };
    match (&first.value, &first.allowed) {
        (Some(value), Some(allowed)) => {
            format!("{} would be {value}, and {allowed} is computed", first.path)
        }
        _ => format!("{}: {}", first.path, first.why.trim_end_matches('.')),
    }
}

/// Sums of a judged year.
#[derive(Debug, Clone)]
struct Year {
    asked_h: f64,
    short_h: f64,
    overflow_hours: u32,
    overflow: f64,
    /// The same of the months in which gas is wanted.
    overflow_hours_then: u32,
    overflow_then: f64,
    tightest_month: Option<usize>,
    months: Vec<HourlyMonth>,
    stages: Vec<StageOutcome>,
    frost: Option<Frosts>,
}

impl Year {
    fn short_share(&self) -> f64 {
        if self.asked_h > 0.0 {
            self.short_h / self.asked_h
        } else {
            0.0
        }
    }
}

/// What all trials of the store share.
struct Draft<'a> {
    wish: &'a Wish,
    tried: &'a Tried,
    iron_kg: Option<f64>,
}

impl Draft<'_> {
    /// The run of the digester.
    fn outcome(&self) -> Result<Outcome, String> {
        let kg = kilograms(self.tried);
        let tried = self.tried;
        let case = draft::load(self.wish, &tried.plant, &kg, tried.heater_w).map_err(words)?;
        simulate::run(&case.case, &mut |_| {}).map_err(|f| f.to_string())
    }

    /// The scenario with its plant: a row as it is, or one of the units that stand side by side, with the store, the bed
    /// and the uses of all of them.
    fn scenario(&self, volume_l: f64, uses: &Uses) -> Value {
        let kg = kilograms(self.tried);
        let mut out = draft::scenario(self.wish, &self.tried.plant, &kg, self.tried.heater_w);
        let mut cleaning = vec![json!({"water_trap": {}})];
        if let Some(iron_kg) = self.iron_kg {
            let kg = iron_kg.max(LEAST.1);
            cleaning.push(json!({"iron": {"material": "rusted-wool", "mass_kg": kg}}));
        }
        out["plant"] = json!({
            "about": "Store, bed and timetable as proposed. The gas is used only as wished: put in what else you burn.",
            "cleaning": cleaning,
            "store": store(volume_l.max(LEAST.0)),
            "appliances": uses.appliances,
            "timetable": uses.timetable,
            "flare": {}
        });
        let units = self.tried.plant.units / draft::vessels(&self.tried.plant);
        if units > 1 {
            out["plant"]["units"] = json!(units);
        }
        out
    }

    fn year(&self, outcome: &Outcome, volume_l: f64, uses: &Uses) -> Result<Year, String> {
        let scenario = self.scenario(volume_l, uses);
        let loaded = scenario::from_value(&scenario, "plant.json", None);
        let case: Case = loaded.map_err(words)?.case;
        let found = season(&case, outcome).map_err(|failure| failure.to_string())?;
        let start = draft::start_month(self.wish, &self.tried.plant);
        let first = stretches(start).get(LEAD).map_or(0, |s| s.1);
        let judged: Vec<&SeasonDay> = found.days.iter().filter(|d| d.day >= first).collect();
        let counts = |d: &&&SeasonDay| uses.months[month_at(start, d.day)];
        let sum = |of: fn(&SeasonDay) -> f64| judged.iter().map(|d| of(d)).sum::<f64>();
        let counting =
            |of: fn(&SeasonDay) -> f64| judged.iter().filter(counts).map(|d| of(d)).sum::<f64>();
        let share = |lost: f64, of: f64| if of > 0.0 { lost / of } else { 0.0 };
        let tightest = found.tightest.as_ref();
        let tightest = tightest.and_then(|name| found.months.iter().find(|m| m.name == *name));
        Ok(Year {
            asked_h: uses.a_line * counting(|d| d.wanted_h),
            short_h: uses.a_line * counting(unserved),
            tightest_month: tightest.map(|m| month_at(start, m.from_day) + 1),
            months: by_month(start, uses.a_line, &judged),
            frost: frost(&judged),
            stages: found.stages.clone(),
            overflow_hours: judged.iter().map(|d| d.overflow_hours).sum(),
            overflow: share(sum(|d| d.overflow_nl), sum(|d| d.cleaned_nl)),
            overflow_hours_then: (judged.iter().filter(counts))
                .map(|d| d.overflow_hours)
                .sum(),
            overflow_then: share(counting(|d| d.overflow_nl), counting(|d| d.cleaned_nl)),
        })
    }
}

/// Hours that were wanted and not served.
fn unserved(day: &SeasonDay) -> f64 {
    day.short_h + day.no_flame_h + day.refused_h
}

fn frost(days: &[&SeasonDay]) -> Option<Frosts> {
    let cold = || days.iter().map(|d| d.line_low_c).filter(|c| *c < 0.0);
    Some(Frosts {
        nights: cold().count(),
        coldest_c: cold().min_by(f64::total_cmp)?,
    })
}

/// The hours of each month of the judged year, January first.
fn by_month(start: usize, burners: f64, days: &[&SeasonDay]) -> Vec<HourlyMonth> {
    let mut months: Vec<HourlyMonth> = (1..=MONTHS)
        .map(|month| HourlyMonth {
            month,
            ..HourlyMonth::default()
        })
        .collect();
    for day in days {
        let month = &mut months[month_at(start, day.day)];
        month.days += 1;
        month.wanted_h += burners * day.wanted_h;
        month.served_h += burners * day.served_h;
        month.short_h += burners * unserved(day);
    }
    months
}

fn kilograms(tried: &Tried) -> [f64; MONTHS] {
    std::array::from_fn(|m| tried.months.get(m).map_or(0.0, |row| row.feed.kg_per_day))
}

/// A store of this usable volume \[L\].
fn store(volume_l: f64) -> Value {
    let bell = bell_of(volume_l);
    if (BELL_CM.0..=BELL_CM.1).contains(&bell.diameter_cm) {
        json!({"bell": {
            "diameter_cm": bell.diameter_cm, "skirt_cm": bell.skirt_cm, "shell": "polyethylene", "wall_mm": bell.wall_mm,
            "relief": bell.relief
        }})
    } else {
        json!({"bag": {"volume_l": tenth(volume_l)}})
    }
}
