//! The plant through the run: gas by the hour, cleaning, store and uses, residue; whole-plant balances.
//!
//! A pure function from a case and its outcome. Where several equal digesters stand side by side the outcome is that of
//! one, and gas, heater, feed and residue count as often as there are units. The boiler of a heater on own gas takes raw gas before the cleaning; what
//! is left goes through the cleaning, into the store, and to the uses. The digester's own equations are not asked again.

mod balance;
mod chores;
mod frost;
mod hours;
mod months;
mod outcome;
mod stages;

use jiff::civil::Date;

pub use chores::{Chore, ChoreKind, Repeat};
pub use outcome::{
    BedChange, Frost, LineOfUse, Season, SeasonDay, SeasonFailure, SeasonOutcome, SourEngine,
    Wasted, WeekHour,
};

use crate::case::{Case, Plant};
use crate::plant::cleaning::{GasStep, TrainOutcome, TrainWarning, run_train};
use crate::plant::climate_weight::weigh;
use crate::plant::hourly::{HourInput, HourSums, HourlyOutcome, HourlySettings, run_hours};
use crate::plant::residue::{Residue, ResidueInputs, residue, residue_table};
use crate::plant::uses::Appliance;
use crate::plant::{GasState, GasStream, Portion};
use crate::simulate::{DayRow, Outcome};
use crate::units::{COD_CH4, NORM_M3_PER_KMOL};
use hours::{Made, made_by_hour};

const HOURS: usize = 24;
const KPA_PER_BAR: f64 = 100.0;
const LITRES_PER_M3: f64 = 1000.0;
/// Gas that may flow back beyond all that ever left, as a share of the headspaces: a hundred times the integrator's
/// absolute tolerance on it.
const OWED_SHARE: f64 = 1e-4;
/// Days of a year: those at the end of a longer run are what amounts and rates are of. What ran it in does not come again.
const YEAR_D: usize = 365;
/// Hours of a week.
const WEEK_H: usize = 7 * HOURS;

/// Runs the plant of a case behind its outcome.
///
/// # Errors
/// [`SeasonFailure::NoPlant`] without a plant, [`SeasonFailure::Plant`] for a setting that only this gas brings out of
/// range, [`SeasonFailure::FlowsBack`] for a digester that takes more from its store than it gives,
/// [`SeasonFailure::Open`] when a balance of the plant stays open.
pub fn season(case: &Case, outcome: &Outcome) -> Result<SeasonOutcome, SeasonFailure> {
    let plant = case.plant.as_ref().ok_or(SeasonFailure::NoPlant)?;
    let made = made_by_hour(case, outcome, plant);
    let owed_nl = -made.owed.dry_nl();
    let units = f64::from(plant.units);
    let headspaces_m3 = units * case.vessels.iter().map(|v| v.headspace_m3).sum::<f64>();
    if owed_nl > OWED_SHARE * LITRES_PER_M3 * headspaces_m3 {
        return Err(SeasonFailure::FlowsBack(owed_nl));
    }
    let steps = steps(case, plant, &made);
    let train = run_train(&plant.cleaning, &steps)?;
    let hourly = run_hours(&settings(case, plant, &train), &inputs(case, plant, &train))?;
    let closures = balance::closures(outcome, units, &made, &train, &hourly);
    if let Some(open) = balance::first_open(&closures) {
        return Err(SeasonFailure::Open(open));
    }
    let days = days(outcome, plant, &made, &train, &hourly);
    let from = days.len().saturating_sub(YEAR_D);
    let sums = hourly.sums_from(from * HOURS);
    let residue = counted_residue(case, outcome, plant, from);
    let changes = changes(&train);
    let months = months::months(case, outcome, &days, residue.as_ref(), &changes);
    let (winter, rest) = months::winter(&months, from as u32);
    let frost = frost::frost(plant, &days[from..]);
    let (cold_day, warm_day) = months::middles(&days, &months, &winter);
    let chores = chores::chores(
        case,
        plant,
        (&days, frost::winters(plant, &days)),
        (&months, from as u32),
        &train,
        residue.as_ref(),
    );
    let (stages, stages_days) = stages::of_a_year(&plant.cleaning, &steps, &train)?;
    let wasted = wasted(&outcome.plant[from..], units, &sums, residue.as_ref());
    Ok(SeasonOutcome {
        title: case.title.clone(),
        about: case.about.clone(),
        start_date: case.start_date.map(|d| d.to_string()),
        units: plant.units,
        counted_from: from as u32,
        tightest: months::tightest(&months, from as u32).map(|m| m.name.clone()),
        start_up: months::start_up(&months)
            .iter()
            .map(|m| m.name.clone())
            .collect(),
        frost,
        winter,
        rest,
        winter_week: week(&hourly, cold_day),
        summer_week: week(&hourly, warm_day),
        uses: uses(plant, &sums),
        sour_engines: sour_engines(plant, &days),
        store_pressure_pa: hourly.pressure_pa,
        overflow_hours: sums.overflow_hours,
        shortage_hours: sums.shortage_hours,
        margin_hours: hourly.margin_hours,
        suction_hours: hourly.suction_hours,
        stages,
        stages_days,
        cleaning_loss_pa: train.pressure_loss_pa,
        warnings: train
            .warnings
            .iter()
            .filter_map(|found| warning(found, plant))
            .collect(),
        truths: train.truths,
        assumed: plant.assumed.clone(),
        days,
        months,
        changes,
        residue,
        wasted,
        closures,
        chores,
        heater: outcome
            .vessels
            .iter()
            .filter_map(|v| v.heat.as_ref())
            .find_map(|heat| heat.source),
    })
}

