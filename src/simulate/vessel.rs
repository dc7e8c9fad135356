//! One vessel through a run: segments between jumps, sampling, doses.

use std::sync::Arc;

use super::failure::RunFailure;
use super::heat::HeatBooks;
use super::ledger::Ledger;
use super::outcome::{DayRow, Point};
pub use super::samples::Clock;
use super::samples::Samples;
use crate::case::{self, Case};
use crate::digester::{Engine, HeatBalance, Outlet, Plumbing, Reader, Reading, Tank};
use crate::kinetics::{GasKind, Group, Load};
use crate::solver::{
    DenseStep, Failure, Integrator, Method, Options, RhsFailure, ShrinkCause, Situation,
    Statistics, System,
};
use crate::units::{NORM_M3_PER_KMOL, R_BAR, ZERO_C, kelvin};

/// A concentration may fall this many absolute tolerances below zero before the run is refused. The tolerances grow with the
/// relative one, and at the loosest in use, 1e-2, this is one of them: less refuses sound runs (hydrogen at a fifth of it
/// refused a fed year).
const NEGATIVE_TOLERANCES: f64 = 100.0;
/// A state within this factor of that limit stands at the brink.
const BRINK: f64 = 1.01;
/// Relative tolerance to which the absolute ones belong; they go with it.
const TOLERANCE_BASE: f64 = 1e-4;
/// Share of the smallest constant that a rate weighs a component against to which it is known at least, whatever the
/// relative tolerance: a fifth of the way to the pole of the law.
const KNOWN_TO: f64 = 0.2;
/// Absolute tolerance of the headspace and of sent gas, relative to one atmosphere in the gas space.
const GAS_TOLERANCE: f64 = 1e-6;
/// Absolute tolerance of the temperature \[K\].
const TEMPERATURE_TOLERANCE: f64 = 1e-3;
/// Longest step \[d\]: a day's wave must be seen, and followed between the steps too (from a quarter of a day to the
/// next a temperature was off by up to 26 tolerances).
const LONGEST_STEP_D: f64 = 5.0;
const LONGEST_STEP_DAILY_WAVE_D: f64 = 0.125;
/// No liquor is warmer under the pressure of a digester \[C\].
const BOILING_C: f64 = 100.0;
/// Over less than this the tolerance of what was sent would make too much of a rate \[d\].
const SHORTEST_RATE_D: f64 = 1e-3;
/// Steps between two jumps before the integrator gives up.
const MOST_STEPS: u64 = 2_000_000;

/// One vessel in motion: between two jumps it is advanced, at a jump its state is changed from outside.
pub struct Running {
    pub(super) name: String,
    /// The tank.
    pub tank: Tank,
    /// Its state, see [`Tank::layout`].
    pub y: Vec<f64>,
    /// What it does with a dose.
    pub outlet: Outlet,
    pub(super) integrator: Integrator,
    pub(super) trace: Vec<Point>,
    /// A row for each day that ended while it was advanced; what was fed is not filled in.
    pub days: Vec<DayRow>,
    /// Gas sent and leaked up to the last day's end, per gas \[kmol\].
    sent_before: Vec<f64>,
    leaked_before: Vec<f64>,
    explicit: bool,
    /// The least that may be left of a headspace gas, a little below zero \[kmol\].
    gas_least: f64,
    samples: Samples,
    reader: Reader,
    pub(super) heat: Option<HeatBooks>,
}

