//! The proof of plants that reach the target in a run: chance over the draws, then the margin to souring.

use super::SizeFailure;
use super::desk::{Desk, WarmLine, best};
use super::effort::{Passed, litres, nearly, plainest};
use super::judge::{Breach, Tried};
use super::margin::{margin, sureness};
use super::outcome::Proof;
use super::plant::Plant;
use crate::study::sampling::Points;

/// Sizes of which some plant is proven, smallest first.
const PROVEN_SIZES: usize = 6;
/// Of a size the simplest plants with these shares of the strongest one's reserve above the target are proven.
const RESERVES: [f64; 3] = [0.0, 0.25, 0.5];
/// Reach over target from which a plant of one warmth is proven for the table: below it the draws hardly ever agree.
pub(super) const RESERVE: f64 = 1.1;
/// Plants of one warmth that are proven for the table of alternatives.
const LINE_PROOFS: usize = 2;

pub(super) fn unproven(tried: Tried) -> Proof {
    Proof {
        tried,
        margin: None,
        sureness: None,
    }
}

/// The proof with the best chance; the smaller of equals.
pub(super) fn surest(refused: &[Proof]) -> Option<Proof> {
    let share = |p: &Proof| p.sureness.map_or(-1.0, |s| s.share);
    refused
        .iter()
        .max_by(|a, b| {
            share(a)
                .total_cmp(&share(b))
                .then(b.tried.plant.smaller(&a.tried.plant))
        })
        .cloned()
}

/// What the proofs gave.
pub(super) struct Proven {
    /// The plant to propose.
    pub(super) chosen: Option<Proof>,
    /// Others that passed, and take more effort or litres.
    pub(super) passed_over: Vec<Proof>,
    /// Those that did not.
    pub(super) refused: Vec<Proof>,
}

