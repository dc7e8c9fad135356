//! One cycle of all lanes: an attempt, its verdicts, the slopes of what comes next.

use super::task::State;
use super::{Abreast, Arrival, Crew, LaneSystem};
use crate::lanes::{LaneSet, Lanes, Real, WIDTH};
use crate::solver::control;
use crate::solver::dense_step::{DenseStep, Inside};
use crate::solver::options::Method;
use crate::solver::rosenbrock::{
    Crossing, Goal, crossing_before, is_reached, last_of_piece, look, outside,
};
use crate::solver::stages::{self, Ends, Shared, Verdict};

impl Abreast {
    #[inline(always)]
    pub(super) fn go<S: LaneSystem, C: Crew<S>>(&mut self, system: &mut S, crew: &mut C) {
        for lane in 0..WIDTH {
            self.ask(system, crew, lane, Arrival::None);
        }
        loop {
            let running = self.choose(system, crew);
            let mut new = self.lanes_in(State::Starting);
            if running.is_empty() && new.is_empty() {
                return;
            }
            let mut accepted = LaneSet::NONE;
            let mut error = Lanes::splat(0.0);
            if !running.is_empty() {
                let (verdict, finished) = self.attempt(system, running);
                error = verdict.error;
                let sound = self.judge(system, crew, running, finished, &verdict);
                // Whose stretch ends needs no slope there, but one where the next begins.
                for lane in lanes(sound) {
                    if self.tasks[lane].goal == Goal::End {
                        self.arrive(system, crew, lane, error.lane(lane));
                    } else {
                        accepted = accepted | LaneSet::one(lane);
                    }
                }
                new = self.lanes_in(State::Starting);
            }
            self.slopes(system, crew, accepted, new, error);
        }
    }

    /// Chooses the step of each running lane; returns those that have one.
    fn choose<S: LaneSystem, C: Crew<S>>(&mut self, system: &mut S, crew: &mut C) -> LaneSet {
        let mut running = LaneSet::NONE;
        for lane in 0..WIDTH {
            if self.tasks[lane].state != State::Running {
                continue;
            }
            if self.tasks[lane].choose() {
                running = running | LaneSet::one(lane);
            } else {
                self.strand(system, crew, lane);
            }
        }
        running
    }

    /// Tries the chosen steps. The second set holds the lanes that came through all stages.
    #[inline(always)]
    fn attempt<S: LaneSystem>(
        &mut self,
        system: &mut S,
        running: LaneSet,
    ) -> (Verdict<Lanes>, LaneSet) {
        let (tableau, dim) = (self.tableau, self.y.len());
        let of_task = |of: fn(&super::Task) -> f64| Lanes::gather(|i| of(&self.tasks[i]));
        let (t, h, end) = (of_task(|t| t.t), of_task(|t| t.step), of_task(|t| t.end));
        let shift = (h * tableau.gamma).recip();
        let trusted = self.linear.factor_lanes(&self.here.values, shift);
        let mut of = running & trusted;
        for lane in lanes(running.without(trusted)) {
            // It needs dense pivoting, which is left to a run alone.
            self.tasks[lane].h = 0.0;
        }
        let d = h * tableau.d[0];
        for (b, dfdt) in self.b.iter_mut().zip(&self.here.dfdt) {
            *b = d * *dfdt;
        }
        self.linear.solve(&self.here.f, &self.b, &mut self.u[..dim]);
        for lane in lanes(running) {
            let statistics = &mut self.tasks[lane].stretch.statistics;
            statistics.factorisations += 1;
            statistics.solves += 1;
        }
        let shared = Shared {
            y: &self.y,
            dfdt: &self.here.dfdt,
            mass: &self.mass,
            h,
        };
        for stage in 1..tableau.stages {
            let (before, this) = self.u.split_at_mut(stage * dim);
            stages::prepare(
                tableau,
                stage,
                &shared,
                before,
                &mut self.argument,
                &mut self.b,
            );
            // At the end of a stretch another piece may begin, and no stage must see it.
            let time = (t + h * tableau.node[stage]).smaller(last_of_piece(end));
            let refused = system.rhs(of, time, &self.argument, &mut self.f);
            self.linear.solve(&self.f, &self.b, &mut this[..dim]);
            for lane in lanes(of) {
                let statistics = &mut self.tasks[lane].stretch.statistics;
                statistics.rhs += 1;
                statistics.solves += u64::from(!refused.has(lane));
            }
            of = of.without(refused);
        }
        let error = &self.u[(tableau.stages - 1) * dim..];
        let verdict = stages::finish(&self.y, error, &self.atol, self.rtol, &mut self.argument);
        (verdict, of)
    }