impl Running {
    /// Assembles a vessel filled with a load, its headspace full of wet air at ambient pressure.
    ///
    /// # Errors
    /// [`RunFailure`] when the case names an unknown component, or its settings or the filling cannot be used.
    pub fn new(
        engine: &Arc<Engine>,
        case: &Case,
        vessel: &case::Vessel,
        filling: &Load,
    ) -> Result<Self, RunFailure> {
        let network = &engine.network;
        let inflow = match &case.inflow {
            None => None,
            Some(stream) => {
                let mut c = vec![0.0; network.components.len()];
                for (name, value) in &stream.concentrations {
                    let i = network.index(name).ok_or_else(|| RunFailure::Component {
                        name: name.clone(),
                        network: network.name,
                    })?;
                    c[i] = *value;
                }
                Some((stream.m3_per_d, c))
            }
        };
        let plumbing = Plumbing {
            kla: vessel.kla_per_d,
            ambient_bar: case.gas.ambient_bar,
            back_pressure_bar: case.gas.back_pressure_bar,
            pipe: case.gas.pipe_m3_per_d_bar,
            returns: case.gas.returns,
            leak: vessel.leak_m3_per_d,
            inflow,
            held_back: vessel.solids_held_back,
        };
        let total = vessel.liquid_m3 + vessel.headspace_m3;
        let liquid = filling.volume_m3.min(vessel.liquid_m3);
        let mut tank = Tank::new(
            Arc::clone(engine),
            plumbing,
            vessel.temperature.clone(),
            liquid,
            total - liquid,
        );
        if case.solver.method == case::MethodKind::Implicit {
            tank = tank.in_pieces();
        }
        if let Some(heat) = &vessel.heat {
            let surroundings = heat.surroundings.clone();
            tank = tank.with_heat(HeatBalance::new(network, surroundings, heat.stream_c()));
        }
        let layout = *tank.layout();
        let mut y = vec![0.0; layout.dim()];
        for (i, a) in filling.amount.iter().enumerate() {
            y[i] = a / filling.volume_m3;
        }
        for (p, pool) in network.pools.iter().enumerate() {
            if filling.pool_amount[p] > 0.0 {
                tank.coefficients[pool.coefficient] =
                    filling.pool_speed[p] / filling.pool_amount[p];
            }
        }
        let t_k = kelvin(match &vessel.heat {
            Some(heat) => heat.start_c,
            None => vessel.temperature.at(0.0).0,
        });
        y[layout.temperature()] = t_k;
        tank.speciate(&y).map_err(|failure| RunFailure::State {
            vessel: vessel.name.clone(),
            day: 0.0,
            failure,
        })?;
        let air = (case.gas.ambient_bar - tank.properties().vapour) * tank.gas_m3 / (R_BAR * t_k);
        if let Some(g) = network.gases.iter().position(|g| g.kind == GasKind::Air) {
            y[layout.gas(g)] = air;
        }

        let looser = case.solver.relative_tolerance / TOLERANCE_BASE;
        let components = network.components.iter();
        let mut atol: Vec<f64> = components.map(|c| c.tolerance * looser).collect();
        for (i, constant) in network.smallest_constants() {
            atol[i] = atol[i].min(KNOWN_TO * constant);
        }
        atol.resize(layout.dim(), GAS_TOLERANCE * air * looser);
        atol[layout.temperature()] = TEMPERATURE_TOLERANCE * looser;
        if vessel.heat.is_some() {
            // The heat of a thousandth of a kelvin; the last counter is kelvin and days.
            atol[layout.heat(0)..].fill(TEMPERATURE_TOLERANCE * tank.capacity() * looser);
            atol[layout.dim() - 1] = TEMPERATURE_TOLERANCE * looser;
        }
        let daily_wave = vessel.heat.is_some()
            || matches!(&vessel.temperature, case::TemperatureCourse::Wave(w) if w.daily_swing_k != 0.0);
        let options = Options {
            method: match case.solver.method {
                case::MethodKind::Implicit => Method::Rodas5P,
                case::MethodKind::Explicit => Method::Dopri5,
            },
            rtol: case.solver.relative_tolerance,
            atol: atol.clone(),
            first_step: None,
            max_step: if daily_wave {
                LONGEST_STEP_DAILY_WAVE_D
            } else {
                LONGEST_STEP_D
            },
            max_steps: MOST_STEPS,
        };
        let gas_least = -NEGATIVE_TOLERANCES * GAS_TOLERANCE * air * looser.max(1.0);
        let explicit = case.solver.method == case::MethodKind::Explicit;
        // The implicit method is held to this; the explicit one errs by its own tolerance.
        let own = if explicit { looser.max(1.0) } else { 1.0 };
        let least = network.components.iter().map(|c| match c.group {
            // A net charge may have either sign; only amounts cannot fall below zero.
            Group::Ion => f64::NEG_INFINITY,
            _ => -NEGATIVE_TOLERANCES * c.tolerance * own,
        });
        // The gases of the headspace stand behind the components.
        let least = least.chain((0..layout.gases).map(|_| gas_least)).collect();
        let tank = tank
            .held_above(least)
            .keeping_passed(GAS_TOLERANCE * air * looser);
        let integrator = Integrator::new(&tank, options)?;
        let reader = Reader::new(&tank);
        Ok(Self {
            name: vessel.name.clone(),
            outlet: Outlet {
                level_m3: vessel.liquid_m3,
                held_back: vessel.solids_held_back,
                short_circuit: vessel.short_circuit,
            },
            sent_before: vec![0.0; layout.gases],
            leaked_before: vec![0.0; layout.gases],
            explicit,
            gas_least,
            heat: vessel
                .heat
                .as_ref()
                .map(|heat| HeatBooks::new(heat, &tank, &y)),
            integrator,
            tank,
            y,
            trace: Vec::new(),
            days: Vec::new(),
            samples: Samples::default(),
            reader,
        })
    }

