//! All steady states of a branch at one parameter value.

use super::failure::{ContinuationFailure, Trouble};
use super::family::Family;
use super::stationary::check_start;
use super::walk::{Node, Walker, difference};
use super::{Branch, BranchPoint, SteadyState};

/// Distance below which two states are the same, [-].
const SAME: f64 = 1e-7;

/// The steady states that a branch passes at the parameter `p`, in the order in which it meets them.
///
/// Each is found between the neighbouring points of the branch and polished by Newton at `p`, stable and unstable ones
/// alike. `family` must be the one that was followed, in the same states. None means that the branch does not reach `p`.
///
/// # Errors
/// [`ContinuationFailure`] when the tolerance is unsuitable (see [`super::Options::tolerance`]) or a state known to lie
/// between two points cannot be found.
pub fn roots_at<F: Family + ?Sized>(
    family: &mut F,
    branch: &Branch,
    p: f64,
    tolerance: f64,
) -> Result<Vec<SteadyState>, ContinuationFailure> {
    let Some(first) = branch.points.first() else {
        return Ok(Vec::new());
    };
    check_start(family, &first.state.y, tolerance)?;
    let parameters = || branch.points.iter().map(|point| point.state.p);
    let (low, high) = parameters().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
        (l.min(p), h.max(p))
    });
    if !(low..=high).contains(&p) || low == high {
        return Ok(Vec::new());
    }
    let mut walker = Walker::new(family, tolerance, high - low);
    let mut found: Vec<Node> = Vec::new();
    for (a, b) in branch.points.iter().zip(branch.points.iter().skip(1)) {
        let side = |point: &BranchPoint| point.state.p.total_cmp(&p);
        if side(a) == side(b) {
            continue;
        }
        let node = match walker.passing(a, b, p) {
            Ok(node) => node,
            Err(trouble) => {
                return Err(ContinuationFailure::NoSteadyState {
                    p,
                    cause: trouble.attempt()?,
                });
            }
        };
        let frame = walker.frame(&node.z);
        // A point of the branch at this very parameter is met from both sides, the start of a closed branch twice.
        if found
            .iter()
            .all(|other| frame.norm(&difference(&other.z, &node.z)) > SAME)
        {
            found.push(node);
        }
    }
    let n = walker.eval.n;
    Ok(found
        .into_iter()
        .map(|node| node.stability.state(p, node.z[..n].to_vec()))
        .collect())
}

impl<F: Family + ?Sized> Walker<'_, F> {
    /// The node at the parameter `p` between two points of a branch on either side of it, or on it.
    fn passing(&mut self, a: &BranchPoint, b: &BranchPoint, p: f64) -> Result<Node, Trouble> {
        let (a, b) = (self.again(a)?, self.again(b)?);
        let frame = self.frame(&a.z);
        match (a.p() == p, b.p() == p) {
            (true, _) => Ok(a),
            (_, true) => Ok(b),
            _ => self.at_parameter(&frame, &a, &b, p),
        }
    }

    /// The node of a point of a branch.
    fn again(&mut self, point: &BranchPoint) -> Result<Node, Trouble> {
        let joined = |y: &[f64], p: f64| y.iter().copied().chain([p]).collect::<Vec<f64>>();
        let z = joined(&point.state.y, point.state.p);
        let tangent = joined(&point.tangent_y, point.tangent_p);
        self.node(&self.frame(&z), z, &tangent)
    }
}
