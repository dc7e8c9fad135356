//! Runs a case: fill, feed, integrate, keep the books, judge the days.

use std::ops::Deref;
use std::sync::Arc;

use super::events;
use super::failure::RunFailure;
use super::heat::{self, HeatBooks};
use super::ledger::{CLOSURE_LIMIT, Ledger};
use super::outcome::{DayRow, Outcome, Provenance, SolverRecord, VesselSeries};
use super::plant;
use super::vessel::{Clock, Running};
use crate::case::{self, Activity, Case, MethodKind, NetworkKind};
use crate::digester::{Bands, Engine};
use crate::kinetics::{self, Load, Parameters};
use crate::units::{COD_CH4, NORM_M3_PER_KMOL};

/// What comes within a tenth of a millisecond \[d\] of the start comes with it: a stretch from 0 may be too short for any
/// arithmetic, later ones have the digits of their time.
const INSTANT_D: f64 = 1e-9;
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

impl Fed {
    /// The same in another amount.
    pub(super) fn scaled(&self, factor: f64) -> Self {
        Self {
            kg: factor * self.kg,
            water_kg: factor * self.water_kg,
            vs_kg: factor * self.vs_kg,
            cod_kg: factor * self.cod_kg,
            theoretical_ch4_nl: factor * self.theoretical_ch4_nl,
            volume_m3: factor * self.volume_m3,
        }
    }
}

/// All that was put in, for the day rows.
pub(super) struct Feed<'a> {
    /// The filling of day 0.
    pub(super) start: &'a Fed,
    /// What each day was fed.
    pub(super) days: &'a [Fed],
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
    let mut going = Going::begin(engine, case).map_err(|(_, failure)| failure)?;
    while let Some((from, to)) = going.depart() {
        for running in &mut going.vessels {
            running.advance(from, to, &going.clock)?;
        }
        going.arrive(to);
        progress(to / f64::from(case.days));
    }
    going.end().1
}

/// Another case of the same shape that a run goes on as from a day on: what leaks, how warm it is, what is fed and
/// which parameters hold then are its own; what is in the vessels is not.
#[derive(Debug, Clone, Copy)]
pub struct Change<'a> {
    /// From when on \[d from the start\].
    pub day: f64,
    /// The engine of that case.
    pub engine: &'a Arc<Engine>,
    /// That case; its filling is passed over.
    pub case: &'a Case,
}

/// Runs a case that changes on the way.
///
/// # Errors
/// [`RunFailure`]; [`RunFailure::Shape`] where a vessel leaks, or follows a heat balance, in only one of the cases.
pub fn run_changing(
    engine: &Arc<Engine>,
    case: &Case,
    change: &Change<'_>,
) -> Result<Outcome, RunFailure> {
    let mut going = Going::begin(engine, case).map_err(|(_, failure)| failure)?;
    let mut stops = going.stops.as_slice().to_vec();
    let last = stops.last().copied().unwrap_or(0.0);
    let changes = change.day > 0.0 && change.day < last;
    if changes && !stops.contains(&change.day) {
        stops.push(change.day);
        stops.sort_by(f64::total_cmp);
    }
    going.stops = stops.into_iter();
    if change.day <= 0.0 {
        going.go_on_as(change)?;
    }
    while let Some((from, to)) = going.depart() {
        for running in &mut going.vessels {
            running.advance(from, to, &going.clock)?;
        }
        going.arrive(to);
        if changes && to == change.day {
            going.go_on_as(change)?;
        }
    }
    going.end().1
}

/// A run on its way from stop to stop; it may own its case.
pub(super) struct Going<C> {
    pub(super) engine: Arc<Engine>,
    pub(super) case: C,
    materials: Vec<Load>,
    books: Books,
    pub(super) vessels: Vec<Running>,
    pub(super) clock: Clock,
    /// Times at which the integration stops.
    stops: std::vec::IntoIter<f64>,
    /// Doses so far.
    dosed: usize,
    t: f64,
}

