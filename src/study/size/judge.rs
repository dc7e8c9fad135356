//! What a plant does in a real run: its months, its reach, what it breaks.

use std::sync::atomic::{AtomicBool, Ordering};

use serde::Serialize;

use super::draft;
use super::estimate::Estimate;
use super::feed::{self, Bound, MonthFeed, SLACK};
use super::plant::{Plant, Season};
use super::rules::rules;
use super::wish::{HeaterChoice, Target, Wish};
use super::year::{DAYS, LEAD, MONTHS, stretches};
use crate::case::Case;
use crate::plant::Portion;
use crate::plant::uses::{EngineKind, EngineSettings, use_table};
use crate::simulate::{self, DayRow, Outcome};
use crate::study::startup::Limits;

/// How often the feed is fitted to the temperatures of the run before it.
const FITTINGS: usize = 4;
const PPM: f64 = 1e6;
/// A lack of gas below this share of a month's heating comes from rounding.
const ROUNDING: f64 = 1e-9;
/// A month's mean below which a tank is taken to freeze \[C\].
pub(super) const ICE_C: f64 = 0.5;

/// Why a plant is not taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Breach {
    /// It does not reach the target.
    Short,
    /// Its heater takes more gas in a month than the plant makes.
    Unaffordable {
        /// Month, 1 to 12.
        month: usize,
        /// Gas that the heater asks for over gas made.
        share: f64,
    },
    /// No feed was found that keeps the lines of loading and retention at the temperatures of the run.
    Lines,
    /// It turns sour.
    Sour,
    /// It freezes while it rests.
    Freezes {
        /// Coldest month, 1 to 12.
        month: usize,
        /// Its mean liquor \[C\].
        celsius: f64,
    },
    /// Acids over alkalinity or pH leave the limits that a start keeps.
    Acids {
        /// Highest ratio of the year.
        ratio: f64,
        /// Lowest pH of the year.
        ph: f64,
    },
    /// The coldest month's feed is above the allowed share of the computed limit.
    Limit {
        /// Feed over the limit; `None` where not even a small feed is healthy.
        share: Option<f64>,
    },
    /// Too few draws reach the target.
    Chance {
        /// Share that does.
        share: f64,
        /// Share whose own gas does not pay for its heat.
        unpaid: f64,
        /// Share that buys more heat than is promised.
        dearer: f64,
    },
    /// The run failed.
    Failed {
        /// Why.
        why: String,
    },
}

/// One month of the judged year, whole plant.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MonthRow {
    /// 1 to 12.
    pub month: usize,
    /// What is fed.
    pub feed: MonthFeed,
    /// Highest loading that practice allows at the month's temperature \[kg VS/m3/d\].
    pub loading_line: f64,
    /// Shortest retention that practice allows \[d\].
    pub retention_line_d: f64,
    /// Mean air \[C\].
    pub air_c: f64,
    /// Mean liquor of the unit that meets the feed first \[C\].
    pub first_c: f64,
    /// Mean liquor of all units \[C\].
    pub liquor_c: f64,
    /// Gas as it is read, wet at 20 C \[L/d\].
    pub gas_l_d: f64,
    /// The gas of the whole month.
    pub gas: Portion,
    /// Energy of the methane of days on which the gas burns \[kWh/d\].
    pub methane_kwh_d: f64,
    /// What the heater takes, from own gas or from outside \[kWh/d\].
    pub heating_kwh_d: f64,
    /// Of that, what the gas of its days cannot give while a plant begins again after a rest: bought \[kWh/d\].
    pub bought_kwh_d: f64,
    /// Methane less own gas burnt for heat \[kWh/d\].
    pub net_kwh_d: f64,
    /// Days on which the gas burns.
    pub burning_days: u32,
    /// Highest acids over alkalinity of any unit.
    pub acid_ratio: f64,
    /// Residue \[L/d\].
    pub residue_l_d: f64,
}

/// What a run gives for the target.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Course {
    pub(super) rows: Vec<MonthRow>,
    pub(super) reach: f64,
    pub(super) sour: bool,
    /// Highest acids over alkalinity and lowest pH, where they leave the limits.
    pub(super) acids: Option<(f64, f64)>,
}

/// A plant that was run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tried {
    /// The plant.
    pub plant: Plant,
    /// Power of the heater of one unit \[W\]; 0 without one.
    pub heater_w: f64,
    /// The twelve months, January first; empty where the run failed.
    pub months: Vec<MonthRow>,
    /// What it reaches \[unit of the target\].
    pub reach: f64,
    /// Why it is not taken; empty for one that can be.
    pub breaches: Vec<Breach>,
}

impl Tried {
    /// Whether nothing speaks against it.
    #[must_use]
    pub fn is_fit(&self) -> bool {
        self.breaches.is_empty()
    }

