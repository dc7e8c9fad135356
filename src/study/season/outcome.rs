//! What the season study gives.

use serde::Serialize;

use super::chores::Chore;
use crate::case::Assumed;
use crate::plant::PlantFault;
use crate::plant::cleaning::{StageOutcome, Truth};
use crate::plant::climate_weight::Escaped;
use crate::plant::residue::{Hygiene, Residue};
use crate::plant::uses::Served;
use crate::simulate::{Closure, HeaterSource, RunFailure};

/// Why the plant cannot be run through the season.
#[derive(Debug, thiserror::Error)]
pub enum SeasonFailure {
    /// The scenario has no plant.
    #[error(
        "this scenario has no plant behind its digester. Add one, at least a store: \"plant\": {{ \"store\": {{ \"bell\": \
         {{ \"diameter_cm\": 100, \"skirt_cm\": 100 }} }}, \"appliances\": {{ \"stove\": {{ \"burner\": {{}} }} }}, \
         \"timetable\": [ {{ \"appliance\": \"stove\", \"from_h\": 18, \"hours\": 1 }} ] }}; `marshgas scenarios \
         winter-engine` shows a whole one"
    )]
    NoPlant,
    /// A unit refuses what it is given.
    #[error("{0}")]
    Plant(#[from] PlantFault),
    /// More gas flowed back into the digester than it ever gave \[norm litres\].
    #[error(
        "{0:.3} L more gas flowed back from the store into the digester than it ever gave, so there is no gas to run a \
         plant on. Put a water seal between them: \"gas\": {{ \"flows_back\": false }}, or mend the leak"
    )]
    FlowsBack(f64),
    /// A balance of the plant stayed open.
    #[error("{0}")]
    Open(RunFailure),
}

/// The plant through a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeasonOutcome {
    /// Scenario title.
    pub title: String,
    /// Scenario description.
    pub about: String,
    /// Calendar date of day 0 (ISO 8601), if given.
    pub start_date: Option<String>,
    /// Equal digesters side by side; all numbers but temperatures and shares are those of all of them.
    pub units: u32,
    /// Every day.
    pub days: Vec<SeasonDay>,
    /// Every month of the calendar; of thirty days where the run has no date.
    pub months: Vec<Season>,
    /// The coldest three months, in a longer run of its last year; `None` in a run of less than three whole ones, or with hardly a season.
    pub winter: Option<Season>,
    /// Frost on pipes, beds and store; `None` where they stay above freezing.
    pub frost: Option<Frost>,
    /// First of the days that amounts, hours and rates are of: those of the last year of a longer run, or all.
    pub counted_from: u32,
    /// Name of the tightest whole month among these and after the start-up: most of its wanted hours not served or, where all
    /// are, least gas for each of them. `None` where nothing is wanted in any.
    pub tightest: Option<String>,
    /// Names of the months at the beginning in which gas or feed were still coming up.
    pub start_up: Vec<String>,
    /// All other months but those of the start-up; `None` where there is no winter.
    pub rest: Option<Season>,
    /// A week in the middle of the coldest months.
    pub winter_week: Vec<WeekHour>,
    /// A week in the middle of the warmest months.
    pub summer_week: Vec<WeekHour>,
    /// One for each line of the timetable, of the days that count.
    pub uses: Vec<LineOfUse>,
    /// Engines that get more hydrogen sulphide than they bear.
    pub sour_engines: Vec<SourEngine>,
    /// Lowest and highest pressure of the store \[Pa\].
    pub store_pressure_pa: (f64, f64),
    /// Hours with overflow, of the days that count.
    pub overflow_hours: usize,
    /// Hours in which some demand found too little gas, of the days that count.
    pub shortage_hours: usize,
    /// Hours in which a bell stood closer to its blow-out than its margin.
    pub margin_hours: usize,
    /// Hours in which a bell at its lowest stand sucks, so that air can get in.
    pub suction_hours: usize,
    /// Each stage of the cleaning; fillings spent and their dates are those of the whole run, rates and amounts taken those
    /// of its last `stages_days`.
    pub stages: Vec<StageOutcome>,
    /// Days at the end of the run that the rates of the stages are of: a year, or all of a shorter run.
    pub stages_days: u32,
    /// Pressure that the stages cost together \[Pa\].
    pub cleaning_loss_pa: f64,
    /// What the cleaning asks to be looked at.
    pub warnings: Vec<String>,
    /// What surprises about it.
    pub truths: Vec<Truth>,
    /// Values that the scenario leaves to the program.
    pub assumed: Vec<Assumed>,
    /// Fillings spent, by time.
    pub changes: Vec<BedChange>,
    /// Residue of the days that count; what is still in it by the mean of the whole run. `None` where too little is fed.
    pub residue: Option<Residue>,
    /// Methane that escaped in the days that count.
    pub wasted: Wasted,
    /// Balances of the plant.
    pub closures: Vec<Closure>,
    /// What is to be done when.
    pub chores: Vec<Chore>,
    /// Where the heater takes its heat; `None` without one.
    pub heater: Option<HeaterSource>,
}

