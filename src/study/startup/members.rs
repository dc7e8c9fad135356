//! The digesters that a start is tried on: one for each draw of what is not known.
//!
//! A member keeps its draw whatever it is fed, so two plans are always compared on the same digesters.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use super::StartupError;
use super::plan::Plan;
use crate::case::{Case, Dose};
use crate::digester::Engine;
use crate::simulate::{self, Outcome};
use crate::study::batch::{BatchOptions, run_all};
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
        let member = self.members.get(index)?;
        let case = plan.on(&member.case, &member.whole, size);
        simulate::run_on(&member.engine, &case, &mut |_| {}).ok()
    }
}