    /// Whether less feed might cure what speaks against it.
    #[must_use]
    pub fn is_overfed(&self) -> bool {
        let overfed = |b: &Breach| {
            matches!(
                b,
                Breach::Sour | Breach::Acids { .. } | Breach::Limit { .. }
            )
        };
        self.breaches.iter().any(overfed)
    }

    /// Whether all but the target is kept.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.breaches.iter().all(|b| matches!(b, Breach::Short))
    }

    /// The coldest month in which it is fed.
    #[must_use]
    pub fn coldest_fed(&self) -> Option<&MonthRow> {
        let fed = self.months.iter().filter(|m| m.feed.kg_per_day > 0.0);
        fed.min_by(|a, b| a.first_c.total_cmp(&b.first_c))
    }

    /// Of the months that count, that with the least for the target: feed of a mass to treat, else gas left for use.
    #[must_use]
    pub fn leanest(&self, wish: &Wish) -> Option<&MonthRow> {
        let of = |row: &MonthRow| match wish.target {
            Target::Treat(_) => row.feed.kg_per_day,
            _ => row.net_kwh_d,
        };
        let counting = self.months.iter().filter(|row| wish.months[row.month - 1]);
        counting.min_by(|a, b| of(a).total_cmp(&of(b)))
    }

    /// Mean over the months that count.
    #[must_use]
    pub fn mean(&self, wish: &Wish, of: impl Fn(&MonthRow) -> f64) -> f64 {
        wish.mean(|m| self.months.get(m).map_or(f64::NAN, &of))
    }
}

/// Runs a plant, fitting its feed to the temperatures that the run gives; `None` where it was stopped on the way.
pub(super) fn try_plant(
    wish: &Wish,
    plant: &Plant,
    estimate: &Estimate,
    stop: &AtomicBool,
) -> Option<Tried> {
    let heater_w = plant
        .set_c
        .map_or(0.0, |_| draft::heater_w(estimate.heater_w));
    let failed = |why: String| {
        Some(Tried {
            plant: *plant,
            heater_w,
            months: Vec::new(),
            reach: 0.0,
            breaches: vec![Breach::Failed { why }],
        })
    };
    let mut celsius = estimate.celsius;
    for fitting in 1..=FITTINGS {
        if stop.load(Ordering::Relaxed) {
            return None;
        }
        let plan = feed::plan(wish, plant, &celsius);
        let loaded = match draft::load(wish, plant, &draft::kilograms(&plan), heater_w) {
            Ok(loaded) => loaded,
            Err(problems) => return failed(problems.to_string()),
        };
        let outcome = match simulate::run(&loaded.case, &mut |_| {}) {
            Ok(outcome) => outcome,
            Err(failure) => return failed(failure.to_string()),
        };
        let course = course(wish, plant, &plan, &outcome);
        let kept = course.rows.iter().all(keeps_lines);
        let caught = course
            .rows
            .iter()
            .all(|row| !could_take_more(row, plant.line_share));
        if (kept && (caught || fitting > 1)) || fitting == FITTINGS {
            let breaches = breaches(wish, plant, &course, kept);
            return Some(Tried {
                plant: *plant,
                heater_w,
                months: course.rows,
                reach: course.reach,
                breaches,
            });
        }
        for (old, row) in celsius.iter_mut().zip(&course.rows) {
            let new = (row.first_c, row.liquor_c);
            // Only the first run corrects upwards; after it the feed can but shrink, so that the fitting ends.
            *old = if fitting == 1 {
                new
            } else {
                (old.0.min(new.0), old.1.min(new.1))
            };
        }
    }
    failed("the feed could not be fitted".to_owned())
}

fn keeps_lines(row: &MonthRow) -> bool {
    row.feed.loading <= row.loading_line
        && row
            .feed
            .retention_d
            .is_none_or(|d| d >= row.retention_line_d)
}

/// Whether the run was warmer than the plan thought, so that more could be fed.
fn could_take_more(row: &MonthRow, line_share: f64) -> bool {
    // What the plan leaves free, and as much again.
    let free = (1.0 + SLACK) / (1.0 - SLACK);
    match row.feed.bound {
        Bound::Loading | Bound::Cold => line_share * row.loading_line > row.feed.loading * free,
        Bound::Retention => row
            .feed
            .retention_d
            .is_some_and(|d| d > row.retention_line_d * free),
        Bound::Scraps | Bound::Wish | Bound::Water | Bound::Begins | Bound::Rests => false,
    }
}

