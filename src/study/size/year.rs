//! Months of a usual year.

/// Months of a year.
pub(super) const MONTHS: usize = 12;
/// Days of each month of a year without a leap day.
pub(super) const DAYS: [u32; MONTHS] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
/// Year of the first day of every run: no leap day falls into the next 24 months.
pub(super) const FIRST_YEAR: u32 = 2025;
/// Months of running in before the year that is judged.
pub(super) const LEAD: usize = 4;
/// Share of the month's feed in the months of running in. Assumption of this project: a filling of running digestate
/// bears a quarter at once.
pub(super) const RAMP: [f64; LEAD] = [0.25, 0.5, 0.75, 1.0];

/// Month (0 for January) on a day counted from the first of the month `start`.
pub(super) fn month_at(start: usize, day: u32) -> usize {
    let mut left = day;
    let mut month = start % MONTHS;
    while left >= DAYS[month] {
        left -= DAYS[month];
        month = (month + 1) % MONTHS;
    }
    month
}

/// One stretch of a run: (month, first day, day after its last, share of its feed).
pub(super) type Stretch = (usize, u32, u32, f64);

/// The stretches of a run that begins in the month `start`: running in, then the year that is judged.
pub(super) fn stretches(start: usize) -> Vec<Stretch> {
    let mut out = Vec::new();
    let mut day = 0;
    for i in 0..LEAD + MONTHS {
        let month = (start + i) % MONTHS;
        let end = day + DAYS[month];
        out.push((month, day, end, RAMP.get(i).copied().unwrap_or(1.0)));
        day = end;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_holds_its_lead_and_a_whole_year() {
        for start in 0..MONTHS {
            let all = stretches(start);
            let judged = &all[LEAD..];
            let days: u32 = judged.iter().map(|(_, from, to, _)| to - from).sum();
            assert_eq!((judged.len(), days), (12, 365));
            for (month, from, to, _) in all {
                assert_eq!(month_at(start, from), month);
                assert_eq!(month_at(start, to - 1), month);
            }
        }
    }
}
