//! A healthy start, the branch from it, and the confirmation of its end by real doses.

use super::branch::{Lost, Traced, see, trace};
use super::crew::Crew;
use super::failure::LimitFailure;
use super::feed::Feed;
use super::outcome::{
    Confirmation, FeedFacts, LimitPoint, Over, Piece, TemperatureLimits, Warning,
};
use super::steady::{Along, SteadyTank};
use super::trial::{Plan, Site, is_alive};
use super::{Question, is_dead, warning};
use crate::case::{Case, Inflow, TemperatureCourse};
use crate::digester::Bands;
use crate::kinetics::{Group, Load};
use crate::simulate::{Clock, DayRow, Running};
use crate::solver::continuation::{Direction, stationary};

/// Shares of today's feed from which a branch may begin, in the order of preference.
const FEEDS: [f64; 5] = [0.2, 0.1, 0.05, 0.5, 1.0];
/// Temperatures from which a branch may begin besides today's \[C\].
const TEMPERATURES_C: [f64; 4] = [35.0, 30.0, 25.0, 20.0];
/// Living matter given to each group before the stream is integrated \[kg COD/m3\]: which healthy state is reached does
/// not depend on it, only whether one is.
const SEED: f64 = 0.5;
/// Retention times for which the averaged stream is integrated, and the least and most days.
const SETTLED_RETENTIONS: f64 = 10.0;
const SETTLED_D: (f64, f64) = (400.0, 5000.0);
/// The search goes to this many times today's feed, but not to a retention below that \[d\].
const MOST_FEED: f64 = 20.0;
const LEAST_RETENTION_D: f64 = 1.0;
/// Smallest feed to which the unstable branch is followed back, against today's.
const LEAST_FEED: f64 = 0.02;
/// Range of temperature \[C\].
const COLDEST_C: f64 = 1.0;
const WARMEST_C: f64 = 60.0;
/// Width around the limit in which the failed branch is looked for beyond it.
const BEYOND: f64 = 1.3;
/// Runs on the two sides of the limit, against it.
const SIDES: [f64; 7] = [0.85, 0.9, 0.95, 1.0, 1.05, 1.1, 1.2];
/// The same for a temperature, from safe to unsafe \[K from the limit\].
const SIDES_K: [f64; 8] = [2.0, 1.0, 0.5, 0.25, -0.25, -0.5, -1.0, -2.0];
/// Where these runs start.
const SAFE: f64 = 0.8;
const SAFE_K: f64 = 3.0;
/// Retention times for which they last, and the least and most days.
const CONFIRMED_RETENTIONS: f64 = 10.0;
const CONFIRMED_D: (f64, f64) = (300.0, 1000.0);
/// Days of quiet before the run that turns, the rise of its feed from week to week, and how far beyond the limit it goes.
const CALM_D: f64 = 28.0;
pub(super) const RAISED_PER_WEEK: f64 = 1.1;
const RAISED_TO: f64 = 2.0;
/// Longest such run \[d\].
const RAISED_D: f64 = 1000.0;
/// How far beyond a limit of temperature failed states are looked for \[K\].
const BEYOND_K: f64 = 3.0;

/// What the branches say.
pub(super) struct Found {
    pub(super) pieces: Vec<Piece>,
    pub(super) limit: Option<LimitPoint>,
    pub(super) searched_to: f64,
    pub(super) searched_loading: f64,
    pub(super) healthy_today: bool,
    pub(super) temperature: Option<TemperatureLimits>,
    over: Over,
    /// A healthy steady state well before the limit, the whole tank, and its methane \[norm litres/d\].
    safe: Option<(f64, Vec<f64>, f64)>,
    /// The healthy steady state of today's feed and temperature, the whole tank, and its methane \[norm litres/d\].
    today: Option<(Vec<f64>, f64)>,
}

