//! One vessel integrated through real doses from a given state: what every trial of a limit is made of.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use super::failure::LimitFailure;
use super::feed;
use crate::case::{Case, TemperatureCourse, Wave};
use crate::digester::{Bands, Engine, Tank};
use crate::kinetics::Load;
use crate::simulate::{Clock, DayRow, Running};
use crate::thermal::Sun;

/// No finer trajectory is kept: longer than any run \[d\].
const NO_TRACE: Clock = Clock { trace_step_d: 1e9 };
/// Days over which the end of a trial is judged.
pub(super) const JUDGED_D: usize = 14;
/// Share of the methane of an undisturbed run below which a trial has failed.
pub(super) const FAILED_SHARE: f64 = 0.5;
/// How much worse than in health a tank may read before it counts as worse.
pub(super) const PH_MARGIN: f64 = 0.1;
pub(super) const RATIO_MARGIN: f64 = 1.2;
/// Days between the knots of a wave made into a table.
const KNOT_EVERY_D: f64 = 2.0;
/// Daily values for every day end with the middle, or with the morning, of the last \[d\].
const DAY_GAP_D: f64 = 1.0;

/// A vessel's contents.
#[derive(Debug, Clone)]
pub(super) struct State {
    /// Day of the run \[d\].
    pub(super) day: f64,
    /// Concentrations, headspace gases, temperature.
    pub(super) y: Vec<f64>,
    pub(super) liquid_m3: f64,
    pub(super) gas_m3: f64,
    pub(super) coefficients: Vec<f64>,
}

/// What happens from a state on.
pub(super) struct Plan<'p> {
    /// (day, what is given), in order of time.
    pub(super) doses: Vec<(f64, Load)>,
    /// Course of the temperature.
    pub(super) course: TemperatureCourse,
    /// Last day \[d\].
    pub(super) until: f64,
    /// Ends the trial early, asked at each dose.
    pub(super) give_up: Option<&'p GiveUp<'p>>,
}

/// Whether to end a trial, judged by its days so far.
pub(super) type GiveUp<'p> = dyn Fn(&[DayRow]) -> bool + Sync + 'p;

/// What came of it.
pub(super) struct Course {
    /// One row a day.
    pub(super) rows: Vec<DayRow>,
    /// The state at the end.
    pub(super) end: State,
}

/// The vessel and what a trial needs besides.
pub(super) struct Site<'a> {
    pub(super) engine: Arc<Engine>,
    /// The case with its first vessel alone, without doses and streams.
    pub(super) case: Case,
    stop: &'a AtomicBool,
}

impl<'a> Site<'a> {
    /// The first vessel of a case under its weather up to day `until`, which may lie beyond the end of the run.
    pub(super) fn new(engine: &Arc<Engine>, case: &Case, until: u32, stop: &'a AtomicBool) -> Self {
        let days = case.days;
        let mut case = case.clone();
        case.vessels.truncate(1);
        case.doses.clear();
        case.inflow = None;
        for vessel in &mut case.vessels {
            // A vessel under the weather carries its course as a table of the run's days alone.
            if let Some(heat) = vessel.heat.as_ref().filter(|_| until > days) {
                let course = heat
                    .surroundings
                    .without_life(vessel.liquid_m3, heat.start_c, until);
                vessel.temperature = TemperatureCourse::Table(course);
            }
        }
        Self {
            engine: Arc::clone(engine),
            case,
            stop,
        }
    }

    /// The day with which what is known of the temperature ends, where that lies before day `until` and less than
    /// `memory` days before day `from`: a table or points, of the vessel itself or of its weather. A vessel's own course
    /// that ended longer ago than that has been held ever since, and so it goes on.
    pub(super) fn known_to(&self, from: f64, memory: f64, until: f64) -> Option<f64> {
        let vessel = &self.case.vessels[0];
        let (ends, oldest) = match &vessel.heat {
            Some(heat) => {
                let weather = &heat.surroundings.weather;
                let sun = match &weather.sun {
                    Sun::Daily(course) | Sun::Power(course) => course,
                };
                let ends = [&weather.air, sun, &weather.wind].map(last_knot);
                (ends, f64::NEG_INFINITY)
            }
            None => ([last_knot(&vessel.temperature), None, None], from - memory),
        };
        ends.into_iter()
            .flatten()
            .filter(|&day| day > oldest && day < until - DAY_GAP_D)
            .min_by(f64::total_cmp)
    }

    /// The same vessel at one temperature \[C\]; `None` where its own does not change.
    pub(super) fn held_at(&self, celsius: f64) -> Option<Self> {
        let course = &self.case.vessels[0].temperature;
        if matches!(course, TemperatureCourse::Constant(_)) {
            return None;
        }
        let mut case = self.case.clone();
        case.vessels[0].temperature = TemperatureCourse::Constant(celsius);
        Some(Self {
            engine: Arc::clone(&self.engine),
            case,
            stop: self.stop,
        })
    }

    /// Whether the user asked to stop.
    pub(super) fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// A vessel full of nothing, to be filled with a state.
    fn empty(&self, course: TemperatureCourse) -> Result<Running, LimitFailure> {
        let mut vessel = self.case.vessels[0].clone();
        vessel.hold(course);
        let mut blank = Load::empty(&self.engine.network);
        blank.volume_m3 = vessel.liquid_m3;
        Ok(Running::new(&self.engine, &self.case, &vessel, &blank)?)
    }