impl<C: Deref<Target = Case>> Going<C> {
    /// Fills the vessels; a case that cannot begin comes back.
    pub(super) fn begin(engine: &Arc<Engine>, case: C) -> Result<Self, (C, RunFailure)> {
        match Filled::new(engine, &case) {
            Ok(filled) => Ok(Self {
                engine: Arc::clone(engine),
                materials: filled.materials,
                books: filled.books,
                vessels: filled.vessels,
                clock: Clock {
                    trace_step_d: (1.0 / TRACE_PER_DAY).max(f64::from(case.days) / TRACE_MOST),
                },
                stops: stops(&case).into_iter(),
                dosed: 0,
                t: 0.0,
                case,
            }),
            Err(failure) => Err((case, failure)),
        }
    }

    /// Gives the doses that are due; the times between which every vessel is then to be advanced, or none at the end.
    pub(super) fn depart(&mut self) -> Option<(f64, f64)> {
        let stop = self.stops.next()?;
        let network = &self.engine.network;
        let due = self.case.doses[self.dosed..].iter();
        for dose in due.take_while(|d| d.day <= self.t.max(INSTANT_D)) {
            self.dosed += 1;
            let additives = &dose.additives;
            let mut load = mix(
                network,
                &self.materials,
                &dose.parts,
                dose.water_kg,
                additives,
            );
            let day = self.books.day(dose.day);
            book_feed(&mut self.books.fed[day], &load, network);
            self.books.ledger.fed.add_load(&load);
            let mut celsius = self.vessels[0].feed_at(dose.day);
            for (v, running) in self.vessels.iter_mut().enumerate() {
                (load, celsius) = running.dose(&load, celsius);
                self.books.overflow_l[v][day] += 1000.0 * load.volume_m3;
            }
            self.books.ledger.overflow.add_load(&load);
        }
        Some((self.t, stop))
    }

    /// Every vessel was advanced to the stop.
    pub(super) fn arrive(&mut self, stop: f64) {
        for (v, running) in self.vessels.iter().enumerate() {
            self.books.count_methanogens(v, running, stop);
        }
        self.t = stop;
    }

    /// Closes the books.
    pub(super) fn end(self) -> (C, Result<Outcome, RunFailure>) {
        let Self {
            engine,
            case,
            books,
            vessels,
            ..
        } = self;
        let outcome = close(&engine, &case, books, vessels);
        (case, outcome)
    }
}

impl<'a> Going<&'a Case> {
    /// Becomes a run of another case from where it stands.
    fn go_on_as(&mut self, change: &Change<'a>) -> Result<(), RunFailure> {
        let filled = Filled::new(change.engine, change.case)?;
        for (now, next) in self.vessels.iter_mut().zip(filled.vessels) {
            now.go_on_as(next)?;
        }
        self.materials = filled.materials;
        self.engine = Arc::clone(change.engine);
        self.case = change.case;
        Ok(())
    }
}

fn close(
    engine: &Engine,
    case: &Case,
    mut books: Books,
    vessels: Vec<Running>,
) -> Result<Outcome, RunFailure> {
    let network = &engine.network;
    if let Some(stream) = &case.inflow {
        book_stream(
            &mut books,
            &vessels[0],
            stream.m3_per_d,
            f64::from(case.days),
        );
    }
    for v in &vessels {
        v.take_stock(&mut books.ledger.left);
        v.book_gas(&mut books.ledger);
    }
    let mut closures = books.ledger.closures(network);
    if vessels.iter().any(|v| v.heat.is_some()) {
        let mut sums = (0.0, 0.0, 0.0);
        for v in &vessels {
            if let Some(heat) = &v.heat {
                heat.add_to(&mut sums, &v.tank, &v.y);
            }
        }
        closures.push(heat::closure(sums, CLOSURE_LIMIT));
    }
    if let Some(open) = closures
        .iter()
        .find(|c| c.relative_gap > c.limit || c.relative_gap.is_nan())
    {
        return Err(RunFailure::Open {
            quantity: open.quantity.clone(),
            gap: open.relative_gap,
            limit: open.limit,
        });
    }
    Ok(finish(case, engine, vessels, &books, closures))
}

