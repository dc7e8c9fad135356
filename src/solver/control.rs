//! Choice of the step: first guess, after acceptance, after rejection, across a jump.

/// The step aims below tolerance by this factor (Hairer & Wanner, Solving ODEs II, IV.8).
const SAFETY: f64 = 0.9;
/// A step grows at most by this factor.
const MOST_GROWTH: f64 = 6.0;
/// A step shrinks at most by this factor for its error.
const MOST_SHRINKING: f64 = 0.2;
/// Shrinking after the right-hand side refused a state, which tells no size.
const AFTER_REFUSAL: f64 = 0.25;
/// A step after a jump is at least this share of the segment: an error found there costs one step, a step far too
/// small costs several before it has grown.
const RESTART_FLOOR: f64 = 1e-7;

/// Step size controller with the predictive part of Gustafsson (1994), as in Hairer & Wanner, IV.8, equation 8.25.
#[derive(Debug)]
pub(super) struct StepControl {
    exponent: f64,
    /// Step and error of the last accepted step of this segment.
    accepted: Option<(f64, f64)>,
    rejected: bool,
    /// Step proposed after the last accepted one.
    proposed: Option<f64>,
    /// Step that would have fitted the start of the last segment.
    restart: Option<f64>,
}

impl StepControl {
    /// Controller for an error estimate that shrinks with the power `embedded_order + 1` of the step.
    pub(super) fn new(embedded_order: u32) -> Self {
        Self {
            exponent: 1.0 / f64::from(embedded_order + 1),
            accepted: None,
            rejected: false,
            proposed: None,
            restart: None,
        }
    }

    /// First step of a segment, if an earlier one tells: the proposed one when nothing jumped, else the one that
    /// fitted after the last jump.
    pub(super) fn begin(&mut self, jumped: bool, length: f64) -> Option<f64> {
        self.rejected = false;
        if jumped {
            self.accepted = None;
            self.proposed = None;
            self.restart.map(|step| step.max(RESTART_FLOOR * length))
        } else {
            self.proposed
        }
    }

    /// Step after an accepted one of length `h` with `error` in units of tolerance; `cut` says that the end of the
    /// segment had shortened it.
    pub(super) fn accept(&mut self, h: f64, error: f64, cut: bool) -> f64 {
        // An error of zero asks for unlimited growth, which the limit then sets.
        let wanted = SAFETY * error.max(1e-10).powf(-self.exponent);
        let factor = match self.accepted {
            Some((last_h, last_error)) => wanted
                .min(wanted * (h / last_h) * (last_error / error.max(1e-10)).powf(self.exponent)),
            None => wanted,
        }
        .clamp(MOST_SHRINKING, MOST_GROWTH);
        let mut next = h * factor;
        if self.rejected {
            next = next.min(h);
        }
        if self.accepted.is_none() {
            let fitting = h * wanted.clamp(MOST_SHRINKING, MOST_GROWTH);
            self.restart = Some(if cut {
                fitting.max(self.restart.unwrap_or(0.0))
            } else {
                fitting
            });
        }
        if cut {
            next = next.max(self.proposed.unwrap_or(0.0));
        }
        self.accepted = Some((h, error.max(1e-2)));
        self.rejected = false;
        self.proposed = Some(next);
        next
    }

    /// Step after one of length `h` whose error was above tolerance.
    pub(super) fn reject(&mut self, h: f64, error: f64) -> f64 {
        self.shrink(h * (SAFETY * error.powf(-self.exponent)).clamp(MOST_SHRINKING, SAFETY))
    }

    /// Step after one of length `h` that could not be finished.
    pub(super) fn refuse(&mut self, h: f64) -> f64 {
        self.shrink(h * AFTER_REFUSAL)
    }

    /// A first step that was too long is not begun with after the next jump either.
    fn shrink(&mut self, h: f64) -> f64 {
        self.rejected = true;
        if self.accepted.is_none() {
            self.restart = self.restart.map(|step| step.min(h));
        }
        h
    }
}

