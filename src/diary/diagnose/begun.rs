//! A story that began on a day of the record: which day, and how sure that is.
//!
//! Every whole day is as likely before. The best of a few days is fitted, other days are held against it at the same
//! values, and the fit moves to a better one as long as there is any. The weights of the days follow from their own sums
//! at the fitted values; that leaves out how far the values would move with the day, so the span is a little too narrow
//! where a change is slow to show.

use super::tell::{Teller, Told, scattered};
use crate::diary::fit::digester::{DigesterFailure, settle_from};
use crate::diary::fit::least_squares::Residuals as _;
use crate::diary::fit::model::Model;
use crate::diary::fit::readings::Readings;
use crate::diary::fit::robust::{HUBER, loss};
use crate::diary::fit::unknown::Unknown;

/// Readings that there must be before the day and after it: a change cannot be seen in fewer.
const FEWEST: usize = 3;
/// Days that may be meant, below which nothing is looked for.
const FEWEST_DAYS: usize = 5;
/// Days that are tried first, evenly apart.
const TRIED: usize = 10;
/// Values that they are tried at: places in the prior of what changed, in standard deviations.
const PLACES: [f64; 2] = [-0.7, 0.7];
/// Days away that are tried from where a fit ended, before all near ones are.
const STEPS: [f64; 4] = [1.0, 2.0, 4.0, 8.0];
/// Days about the best that are all looked at.
const NEAR: usize = 8;
/// Fits at most.
const ROUNDS: usize = 3;

/// When a story began.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Begun {
    /// The day that its fit takes.
    pub(super) day: f64,
    /// How many days may be meant.
    days: usize,
    /// The days that were looked at, rising.
    seen: Vec<Seen>,
}

/// A day held against the record at the fitted values.
#[derive(Debug, Clone, PartialEq)]
struct Seen {
    day: f64,
    /// Days that it stands for.
    stands_for: f64,
    residuals: Vec<f64>,
    log_constant: f64,
}

impl Seen {
    fn log(&self, noise: f64) -> f64 {
        let sum: f64 = self.residuals.iter().map(|r| loss(r / noise, HUBER)).sum();
        self.log_constant - 0.5 * sum
    }
}

impl Begun {
    /// Moves all days by so many.
    pub(super) fn later(&mut self, days: f64) {
        self.day += days;
        for seen in &mut self.seen {
            seen.day += days;
        }
    }

    /// Logarithm of the evidence of all days together against that of the fitted one alone.
    pub(super) fn log_spread(&self, noise: f64) -> f64 {
        let fitted = self.seen.iter().find(|s| s.day == self.day);
        let own = fitted.map_or(0.0, |s| s.log(noise));
        let sum: f64 = self
            .seen
            .iter()
            .map(|s| s.stands_for * libm::exp(s.log(noise) - own))
            .sum();
        libm::log(sum / self.days as f64)
    }

    /// The days below which 1 in 20, half and 19 in 20 of the chance lie.
    pub(super) fn span(&self, noise: f64) -> [f64; 3] {
        let logs: Vec<f64> = self.seen.iter().map(|s| s.log(noise)).collect();
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let pairs = self.seen.iter().zip(&logs);
        let weights: Vec<f64> = pairs
            .map(|(s, l)| s.stands_for * libm::exp(l - most))
            .collect();
        let total: f64 = weights.iter().sum();
        [0.05, 0.5, 0.95].map(|share| {
            let mut below = 0.0;
            let reached = weights.iter().position(|w| {
                below += w;
                below >= share * total
            });
            reached.map_or(self.day, |i| self.seen[i].day)
        })
    }
}

/// Whole days on which something may have begun, with enough readings on both sides.
pub(super) fn days(readings: &Readings) -> Vec<f64> {
    let mut at: Vec<f64> = readings.readings.iter().map(|r| r.day).collect();
    at.sort_by(f64::total_cmp);
    at.dedup();
    if at.len() < 2 * FEWEST {
        return Vec::new();
    }
    let (first, last) = (
        at[FEWEST - 1].ceil() as u32,
        at[at.len() - FEWEST].floor() as u32,
    );
    let days: Vec<f64> = (first.max(1)..=last).map(f64::from).collect();
    if days.len() < FEWEST_DAYS {
        Vec::new()
    } else {
        days
    }
}

/// So many of the days, evenly apart.
fn some(days: &[f64], count: usize) -> Vec<f64> {
    let count = count.min(days.len());
    let place = |k: usize| ((k as f64 + 0.5) * days.len() as f64 / count as f64) as usize;
    (0..count).map(|k| days[place(k)]).collect()
}

/// The days near one, and a few of all.
fn about(days: &[f64], day: f64) -> Vec<f64> {
    let near = days
        .iter()
        .copied()
        .filter(|d| (d - day).abs() <= NEAR as f64);
    let mut found: Vec<f64> = near.chain(some(days, TRIED)).collect();
    found.sort_by(f64::total_cmp);
    found.dedup();
    found
}

