//! One point of a sweep: what its run gave in the end, and how it fared on the way.

use serde::{Deserialize, Serialize};

use super::rules::Rules;
use crate::case::{Case, TemperatureCourse};
use crate::simulate::{DayRow, EventKind, Outcome};

/// How a point ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Class {
    /// It works.
    Steady,
    /// It works, at less than a share of the best yield of the sweep.
    Slow,
    /// Acids have the upper hand at the end.
    Sour,
    /// The methane formers are gone or dead, and the methane with them.
    WashedOut,
    /// Nothing was fed at the end, so there is no lasting level.
    Unfed,
    /// There is no result.
    Failed,
}

/// Why there is no result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mishap {
    /// What kind of mishap.
    pub kind: MishapKind,
    /// What was told.
    pub message: String,
}

/// Kinds of mishaps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MishapKind {
    /// The values make no scenario that can be computed.
    Input,
    /// The run stopped.
    Run,
    /// A fault of the program.
    Fault,
}

/// The first time that something happened.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Milestone {
    /// What.
    pub kind: EventKind,
    /// When \[d\], in whichever vessel it happened first.
    pub day: f64,
}

/// The lasting level: means over the window at the end of the run, whole plant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Level {
    /// Length of the run \[d\].
    pub days: u32,
    /// Days at its end over which everything below is taken \[d\].
    pub window_d: u32,
    /// Retention times from the full feeding to the end; `None` where nothing flows.
    pub retention_times: Option<f64>,
    /// Relative change of the methane from the first to the second half of the window.
    pub drift: Option<f64>,
    /// Whether the run was long enough and the methane has come to rest.
    pub settled: bool,
    /// Methane per volatile solids fed \[norm litres/kg VS\]; `None` where no volatile solids are known.
    pub yield_nl_kg_vs: Option<f64>,
    /// Methane per COD fed \[norm litres/kg COD\].
    pub yield_nl_kg_cod: Option<f64>,
    /// Gas to the store \[norm litres/d\].
    pub gas_nl_d: f64,
    /// The same as the owner reads it \[L/d\].
    pub gas_read_l_d: f64,
    /// Methane to the store \[norm litres/d\].
    pub ch4_nl_d: f64,
    /// Gas per liquid volume \[norm litres/L/d\].
    pub gas_nl_l_d: f64,
    /// Methane over gas to the store, 0..1; `None` without gas.
    pub ch4_share: Option<f64>,
    /// pH.
    pub ph: f64,
    /// Total volatile acids \[mg/L as acetic acid\].
    pub acids_mg_l: f64,
    /// Acids over alkalinity.
    pub acid_ratio: f64,
    /// Organic loading \[kg VS/m3/d\].
    pub loading_kg_vs_m3_d: f64,
    /// Retention time \[d\]; `None` where nothing flows.
    pub retention_d: Option<f64>,
    /// Material fed, without water \[kg/d\].
    pub fed_kg_d: f64,
    /// Water fed \[kg/d\].
    pub water_kg_d: f64,
    /// Temperature \[C\].
    pub temperature_c: f64,
    /// Days that the rule calls sour, whole run.
    pub sour_days: u32,
    /// First time of each kind of event.
    pub milestones: Vec<Milestone>,
}

/// One point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SweepPoint {
    /// Place in the sweep; the last knob runs fastest.
    pub index: usize,
    /// Values of the knobs.
    pub values: Vec<f64>,
    /// How it ended.
    pub class: Class,
    /// The lasting level, where there is one.
    pub level: Option<Level>,
    /// Why there is none.
    pub mishap: Option<Mishap>,
}

impl SweepPoint {
    /// A point without a result.
    pub(super) fn failed(
        index: usize,
        values: Vec<f64>,
        kind: MishapKind,
        message: String,
    ) -> Self {
        Self {
            index,
            values,
            class: Class::Failed,
            level: None,
            mishap: Some(Mishap { kind, message }),
        }
    }

    /// Whether the digester does its work.
    #[must_use]
    pub fn works(&self) -> bool {
        matches!(self.class, Class::Steady | Class::Slow)
    }

    /// Its yield: per volatile solids, or per COD where a stream has none.
    #[must_use]
    pub fn best_known_yield(&self) -> Option<f64> {
        let level = self.level.as_ref()?;
        level.yield_nl_kg_vs.or(level.yield_nl_kg_cod)
    }
}

impl Level {
    /// First time of an event \[d\].
    #[must_use]
    pub fn first(&self, kind: EventKind) -> Option<f64> {
        let found = self.milestones.iter().find(|m| m.kind == kind);
        found.map(|m| m.day)
    }
}

/// What the measuring needs to know beside the outcome.
pub(super) struct Around<'a> {
    pub(super) case: &'a Case,
    pub(super) rules: &'a Rules,
    /// Days after which the feeding repeats itself.
    pub(super) cycle_d: usize,
    /// Day on which the feeding has reached its full size.
    pub(super) full_from: f64,
}