/// One day. Gas is dry, 0 C and 101.325 kPa.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SeasonDay {
    /// Day number.
    pub day: u32,
    /// Mean temperature of the liquor \[C\].
    pub liquor_c: f64,
    /// Mean temperature of pipes, beds and store \[C\].
    pub line_c: f64,
    /// Their lowest on the day \[C\].
    pub line_low_c: f64,
    /// Gas made \[NL\].
    pub made_nl: f64,
    /// Its energy \[kWh, lower\].
    pub made_kwh: f64,
    /// Gas burnt for the heater \[NL\].
    pub heater_nl: f64,
    /// Its energy \[kWh, lower\].
    pub heater_kwh: f64,
    /// Energy that the heater asked for beyond the day's gas \[kWh\].
    pub heater_short_kwh: f64,
    /// Gas behind the cleaning \[NL\].
    pub cleaned_nl: f64,
    /// Methane in it, 0..1.
    pub ch4_share: f64,
    /// Hydrogen sulphide in it \[ppm\].
    pub h2s_ppm: f64,
    /// Gas used \[NL\].
    pub used_nl: f64,
    /// Its energy \[kWh, lower\].
    pub used_kwh: f64,
    /// Gas that the store could not take \[NL\].
    pub overflow_nl: f64,
    /// Hours with overflow.
    pub overflow_hours: u32,
    /// Gas that seeped out, less air that came in \[NL\].
    pub seeped_nl: f64,
    /// Hours of use that were wanted, all lines of the timetable.
    pub wanted_h: f64,
    /// Served.
    pub served_h: f64,
    /// Not served for want of gas.
    pub short_h: f64,
    /// Not served because the gas does not burn.
    pub no_flame_h: f64,
    /// Not served because the engine refuses the gas.
    pub refused_h: f64,
    /// Heat used \[kWh\].
    pub heat_kwh: f64,
    /// Of the heat, that recovered from engines \[kWh\].
    pub engine_heat_kwh: f64,
    /// Current \[kWh\].
    pub electric_kwh: f64,
    /// Stand of the store at the end of the day, 0..1.
    pub store_share: f64,
    /// Methane burnt in the flare \[NL\].
    pub flared_ch4_nl: f64,
    /// Methane that escaped from the store \[NL\].
    pub escaped_ch4_nl: f64,
    /// Residue that ran out \[L\].
    pub residue_l: f64,
    /// Fed, water included \[kg\].
    pub fed_kg: f64,
}

