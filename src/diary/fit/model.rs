//! A case as a model of its record: values of the unknowns in, residuals and daily courses out.

use std::collections::HashMap;
use std::sync::{Arc, Mutex};

use serde::Serialize;

use super::least_squares::Residuals;
use super::posterior::Predicts;
use super::readings::{FLAME_SD, LEAST_ACIDS, Reading, Readings, What, gas_size};
use super::unknown::{Change, Unknown, applied, reading_factor, since};
use crate::case::Case;
use crate::digester::{Bands, Engine};
use crate::simulate::{self, DayRow, Outcome, RunFailure};
use crate::study::normal;

/// Relative tolerance of the runs of a fit: their error is then far below that of any reading.
pub const TOLERANCE: f64 = 1e-3;

/// A case held against its readings.
pub struct Model<'a> {
    case: Case,
    /// The same, ended after the last reading: what a walk needs.
    short: Case,
    /// Rows of the runs of walks, by all values that change the digester: those of its readings change no run.
    known: Mutex<HashMap<Vec<u64>, Arc<Vec<DayRow>>>>,
    unknowns: &'a [Unknown],
    readings: &'a Readings,
    usual_l_per_d: f64,
    /// Shared by all runs where no unknown changes the equations.
    engine: Option<Arc<Engine>>,
    flame: f64,
}

/// One day of a computed course.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Day {
    /// Gas as it would be read \[norm litres, dry\].
    pub gas_nl: f64,
    /// pH at its end.
    pub ph: f64,
    /// Methane share of the dry gas at its end, 0..1.
    pub methane: f64,
    /// Temperature \[C\].
    pub temperature_c: f64,
    /// Acids at its end \[mg/L as acetic acid\].
    pub acids_mg_l: f64,
    /// Alkalinity at its end \[mg CaCO3/L\].
    pub alkalinity_mg_l: f64,
}

impl<'a> Model<'a> {
    /// A model of `case` with `unknowns`.
    ///
    /// # Errors
    /// [`RunFailure`] where the equations cannot be built.
    pub fn new(
        case: &Case,
        unknowns: &'a [Unknown],
        readings: &'a Readings,
        usual_l_per_d: f64,
    ) -> Result<Self, RunFailure> {
        let mut case = case.clone();
        case.solver.relative_tolerance = case.solver.relative_tolerance.max(TOLERANCE);
        let engine = if unknowns.iter().any(|u| u.change.turns_equations()) {
            None
        } else {
            Some(simulate::engine(&case)?)
        };
        let end = (readings.last_day.floor() as u32 + 1).min(case.days);
        let mut short = case.clone();
        short.days = end;
        short.doses.retain(|dose| dose.day < f64::from(end));
        Ok(Self {
            case,
            short,
            known: Mutex::default(),
            unknowns,
            readings,
            usual_l_per_d,
            engine,
            flame: Bands::standard().flame.methane,
        })
    }

    /// Daily rows at values of the unknowns.
    ///
    /// # Errors
    /// Why the run failed.
    pub fn run(&self, values: &[f64]) -> Result<Vec<DayRow>, String> {
        self.run_of(&self.case, values)
    }

    fn run_of(&self, case: &Case, values: &[f64]) -> Result<Vec<DayRow>, String> {
        let outcome = self.outcome(case, values).map_err(|e| e.to_string())?;
        Ok(outcome.plant)
    }

    fn outcome(&self, case: &Case, values: &[f64]) -> Result<Outcome, RunFailure> {
        let of = |begun| applied(self.unknowns, values, begun, case, self.usual_l_per_d);
        let engine = |case: &Case| match &self.engine {
            Some(engine) => Ok(Arc::clone(engine)),
            None => simulate::engine(case),
        };
        let first = of(false);
        match since(self.unknowns) {
            None => simulate::run_on(&engine(&first)?, &first, &mut |_| {}),
            Some(day) => {
                let then = of(true);
                let change = simulate::Change {
                    day,
                    engine: &engine(&then)?,
                    case: &then,
                };
                simulate::run_changing(&engine(&first)?, &first, &change)
            }
        }
    }