/// The lasting level of a run, and how it ended but for [`Class::Slow`], which only the whole sweep can tell.
pub(super) fn measure(outcome: &Outcome, around: &Around<'_>) -> (Class, Level) {
    let rows = outcome.plant.as_slice();
    let litres: f64 = outcome.vessels.iter().map(|v| v.liquid_l).sum();
    let flow = |row: &DayRow| row.retention_d.map_or(0.0, |d| litres / d);
    let window = window(rows, around, |rows| litres / mean(rows, flow));
    let last = rows
        .get(rows.len().saturating_sub(window)..)
        .unwrap_or_default();
    let of = |f: fn(&DayRow) -> f64| mean(last, f);
    let ch4 = of(|r| r.ch4_nl);
    let gas = of(|r| r.gas_nl);
    let flow = mean(last, flow);
    let retention_d = (flow > 0.0).then(|| litres / flow);
    let per = |amount: f64| (amount > 0.0).then(|| ch4 / amount);
    let vs = of(|r| r.fed_vs_kg);
    let cod = of(|r| r.fed_cod_kg);
    let (early, late) = last.split_at(last.len() / 2);
    let (early, late) = (mean(early, |r| r.ch4_nl), mean(late, |r| r.ch4_nl));
    let drift = (early.max(late) > 0.0).then(|| (late - early) / early.max(late));
    let fed_for = (f64::from(outcome.days) - around.full_from).max(0.0);
    let retention_times = retention_d.map(|d| fed_for / d);
    let long_enough = retention_times
        // A run that was made just long enough must not fail by round-off or by the week's mean of the flow.
        .is_none_or(|times| times >= 0.99 * around.rules.retention_times.value);
    let at_rest = drift.is_none_or(|d| d.abs() <= around.rules.drift_share.value);
    let mut milestones: Vec<Milestone> = Vec::new();
    for event in &outcome.events {
        // Events come in the order of time, so the first of a kind is its first time.
        if milestones.iter().all(|m| m.kind != event.kind) {
            milestones.push(Milestone {
                kind: event.kind,
                day: event.day,
            });
        }
    }
    let level = Level {
        days: outcome.days,
        window_d: u32::try_from(window).unwrap_or(u32::MAX),
        retention_times,
        drift,
        settled: long_enough && at_rest,
        yield_nl_kg_vs: per(vs),
        yield_nl_kg_cod: per(cod),
        gas_nl_d: gas,
        gas_read_l_d: of(|r| r.gas_read_l),
        ch4_nl_d: ch4,
        gas_nl_l_d: gas / litres,
        ch4_share: (gas > 0.0).then(|| ch4 / gas),
        ph: of(|r| r.ph),
        acids_mg_l: of(|r| r.acids_mg_l),
        acid_ratio: of(|r| r.acid_ratio),
        loading_kg_vs_m3_d: 1000.0 * vs / litres,
        retention_d,
        fed_kg_d: of(|r| r.fed_kg),
        water_kg_d: of(|r| r.water_kg),
        temperature_c: of(|r| r.temperature_c),
        sour_days: u32::try_from(rows.iter().filter(|r| r.sour).count()).unwrap_or(u32::MAX),
        milestones,
    };
    (class(rows, last, &level, cod, around.rules), level)
}

fn class(rows: &[DayRow], last: &[DayRow], level: &Level, cod: f64, rules: &Rules) -> Class {
    let best = rows.iter().fold(0.0, |best: f64, r| best.max(r.ch4_nl));
    let sour = last.iter().filter(|r| r.sour).count() as f64;
    let sour =
        sour > rules.sour_share.value * last.len() as f64 || last.last().is_some_and(|r| r.sour);
    let gone = level.ch4_nl_d < rules.washed_share.value * best;
    if gone && level.first(EventKind::WashesOut).is_some() {
        Class::WashedOut
    } else if sour {
        Class::Sour
    } else if cod <= 0.0 {
        Class::Unfed
    } else {
        Class::Steady
    }
}

/// Days at the end of the run: a month, or three retention times if that is shorter, in whole rounds of the feeding;
/// a year where the temperature changes with it and the run is that long.
fn window(rows: &[DayRow], around: &Around<'_>, retention: impl Fn(&[DayRow]) -> f64) -> usize {
    let rules = around.rules;
    let constant = |course: &TemperatureCourse| matches!(course, TemperatureCourse::Constant(_));
    let even = around
        .case
        .vessels
        .iter()
        .all(|v| v.heat.is_none() && constant(&v.temperature));
    if !even && rows.len() >= rules.year_d.value {
        return rules.year_d.value;
    }
    let month = rules.window_d.value.min(rows.len());
    let times = rules.retention_times.value * retention(&rows[rows.len() - month..]);
    let wanted = if times.is_finite() {
        // At least a day and at most a month, so the cast is exact.
        (times.ceil().max(1.0) as usize).min(month)
    } else {
        month
    };
    match wanted / around.cycle_d.max(1) {
        0 => around.cycle_d.min(rows.len()),
        rounds => rounds * around.cycle_d,
    }
}

fn mean(rows: &[DayRow], f: impl Fn(&DayRow) -> f64) -> f64 {
    rows.iter().map(f).sum::<f64>() / rows.len().max(1) as f64
}
