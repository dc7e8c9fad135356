//! Charts of one line.

use crate::report::document::Trend;
use crate::report::figure::extent;
use crate::report::numbers::fixed;

const BLOCKS: [char; 8] = [
    '\u{2581}', '\u{2582}', '\u{2583}', '\u{2584}', '\u{2585}', '\u{2586}', '\u{2587}', '\u{2588}',
];
const ASCII: [char; 8] = ['_', '.', ':', '-', '=', '+', '*', '#'];

/// Days that cell `cell` of `cells` stands for.
fn days_of(cell: usize, cells: usize, days: usize) -> std::ops::Range<usize> {
    let from = cell * days / cells;
    from..((cell + 1) * days / cells).max(from + 1).min(days)
}

/// Means of the finite values of each cell.
fn means(values: &[f64], cells: usize) -> Vec<f64> {
    let cells = cells.min(values.len());
    (0..cells)
        .map(|cell| {
            let finite: Vec<f64> = values[days_of(cell, cells, values.len())]
                .iter()
                .copied()
                .filter(|v| v.is_finite())
                .collect();
            #[allow(clippy::cast_precision_loss)] // few days
            let mean = finite.iter().sum::<f64>() / finite.len() as f64;
            mean
        })
        .collect()
}

/// A chart of at most `cells` columns; blank where there is no value.
pub(super) fn line(values: &[f64], cells: usize, unicode: bool) -> String {
    let means = means(values, cells);
    let Some((low, high)) = extent(means.iter().copied()) else {
        return String::new();
    };
    let steps = if unicode { BLOCKS } else { ASCII };
    let step = |v: &f64| {
        if !v.is_finite() {
            return ' ';
        }
        let place = if high > low {
            (v - low) / (high - low)
        } else {
            0.5
        };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // within 0..=7
        let index = (place * 7.0).round() as usize;
        steps[index.min(7)]
    };
    means.iter().map(step).collect()
}

/// A row of marks: one where any day of the cell is flagged.
pub(super) fn flags(days: &[bool], cells: usize, unicode: bool) -> String {
    let cells = cells.min(days.len());
    let quiet = if unicode { '\u{b7}' } else { '.' };
    (0..cells)
        .map(|cell| {
            let any = days[days_of(cell, cells, days.len())].contains(&true);
            if any { '!' } else { quiet }
        })
        .collect()
}

/// What stands in place of a chart of nothing but zeros, which would look like a level of something; empty for any other.
pub(super) fn words(values: &[f64]) -> &'static str {
    let mut finite = values.iter().filter(|v| v.is_finite()).peekable();
    if finite.peek().is_some() && finite.all(|v| *v == 0.0) {
        "none all through"
    } else {
        ""
    }
}

/// Lowest and highest value, and the last one if asked.
pub(super) fn range(trend: &Trend, with_last: bool) -> String {
    let Some((low, high)) = extent(trend.values.iter().copied()) else {
        return "no values".into();
    };
    let text = |v| fixed(v, trend.decimals);
    let range = format!("{} to {}", text(low), text(high));
    match trend.values.iter().rev().find(|v| v.is_finite()) {
        Some(last) if with_last => format!("{range}, last {}", text(*last)),
        _ => range,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rising_course_rises_and_a_gap_is_blank() {
        let values: Vec<f64> = (0..8).map(f64::from).collect();
        assert_eq!(line(&values, 8, false), "_.:-=+*#");
        assert_eq!(line(&values, 80, true).chars().count(), 8);
        assert_eq!(line(&[0.0, f64::NAN, 1.0], 3, false), "_ #");
        assert_eq!(line(&[f64::NAN], 3, true), "");
        assert_eq!(line(&[], 3, true), "");
    }

    #[test]
    fn nothing_but_zeros_is_told_in_words() {
        assert_eq!(words(&[0.0, -0.0, f64::NAN]), "none all through");
        for other in [&[0.0, 1e-9][..], &[f64::NAN], &[], &[2.0, 2.0]] {
            assert_eq!(words(other), "", "{other:?}");
        }
    }

    #[test]
    fn no_flag_is_lost_when_days_share_a_cell() {
        let mut days = vec![false; 7300];
        days[4000] = true;
        assert_eq!(flags(&days, 60, false).matches('!').count(), 1);
    }
}