    /// Sorts the attempts out; returns the lanes whose step is good so far.
    #[inline(always)]
    fn judge<S: LaneSystem, C: Crew<S>>(
        &mut self,
        system: &mut S,
        crew: &mut C,
        running: LaneSet,
        finished: LaneSet,
        verdict: &Verdict<Lanes>,
    ) -> LaneSet {
        let strays = system.strays(&self.y, &self.argument);
        let (at_start, at_end) = (system.margin(&self.y), system.margin(&self.argument));
        let beyond = self.outside(system, at_start, at_end);
        let turns = self.turns(system, at_end);
        let mut good = LaneSet::NONE;
        for lane in lanes(running) {
            let error = verdict.error.lane(lane);
            let task = &mut self.tasks[lane];
            if task.h == 0.0 {
                self.strand(system, crew, lane);
                continue;
            }
            if !(finished & verdict.finite).has(lane) {
                task.refuse();
                continue;
            }
            if error > 1.0 {
                task.reject(error);
                continue;
            }
            let mut goes_over = false;
            if task.goal == Goal::Crossing {
                goes_over = is_reached(at_end.lane(lane), task.overshot);
            } else if beyond.1.lane(lane) < 0.0 {
                let beyond = (beyond.0.lane(lane), beyond.1.lane(lane));
                let found = self.crossing(system, lane, at_start.lane(lane), beyond);
                self.tasks[lane].crosses(found);
                continue;
            }
            if (turns | strays).has(lane) {
                self.tasks[lane].refuse();
                continue;
            }
            if goes_over {
                system.switch(lane);
            }
            good = good | LaneSet::one(lane);
        }
        good
    }

    /// Slopes at the ends of accepted steps and at the starts of new stretches, in one call for all of them.
    #[inline(always)]
    fn slopes<S: LaneSystem, C: Crew<S>>(
        &mut self,
        system: &mut S,
        crew: &mut C,
        accepted: LaneSet,
        new: LaneSet,
        error: Lanes,
    ) {
        let of = accepted | new;
        if of.is_empty() {
            return;
        }
        // The states of new stretches take the place of attempts that are done with, not of those under way.
        let whose = |task: &super::Task, lane: usize| {
            if new.has(lane) {
                task.stretch.t0
            } else {
                task.end
            }
        };
        let t = Lanes::gather(|lane| whose(&self.tasks[lane], lane));
        for lane in lanes(new) {
            let task = &self.tasks[lane];
            for (to, from) in self.argument.iter_mut().zip(&task.stretch.y) {
                to.put(lane, *from);
            }
        }
        let refused = system.jacobian(of, t, &self.argument, self.next.lanes());
        for lane in lanes(of) {
            self.tasks[lane].stretch.statistics.jacobians += 1;
        }
        for lane in lanes(accepted) {
            if refused.has(lane) {
                self.tasks[lane].refuse();
            } else {
                self.show(crew, lane);
                self.tasks[lane].accept(error.lane(lane));
            }
        }
        let moved = of.without(refused);
        let mix = |own: &mut Vec<Lanes>, new: &mut Vec<Lanes>| {
            if moved == Lanes::all() {
                std::mem::swap(own, new);
            } else {
                for (own, new) in own.iter_mut().zip(&*new) {
                    *own = Lanes::pick(moved, *new, *own);
                }
            }
        };
        mix(&mut self.here.f, &mut self.next.f);
        mix(&mut self.here.dfdt, &mut self.next.dfdt);
        mix(&mut self.here.values, &mut self.next.values);
        mix(&mut self.y, &mut self.argument);
        for lane in lanes(new) {
            if refused.has(lane) {
                self.strand(system, crew, lane);
            } else {
                self.set_out(system, lane);
            }
        }
        // An accepted step may have ended where the stretch does, at a crossing.
        for lane in lanes(accepted & moved) {
            let task = &self.tasks[lane];
            if task.t >= task.stretch.t1 {
                self.hand_over(system, crew, lane);
            }
        }
    }