/// One case, one feed, one temperature.
pub(super) struct Search<'a> {
    site: &'a Site<'a>,
    case: &'a Case,
    feed: &'a Feed,
    pub(super) temperature_c: f64,
    retention_d: f64,
    /// Share of the stream that is mixed in.
    share: f64,
    coefficients: Vec<f64>,
}

impl<'a> Search<'a> {
    pub(super) fn new(site: &'a Site<'a>, case: &'a Case, feed: &'a Feed, day: f64) -> Self {
        let vessel = &site.case.vessels[0];
        let hours = (24.0 * feed.span_d) as u32;
        let temperature_c = (0..hours)
            .map(|h| {
                let back = (f64::from(h) + 0.5) / 24.0;
                vessel.temperature.at(day - back).0
            })
            .sum::<f64>()
            / f64::from(hours);
        let network = &site.engine.network;
        let mut coefficients: Vec<f64> = network.coefficients.iter().map(|c| c.value).collect();
        for (p, pool) in network.pools.iter().enumerate() {
            if feed.daily.pool_amount[p] > 0.0 {
                coefficients[pool.coefficient] =
                    feed.daily.pool_speed[p] / feed.daily.pool_amount[p];
            }
        }
        Self {
            site,
            case,
            feed,
            temperature_c,
            retention_d: vessel.liquid_m3 / feed.daily.volume_m3,
            share: 1.0 - vessel.short_circuit,
            coefficients,
        }
    }

    pub(super) fn facts(&self) -> FeedFacts {
        let (vs, cod) = self.loading(1.0);
        FeedFacts {
            kg_per_day: self.feed.kg_per_day,
            litres_per_day: 1000.0 * self.feed.daily.volume_m3,
            parts: self.feed.parts.clone(),
            loading_kg_vs_m3_d: vs,
            loading_kg_cod_m3_d: cod,
            retention_d: self.retention_d,
            span_d: self.feed.span_d,
            doses: self.feed.pattern.len(),
            carries_life: self.feed.carries_life,
            is_stream: self.feed.is_stream,
        }
    }

    /// Loading \[kg VS/m3/d, kg COD/m3/d\] at a multiple of today's feed.
    fn loading(&self, factor: f64) -> (f64, f64) {
        let volume = self.site.case.vessels[0].liquid_m3;
        let cod = self.feed.daily.cod(&self.site.engine.network);
        (
            factor * self.feed.daily.vs_kg / volume,
            factor * cod / volume,
        )
    }

    fn family(&self, along: Along) -> Result<SteadyTank, LimitFailure> {
        let mut tank = self.site.tank(self.temperature_c)?;
        tank.coefficients.clone_from(&self.coefficients);
        Ok(SteadyTank::new(tank, self.feed.concentrations(), along))
    }

    fn along(&self, over: Over) -> Along {
        let vessel = &self.site.case.vessels[0];
        match over {
            Over::Feed => Along::Feed {
                per_unit: self.share * self.feed.daily.volume_m3
                    / self.feed.kg_per_day
                    / vessel.liquid_m3,
                temperature_c: self.temperature_c,
            },
            Over::Retention => Along::Retention {
                share: self.share,
                temperature_c: self.temperature_c,
            },
            Over::Temperature => Along::Temperature {
                dilution: self.share / self.retention_d,
            },
        }
    }

    /// The parameter at a multiple of today's feed.
    fn parameter(&self, over: Over, factor: f64) -> f64 {
        match over {
            Over::Feed => factor * self.feed.kg_per_day,
            Over::Retention => self.retention_d / factor,
            Over::Temperature => self.temperature_c,
        }
    }

    /// The multiple of today's feed at a parameter.
    fn factor(&self, over: Over, p: f64) -> f64 {
        match over {
            Over::Feed => p / self.feed.kg_per_day,
            Over::Retention => self.retention_d / p,
            Over::Temperature => 1.0,
        }
    }

