//! The gas of a run by the hour, and what a heater on own gas takes of it.

use super::HOURS;
use crate::case::{Case, Plant};
use crate::plant::Portion;
use crate::plant::uses::flame;
use crate::simulate::{DayRow, HeaterSource, Outcome, Point};

/// Share of oxygen in dry air by volume. Source: US Standard Atmosphere 1976 (from memory).
const OXYGEN_OF_AIR: f64 = 0.2095;
const PER_MILLION: f64 = 1e-6;

/// Gas of a run by hours and days, dry, of all units of the plant.
pub(super) struct Made {
    /// Made, by day.
    pub(super) made: Vec<Portion>,
    /// Burnt for the heater, by day.
    pub(super) burnt: Vec<Portion>,
    /// What flowed back beyond all that ever left, none of it positive: rounding, or a digester that drinks its store.
    pub(super) owed: Portion,
    /// What is left of it, by hour.
    pub(super) left: Vec<Portion>,
    /// Energy that the heater took of it, by day \[kWh, lower\].
    pub(super) heater_kwh: Vec<f64>,
    /// Energy that the heater asked for and the day's gas did not hold \[kWh\].
    pub(super) heater_short_kwh: Vec<f64>,
    /// Mean temperature of the liquor, by day \[C\].
    pub(super) liquor_c: Vec<f64>,
    /// Mean temperature of the line, by day \[C\].
    pub(super) line_c: Vec<f64>,
    /// Its lowest, by day \[C\].
    pub(super) line_low_c: Vec<f64>,
}

/// The dry gas of a day: methane as the day's sum has it, the rest by the shares of the headspace, mean of the ends of
/// the day before and of this day. Negative where more flowed back than out.
pub(super) fn day_portion(row: &DayRow, before: Option<&DayRow>) -> Portion {
    let before = before.unwrap_or(row);
    let mean = |f: fn(&DayRow) -> f64| 0.5 * (f(row) + f(before)).max(0.0);
    let (co2, air) = (mean(|r| r.co2_share), mean(|r| r.air_share));
    let (h2s, h2) = (
        mean(|r| r.h2s_ppm) * PER_MILLION,
        mean(|r| r.h2_ppm) * PER_MILLION,
    );
    let rest = row.gas_nl - row.ch4_nl;
    let shares = co2 + air + h2s + h2;
    let of = |share: f64| {
        if shares > 0.0 {
            rest * share / shares
        } else {
            0.0
        }
    };
    Portion {
        ch4_nl: row.ch4_nl,
        // All of the rest is accounted for, even where no share is known.
        co2_nl: if shares > 0.0 { of(co2) } else { rest },
        h2s_nl: of(h2s),
        h2_nl: of(h2),
        n2_nl: of(air) * (1.0 - OXYGEN_OF_AIR),
        o2_nl: of(air) * OXYGEN_OF_AIR,
        h2o_nl: 0.0,
    }
}

/// The gas of a vessel by day, none of it negative: what flows back on one day is taken from the next days that have it,
/// or else from those before. The sum of each species stays. Beside it what flowed back beyond all that ever left.
fn by_day(rows: &[DayRow]) -> (Vec<Portion>, Portion) {
    let before = |day: usize| day.checked_sub(1).and_then(|d| rows.get(d));
    let days = rows.iter().enumerate();
    let mut days: Vec<Portion> = days.map(|(d, row)| day_portion(row, before(d))).collect();
    let pay = |owed: Portion, day: &mut Portion| {
        let net = owed.plus(*day);
        *day = positive(net);
        net.minus(*day)
    };
    let owed = days.iter_mut().fold(Portion::default(), pay);
    let owed = days.iter_mut().rev().fold(owed, pay);
    (days, owed)
}

/// What is above zero, species by species.
fn positive(p: Portion) -> Portion {
    Portion {
        ch4_nl: p.ch4_nl.max(0.0),
        co2_nl: p.co2_nl.max(0.0),
        h2s_nl: p.h2s_nl.max(0.0),
        h2_nl: p.h2_nl.max(0.0),
        n2_nl: p.n2_nl.max(0.0),
        o2_nl: p.o2_nl.max(0.0),
        h2o_nl: p.h2o_nl.max(0.0),
    }
}

/// Shares of a day's gas by hour, from what the finer trajectory says was sent so far; even where it says nothing.
fn shape(trace: &[Point], day: usize) -> [f64; HOURS] {
    let at = |hour: usize| sent_nl(trace, day as f64 + hour as f64 / HOURS as f64);
    let sent: [f64; HOURS] = std::array::from_fn(|hour| (at(hour + 1) - at(hour)).max(0.0));
    let sum: f64 = sent.iter().sum();
    if sum > 0.0 {
        sent.map(|nl| nl / sum)
    } else {
        [1.0 / HOURS as f64; HOURS]
    }
}

/// Gas sent up to `t`, straight between the points; beyond them that of the nearer end \[norm litres\].
fn sent_nl(trace: &[Point], t: f64) -> f64 {
    let next = trace.partition_point(|p| p.t_d <= t);
    let before = next.checked_sub(1).and_then(|i| trace.get(i));
    match (before, trace.get(next)) {
        (Some(a), Some(b)) => a.sent_nl + (b.sent_nl - a.sent_nl) * (t - a.t_d) / (b.t_d - a.t_d),
        (Some(p), None) | (None, Some(p)) => p.sent_nl,
        (None, None) => 0.0,
    }
}