    /// The first step of a stretch whose slope is known.
    fn set_out<S: LaneSystem>(&mut self, system: &mut S, lane: usize) {
        let task = &mut self.tasks[lane];
        let (length, t0) = (task.length(), task.stretch.t0);
        let longest = task.max_step.min(length);
        let known = task.control.begin(task.jumped, length).or(task.first_step);
        let h = known.unwrap_or_else(|| {
            task.stretch.statistics.rhs += 1;
            let one = |v: &[Lanes]| v.iter().map(|v| v.lane(lane)).collect::<Vec<f64>>();
            let (y, slope, atol) = (one(&self.y), one(&self.here.f), one(&self.atol));
            let rtol = self.rtol.lane(lane);
            let weights: Vec<f64> = atol
                .iter()
                .zip(&y)
                .map(|(atol, y)| atol + rtol * y.abs())
                .collect();
            let mut wide = self.y.clone();
            let mut rhs = |t: f64, y: &[f64], dy: &mut [f64]| {
                wide.iter_mut().zip(y).for_each(|(to, y)| to.put(lane, *y));
                let refused = system.rhs(LaneSet::one(lane), Lanes::splat(t), &wide, &mut self.f);
                dy.iter_mut()
                    .zip(&self.f)
                    .for_each(|(to, f)| *to = f.lane(lane));
                refused.is_empty()
            };
            let order = Method::Rodas5P.order();
            control::first_guess(&mut rhs, (t0, longest), order, &y, &slope, &weights)
        });
        task.set_out(h);
    }

    /// A time inside the attempted steps at which the piece in force holds no longer, and the margin there; none where
    /// that is not below zero.
    #[inline(always)]
    fn outside<S: LaneSystem>(
        &mut self,
        system: &S,
        at_start: Lanes,
        at_end: Lanes,
    ) -> (Lanes, Lanes) {
        let of_task = |of: fn(&super::Task) -> f64| Lanes::gather(|i| of(&self.tasks[i]));
        let (start, end) = (of_task(|t| t.t), of_task(|t| t.end));
        if at_end.finite().is_empty() {
            return (end, at_end);
        }
        let step = Ends {
            start: &self.y,
            end: &self.argument,
            u: &self.u,
        };
        // What the slopes will be written to is free until then.
        let y = &mut self.next.f;
        outside((start, at_start), (end, at_end), |at| {
            let x = (at - start) / (end - start);
            stages::inside(self.tableau, x, system.margin_states(), &step, y);
            system.margin(y)
        })
    }

    /// The lanes in which a state runs the wrong way inside the attempted step, of those that have a margin.
    #[inline(always)]
    fn turns<S: LaneSystem>(&mut self, system: &S, at_end: Lanes) -> LaneSet {
        let of = at_end.finite();
        if of.is_empty() {
            return of;
        }
        let of_task = |of: fn(&super::Task) -> f64| Lanes::gather(|i| of(&self.tasks[i]));
        let (start, end) = (of_task(|t| t.t), of_task(|t| t.end));
        let step = Ends {
            start: &self.y,
            end: &self.argument,
            u: &self.u,
        };
        let y = &mut self.next.f;
        let x = (look(start, end) - start) / (end - start);
        stages::inside(self.tableau, x, system.turning_states(), &step, y);
        of & system.turns(&self.y, y, &self.argument)
    }