    /// The tank after a long time under the averaged stream.
    fn settled(&self, factor: f64, temperature_c: f64) -> Result<Vec<f64>, LimitFailure> {
        let network = &self.site.engine.network;
        let mut case = self.site.case.clone();
        let mut vessel = case.vessels[0].clone();
        vessel.hold(TemperatureCourse::Constant(temperature_c));
        case.inflow = Some(Inflow {
            m3_per_d: factor * self.share * self.feed.daily.volume_m3,
            concentrations: network
                .components
                .iter()
                .map(|c| c.name.to_owned())
                .zip(self.feed.concentrations())
                .collect(),
        });
        let mut blank = Load::empty(network);
        blank.volume_m3 = vessel.liquid_m3;
        let mut running = Running::new(&self.site.engine, &case, &vessel, &blank)?;
        let filled = self.site.filled(self.case)?;
        let components = network.components.len();
        running.y[..components].copy_from_slice(&filled.y[..components]);
        for (y, c) in running.y.iter_mut().zip(&network.components) {
            if c.group == Group::Living {
                *y += SEED;
            }
        }
        running.tank.coefficients.clone_from(&self.coefficients);
        let days = (SETTLED_RETENTIONS * self.retention_d / factor)
            .clamp(SETTLED_D.0, SETTLED_D.1)
            .ceil();
        let clock = Clock { trace_step_d: 1e9 };
        // In pieces, so that a stop is heard.
        let pieces = 10;
        for i in 0..pieces {
            if self.site.is_stopped() {
                return Err(LimitFailure::Stopped);
            }
            let at = |i: i32| (days * f64::from(i) / f64::from(pieces)).round();
            running.advance(at(i), at(i + 1), &clock)?;
        }
        Ok(running.y)
    }

    /// A healthy steady state: (parameter, whole tank).
    fn healthy_start(&self, over: Over, crew: &Crew<'_>) -> Result<(f64, Vec<f64>), LimitFailure> {
        let tries: Vec<(f64, f64)> = match over {
            Over::Feed | Over::Retention => {
                FEEDS.iter().map(|f| (*f, self.temperature_c)).collect()
            }
            Over::Temperature => std::iter::once(self.temperature_c)
                .chain(TEMPERATURES_C)
                .map(|t| (1.0, t))
                .collect(),
        };
        let found = crew.all(tries.len(), |i| {
            let (factor, celsius) = tries[i];
            let p = match over {
                Over::Temperature => celsius,
                _ => self.parameter(over, factor),
            };
            let full = self.settled(factor, celsius)?;
            let mut family = self.family(self.along(over))?;
            family.scale_by(&full);
            let guess = family.reduce(&full);
            let Ok(state) = stationary(&mut family, p, &guess, 1e-9) else {
                return Ok(None);
            };
            let failed = see(&mut family, &state, &Bands::standard())?.1;
            Ok((state.stable && !failed).then(|| (p, family.expand(&state.y, p))))
        })?;
        found
            .into_iter()
            .flatten()
            .next()
            .ok_or_else(|| LimitFailure::NeverHealthy {
                tried: match over {
                    Over::Temperature => "a temperature of 20 to 35 C at this feed".to_owned(),
                    _ => format!(
                        "{:.2} kg a day at {:.0} C",
                        0.05 * self.feed.kg_per_day,
                        self.temperature_c
                    ),
                },
            })
    }

    /// Follows the branch that was asked for, and the branch over temperature besides.
    pub(super) fn branch(
        &self,
        question: &Question<'_>,
        crew: &Crew<'_>,
    ) -> Result<Found, LimitFailure> {
        match question.over {
            Over::Temperature => {
                crew.next_part(0.1);
                self.over_temperature(question, crew)
            }
            over => {
                crew.next_part(0.06);
                let mut found = self.over_amount(over, question, crew)?;
                crew.next_part(0.04);
                if found.healthy_today {
                    found.temperature = self.over_temperature(question, crew)?.temperature;
                }
                Ok(found)
            }
        }
    }

