//! What a plant must show beyond one run: its distance to the souring limit, and its chance over the draws.

use std::sync::atomic::AtomicBool;

use serde::Serialize;

use super::draft;
use super::judge::{self, Drawn, Tried};
use super::plant::Plant;
use super::rules::rules;
use super::wish::Wish;
use super::year::MONTHS;
use super::{Options, SizeFailure};
use crate::case::TemperatureCourse;
use crate::study::batch::{BatchOptions, run_all};
use crate::study::limit::{LimitFailure, Over, Question, limit};
use crate::study::sampling::Points;
use crate::study::statistics::{chance, quantile};
use crate::study::uncertain::Uncertain;

/// How far beyond today's feed the limit is looked for; further out it does not matter.
const SEARCHED: f64 = 3.0;
/// Days of the run that the search for the limit begins from.
const SETTLING_D: u32 = 120;
/// Heat of a year that is not worth a word \[kWh\].
const LEAST_BOUGHT_KWH: f64 = 1.0;
/// Confidence of the interval of the chance.
const CONFIDENCE: f64 = 0.9;

/// Distance to the souring limit in the coldest month that is fed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Margin {
    /// Month, 1 to 12.
    pub month: usize,
    /// Liquor of that month \[C\].
    pub celsius: f64,
    /// Feed of the month on the vessel that meets it \[kg/d\].
    pub kg_per_day: f64,
    /// Feed at which the model turns sour \[kg/d\]; `None` where it does not up to three times the feed.
    pub limit_kg_per_day: Option<f64>,
    /// Feed over limit; `None` where no limit was met.
    pub share: Option<f64>,
    /// Whether the allowed share is kept.
    pub kept: bool,
}

/// The margin of a plant; `None` where it is never fed.
pub(super) fn margin(
    wish: &Wish,
    tried: &Tried,
    threads: Option<usize>,
    stop: &AtomicBool,
) -> Result<Option<Margin>, SizeFailure> {
    let Some(row) = tried.coldest_fed() else {
        return Ok(None);
    };
    let plant = Plant {
        units: if tried.plant.in_row {
            1
        } else {
            tried.plant.units
        },
        in_row: false,
        ..tried.plant
    };
    let mut kg = draft::without_feed();
    kg[row.month - 1] = row.feed.kg_per_day;
    let mut case = draft::load(wish, &plant, &kg, tried.heater_w)?.case;
    // The month's feed, day by day, in the month's warmth.
    let Some(dose) = case.doses.iter().rfind(|d| !d.parts.is_empty()).cloned() else {
        return Ok(None);
    };
    let hour = dose.day.fract();
    case.days = SETTLING_D;
    case.doses = (0..SETTLING_D)
        .map(|day| crate::case::Dose {
            day: f64::from(day) + hour,
            ..dose.clone()
        })
        .collect();
    for vessel in &mut case.vessels {
        vessel.hold(TemperatureCourse::Constant(row.first_c));
    }
    let fed: f64 = dose.parts.iter().map(|p| p.1).sum();
    let question = Question {
        over: Over::Feed,
        to: Some(SEARCHED * fed),
        day: None,
        shocks: false,
        threads,
        stop,
    };
    let none = Margin {
        month: row.month,
        celsius: row.first_c,
        kg_per_day: fed,
        limit_kg_per_day: None,
        share: None,
        kept: false,
    };
    match limit(&case, &question, &|_| {}) {
        Ok(found) => {
            let share = found
                .limit
                .map(|l| found.feed.kg_per_day / l.at.p.max(1e-9));
            Ok(Some(Margin {
                limit_kg_per_day: found.limit.map(|l| l.at.p),
                share,
                kept: found.healthy_today && share.is_none_or(|s| s <= rules().limit_share.value),
                ..none
            }))
        }
        Err(LimitFailure::Stopped) => Err(SizeFailure::Stopped),
        Err(LimitFailure::Batch(error)) => Err(error.into()),
        // No healthy state, or a branch that cannot be followed: then no margin is shown either.
        Err(_) => Ok(Some(none)),
    }
}

/// How often the draws reach the target.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Sureness {
    /// Draws.
    pub draws: usize,
    /// Draws that reach the target, do not turn sour, pay for their heat and buy no more of it than is promised.
    pub reached: usize,
    /// Draws that turn sour.
    pub sour: usize,
    /// Draws whose own gas does not pay for their heat in some month.
    pub unpaid: usize,
    /// Draws that buy more heat than [`Self::bought_most_kwh`].
    pub dearer: usize,
    /// Share that reaches it.
    pub share: f64,
    /// The share's own uncertainty for so few draws, nine in ten.
    pub between: [f64; 2],
    /// What the draws reach: one in ten below, half, one in ten above \[unit of the target\].
    pub reach: [f64; 3],
    /// Most heat from outside in a year that is promised: that of the run with its reserve \[kWh\].
    pub bought_most_kwh: f64,
    /// What the draws buy: one in ten below, half, one in ten above \[kWh/yr\].
    pub bought_kwh: [f64; 3],
}

/// Runs a plant over all draws.
pub(super) fn sureness(
    wish: &Wish,
    tried: &Tried,
    points: &Points,
    options: &Options<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Sureness, SizeFailure> {
    let plan: [_; MONTHS] = std::array::from_fn(|m| tried.months[m].feed);
    let kg = draft::kilograms(&plan);
    let case = draft::load(wish, &tried.plant, &kg, tried.heater_w)?.case;
    let uncertain = Uncertain::standard();
    let batch = BatchOptions {
        threads: options.threads,
        ..BatchOptions::new(options.stop)
    };
    let done = run_all(
        points.len(),
        batch,
        |i| {
            let point = points.row(i).unwrap_or_default();
            let drawn = uncertain.apply(&case, point, i as u64, options.seed);
            judge::draw(wish, &tried.plant, &plan, &drawn)
        },
        &|done| progress(done as f64 / points.len().max(1) as f64),
    )?;
    let promised = judge::bought_kwh(wish, &tried.months);
    let bought_most_kwh = promised * (1.0 + rules().bought_reserve.value) + LEAST_BOUGHT_KWH;
    let mut all = Vec::with_capacity(done.len());
    for one in done {
        all.push(match one {
            None => return Err(SizeFailure::Stopped),
            Some(drawn) => drawn.unwrap_or_else(|_| Drawn::failed()),
        });
    }
    let dearer = |d: &&Drawn| d.bought_kwh > bought_most_kwh;
    let reaches_it =
        |d: &&Drawn| !d.sour && !d.unpaid && !dearer(d) && d.reach >= wish.target.amount();
    let reached = all.iter().filter(reaches_it).count();
    let sorted = |of: fn(&Drawn) -> f64| {
        let mut values: Vec<f64> = all.iter().map(of).collect();
        values.sort_by(f64::total_cmp);
        [0.1, 0.5, 0.9].map(|p| quantile(&values, p).unwrap_or(f64::NAN))
    };
    let draws = all.len();
    Ok(Sureness {
        draws,
        reached,
        sour: all.iter().filter(|d| d.sour).count(),
        unpaid: all.iter().filter(|d| d.unpaid).count(),
        dearer: all.iter().filter(dearer).count(),
        share: reached as f64 / draws.max(1) as f64,
        between: chance(reached as u64, draws as u64, CONFIDENCE)
            .map_or([0.0, 1.0], |c| [c.low, c.high]),
        reach: sorted(|d| d.reach),
        bought_most_kwh,
        bought_kwh: sorted(|d| d.bought_kwh),
    })
}