    /// What a day's gas is read as, in parts of itself.
    fn factors(&self, values: &[f64]) -> impl Fn(u32) -> f64 {
        let [before, after] = [false, true].map(|b| reading_factor(self.unknowns, values, b));
        let since = since(self.unknowns).unwrap_or(f64::INFINITY);
        move |day| match f64::from(day) >= since {
            true => after,
            false => before,
        }
    }

    /// Rows up to the last reading, run once for all values of what only the readings show.
    fn short_run(&self, values: &[f64]) -> Result<Arc<Vec<DayRow>>, String> {
        let pairs = self.unknowns.iter().zip(values);
        let key: Vec<u64> = pairs
            .filter(|(u, _)| u.change != Change::Reading)
            .map(|(_, v)| v.to_bits())
            .collect();
        if let Some(rows) = self.known.lock().ok().and_then(|k| k.get(&key).cloned()) {
            return Ok(rows);
        }
        let rows = Arc::new(self.run_of(&self.short, values)?);
        if let Ok(mut known) = self.known.lock() {
            known.insert(key, Arc::clone(&rows));
        }
        Ok(rows)
    }

    /// Gas of each day as it would be read: (day, norm litres).
    pub fn as_read(&self, rows: &[DayRow], values: &[f64]) -> impl Iterator<Item = (f64, f64)> {
        let factor = self.factors(values);
        // The solver may leave a trace below none.
        rows.iter()
            .map(move |row| (f64::from(row.day), (factor(row.day) * row.gas_nl).max(0.0)))
    }

    /// What the model would have read for each reading.
    #[must_use]
    pub fn expected(&self, rows: &[DayRow], values: &[f64]) -> Vec<f64> {
        let gas = Gathered::new(rows, &self.factors(values));
        let readings = self.readings.readings.iter();
        readings.map(|r| expected(r, rows, &gas)).collect()
    }

    fn residuals_of(&self, rows: &[DayRow], values: &[f64]) -> Vec<f64> {
        let expected = self.expected(rows, values);
        let pairs = self.readings.readings.iter().zip(expected);
        pairs.map(|(r, e)| residual(r, e, self.flame)).collect()
    }
}

/// Gas since the start, at each day's end, as it would be read.
struct Gathered {
    all: Vec<f64>,
    after_lime: Vec<f64>,
}

impl Gathered {
    fn new(rows: &[DayRow], factor: &dyn Fn(u32) -> f64) -> Self {
        let sum = |of: &dyn Fn(&DayRow) -> f64| {
            let mut total = 0.0;
            let mut sums = vec![0.0];
            for row in rows {
                total += factor(row.day) * of(row);
                sums.push(total);
            }
            sums
        };
        Self {
            all: sum(&|row| row.gas_nl),
            after_lime: sum(&|row| row.gas_nl * (1.0 - row.co2_share)),
        }
    }
}

/// Value at `t` of something known at whole days, straight between them.
fn between(known: &[f64], t: f64) -> f64 {
    let Some(last) = known.len().checked_sub(1) else {
        return f64::NAN;
    };
    let before = (t.max(0.0).floor() as usize).min(last);
    let after = (before + 1).min(last);
    let share = (t - before as f64).clamp(0.0, 1.0);
    known[before] + share * (known[after] - known[before])
}

/// Value at `t` of something known at each day's end.
fn at_end(rows: &[DayRow], t: f64, of: impl Fn(&DayRow) -> f64) -> f64 {
    // The end of day i is the time i + 1.
    let ends: Vec<f64> = rows.iter().map(of).collect();
    between(&ends, t - 1.0)
}

fn expected(reading: &Reading, rows: &[DayRow], gas: &Gathered) -> f64 {
    let gathered = |sums: &[f64]| between(sums, reading.day) - between(sums, reading.from_day);
    let end = |of: fn(&DayRow) -> f64| at_end(rows, reading.day, of);
    match reading.what {
        What::Gas => gathered(&gas.all),
        What::GasAfterLime => gathered(&gas.after_lime),
        What::Ph => end(|row| row.ph),
        What::Methane => 100.0 * end(|row| row.ch4_share),
        What::Burns => end(|row| row.ch4_share),
        What::Acids => end(|row| row.acids_mg_l),
        What::Alkalinity => end(|row| row.alkalinity_mg_l),
    }
}