/// The vessels of a case as they are filled.
struct Filled {
    materials: Vec<Load>,
    books: Books,
    vessels: Vec<Running>,
}

impl Filled {
    fn new(engine: &Arc<Engine>, case: &Case) -> Result<Self, RunFailure> {
        let network = &engine.network;
        let materials: Vec<Load> = case
            .materials
            .iter()
            .map(|m| kinetics::load_of_material(network, &engine.acid_base, &m.composition))
            .collect();
        let mut books = Books::new(network, case);
        let start = &case.starter;
        let additives = &start.additives;
        let filling = mix(network, &materials, &start.parts, start.water_kg, additives);
        book_feed(&mut books.start, &filling, network);
        let total: f64 = case.vessels.iter().map(|v| v.liquid_m3).sum();
        let mut vessels = Vec::with_capacity(case.vessels.len());
        for v in &case.vessels {
            let mut share = Load::empty(network);
            share.add(&filling, v.liquid_m3 / total);
            let running = Running::new(engine, case, v, &share)?;
            running.take_stock(&mut books.ledger.start);
            vessels.push(running);
        }
        Ok(Self {
            materials,
            books,
            vessels,
        })
    }
}

/// A load of materials, water and additives.
fn mix(
    network: &kinetics::Network,
    materials: &[Load],
    parts: &[(usize, f64)],
    water: f64,
    additives: &[(kinetics::Additive, f64)],
) -> Load {
    let mut load = Load::empty(network);
    for &(i, kg) in parts {
        load.add(&materials[i], kg);
    }
    for &(a, kg) in additives {
        load.add(&kinetics::additive_load(network, a), kg);
    }
    load.add_water(water);
    load
}

/// What is written down while a run goes on.
struct Books {
    ledger: Ledger,
    /// What the filling brought.
    start: Fed,
    /// What each day was fed.
    fed: Vec<Fed>,
    /// Overflow \[L\] of each vessel on each day.
    overflow_l: Vec<Vec<f64>>,
    /// Whether the acetate-using methanogens of a vessel were washed out by the end of a day.
    washed: Vec<Vec<bool>>,
    /// The most acetate-using methanogens each vessel ever held \[kg COD\].
    most_methanogens: Vec<f64>,
    methanogens: Option<usize>,
    washed_share: f64,
}

impl Books {
    fn new(network: &kinetics::Network, case: &Case) -> Self {
        let days = case.days as usize;
        let vessels = case.vessels.len();
        Self {
            ledger: Ledger::new(network),
            start: Fed::default(),
            fed: vec![Fed::default(); days],
            overflow_l: vec![vec![0.0; days]; vessels],
            washed: vec![vec![false; days]; vessels],
            most_methanogens: vec![0.0; vessels],
            methanogens: network.index("X_ac"),
            washed_share: Bands::standard().washed_out.share_of_most,
        }
    }

    fn feed(&self) -> Feed<'_> {
        Feed {
            start: &self.start,
            days: &self.fed,
        }
    }

    /// Index of the day that `t` lies in.
    fn day(&self, t: f64) -> usize {
        (t.floor() as usize).min(self.fed.len() - 1)
    }

    fn count_methanogens(&mut self, v: usize, running: &Running, t: f64) {
        if let Some(i) = self.methanogens {
            let now = running.amount(i);
            let most = &mut self.most_methanogens[v];
            *most = most.max(now);
            let washed = now < self.washed_share * *most;
            let day = self.day((t.ceil() - 1.0).max(0.0));
            self.washed[v][day] = washed;
        }
    }
}

/// Times at which the integration stops: doses, knots of the temperatures, the end.
fn stops(case: &Case) -> Vec<f64> {
    let end = f64::from(case.days);
    let mut stops: Vec<f64> = case.vessels.iter().flat_map(case::Vessel::knots).collect();
    stops.extend(case.doses.iter().map(|d| d.day));
    // A stop at least every tenth of a run keeps the progress honest on long unfed runs.
    stops.extend((1..=10).map(|i| (end * f64::from(i) / 10.0).round()));
    if case.solver.method == MethodKind::Explicit {
        // A day takes it a hundred thousand steps, so it is given no longer stretch.
        stops.extend((1..case.days).map(f64::from));
    }
    stops.retain(|t| *t > INSTANT_D && *t < end);
    stops.push(end);
    stops.sort_by(f64::total_cmp);
    stops.dedup();
    stops
}

