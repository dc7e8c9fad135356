//! Days of the run and dates.

use jiff::civil::Date;

use super::address::Address;
use super::check::Checker;
use super::limits::DAY;
use super::problem::shown;

/// Hours of a day.
pub(crate) const HOURS_PER_DAY: f64 = 24.0;

/// Length of the run and, where given, the date of its first day.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Calendar {
    start: Option<Date>,
    /// `None` after a problem.
    days: Option<u32>,
    start_was_given: bool,
}

impl Calendar {
    /// Checks the start date; `days` is checked already, and NaN after a problem.
    pub(crate) fn new(checker: &mut Checker, start_date: Option<&str>, days: f64) -> Self {
        let at = Address::default().key("start_date");
        let start = start_date.and_then(|text| read_date(checker, &at, text));
        Self {
            start,
            // Checked to be a whole number from 1 to 7300.
            days: (!days.is_nan()).then_some(days as u32),
            start_was_given: start_date.is_some(),
        }
    }

    pub(crate) fn start(&self) -> Option<Date> {
        self.start
    }

    /// Length of the run; `None` after a problem.
    pub(crate) fn days(&self) -> Option<u32> {
        self.days
    }

    /// Day of the year of day 0 (1 January is 1).
    pub(crate) fn day_of_year_at_start(&self) -> Option<f64> {
        self.start.map(|date| f64::from(date.day_of_year()))
    }

    /// Month of a day of the run, 0 for January; `None` without a start date.
    pub(crate) fn month_of(&self, day: u32) -> Option<usize> {
        month_of(self.start, day)
    }

    /// Day of the run that falls on a date; `None` after a problem, which is noted.
    pub(crate) fn day_of(&self, checker: &mut Checker, at: &Address, text: &str) -> Option<f64> {
        let date = read_date(checker, at, text)?;
        let Some(start) = self.start else {
            self.need_start(checker, at);
            return None;
        };
        Some(days_between(start, date))
    }

    /// Notes that a date needs the start date, unless that one was given and is wrong itself.
    pub(crate) fn need_start(&self, checker: &mut Checker, at: &Address) {
        if !self.start_was_given {
            checker.wrong(
                at,
                "Dates and days of the year need to know when the run begins.",
                "Add \"start_date\" at the top of the scenario, such as \"2026-03-01\".",
            );
        }
    }

    /// A day on which something is done: whole and within the run.
    pub(crate) fn day(&self, checker: &mut Checker, at: &Address, day: f64) -> Option<u32> {
        if !DAY.admits(day) {
            checker.number(at, day, &DAY);
            return None;
        }
        if let Some(days) = self.days
            && day >= f64::from(days)
        {
            checker.wrong_value(
                at,
                day,
                format!(
                    "The run has {days} days, so its last day is day {}.",
                    days - 1
                ),
                "Choose an earlier day or lengthen \"days\".",
            );
            return None;
        }
        // Whole and at most 7299 by the limit.
        Some(day as u32)
    }
}

/// Month of the day so many days after a date, 0 for January.
pub(crate) fn month_of(start: Option<Date>, day: u32) -> Option<usize> {
    let span = jiff::Span::new().try_days(day).ok()?;
    let date = start?.checked_add(span).ok()?;
    usize::try_from(date.month()).ok()?.checked_sub(1)
}

/// Days from one date to another; negative when the second lies before the first.
pub(crate) fn days_between(from: Date, to: Date) -> f64 {
    f64::from(from.until(to).map_or(0, |span| span.get_days()))
}

/// A date written as `2026-03-01`; `None` if it is none.
pub(crate) fn parse_date(text: &str) -> Option<Date> {
    let shape = text.len() == 10
        && text.bytes().enumerate().all(|(i, b)| match i {
            4 | 7 => b == b'-',
            _ => b.is_ascii_digit(),
        });
    if shape { text.parse().ok() } else { None }
}

fn read_date(checker: &mut Checker, at: &Address, text: &str) -> Option<Date> {
    let date = parse_date(text);
    if date.is_none() {
        checker.wrong_value(
            at,
            format!("\"{}\"", shown(text)),
            "This is no date of the calendar.",
            "Write year, month and day as \"2026-03-01\".",
        );
    }
    date
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_strict() {
        assert!(parse_date("2026-03-01").is_some());
        assert!(parse_date("2028-02-29").is_some());
        for text in ["2026-02-29", "1.3.2026", "2026-3-1", "2026-03-01T08:00", ""] {
            assert_eq!(parse_date(text), None, "{text}");
        }
    }

    #[test]
    fn days_between_dates_count_leap_days() {
        let date = |text| parse_date(text).unwrap();
        assert_eq!(days_between(date("2028-02-28"), date("2028-03-01")), 2.0);
        assert_eq!(days_between(date("2026-03-01"), date("2026-02-28")), -1.0);
        assert_eq!(days_between(date("2026-03-01"), date("2046-03-01")), 7305.0);
    }
}