    /// The tank of the vessel at its outlet's level, at a fixed temperature \[C\].
    pub(super) fn tank(&self, temperature_c: f64) -> Result<Tank, LimitFailure> {
        Ok(self.empty(TemperatureCourse::Constant(temperature_c))?.tank)
    }

    /// A state of a full vessel.
    pub(super) fn full(&self, day: f64, y: Vec<f64>, coefficients: Vec<f64>) -> State {
        let vessel = &self.case.vessels[0];
        State {
            day,
            y,
            liquid_m3: vessel.liquid_m3,
            gas_m3: vessel.headspace_m3,
            coefficients,
        }
    }

    /// The filling of day 0 in the first vessel.
    pub(super) fn filled(&self, whole: &Case) -> Result<State, LimitFailure> {
        let starter = &whole.starter;
        let filling = feed::load(
            &self.engine,
            whole,
            &starter.parts,
            starter.water_kg,
            &starter.additives,
        );
        let vessel = &self.case.vessels[0];
        let total: f64 = whole.vessels.iter().map(|v| v.liquid_m3).sum();
        let share = feed::scaled(&filling, vessel.liquid_m3 / total);
        let running = Running::new(&self.engine, &self.case, vessel, &share)?;
        Ok(keep(&running, 0.0))
    }

    /// Integrates a plan from a state.
    pub(super) fn go(&self, from: &State, plan: &Plan<'_>) -> Result<Course, LimitFailure> {
        let mut running = self.empty(plan.course.clone())?;
        running.tank.liquid_m3 = from.liquid_m3;
        running.tank.gas_m3 = from.gas_m3;
        running.tank.coefficients.clone_from(&from.coefficients);
        running.y[..from.y.len()].copy_from_slice(&from.y);
        let mut stops: Vec<f64> = plan.course.knots();
        stops.extend(plan.doses.iter().map(|(day, _)| *day));
        stops.retain(|t| *t > from.day && *t < plan.until);
        stops.push(plan.until);
        stops.sort_by(f64::total_cmp);
        stops.dedup();
        let mut doses = plan.doses.iter().peekable();
        let mut t = from.day;
        for stop in stops {
            if self.is_stopped() {
                return Err(LimitFailure::Stopped);
            }
            while let Some((_, load)) = doses.next_if(|(day, _)| *day <= t) {
                let outlet = running.outlet;
                running.tank.dose(&mut running.y, load, &outlet);
            }
            running.advance(t, stop, &NO_TRACE)?;
            t = stop;
            if plan.give_up.is_some_and(|enough| enough(&running.days)) {
                break;
            }
        }
        Ok(Course {
            end: keep(&running, t),
            rows: running.days,
        })
    }
}

/// Last day of a course that is given by points.
fn last_knot(course: &TemperatureCourse) -> Option<f64> {
    course.knots().into_iter().max_by(f64::total_cmp)
}

fn keep(running: &Running, day: f64) -> State {
    let last = running.tank.layout().temperature();
    State {
        day,
        y: running.y[..=last].to_vec(),
        liquid_m3: running.tank.liquid_m3,
        gas_m3: running.tank.gas_m3,
        coefficients: running.tank.coefficients.clone(),
    }
}

/// Methane of a day, what leaked included \[norm litres\].
pub(super) fn methane(row: &DayRow) -> f64 {
    row.ch4_nl + row.leaked_ch4_nl
}

/// Mean methane of the last days of some rows \[norm litres/d\].
pub(super) fn recent_methane(rows: &[DayRow]) -> f64 {
    let last = &rows[rows.len().saturating_sub(JUDGED_D)..];
    last.iter().map(methane).sum::<f64>() / last.len().max(1) as f64
}

/// Whether a reading is sour by rule: pH and acid ratio both beyond their bands.
pub(super) fn is_sour(ph: f64, acid_ratio: f64, bands: &Bands) -> bool {
    ph < bands.sour.ph_below && acid_ratio > bands.sour.acid_ratio_above
}

/// Whether a trial ends alive: methane not below half of that of the undisturbed run, and not sour.
pub(super) fn is_alive(rows: &[DayRow], undisturbed: f64, bands: &Bands) -> bool {
    let sour = rows
        .last()
        .is_none_or(|r| is_sour(r.ph, r.acid_ratio, bands));
    !sour && recent_methane(rows) >= FAILED_SHARE * undisturbed
}

/// A course with `added(day)` \[K\] on top, as a table from `from` to `until`; `kinks` are the days at which the
/// addition bends. The daily wave is left out.
pub(super) fn shifted(
    course: &TemperatureCourse,
    from: f64,
    until: f64,
    kinks: &[f64],
    added: impl Fn(f64) -> f64,
) -> TemperatureCourse {
    let calm = match course {
        TemperatureCourse::Wave(wave) => TemperatureCourse::Wave(Wave {
            daily_swing_k: 0.0,
            ..*wave
        }),
        other => other.clone(),
    };
    let mut days = calm.knots();
    if matches!(calm, TemperatureCourse::Wave(_)) {
        let count = ((until - from) / KNOT_EVERY_D).ceil() as usize;
        days.extend((0..=count).map(|i| from + KNOT_EVERY_D * i as f64));
    }
    days.extend([from, until]);
    days.extend_from_slice(kinks);
    days.retain(|d| *d >= from && *d <= until);
    days.sort_by(f64::total_cmp);
    days.dedup();
    TemperatureCourse::Table(
        days.into_iter()
            .map(|d| (d, calm.at(d).0 + added(d)))
            .collect(),
    )
}
