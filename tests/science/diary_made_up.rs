//! Made-up records: what an owner would have written of a digester whose truth is known. Own inventions throughout.

use jiff::ToSpan as _;
use jiff::civil::Date;
use marshgas::case::Case;
use marshgas::chemistry;
use marshgas::diary::fit::model::{Model, usual_gas};
use marshgas::diary::fit::readings::{
    GAS_LEAST_SD, GAS_RELATIVE_SD, Readings, gas_of_size, gas_size,
};
use marshgas::diary::fit::unknown::{Unknown, reading_factor, since};
use marshgas::diary::{Entry, GasReading, Habits, Record};
use marshgas::scenario;
use marshgas::simulate::DayRow;
use marshgas::study::generator::{Draws, replicate};
use marshgas::study::normal;
use marshgas::units::{ATM_BAR, kelvin};

/// How gas readings err: by a part of themselves and a part of a good day's gas, as large as a fit has them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Error {
    /// Evenly on the scale of a fit: what the fit takes for granted.
    Even,
    /// Two bells added to the gas: as wide, but as often so much too low as too high.
    Added,
}

/// How an owner writes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Owner {
    /// Days written down.
    pub(crate) days: u32,
    /// Share of days without a line.
    pub(crate) gaps: f64,
    /// How gas readings err.
    pub(crate) error: Error,
    /// Days from one pH to the next; 0: never.
    pub(crate) ph_every: u32,
    /// Days from one flame test to the next; 0: never.
    pub(crate) flame_every: u32,
}

impl Owner {
    /// Reads gas nearly every day, pH twice a week, tries the flame once a week.
    pub(crate) const fn careful(days: u32) -> Self {
        Self {
            days,
            gaps: 0.15,
            error: Error::Even,
            ph_every: 4,
            flame_every: 7,
        }
    }
}

/// A bundled scenario cut to so many days.
pub(crate) fn case(name: &str, days: u32) -> Case {
    let path = format!("{}/scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let mut case = scenario::load(path.as_ref()).unwrap().case;
    case.days = days;
    case.doses.retain(|d| d.day < f64::from(days));
    case
}

pub(crate) fn start(case: &Case) -> Date {
    case.start_date.unwrap()
}

/// A standard normal number.
pub(crate) fn bell(draws: &mut Draws) -> f64 {
    normal::quantile(draws.uniform())
}

/// Values of the unknowns drawn from their priors.
pub(crate) fn truth(unknowns: &[Unknown], seed: u64) -> Vec<f64> {
    let mut draws = replicate(seed, 1);
    unknowns
        .iter()
        .map(|u| u.prior.quantile(draws.uniform()))
        .collect()
}

/// The truth's daily rows; `usual` is the gas that leaks are parts of.
pub(crate) fn rows(
    case: &Case,
    unknowns: &[Unknown],
    values: &[f64],
    usual: f64,
) -> Option<Vec<DayRow>> {
    let nothing = Readings::default();
    let model = Model::new(case, unknowns, &nothing, usual).unwrap();
    model.run(values).ok()
}

/// Rows whose gas is what is read of it, for unknowns of which some begin on a day.
pub(crate) fn as_read(mut rows: Vec<DayRow>, unknowns: &[Unknown], values: &[f64]) -> Vec<DayRow> {
    let since = since(unknowns).unwrap_or(f64::INFINITY);
    for row in &mut rows {
        let begun = f64::from(row.day) >= since;
        row.gas_nl *= reading_factor(unknowns, values, begun);
    }
    rows
}

/// The record of an owner; `jump` is a multiple of the gas reading of a day, for what comes in bursts.
pub(crate) fn record(
    start: Date,
    rows: &[DayRow],
    factor: f64,
    usual_nl: f64,
    owner: &Owner,
    seed: u64,
    jump: &dyn Fn(&mut Draws, u32) -> f64,
) -> Record {
    let mut draws = replicate(seed, 2);
    let hour = 8.0 / 24.0;
    let mut record = Record::default();
    // A first reading stands for a day, whenever it comes: a record does not say when the bell was emptied before.
    let mut since: Option<f64> = None;
    let gathered = |t: f64| {
        let whole: f64 = rows.iter().take(t as usize).map(|r| r.gas_nl).sum();
        whole + t.fract() * rows.get(t as usize).map_or(0.0, |r| r.gas_nl)
    };
    let good = {
        let mut gas: Vec<f64> = rows.iter().map(|r| factor * r.gas_nl).collect();
        gas.truncate(owner.days as usize);
        gas.sort_by(f64::total_cmp);
        gas[gas.len() * 9 / 10].max(0.3 * usual_nl)
    };
    let flame = marshgas::digester::Bands::standard().flame.methane;
    for day in 1..owner.days {
        let (skip, noise, floor, jumped) = (
            draws.uniform() < owner.gaps,
            bell(&mut draws),
            bell(&mut draws),
            jump(&mut draws, day),
        );
        let (ph_noise, flame_noise) = (bell(&mut draws), draws.uniform());
        if skip {
            continue;
        }
        let t = f64::from(day) + hour;
        let mut entry = Entry::blank(start.checked_add(i64::from(day).days()).unwrap());
        entry.line = u64::from(day) + 1;
        let true_nl = factor * (gathered(t) - gathered(since.unwrap_or(t - 1.0))) * jumped;
        let least = GAS_LEAST_SD * good;
        let seen_nl = match owner.error {
            Error::Even => gas_of_size(gas_size(true_nl, least) + noise, least),
            Error::Added => true_nl * (1.0 + GAS_RELATIVE_SD * noise) + least * floor,
        }
        .max(0.0);
        let per_litre = chemistry::norm_dry_from_wet(1.0, kelvin(20.0), ATM_BAR, 1.0);
        entry.gas = Some(GasReading {
            litres: (seen_nl / per_litre).round(),
            temperature_c: None,
            pressure_mbar: None,
            wet: None,
            lime: None,
        });
        since = Some(t);
        // The ends of two days, straight between them.
        let [before, after] =
            [day as usize - 1, day as usize].map(|i| &rows[i.min(rows.len() - 1)]);
        let now = |of: fn(&DayRow) -> f64| of(before) + hour * (of(after) - of(before));
        if owner.ph_every > 0 && day % owner.ph_every == 1 {
            entry.ph = Some(((now(|r| r.ph) + 0.2 * ph_noise) * 10.0).round() / 10.0);
        }
        if owner.flame_every > 0 && day % owner.flame_every == 3 {
            let chance = normal::cumulative((now(|r| r.ch4_share) - flame) / 0.06);
            entry.burns = Some(flame_noise < chance);
        }
        record.entries.push(entry);
    }
    record
}

/// Readings of a made-up record of `case` with these unknowns, and the usual gas.
pub(crate) fn readings(
    case: &Case,
    unknowns: &[Unknown],
    values: &[f64],
    owner: &Owner,
    seed: u64,
) -> Option<(Readings, f64)> {
    let usual = usual_gas(case, f64::from(owner.days)).unwrap();
    let nothing = Readings::default();
    let rows = Model::new(case, unknowns, &nothing, usual)
        .unwrap()
        .run(values)
        .ok()?;
    let factor = reading_factor(unknowns, values, false);
    let written = record(start(case), &rows, factor, usual, owner, seed, &|_, _| 1.0);
    Some((
        Readings::of(&written, start(case), &Habits::default(), usual),
        usual,
    ))
}
