//! What is looked up in a sweep again and again.

use crate::digester::Bands;
use crate::report::numbers::{fixed, round_significant, significant, trimmed};
use crate::study::sweep::{Class, Level, SweepAxis, SweepPoint, SweepResult};

/// Digits of a value that is told as it was asked for.
const DIGITS: i32 = 4;
/// Values closer than this share are the same.
const ROUND_OFF: f64 = 1e-9;

/// A sweep with its points by place.
pub(super) struct Reading<'a> {
    pub(super) result: &'a SweepResult,
    pub(super) bands: &'a Bands,
    by_index: Vec<Option<&'a SweepPoint>>,
    /// Whether yields are per volatile solids, not per COD.
    pub(super) per_vs: bool,
}

impl<'a> Reading<'a> {
    pub(super) fn new(result: &'a SweepResult, bands: &'a Bands) -> Self {
        let mut by_index = vec![None; result.planned];
        for point in &result.points {
            if let Some(place) = by_index.get_mut(point.index) {
                *place = Some(point);
            }
        }
        let levels = || result.points.iter().filter_map(|p| p.level.as_ref());
        let per_vs = levels().any(|l| l.yield_nl_kg_vs.is_some())
            || levels().all(|l| l.yield_nl_kg_cod.is_none());
        Self {
            result,
            bands,
            by_index,
            per_vs,
        }
    }

    /// The first thing that was varied.
    pub(super) fn axis(&self, i: usize) -> &'a SweepAxis {
        // A result has one axis or two.
        &self.result.axes[i.min(self.result.axes.len() - 1)]
    }

    /// The point at a place, if it was computed.
    pub(super) fn at(&self, index: usize) -> Option<&'a SweepPoint> {
        self.by_index.get(index).copied().flatten()
    }

    /// Methane per mass of what was fed.
    pub(super) fn yield_of(&self, level: &Level) -> Option<f64> {
        if self.per_vs {
            level.yield_nl_kg_vs
        } else {
            level.yield_nl_kg_cod
        }
    }

    /// Unit of [`Self::yield_of`].
    pub(super) fn yield_unit(&self) -> &'static str {
        if self.per_vs {
            "norm L/kg VS"
        } else {
            "norm L/kg COD"
        }
    }

    /// The working point with the most of something; the first of several.
    pub(super) fn best(&self, of: impl Fn(&Level) -> Option<f64>) -> Option<(&'a SweepPoint, f64)> {
        let mut best: Option<(&SweepPoint, f64)> = None;
        for point in self.result.points.iter().filter(|p| p.works()) {
            let value = point.level.as_ref().and_then(&of);
            if let Some(value) = value
                && best.is_none_or(|(_, most)| value > most)
            {
                best = Some((point, value));
            }
        }
        best
    }

    /// "a retention time of 20 d and a temperature of 30 °C".
    pub(super) fn place(&self, point: &SweepPoint) -> String {
        let parts: Vec<String> = self
            .result
            .axes
            .iter()
            .zip(&point.values)
            .map(|(axis, value)| format!("{} {}", sentence_name(axis), with_unit(axis, *value)))
            .collect();
        parts.join(" and ")
    }

    /// Whether a point lies in the safe range: it works, and its acids keep below the band that asks for action.
    pub(super) fn is_safe(&self, point: &SweepPoint) -> bool {
        let calm = |l: &Level| l.acid_ratio <= self.bands.acid_ratio.watch;
        point.works() && point.level.as_ref().is_some_and(calm)
    }

    /// Stretches of the first axis over which `test` holds, each reaching `beyond` of the way to the next point on
    /// either side: 0 for what must be trusted, since what lies between was not tried.
    pub(super) fn stretches(
        &self,
        beyond: f64,
        test: impl Fn(&SweepPoint) -> bool,
    ) -> Vec<(f64, f64)> {
        let values = &self.axis(0).values;
        let holds = |i: usize| self.at(i).is_some_and(&test);
        let towards = |i: usize, next: Option<&f64>| {
            next.map_or(values[i], |next| values[i] + beyond * (next - values[i]))
        };
        let mut stretches: Vec<(usize, (f64, f64))> = Vec::new();
        for i in (0..values.len()).filter(|i| holds(*i)) {
            let from = towards(i, i.checked_sub(1).and_then(|before| values.get(before)));
            let to = towards(i, values.get(i + 1));
            match stretches.last_mut() {
                Some((last, stretch)) if *last + 1 == i => (*last, stretch.1) = (i, to),
                _ => stretches.push((i, (from, to))),
            }
        }
        stretches.into_iter().map(|(_, stretch)| stretch).collect()
    }
}

