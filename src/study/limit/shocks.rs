//! What the tank survives today: one overfeed, a week of cold; how long a pause heals, and which rescue brings it back.
//!
//! What is tried, how far and for how long is a choice of this project, but where a source stands beside it.

use super::crew::Crew;
use super::failure::LimitFailure;
use super::feed::{Feed, scaled};
use super::outcome::{Cold, Measure, Overfeed, Rescue, Shocks, Week};
use super::trial::{
    Course, PH_MARGIN, Plan, RATIO_MARGIN, Site, State, is_alive, recent_methane, shifted,
};
use crate::case::{Additive, TemperatureCourse};
use crate::digester::{Bands, Tank};
use crate::kinetics::{self, Load};
use crate::simulate::DayRow;
use crate::units::ZERO_C;

/// Days of each trial.
pub(super) const TRIAL_D: f64 = 100.0;
/// Largest overfeed, as a share of the liquor's volume: more is an exchange of the filling, not a meal.
const LARGEST_OVERFEED: f64 = 0.5;
/// Days of the long overfeed, and the most of its daily feed as a share of the liquor's volume.
const WEEK_D: f64 = 7.0;
const LARGEST_DAY: f64 = 0.15;
/// Multiples of the daily feed that are tried for a week.
const TIMES: [f64; 10] = [2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 32.0, 48.0];
/// Rounds of refinement: a doubling is divided by 5 in each, down to 1 %.
const ROUNDS: usize = 3;
/// The overfeed against which rescues are tried, against the smallest that is not survived.
const BEYOND: f64 = 1.15;
/// Pauses tried \[d\].
const PAUSES_D: [u32; 12] = [1, 2, 3, 5, 7, 10, 14, 21, 28, 42, 60, 90];
/// Days until a rescue begins: what it takes to notice.
const NOTICED_D: u32 = 7;
/// The pause that goes with a rescue \[d\].
const RESCUE_PAUSE_D: u32 = 14;
/// Share of the liquor replaced by water.
const DILUTED_SHARE: f64 = 1.0 / 3.0;
/// pH to which salts are dosed.
const DOSED_TO_PH: f64 = 6.8;
/// Most salt that is poured in \[kg/m3\]: 10 g/L of bicarbonate bring 2.7 g/L of sodium, and from about 3.5 g/L on sodium
/// itself inhibits (McCarty 1964, from memory); it is not in the equations.
const MOST_SALT: f64 = 10.0;
/// Warming \[K\], and the temperature beyond which nobody warms \[C\].
const WARMED_BY_K: f64 = 5.0;
const WARMED_TO_C: f64 = 38.0;
/// A bucket \[m3\].
const BUCKET_M3: f64 = 0.010;
/// Length of the cold spell \[d\] and of the way down and up.
const COLD_D: f64 = 7.0;
const SLOPE_D: f64 = 1.0;
/// Drops tried \[K\].
const DROPS_K: [f64; 9] = [1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0];
/// The liquor is not cooled below this \[C\]: it would freeze.
const COLDEST_C: f64 = 0.5;

/// The day from which everything is tried.
pub(super) struct Start<'a> {
    pub(super) site: &'a Site<'a>,
    pub(super) feed: &'a Feed,
    pub(super) today: &'a State,
    /// The same days without a disturbance.
    pub(super) undisturbed: &'a Course,
    pub(super) bands: &'a Bands,
}

/// Tries everything.
pub(super) fn shocks(
    start: &Start<'_>,
    crew: &Crew<'_>,
    parts: [f64; 3],
) -> Result<Shocks, LimitFailure> {
    crew.next_part(parts[0]);
    let mut overfeed = start.overfeed(crew)?;
    crew.next_part(parts[1]);
    let cold = start.cold(crew)?;
    crew.next_part(parts[2]);
    if overfeed.fails_kg.is_none() {
        overfeed.week = Some(start.week(crew)?);
    }
    let daily = start.feed.kg_per_day;
    let week = overfeed.week.and_then(|w| w.fails_times);
    let meal = match (overfeed.fails_kg, week) {
        (Some(kg), _) => Some(Meal {
            kg: BEYOND * kg,
            days: 1.0,
        }),
        (None, Some(times)) => Some(Meal {
            kg: BEYOND * (times - 1.0) * daily * WEEK_D,
            days: WEEK_D,
        }),
        (None, None) => None,
    };
    if let Some(meal) = meal {
        overfeed.beyond_kg = Some(meal.kg);
        overfeed.beyond_days = meal.days as u32;
        overfeed.pause_d = start.pause(crew, meal)?;
        overfeed.rescues = start.rescues(crew, meal)?;
    }
    Ok(Shocks {
        days: TRIAL_D as u32,
        overfeed,
        cold,
    })
}