impl Desk<'_> {
    /// The smallest fit plant with margin and chance, or one hardly larger that takes less effort; and those beside it.
    pub(super) fn prove(&mut self, points: &Points) -> Result<Proven, SizeFailure> {
        let size = |p: &Plant| (p.unit_l, p.units);
        let fit = self.fit();
        let mut refused: Vec<Proof> = Vec::new();
        let mut passed: Vec<Passed> = Vec::new();
        let of_sizes = fit.chunk_by(|a, b| size(&self.plants[*a]) == size(&self.plants[*b]));
        let of_sizes: Vec<Vec<usize>> =
            of_sizes.take(PROVEN_SIZES).map(<[usize]>::to_vec).collect();
        for of_size in of_sizes {
            let Some(of) = of_size.first().map(|i| self.plants[*i]) else {
                continue;
            };
            // Once one passed, only those that may take less effort and are hardly larger are looked at.
            let smallest = passed.iter().map(|p| litres(&p.proof.tried.plant));
            let smallest = smallest.fold(f64::INFINITY, f64::min);
            let fewest = passed.iter().map(|p| p.proof.tried.plant.units).min();
            if !nearly(litres(&of), smallest) {
                break;
            }
            if fewest.is_some_and(|fewest| of.units > fewest) {
                continue;
            }
            if let Some(proof) = self.prove_size(&of_size, points, &mut refused)? {
                let plain = self.without_idle(proof.clone(), points)?;
                if plain.proof.tried.plant != proof.tried.plant {
                    passed.push(Passed { proof, idle: true });
                }
                passed.push(plain);
            }
        }
        if let Some(best) = plainest(&passed) {
            let chosen = passed.swap_remove(best);
            return Ok(Proven {
                chosen: Some(self.rested(chosen.proof, points)?),
                passed_over: passed.into_iter().map(|p| p.proof).collect(),
                refused,
            });
        }
        // Of the larger ones that which reaches most.
        let reach = |i: &usize| self.runs.get(i).map_or(0.0, |t| t.reach);
        let larger = fit.iter().copied();
        let larger = larger.filter(|i| !self.proofs.contains_key(i));
        let strongest = larger.max_by(|a, b| reach(a).total_cmp(&reach(b)).then(b.cmp(a)));
        if let Some(strongest) = strongest {
            let proof = self.proof(strongest, points)?;
            if proof.tried.is_fit() {
                let plain = self.without_idle(proof, points)?;
                return Ok(Proven {
                    chosen: Some(self.rested(plain.proof, points)?),
                    passed_over: Vec::new(),
                    refused,
                });
            }
            refused.push(proof);
        }
        Ok(Proven {
            chosen: None,
            passed_over: Vec::new(),
            refused,
        })
    }

    /// One size: that which reaches most is proven first; where it passes, the simplest that passes too is looked for among
    /// some.
    fn prove_size(
        &mut self,
        of_size: &[usize],
        points: &Points,
        refused: &mut Vec<Proof>,
    ) -> Result<Option<Proof>, SizeFailure> {
        let reach = |desk: &Self, i: usize| desk.runs.get(&i).map_or(0.0, |t| t.reach);
        let by_reach =
            |a: &&usize, b: &&usize| reach(self, **a).total_cmp(&reach(self, **b)).then(b.cmp(a));
        let Some(strongest) = of_size.iter().max_by(by_reach).copied() else {
            return Ok(None);
        };
        let proof = self.proof(strongest, points)?;
        let passed = proof.tried.is_fit();
        // What too few draws reach with the strongest no other of its size does; the souring limit is another matter.
        let hopeless = proof
            .tried
            .breaches
            .iter()
            .any(|b| matches!(b, Breach::Chance { .. }));
        if !passed {
            refused.push(proof.clone());
        }
        if !hopeless {
            // Those with some reserve are worth the draws.
            let most = proof.tried.reach;
            let enough = |k: f64| {
                let target = self.wish.target.amount();
                target + k * (most - target)
            };
            let simplest = |at_least: f64| {
                let mut all = of_size.iter().copied();
                all.find(|i| reach(self, *i) >= at_least)
            };
            let mut queue: Vec<usize> = RESERVES
                .iter()
                .filter_map(|k| simplest(enough(*k)))
                .filter(|i| *i != strongest)
                .collect();
            queue.dedup();
            for i in queue {
                let simpler = self.proof(i, points)?;
                if simpler.tried.is_fit() {
                    return Ok(Some(simpler));
                }
                refused.push(simpler);
            }
        }
        if passed {
            return Ok(Some(proof));
        }
        Ok(None)
    }

    /// What was proven before the search was stopped: the smallest that passed, and those that did not.
    pub(super) fn proven(&self) -> (Option<Proof>, Vec<Proof>) {
        let mut places: Vec<&usize> = self.proofs.keys().collect();
        places.sort_unstable();
        let proofs = places
            .into_iter()
            .filter_map(|i| self.proofs.get(i).cloned());
        let (passed, refused): (Vec<Proof>, Vec<Proof>) = proofs.partition(|p| p.tried.is_fit());
        (passed.into_iter().next(), refused)
    }

    /// The smallest that reached the target in a run, proven or not.
    pub(super) fn smallest_fit(&self) -> Option<Proof> {
        let first = self.fit().into_iter().next()?;
        self.runs.get(&first).cloned().map(unproven)
    }

    /// The proof of a plant that was run.
    pub(super) fn proof(&mut self, place: usize, points: &Points) -> Result<Proof, SizeFailure> {
        if let Some(proof) = self.proofs.get(&place) {
            return Ok(proof.clone());
        }
        let proof = self.new_proof(self.runs[&place].clone(), points)?;
        self.proofs.insert(place, proof.clone());
        Ok(proof)
    }

    fn new_proof(&mut self, mut tried: Tried, points: &Points) -> Result<Proof, SizeFailure> {
        let (what, from, to) = self.stage;
        let to = from + 0.3 * (to - from);
        let progress = |share: f64| (self.progress)(what, from + share * (to - from));
        let sureness = sureness(self.wish, &tried, points, self.options, &progress)?;
        self.stage.1 = to;
        if sureness.share < self.wish.chance {
            let of_draws = |n: usize| n as f64 / sureness.draws.max(1) as f64;
            tried.breaches.push(Breach::Chance {
                share: sureness.share,
                unpaid: of_draws(sureness.unpaid),
                dearer: of_draws(sureness.dearer),
            });
            return Ok(Proof {
                tried,
                margin: None,
                sureness: Some(sureness),
            });
        }
        let margin = margin(self.wish, &tried, self.options.threads, self.options.stop)?;
        if let Some(lost) = margin.filter(|m| !m.kept) {
            tried.breaches.push(Breach::Limit { share: lost.share });
        }
        Ok(Proof {
            tried,
            margin,
            sureness: Some(sureness),
        })
    }

    /// For each warmth the smallest fit plant with its chance; else the sound one that reaches most; else any.
    pub(super) fn alternatives(
        &mut self,
        lines: &[WarmLine],
        chosen: Option<&Proof>,
        points: &Points,
    ) -> Result<Vec<Proof>, SizeFailure> {
        let plants = self.plants;
        let mut out = Vec::new();
        for line in lines {
            let of_line = |i: &usize| plants[*i].set_c == line.set_c;
            if let Some(proof) = chosen.filter(|p| p.tried.plant.set_c == line.set_c) {
                out.push(proof.clone());
            } else if self.fit().iter().any(of_line) {
                let mut proofs = Vec::new();
                let reach = |i: &usize| self.runs.get(i).map_or(0.0, |t| t.reach);
                let worth =
                    |i: &usize| of_line(i) && reach(i) >= RESERVE * self.wish.target.amount();
                let fit = self.fit();
                let mut queue: Vec<usize> = fit
                    .iter()
                    .copied()
                    .filter(worth)
                    .take(LINE_PROOFS)
                    .collect();
                if queue.is_empty() {
                    queue.extend(fit.iter().copied().find(of_line));
                }
                for i in queue {
                    proofs.push(self.proof(i, points)?);
                    if proofs.last().is_some_and(|p| p.tried.is_fit()) {
                        break;
                    }
                }
                match proofs.last().filter(|p| p.tried.is_fit()).cloned() {
                    Some(passed) => out.push(self.without_idle(passed, points)?.proof),
                    None => out.extend(surest(&proofs)),
                }
            } else {
                let places = self.places().into_iter().filter(of_line);
                out.extend(best(places.filter_map(|i| self.runs.get(&i))).map(unproven));
            }
        }
        Ok(out)
    }
}
