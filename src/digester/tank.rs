//! One tank between two doses: what it is made of, and the tank as a system of differential equations.
//!
//! ```text
//! dC/dt  = sum rows * rates + (q/V)(C_in - keep C) - transfer
//! dn/dt  = V transfer - n/V_g (outlet + leak)              headspace, kmol
//! dT/dt  = slope of the prescribed course, or the heat balance (`heat`)
//! ```
//!
//! pH and ionic strength are solved inside (see [`crate::chemistry::AcidBase`]) and appear as auxiliary unknowns in
//! the Jacobian. Gas transfer and outlet follow Batstone et al. (2002) and Rosen and Jeppsson (2006).

use std::ops::Range;
use std::sync::Arc;

use super::engine::{AcidTotals, Engine};
use super::jacobian::Stamp;
use super::layout::Layout;
use super::numbers::Numbers;
use super::plumbing::Plumbing;
use crate::chemistry::{NoBalance, Speciation};
use crate::kinetics::{Properties, PropertyTable, Rates};
use crate::lanes::{LaneSet, Real};
use crate::solver::{Pattern, RhsFailure, System};
use crate::thermal::TemperatureCourse;

mod abreast;
mod flows;
mod heat;
mod slopes;

pub use heat::HeatBalance;
pub(crate) use heat::flows as heat_flows;

/// The outlet opens this far above the store's pressure \[bar\]: 0.1 Pa. It closes where the flow ends; were both at
/// one pressure, a tank that rests there would open and close without end.
const OUTLET_OPENS_BAR: f64 = 1e-6;

/// Share of the gas that passes within a step by which its course may swing there: what died out unseen swings by a tenth.
const SWING: f64 = 1e-3;

/// How the outlet's corner at the store's pressure is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Corner {
    /// As one rounded function.
    Rounded,
    /// As two pieces, the integrator stopping where one goes over to the other.
    Pieces {
        /// The lanes in which gas flows.
        open: LaneSet,
    },
}

/// A tank as a system of differential equations; or one tank in each lane, all of one shape.
#[derive(Debug, Clone)]
pub struct Tank<R: Real = f64> {
    /// The engine of each lane; that of the first gives the shape of all.
    engines: Vec<Arc<Engine>>,
    numbers: Arc<Numbers<R>>,
    layout: Layout,
    /// Liquid volume \[m3\]; changes only between segments.
    pub liquid_m3: R,
    /// Gas volume \[m3\]; changes only between segments.
    pub gas_m3: R,
    /// Rate coefficients at 35 C; the hydrolysis ones follow what was fed.
    pub coefficients: Vec<R>,
    /// Course of the temperature of each lane.
    courses: Vec<TemperatureCourse>,
    plumbing: Plumbing<R>,
    corner: Corner,
    heat: Option<HeatBalance<R>>,
    /// The least that a step may leave of each component and gas, as a rule a little below zero; or empty.
    least: Vec<R>,
    /// What a step may take back of a gas that was sent or leaked \[kmol\].
    taken_back: R,
    rates: Rates<R>,
    props: Properties<R>,
    /// Acid totals of the state last speciated.
    totals: AcidTotals<R>,
    /// The liquor last speciated; the next one starts from it.
    liquor: Speciation<R>,
    stamp: Stamp,
}

impl Tank {
    /// Assembles a tank.
    #[must_use]
    pub fn new(
        engine: Arc<Engine>,
        plumbing: Plumbing,
        course: TemperatureCourse,
        liquid_m3: f64,
        gas_m3: f64,
    ) -> Self {
        let network = &engine.network;
        let layout = Layout::new(network, plumbing.leak > 0.0, plumbing.inflow.is_some());
        let aux = if engine.acid_base.is_davies() { 2 } else { 1 };
        let mut tank = Self {
            rates: Rates::new(network),
            coefficients: network.coefficients.iter().map(|c| c.value).collect(),
            layout,
            liquid_m3,
            gas_m3,
            courses: vec![course],
            plumbing,
            corner: Corner::Rounded,
            heat: None,
            least: Vec::new(),
            taken_back: f64::INFINITY,
            props: Properties::blank(),
            totals: AcidTotals::none(),
            liquor: Speciation::unknown(),
            stamp: Stamp::new(layout.dim(), aux),
            numbers: Arc::clone(&engine.numbers),
            engines: vec![engine],
        };
        tank.record_pattern();
        tank
    }