    /// Goes on with the settings of `next`, a vessel of the same shape, from the state it is in.
    ///
    /// # Errors
    /// [`RunFailure::Shape`].
    pub(super) fn go_on_as(&mut self, next: Self) -> Result<(), RunFailure> {
        if self.tank.layout() != next.tank.layout() {
            return Err(RunFailure::Shape {
                vessel: self.name.clone(),
            });
        }
        let before = std::mem::replace(&mut self.tank, next.tank);
        // What was fed keeps the speed it came with.
        for pool in &before.engine().network.pools {
            self.tank.coefficients[pool.coefficient] = before.coefficients[pool.coefficient];
        }
        (self.tank.liquid_m3, self.tank.gas_m3) = (before.liquid_m3, before.gas_m3);
        (self.outlet, self.integrator) = (next.outlet, next.integrator);
        self.reader = next.reader;
        if let (Some(books), Some(heat)) = (&mut self.heat, next.heat) {
            books.go_on_in(heat);
        }
        Ok(())
    }

    fn state_failure(&self, day: f64, failure: RhsFailure) -> RunFailure {
        RunFailure::State {
            vessel: self.name.clone(),
            day,
            failure,
        }
    }

    /// Integrates from `t0` to `t1` \[d\]; writes trajectory points and closes day rows on the way.
    ///
    /// # Errors
    /// [`RunFailure`] when the integration stops or a state cannot be read.
    pub fn advance(&mut self, t0: f64, t1: f64, clock: &Clock) -> Result<(), RunFailure> {
        self.depart(t0, t1, clock);
        let layout = *self.tank.layout();
        let samples = &mut self.samples;
        let course = self.heat.is_none().then(|| self.tank.course().clone());
        let result = self
            .integrator
            .advance(&mut self.tank, t0, t1, &mut self.y, &mut |step| {
                samples.take(&layout, course.as_ref(), step);
            });
        result.map_err(|failure| self.solver_failure(failure))?;
        self.arrive(t1)
    }

    /// Prepares what is read between `t0` and `t1` \[d\].
    pub(super) fn depart(&mut self, t0: f64, t1: f64, clock: &Clock) {
        let layout = *self.tank.layout();
        if self.heat.is_none() {
            self.y[layout.temperature()] = kelvin(self.tank.course().at(t0).0);
        }
        // A knot of the weather is no jump: one point tells all.
        let told = self.heat.is_some() && !self.trace.is_empty();
        self.samples.plan((t0, t1), clock, &self.y, told);
    }

    /// Whether there is something to be read in a step that ends at `end` \[d\].
    pub(super) fn wants(&self, end: f64) -> bool {
        self.samples.wants(end)
    }

    /// Reads a step on the way.
    #[inline(always)]
    pub(super) fn pass(&mut self, step: &DenseStep<'_>) {
        let course = self.heat.is_none().then(|| self.tank.course());
        self.samples.take(self.tank.layout(), course, step);
    }

    /// The integrator's options.
    pub(super) fn options(&self) -> &Options {
        self.integrator.options()
    }

    /// Takes over the counters of an integration that was made elsewhere.
    pub(super) fn take_statistics(&mut self, statistics: Statistics) {
        self.integrator.set_statistics(statistics);
    }