/// Whether a point came to grief.
pub(super) fn is_lost(point: &SweepPoint) -> bool {
    matches!(point.class, Class::Sour | Class::WashedOut)
}

/// A value with its unit.
pub(super) fn with_unit(axis: &SweepAxis, value: f64) -> String {
    match axis.unit.as_str() {
        "" => bare(axis, value),
        unit => format!("{} {}", bare(axis, value), shown_unit(unit)),
    }
}

/// A value alone: as it was asked for where that is short, else as fine as the distance to its neighbours on the axis
/// needs, so that labels of a long axis stay short.
pub(super) fn bare(axis: &SweepAxis, value: f64) -> String {
    let short = round_significant(value, DIGITS);
    let others = axis.values.iter().map(|v| (v - value).abs());
    let gap = others.filter(|d| *d > 0.0).fold(f64::INFINITY, f64::min);
    if (short - value).abs() <= ROUND_OFF * value.abs() || !gap.is_finite() {
        return trimmed(significant(value, DIGITS));
    }
    // Off by a twentieth of the gap at most.
    let decimals = -(gap / 10.0).log10().floor();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
    let decimals = decimals.clamp(0.0, 12.0) as usize;
    trimmed(fixed(value, decimals))
}

/// A unit as people write it.
pub(super) fn shown_unit(unit: &str) -> &str {
    if unit == "C" { "\u{b0}C" } else { unit }
}

/// Title of an axis, with its unit.
pub(super) fn title(axis: &SweepAxis) -> String {
    match axis.unit.as_str() {
        "" => axis.label.clone(),
        "times" => format!("{} (times that of the scenario)", axis.label),
        unit => format!("{} ({})", axis.label, shown_unit(unit)),
    }
}

/// The name of an axis within a sentence: labels of knobs begin with a capital, addresses stay as they are.
pub(super) fn sentence_name(axis: &SweepAxis) -> String {
    if axis.label == axis.knob {
        return axis.label.clone();
    }
    let mut letters = axis.label.chars();
    match letters.next() {
        Some(first) => first.to_lowercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// A class in words.
pub(super) fn word(class: Class) -> &'static str {
    match class {
        Class::Steady => "steady",
        Class::Slow => "slow",
        Class::Sour => "sour",
        Class::WashedOut => "washed out",
        Class::Unfed => "unfed",
        Class::Failed => "failed",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_of_an_axis_are_as_asked_for_or_as_fine_as_the_axis() {
        let axis = |values: &[f64]| SweepAxis {
            knob: "feed".into(),
            label: "Feeding".into(),
            unit: "times".into(),
            values: values.to_vec(),
            geometric: false,
        };
        let labels = |values: &[f64]| {
            let axis = axis(values);
            values.iter().map(|v| bare(&axis, *v)).collect::<Vec<_>>()
        };
        assert_eq!(labels(&[2.25, 3.25]), ["2.25", "3.25"]);
        assert_eq!(labels(&[1.0, 4.0 / 3.0, 5.0 / 3.0]), ["1", "1.33", "1.67"]);
        assert_eq!(labels(&[0.1, 16.0 / 21.0, 30.0]), ["0.1", "0.76", "30"]);
        assert_eq!(labels(&[12.5]), ["12.5"]);
        assert_eq!(
            labels(&[20_000.4, 20_000.5]),
            ["20\u{202F}000.4", "20\u{202F}000.5"]
        );
    }
}
