//! From the grid to the plant: estimate all, run some, prove the smallest.
//!
//! The choices are whole numbers and short lists, so the grid is enumerated, and the first estimate orders it.

use std::sync::atomic::Ordering;

use super::beside;
use super::desk::{Desk, WarmLine};
use super::draft;
use super::hourly::{Hourly, stand};
use super::judge::{MonthRow, Tried, engine_share};
use super::outcome::{Effort, Energy, Proof, SizeOutcome, Verdict};
use super::plant::grid;
use super::prove::{surest, unproven};
use super::rules::rules;
use super::wish::Wish;
use super::{Options, SizeFailure, Told};
use crate::plant::Portion;
use crate::plant::uses::use_table;
use crate::study::uncertain::Uncertain;

/// Share of methane and carbon dioxide where no gas is known yet.
const RAW_GAS: (f64, f64) = (0.6, 0.4);

/// Why there are no hours of a search that was stopped.
const STOPPED: &str = "the search was stopped before it";

/// Shares of the line of loading that are tried one after the other, as long as souring stands against every plant.
const LINE_SHARES: [f64; 3] = [1.0, 0.5, 0.25];

/// Looks for the smallest plant of a wish. `progress` is called with what is being done and the share done, 0 to 1.
///
/// Where nothing passes and souring has a part in it, the search is made again with less feed. The result is the same
/// for any number of threads. A search that is asked to stop gives the best that it has.
///
/// # Errors
/// [`SizeFailure`]. That the wish cannot be met is a result.
pub fn size(
    wish: &Wish,
    options: &Options<'_>,
    progress: &Told<'_>,
) -> Result<SizeOutcome, SizeFailure> {
    let mut first: Option<SizeOutcome> = None;
    let mut run = 0;
    for line_share in LINE_SHARES {
        let (mut found, overfed) = match size_fed(wish, line_share, options, progress) {
            Err(SizeFailure::Stopped) if first.is_some() => {
                if let Some(first) = &mut first {
                    first.stopped = true;
                }
                break;
            }
            other => other?,
        };
        run += found.effort.run;
        found.effort.run = run;
        if found.verdict == Verdict::Met {
            return Ok(found);
        }
        let stopped = found.stopped;
        let better = |old: &SizeOutcome| {
            found.verdict == Verdict::Unsure && old.verdict == Verdict::CannotBeMet
        };
        if first.as_ref().is_none_or(better) {
            first = Some(found);
        }
        if stopped && let Some(first) = &mut first {
            first.stopped = true;
        }
        if !overfed || stopped {
            break;
        }
    }
    let mut first = first.ok_or(SizeFailure::Stopped)?;
    first.effort.run = run;
    Ok(first)
}

/// What the steps of a search found.
#[derive(Default)]
struct Found {
    lines: Vec<WarmLine>,
    chosen: Option<Proof>,
    refused: Vec<Proof>,
    passed_over: Vec<Proof>,
    alternatives: Vec<Proof>,
    plant: Option<Proof>,
    neighbours: Vec<Tried>,
    placed: Vec<Tried>,
    otherwise: Option<Tried>,
}

/// The steps one after the other; what they found before a stop stays in `found`.
fn steps(desk: &mut Desk<'_>, options: &Options<'_>, found: &mut Found) -> Result<(), SizeFailure> {
    desk.begin("sizing: plants along the size", 0.05, 0.3);
    found.lines = desk.lines();
    desk.along_the_size(&found.lines)?;
    desk.between(&found.lines)?;
    desk.begin("sizing: trimmings", 0.3, 0.5);
    desk.trimmings()?;
    desk.begin("sizing: draws of the smallest", 0.5, 0.8);
    let points = Uncertain::standard().points(options.draws, options.seed)?;
    let proven = desk.prove(&points)?;
    found.chosen = proven.chosen;
    found.passed_over = proven.passed_over;
    found.refused = proven.refused;
    found.plant = match &found.chosen {
        Some(proof) => Some(proof.clone()),
        None => surest(&found.refused).or_else(|| desk.nearest().map(unproven)),
    };
    desk.begin("sizing: alternatives", 0.8, 0.95);
    found.alternatives = desk.alternatives(&found.lines, found.chosen.as_ref(), &points)?;
    desk.begin("sizing: neighbours", 0.95, 1.0);
    if let Some(proof) = &found.plant {
        let plant = proof.tried.plant;
        (found.placed, found.otherwise) = desk.placed(&plant)?;
        found.neighbours = desk.neighbours(&plant)?;
    }
    Ok(())
}

