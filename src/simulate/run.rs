//! Runs a case: fill, feed, integrate, keep the books, judge the days.

use std::sync::Arc;

use super::events;
use super::failure::RunFailure;
use super::ledger::Ledger;
use super::outcome::{DayRow, Outcome, Provenance, SolverRecord, VesselSeries};
use super::plant;
use super::vessel::{Clock, Running};
use crate::case::{Activity, Case, NetworkKind};
use crate::digester::{Bands, Engine};
use crate::kinetics::{self, Load, Parameters};
use crate::units::{COD_CH4, NORM_M3_PER_KMOL};

/// Points a day of the finer trajectory, and the most points of one run.
const TRACE_PER_DAY: f64 = 8.0;
const TRACE_MOST: f64 = 6000.0;

/// Builds the engine that a case asks for.
///
/// # Errors
/// [`RunFailure::Parameter`], [`RunFailure::Network`].
pub fn engine(case: &Case) -> Result<Arc<Engine>, RunFailure> {
    let mut parameters = match case.model.network {
        NetworkKind::FourStage => Parameters::four_stage(),
        NetworkKind::Adm1 => Parameters::adm1(),
    };
    for (name, value) in &case.model.parameters {
        parameters.set(name, *value)?;
    }
    let network = match case.model.network {
        NetworkKind::FourStage => kinetics::four_stage(&parameters)?,
        NetworkKind::Adm1 => kinetics::adm1(&parameters)?,
    };
    Ok(Arc::new(Engine::new(
        network,
        case.model.activity == Activity::Davies,
    )))
}

/// What a day was fed, for the day rows.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Fed {
    pub(super) kg: f64,
    pub(super) water_kg: f64,
    pub(super) vs_kg: f64,
    pub(super) cod_kg: f64,
    pub(super) theoretical_ch4_nl: f64,
    pub(super) volume_m3: f64,
}

/// Runs a case. `progress` is called with the share done, 0 to 1.
///
/// # Errors
/// [`RunFailure`]; a failed run has no outcome.
pub fn run(case: &Case, progress: &mut dyn FnMut(f64)) -> Result<Outcome, RunFailure> {
    run_on(&engine(case)?, case, progress)
}

/// Runs a case on an engine that was built for it (many runs can share one).
///
/// # Errors
/// [`RunFailure`]; a failed run has no outcome.
pub fn run_on(
    engine: &Arc<Engine>,
    case: &Case,
    progress: &mut dyn FnMut(f64),
) -> Result<Outcome, RunFailure> {
    let network = &engine.network;
    let materials: Vec<Load> = case
        .materials
        .iter()
        .map(|m| kinetics::load_of_material(network, &engine.acid_base, &m.composition))
        .collect();
    let mix = |parts: &[(usize, f64)], water: f64, additives: &[(kinetics::Additive, f64)]| {
        let mut load = Load::empty(network);
        for &(i, kg) in parts {
            load.add(&materials[i], kg);
        }
        for &(a, kg) in additives {
            load.add(&kinetics::additive_load(network, a), kg);
        }
        load.add_water(water);
        load
    };
    let mut ledger = Ledger::new(network);
    let filling = mix(
        &case.starter.parts,
        case.starter.water_kg,
        &case.starter.additives,
    );
    let total: f64 = case.vessels.iter().map(|v| v.liquid_m3).sum();
    let mut vessels = Vec::with_capacity(case.vessels.len());
    for v in &case.vessels {
        let mut share = Load::empty(network);
        share.add(&filling, v.liquid_m3 / total);
        vessels.push(Running::new(engine, case, v, &share)?);
    }
    for v in &vessels {
        v.take_stock(&mut ledger.start);
    }

    let end = f64::from(case.days);
    let clock = Clock {
        trace_step_d: (1.0 / TRACE_PER_DAY).max(end / TRACE_MOST),
    };
    let mut fed = vec![Fed::default(); case.days as usize];
    let mut overflow = vec![vec![0.0; case.days as usize]; vessels.len()];
    let mut best_methanogens: Vec<f64> = vec![0.0; vessels.len()];
    let methanogens = network.index("X_ac");
    let mut washed = vec![vec![false; case.days as usize]; vessels.len()];

    let mut stops: Vec<f64> = case
        .vessels
        .iter()
        .flat_map(|v| v.temperature.knots())
        .collect();
    stops.extend(case.doses.iter().map(|d| d.day));
    // A stop at least every tenth of a run keeps the progress honest on long unfed runs.
    stops.extend((1..=10).map(|i| (end * f64::from(i) / 10.0).round()));
    stops.retain(|t| *t > 0.0 && *t < end);
    stops.push(end);
    stops.sort_by(f64::total_cmp);
    stops.dedup();

    let mut doses = case.doses.iter().peekable();
    let mut t = 0.0;
    for stop in stops {
        while let Some(dose) = doses.next_if(|d| d.day <= t) {
            let mut load = mix(&dose.parts, dose.water_kg, &dose.additives);
            let day = (dose.day.floor() as usize).min(fed.len() - 1);
            book_feed(&mut fed[day], &load, network);
            ledger.fed.add_load(&load);
            for (v, running) in vessels.iter_mut().enumerate() {
                load = running.tank.dose(&mut running.y, &load, &running.outlet);
                overflow[v][day] += 1000.0 * load.volume_m3;
            }
            ledger.overflow.add_load(&load);
        }
        for (v, running) in vessels.iter_mut().enumerate() {
            running.advance(t, stop, &clock)?;
            if let Some(i) = methanogens {
                let now = running.amount(i);
                best_methanogens[v] = best_methanogens[v].max(now);
                let day = ((stop.ceil() as usize).max(1) - 1).min(washed[v].len() - 1);
                washed[v][day] =
                    now < Bands::standard().washed_out.share_of_start * best_methanogens[v];
            }
        }
        t = stop;
        progress(t / end);
    }
    if let Some(stream) = &case.inflow {
        book_stream(&mut ledger, &mut fed, &vessels[0], stream.m3_per_d, end);
    }
    for v in &vessels {
        v.take_stock(&mut ledger.left);
        v.book_gas(&mut ledger);
    }
    let closures = ledger.closures(network);
    if let Some(open) = closures.iter().find(|c| !(c.relative_gap <= c.limit)) {
        return Err(RunFailure::Open {
            quantity: open.quantity.clone(),
            gap: open.relative_gap,
            limit: open.limit,
        });
    }
    Ok(finish(
        case, engine, vessels, &fed, &overflow, &washed, &ledger, closures,
    ))
}

