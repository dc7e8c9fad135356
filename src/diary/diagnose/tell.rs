//! One story told against the record: its own fit, its evidence, what it would show now and next week.

use super::begun::Begun;
use super::expected::first_day;
use super::result::CourseDay;
use super::story::{Book, Look, Story};
use crate::case::Case;
use crate::diary::fit::ahead::paused;
use crate::diary::fit::digester::{DigesterFailure, FitOptions, Settled, settle};
use crate::diary::fit::information::Information;
use crate::diary::fit::least_squares::Fitted;
use crate::diary::fit::model::{Day, Model};
use crate::diary::fit::posterior::{self, Draw, Drawing, weighted_quantiles};
use crate::diary::fit::readings::{Reading, Readings, What};
use crate::diary::fit::robust::{HUBER, tamed};
use crate::diary::fit::unknown::{Change, Unknown, holding};
use crate::study::batch::BatchOptions;
use crate::study::uncertain::Effect;

/// How many times wider than assumed the readings of a record may scatter about a true story, because equations, feeds
/// and readings err more than was thought. Each story has its own width: else the one that lets readings jump would
/// be taken for true wherever the model does not fit.
const WIDER: [f64; 6] = [1.0, 1.25, 1.55, 1.9, 2.4, 3.0];
/// Standard deviation of the logarithm of that (assumption: two records in three scatter less than 1.5 times as wide).
const WIDER_LOG_SD: f64 = 0.4;
/// Draws of each story, for its look.
const DRAWS: usize = 24;
/// Effective draws below which the weights are not trusted.
const FEWEST_EFFECTIVE: f64 = 6.0;
/// Days before the end of the record whose gas a pause is held against.
const DAYS_BEFORE: usize = 3;
/// Days at the end of a pause that count.
const DAYS_OF_PAUSE: usize = 2;
/// Days of the look ahead.
pub const WEEK: u32 = 7;

/// What a draw of a story would show today.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sight {
    pub(super) now: Day,
    /// How much warmer the liquor is than noted \[K\].
    pub(super) offset_k: f64,
}

/// A story with what the record makes of it, before the stories are weighed.
pub(super) struct Told {
    pub(super) name: String,
    pub(super) unknowns: Vec<Unknown>,
    pub(super) fitted: Fitted,
    coordinates: Vec<crate::diary::fit::coordinate::Coordinate>,
    /// Logarithms of the readings' own constants, against those of a story without scatter.
    log_constant: f64,
    /// Readings that are numbers.
    numbers: usize,
    /// When it began, of a story that began on the way.
    pub(super) begun: Option<Begun>,
    /// (what it would show, weight); weights add up to 1.
    pub(super) sights: Vec<(Sight, f64)>,
    /// Gas at the end of a pause in parts of the gas before.
    pub(super) pause: f64,
    /// The week after the record: 5, 50, 95 % of gas, pH, methane share.
    pub(super) week: Vec<[[f64; 3]; 3]>,
    /// Gas of the days that the readings cover.
    pub(super) course: Vec<CourseDay>,
    pub(super) runs: usize,
    pub(super) failed: usize,
}

impl Told {
    /// The same on days that count from so many days before.
    pub(super) fn days_later(mut self, days: f64) -> Self {
        if let Some(begun) = &mut self.begun {
            begun.later(days);
        }
        for since in self.unknowns.iter_mut().filter_map(|u| u.since.as_mut()) {
            *since += days;
        }
        for row in &mut self.course {
            row.day += days;
        }
        self
    }

    /// Logarithm of the evidence, averaged over how wide the readings may scatter about the story.
    pub(super) fn log_evidence(&self) -> Option<f64> {
        let logs: Vec<f64> = self.logs()?.iter().map(|(_, log)| *log).collect();
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = logs.iter().map(|l| libm::exp(l - most)).sum();
        Some(most + libm::log(sum))
    }

    /// How many times wider than assumed the readings most likely scatter about the story.
    pub(super) fn noise(&self) -> f64 {
        let logs = self.logs().unwrap_or_default();
        let best = logs.iter().max_by(|a, b| a.1.total_cmp(&b.1));
        best.map_or(1.0, |best| best.0)
    }