    /// Writes what was read on the way to `t1` \[d\], where the state now stands.
    ///
    /// # Errors
    /// [`RunFailure`] when a state cannot be read.
    pub(super) fn arrive(&mut self, t1: f64) -> Result<(), RunFailure> {
        let mut samples = std::mem::take(&mut self.samples);
        samples.end(t1, &self.y);
        let read = samples.read(&mut self.reader, &self.tank);
        read.map_err(|(t, failure)| match self.explicit {
            true => self.thrown(t),
            false => self.state_failure(t, failure),
        })?;
        for (t, is_day, y, reading) in samples.readings() {
            if is_day {
                self.close_day(t, y, reading);
            } else {
                let layout = self.tank.layout();
                let sent: f64 = (0..layout.gases).map(|g| y[layout.sent(g)]).sum();
                let next = point(t, sent, reading);
                let gas_nl_d = self.gas_since(&next);
                self.trace.push(Point { gas_nl_d, ..next });
            }
        }
        let returns = self.tank.plumbing().returns;
        let layout = *self.tank.layout();
        let before = samples.first();
        let takes_back = (0..layout.gases)
            .map(|g| layout.sent(g))
            .any(|i| !returns && self.y[i] < before[i] + self.gas_least);
        self.samples = samples;
        self.not_boiling(t1)?;
        if self.explicit && (takes_back || self.tank.below_least(&self.y).is_some()) {
            return Err(self.thrown(t1));
        }
        match self.tank.below_least(&self.y) {
            Some((i, least)) => Err(self.negative(t1, i, least)),
            None => Ok(()),
        }
    }

    /// The explicit method was thrown about, which is not the equations' own way: as where it finds no step.
    fn thrown(&self, time: f64) -> RunFailure {
        self.solver(Failure::Stiff {
            at: Situation {
                time,
                step: 0.0,
                worst: Vec::new(),
            },
        })
    }

    /// Refuses a heat balance that brings the liquor to the boil.
    fn not_boiling(&self, day: f64) -> Result<(), RunFailure> {
        let celsius = self.y[self.tank.layout().temperature()] - ZERO_C;
        if self.heat.is_some() && celsius >= BOILING_C {
            return Err(RunFailure::Boils {
                vessel: self.name.clone(),
                day,
                celsius,
            });
        }
        Ok(())
    }

    fn negative(&self, day: f64, i: usize, limit: f64) -> RunFailure {
        RunFailure::Negative {
            vessel: self.name.clone(),
            day,
            component: self.tank.name(i),
            value: self.y[i],
            limit,
        }
    }

    /// Says what stopped the integrator at `self.y`.
    fn solver_failure(&self, failure: Failure) -> RunFailure {
        let Failure::StepTooSmall { at, cause } = &failure else {
            return self.solver(failure);
        };
        if let Err(boils) = self.not_boiling(at.time) {
            return boils;
        }
        if self.explicit {
            // The equations are smooth: what leaves an explicit method no step at all is that it was thrown about.
            return self.solver(Failure::Stiff { at: at.clone() });
        }
        // No step is short enough where the equations themselves take something below zero. The last state then
        // stands at the brink.
        let brink: Vec<f64> = self.y.iter().map(|y| y * BRINK).collect();
        match (cause, self.tank.below_least(&brink)) {
            (ShrinkCause::Refused(_), Some((i, least))) => self.negative(at.time, i, least),
            _ => self.solver(failure),
        }
    }

    fn solver(&self, failure: Failure) -> RunFailure {
        RunFailure::Solver {
            vessel: self.name.clone(),
            failure,
        }
    }

    /// Gas that was sent since the last point, as a rate \[norm litres/d\]. The flow of a moment hangs on a pressure that
    /// differs from the store's by a millionth, which between two steps is not known.
    fn gas_since(&self, next: &Point) -> f64 {
        let Some(last) = self.trace.last() else {
            return 0.0;
        };
        let passed = next.t_d - last.t_d;
        // As before and after a dose.
        if passed < SHORTEST_RATE_D {
            return last.gas_nl_d;
        }
        let rate = (next.sent_nl - last.sent_nl) / passed;
        if self.tank.plumbing().returns {
            rate
        } else {
            // What was sent never comes back, but for the tolerance.
            rate.max(0.0)
        }
    }