/// An overfeed: so much in all, in equal parts on so many days.
#[derive(Debug, Clone, Copy)]
struct Meal {
    kg: f64,
    days: f64,
}

impl Start<'_> {
    fn course(&self) -> TemperatureCourse {
        self.site.case.vessels[0].temperature.clone()
    }

    fn end(&self) -> f64 {
        self.today.day + TRIAL_D
    }

    fn alive(&self, course: &Course) -> bool {
        is_alive(
            &course.rows,
            recent_methane(&self.undisturbed.rows),
            self.bands,
        )
    }

    /// The overfeed on top of the feeding, which is left out from the first day of `pause` to its last.
    fn meals(&self, meal: Meal, pause: (f64, f64), until: f64) -> Vec<(f64, Load)> {
        let day = self.today.day;
        let each = scaled(&self.feed.daily, meal.kg / meal.days / self.feed.kg_per_day);
        let mut meals: Vec<(f64, Load)> = (0..meal.days as u32)
            .map(|d| (day + f64::from(d), each.clone()))
            .collect();
        meals.extend(
            self.feed
                .schedule(day, until, 1.0)
                .into_iter()
                .filter(|(d, _)| !(*d >= pause.0 && *d < pause.1)),
        );
        meals.sort_by(|a, b| a.0.total_cmp(&b.0));
        meals
    }

    /// Whether the tank lives through an overfeed.
    fn survives(&self, meal: Meal) -> Result<bool, LimitFailure> {
        let until = self.end() + meal.days;
        let course = self.site.go(
            self.today,
            &Plan {
                doses: self.meals(meal, (0.0, 0.0), until),
                course: self.course(),
                until,
                give_up: None,
            },
        )?;
        Ok(self.alive(&course))
    }

    /// The daily feed many times over for a week.
    fn week(&self, crew: &Crew<'_>) -> Result<Week, LimitFailure> {
        let vessel = &self.site.case.vessels[0];
        let most = (LARGEST_DAY * vessel.liquid_m3 / self.feed.daily.volume_m3).max(TIMES[0]);
        let mut tried: Vec<f64> = TIMES.iter().copied().filter(|t| *t < most).collect();
        tried.push(most);
        let edge = crew.edge(1.0, &tried, 2, |times| {
            self.survives(Meal {
                kg: (times - 1.0) * self.feed.kg_per_day * WEEK_D,
                days: WEEK_D,
            })
        })?;
        Ok(Week {
            days: WEEK_D as u32,
            survives_times: edge.survives,
            fails_times: edge.fails,
            tried_times: most,
        })
    }

    fn overfeed(&self, crew: &Crew<'_>) -> Result<Overfeed, LimitFailure> {
        let vessel = &self.site.case.vessels[0];
        let m3_per_kg = self.feed.daily.volume_m3 / self.feed.kg_per_day;
        let most = LARGEST_OVERFEED * vessel.liquid_m3 / m3_per_kg;
        let mut tried: Vec<f64> =
            std::iter::successors(Some(self.feed.kg_per_day), |kg| Some(2.0 * kg))
                .take_while(|kg| *kg < most)
                .collect();
        tried.push(most);
        let edge = crew.edge(0.0, &tried, ROUNDS, |kg| {
            self.survives(Meal { kg, days: 1.0 })
        })?;
        Ok(Overfeed {
            survives_kg: edge.survives,
            fails_kg: edge.fails,
            tried_kg: most,
            week: None,
            beyond_kg: None,
            beyond_days: 1,
            pause_d: None,
            longest_pause_d: PAUSES_D[PAUSES_D.len() - 1],
            rescues: Vec::new(),
            rescue_after_d: NOTICED_D,
            rescue_pause_d: RESCUE_PAUSE_D,
        })
    }

    fn cold(&self, crew: &Crew<'_>) -> Result<Cold, LimitFailure> {
        let course = self.course();
        let day = self.today.day;
        let coldest = (0..=COLD_D as u32 + 2)
            .map(|d| course.at(day + f64::from(d)).0)
            .fold(f64::INFINITY, f64::min);
        let most = (coldest - COLDEST_C).max(0.0);
        let mut tried: Vec<f64> = DROPS_K.iter().copied().filter(|k| *k < most).collect();
        tried.push(most);
        let kinks = [
            day,
            day + SLOPE_D,
            day + SLOPE_D + COLD_D,
            day + 2.0 * SLOPE_D + COLD_D,
        ];
        let edge = crew.edge(0.0, &tried, 1, |k| {
            let dip = |d: f64| {
                let down = (d - kinks[0]) / SLOPE_D;
                let up = (kinks[3] - d) / SLOPE_D;
                -k * down.min(up).clamp(0.0, 1.0)
            };
            let cold = shifted(&course, day, self.end(), &kinks, dip);
            let course = self.site.go(
                self.today,
                &Plan {
                    doses: self.feed.schedule(day, self.end(), 1.0),
                    course: cold,
                    until: self.end(),
                    give_up: None,
                },
            )?;
            Ok(self.alive(&course))
        })?;
        Ok(Cold {
            survives_k: edge.survives,
            fails_k: edge.fails,
            tried_k: most,
        })
    }

    fn pause(&self, crew: &Crew<'_>, meal: Meal) -> Result<Option<u32>, LimitFailure> {
        // The pause begins once the overfeed is over; a single one takes the place of the day's feed.
        let day = self.today.day + (meal.days - 1.0);
        let healed = crew.all(PAUSES_D.len(), |i| {
            let until = self.end() + meal.days + f64::from(PAUSES_D[i]);
            let pause = (day, day + f64::from(PAUSES_D[i]));
            let course = self.site.go(
                self.today,
                &Plan {
                    doses: self.meals(meal, pause, until),
                    course: self.course(),
                    until,
                    give_up: None,
                },
            )?;
            Ok(self.alive(&course))
        })?;
        // The shortest from which on every longer one heals too.
        let last_bad = healed.iter().rposition(|ok| !ok);
        Ok(PAUSES_D.get(last_bad.map_or(0, |i| i + 1)).copied())
    }

    fn rescues(&self, crew: &Crew<'_>, meal: Meal) -> Result<Vec<Rescue>, LimitFailure> {
        let begin = self.today.day + (meal.days - 1.0) + f64::from(NOTICED_D);
        let until = begin + TRIAL_D;
        let noticed = self
            .site
            .go(
                self.today,
                &Plan {
                    doses: self.meals(meal, (0.0, 0.0), begin),
                    course: self.course(),
                    until: begin,
                    give_up: None,
                },
            )?
            .end;
        let measures = self.measures(&noticed)?;
        let days = crew.all(2 * measures.len(), |job| {
            let (measure, extra) = &measures[job / 2];
            let pause_d = if job % 2 == 0 {
                0.0
            } else {
                f64::from(RESCUE_PAUSE_D)
            };
            let mut doses: Vec<(f64, Load)> = extra.iter().map(|l| (begin, l.clone())).collect();
            doses.extend(
                self.feed
                    .schedule(self.today.day, until, 1.0)
                    .into_iter()
                    .filter(|(d, _)| *d >= begin + pause_d),
            );
            let course = match measure {
                Measure::Warming { by_k } => shifted(
                    &self.course(),
                    begin,
                    until,
                    &[begin, begin + SLOPE_D],
                    |d| by_k * ((d - begin) / SLOPE_D).clamp(0.0, 1.0),
                ),
                _ => self.course(),
            };
            let plan = Plan {
                doses,
                course,
                until,
                give_up: None,
            };
            let course = self.site.go(&noticed, &plan)?;
            Ok(self.healed_after(&course, begin))
        })?;
        Ok(measures
            .iter()
            .zip(days.chunks(2))
            .map(|((measure, _), days)| Rescue {
                measure: *measure,
                fed_on_d: days[0],
                paused_d: days[1],
            })
            .collect())
    }

    /// Days from `begin` on after which the tank reads healthy to the end of the trial.
    fn healed_after(&self, course: &Course, begin: f64) -> Option<u32> {
        let normal = self.undisturbed.rows.last()?;
        let rule = &self.bands.recovered;
        let ph = rule.ph_above.min(normal.ph - PH_MARGIN);
        let ratio = rule.acid_ratio_below.max(RATIO_MARGIN * normal.acid_ratio);
        let well = |r: &DayRow| r.ph > ph && r.acid_ratio < ratio;
        if !self.alive(course) {
            return None;
        }
        let from = course
            .rows
            .iter()
            .rposition(|r| !well(r))
            .map_or(0, |i| i + 1);
        let row = course.rows.get(from)?;
        Some((f64::from(row.day) + 1.0 - begin).round().max(0.0) as u32)
    }

    /// What can be done at a state, with what is poured in.
    fn measures(&self, at: &State) -> Result<Vec<(Measure, Option<Load>)>, LimitFailure> {
        let network = &self.site.engine.network;
        let vessel = &self.site.case.vessels[0];
        let celsius = at.y.last().map_or(0.0, |t| t - ZERO_C);
        let mut tank = self.site.tank(celsius)?;
        let mut salt = |additive| -> Result<(f64, Load), LimitFailure> {
            let kg = dose_to_ph(&mut tank, at, additive)?;
            let load = scaled(&kinetics::additive_load(network, additive), kg);
            Ok((1000.0 * kg, load))
        };
        let (bicarbonate_g, bicarbonate) = salt(Additive::Bicarbonate)?;
        let (lime_g, lime) = salt(Additive::Lime)?;
        let mut water = Load::empty(network);
        // What is poured in is mixed and as much runs over: x/(1 + x) of the liquor is then water.
        let poured = DILUTED_SHARE / (1.0 - DILUTED_SHARE);
        water.add_water(poured * vessel.liquid_m3 * kinetics::LIQUOR_KG_PER_M3);
        let mut bucket = Load::empty(network);
        bucket.volume_m3 = BUCKET_M3;
        for (a, c) in bucket.amount.iter_mut().zip(&self.today.y) {
            *a = c * BUCKET_M3;
        }
        for (p, pool) in network.pools.iter().enumerate() {
            bucket.pool_amount[p] = bucket.amount[pool.component];
            bucket.pool_speed[p] =
                bucket.pool_amount[p] * self.today.coefficients[pool.coefficient];
        }
        let by_k = WARMED_BY_K.min(WARMED_TO_C - celsius).max(0.0);
        let mut all = vec![
            (Measure::Nothing, None),
            (
                Measure::Dilution {
                    water_l: water.water_kg,
                },
                Some(water),
            ),
            (
                Measure::Bicarbonate {
                    grams: bicarbonate_g,
                },
                Some(bicarbonate),
            ),
            (Measure::Lime { grams: lime_g }, Some(lime)),
            (
                Measure::Reseeding {
                    litres: 1000.0 * BUCKET_M3,
                },
                Some(bucket),
            ),
        ];
        if by_k > 0.0 {
            all.push((Measure::Warming { by_k }, None));
        }
        Ok(all)
    }
}

/// Salt that brings the liquor of a state to the dosed pH, all carbonate staying in it, or the most that is poured in
/// \[kg\]; 0 if it is there already.
fn dose_to_ph(tank: &mut Tank, at: &State, additive: Additive) -> Result<f64, LimitFailure> {
    let engine = std::sync::Arc::clone(tank.engine());
    let per_kg = kinetics::additive_load(&engine.network, additive);
    let mut y = vec![0.0; tank.layout().dim()];
    let mut ph_with = |kg: f64| -> Result<f64, LimitFailure> {
        y[..at.y.len()].copy_from_slice(&at.y);
        for (y, a) in y.iter_mut().zip(&per_kg.amount) {
            *y += kg * a / at.liquid_m3;
        }
        Ok(tank.speciate(&y)?.ph())
    };
    let (mut low, mut high) = (0.0, MOST_SALT * at.liquid_m3);
    if ph_with(low)? >= DOSED_TO_PH {
        return Ok(0.0);
    }
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if ph_with(middle)? >= DOSED_TO_PH {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok(high)
}