    /// Each width with the logarithm of its share of the evidence.
    fn logs(&self) -> Option<Vec<(f64, f64)>> {
        let weights = WIDER.map(|wider| {
            let z = libm::log(wider) / WIDER_LOG_SD;
            (wider, -0.5 * z * z)
        });
        let total: f64 = weights.iter().map(|w| libm::exp(w.1)).sum();
        let each = weights.into_iter().map(|(wider, log)| {
            let own = self.log_evidence_of(wider)? - self.numbers as f64 * libm::log(wider);
            Some((wider, own + log - libm::log(total)))
        });
        each.collect()
    }

    /// Logarithm of the evidence when all readings scatter `noise` times as wide as assumed, but for what that width
    /// itself costs.
    fn log_evidence_of(&self, noise: f64) -> Option<f64> {
        let information = Information::of(&self.fitted, &self.coordinates, noise).ok()?;
        let residuals = self.fitted.residuals.iter();
        let data = residuals.map(|r| tamed(r / noise, HUBER).powi(2));
        let priors = self.fitted.coordinates.iter().map(|u| u * u);
        let sum: f64 = data.chain(priors).sum();
        let spread = self.begun.as_ref().map_or(0.0, |b| b.log_spread(noise));
        Some(information.log_evidence(sum, self.log_constant) + spread)
    }

    /// Half the robust sum of squares of one kind of reading, with the constants of its scatter.
    pub(super) fn against(&self, what: What, readings: &Readings, noise: f64, scatter: f64) -> f64 {
        let pairs = readings.readings.iter().zip(&self.fitted.residuals);
        let kind = pairs.filter(|(r, _)| r.what == what);
        let since = self.begun.as_ref().map(|b| b.day);
        kind.map(|(r, off)| {
            let constant = match is_scattered(r, since) && r.is_number() {
                true => libm::log(scatter),
                false => 0.0,
            };
            0.5 * tamed(off / noise, HUBER).powi(2) + constant
        })
        .sum()
    }
}

/// Whether a reading scatters as a story that began on a day says.
fn is_scattered(reading: &Reading, since: Option<f64>) -> bool {
    reading.what.is_gas() && since.is_none_or(|day| reading.day > day)
}

/// The readings as they scatter in a story that began on a day, and the logarithm of what that costs.
pub(super) fn scattered(story: &Story, readings: &Readings, since: Option<f64>) -> (Readings, f64) {
    let mut scattered = readings.clone();
    let mut numbers = 0;
    let gas = scattered.readings.iter_mut();
    for reading in gas.filter(|r| is_scattered(r, since)) {
        reading.wider = story.scatter;
        numbers += u32::from(reading.is_number());
    }
    (scattered, -f64::from(numbers) * libm::log(story.scatter))
}

/// A story, and the record that it is told against.
#[derive(Clone, Copy)]
pub(super) struct Teller<'a> {
    pub(super) book: &'a Book,
    pub(super) story: &'a Story,
    /// Reaches a week beyond the record.
    pub(super) case: &'a Case,
    pub(super) readings: &'a Readings,
    pub(super) usual_nl: f64,
    pub(super) options: &'a FitOptions<'a>,
}