fn book_feed(fed: &mut Fed, load: &Load, network: &kinetics::Network) {
    fed.kg += load.material_kg;
    fed.water_kg += load.water_kg;
    fed.vs_kg += load.vs_kg;
    fed.cod_kg += load.cod(network);
    fed.theoretical_ch4_nl += load.reachable_cod(network) / COD_CH4 * NORM_M3_PER_KMOL * 1000.0;
    fed.volume_m3 += load.volume_m3;
}

/// A steady stream enters and leaves all the time; its outflow is what the balance of each component asks for.
fn book_stream(ledger: &mut Ledger, fed: &mut [Fed], vessel: &Running, q: f64, end: f64) {
    let Some((_, incoming)) = &vessel.tank.plumbing().inflow else {
        return;
    };
    ledger.fed.add_stream(incoming.iter().copied(), q * end);
    let layout = vessel.tank.layout();
    ledger.overflow.add_stream(
        (0..layout.components).map(|i| vessel.y[layout.drained(i)] / (q * end)),
        q * end,
    );
    for day in fed.iter_mut() {
        day.volume_m3 += q;
        day.cod_kg += incoming
            .iter()
            .zip(&vessel.tank.engine().network.components)
            .map(|(c, k)| q * c * k.cod)
            .sum::<f64>();
    }
}

#[allow(clippy::too_many_arguments)]
fn finish(
    case: &Case,
    engine: &Engine,
    mut vessels: Vec<Running>,
    fed: &[Fed],
    overflow: &[Vec<f64>],
    washed: &[Vec<bool>],
    ledger: &Ledger,
    closures: Vec<super::outcome::Closure>,
) -> Outcome {
    let bands = Bands::standard();
    let mut record = SolverRecord {
        relative_tolerance: case.solver.relative_tolerance,
        smallest_step_d: f64::INFINITY,
        ..SolverRecord::default()
    };
    let last = vessels.len() - 1;
    for (v, running) in vessels.iter_mut().enumerate() {
        plant::complete_rows(&mut running.days, case, v, fed, &overflow[v]);
        plant::judge(&mut running.days, &bands);
        plant::add_statistics(&mut record, running.integrator.statistics());
    }
    record.method = format!("{:?}", case.solver.method).to_lowercase();
    let mut plant_rows: Vec<DayRow> = plant::sum(
        &vessels
            .iter()
            .map(|v| v.days.as_slice())
            .collect::<Vec<_>>(),
        fed,
        case,
    );
    for (row, own) in plant_rows.iter_mut().zip(&vessels[last].days) {
        row.sour = own.sour;
    }
    plant::mark_burning(&mut plant_rows, &bands);
    let mut all_events = Vec::new();
    for (v, running) in vessels.iter().enumerate() {
        all_events.extend(events::find(
            v,
            &running.days,
            &running.trace,
            &washed[v],
            &bands,
        ));
    }
    all_events.sort_by(|a, b| a.day.total_cmp(&b.day).then(a.vessel.cmp(&b.vessel)));
    Outcome {
        title: case.title.clone(),
        about: case.about.clone(),
        start_date: case.start_date.map(|d| d.to_string()),
        days: case.days,
        fate: ledger.fate(&engine.network),
        closures,
        plant: plant_rows,
        events: all_events,
        solver: record,
        provenance: Provenance {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            file: case.source.file.clone(),
            sha256: case.source.sha256.clone(),
            network: engine.network.name.to_owned(),
            activity: format!("{:?}", case.model.activity).to_lowercase(),
            parameters: case.model.parameters.clone(),
        },
        vessels: vessels
            .into_iter()
            .zip(&case.vessels)
            .map(|(r, v)| VesselSeries {
                name: r.name,
                liquid_l: 1000.0 * v.liquid_m3,
                days: r.days,
                trace: r.trace,
            })
            .collect(),
    }
}