/// How far a reading lies from what was expected, in standard deviations.
fn residual(reading: &Reading, expected: f64, flame: f64) -> f64 {
    let ratio = |least: f64| {
        let above = |x: f64| x.max(0.0) + least;
        libm::log(above(expected) / above(reading.value))
    };
    // The root of twice the negative logarithm of the chance of what was seen, where that is a word and no number.
    let of_chance = |chance: f64| {
        (-2.0 * libm::log(chance.max(f64::MIN_POSITIVE)))
            .max(0.0)
            .sqrt()
    };
    let size = |gas: f64| gas_size(gas, reading.sd);
    let off = match reading.what {
        // What would be read below none is read as none (Tobin 1958, from memory).
        _ if reading.is_no_gas() => {
            return of_chance(normal::cumulative(-size(expected) / reading.wider));
        }
        What::Gas | What::GasAfterLime => size(expected) - size(reading.value),
        What::Ph | What::Methane => (expected - reading.value) / reading.sd,
        What::Burns => {
            let side = if reading.value > 0.5 { 1.0 } else { -1.0 };
            of_chance(normal::cumulative(side * (expected - flame) / FLAME_SD))
        }
        What::Acids | What::Alkalinity => ratio(LEAST_ACIDS) / reading.sd,
    };
    off / reading.wider
}

impl Residuals for Model<'_> {
    fn count(&self) -> usize {
        self.readings.readings.len()
    }

    fn residuals(&self, values: &[f64]) -> Result<Vec<f64>, String> {
        let rows = self.short_run(values)?;
        Ok(self.residuals_of(&rows, values))
    }
}

impl Predicts for Model<'_> {
    type More = Vec<Day>;

    fn predict(&self, values: &[f64]) -> Result<(Vec<f64>, Self::More), String> {
        let rows = self.run(values)?;
        let residuals = self.residuals_of(&rows, values);
        let factor = self.factors(values);
        let day = |row: &DayRow| Day {
            // The solver may leave a trace below none.
            gas_nl: (factor(row.day) * row.gas_nl).max(0.0),
            ph: row.ph,
            methane: row.ch4_share,
            temperature_c: row.temperature_c,
            acids_mg_l: row.acids_mg_l,
            alkalinity_mg_l: row.alkalinity_mg_l,
        };
        Ok((residuals, rows.iter().map(day).collect()))
    }
}

/// Gas of a typical day of `case` within `days` \[norm litres/d\]: the mean of the better half of the days.
///
/// # Errors
/// Why the run failed.
pub fn usual_gas(case: &Case, days: f64) -> Result<f64, RunFailure> {
    let mut case = case.clone();
    case.solver.relative_tolerance = case.solver.relative_tolerance.max(TOLERANCE);
    let outcome = simulate::run(&case, &mut |_| {})?;
    let mut gas: Vec<f64> = outcome
        .plant
        .iter()
        .take((days.ceil() as usize).max(1))
        .map(|row| row.gas_nl)
        .collect();
    gas.sort_by(f64::total_cmp);
    let better = &gas[gas.len() / 2..];
    let mean = better.iter().sum::<f64>() / better.len().max(1) as f64;
    // A digester that gives nothing still has a scale, from its liquid.
    let liquid_l: f64 = 1000.0 * case.vessels.iter().map(|v| v.liquid_m3).sum::<f64>();
    Ok(mean.max(LEAST_USUAL_PER_L * liquid_l))
}

/// Least usual gas for each litre of liquid \[norm litres/d/L\]: a hundredth of what a well-fed small digester gives
/// (0.5 to 1 L/d/L, common practice, no source).
const LEAST_USUAL_PER_L: f64 = 0.01;