fn breaches(wish: &Wish, plant: &Plant, course: &Course, kept: bool) -> Vec<Breach> {
    let mut out = Vec::new();
    if !kept {
        out.push(Breach::Lines);
    }
    if let Some((month, share)) = unpaid(wish, &course.rows) {
        out.push(Breach::Unaffordable { month, share });
    }
    // Without a heater it freezes whether it rests or not.
    if plant.rests.is_some() && plant.set_c.is_some() {
        let coldest = course
            .rows
            .iter()
            .min_by(|a, b| a.liquor_c.total_cmp(&b.liquor_c));
        if let Some(row) = coldest.filter(|row| row.liquor_c < ICE_C) {
            out.push(Breach::Freezes {
                month: row.month,
                celsius: row.liquor_c,
            });
        }
    }
    if course.sour {
        out.push(Breach::Sour);
    } else if let Some((ratio, ph)) = course.acids {
        out.push(Breach::Acids { ratio, ph });
    }
    if course.reach < wish.target.amount() {
        out.push(Breach::Short);
    }
    out
}

/// The month, 1 to 12, in which a heater on own gas asks most beyond the gas that is made, and how many times that gas;
/// `None` where the gas pays for its heat.
fn unpaid(wish: &Wish, rows: &[MonthRow]) -> Option<(usize, f64)> {
    if wish.builder.heater != HeaterChoice::OwnGas {
        return None;
    }
    let over = |row: &MonthRow| row.heating_kwh_d / row.methane_kwh_d.max(1e-9);
    // The month of the beginning buys what it lacks; it must not hide another that lacks, too.
    let lacks = |row: &&MonthRow| row.net_kwh_d < -ROUNDING * row.heating_kwh_d;
    let lacking = rows.iter().filter(lacks);
    let most = lacking.max_by(|a, b| over(a).total_cmp(&over(b)))?;
    Some((most.month, over(most)))
}

/// Heat of a year from outside \[kWh\]: all of it from the mains, else what the gas of a new beginning lacks.
pub(super) fn bought_kwh(wish: &Wish, rows: &[MonthRow]) -> f64 {
    let mains = wish.builder.heater == HeaterChoice::Mains;
    let of = |row: &MonthRow| {
        let kwh_d = if mains {
            row.heating_kwh_d
        } else {
            row.bought_kwh_d
        };
        kwh_d * f64::from(DAYS[row.month - 1])
    };
    rows.iter().map(of).sum()
}

/// What one draw gives.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Drawn {
    /// What it reaches \[unit of the target\].
    pub(super) reach: f64,
    /// Whether it turns sour, or its run fails.
    pub(super) sour: bool,
    /// Whether its own gas does not pay for its heat in some month.
    pub(super) unpaid: bool,
    /// Heat of the year from outside \[kWh\].
    pub(super) bought_kwh: f64,
}

/// One draw; sour where its run fails.
pub(super) fn draw(wish: &Wish, plant: &Plant, plan: &[MonthFeed; MONTHS], case: &Case) -> Drawn {
    let Ok(outcome) = simulate::run(case, &mut |_| {}) else {
        return Drawn::failed();
    };
    let course = course(wish, plant, plan, &outcome);
    Drawn {
        reach: course.reach,
        sour: course.sour,
        unpaid: unpaid(wish, &course.rows).is_some(),
        bought_kwh: bought_kwh(wish, &course.rows),
    }
}

impl Drawn {
    /// That of a run that fails: no success.
    pub(super) fn failed() -> Self {
        Self {
            sour: true,
            ..Self::default()
        }
    }
}

fn course(wish: &Wish, plant: &Plant, plan: &[MonthFeed; MONTHS], outcome: &Outcome) -> Course {
    let limits = Limits::standard();
    let mut rows = Vec::with_capacity(MONTHS);
    let judged: Vec<_> = stretches(draft::start_month(wish, plant))
        .into_iter()
        .skip(LEAD)
        .collect();
    for &(month, from, to, _) in &judged {
        rows.push(row(
            wish,
            plant,
            plan,
            outcome,
            month,
            from as usize..to as usize,
        ));
    }
    rows.sort_by_key(|row| row.month);
    let first = judged.first().map_or(0, |j| j.1 as usize);
    let days = || {
        outcome
            .vessels
            .iter()
            .flat_map(|v| v.days.get(first..).unwrap_or_default())
    };
    let sour = days().any(|day| day.sour);
    let strained = days().any(|day| !limits.keeps(day));
    let ratio = days().map(|day| day.acid_ratio).fold(0.0, f64::max);
    let ph = days().map(|day| day.ph).fold(f64::INFINITY, f64::min);
    Course {
        reach: reach(wish, &rows),
        rows,
        sour,
        acids: strained.then_some((ratio, ph)),
    }
}

