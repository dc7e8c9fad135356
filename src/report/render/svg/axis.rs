//! Axes: finite ranges, ticks at round numbers, labels that tell them apart.

use crate::report::figure::Scale;
use crate::report::numbers::fixed;

/// Beyond this no axis reaches; it keeps all arithmetic finite.
const FARTHEST: f64 = 1e30;
/// Labels of steps outside these bounds are written with a power of ten.
const PLAIN_STEP: f64 = 1e-4;
const PLAIN_VALUE: f64 = 1e6;
/// A lower end below zero by less than this share of the upper one is rounding, and is drawn at zero.
const ROUNDING: f64 = 1e-6;
/// A logarithmic axis shows at most so many decades below its top.
const DECADES: i32 = 12;

/// A place on an axis with its label.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tick {
    /// Where, in the axis's unit.
    pub(super) at: f64,
    /// The label.
    pub(super) label: String,
    /// A second line, for example the year.
    pub(super) below: Option<String>,
}

/// A range of values laid over a range of pixels.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Axis {
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) scale: Scale,
    pub(super) ticks: Vec<Tick>,
}

impl Axis {
    /// An axis around `low..high` that ends on ticks, with about `most` of them.
    pub(super) fn nice(low: f64, high: f64, scale: Scale, most: usize) -> Self {
        match scale {
            Scale::Linear => {
                let (low, high) = sane_range(low, high);
                let low = if low < 0.0 && -low < ROUNDING * high {
                    0.0
                } else {
                    low
                };
                let step = nice_step(high - low, most);
                let ends = ((low / step).floor() * step, (high / step).ceil() * step);
                Self::with_ticks(ends, scale, linear_ticks(ends, step))
            }
            Scale::Log => {
                let (low, high) = decades(low, high);
                let ends = (10f64.powi(low), 10f64.powi(high));
                Self::with_ticks(ends, scale, log_ticks(low, high, most))
            }
        }
    }

    /// An axis from `low` to `high` exactly, with ticks inside.
    pub(super) fn exact(low: f64, high: f64, scale: Scale, most: usize) -> Self {
        match scale {
            Scale::Linear => {
                let ends = sane_range(low, high);
                let step = nice_step(ends.1 - ends.0, most);
                Self::with_ticks(ends, scale, linear_ticks(ends, step))
            }
            Scale::Log => Self::nice(low, high, scale, most),
        }
    }

    /// An axis with ticks made elsewhere.
    pub(super) fn with_ticks(ends: (f64, f64), scale: Scale, ticks: Vec<Tick>) -> Self {
        Self {
            low: ends.0,
            high: ends.1,
            scale,
            ticks,
        }
    }

    /// Place of `value` between 0 (low end) and 1 (high end), held at the ends; `None` when it has no place.
    pub(super) fn place(&self, value: f64) -> Option<f64> {
        let place = match self.scale {
            Scale::Linear => (value - self.low) / (self.high - self.low),
            Scale::Log if value > 0.0 => (value / self.low).ln() / (self.high / self.low).ln(),
            Scale::Log => f64::NAN,
        };
        (value.is_finite() && !place.is_nan()).then(|| place.clamp(0.0, 1.0))
    }

    /// Where a bar or an area stands: zero, or the lower end where zero has no place.
    pub(super) fn ground(&self) -> f64 {
        match self.scale {
            Scale::Linear => 0f64.clamp(self.low, self.high),
            Scale::Log => self.low,
        }
    }
}

/// A finite range of more than no width.
pub(super) fn sane_range(low: f64, high: f64) -> (f64, f64) {
    if !(low.is_finite() && high.is_finite()) {
        return (0.0, 1.0);
    }
    let (low, high) = (low.min(high), low.max(high));
    let (low, high) = (
        low.clamp(-FARTHEST, FARTHEST),
        high.clamp(-FARTHEST, FARTHEST),
    );
    let size = low.abs().max(high.abs());
    if high - low > size * 1e-9 {
        return (low, high);
    }
    // One value only: show it in the middle, or above the ground when it is nothing.
    if size == 0.0 {
        (0.0, 1.0)
    } else {
        (low - 0.1 * size, high + 0.1 * size)
    }
}

/// The smallest of 1, 2, 5 times a power of ten that divides `span` into at most `most` steps.
pub(super) fn nice_step(span: f64, most: usize) -> f64 {
    #[allow(clippy::cast_precision_loss)] // tick counts are tiny
    let rough = span / most.max(1) as f64;
    let power = 10f64.powf(rough.log10().floor());
    let choices = [1.0, 2.0, 5.0, 10.0];
    let fits = choices.iter().find(|c| **c * power >= rough * (1.0 - 1e-9));
    fits.unwrap_or(&10.0) * power
}

