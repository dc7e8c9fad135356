//! What stands beside the digester: store and cleaning beds, sized by the gas of the judged year.

use serde::Serialize;

use super::judge::{MonthRow, Tried};
use super::rules::rules;
use super::timetable::used_in;
use super::wish::Wish;
use super::year::DAYS;
use crate::plant::cleaning::{
    BedMaterial, BedSettings, GasStep, Stage, StageOutcome, TrapSettings, run_train,
};
use crate::plant::store::{BellSettings, Shell};
use crate::plant::{GasState, GasStream, PlantFault};

/// Pressure of the store \[Pa\], as in the runs.
const STORE_PA: f64 = 800.0;
/// Wall of the bell \[mm\]: a usual plastic drum. Common practice, no source.
const BELL_WALL_MM: f64 = 4.0;
/// How often the skirt is fitted to the volume: ballast and blow-out move a little with it.
const BELL_FITTINGS: usize = 6;
/// Litres of a square metre a centimetre high.
const L_PER_M2_CM: f64 = 10.0;
const BAROMETER_KPA: f64 = 101.325;
/// Temperature at which the gas is read \[C\].
const READING_C: f64 = 20.0;
/// Coldest line that does not freeze \[C\].
const COLDEST_LINE_C: f64 = 2.0;
/// Smallest step of a bed's filling \[kg\].
const STEP_KG: f64 = 0.1;
/// A lime bed to count by \[kg\].
const LIME_KG: f64 = 5.0;
const HOURS: f64 = 24.0;

/// The gas store.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Store {
    /// Usable volume \[L\].
    pub volume_l: f64,
    /// Longest hours without use.
    pub hours: f64,
    /// Gas for use in the best month of those in which gas is wanted, after the heater \[L/d\].
    pub gas_l_d: f64,
    /// Month of that gas, 1 to 12.
    pub month: usize,
    /// A bell as wide as its stroke: inner diameter \[cm\].
    pub bell_diameter_cm: f64,
    /// Its skirt, and the water that it sinks into: stroke, margin and blow-out \[cm\].
    pub bell_skirt_cm: f64,
    /// Seal left before the blow-out where its relief lets gas off \[cm\].
    pub bell_margin_cm: f64,
    /// Bell and ballast together for 8 mbar at half its rise \[kg\].
    pub bell_kg: f64,
}

/// The store of a plant; `None` without gas.
pub(super) fn store(wish: &Wish, tried: &Tried) -> Option<Store> {
    let gas = |row: &MonthRow| row.gas_l_d * free_share(row);
    // What nobody wants needs no store.
    let used = used_in(wish, tried);
    let wanted = tried.months.iter().filter(|row| used[row.month - 1]);
    let best = wanted.max_by(|a, b| gas(a).total_cmp(&gas(b)))?;
    let volume_l = gas(best) * wish.hours_without_use / HOURS;
    if volume_l <= 0.0 {
        return None;
    }
    Some(bell(Store {
        volume_l,
        hours: wish.hours_without_use,
        gas_l_d: gas(best),
        month: best.month,
        bell_diameter_cm: 0.0,
        bell_skirt_cm: 0.0,
        bell_margin_cm: 0.0,
        bell_kg: 0.0,
    }))
}

/// The store with the bell of its volume.
pub(super) fn bell(store: Store) -> Store {
    let bell = bell_of(store.volume_l);
    Store {
        bell_diameter_cm: bell.diameter_cm,
        bell_skirt_cm: bell.skirt_cm,
        bell_margin_cm: bell.margin_cm,
        bell_kg: bell.shell_kg() + bell.ballast_kg,
        ..store
    }
}

/// The plastic bell of a usable volume \[L\], about as wide as its stroke (`V = pi/4 d^3`), with a relief at its margin.
pub(super) fn bell_of(volume_l: f64) -> BellSettings {
    let diameter_cm = tenth((4.0 * volume_l * 1000.0 / std::f64::consts::PI).cbrt());
    let mut bell = BellSettings {
        relief: true,
        ..BellSettings::of(Shell::Polyethylene, diameter_cm, diameter_cm, BELL_WALL_MM)
    }
    .ballasted(STORE_PA);
    for _ in 0..BELL_FITTINGS {
        let (full, dead) = bell.volumes_l();
        bell.skirt_cm += (volume_l - (full - dead)) / bell.area_m2() / L_PER_M2_CM;
        bell.seal_depth_cm = bell.skirt_cm;
        bell = bell.ballasted(STORE_PA);
    }
    bell.skirt_cm = tenth(bell.skirt_cm);
    bell.seal_depth_cm = bell.skirt_cm;
    bell.ballasted(STORE_PA)
}

