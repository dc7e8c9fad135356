//! Counters of an integration, by cause.

/// Counters since the integrator was made, or since the last [`super::Integrator::reset_statistics`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Statistics {
    /// Segments advanced, failed ones included.
    pub segments: u64,
    /// Accepted steps.
    pub accepted: u64,
    /// Steps rejected because the local error was above tolerance.
    pub rejected_error: u64,
    /// Steps rejected because the right-hand side refused a state, or a state was not finite.
    pub rejected_rhs: u64,
    /// Steps rejected because the linear system was singular.
    pub rejected_singular: u64,
    /// Steps done again to end where the right-hand side goes over to its other piece.
    pub crossings: u64,
    /// Calls of [`super::System::rhs`].
    pub rhs: u64,
    /// Calls of [`super::System::jacobian`].
    pub jacobians: u64,
    /// Factorisations with the fixed pivot order.
    pub factorisations: u64,
    /// Factorisations that needed dense pivoting.
    pub dense_factorisations: u64,
    /// Linear solves.
    pub solves: u64,
    /// Smallest accepted step, [unit of time]; infinity before the first.
    pub smallest_step: f64,
    /// Largest accepted step, [unit of time]; 0 before the first.
    pub largest_step: f64,
}

impl Default for Statistics {
    fn default() -> Self {
        Self {
            segments: 0,
            accepted: 0,
            rejected_error: 0,
            rejected_rhs: 0,
            rejected_singular: 0,
            crossings: 0,
            rhs: 0,
            jacobians: 0,
            factorisations: 0,
            dense_factorisations: 0,
            solves: 0,
            smallest_step: f64::INFINITY,
            largest_step: 0.0,
        }
    }
}

impl Statistics {
    /// Steps that were not kept, of every cause.
    #[must_use]
    pub fn rejected(&self) -> u64 {
        self.rejected_error + self.rejected_rhs + self.rejected_singular + self.crossings
    }

    pub(super) fn accept(&mut self, step: f64) {
        self.accepted += 1;
        self.smallest_step = self.smallest_step.min(step);
        self.largest_step = self.largest_step.max(step);
    }
}
