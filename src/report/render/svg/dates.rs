//! Ticks on an axis of days: round day numbers, or dates when the start's date is known.

use super::axis::{Axis, Tick, sane_range};
use super::text_width::text_width;
use crate::report::calendar::date_after;
use crate::report::figure::Scale;
use jiff::ToSpan;
use jiff::civil::Date;

/// Least room between two labels \[px\].
const GAP: f64 = 14.0;
/// More ticks than this are never tried; it bounds the work on long axes.
const MOST: usize = 60;
/// English month names, cut to three letters.
const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// Steps between ticks, from fine to coarse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stride {
    Days(i32),
    Months(i32),
    Years(i32),
}

const STRIDES: [Stride; 15] = [
    Stride::Days(1),
    Stride::Days(2),
    Stride::Days(7),
    Stride::Days(14),
    Stride::Months(1),
    Stride::Months(2),
    Stride::Months(3),
    Stride::Months(6),
    Stride::Years(1),
    Stride::Years(2),
    Stride::Years(5),
    Stride::Years(10),
    Stride::Years(20),
    Stride::Years(50),
    Stride::Years(100),
];

/// An axis of days over `range`, `width` px long, its labels set at `size` px.
pub(super) fn day_axis(range: (f64, f64), start: Option<Date>, width: f64, size: f64) -> Axis {
    let ends = sane_range(range.0, range.1);
    let dated = start.and_then(|start| date_ticks(ends, start, width, size));
    match dated {
        Some(ticks) => Axis::with_ticks(ends, Scale::Linear, ticks),
        None => day_numbers(ends, width, size),
    }
}

/// As many round day numbers as fit; never a fraction of a day on an axis of two days or more.
fn day_numbers(ends: (f64, f64), width: f64, size: f64) -> Axis {
    let mut axis = Axis::exact(ends.0, ends.1, Scale::Linear, 1);
    for most in 2..=12 {
        let finer = Axis::exact(ends.0, ends.1, Scale::Linear, most);
        let whole = finer.ticks.iter().all(|t| t.at.fract().abs() < 1e-9);
        if fits(&finer.ticks, ends, width, size) && (whole || ends.1 - ends.0 < 2.0) {
            axis = finer;
        }
    }
    axis
}

/// The finest dates that fit; `None` when the calendar does not reach so far.
fn date_ticks(ends: (f64, f64), start: Date, width: f64, size: f64) -> Option<Vec<Tick>> {
    STRIDES
        .iter()
        .filter_map(|stride| dates_at(*stride, ends, start))
        .map(|dates| labelled(&dates, start))
        .find(|ticks| !ticks.is_empty() && fits(ticks, ends, width, size))
}

/// The dates of one stride within `ends`, or `None` when there are too many or none.
fn dates_at(stride: Stride, ends: (f64, f64), start: Date) -> Option<Vec<(Date, Stride)>> {
    let first = date_after(start, ends.0.ceil())?;
    let last = date_after(start, ends.1)?;
    let mut date = match stride {
        // Weeks count from the start, so that the first label is the first day.
        Stride::Days(_) => first,
        Stride::Months(n) => {
            let month = (i32::from(first.month()) - 1) / n * n + 1;
            Date::new(first.year(), i8::try_from(month).ok()?, 1).ok()?
        }
        Stride::Years(n) => {
            let year = i32::from(first.year()).div_euclid(n) * n;
            Date::new(i16::try_from(year).ok()?, 1, 1).ok()?
        }
    };
    let mut dates = Vec::new();
    while date <= last {
        if date >= first {
            dates.push((date, stride));
        }
        if dates.len() > MOST {
            return None;
        }
        let step = match stride {
            Stride::Days(n) => n.days(),
            Stride::Months(n) => n.months(),
            Stride::Years(n) => n.years(),
        };
        date = date.checked_add(step).ok()?;
    }
    (!dates.is_empty()).then_some(dates)
}