/// How many days each of those looked at stands for: it shares those between with its neighbours.
fn standing_for(all: &[f64], seen: &[f64]) -> Vec<f64> {
    let mut shares = vec![0.0; seen.len()];
    for day in all {
        let after = seen.partition_point(|s| s < day);
        match (after.checked_sub(1), seen.get(after)) {
            (_, Some(s)) if s == day => shares[after] += 1.0,
            (Some(before), Some(s)) => {
                let share = (day - seen[before]) / (s - seen[before]);
                shares[after] += share;
                shares[before] += 1.0 - share;
            }
            (None, Some(_)) => shares[after] += 1.0,
            (Some(before), None) => shares[before] += 1.0,
            (None, None) => {}
        }
    }
    shares
}

/// One way of a story, begun on any day.
struct Search<'a> {
    teller: &'a Teller<'a>,
    way: usize,
    runs: std::cell::Cell<usize>,
    failed: std::cell::Cell<usize>,
}

impl Search<'_> {
    fn unknowns(&self, day: f64) -> Vec<Unknown> {
        let mut ways = self.teller.book.ways_since(self.teller.story, day);
        ways.swap_remove(self.way)
    }

    /// The record at coordinates with a day; `None` where it cannot be computed.
    fn see(&self, day: f64, at: &[f64]) -> Option<Seen> {
        let Teller {
            story,
            case,
            readings,
            usual_nl,
            ..
        } = *self.teller;
        let unknowns = self.unknowns(day);
        let (scattered, log_constant) = scattered(story, readings, Some(day));
        let model = Model::new(case, &unknowns, &scattered, usual_nl).ok()?;
        let pairs = unknowns.iter().zip(at);
        let values: Vec<f64> = pairs.map(|(u, &at)| u.coordinate().value(at)).collect();
        self.runs.set(self.runs.get() + 1);
        let residuals = model.residuals(&values).ok();
        self.failed
            .set(self.failed.get() + usize::from(residuals.is_none()));
        Some(Seen {
            day,
            stands_for: 0.0,
            residuals: residuals?,
            log_constant,
        })
    }

    /// The best of a few days and values, for what was sound at `sound` and changed on the way.
    fn start(&self, days: &[f64], sound: &[f64]) -> Option<(f64, Vec<f64>)> {
        let changed = self.unknowns(days[0]).len() - sound.len();
        let mut best: Option<(f64, f64, Vec<f64>)> = None;
        for day in some(days, TRIED) {
            for place in PLACES {
                let at: Vec<f64> = [sound.to_vec(), vec![place; changed]].concat();
                let Some(seen) = self.see(day, &at) else {
                    continue;
                };
                let log = seen.log(1.0) - 0.5 * at.iter().map(|u| u * u).sum::<f64>();
                if best.as_ref().is_none_or(|(most, ..)| log > *most) {
                    best = Some((log, day, at));
                }
            }
        }
        best.map(|(_, day, at)| (self.better(days, day, &at).unwrap_or(day), at))
    }

    /// The best of a few days away at the same values, if it is better.
    fn better(&self, days: &[f64], day: f64, at: &[f64]) -> Option<f64> {
        let away = STEPS.iter().flat_map(|step| [day - step, day + step]);
        let away = away.filter(|day| days.contains(day));
        let log = |day: f64| self.see(day, at).map(|s| (day, s.log(1.0)));
        let own = log(day)?;
        let best = away.filter_map(log).max_by(|a, b| a.1.total_cmp(&b.1))?;
        (best.1 > own.1).then_some(best.0)
    }
}

/// Tells a way of a story that began on one of `days`; `sound` are the coordinates at which the record goes best with
/// nothing being wrong.
pub(super) fn tell(
    teller: &Teller<'_>,
    way: usize,
    days: &[f64],
    sound: &[f64],
) -> Result<Told, DigesterFailure> {
    let search = Search {
        teller,
        way,
        runs: std::cell::Cell::new(0),
        failed: std::cell::Cell::new(0),
    };
    let (mut day, mut at) = search
        .start(days, sound)
        .ok_or(DigesterFailure::NoReadings)?;
    let (mut walked, mut round) = ((0, 0), 0);
    loop {
        round += 1;
        let unknowns = search.unknowns(day);
        let (scattered, log_constant) = scattered(teller.story, teller.readings, Some(day));
        let mut settled = settle_from(
            teller.case,
            &unknowns,
            &scattered,
            teller.usual_nl,
            at,
            teller.options,
        )?;
        walked = (
            walked.0 + settled.fitted.runs,
            walked.1 + settled.fitted.failed,
        );
        at = settled.fitted.coordinates.clone();
        let is_last = round == ROUNDS;
        if let Some(better) = search.better(days, day, &at).filter(|_| !is_last) {
            day = better;
            continue;
        }
        let mut seen: Vec<Seen> = about(days, day)
            .into_iter()
            .filter_map(|d| search.see(d, &at))
            .collect();
        let best = seen
            .iter()
            .max_by(|a, b| a.log(1.0).total_cmp(&b.log(1.0)))
            .map_or(day, |s| s.day);
        if best != day && !is_last {
            day = best;
            continue;
        }
        let places: Vec<f64> = seen.iter().map(|s| s.day).collect();
        for (seen, share) in seen.iter_mut().zip(standing_for(days, &places)) {
            seen.stands_for = share;
        }
        settled.fitted.runs = walked.0 + search.runs.get();
        settled.fitted.failed = walked.1 + search.failed.get();
        let begun = Begun {
            day,
            days: days.len(),
            seen,
        };
        return teller.look(unknowns.clone(), settled, log_constant, Some(begun));
    }
}
