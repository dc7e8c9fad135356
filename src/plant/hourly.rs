//! Store and uses together, hour by hour: level, hours served and short, overflow, methane wasted.

use serde::Serialize;

use super::PlantFault;
use super::climate_weight::{Escaped, weigh};
use super::store::{Store, StoreHour, StoreSettings};
use super::stream::{GasState, Portion};
use super::uses::{Clock, Demand, FlareSettings, NamedAppliance, Served, check_demands, serve};

const HOURS_PER_DAY: usize = 24;
/// Gas below which an hour counts as without overflow \[norm litres\]: rounding, not gas.
const TRACE_NL: f64 = 1e-6;
/// Time below which an hour counts as fully served \[h\].
const TRACE_H: f64 = 1e-9;

/// What surrounds one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourInput {
    /// Gas that arrives in the hour; its vapour is left aside, the store saturates it anew.
    pub arriving: Portion,
    /// Temperature of the store \[C\].
    pub temperature_c: f64,
    /// Barometer \[kPa\].
    pub barometer_kpa: f64,
}

impl HourInput {
    fn state(&self) -> GasState {
        GasState {
            temperature_c: self.temperature_c,
            gauge_pa: 0.0,
            barometer_kpa: self.barometer_kpa,
        }
    }
}

/// Store, appliances and timetable.
#[derive(Debug, Clone, PartialEq)]
pub struct HourlySettings {
    /// The store.
    pub store: StoreSettings,
    /// What uses gas.
    pub appliances: Vec<NamedAppliance>,
    /// When.
    pub demands: Vec<Demand>,
    /// What burns the overflow; `None`: it escapes.
    pub flare: Option<FlareSettings>,
    /// Weekday of the first hour, 0 Monday to 6 Sunday.
    pub first_weekday: usize,
    /// Month of each day of the run, 0 January to 11; empty where no date is known, and all months count.
    pub months: Vec<usize>,
    /// Gas that the store holds at its lowest stand at the start; its amount does not matter.
    pub first_gas: Portion,
}

/// One hour.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlantHour {
    /// The store.
    pub store: StoreHour,
    /// One for each demand.
    pub served: Vec<Served>,
    /// Methane burnt in the flare \[norm litres\].
    pub flared_ch4_nl: f64,
    /// Methane that escaped: overflow that was not burnt, and seepage \[norm litres\].
    pub escaped_ch4_nl: f64,
}

impl PlantHour {
    /// Whether gas overflowed in it.
    #[must_use]
    pub fn overflows(&self) -> bool {
        self.store.overflowed.dry_nl() > TRACE_NL
    }
}

/// The whole run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HourlyOutcome {
    /// Every hour.
    pub hours: Vec<PlantHour>,
    /// Sum for each demand.
    pub demands: Vec<Served>,
    /// Arrived, dry \[norm litres\].
    pub arrived: Portion,
    /// Used.
    pub used: Portion,
    /// Overflowed.
    pub overflowed: Portion,
    /// Seeped out, less air that came in.
    pub seeped: Portion,
    /// Content at the start.
    pub first_content: Portion,
    /// Content at the end less that at the start.
    pub stored_change: Portion,
    /// Hours with overflow.
    pub overflow_hours: usize,
    /// Hours in which some demand found too little gas.
    pub shortage_hours: usize,
    /// Hours in which a bell stood closer to its blow-out than its margin.
    pub margin_hours: usize,
    /// Hours in which a bell at its lowest stand sucks.
    pub suction_hours: usize,
    /// Lowest and highest pressure \[Pa\].
    pub pressure_pa: (f64, f64),
    /// Methane burnt in the flare \[norm litres\].
    pub flared_ch4_nl: f64,
    /// Methane that escaped, weighed. What was burnt counts zero: its carbon comes from plants.
    pub escaped: Escaped,
}

/// Sums over some of the hours.
#[derive(Debug, Clone, PartialEq)]
pub struct HourSums {
    /// Sum for each demand.
    pub demands: Vec<Served>,
    /// Overflowed.
    pub overflowed: Portion,
    /// Seeped out, less air that came in.
    pub seeped: Portion,
    /// Hours with overflow.
    pub overflow_hours: usize,
    /// Hours in which some demand found too little gas.
    pub shortage_hours: usize,
    /// Methane burnt in the flare \[norm litres\].
    pub flared_ch4_nl: f64,
}

impl HourlyOutcome {
    /// Sums from hour `from` to the end.
    #[must_use]
    pub fn sums_from(&self, from: usize) -> HourSums {
        let hours = self.hours.get(from..).unwrap_or_default();
        sums(hours, self.demands.len())
    }

    /// Largest gap of `arrived = used + overflowed + seeped + change` over the species, relative to what arrived and
    /// what was there.
    #[must_use]
    pub fn gap(&self) -> f64 {
        let out = self
            .used
            .plus(self.overflowed)
            .plus(self.seeped)
            .plus(self.stored_change);
        let size = (self.arrived.dry_nl() + self.first_content.dry_nl()).max(TRACE_NL);
        let gaps = self.arrived.minus(out).in_order();
        gaps.iter().map(|gap| gap.abs()).fold(0.0, f64::max) / size
    }
}