fn book_feed(fed: &mut Fed, load: &Load, network: &kinetics::Network) {
    fed.kg += load.material_kg;
    fed.water_kg += load.water_kg;
    fed.vs_kg += load.vs_kg;
    fed.cod_kg += load.cod(network);
    fed.theoretical_ch4_nl += load.reachable_cod(network) / COD_CH4 * NORM_M3_PER_KMOL * 1000.0;
    fed.volume_m3 += load.volume_m3;
}

/// A steady stream enters and leaves all the time; what it drained was integrated beside the state.
fn book_stream(books: &mut Books, vessel: &Running, q: f64, end: f64) {
    let Some((_, incoming)) = &vessel.tank.plumbing().inflow else {
        return;
    };
    let network = &vessel.tank.engine().network;
    books
        .ledger
        .fed
        .add_stream(incoming.iter().copied(), q * end);
    let layout = vessel.tank.layout();
    let drained = (0..layout.components).map(|i| vessel.y[layout.drained(i)]);
    books.ledger.overflow.add_amounts(drained, q * end);
    let cod = incoming
        .iter()
        .zip(&network.components)
        .map(|(c, k)| q * c * k.cod)
        .sum::<f64>();
    for day in &mut books.fed {
        day.volume_m3 += q;
        day.cod_kg += cod;
    }
}

fn finish(
    case: &Case,
    engine: &Engine,
    mut vessels: Vec<Running>,
    books: &Books,
    closures: Vec<super::outcome::Closure>,
) -> Outcome {
    let bands = Bands::standard();
    let mut record = SolverRecord {
        relative_tolerance: case.solver.relative_tolerance,
        smallest_step_d: f64::INFINITY,
        ..SolverRecord::default()
    };
    for (v, running) in vessels.iter_mut().enumerate() {
        plant::complete_rows(
            &mut running.days,
            case,
            v,
            &books.feed(),
            &books.overflow_l[v],
        );
        plant::judge(
            &mut running.days,
            1000.0 * case.vessels[v].liquid_m3,
            &bands,
        );
        plant::add_statistics(&mut record, running.integrator.statistics());
    }
    record.method = format!("{:?}", case.solver.method).to_lowercase();
    let mut plant_rows: Vec<DayRow> = plant::sum(
        &vessels
            .iter()
            .map(|v| v.days.as_slice())
            .collect::<Vec<_>>(),
        &books.feed(),
        case,
    );
    for (i, row) in plant_rows.iter_mut().enumerate() {
        row.sour = vessels.iter().any(|v| v.days[i].sour);
    }
    let liquid_l = case.vessels.iter().map(|v| 1000.0 * v.liquid_m3).sum();
    plant::mark_burning(&mut plant_rows, liquid_l, &bands);
    let mut all_events = Vec::new();
    for (v, running) in vessels.iter().enumerate() {
        all_events.extend(events::find(
            v,
            &running.days,
            &running.trace,
            &books.washed[v],
            1000.0 * case.vessels[v].liquid_m3,
            &bands,
        ));
    }
    all_events.sort_by(|a, b| a.day.total_cmp(&b.day).then(a.vessel.cmp(&b.vessel)));
    Outcome {
        title: case.title.clone(),
        about: case.about.clone(),
        start_date: case.start_date.map(|d| d.to_string()),
        days: case.days,
        fate: books.ledger.fate(&engine.network),
        closures,
        plant: plant_rows,
        events: all_events,
        solver: record,
        provenance: Provenance::of(case, &engine.network),
        vessels: vessels
            .into_iter()
            .zip(&case.vessels)
            .map(|(r, v)| VesselSeries {
                name: r.name,
                liquid_l: 1000.0 * v.liquid_m3,
                days: r.days,
                trace: r.trace,
                heat: r.heat.map(HeatBooks::into_series),
            })
            .collect(),
    }
}