/// Labels: day and month, month, or year; the year again below the first and where it changes.
fn labelled(dates: &[(Date, Stride)], start: Date) -> Vec<Tick> {
    let mut year = None;
    dates
        .iter()
        .map(|(date, stride)| {
            let month = usize::try_from(date.month() - 1).ok();
            let month = month.and_then(|m| MONTHS.get(m)).copied().unwrap_or("");
            let label = match stride {
                Stride::Days(_) => format!("{} {month}", date.day()),
                Stride::Months(_) => month.to_owned(),
                Stride::Years(_) => date.year().to_string(),
            };
            let new_year = year != Some(date.year()) && !matches!(stride, Stride::Years(_));
            year = Some(date.year());
            let since = start.until(*date).map_or(0, |span| span.get_days());
            Tick {
                at: f64::from(since),
                label,
                below: new_year.then(|| date.year().to_string()),
            }
        })
        .collect()
}

/// Whether all labels stand apart, each centred on its tick.
fn fits(ticks: &[Tick], ends: (f64, f64), width: f64, size: f64) -> bool {
    let middle = |t: &Tick| (t.at - ends.0) / (ends.1 - ends.0) * width;
    let half = |text: &str| text_width(text, size) / 2.0;
    let apart = |a: &Tick, b: &Tick| {
        let room = middle(b) - middle(a);
        let years = match (&a.below, &b.below) {
            (Some(x), Some(y)) => half(x) + half(y) + GAP,
            _ => 0.0,
        };
        room >= half(&a.label) + half(&b.label) + GAP && room >= years
    };
    ticks.windows(2).all(|pair| apart(&pair[0], &pair[1]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn labels(axis: &Axis) -> Vec<&str> {
        axis.ticks.iter().map(|t| t.label.as_str()).collect()
    }

    #[test]
    fn half_a_year_is_marked_by_months_with_the_year_where_it_changes() {
        let axis = day_axis((0.0, 180.0), Some(date(2026, 10, 12)), 640.0, 12.0);
        assert_eq!(labels(&axis), ["Nov", "Dec", "Jan", "Feb", "Mar", "Apr"]);
        assert_eq!(axis.ticks[0].below.as_deref(), Some("2026"));
        assert_eq!(axis.ticks[2].below.as_deref(), Some("2027"));
        // 1 November is 20 days after 12 October.
        assert!((axis.ticks[0].at - 20.0).abs() < 1e-12);
    }

    #[test]
    fn a_leap_day_shifts_the_first_of_march() {
        let axis = day_axis((0.0, 100.0), Some(date(2028, 2, 1)), 640.0, 12.0);
        let march = axis
            .ticks
            .iter()
            .find(|t| t.label == "Mar" || t.label == "29 Feb");
        assert!(march.is_some());
        let months = dates_at(Stride::Months(1), (0.0, 100.0), date(2028, 2, 1)).unwrap();
        let ticks = labelled(&months, date(2028, 2, 1));
        assert!((ticks[1].at - 29.0).abs() < 1e-12);
    }

    #[test]
    fn short_runs_show_days_and_long_ones_years() {
        let axis = day_axis((0.0, 10.0), Some(date(2027, 3, 1)), 640.0, 12.0);
        assert_eq!(axis.ticks[0].label, "1 Mar");
        let axis = day_axis((0.0, 7305.0), Some(date(2027, 3, 1)), 640.0, 12.0);
        assert!(
            axis.ticks
                .iter()
                .all(|t| t.label.len() == 4 && t.below.is_none())
        );
        let axis = day_axis((0.0, 7305.0), None, 640.0, 12.0);
        assert_eq!(axis.ticks[1].label, "1000");
    }

    #[test]
    fn labels_never_touch_at_any_length_and_width() {
        for start in [None, Some(date(2027, 3, 17))] {
            for days in [
                1, 2, 3, 5, 9, 20, 45, 77, 120, 200, 366, 800, 1500, 4000, 9000,
            ] {
                for width in [280.0, 640.0] {
                    let ends = (0.0, f64::from(days));
                    let axis = day_axis(ends, start, width, 12.0);
                    assert!(
                        fits(&axis.ticks, ends, width, 12.0),
                        "{days} days on {width} px"
                    );
                    assert!(!axis.ticks.is_empty(), "{days} days on {width} px");
                }
            }
        }
    }
}