/// Runs store and uses over the hours.
///
/// In each hour, in this order: gas arrives, some seeps through a film, demands are served by priority, what is above
/// full overflows into the flare or the air.
///
/// # Errors
/// [`PlantFault`] for settings or an hour out of range.
pub fn run_hours(
    settings: &HourlySettings,
    inputs: &[HourInput],
) -> Result<HourlyOutcome, PlantFault> {
    check_demands(&settings.appliances, &settings.demands)?;
    if let Some(flare) = &settings.flare {
        flare.check("flare")?;
    }
    let Some(first) = inputs.first() else {
        return Err(PlantFault::Unfit {
            field: "hours".into(),
            why: "there is no hour to run".into(),
            mend: "Give at least one.".into(),
        });
    };
    for (i, input) in inputs.iter().enumerate() {
        input.arriving.check(&format!("hours[{i}].arriving"))?;
        input.state().check(&format!("hours[{i}]"))?;
    }
    let mut store = Store::at_lowest(settings.store, settings.first_gas, &first.state())?;
    let start = store.content;
    let mut hours = Vec::with_capacity(inputs.len());
    for (i, input) in inputs.iter().enumerate() {
        let (after, hour) = one_hour(settings, store, input, i);
        store = after;
        hours.push(hour);
    }
    Ok(summed(hours, settings.demands.len(), start, store.content))
}

fn one_hour(
    settings: &HourlySettings,
    store: Store,
    input: &HourInput,
    i: usize,
) -> (Store, PlantHour) {
    let state = input.state();
    let arrived = input.arriving.dry();
    let store = Store {
        content: store.content.plus(arrived),
        ..store
    };
    let (store, seeped) = store.seep(1.0, &state);
    let day = i / HOURS_PER_DAY;
    let month = |day: usize| settings.months.get(day).copied();
    let clock = Clock {
        weekday: (settings.first_weekday + day) % 7,
        hour_h: (i % HOURS_PER_DAY) as f64,
        months: month(day).map(|now| [now, month(day.saturating_sub(1)).unwrap_or(now)]),
    };
    let served = serve(
        &settings.appliances,
        &settings.demands,
        &clock,
        &store.drawable(&state),
    );
    let wanted: f64 = served.iter().map(|served| served.gas_nl).sum();
    let (store, drawn) = store.draw(wanted, &state);
    let (store, overflowed) = store.overflow(&state);
    let burnt = settings
        .flare
        .map_or(0.0, |flare| flare.burnt_share(&overflowed, 1.0));
    let hour = PlantHour {
        store: StoreHour {
            arrived,
            seeped,
            drawn,
            overflowed,
            level: store.settings.level(store.content.dry_nl(), &state),
        },
        served,
        flared_ch4_nl: overflowed.ch4_nl * burnt,
        escaped_ch4_nl: overflowed.ch4_nl * (1.0 - burnt) + seeped.ch4_nl.max(0.0),
    };
    (store, hour)
}

fn total(hours: &[PlantHour], of: fn(&PlantHour) -> Portion) -> Portion {
    let portions = hours.iter().map(of);
    portions.fold(Portion::default(), Portion::plus)
}

fn number(hours: &[PlantHour], that: fn(&PlantHour) -> bool) -> usize {
    hours.iter().filter(|hour| that(hour)).count()
}

fn sums(hours: &[PlantHour], demands: usize) -> HourSums {
    let mut sums = vec![Served::default(); demands];
    let each = hours.iter().flat_map(|hour| hour.served.iter().enumerate());
    for (demand, served) in each {
        let sum = &mut sums[demand];
        sum.wanted_h += served.wanted_h;
        sum.served_h += served.served_h;
        sum.short_h += served.short_h;
        sum.no_flame_h += served.no_flame_h;
        sum.refused_h += served.refused_h;
        sum.gas_nl += served.gas_nl;
        sum.heat_kwh += served.heat_kwh;
        sum.electric_kwh += served.electric_kwh;
    }
    let is_short = |hour: &PlantHour| hour.served.iter().any(|served| served.short_h > TRACE_H);
    HourSums {
        demands: sums,
        overflowed: total(hours, |hour| hour.store.overflowed),
        seeped: total(hours, |hour| hour.store.seeped),
        overflow_hours: number(hours, PlantHour::overflows),
        shortage_hours: number(hours, is_short),
        flared_ch4_nl: hours.iter().map(|hour| hour.flared_ch4_nl).sum(),
    }
}

fn summed(
    hours: Vec<PlantHour>,
    demands: usize,
    first_content: Portion,
    last_content: Portion,
) -> HourlyOutcome {
    let all = sums(&hours, demands);
    let pressures = || hours.iter().map(|hour| hour.store.level.pressure_pa);
    let escaped: f64 = hours.iter().map(|hour| hour.escaped_ch4_nl).sum();
    HourlyOutcome {
        demands: all.demands,
        arrived: total(&hours, |hour| hour.store.arrived),
        used: total(&hours, |hour| hour.store.drawn),
        overflowed: all.overflowed,
        seeped: all.seeped,
        first_content,
        stored_change: last_content.minus(first_content),
        overflow_hours: all.overflow_hours,
        shortage_hours: all.shortage_hours,
        margin_hours: number(&hours, |hour| hour.store.level.within_margin),
        suction_hours: number(&hours, |hour| hour.store.level.suction),
        pressure_pa: (
            pressures().fold(f64::INFINITY, f64::min),
            pressures().fold(f64::NEG_INFINITY, f64::max),
        ),
        flared_ch4_nl: all.flared_ch4_nl,
        escaped: weigh(escaped),
        hours,
    }
}
