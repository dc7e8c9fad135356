//! Checks an exact derivative against a central difference.

/// Five-point central difference of `f` at `x` with step `h` (error of order h^4).
fn difference(f: &impl Fn(f64) -> f64, x: f64, h: f64) -> f64 {
    (f(x - 2.0 * h) - 8.0 * f(x - h) + 8.0 * f(x + h) - f(x + 2.0 * h)) / (12.0 * h)
}

/// Fails unless the second part of `f` is the derivative of the first, to 1e-7 of its own size or of
/// 1e-3 of the value's per unit of x (where the slope passes through zero).
#[track_caller]
pub(crate) fn assert_exact(f: impl Fn(f64) -> (f64, f64), x: f64, h: f64, what: &str) {
    let (value, slope) = f(x);
    let numeric = difference(&|x| f(x).0, x, h);
    let scale = numeric.abs().max(1e-3 * value.abs());
    assert!(
        (slope - numeric).abs() <= 1e-7 * scale,
        "{what} at {x}: slope {slope}, difference {numeric}"
    );
}