/// First step guessed from the right-hand side (Hairer, Norsett & Wanner, Solving ODEs I, II.4), for a method of the
/// given order; one evaluation.
///
/// `rhs` says whether it could evaluate; `dy` holds the right-hand side at `t`, `weights` the allowed error by state, infinity for algebraic rows.
pub(super) fn first_guess(
    rhs: &mut impl FnMut(f64, &[f64], &mut [f64]) -> bool,
    (t, longest): (f64, f64),
    order: u32,
    y: &[f64],
    dy: &[f64],
    weights: &[f64],
) -> f64 {
    let norm = |v: &[f64]| {
        let sum: f64 = v
            .iter()
            .zip(weights)
            .map(|(v, weight)| (v / weight).powi(2))
            .sum();
        (sum / v.len() as f64).sqrt()
    };
    let (d0, d1) = (norm(y), norm(dy));
    let short = if d0 < 1e-5 || d1 < 1e-5 {
        1e-6 * longest
    } else {
        (0.01 * d0 / d1).min(longest)
    };
    let probe: Vec<f64> = y.iter().zip(dy).map(|(y, dy)| y + short * dy).collect();
    let mut slope = vec![0.0; y.len()];
    if !rhs(t + short, &probe, &mut slope) {
        return 0.1 * short;
    }
    slope
        .iter_mut()
        .zip(dy)
        .for_each(|(slope, dy)| *slope = (*slope - dy) / short);
    let steepest = d1.max(norm(&slope));
    let fitting = if steepest <= 1e-15 {
        (1e-3 * short).max(1e-6 * longest)
    } else {
        (0.01 / steepest).powf(1.0 / f64::from(order + 1))
    };
    (100.0 * short).min(fitting).min(longest)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fresh() -> StepControl {
        let mut control = StepControl::new(3);
        assert_eq!(control.begin(true, 1.0), None);
        control
    }

    #[test]
    fn step_after_an_accepted_one_follows_the_error() {
        // Error falls with the fourth power: 0.9 (1/err)^(1/4).
        assert!((fresh().accept(0.1, 1.0, false) - 0.09).abs() < 1e-15);
        assert!((fresh().accept(0.1, 0.0625, false) - 0.18).abs() < 1e-15);
        assert!(
            (fresh().accept(0.1, 0.0, false) - 0.6).abs() < 1e-15,
            "growth is limited"
        );
    }

    #[test]
    fn rejected_steps_shrink_and_do_not_grow_at_once() {
        let mut control = fresh();
        assert!((control.reject(0.1, 16.0) - 0.045).abs() < 1e-15);
        assert!(
            (control.reject(0.1, 1e9) - 0.02).abs() < 1e-15,
            "shrinking is limited"
        );
        assert!(control.reject(0.1, 1.0 + 1e-9) <= 0.09, "it always shrinks");
        assert!(control.accept(0.04, 1e-3, false) <= 0.04);
        assert!(control.accept(0.04, 1e-3, false) > 0.04);
        assert!((control.refuse(0.1) - 0.025).abs() < 1e-15);
    }

    #[test]
    fn a_jump_begins_with_the_step_that_fitted_after_the_last_one() {
        let mut control = fresh();
        control.accept(0.01, 1.0, false);
        let running = control.accept(0.3, 1.0, false);
        assert_eq!(control.begin(false, 1.0), Some(running), "nothing jumped");
        let restart = control.begin(true, 1.0).unwrap();
        assert!((restart - 0.009).abs() < 1e-15);
        // A first step cut by the end of the segment tells nothing of a longer one.
        control.accept(1e-5, 0.0, true);
        assert_eq!(control.begin(true, 1.0), Some(restart));
        // One that had to be shortened does: the cut one after it cannot bring the long one back.
        assert_eq!(control.begin(true, 1.0), Some(restart));
        let shortened = control.refuse(restart);
        control.accept(1e-5, 0.0, true);
        assert_eq!(control.begin(true, 1.0), Some(shortened));
        let floor = control.begin(true, 1e6).unwrap();
        assert!(
            (floor - 0.1).abs() < 1e-12,
            "the floor is a share of the segment"
        );
    }
}