impl Teller<'_> {
    /// Tells one way of a story that holds from the start.
    pub(super) fn tell(&self, unknowns: Vec<Unknown>) -> Result<Told, DigesterFailure> {
        let (scattered, log_constant) = scattered(self.story, self.readings, None);
        let settled = settle(
            self.case,
            &unknowns,
            &scattered,
            self.usual_nl,
            self.options,
        )?;
        self.look(unknowns.clone(), settled, log_constant, None)
    }

    /// What a settled story looks like.
    pub(super) fn look(
        &self,
        unknowns: Vec<Unknown>,
        settled: Settled<'_>,
        log_constant: f64,
        begun: Option<Begun>,
    ) -> Result<Told, DigesterFailure> {
        let Self {
            book,
            story,
            case,
            readings,
            usual_nl,
            options,
        } = *self;
        let information = Information::of(&settled.fitted, &settled.coordinates, 1.0)?;
        let drawing = Drawing {
            draws: DRAWS,
            taught: false,
            seed: options.seed,
            huber: Some(HUBER),
            noise: 1.0,
            batch: BatchOptions {
                threads: options.threads,
                ..BatchOptions::new(options.stop)
            },
        };
        let (fitted, coordinates) = (settled.fitted, settled.coordinates);
        let drawn = posterior::draw(
            &settled.model,
            &coordinates,
            &fitted,
            &information,
            &drawing,
            &|_| {},
        )?;
        let failed = fitted.failed + drawn.failed;
        let (drawn, _) = drawn.trusted(FEWEST_EFFECTIVE);
        let today = readings.last_day.floor() as usize;
        let sights = drawn.draws.iter().filter_map(|draw| {
            let now = *draw.more.get(today.min(draw.more.len().checked_sub(1)?))?;
            let sight = Sight {
                now,
                offset_k: offset(&unknowns, draw),
            };
            Some((sight, draw.weight))
        });
        let sights = sights.collect();
        let band = |day: usize, f: fn(&Day) -> f64| {
            let draws = drawn.draws.iter();
            let pairs = draws.filter_map(|d| Some((f(d.more.get(day)?), d.weight)));
            let found = weighted_quantiles(pairs.collect(), &[0.05, 0.5, 0.95]);
            [found[0], found[1], found[2]]
        };
        let week = (today + 1..today + 1 + WEEK as usize)
            .map(|day| {
                [
                    band(day, |d| d.gas_nl),
                    band(day, |d| d.ph),
                    band(day, |d| d.methane),
                ]
            })
            .collect();
        let best = settled.model.run(&fitted.values).unwrap_or_default();
        let course = settled.model.as_read(&best, &fitted.values);
        let course = course.filter(|row| (first_day(readings)..=today as f64).contains(&row.0));
        let course = course
            .map(|(day, gas_nl)| CourseDay { day, gas_nl })
            .collect();
        let pause = pause(book, case, &unknowns, readings, usual_nl, &fitted.values);
        Ok(Told {
            name: story.name.clone(),
            log_constant,
            numbers: readings.readings.iter().filter(|r| r.is_number()).count(),
            begun,
            sights,
            pause: pause.unwrap_or(f64::NAN),
            week,
            course,
            runs: fitted.runs + DRAWS + 2,
            failed: failed + usize::from(pause.is_none()),
            fitted,
            coordinates,
            unknowns,
        })
    }
}

fn offset(unknowns: &[Unknown], draw: &Draw<Vec<Day>>) -> f64 {
    let now = holding(unknowns, &draw.values, true);
    let offsets = now.filter(|(u, _)| u.change == Change::Effect(Effect::TemperatureOffset));
    offsets.map(|(_, value)| value).sum()
}

/// Gas at the end of a pause in parts of that before it, at the best fit of a story.
fn pause(
    book: &Book,
    case: &Case,
    unknowns: &[Unknown],
    readings: &Readings,
    usual_nl: f64,
    values: &[f64],
) -> Option<f64> {
    let days = book.tests.iter().find_map(|t| match &t.look {
        Look::Pause { days, .. } => Some(*days as usize),
        _ => None,
    })?;
    let today = readings.last_day.floor() as usize;
    let unfed = paused(case, today as f64 + 1.0);
    let rows = Model::new(&unfed, unknowns, readings, usual_nl)
        .ok()?
        .run(values)
        .ok()?;
    let mean = |from: usize, to: usize| {
        let rows = rows.get(from..to)?;
        Some(rows.iter().map(|r| r.gas_nl).sum::<f64>() / rows.len() as f64)
    };
    let before = mean((today + 1).saturating_sub(DAYS_BEFORE), today + 1)?;
    let end = today + 1 + days;
    let after = mean(end - DAYS_OF_PAUSE, end)?;
    // Where there is no gas to begin with, a pause shows none either.
    let least = LEAST_GAS * usual_nl;
    Some((after + least) / (before + least))
}

/// Gas in parts of the usual that counts as none.
const LEAST_GAS: f64 = 0.02;
