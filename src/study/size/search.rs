//! From the grid to the plant: estimate all, run some, prove the smallest.
//!
//! The choices are whole numbers and short lists, so the grid is enumerated, and the first estimate orders it.

use super::beside;
use super::desk::{Desk, surest, unproven};
use super::draft;
use super::hourly::stand;
use super::judge::{MonthRow, Tried, engine_share};
use super::outcome::{Effort, Energy, SizeOutcome, Verdict};
use super::plant::grid;
use super::rules::rules;
use super::wish::Wish;
use super::{Options, SizeFailure};
use crate::plant::Portion;
use crate::plant::uses::use_table;
use crate::study::uncertain::Uncertain;

/// Share of methane and carbon dioxide where no gas is known yet.
const RAW_GAS: (f64, f64) = (0.6, 0.4);

/// Shares of the line of loading that are tried one after the other, as long as souring stands against every plant.
const LINE_SHARES: [f64; 3] = [1.0, 0.5, 0.25];

/// Looks for the smallest plant of a wish. `progress` is called with the share done, 0 to 1.
///
/// Where nothing passes and souring has a part in it, the search is made again with less feed. The result is the same
/// for any number of threads.
///
/// # Errors
/// [`SizeFailure`]. That the wish cannot be met is a result.
pub fn size(
    wish: &Wish,
    options: &Options<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<SizeOutcome, SizeFailure> {
    let mut first = None;
    let mut run = 0;
    for line_share in LINE_SHARES {
        let (mut found, overfed) = size_fed(wish, line_share, options, progress)?;
        run += found.effort.run;
        found.effort.run = run;
        if found.verdict == Verdict::Met {
            return Ok(found);
        }
        let better = |old: &SizeOutcome| {
            found.verdict == Verdict::Unsure && old.verdict == Verdict::CannotBeMet
        };
        if first.as_ref().is_none_or(better) {
            first = Some(found);
        }
        if !overfed {
            break;
        }
    }
    let mut first = first.ok_or(SizeFailure::Stopped)?;
    first.effort.run = run;
    Ok(first)
}

/// The search with feed up to a share of the line of loading, and whether souring stood against some plant.
fn size_fed(
    wish: &Wish,
    line_share: f64,
    options: &Options<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<(SizeOutcome, bool), SizeFailure> {
    let grid = grid(wish, line_share);
    let mut desk = Desk::new(wish, options, &grid.plants)?;
    progress(0.05);
    let lines = desk.along_the_size()?;
    progress(0.4);
    desk.between(&lines)?;
    progress(0.55);
    desk.trimmings()?;
    progress(0.7);
    let points = Uncertain::standard().points(options.draws, options.seed)?;
    let (chosen, refused) = desk.prove(&points)?;
    progress(0.85);
    let alternatives = desk.alternatives(&lines, chosen.as_ref(), &points)?;
    let verdict = match (&chosen, desk.fit().is_empty()) {
        (Some(_), _) => Verdict::Met,
        (None, false) => Verdict::Unsure,
        (None, true) => Verdict::CannotBeMet,
    };
    let plant = match chosen {
        Some(proof) => Some(proof),
        None => surest(&refused).or_else(|| desk.nearest().map(unproven)),
    };
    let neighbours = match &plant {
        Some(proof) => desk.neighbours(&proof.tried.plant)?,
        None => Vec::new(),
    };
    let (placed, otherwise) = match &plant {
        Some(proof) => desk.placed(&proof.tried.plant)?,
        None => (Vec::new(), None),
    };
    progress(1.0);
    let tried = plant.as_ref().map(|p| &p.tried);
    let tried = tried.filter(|t| !t.months.is_empty());
    let mut store = tried.and_then(|t| beside::store(wish, t));
    let beds = match tried {
        Some(t) => beside::beds(t)?,
        None => None,
    };
    let mut scenario = tried.map(|t| scenario(wish, t));
    let (mut hourly, mut hourly_failed) = (None, None);
    if let (Some(t), Some(by_day)) = (tried, store) {
        match stand(wish, t, by_day, beds.as_ref()) {
            Ok(stood) => {
                store = Some(stood.store);
                hourly = Some(stood.hourly);
                scenario = Some(stood.scenario);
            }
            Err(why) => hourly_failed = Some(why),
        }
    }
    let curves = desk.curves(&lines);
    let overfed =
        refused.iter().any(|p| p.tried.is_overfed()) || desk.runs.values().any(Tried::is_overfed);
    let found = SizeOutcome {
        verdict,
        energy: energy(wish, tried),
        store,
        hourly,
        hourly_failed,
        beds,
        alternatives,
        refused,
        neighbours,
        placed,
        otherwise,
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
    Ok((found, overfed))
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