    fn over_amount(
        &self,
        over: Over,
        question: &Question<'_>,
        crew: &Crew<'_>,
    ) -> Result<Found, LimitFailure> {
        let most = MOST_FEED.min(self.retention_d / LEAST_RETENTION_D).max(1.5);
        let most = match question.to {
            None => most,
            Some(to) => self.asked_factor(over, to, most)?,
        };
        let (p0, full) = self.healthy_start(over, crew)?;
        let end = self.parameter(over, most);
        let other = match over {
            Over::Retention => p0,
            _ => self.parameter(over, LEAST_FEED),
        };
        let (range, direction) = if end > p0 {
            ((other, end), Direction::Up)
        } else {
            ((end, other), Direction::Down)
        };
        let mut family = self.family(self.along(over))?;
        family.scale_by(&full);
        let start = family.reduce(&full);
        let traced = trace(&mut family, &start, p0, range, direction, crew.stop())?;
        if self.site.is_stopped() {
            return Err(LimitFailure::Stopped);
        }
        let lost = traced.lost(&mut family)?;
        let mut pieces = traced.pieces();
        if let Some(lost) = lost.as_ref().filter(|_| !traced.reaches_failure()) {
            let beyond = match over {
                Over::Retention => (lost.state.p / BEYOND).max(range.0),
                _ => (lost.state.p * BEYOND).min(range.1),
            };
            pieces.extend(self.failed_branch(over, beyond, &mut family, range, crew)?);
        }
        let today = self.parameter(over, 1.0);
        let sign = if over == Over::Retention { -1.0 } else { 1.0 };
        let safe = lost.as_ref().and_then(|lost| {
            let p = match over {
                Over::Retention => lost.state.p / SAFE,
                _ => lost.state.p * SAFE,
            };
            self.safe_state(&traced, &mut family, p)
        });
        let here = self.safe_state(&traced, &mut family, today);
        Ok(Found {
            limit: lost.map(|l| self.limit_point(over, &l, sign * (l.state.p - today))),
            pieces,
            searched_to: end,
            searched_loading: self.loading(most).0,
            // Beyond the loss the polished state lies elsewhere or not at all.
            healthy_today: here.is_some(),
            temperature: None,
            over,
            safe,
            today: here.map(|(_, full, ch4)| (full, ch4)),
        })
    }

    fn safe_state(
        &self,
        traced: &Traced,
        family: &mut SteadyTank,
        p: f64,
    ) -> Option<(f64, Vec<f64>, f64)> {
        let state = traced.healthy_at(family, p)?;
        let seen = see(family, &state, &Bands::standard()).ok()?.0;
        Some((p, family.expand(&state.y, p), seen.ch4_nl_d))
    }

    fn limit_point(&self, over: Over, lost: &Lost, slack: f64) -> LimitPoint {
        let factor = self.factor(over, lost.state.p);
        let (vs, cod) = self.loading(factor);
        LimitPoint {
            kind: lost.kind,
            at: lost.at,
            loading_kg_vs_m3_d: vs,
            loading_kg_cod_m3_d: cod,
            retention_d: self.retention_d / factor,
            slack,
        }
    }

    /// How far to look, as a multiple of today's feed.
    fn asked_factor(&self, over: Over, to: f64, most: f64) -> Result<f64, LimitFailure> {
        let (what, unit) = match over {
            Over::Feed => ("a feed of", "kg a day"),
            Over::Retention => ("a retention time of", "days"),
            Over::Temperature => ("a temperature of", "C"),
        };
        let ends = [
            self.parameter(over, FEEDS[0]),
            self.parameter(over, 5.0 * most),
        ];
        let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        if to > low && to < high {
            Ok(self.factor(over, to))
        } else {
            Err(LimitFailure::Range {
                what,
                value: to,
                unit,
                low,
                high,
            })
        }
    }