/// The gas of each hour on its way into the cleaning: saturated as it leaves the digester.
fn steps(case: &Case, plant: &Plant, made: &Made) -> Vec<GasStep> {
    let gauge_pa = plant.store_pa() + plant.cleaning_pa();
    made.left
        .iter()
        .enumerate()
        .map(|(hour, portion)| {
            let day = hour as f64 / HOURS as f64;
            let state = GasState {
                temperature_c: made.liquor_c[hour / HOURS],
                gauge_pa,
                barometer_kpa: case.gas.ambient_bar * KPA_PER_BAR,
            };
            GasStep {
                day,
                days: 1.0 / HOURS as f64,
                gas: GasStream {
                    portion: *portion,
                    state,
                }
                .saturated(),
                line_c: line_c(plant, day),
            }
        })
        .collect()
}

/// Temperature of the line in the middle of the hour that begins at `day` \[C\].
fn line_c(plant: &Plant, day: f64) -> f64 {
    plant.line.at(day + 0.5 / HOURS as f64).0
}

fn settings(case: &Case, plant: &Plant, train: &TrainOutcome) -> HourlySettings {
    let cleaned = train
        .outlet
        .iter()
        .fold(Portion::default(), |sum, step| sum.plus(step.gas.portion));
    HourlySettings {
        store: plant.store,
        appliances: plant.appliances.clone(),
        demands: plant.demands.clone(),
        flare: plant.flare,
        first_weekday: case.start_date.map_or(0, |date| {
            usize::try_from(date.weekday().to_monday_zero_offset()).unwrap_or(0)
        }),
        months: (0..case.days)
            .map_while(|day| month_of(case.start_date, day))
            .collect(),
        // The store's dead space is taken as rinsed with the plant's own gas before anything is lit.
        first_gas: cleaned.dry(),
    }
}

fn inputs(case: &Case, plant: &Plant, train: &TrainOutcome) -> Vec<HourInput> {
    train
        .outlet
        .iter()
        .map(|step| HourInput {
            arriving: step.gas.portion,
            temperature_c: line_c(plant, step.day),
            barometer_kpa: case.gas.ambient_bar * KPA_PER_BAR,
        })
        .collect()
}

fn sum_of(portions: impl Iterator<Item = Portion>) -> Portion {
    portions.fold(Portion::default(), Portion::plus)
}