fn row(
    wish: &Wish,
    plant: &Plant,
    plan: &[MonthFeed; MONTHS],
    outcome: &Outcome,
    month: usize,
    days: std::ops::Range<usize>,
) -> MonthRow {
    let copies = draft::copies(plant);
    let count = days.len().max(1) as f64;
    let whole = outcome.plant.get(days.clone()).unwrap_or_default();
    let sum = |of: &dyn Fn(&DayRow) -> f64| whole.iter().map(of).sum::<f64>() * copies;
    let of_vessels = || {
        outcome
            .vessels
            .iter()
            .map(|v| v.days.get(days.clone()).unwrap_or_default())
    };
    let mean_c = |rows: &[DayRow]| rows.iter().map(|d| d.temperature_c).sum::<f64>() / count;
    let temperatures: Vec<f64> = of_vessels().map(mean_c).collect();
    let first_c = temperatures.first().copied().unwrap_or(f64::NAN);
    let liquor_c = temperatures.iter().sum::<f64>() / temperatures.len().max(1) as f64;
    let kwh = |nl: f64| {
        Portion {
            ch4_nl: nl,
            ..Portion::default()
        }
        .energy_kwh()
    };
    let methane_kwh_d = kwh(sum(&|d| if d.burns { d.ch4_nl } else { 0.0 })) / count;
    let fuel_kwh = |day: usize| -> f64 {
        let heats = outcome.vessels.iter().filter_map(|v| v.heat.as_ref());
        heats
            .filter_map(|h| h.days.get(day))
            .map(|d| d.fuel_kwh)
            .sum()
    };
    let heating_kwh_d = days.clone().map(fuel_kwh).sum::<f64>() * copies / count;
    let own = wish.builder.heater == HeaterChoice::OwnGas;
    let bought_kwh_d = match plant.season(wish, month) {
        Season::Begins if own => {
            let lit = |d: &DayRow| if d.burns { kwh(d.ch4_nl) } else { 0.0 };
            let short = whole.iter().zip(days.clone());
            let short = short.map(|(row, day)| (fuel_kwh(day) - lit(row)).max(0.0));
            short.sum::<f64>() * copies / count
        }
        _ => 0.0,
    };
    MonthRow {
        month: month + 1,
        feed: plan[month],
        loading_line: rules().loading_line(first_c),
        retention_line_d: rules().retention_line(liquor_c),
        air_c: wish.air_c[month],
        first_c,
        liquor_c,
        // What flows back into a tank that cools is no gas.
        gas_l_d: (sum(&|d| d.gas_read_l) / count).max(0.0),
        gas: Portion {
            ch4_nl: sum(&|d| d.ch4_nl),
            co2_nl: sum(&|d| d.gas_nl * d.co2_share),
            h2s_nl: sum(&|d| d.gas_nl * d.h2s_ppm / PPM),
            h2_nl: sum(&|d| d.gas_nl * d.h2_ppm / PPM),
            ..Portion::default()
        },
        methane_kwh_d,
        heating_kwh_d,
        bought_kwh_d,
        net_kwh_d: methane_kwh_d
            - if own {
                heating_kwh_d - bought_kwh_d
            } else {
                0.0
            },
        burning_days: whole.iter().map(|d| u32::from(d.burns)).sum(),
        acid_ratio: of_vessels()
            .flatten()
            .map(|d| d.acid_ratio)
            .fold(0.0, f64::max),
        residue_l_d: sum(&|d| d.overflow_l) / count,
    }
}

/// What the months give for the target. What a month lacks is not made up by another.
fn reach(wish: &Wish, rows: &[MonthRow]) -> f64 {
    let counting = || rows.iter().filter(|row| wish.months[row.month - 1]);
    let least = |of: &dyn Fn(&MonthRow) -> f64| counting().map(of).fold(f64::INFINITY, f64::min);
    let winter = |of: &dyn Fn(&MonthRow) -> f64| -> f64 {
        counting()
            .map(|row| of(row).max(0.0) * f64::from(DAYS[row.month - 1]))
            .sum()
    };
    match wish.target {
        Target::BurnerHours(_) => {
            (least(&|row| row.net_kwh_d) / use_table().burner.power_kw.typical()).max(0.0)
        }
        Target::WinterHeat(_) => winter(&|row| row.net_kwh_d * rules().boiler_share.value),
        Target::WinterCurrent(_) => winter(&|row| row.net_kwh_d * current_share(&row.gas)),
        Target::Treat(_) => least(&|row| row.feed.kg_per_day),
    }
}

/// Current from the gas of a small piston engine at full load, and the carbon dioxide above which it refuses gas.
#[must_use]
pub fn engine_share(gas: &Portion) -> (f64, f64) {
    let engine = EngineSettings::of(EngineKind::Piston, 1.0);
    (engine.full_load_efficiency(gas), engine.co2_limit)
}

/// Current from a month's gas; nothing where the engine refuses it.
fn current_share(gas: &Portion) -> f64 {
    let (share, limit) = engine_share(gas);
    if gas.co2_share() > limit { 0.0 } else { share }
}