/// Fuel that heaters on own gas ask for on a day, one unit \[kWh\].
fn wanted_kwh(outcome: &Outcome, day: usize) -> f64 {
    let heats = outcome.vessels.iter().filter_map(|v| v.heat.as_ref());
    heats
        .filter(|heat| heat.source == Some(HeaterSource::OwnGas))
        .filter_map(|heat| heat.days.get(day))
        .map(|d| d.fuel_kwh.max(0.0))
        .sum()
}

/// The gas of a run by the hour.
pub(super) fn made_by_hour(case: &Case, outcome: &Outcome, plant: &Plant) -> Made {
    let days = outcome.plant.len();
    let units = f64::from(plant.units);
    let mut made = Made {
        made: Vec::with_capacity(days),
        burnt: Vec::with_capacity(days),
        owed: Portion::default(),
        left: Vec::with_capacity(days * HOURS),
        heater_kwh: Vec::with_capacity(days),
        heater_short_kwh: Vec::with_capacity(days),
        liquor_c: Vec::with_capacity(days),
        line_c: Vec::with_capacity(days),
        line_low_c: Vec::with_capacity(days),
    };
    let liquid: f64 = case.vessels.iter().map(|v| v.liquid_m3).sum();
    let mut gas = Vec::with_capacity(outcome.vessels.len());
    for vessel in &outcome.vessels {
        let (by_day, owed) = by_day(&vessel.days);
        made.owed = made.owed.plus(owed.scaled(units));
        gas.push(by_day);
    }
    for day in 0..days {
        let mut hours = [Portion::default(); HOURS];
        let mut liquor = 0.0;
        for ((vessel, build), gas) in outcome.vessels.iter().zip(&case.vessels).zip(&gas) {
            let portion = gas[day].scaled(units);
            for (hour, share) in hours.iter_mut().zip(shape(&vessel.trace, day)) {
                *hour = hour.plus(portion.scaled(share));
            }
            liquor += vessel.days[day].temperature_c * build.liquid_m3 / liquid;
        }
        let whole = hours.iter().fold(Portion::default(), |sum, h| sum.plus(*h));
        let (energy, wanted) = (whole.energy_kwh(), units * wanted_kwh(outcome, day));
        // Gas that cannot be lit heats nothing.
        let share = if energy > 0.0 && flame(&whole).verdict.lights() {
            (wanted / energy).min(1.0)
        } else {
            0.0
        };
        made.left
            .extend(hours.iter().map(|h| h.scaled(1.0 - share)));
        made.burnt.push(whole.scaled(share));
        made.made.push(whole);
        made.heater_kwh.push(energy * share);
        // Where the gas suffices nothing is short, not even a rounding.
        let suffices = share > 0.0 && wanted <= energy;
        let short = if suffices {
            0.0
        } else {
            wanted - energy * share
        };
        made.heater_short_kwh.push(short);
        made.liquor_c.push(liquor);
        let line = |hour: usize| super::line_c(plant, day as f64 + hour as f64 / HOURS as f64);
        let hours = || (0..HOURS).map(line);
        made.line_c.push(hours().sum::<f64>() / HOURS as f64);
        made.line_low_c.push(hours().fold(f64::INFINITY, f64::min));
    }
    made
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(t_d: f64, sent_nl: f64, gas_nl_d: f64) -> Point {
        Point {
            t_d,
            sent_nl,
            gas_nl_d,
            ..Point::default()
        }
    }

    #[test]
    fn the_hours_follow_what_was_sent_whatever_the_rate_says() {
        // 90 of 120 litres within six hours after a dose at noon; the rates at the points are far off.
        let trace = [
            point(3.0, 500.0, 4000.0),
            point(3.5, 520.0, -7.0),
            // A dose: two points at one time.
            point(3.5, 520.0, 0.0),
            point(3.75, 610.0, 90_000.0),
            point(4.0, 620.0, 1.0),
        ];
        let hours = shape(&trace, 3);
        for (hour, share) in hours.iter().enumerate() {
            let litres = match hour {
                0..12 => 20.0 / 12.0,
                12..18 => 90.0 / 6.0,
                _ => 10.0 / 6.0,
            };
            assert!((share - litres / 120.0).abs() < 1e-12, "{hour}: {share}");
        }
    }

    #[test]
    fn what_flows_back_is_no_hours_gas_and_nothing_sent_is_spread_evenly() {
        let cools = [
            point(0.0, 0.0, 0.0),
            point(0.25, -5.0, 0.0),
            point(1.0, 40.0, 0.0),
        ];
        let hours = shape(&cools, 0);
        assert!(hours[..6].iter().all(|share| *share == 0.0));
        assert!((hours[6..].iter().sum::<f64>() - 1.0).abs() < 1e-12);
        for trace in [&cools[..0], &cools[..2]] {
            let hours = shape(trace, 0);
            assert!(hours.iter().all(|share| (share - 1.0 / 24.0).abs() < 1e-12));
        }
    }
}