    /// Walks once through the Jacobian at a harmless state to learn its pattern.
    fn record_pattern(&mut self) {
        let mut y = vec![1e-3; self.layout.dim()];
        y[self.layout.temperature()] = crate::kinetics::REFERENCE_K;
        if self.speciate(&y).is_ok() {
            let slopes = self.evaluate_slopes(&y);
            let mut stamp = Stamp::new(self.layout.dim(), self.stamp.pattern().aux);
            self.write_jacobian(0.0, &y, &slopes, &mut stamp);
            self.stamp = stamp;
        }
        self.liquor = Speciation::unknown();
    }

    /// Lets the temperature follow a heat balance in place of the course.
    #[must_use]
    pub fn with_heat(mut self, heat: HeatBalance) -> Self {
        self.layout.heat = true;
        self.heat = Some(heat);
        self.record_pattern();
        self
    }

    /// Course of the temperature.
    #[must_use]
    pub fn course(&self) -> &TemperatureCourse {
        &self.courses[0]
    }

    /// Solves the acid-base balance at a state.
    ///
    /// # Errors
    /// [`RhsFailure::Recoverable`] if the state allows none.
    pub fn speciate(&mut self, y: &[f64]) -> Result<Speciation, RhsFailure> {
        if self.balance(y, f64::all()).is_empty() {
            PropertyTable::fill_slopes(|_| &self.engines[0].properties, &mut self.props);
            Ok(self.liquor)
        } else {
            Err(RhsFailure::Recoverable(self.complaint(y)))
        }
    }

    /// Solves the acid-base balance at a state at which the rate laws mean something.
    fn balanced_for_rates(&mut self, y: &[f64]) -> Result<(), RhsFailure> {
        if self.balance_for_rates(y, f64::all()).is_empty() {
            Ok(())
        } else {
            Err(RhsFailure::Recoverable(self.complaint(y)))
        }
    }

    /// What is wrong with a state that has no balance.
    #[cold]
    fn complaint(&self, y: &[f64]) -> String {
        let t = y[self.layout.temperature()];
        if !flows::is_sane(t) {
            return format!("a temperature of {t:.1} K");
        }
        if let Some(&(i, _)) = self.numbers.floors.iter().find(|(i, floor)| y[*i] < *floor) {
            return format!("{} at {:.3e}", self.name(i), y[i]);
        }
        let strong = self.totals.borrow().strong;
        NoBalance { strong }.to_string()
    }

    /// Writes the outlet's corner as two pieces, between which an implicit integrator stops. For a run in time only:
    /// the piece in force belongs to the state.
    #[must_use]
    pub fn in_pieces(mut self) -> Self {
        if !self.plumbing.returns {
            self.corner = Corner::Pieces { open: f64::all() };
        }
        self
    }

    /// Has the integrator shorten steps that would leave less than this of the components and gases, in the order of
    /// the state, or less than a rate law bears.
    #[must_use]
    pub fn held_above(mut self, least: Vec<f64>) -> Self {
        self.least = least;
        for &(i, floor) in &self.numbers.floors {
            if let Some(least) = self.least.get_mut(i) {
                *least = least.max(floor);
            }
        }
        self
    }

    /// Has the integrator shorten steps that would take back more than this of a gas that was sent or leaked
    /// \[kmol\]: where the pieces of the outlet meet inside a step, gas flows back in the open one, and a long step
    /// over the end of a leak's flow errs to either side. An outlet that gives gas back may.
    #[must_use]
    pub fn keeping_passed(mut self, taken_back: f64) -> Self {
        self.taken_back = taken_back;
        self
    }

    /// The first component or gas of which a state holds less than the least.
    #[must_use]
    pub fn below_least(&self, y: &[f64]) -> Option<(usize, f64)> {
        let mut all = y.iter().zip(&self.least).enumerate();
        all.find_map(|(i, (y, least))| (y < least).then_some((i, *least)))
    }

    /// Whether the piece of the outlet in force lets gas flow.
    #[must_use]
    pub fn is_open(&self) -> bool {
        match self.corner {
            Corner::Pieces { open } => !open.is_empty(),
            Corner::Rounded => true,
        }
    }

    /// Puts the piece of the outlet in force that held at a state of the past; without pieces it does nothing.
    /// Returns which was in force.
    pub fn set_open(&mut self, is_open: bool) -> bool {
        let was = self.is_open();
        if let Corner::Pieces { open } = &mut self.corner {
            *open = if is_open { f64::all() } else { LaneSet::NONE };
            was
        } else {
            is_open
        }
    }