/// Whether each line of the timetable runs an engine.
fn runs_engine(plant: &Plant) -> Vec<bool> {
    let is_engine = |name: &str| {
        plant
            .appliances
            .iter()
            .any(|a| a.name == name && matches!(a.appliance, Appliance::Engine(_)))
    };
    plant
        .demands
        .iter()
        .map(|d| is_engine(&d.appliance))
        .collect()
}

fn days(
    outcome: &Outcome,
    plant: &Plant,
    made: &Made,
    train: &TrainOutcome,
    hourly: &HourlyOutcome,
) -> Vec<SeasonDay> {
    let engines = runs_engine(plant);
    let units = f64::from(plant.units);
    outcome
        .plant
        .iter()
        .enumerate()
        .map(|(d, row)| {
            let hours = &hourly.hours[d * HOURS..(d + 1) * HOURS];
            let cleaned = sum_of(
                train.outlet[d * HOURS..(d + 1) * HOURS]
                    .iter()
                    .map(|s| s.gas.portion),
            );
            let total = |f: fn(&crate::plant::uses::Served) -> f64| -> f64 {
                hours.iter().flat_map(|h| &h.served).map(f).sum()
            };
            let gas =
                |f: fn(&crate::plant::hourly::PlantHour) -> Portion| sum_of(hours.iter().map(f));
            let (used, over) = (gas(|h| h.store.drawn), gas(|h| h.store.overflowed));
            SeasonDay {
                day: row.day,
                liquor_c: made.liquor_c[d],
                line_c: made.line_c[d],
                line_low_c: made.line_low_c[d],
                made_nl: made.made[d].dry_nl(),
                made_kwh: made.made[d].energy_kwh(),
                heater_nl: made.burnt[d].dry_nl(),
                heater_kwh: made.heater_kwh[d],
                heater_short_kwh: made.heater_short_kwh[d],
                cleaned_nl: cleaned.dry_nl(),
                ch4_share: cleaned.ch4_share(),
                h2s_ppm: cleaned.h2s_ppm(),
                used_nl: used.dry_nl(),
                used_kwh: used.energy_kwh(),
                overflow_nl: over.dry_nl(),
                overflow_hours: hours.iter().map(|h| u32::from(h.overflows())).sum(),
                seeped_nl: gas(|h| h.store.seeped).dry_nl(),
                wanted_h: total(|s| s.wanted_h),
                served_h: total(|s| s.served_h),
                short_h: total(|s| s.short_h),
                no_flame_h: total(|s| s.no_flame_h),
                refused_h: total(|s| s.refused_h),
                heat_kwh: total(|s| s.heat_kwh),
                engine_heat_kwh: hours
                    .iter()
                    .flat_map(|h| h.served.iter().zip(&engines))
                    .filter(|(_, engine)| **engine)
                    .map(|(s, _)| s.heat_kwh)
                    .sum(),
                electric_kwh: total(|s| s.electric_kwh),
                store_share: hours.last().map_or(0.0, |h| h.store.level.share),
                flared_ch4_nl: hours.iter().map(|h| h.flared_ch4_nl).sum(),
                escaped_ch4_nl: hours.iter().map(|h| h.escaped_ch4_nl).sum(),
                residue_l: units * row.overflow_l,
                fed_kg: units * (row.fed_kg + row.water_kg),
            }
        })
        .collect()
}

fn uses(plant: &Plant, sums: &HourSums) -> Vec<LineOfUse> {
    plant
        .demands
        .iter()
        .zip(&sums.demands)
        .map(|(demand, served)| LineOfUse {
            appliance: demand.appliance.clone(),
            months: demand.months,
            from_h: demand.from_h,
            hours: demand.hours,
            served: *served,
        })
        .collect()
}

fn sour_engines(plant: &Plant, days: &[SeasonDay]) -> Vec<SourEngine> {
    let engines = plant
        .appliances
        .iter()
        .filter_map(|named| match named.appliance {
            Appliance::Engine(engine) => Some((named.name.clone(), engine.h2s_limit_ppm)),
            Appliance::Burner(_) | Appliance::Lamp(_) => None,
        });
    engines
        .map(|(appliance, limit_ppm)| SourEngine {
            appliance,
            limit_ppm,
            days: days.iter().filter(|d| d.h2s_ppm > limit_ppm).count(),
            highest_ppm: days.iter().map(|d| d.h2s_ppm).fold(0.0, f64::max),
        })
        .filter(|engine| engine.days > 0)
        .collect()
}