/// The search with feed up to a share of the line of loading, and whether souring stood against some plant.
fn size_fed(
    wish: &Wish,
    line_share: f64,
    options: &Options<'_>,
    progress: &Told<'_>,
) -> Result<(SizeOutcome, bool), SizeFailure> {
    let grid = grid(wish, line_share);
    let mut desk = Desk::new(wish, options, &grid.plants, progress)?;
    let mut found = Found::default();
    let stopped = match steps(&mut desk, options, &mut found) {
        Ok(()) => false,
        Err(SizeFailure::Stopped) if !desk.runs.is_empty() => true,
        Err(failure) => return Err(failure),
    };
    if stopped && found.plant.is_none() {
        (found.chosen, found.refused) = desk.proven();
        let chosen = found.chosen.clone().or_else(|| desk.smallest_fit());
        found.plant = chosen.or_else(|| desk.nearest().map(unproven));
    }
    let Found {
        lines,
        chosen,
        refused,
        passed_over,
        alternatives,
        plant,
        neighbours,
        placed,
        otherwise,
    } = found;
    let verdict = match (&chosen, desk.fit().is_empty()) {
        (Some(_), _) => Verdict::Met,
        (None, false) => Verdict::Unsure,
        (None, true) => Verdict::CannotBeMet,
    };
    let tried = plant.as_ref().map(|p| &p.tried);
    let tried = tried.filter(|t| !t.months.is_empty());
    let mut store = tried.and_then(|t| beside::store(wish, t));
    let mut beds = match tried {
        Some(t) => beside::beds(t)?,
        None => None,
    };
    let mut scenario = tried.map(|t| scenario(wish, t));
    let (mut hourly, mut hourly_failed) = (None, None);
    if let (Some(t), Some(by_day)) = (tried, store) {
        match stand(wish, t, by_day, beds.as_ref(), options.stop) {
            Ok(stood) => {
                if stood.hourly.is_none() {
                    hourly_failed = Some(STOPPED.to_owned());
                }
                store = Some(stood.store);
                beds = stood.beds;
                hourly = stood.hourly;
                scenario = Some(stood.scenario);
            }
            Err(why) => hourly_failed = Some(why),
        }
    }
    let curves = desk.curves(&lines);
    let overfed =
        refused.iter().any(|p| p.tried.is_overfed()) || desk.runs.values().any(Tried::is_overfed);
    let outcome = SizeOutcome {
        verdict,
        energy: energy(wish, tried),
        leanest_month: tried.and_then(|t| t.leanest(wish)).map(|row| row.month),
        tightest_month: hourly.as_ref().and_then(|h: &Hourly| h.tightest_month),
        store,
        hourly,
        hourly_failed,
        beds,
        alternatives,
        refused,
        passed_over,
        neighbours,
        placed,
        otherwise,
        stopped: stopped || options.stop.load(Ordering::Relaxed),
        curves,
        short_of_water: grid.short_of_water,
        effort: Effort {
            line_share,
            plants: grid.plants.len(),
            run: desk.runs.len(),
            draws: options.draws,
            seed: options.seed,
        },
        rules: rules().clone(),
        scenario,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        plant,
        wish: wish.clone(),
    };
    Ok((outcome, overfed))
}

fn scenario(wish: &Wish, tried: &Tried) -> serde_json::Value {
    let kg = std::array::from_fn(|m| tried.months.get(m).map_or(0.0, |row| row.feed.kg_per_day));
    draft::scenario(wish, &tried.plant, &kg, tried.heater_w)
}

fn energy(wish: &Wish, tried: Option<&Tried>) -> Energy {
    let mut gas = Portion::default();
    for row in tried.map(|t| t.months.as_slice()).unwrap_or_default() {
        gas = gas.plus(row.gas);
    }
    if gas.ch4_nl <= 0.0 {
        gas.ch4_nl = RAW_GAS.0;
        gas.co2_nl = RAW_GAS.1;
    }
    let scraps_kwh_d = wish.mean(|m| wish.energy_kwh_d(m));
    let burner_kw = use_table().burner.power_kw.typical();
    let (engine, co2_limit) = engine_share(&gas);
    let counting = |m: &&MonthRow| wish.months[m.month - 1];
    let months = tried.map(|t| t.months.as_slice()).unwrap_or_default();
    Energy {
        co2_share: months
            .iter()
            .filter(counting)
            .map(|m| m.gas.co2_share())
            .fold(0.0, f64::max),
        co2_limit,
        scraps_kwh_d,
        as_current_kwh_d: scraps_kwh_d * engine,
        as_burner_h_d: scraps_kwh_d / burner_kw,
        burner_kw,
        engine_share: engine,
    }
}
