//! Many runs of one shape at once, in the lanes of wide instructions.

use std::sync::Arc;

use super::failure::RunFailure;
use super::outcome::Outcome;
use super::run::{Going, run_on};
use crate::case::{Case, MethodKind};
use crate::digester::{Engine, Tank};
use crate::lanes::{Lanes, WIDTH};
use crate::solver::{Abreast, Arrival, Crew, DenseStep, LaneSystem, Stretch};

/// A case and the engine that was built for it.
#[derive(Debug, Clone)]
pub struct Member {
    /// The engine, as [`super::engine`] builds it for the case.
    pub engine: Arc<Engine>,
    /// The case.
    pub case: Box<Case>,
}

/// Those who give the runs and take what comes of them.
pub trait Port {
    /// The next run, under a number of its own; or none.
    fn next(&mut self) -> Option<(usize, Member)>;

    /// What came of a run.
    fn done(&mut self, index: usize, case: &Case, outcome: Result<Outcome, RunFailure>);
}

/// Runs cases as [`run_on`] does, each to the same last bit, but several at once where they are of one shape: one
/// vessel, the implicit method, the same processes. The others are run alone. What comes first is done first, but
/// nothing promises any order.
pub fn run_many(port: &mut dyn Port) {
    let Some((tanks, first)) = first_abreast(port) else {
        return;
    };
    let (mut tanks, mut convoy) = (tanks, Convoy::new(port, first));
    match Abreast::new(tanks.pattern()) {
        Some(mut solver) => solver.run(&mut tanks, &mut convoy),
        None => convoy.all_alone(),
    }
}

/// Runs whatever comes before the first case that can go beside others; gives that and its tank in every lane.
fn first_abreast(port: &mut dyn Port) -> Option<(Tank<Lanes>, (usize, Member))> {
    while let Some((index, member)) = port.next() {
        if is_simple(&member.case)
            && let Ok(going) = Going::begin(&member.engine, &*member.case)
            && let Some(vessel) = going.vessels.first()
        {
            return Some((Tank::abreast(&vessel.tank), (index, member)));
        }
        alone(port, index, &member.engine, &member.case);
    }
    None
}

fn alone(port: &mut dyn Port, index: usize, engine: &Arc<Engine>, case: &Case) {
    let outcome = run_on(engine, case, &mut |_| {});
    port.done(index, case, outcome);
}

/// Whether a case can go beside others.
fn is_simple(case: &Case) -> bool {
    case.vessels.len() == 1 && case.solver.method == MethodKind::Implicit
}

/// The runs in the lanes.
struct Convoy<'a> {
    port: &'a mut dyn Port,
    /// One that was looked at to see the shape of all.
    first: Option<(usize, Member)>,
    lanes: [Option<Rider>; WIDTH],
}

/// One run in its lane.
struct Rider {
    index: usize,
    going: Going<Box<Case>>,
    /// The end of the stretch under way \[d\].
    to: f64,
}

impl Rider {
    /// Takes the next stretch up, if there is one.
    fn depart(&mut self, stretch: &mut Stretch) -> bool {
        let Some((from, to)) = self.going.depart() else {
            return false;
        };
        self.to = to;
        let running = &mut self.going.vessels[0];
        running.depart(from, to, &self.going.clock);
        stretch.y.copy_from_slice(&running.y);
        (stretch.t0, stretch.t1) = (from, to);
        true
    }

    /// Writes down the stretch that was just done.
    fn arrive(&mut self, tanks: &Tank<Lanes>, lane: usize, y: &[f64]) -> Result<(), RunFailure> {
        let running = &mut self.going.vessels[0];
        running.y.copy_from_slice(y);
        running.tank.set_open(tanks.is_lane_open(lane));
        running.arrive(self.to)?;
        self.going.arrive(self.to);
        Ok(())
    }
}

impl<'a> Convoy<'a> {
    fn new(port: &'a mut dyn Port, first: (usize, Member)) -> Self {
        Self {
            port,
            first: Some(first),
            lanes: [const { None }; WIDTH],
        }
    }

    fn waiting(&mut self) -> Option<(usize, Member)> {
        self.first.take().or_else(|| self.port.next())
    }

    fn all_alone(&mut self) {
        while let Some((index, member)) = self.waiting() {
            alone(self.port, index, &member.engine, &member.case);
        }
    }

    /// Finds a new run for a lane.
    fn refill(&mut self, tanks: &mut Tank<Lanes>, lane: usize, stretch: &mut Stretch) -> bool {
        while let Some((index, Member { engine, case })) = self.waiting() {
            if !is_simple(&case) {
                alone(self.port, index, &engine, &case);
                continue;
            }
            let going = match Going::begin(&engine, case) {
                Ok(going) => going,
                Err((case, failure)) => {
                    self.port.done(index, &case, Err(failure));
                    continue;
                }
            };
            let mut rider = Rider {
                index,
                going,
                to: 0.0,
            };
            if !tanks.put(lane, &rider.going.vessels[0].tank) {
                self.strand(&rider);
                continue;
            }
            if !rider.depart(stretch) {
                self.land(rider);
                continue;
            }
            let running = &rider.going.vessels[0];
            tanks.renew(lane, &running.tank);
            stretch.fresh = Some(running.options().clone());
            self.lanes[lane] = Some(rider);
            return true;
        }
        false
    }

    fn land(&mut self, rider: Rider) {
        let (case, outcome) = rider.going.end();
        self.port.done(rider.index, &case, outcome);
    }

    fn strand(&mut self, rider: &Rider) {
        alone(
            self.port,
            rider.index,
            &rider.going.engine,
            &rider.going.case,
        );
    }
}

impl Crew<Tank<Lanes>> for Convoy<'_> {
    fn wants(&self, lane: usize, end: f64) -> bool {
        let rider = self.lanes[lane].as_ref();
        rider.is_some_and(|rider| rider.going.vessels[0].wants(end))
    }

    #[inline(always)]
    fn stepped(&mut self, lane: usize, step: &DenseStep<'_>) {
        if let Some(rider) = &mut self.lanes[lane] {
            rider.going.vessels[0].pass(step);
        }
    }

    fn next(
        &mut self,
        tanks: &mut Tank<Lanes>,
        lane: usize,
        arrival: Arrival,
        stretch: &mut Stretch,
    ) -> bool {
        let Some(mut rider) = self.lanes[lane].take() else {
            return self.refill(tanks, lane, stretch);
        };
        match arrival {
            Arrival::There => match rider.arrive(tanks, lane, &stretch.y) {
                Ok(()) if rider.depart(stretch) => {
                    tanks.renew(lane, &rider.going.vessels[0].tank);
                    self.lanes[lane] = Some(rider);
                    return true;
                }
                Ok(()) => {
                    rider.going.vessels[0].take_statistics(stretch.statistics);
                    self.land(rider);
                }
                Err(failure) => self.port.done(rider.index, &rider.going.case, Err(failure)),
            },
            Arrival::None | Arrival::Stranded => self.strand(&rider),
        }
        self.refill(tanks, lane, stretch)
    }
}
