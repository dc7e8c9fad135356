//! The digesters that a start is tried on: one for each draw of what is not known.
//!
//! A member keeps its draw whatever it is fed, so two plans are always compared on the same digesters.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use super::StartupError;
use super::plan::Plan;
use crate::case::{Case, Dose};
use crate::digester::Engine;
use crate::simulate::{self, Outcome, RunFailure};
use crate::study::batch::{BatchOptions, Runs, run_all, run_cases};
use crate::study::uncertain::Uncertain;

/// One digester: the case as its draw has it, fed the wanted feed every day, and the engine it runs on.
struct Member {
    case: Case,
    whole: Vec<Dose>,
    engine: Arc<Engine>,
}

/// A number of digesters.
pub(super) struct Members {
    members: Vec<Member>,
}

/// How jobs are shared out, and how they are stopped.
#[derive(Clone, Copy)]
pub(super) struct Workers<'a> {
    pub(super) threads: Option<usize>,
    pub(super) stop: &'a AtomicBool,
}

impl Workers<'_> {
    /// Runs jobs in parallel; results in the order of their indices, `None` for one that broke off or was not begun.
    pub(super) fn all<R: Send>(
        &self,
        count: usize,
        work: impl Fn(usize) -> R + Sync,
        progress: &(dyn Fn(usize) + Sync),
    ) -> Result<Vec<Option<R>>, StartupError> {
        let options = BatchOptions {
            threads: self.threads,
            ..BatchOptions::new(self.stop)
        };
        let jobs = run_all(count, options, work, progress)?;
        Ok(jobs.into_iter().map(|job| job?.ok()).collect())
    }

    /// Runs members on plans, in parallel and several at once. `plan` says for a job which member, on which plan and for
    /// which share of the wanted feed; `look` what is made of its outcome. Results in the order of the jobs, `None`
    /// for a run that failed or was not begun.
    pub(super) fn runs<R: Send>(
        &self,
        members: &Members,
        count: usize,
        plan: impl Fn(usize) -> (usize, Plan, f64) + Sync,
        look: impl Fn(usize, &Outcome) -> R + Sync,
        progress: &(dyn Fn(usize) + Sync),
    ) -> Result<Vec<Option<R>>, StartupError> {
        let options = BatchOptions {
            threads: self.threads,
            ..BatchOptions::new(self.stop)
        };
        let tries = Tries {
            members,
            plan,
            look,
        };
        let jobs = run_cases(count, options, &tries, progress)?;
        let results = jobs.into_iter().map(|job| job?.ok()?);
        Ok(results.collect())
    }

    pub(super) fn stopped(&self) -> bool {
        self.stop.load(std::sync::atomic::Ordering::Relaxed)
    }
}

impl Members {
    /// Draws `count` members of a case that holds the wanted feed of every day as its doses.
    pub(super) fn draw(
        case: &Case,
        uncertain: &Uncertain,
        count: usize,
        seed: u64,
    ) -> Result<Self, StartupError> {
        let points = uncertain.points(count, seed)?;
        let members = points.rows().enumerate().map(|(i, point)| {
            let mut drawn = uncertain.apply(case, point, i as u64, seed);
            let whole = std::mem::take(&mut drawn.doses);
            let engine = simulate::engine(&drawn).map_err(StartupError::Run)?;
            Ok(Member {
                case: drawn,
                whole,
                engine,
            })
        });
        Ok(Self {
            members: members.collect::<Result<_, StartupError>>()?,
        })
    }

    pub(super) fn len(&self) -> usize {
        self.members.len()
    }

    /// Runs one member on a plan for the share `size` of the wanted feed; `None` where the run fails.
    pub(super) fn run(&self, index: usize, plan: &Plan, size: f64) -> Option<Outcome> {
        let ready = self.ready(index, plan, size)?;
        simulate::run_on(&ready.engine, &ready.case, &mut |_| {}).ok()
    }

    /// One member on a plan, ready to be run.
    fn ready(&self, index: usize, plan: &Plan, size: f64) -> Option<simulate::Member> {
        let member = self.members.get(index)?;
        Some(simulate::Member {
            engine: Arc::clone(&member.engine),
            case: Box::new(plan.on(&member.case, &member.whole, size)),
        })
    }
}

/// Runs of members on plans.
struct Tries<'a, P, L> {
    members: &'a Members,
    plan: P,
    look: L,
}

impl<P, L, R> Runs for Tries<'_, P, L>
where
    P: Fn(usize) -> (usize, Plan, f64) + Sync,
    L: Fn(usize, &Outcome) -> R + Sync,
    R: Send,
{
    type Kept = ();
    type Result = Option<R>;

    fn before(&self, index: usize) -> Result<(simulate::Member, ()), Option<R>> {
        let (member, plan, size) = (self.plan)(index);
        let ready = self.members.ready(member, &plan, size).ok_or(None)?;
        Ok((ready, ()))
    }

    fn after(
        &self,
        index: usize,
        _case: &Case,
        (): (),
        outcome: Result<Outcome, RunFailure>,
    ) -> Option<R> {
        Some((self.look)(index, &outcome.ok()?))
    }
}