    /// Where the margin of a lane vanishes inside its attempted step, before a time at which it is given.
    fn crossing<S: LaneSystem>(
        &mut self,
        system: &S,
        lane: usize,
        at_start: f64,
        beyond: (f64, f64),
    ) -> Crossing {
        self.look(lane);
        let mut y = std::mem::take(&mut self.window.inside);
        let step = self.view(lane);
        let (start, length) = ((step.start(), at_start), step.end() - step.start());
        let found = crossing_before(start, beyond, length, |t| {
            step.eval_some(t, system.margin_states(), &mut y);
            system.lane_margin(lane, &y)
        });
        self.window.inside = y;
        found
    }

    /// Copies a lane of the attempted step into the window.
    fn look(&mut self, lane: usize) {
        let copy = |to: &mut [f64], from: &[Lanes]| {
            to.iter_mut()
                .zip(from)
                .for_each(|(to, from)| *to = from.lane(lane));
        };
        copy(&mut self.window.y_start, &self.y);
        copy(&mut self.window.y_end, &self.argument);
        copy(&mut self.window.stages, &self.u);
    }

    fn view(&self, lane: usize) -> DenseStep<'_> {
        let (task, window) = (&self.tasks[lane], &self.window);
        DenseStep {
            start: task.t,
            end: task.end,
            y_start: &window.y_start,
            y_end: &window.y_end,
            inside: Inside::Rosenbrock {
                tableau: self.tableau,
                stages: &window.stages,
            },
        }
    }

    #[inline(always)]
    fn show<S, C: Crew<S>>(&mut self, crew: &mut C, lane: usize) {
        if !crew.wants(lane, self.tasks[lane].end) {
            return;
        }
        self.look(lane);
        crew.stepped(lane, &self.view(lane));
    }

    /// The last step of a stretch.
    #[inline(always)]
    fn arrive<S: LaneSystem, C: Crew<S>>(
        &mut self,
        system: &mut S,
        crew: &mut C,
        lane: usize,
        error: f64,
    ) {
        self.show(crew, lane);
        self.tasks[lane].accept(error);
        for (y, new) in self.y.iter_mut().zip(&self.argument) {
            y.put(lane, new.lane(lane));
        }
        self.hand_over(system, crew, lane);
    }

    /// Gives the state at the end of a stretch to the crew and asks for the next.
    fn hand_over<S: LaneSystem, C: Crew<S>>(&mut self, system: &mut S, crew: &mut C, lane: usize) {
        let task = &mut self.tasks[lane];
        task.arrive();
        for (to, y) in task.stretch.y.iter_mut().zip(&self.y) {
            *to = y.lane(lane);
        }
        self.ask(system, crew, lane, Arrival::There);
    }

    fn strand<S: LaneSystem, C: Crew<S>>(&mut self, system: &mut S, crew: &mut C, lane: usize) {
        self.ask(system, crew, lane, Arrival::Stranded);
    }

    #[cold]
    #[inline(never)]
    fn ask<S: LaneSystem, C: Crew<S>>(
        &mut self,
        system: &mut S,
        crew: &mut C,
        lane: usize,
        arrival: Arrival,
    ) {
        let task = &mut self.tasks[lane];
        if !crew.next(system, lane, arrival, &mut task.stretch) {
            task.state = State::Idle;
            return;
        }
        let before = self.y.iter().map(|y| y.lane(lane));
        if let Some(options) = task.begin(before) {
            for (to, atol) in self.atol.iter_mut().zip(&options.atol) {
                to.put(lane, *atol);
            }
            self.rtol.put(lane, options.rtol);
        }
        for (to, y) in self.y.iter_mut().zip(&task.stretch.y) {
            to.put(lane, *y);
        }
        if system.margin(&self.y).below(Lanes::splat(0.0)).has(lane) {
            system.switch(lane);
        }
    }

    fn lanes_in(&self, state: State) -> LaneSet {
        let lanes = self.tasks.iter().enumerate();
        lanes.fold(LaneSet::NONE, |all, (lane, task)| {
            if task.state == state {
                all | LaneSet::one(lane)
            } else {
                all
            }
        })
    }
}

/// The lanes of a set, one after the other.
#[inline(always)]
fn lanes(of: LaneSet) -> impl Iterator<Item = usize> {
    (0..WIDTH).filter(move |&lane| of.has(lane))
}