    /// The failed states at a parameter beyond a limit, followed both ways. Nothing where the search finds none.
    fn failed_branch(
        &self,
        over: Over,
        p: f64,
        family: &mut SteadyTank,
        range: (f64, f64),
        crew: &Crew<'_>,
    ) -> Result<Vec<Piece>, LimitFailure> {
        let celsius = match over {
            Over::Temperature => p,
            _ => self.temperature_c,
        };
        let full = self.settled(self.factor(over, p), celsius)?;
        let guess = family.reduce(&full);
        let Ok(state) = stationary(family, p, &guess, 1e-9) else {
            return Ok(Vec::new());
        };
        let mut pieces = Vec::new();
        for direction in [Direction::Down, Direction::Up] {
            match trace(family, &state.y, p, range, direction, crew.stop()) {
                Ok(traced) => pieces.extend(traced.pieces()),
                // Without it the figure shows less; the limit stands all the same.
                Err(LimitFailure::Branch(_)) => {}
                Err(other) => return Err(other),
            }
        }
        Ok(pieces)
    }

    fn over_temperature(
        &self,
        question: &Question<'_>,
        crew: &Crew<'_>,
    ) -> Result<Found, LimitFailure> {
        let over = Over::Temperature;
        let (p0, full) = self.healthy_start(over, crew)?;
        let (mut coldest, mut warmest) = (COLDEST_C, WARMEST_C);
        if let Some(to) = question.to.filter(|_| question.over == over) {
            if !(COLDEST_C..=WARMEST_C).contains(&to) || to == p0 {
                return Err(LimitFailure::Range {
                    what: "a temperature of",
                    value: to,
                    unit: "C",
                    low: COLDEST_C,
                    high: WARMEST_C,
                });
            }
            if to < p0 {
                coldest = to;
            } else {
                warmest = to;
            }
        }
        let mut family = self.family(self.along(over))?;
        family.scale_by(&full);
        let start = family.reduce(&full);
        let mut side = |direction| -> Result<(Traced, Option<Lost>), LimitFailure> {
            let traced = trace(
                &mut family,
                &start,
                p0,
                (coldest, warmest),
                direction,
                crew.stop(),
            )?;
            let lost = traced.lost(&mut family)?;
            Ok((traced, lost))
        };
        let (down, cold) = side(Direction::Down)?;
        let (up, warm) = side(Direction::Up)?;
        if self.site.is_stopped() {
            return Err(LimitFailure::Stopped);
        }
        let mut pieces = down.pieces();
        if !down.is_closed() {
            pieces.extend(up.pieces());
        }
        let range = (coldest, warmest);
        if let Some(cold) = cold.as_ref().filter(|_| !down.reaches_failure()) {
            let beyond = (cold.state.p - BEYOND_K).max(coldest);
            pieces.extend(self.failed_branch(over, beyond, &mut family, range, crew)?);
        }
        let today = self.temperature_c;
        let safe = cold
            .as_ref()
            .and_then(|c| self.safe_state(&down, &mut family, c.state.p + SAFE_K));
        let healthy_today = [&down, &up]
            .into_iter()
            .any(|t| t.healthy_at(&mut family, today).is_some());
        let limit = match (&cold, &warm) {
            (Some(c), _) => Some(self.limit_point(over, c, today - c.state.p)),
            (None, Some(w)) => Some(self.limit_point(over, w, w.state.p - today)),
            (None, None) => None,
        };
        Ok(Found {
            pieces,
            limit,
            searched_to: coldest,
            searched_loading: self.loading(1.0).0,
            healthy_today,
            temperature: Some(TemperatureLimits {
                cold_c: cold.map(|c| c.state.p),
                warm_c: warm.map(|w| w.state.p),
                searched_c: (coldest, warmest),
            }),
            over,
            safe,
            today: None,
        })
    }