    /// Gas flow through the leak \[m3/d, as in the headspace\] at the state last speciated.
    #[must_use]
    pub fn leak_flow(&self, y: &[f64]) -> f64 {
        let over = self.pressure(y) - self.plumbing.ambient_bar;
        self.leak_conductance() * flows::positive_part(over).0
    }
}

impl<R: Real> Tank<R> {
    /// Layout of the state vector.
    #[must_use]
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The engine it runs on; that of the first lane, where there are several.
    #[must_use]
    #[inline(always)]
    pub fn engine(&self) -> &Arc<Engine> {
        &self.engines[0]
    }

    /// Volumes, pipes and streams.
    #[must_use]
    pub fn plumbing(&self) -> &Plumbing<R> {
        &self.plumbing
    }

    /// Temperature-dependent properties at the state last speciated.
    #[must_use]
    pub fn properties(&self) -> &Properties<R> {
        &self.props
    }

    /// The liquor last speciated.
    pub(super) fn liquor(&self) -> &Speciation<R> {
        &self.liquor
    }

    /// Where the gas that passed and cannot come back stands.
    #[inline(always)]
    fn passed(&self) -> Range<usize> {
        let l = &self.layout;
        let first = if self.plumbing.returns { l.gases } else { 0 };
        let end = if l.leak { 2 * l.gases } else { l.gases };
        l.sent(first)..l.sent(end)
    }

    /// Whether the temperature follows a heat balance.
    #[must_use]
    pub fn has_heat(&self) -> bool {
        self.heat.is_some()
    }
}

/// The lanes in which what passes in one direction within a step goes back there by more than is allowed.
#[inline(always)]
fn swings<R: Real>(from: R, inside: R, to: R, allowed: R) -> LaneSet {
    let allowed = allowed + (to - from).abs() * SWING;
    inside.below(from - allowed) | to.below(inside - allowed)
}

impl System for Tank {
    fn dim(&self) -> usize {
        self.layout.dim()
    }

    fn rhs(&mut self, t: f64, y: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure> {
        self.balanced_for_rates(y)?;
        self.evaluate(y);
        self.write_rhs(t, y, dy);
        Ok(())
    }

    fn pattern(&self) -> &Pattern {
        self.stamp.pattern()
    }

    fn jacobian(
        &mut self,
        t: f64,
        y: &[f64],
        dy: &mut [f64],
        dfdt: &mut [f64],
        values: &mut [f64],
    ) -> Result<(), RhsFailure> {
        self.balanced_for_rates(y)?;
        let slopes = self.evaluate_slopes(y);
        self.write_rhs(t, y, dy);
        self.write_by_time(t, y, dfdt);
        self.write_jacobian(t, y, &slopes, &mut self.stamp.pass(values));
        Ok(())
    }

    fn margin(&self, y: &[f64]) -> f64 {
        self.outlet_margin(y)
    }

    fn margin_states(&self) -> Range<usize> {
        self.layout.headspace()
    }

    fn strays(&self, from: &[f64], to: &[f64]) -> Option<usize> {
        // Where less was left before, whatever comes nearer is welcome.
        let mut all = self.least.iter().zip(from).zip(to);
        let low = all.position(|((least, from), to)| to < least && to < from);
        low.or_else(|| self.passed().find(|&i| to[i] < from[i] - self.taken_back))
    }

    fn turns(&self, from: &[f64], inside: &[f64], to: &[f64]) -> Option<usize> {
        let mut passed = self.passed();
        passed.find(|&i| !swings(from[i], inside[i], to[i], self.taken_back).is_empty())
    }

    fn turning_states(&self) -> Range<usize> {
        self.passed()
    }

    fn switch(&mut self) {
        self.set_open(!self.is_open());
    }

    fn name(&self, i: usize) -> String {
        let (l, network) = (&self.layout, &self.engine().network);
        let gas = |g: usize| format!("{:?}", network.gases[g].kind);
        match i {
            i if i < l.components => network.components[i].name.to_owned(),
            i if i < l.temperature() => format!("headspace {}", gas(i - l.components)),
            i if i == l.temperature() => "temperature".to_owned(),
            i if i < l.leaked(0) => format!("sent {}", gas(i - l.sent(0))),
            i if i < l.drained(0) => format!("leaked {}", gas(i - l.leaked(0))),
            i if i >= l.heat(0) => "heat passed".to_owned(),
            i => format!("drained {}", network.components[i - l.drained(0)].name),
        }
    }
}
