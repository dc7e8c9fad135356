//! Days of a run on the calendar.

use jiff::Span;
use jiff::civil::Date;

/// The date that many whole days after `start`; `None` where the calendar does not reach.
pub(crate) fn date_after(start: Date, days: f64) -> Option<Date> {
    if !days.is_finite() {
        return None;
    }
    #[allow(clippy::cast_possible_truncation)] // saturates, and the span then refuses
    let days = days.floor() as i64;
    let span = Span::new().try_days(days).ok()?;
    start.checked_add(span).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn days_are_counted_and_absurd_ones_refused() {
        let start = date(2028, 2, 28);
        assert_eq!(date_after(start, 2.9), Some(date(2028, 3, 1)));
        assert_eq!(date_after(start, -1.0), Some(date(2028, 2, 27)));
        for days in [1e127, -1e127, 4e6, f64::NAN, f64::INFINITY] {
            assert_eq!(date_after(start, days), None, "{days}");
        }
    }
}