/// A millimetre is fine enough.
pub(super) fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// Share of a month's gas that is left after the heater.
fn free_share(row: &MonthRow) -> f64 {
    if row.methane_kwh_d > 0.0 {
        (row.net_kwh_d / row.methane_kwh_d).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// The cleaning beds, for the gas that is left after the heater.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Beds {
    /// Rusted steel wool in the bed \[kg\].
    pub iron_kg: f64,
    /// Days that a loading of it lasts in the mean of the year.
    pub iron_days: f64,
    /// New wool a year \[kg\].
    pub iron_kg_per_year: f64,
    /// Hydrogen sulphide taken a year \[g\].
    pub sulphide_g_per_year: f64,
    /// Slaked lime that taking out the carbon dioxide would eat \[kg/yr\].
    pub lime_kg_per_year: f64,
    /// Water that the trap before it catches \[L/yr\].
    pub trap_l_per_year: f64,
}

impl Beds {
    /// The same with what the hours of the judged year gave: trap and iron, as the scenario has them.
    pub(super) fn as_run(self, stages: &[StageOutcome]) -> Self {
        let [trap, iron] = stages else {
            return self;
        };
        Self {
            iron_days: lasting(iron),
            iron_kg_per_year: iron.material_kg_per_year,
            sulphide_g_per_year: 1000.0 * iron.h2s_taken_kg,
            trap_l_per_year: trap.water_gained_kg,
            ..self
        }
    }
}

/// Days that a filling lasts, at most a year.
fn lasting(bed: &StageOutcome) -> f64 {
    bed.days_per_filling.unwrap_or(f64::INFINITY).min(365.0)
}

/// The beds of a plant; `None` without gas for use.
///
/// # Errors
/// [`PlantFault`]: a fault of this build, since all settings are its own.
pub(super) fn beds(tried: &Tried) -> Result<Option<Beds>, PlantFault> {
    let steps = steps(tried);
    if steps.iter().all(|s| s.gas.portion.ch4_nl <= 0.0) {
        return Ok(None);
    }
    let trap = Stage::WaterTrap(TrapSettings {
        temperature_c: None,
        drop_pa: 0.0,
    });
    let bed = |material, kg| Stage::Bed(BedSettings::of(material, kg));
    let trial = run_train(&[trap, bed(BedMaterial::RustedWool, 1.0)], &steps)?;
    let per_kg = trial.stages.last().and_then(|s| s.days_per_filling);
    let wanted = per_kg.map_or(STEP_KG, |days| rules().iron_days.value / days);
    let iron_kg = ((wanted / STEP_KG).ceil() * STEP_KG).max(STEP_KG);
    let iron = run_train(&[trap, bed(BedMaterial::RustedWool, iron_kg)], &steps)?;
    let lime = run_train(&[trap, bed(BedMaterial::DampLime, LIME_KG)], &steps)?;
    let (Some(caught), Some(wool), Some(chalk)) =
        (iron.stages.first(), iron.stages.last(), lime.stages.last())
    else {
        return Ok(None);
    };
    Ok(Some(Beds {
        iron_kg,
        iron_days: lasting(wool),
        iron_kg_per_year: wool.material_kg_per_year,
        sulphide_g_per_year: 1000.0 * wool.h2s_taken_kg,
        lime_kg_per_year: chalk.material_kg_per_year,
        trap_l_per_year: caught.water_gained_kg,
    }))
}

fn steps(tried: &Tried) -> Vec<GasStep> {
    let mut day = 0.0;
    tried
        .months
        .iter()
        .map(|row| {
            let days = f64::from(DAYS[row.month - 1]);
            let state = GasState {
                temperature_c: row.liquor_c.max(COLDEST_LINE_C),
                gauge_pa: STORE_PA,
                barometer_kpa: BAROMETER_KPA,
            };
            let gas = GasStream {
                portion: row.gas.scaled(free_share(row)),
                state,
            };
            let step = GasStep {
                day,
                days,
                gas: gas.saturated(),
                line_c: row.air_c.clamp(COLDEST_LINE_C, READING_C.max(row.air_c)),
            };
            day += days;
            step
        })
        .collect()
}