/// Nothing doses air here: what air there is was in the headspace when the lid closed.
fn warning(warning: &TrainWarning, plant: &Plant) -> Option<String> {
    match warning {
        TrainWarning::AirDosed { air_share } => Some(format!(
            "The first gas holds up to {:.0} % air from the headspace. Let it go outdoors, unlit: air in gas can burn inside \
             pipes and store.",
            100.0 * air_share
        )),
        TrainWarning::LeanForEngine { co2_share } => lean(*co2_share, plant),
        other => Some(other.words()),
    }
}

/// What the carbon dioxide means for the engines; `None` where there is none.
fn lean(co2_share: f64, plant: &Plant) -> Option<String> {
    let limits = plant
        .appliances
        .iter()
        .filter_map(|named| match named.appliance {
            Appliance::Engine(engine) => Some((named.name.as_str(), engine.co2_limit)),
            Appliance::Burner(_) | Appliance::Lamp(_) => None,
        });
    let (name, limit) = limits.min_by(|a, b| a.1.total_cmp(&b.1))?;
    let gas = if plant.cleaning.is_empty() {
        "The gas holds"
    } else {
        "The cleaned gas still holds"
    };
    let what = if co2_share > limit {
        "it runs only on days with less"
    } else {
        "it runs on this gas, with less power than on methane"
    };
    Some(format!(
        "{gas} {:.0} % carbon dioxide in the mean of the run. An engine ({name}) refuses above {:.0} %: {what}.",
        100.0 * co2_share,
        100.0 * limit
    ))
}

fn changes(train: &TrainOutcome) -> Vec<BedChange> {
    let mut changes: Vec<BedChange> = train
        .stages
        .iter()
        .enumerate()
        .flat_map(|(stage, outcome)| {
            outcome.breakthrough_d.iter().map(move |day| BedChange {
                day: *day,
                stage,
                name: outcome.name.clone(),
            })
        })
        .collect();
    changes.sort_by(|a, b| a.day.total_cmp(&b.day));
    changes
}

/// Hours of the week that begins on `day`; shorter where the run ends.
fn week(hourly: &HourlyOutcome, day: usize) -> Vec<WeekHour> {
    let from = day * HOURS;
    hourly
        .hours
        .iter()
        .enumerate()
        .skip(from)
        .take(WEEK_H)
        .map(|(i, hour)| WeekHour {
            t_d: i as f64 / HOURS as f64,
            level_share: hour.store.level.share,
            arrived_nl: hour.store.arrived.dry_nl(),
            drawn_nl: hour.store.drawn.dry_nl(),
            overflow_nl: hour.store.overflowed.dry_nl(),
            short_h: hour.served.iter().map(|s| s.short_h).sum(),
        })
        .collect()
}

