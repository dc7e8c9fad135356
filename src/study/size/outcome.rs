//! What the search gives. Pure data: no words for people, no colours.

use serde::Serialize;

use super::beside::{Beds, Store};
use super::hourly::Hourly;
use super::judge::Tried;
use super::margin::{Margin, Sureness};
use super::rules::Rules;
use super::wish::Wish;

/// How the wish fares.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// A plant reaches it with the chance asked for.
    Met,
    /// Plants reach it in one run with typical values, none with margin and chance.
    Unsure,
    /// No plant of the builder reaches it.
    CannotBeMet,
}

/// A plant with what it must show beyond one run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Proof {
    /// The plant and its run.
    pub tried: Tried,
    /// Distance to the souring limit; `None` where it is never fed or was not looked for.
    pub margin: Option<Margin>,
    /// Chance; `None` where it was not drawn.
    pub sureness: Option<Sureness>,
}

/// What plants of one warmth give over their size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Curve {
    /// Set point; `None`: unheated \[C\].
    pub set_c: Option<f64>,
    /// Runs, smallest plant first.
    pub points: Vec<CurvePoint>,
}

/// One run of a curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Whole volume of all units \[L\].
    pub volume_l: f64,
    /// What it reaches \[unit of the target\].
    pub reach: f64,
    /// Energy left for use, mean of the months that count \[kWh/d\].
    pub net_kwh_d: f64,
    /// Share of the gas that heating takes in the whole year; above 1 where it takes more than there is.
    pub heating_share: f64,
    /// Whether nothing but the target speaks against it.
    pub sound: bool,
    /// Whether nothing speaks against it.
    pub fit: bool,
}

/// Energy of what there is, mean of the months that count.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Energy {
    /// All methane that a digester could ever reach \[kWh/d\].
    pub scraps_kwh_d: f64,
    /// The same as current of a small engine \[kWh/d\].
    pub as_current_kwh_d: f64,
    /// The same as hours of one burner \[h/d\].
    pub as_burner_h_d: f64,
    /// Power that a burner takes \[kW\].
    pub burner_kw: f64,
    /// Share of the gas that a small engine makes current of, at full load.
    pub engine_share: f64,
    /// Carbon dioxide in the gas of the fullest month that counts.
    pub co2_share: f64,
    /// Carbon dioxide above which such an engine refuses gas.
    pub co2_limit: f64,
}

/// How much was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Effort {
    /// Share of the line of loading that was fed at most.
    pub line_share: f64,
    /// Plants of the grid.
    pub plants: usize,
    /// Plants that were run.
    pub run: usize,
    /// Draws for each plant whose chance was asked.
    pub draws: usize,
    /// Seed of the draws.
    pub seed: u64,
}

/// All that was found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizeOutcome {
    /// The wish.
    pub wish: Wish,
    /// How it fares.
    pub verdict: Verdict,
    /// The smallest plant that meets it, or one hardly larger that takes less effort; else the one that comes nearest. `None` where every run failed.
    pub plant: Option<Proof>,
    /// Of the months that count, that with the least for the target, 1 to 12; `None` where no plant came through.
    pub leanest_month: Option<usize>,
    /// The tightest month by its hours, as `season` finds it of the written plant, 1 to 12; `None` where the hours were not
    /// run or ask for nothing.
    pub tightest_month: Option<usize>,
    /// Its store.
    pub store: Option<Store>,
    /// The store through the hours of the year; `None` without a store, or where the hours could not be run.
    pub hourly: Option<Hourly>,
    /// Why the hours could not be run, where they could not.
    pub hourly_failed: Option<String>,
    /// Its cleaning beds.
    pub beds: Option<Beds>,
    /// One plant for each warmth: the smallest that reaches the target, else the one that comes nearest.
    pub alternatives: Vec<Proof>,
    /// What was proven before and did not pass, smallest first.
    pub refused: Vec<Proof>,
    /// What passed too and was not proposed, because it takes more units, more built on, or more litres for the same.
    pub passed_over: Vec<Proof>,
    /// The plant's neighbours in the grid, with their runs.
    pub neighbours: Vec<Tried>,
    /// The plant in every place that the builder allows: sun and ground. Itself among them.
    pub placed: Vec<Tried>,
    /// The same plant working all year where it rests, or resting where it works all year; `None` where it cannot.
    pub otherwise: Option<Tried>,
    /// Whether it was asked to stop before it was done: the plant is then the best so far.
    pub stopped: bool,
    /// What plants give over their size, by warmth.
    pub curves: Vec<Curve>,
    /// Energy of what there is.
    pub energy: Energy,
    /// Whether water is short for the thicker feeds that were tried.
    pub short_of_water: bool,
    /// How much was looked at.
    pub effort: Effort,
    /// The lines that were kept, with their sources.
    pub rules: Rules,
    /// The scenario of the plant, for `run`.
    pub scenario: Option<serde_json::Value>,
    /// Version of marshgas.
    pub version: String,
}