/// Sums of a month, or of several.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Season {
    /// "2026-11", or "days 0 to 29".
    pub name: String,
    /// First day.
    pub from_day: u32,
    /// Number of days.
    pub days: u32,
    /// Mean temperature of the liquor \[C\].
    pub liquor_c: f64,
    /// Mean temperature of pipes, beds and store \[C\].
    pub line_c: f64,
    /// Days on which the line falls below freezing at some hour.
    pub frost_days: u32,
    /// Fed, water included \[kg/d\].
    pub fed_kg_d: f64,
    /// Gas made \[NL/d\].
    pub made_nl_d: f64,
    /// Gas used \[NL/d\].
    pub used_nl_d: f64,
    /// Gas lost by overflow \[NL/d\].
    pub overflow_nl_d: f64,
    /// Hours wanted.
    pub wanted_h: f64,
    /// Hours served.
    pub served_h: f64,
    /// Hours short of gas.
    pub short_h: f64,
    /// Hours without a flame.
    pub no_flame_h: f64,
    /// Hours refused by an engine.
    pub refused_h: f64,
    /// Heat used \[kWh\].
    pub heat_kwh: f64,
    /// Current \[kWh\].
    pub electric_kwh: f64,
    /// Energy of the gas made \[kWh\].
    pub made_kwh: f64,
    /// Energy that the heater took of it \[kWh\].
    pub heater_kwh: f64,
    /// Energy that the heater asked for beyond it \[kWh\].
    pub heater_short_kwh: f64,
    /// Share of the gas's energy that the heater took; `None` without gas.
    pub heating_share: Option<f64>,
    /// Residue \[L\].
    pub residue_l: f64,
    /// Nitrogen in it \[kg\].
    pub nitrogen_kg: f64,
    /// What temperature and time make of germs; `None` without feed.
    pub hygiene: Option<Hygiene>,
    /// Fillings of beds spent.
    pub bed_changes: usize,
}

/// Frost on pipes, beds and store.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Frost {
    /// Days on which the line falls below freezing at some hour.
    pub days: usize,
    /// The first of them.
    pub from_day: u32,
    /// The last of them.
    pub to_day: u32,
    /// The coldest hour \[C\].
    pub coldest_c: f64,
    /// What of the plant holds water that freezes.
    pub freezes: Vec<String>,
}

/// One hour of a week shown.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WeekHour {
    /// Time at its beginning \[d\].
    pub t_d: f64,
    /// Stand of the store at its end, 0..1.
    pub level_share: f64,
    /// Arrived \[NL\].
    pub arrived_nl: f64,
    /// Drawn \[NL\].
    pub drawn_nl: f64,
    /// Overflowed \[NL\].
    pub overflow_nl: f64,
    /// Hours short, all demands.
    pub short_h: f64,
}

/// A line of the timetable and what it got.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineOfUse {
    /// Appliance.
    pub appliance: String,
    /// Months in which it counts, January first.
    pub months: [bool; 12],
    /// When it begins \[h\].
    pub from_h: f64,
    /// How long it lasts \[h\].
    pub hours: f64,
    /// What it got in the days that count.
    pub served: Served,
}

/// An engine that gets more hydrogen sulphide than it bears.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourEngine {
    /// Its name.
    pub appliance: String,
    /// What it bears \[ppm\].
    pub limit_ppm: f64,
    /// Days on which the gas behind the cleaning holds more.
    pub days: usize,
    /// The most that it holds \[ppm\].
    pub highest_ppm: f64,
}

/// A filling that is spent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BedChange {
    /// When \[d\].
    pub day: f64,
    /// Which stage.
    pub stage: usize,
    /// Its name.
    pub name: String,
}

/// Methane that escaped, by where.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Wasted {
    /// From the digester's leaks.
    pub leak: Escaped,
    /// Through the film of a bag.
    pub seepage: Escaped,
    /// Overflow that was not burnt.
    pub overflow: Escaped,
    /// From an open store of residue, by a rough share.
    pub residue: Escaped,
    /// Burnt in the flare \[kg\]; it counts as nothing.
    pub flared_ch4_kg: f64,
    /// All that escaped \[kg\].
    pub ch4_kg: f64,
    /// As carbon dioxide over 100 years \[kg\].
    pub co2e_100_kg: f64,
    /// As carbon dioxide over 20 years \[kg\].
    pub co2e_20_kg: f64,
    /// Share of all methane, that of the residue's store included, 0..1.
    pub share: f64,
}