    fn close_day(&mut self, t: f64, y: &[f64], r: &Reading) {
        let layout = *self.tank.layout();
        let engine = Arc::clone(self.tank.engine());
        let (mut gas, mut ch4, mut leaked, mut leaked_ch4) = (0.0, 0.0, 0.0, 0.0);
        for (g, kind) in engine.network.gases.iter().map(|g| g.kind).enumerate() {
            let sent = y[layout.sent(g)] - self.sent_before[g];
            self.sent_before[g] = y[layout.sent(g)];
            gas += sent;
            let lost = if layout.leak {
                y[layout.leaked(g)] - self.leaked_before[g]
            } else {
                0.0
            };
            if layout.leak {
                self.leaked_before[g] = y[layout.leaked(g)];
            }
            leaked += lost;
            if kind == GasKind::CH4 {
                (ch4, leaked_ch4) = (sent, lost);
            }
        }
        let litres = NORM_M3_PER_KMOL * 1000.0;
        let day = (t - 1.0).round().max(0.0) as u32;
        let mut row = DayRow {
            day,
            temperature_c: match &mut self.heat {
                Some(heat) => heat.close_day(&self.tank, t, y, ch4 * litres),
                None => self.tank.course().mean_of_day(f64::from(day)),
            },
            gas_nl: gas * litres,
            ch4_nl: ch4 * litres,
            leaked_nl: leaked * litres,
            leaked_ch4_nl: leaked_ch4 * litres,
            level_l: 1000.0 * self.tank.liquid_m3,
            ..DayRow::default()
        };
        fill_reading(&mut row, r);
        self.days.push(row);
    }

    /// Adds what is in the vessel now to a stock of the ledger.
    pub(super) fn take_stock(&self, into: &mut super::ledger::Stock) {
        let layout = self.tank.layout();
        into.add_liquor(&self.y[..layout.components], self.tank.liquid_m3);
        for g in 0..layout.gases {
            into.add_gas(g, self.y[layout.gas(g)]);
        }
    }

    /// Adds what left with the gas.
    pub(super) fn book_gas(&self, ledger: &mut Ledger) {
        let layout = self.tank.layout();
        for g in 0..layout.gases {
            ledger.sent.add_gas(g, self.y[layout.sent(g)]);
            if layout.leak {
                ledger.leaked.add_gas(g, self.y[layout.leaked(g)]);
            }
        }
    }

    /// Puts a load of a temperature \[C\] in; returns what overflows and its temperature.
    pub(super) fn dose(&mut self, load: &Load, celsius: f64) -> (Load, f64) {
        let liquor_c = self.y[self.tank.layout().temperature()] - ZERO_C;
        let (out, out_c) = self
            .tank
            .dose_warm(&mut self.y, load, &self.outlet, celsius);
        if let Some(heat) = &mut self.heat {
            heat.dose((load.volume_m3, celsius), (out.volume_m3, out_c), liquor_c);
        }
        (out, out_c)
    }

    /// Temperature at which a dose arrives at `t` \[d\], in C.
    pub(super) fn feed_at(&self, t: f64) -> f64 {
        match &self.heat {
            Some(heat) => heat.feed_at(t),
            None => self.y[self.tank.layout().temperature()] - ZERO_C,
        }
    }

    /// Amount of a component in the vessel \[its unit\].
    pub(super) fn amount(&self, component: usize) -> f64 {
        self.y[component] * self.tank.liquid_m3
    }
}

/// A point whose gas rate is still to be told; `sent`: gas to the store since the start \[kmol\].
fn point(t: f64, sent: f64, r: &Reading) -> Point {
    Point {
        t_d: t,
        temperature_c: r.temperature_c,
        gas_nl_d: 0.0,
        sent_nl: sent * NORM_M3_PER_KMOL * 1000.0,
        ch4_share: r.shares.ch4,
        air_share: r.shares.air,
        ph: r.ph,
        acids_mg_l: r.acids_mg_l,
        pressure_mbar: r.pressure_mbar,
    }
}

fn fill_reading(row: &mut DayRow, r: &Reading) {
    row.ch4_share = r.shares.ch4;
    row.co2_share = r.shares.co2;
    row.air_share = r.shares.air;
    row.h2s_ppm = 1e6 * r.shares.h2s;
    row.h2_ppm = 1e6 * r.shares.h2;
    row.vapour_share = r.vapour_share;
    row.ph = r.ph;
    row.acetic_mg_l = r.acetic_mg_l;
    row.propionic_mg_l = r.propionic_mg_l;
    row.butyric_mg_l = r.butyric_mg_l;
    row.acids_mg_l = r.acids_mg_l;
    row.alkalinity_mg_l = r.alkalinity_mg_l;
    row.partial_alkalinity_mg_l = r.partial_alkalinity_mg_l;
    row.acid_ratio = r.acid_ratio;
    row.ammonium_mg_l = r.ammonium_mg_l;
    row.free_ammonia_mg_l = r.free_ammonia_mg_l;
}