/// Ticks at the multiples of `step` within `ends`.
fn linear_ticks(ends: (f64, f64), step: f64) -> Vec<Tick> {
    let first = (ends.0 / step - 1e-9).ceil();
    let count = ((ends.1 / step + 1e-9).floor() - first).clamp(0.0, 1000.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped above
    let count = count as u32;
    (0..=count)
        .map(|i| {
            let at = (first + f64::from(i)) * step;
            Tick {
                at,
                label: tick_label(at, step),
                below: None,
            }
        })
        .collect()
}

/// A label that tells `value` from its neighbours `step` away.
pub(super) fn tick_label(value: f64, step: f64) -> String {
    if value.abs() < step * 1e-6 {
        return "0".into();
    }
    // One power for the whole axis: 5 and 10 times a million, not 5 times one and 1.0 times ten.
    if !(PLAIN_STEP..PLAIN_VALUE).contains(&step) {
        let power = (step.log10() + 1e-9).floor();
        let mantissa = fixed(value / 10f64.powf(power), 0);
        return format!("{mantissa}\u{00D7}10{}", superscript(power));
    }
    fixed(value, decimals(step))
}

/// Decimals needed to write multiples of `step`.
fn decimals(step: f64) -> usize {
    let power = -(step.log10() + 1e-9).floor();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
    let decimals = power.clamp(0.0, 9.0) as usize;
    decimals
}

fn superscript(power: f64) -> String {
    let raise = |c: char| match c {
        '-' => '\u{207B}',
        '1' => '\u{00B9}',
        '2' => '\u{00B2}',
        '3' => '\u{00B3}',
        digit => char::from_u32(0x2070 + digit.to_digit(10).unwrap_or(0)).unwrap_or(digit),
    };
    format!("{power:.0}").chars().map(raise).collect()
}

/// Whole decades around the positive part of `low..high`.
fn decades(low: f64, high: f64) -> (i32, i32) {
    let exponent = |v: f64| v.clamp(1.0 / FARTHEST, FARTHEST).log10();
    if !(high.is_finite() && high > 0.0) {
        return (0, 1);
    }
    #[allow(clippy::cast_possible_truncation)] // exponents are within +-30
    let top = (exponent(high) - 1e-9).ceil() as i32;
    #[allow(clippy::cast_possible_truncation)]
    let bottom = match low {
        low if low.is_finite() && low > 0.0 => (exponent(low) + 1e-9).floor() as i32,
        _ => top - 3,
    };
    let bottom = bottom.max(top - DECADES);
    (bottom.min(top - 1), top)
}

fn log_ticks(low: i32, high: i32, most: usize) -> Vec<Tick> {
    let spread = usize::try_from(high - low).unwrap_or(1);
    let stride = spread.div_ceil(most.max(1)).max(1);
    (low..=high)
        .step_by(stride)
        .map(|power| {
            let at = 10f64.powi(power);
            Tick {
                at,
                label: tick_label(at, at),
                below: None,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn labels(axis: &Axis) -> Vec<&str> {
        axis.ticks.iter().map(|t| t.label.as_str()).collect()
    }

    #[test]
    fn ticks_stand_at_round_numbers() {
        let axis = Axis::nice(0.0, 347.0, Scale::Linear, 5);
        assert_eq!(labels(&axis), ["0", "100", "200", "300", "400"]);
        let axis = Axis::nice(6.61, 7.32, Scale::Linear, 5);
        assert_eq!(labels(&axis), ["6.6", "6.8", "7.0", "7.2", "7.4"]);
        let axis = Axis::exact(0.0, 180.0, Scale::Linear, 8);
        assert_eq!(labels(&axis), ["0", "50", "100", "150"]);
    }

    #[test]
    fn tiny_and_huge_steps_have_labels_that_differ() {
        let axis = Axis::nice(0.0, 3e-6, Scale::Linear, 4);
        assert_eq!(labels(&axis)[1], "1\u{00D7}10\u{207B}\u{2076}");
        let axis = Axis::nice(0.0, 4e9, Scale::Linear, 4);
        assert_eq!(labels(&axis)[2], "2\u{00D7}10\u{2079}");
    }

    #[test]
    fn ranges_without_width_or_end_are_made_sane() {
        assert_eq!(sane_range(f64::NAN, 1.0), (0.0, 1.0));
        assert_eq!(sane_range(0.0, f64::INFINITY), (0.0, 1.0));
        assert_eq!(sane_range(0.0, 0.0), (0.0, 1.0));
        let (low, high) = sane_range(7.0, 7.0);
        assert!(low < 7.0 && 7.0 < high);
        assert_eq!(sane_range(3.0, 1.0), (1.0, 3.0));
    }

    #[test]
    fn logarithmic_axes_span_whole_decades_and_skip_what_is_not_positive() {
        let axis = Axis::nice(0.02, 300.0, Scale::Log, 6);
        assert_eq!(labels(&axis), ["0.01", "0.1", "1", "10", "100", "1000"]);
        assert_eq!(axis.place(0.0), None);
        let axis = Axis::nice(-5.0, -1.0, Scale::Log, 6);
        assert!(axis.low > 0.0 && axis.high > axis.low);
    }

    proptest! {
        #[test]
        fn any_axis_is_finite_sorted_and_labelled_apart(
            low in prop::num::f64::ANY, high in prop::num::f64::ANY, most in 1usize..12, log: bool,
        ) {
            let scale = if log { Scale::Log } else { Scale::Linear };
            let axis = Axis::nice(low, high, scale, most);
            prop_assert!(axis.low.is_finite() && axis.high.is_finite() && axis.low < axis.high);
            prop_assert!(axis.ticks.len() <= most + 3, "{} ticks", axis.ticks.len());
            for pair in axis.ticks.windows(2) {
                prop_assert!(pair[0].at < pair[1].at);
                prop_assert_ne!(&pair[0].label, &pair[1].label);
            }
            for tick in &axis.ticks {
                let place = axis.place(tick.at).unwrap();
                prop_assert!((0.0..=1.0).contains(&place));
            }
        }

        #[test]
        fn values_inside_stay_inside(low in -1e6f64..1e6, width in 1e-3f64..1e6, t in 0f64..1.0) {
            let axis = Axis::nice(low, low + width, Scale::Linear, 6);
            let value = low + t * width;
            prop_assert!(axis.low <= value + 1e-9 * value.abs() && value <= axis.high + 1e-9 * value.abs());
        }
    }
}