/// Residue from day `from` on; `None` where nothing, or less than leaves as gas, is fed.
fn counted_residue(case: &Case, outcome: &Outcome, plant: &Plant, from: usize) -> Option<Residue> {
    let rows = outcome.plant.get(from..)?;
    let units = f64::from(plant.units);
    let total = |f: fn(&DayRow) -> f64| units * rows.iter().map(f).sum::<f64>();
    let fed = |f: fn(&crate::feedstock::Composition) -> f64| -> f64 {
        let counted = case.doses.iter().filter(|dose| dose.day >= from as f64);
        let parts = counted.flat_map(|dose| &dose.parts);
        let one = parts.filter_map(|(i, kg)| Some(kg * f(&case.materials.get(*i)?.composition)));
        units * one.sum::<f64>()
    };
    let nitrogen_kg = fed(|c| c.nitrogen);
    let table = residue_table();
    // Only nitrogen is known of the feed: the rest as tables of digestates have it, food and slurry alike.
    let beside = [&table.digestate_food, &table.digestate_cattle].map(|row| row.beside_nitrogen());
    let mean = |f: fn(&(f64, f64)) -> f64| beside.iter().map(f).sum::<f64>() / beside.len() as f64;
    let taken = total(|r| r.ch4_nl + r.leaked_ch4_nl);
    // The books tell what left with the residue in the whole run: of these days, by the litres.
    let ran_out = |rows: &[DayRow]| rows.iter().map(|r| r.overflow_l).sum::<f64>();
    let counted_share = match ran_out(&outcome.plant) {
        all if all > 0.0 => ran_out(rows) / all,
        _ => 0.0,
    };
    let left = units * counted_share * (outcome.fate.out_degradable + outcome.fate.out_dissolved)
        / COD_CH4
        * NORM_M3_PER_KMOL
        * LITRES_PER_M3;
    let ammonium = rows.iter().map(|r| r.ammonium_mg_l).sum::<f64>() / rows.len().max(1) as f64;
    let line = (from..from + rows.len()).map(|d| plant.line.at(d as f64 + 0.5).0);
    let line_mean = line.sum::<f64>() / rows.len().max(1) as f64;
    residue(&ResidueInputs {
        days: rows.len() as f64,
        fed_kg: total(|r| r.fed_kg + r.water_kg),
        gas_kg: total(|r| hours::day_portion(r, None).mass_g()) / 1000.0,
        nitrogen_kg,
        ammonium_n_kg: fed(|c| c.ammonia_n),
        phosphorus_kg: nitrogen_kg * mean(|b| b.0),
        potassium_kg: nitrogen_kg * mean(|b| b.1),
        ammonium_mg_l: Some(ammonium),
        methane_potential_nl: taken + left,
        methane_taken_nl: taken,
        density_kg_l: 1.0,
        store_c: plant
            .residue
            .store_c
            .unwrap_or(line_mean)
            .clamp(-20.0, 60.0),
        store_closed: plant.residue.closed,
        rate_g_n_m2_yr: plant.residue.rate_g_n_m2_yr,
        continues_share: plant.residue.continues_share,
    })
    .ok()
}

/// What escaped in the days of `rows`.
fn wasted(rows: &[DayRow], units: f64, sums: &HourSums, residue: Option<&Residue>) -> Wasted {
    let total = |f: fn(&DayRow) -> f64| units * rows.iter().map(f).sum::<f64>();
    let leaked = total(|r| r.leaked_ch4_nl);
    let seeped = sums.seeped.ch4_nl.max(0.0);
    let made = total(|r| r.ch4_nl) + leaked;
    let store = weigh(seeped);
    let overflow = weigh(sums.overflowed.ch4_nl - sums.flared_ch4_nl);
    let open = residue.map(|r| r.escaping).unwrap_or_default();
    let leak = weigh(leaked);
    let parts = [leak, store, overflow, open];
    let all = |f: fn(&crate::plant::climate_weight::Escaped) -> f64| parts.iter().map(f).sum();
    let kg: f64 = all(|e| e.ch4_kg);
    let of_kg = weigh(made).ch4_kg + open.ch4_kg;
    Wasted {
        leak,
        seepage: store,
        overflow,
        residue: open,
        flared_ch4_kg: weigh(sums.flared_ch4_nl).ch4_kg,
        ch4_kg: kg,
        co2e_100_kg: all(|e| e.co2e_100_kg),
        co2e_20_kg: all(|e| e.co2e_20_kg),
        share: if of_kg > 0.0 { kg / of_kg } else { 0.0 },
    }
}

/// Month of a day of the run, 0 January to 11.
fn month_of(start: Option<Date>, day: u32) -> Option<usize> {
    let date = date_of(start, f64::from(day))?;
    usize::try_from(date.month()).ok()?.checked_sub(1)
}

/// The calendar date of a day of the run.
fn date_of(start: Option<Date>, day: f64) -> Option<Date> {
    #[allow(clippy::cast_possible_truncation)] // a run has at most 7300 days
    let days = day.floor() as i64;
    let span = jiff::Span::new().try_days(days).ok()?;
    start?.checked_add(span).ok()
}
