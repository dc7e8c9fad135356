//! A loss that a stray reading cannot rule.
//!
//! Source: P. J. Huber, "Robust estimation of a location parameter", Annals of Mathematical Statistics 35 (1964) 73-101;
//! from memory. The square root of the loss, with the residual's sign, is again a residual: a least-squares method then
//! minimises the robust sum with no change.

/// Residuals, in standard deviations, beyond which the loss grows in proportion and no longer with the square: 1.345
/// keeps 95 % of the efficiency on clean normal readings (Huber 1964, from memory).
pub const HUBER: f64 = 1.345;

/// The residual whose square is Huber's loss of `residual`, with corner `corner` above 0.
#[must_use]
pub fn tamed(residual: f64, corner: f64) -> f64 {
    let size = residual.abs();
    if size <= corner {
        residual
    } else {
        (corner * (2.0 * size - corner)).sqrt().copysign(residual)
    }
}

/// Huber's loss itself, the square of [`tamed`], without the root.
#[must_use]
pub fn loss(residual: f64, corner: f64) -> f64 {
    let size = residual.abs();
    if size <= corner {
        size * size
    } else {
        corner * (2.0 * size - corner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_square_is_the_loss() {
        // Huber: r^2 inside, 2 c |r| - c^2 outside.
        assert_eq!(tamed(1.0, HUBER), 1.0);
        for r in [-7.0f64, 2.0, 300.0] {
            let loss = 2.0 * HUBER * r.abs() - HUBER * HUBER;
            let squared = tamed(r, HUBER).powi(2);
            assert!(
                (super::loss(r, HUBER) - squared).abs() < 1e-12 * squared,
                "{r}"
            );
            assert!((squared - loss).abs() < 1e-12 * loss, "{r}");
            assert_eq!(tamed(r, HUBER).signum(), r.signum());
        }
    }

    #[test]
    fn value_and_slope_join_at_the_corner() {
        let h = 1e-6;
        let slope = |r: f64| (tamed(r + h, HUBER) - tamed(r - h, HUBER)) / (2.0 * h);
        assert!((slope(HUBER - 2.0 * h) - slope(HUBER + 2.0 * h)).abs() < 1e-5);
    }
}
