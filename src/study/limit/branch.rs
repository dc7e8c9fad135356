//! From a healthy steady state along its branch to where it ends.

use std::sync::atomic::AtomicBool;

use super::failure::LimitFailure;
use super::outcome::{LimitKind, Piece, PieceKind, SteadyPoint};
use super::steady::SteadyTank;
use super::trial::is_sour;
use crate::digester::Bands;
use crate::solver::continuation::{
    Branch, BranchPoint, Direction, End, Options, SpecialKind, SteadyState, follow, stationary,
};

/// Relative change of the states in the last Newton step.
const TOLERANCE: f64 = 1e-9;
/// Steps along one branch.
const MOST_POINTS: usize = 1500;
/// Relative width to which a slide into sourness is located.
const SLIDE_WIDTH: f64 = 1e-4;
/// Methane share of the gas below which a steady state has failed: no stove burns it.
const NO_METHANE_SHARE: f64 = 0.3;

/// A branch with its readings.
pub(super) struct Traced {
    pub(super) branch: Branch,
    pub(super) points: Vec<SteadyPoint>,
    failed: Vec<bool>,
}

/// Where the healthy part ends.
#[derive(Debug, Clone)]
pub(super) struct Lost {
    pub(super) kind: LimitKind,
    pub(super) state: SteadyState,
    pub(super) at: SteadyPoint,
}

/// Follows the steady states of a tank from one near `start` at `p0`.
///
/// # Errors
/// [`LimitFailure::Branch`], [`LimitFailure::State`].
pub(super) fn trace(
    family: &mut SteadyTank,
    start: &[f64],
    p0: f64,
    range: (f64, f64),
    direction: Direction,
    stop: &AtomicBool,
) -> Result<Traced, LimitFailure> {
    let options = Options {
        max_points: MOST_POINTS,
        tolerance: TOLERANCE,
        ..Options::new(range.0, range.1, direction, stop)
    };
    let branch = follow(family, start, p0, &options)?;
    let bands = Bands::standard();
    let mut points = Vec::with_capacity(branch.points.len());
    let mut failed = Vec::with_capacity(branch.points.len());
    for point in &branch.points {
        let (seen, bad) = see(family, &point.state, &bands)?;
        points.push(seen);
        failed.push(bad);
    }
    Ok(Traced {
        branch,
        points,
        failed,
    })
}

/// A steady state as a person sees it, and whether it has failed.
pub(super) fn see(
    family: &mut SteadyTank,
    state: &SteadyState,
    bands: &Bands,
) -> Result<(SteadyPoint, bool), LimitFailure> {
    let r = family.read(&state.y, state.p)?;
    let point = SteadyPoint {
        p: state.p,
        ph: r.ph,
        acids_mg_l: r.acids_mg_l,
        acid_ratio: r.acid_ratio,
        ch4_nl_d: family.methane_nl_d(&state.y, state.p)?,
        stable: state.stable,
        leading_per_d: state.leading.0,
    };
    let failed = is_sour(r.ph, r.acid_ratio, bands) || r.shares.ch4 < NO_METHANE_SHARE;
    Ok((point, failed))
}

impl Traced {
    /// The first point of the branch that is no healthy state any more: where the stability is lost, or where a state
    /// that stays becomes sour. `None` if the branch is healthy to its end.
    pub(super) fn lost(&self, family: &mut SteadyTank) -> Result<Option<Lost>, LimitFailure> {
        let slid = (1..self.points.len())
            .find(|&i| self.failed[i] && !self.failed[i - 1] && self.points[i - 1].stable);
        let turned = self.branch.specials.iter().find(|s| {
            let after = self.branch.points.get(s.index + 1);
            s.index > 0
                && self.branch.points[s.index - 1].state.stable
                && after.is_none_or(|p| !p.state.stable)
        });
        match (turned, slid) {
            (Some(special), slid) if slid.is_none_or(|i| special.index <= i) => {
                let kind = match special.kind {
                    SpecialKind::Fold => LimitKind::Fold,
                    SpecialKind::Exchange => LimitKind::Washout,
                    SpecialKind::Hopf { .. } => LimitKind::Swing,
                };
                Ok(Some(Lost {
                    kind,
                    state: self.branch.points[special.index].state.clone(),
                    at: self.points[special.index],
                }))
            }
            (_, Some(i)) => self.slide(family, i).map(Some),
            (_, None) => Ok(None),
        }
    }

    /// Halves the step before point `i` until the slide into sourness is located.
    fn slide(&self, family: &mut SteadyTank, i: usize) -> Result<Lost, LimitFailure> {
        let bands = Bands::standard();
        let mut good = self.branch.points[i - 1].state.clone();
        let mut bad = self.branch.points[i].state.clone();
        while (bad.p - good.p).abs() > SLIDE_WIDTH * bad.p.abs().max(good.p.abs()) {
            let guess: Vec<f64> = good
                .y
                .iter()
                .zip(&bad.y)
                .map(|(a, b)| 0.5 * (a + b))
                .collect();
            let Ok(middle) = stationary(family, 0.5 * (good.p + bad.p), &guess, TOLERANCE) else {
                break;
            };
            if see(family, &middle, &bands)?.1 {
                bad = middle;
            } else {
                good = middle;
            }
        }
        let at = see(family, &good, &bands)?.0;
        Ok(Lost {
            kind: LimitKind::Slide,
            state: good,
            at,
        })
    }

    /// The stretches of one kind, neighbours sharing their common point.
    pub(super) fn pieces(&self) -> Vec<Piece> {
        let mut out: Vec<Piece> = Vec::new();
        for (i, point) in self.points.iter().enumerate() {
            // At a special point itself stability means nothing: it belongs to what came before.
            let special = self.branch.specials.iter().any(|s| s.index == i);
            let kind = match (point.stable, self.failed[i]) {
                (_, _) if special && !out.is_empty() => out[out.len() - 1].kind,
                (false, _) => PieceKind::Unstable,
                (true, true) => PieceKind::Failed,
                (true, false) => PieceKind::Healthy,
            };
            match out.last_mut() {
                Some(piece) if piece.kind == kind => piece.points.push(*point),
                last => {
                    let joint = last.and_then(|p| p.points.last().copied());
                    out.push(Piece {
                        kind,
                        points: joint.into_iter().chain([*point]).collect(),
                    });
                }
            }
        }
        out
    }

    /// The healthy state at a parameter value before the loss, polished from the nearest point of the branch.
    pub(super) fn healthy_at(&self, family: &mut SteadyTank, p: f64) -> Option<SteadyState> {
        let end = self
            .points
            .iter()
            .zip(&self.failed)
            .position(|(point, failed)| !point.stable || *failed)
            .unwrap_or(self.points.len());
        let near: &BranchPoint = self.branch.points[..end]
            .iter()
            .min_by(|a, b| (a.state.p - p).abs().total_cmp(&(b.state.p - p).abs()))?;
        let found = stationary(family, p, &near.state.y, TOLERANCE).ok()?;
        let bands = Bands::standard();
        let failed = see(family, &found, &bands).ok()?.1;
        (found.stable && !failed).then_some(found)
    }

    /// Whether the branch came back to its start, so that the other direction shows nothing new.
    pub(super) fn is_closed(&self) -> bool {
        self.branch.end == End::Closed
    }

    /// Whether the branch passes a failed stable state.
    pub(super) fn reaches_failure(&self) -> bool {
        self.points
            .iter()
            .zip(&self.failed)
            .any(|(p, failed)| p.stable && *failed)
    }
}