    /// Real doses from a safe state on both sides of the limit.
    pub(super) fn confirm(
        &self,
        found: &Found,
        crew: &Crew<'_>,
    ) -> Result<Option<Confirmation>, LimitFailure> {
        let (Some(limit), Some((safe, full, ch4))) = (&found.limit, &found.safe) else {
            return Ok(None);
        };
        let over = found.over;
        let edge_p = limit.at.p;
        let values: Vec<f64> = match over {
            Over::Feed => SIDES.iter().map(|s| s * edge_p).collect(),
            Over::Retention => SIDES.iter().map(|s| edge_p / s).collect(),
            Over::Temperature => SIDES_K.iter().map(|k| edge_p + k).collect(),
        };
        let days = self.days(limit.retention_d);
        let edge = crew.edge(*safe, &values, 1, |p| {
            let factor = self.factor(over, p);
            let celsius = match over {
                Over::Temperature => p,
                _ => self.temperature_c,
            };
            let expected = ch4 * factor / self.factor(over, *safe);
            let doses = self.feed.schedule(0.0, days, factor);
            let rows = self.fed(full, doses, celsius, days, &|rows| is_dead(rows, expected))?;
            Ok(is_alive(&rows, expected, &Bands::standard()))
        })?;
        let on = |p: f64| {
            let safer = |a: f64, b: f64| match over {
                Over::Feed => a <= b,
                _ => a >= b,
            };
            edge.fails
                .is_none_or(|_| edge.survives.is_some_and(|s| safer(p, s)))
        };
        let pair = match over {
            Over::Temperature => (3, 4),
            _ => (2, 4),
        };
        let sides = vec![
            (values[pair.0], on(values[pair.0])),
            (values[pair.1], on(values[pair.1])),
        ];
        let difference = edge.fails.map(|fails| {
            let middle = 0.5 * (fails + edge.survives.unwrap_or(*safe));
            match over {
                Over::Temperature => middle - edge_p,
                _ => middle / edge_p - 1.0,
            }
        });
        Ok(Some(Confirmation {
            stays: edge.survives,
            turns: edge.fails,
            sides,
            days: days as u32,
            difference,
        }))
    }

    fn days(&self, retention_d: f64) -> f64 {
        (CONFIRMED_RETENTIONS * retention_d)
            .clamp(CONFIRMED_D.0, CONFIRMED_D.1)
            .ceil()
    }

    /// Rows of a run from a steady state through given doses at a fixed temperature.
    fn fed(
        &self,
        full: &[f64],
        doses: Vec<(f64, Load)>,
        celsius: f64,
        until: f64,
        enough: &(dyn Fn(&[DayRow]) -> bool + Sync),
    ) -> Result<Vec<DayRow>, LimitFailure> {
        let network = &self.site.engine.network;
        let last = network.components.len() + network.gases.len();
        let from = self
            .site
            .full(0.0, full[..=last].to_vec(), self.coefficients.clone());
        let plan = Plan {
            doses,
            course: TemperatureCourse::Constant(celsius),
            until,
            give_up: Some(enough),
        };
        Ok(self.site.go(&from, &plan)?.rows)
    }

    /// The signs in a run whose feed is raised from today's week by week until it turns.
    pub(super) fn warning(&self, found: &Found) -> Result<Option<Warning>, LimitFailure> {
        let over = found.over;
        let (Some(limit), Some((full, ch4))) = (&found.limit, &found.today) else {
            return Ok(None);
        };
        if over == Over::Temperature || limit.slack <= 0.0 {
            return Ok(None);
        }
        let most = RAISED_TO * self.factor(over, limit.at.p);
        let until = (CALM_D + 7.0 * most.ln() / RAISED_PER_WEEK.ln())
            .min(RAISED_D)
            .ceil();
        let factor = |day: f64| {
            let weeks = ((day - CALM_D) / 7.0).floor() + 1.0;
            RAISED_PER_WEEK.powf(weeks.max(0.0))
        };
        let expected = *ch4;
        let rows = self.fed(
            full,
            self.feed.schedule_by(0.0, until, factor),
            self.temperature_c,
            until,
            &|rows| is_dead(rows, expected),
        )?;
        let kg = |day: usize| self.feed.kg_per_day * factor(day as f64);
        Ok(warning::read(&rows, CALM_D as usize, &kg))
    }
}
