//! The course of a vessel's temperature: constant, wave, points, or a table in a CSV file.

use std::path::Path;

use super::address::Address;
use super::calendar::Calendar;
use super::check::Checker;
use super::limits::{DAY_OF_YEAR, HOTTEST_DAY, HOUR, Limit, SWING_K, TEMPERATURE_C};
use super::schema::{RawPoint, RawTemperature, RawWave};
use super::table::{self, Wanted};
use crate::case::{TemperatureCourse, Wave};

/// Hour at which the daily wave peaks where none is given. Common practice, no source.
const HOTTEST_HOUR: f64 = 15.0;
/// Freezing point of water \[C\].
const FREEZING_C: f64 = 0.0;
/// Temperature up to which the living groups are described \[C\]: the model has mesophilic ones alone. In the cold, down
/// to freezing, they come to rest as real ones do, so there is no such bound below.
const WARMEST_C: f64 = 45.0;
/// Farthest day of a knot from the start \[d\]: a century.
const FARTHEST_DAY: f64 = 36_525.0;

/// Checks one course.
pub(crate) fn check(
    checker: &mut Checker,
    at: &Address,
    raw: Option<&RawTemperature>,
    calendar: &Calendar,
    folder: Option<&Path>,
) -> TemperatureCourse {
    let course = match raw {
        // A heat balance is checked before anyone asks for a course.
        None | Some(RawTemperature::Heat(_)) => {
            checker.missing(
                at,
                "Choose one course: { \"constant_c\": 35 }, or \"wave\", \"points\", \"table\" or \"heat\".",
            );
            return TemperatureCourse::Constant(f64::NAN);
        }
        Some(RawTemperature::ConstantC(celsius)) => TemperatureCourse::Constant(checker.number(
            &at.key("constant_c"),
            *celsius,
            &TEMPERATURE_C,
        )),
        Some(RawTemperature::Wave(raw)) => TemperatureCourse::Wave(wave(
            checker,
            &at.key("wave"),
            raw,
            calendar,
            &TEMPERATURE_C,
        )),
        Some(RawTemperature::Points(raw)) => {
            let at = at.key("points");
            let knots = points(checker, &at, raw, &TEMPERATURE_C);
            knotted(checker, &at, knots, calendar)
        }
        Some(RawTemperature::Table(raw)) => {
            let at = at.key("table").key("file");
            let Some(file) = &raw.file else {
                checker.missing(
                    &at,
                    "Name a CSV file with the columns day and temperature_c.",
                );
                return TemperatureCourse::Constant(f64::NAN);
            };
            let columns = [Wanted::must("temperature_c", &TEMPERATURE_C)];
            let read = table::read(checker, &at, file, calendar, folder, &columns);
            let knots = read.course(0).unwrap_or_default();
            knotted(checker, &at, knots, calendar)
        }
    };
    let coldest = coldest(&course);
    if coldest < FREEZING_C {
        checker.warn(
            at,
            format!("The liquor is as cold as {coldest:.1} C."),
            "Below 0 C it freezes: pipes and vessel can burst, and no gas is made.",
            "Insulate, heat or empty the digester in time.",
        );
    }
    let hottest = hottest(&course);
    if hottest > WARMEST_C {
        checker.warn(
            at,
            format!("The liquor is as warm as {hottest:.1} C."),
            format!(
                "The equations hold up to about {WARMEST_C} C: they know the living groups of lukewarm digesters, which die \
                 above, and not the heat-loving ones of hot digesters, which would thrive."
            ),
            "Take the result as a hint at most.",
        );
    }
    course
}

/// A wave that stays within a limit.
pub(crate) fn wave(
    checker: &mut Checker,
    at: &Address,
    raw: &RawWave,
    calendar: &Calendar,
    limit: &Limit,
) -> Wave {
    let mean_c = checker.required(&at.key("mean_c"), raw.mean_c, limit);
    let mut swing = |key, value| checker.optional(&at.key(key), value, 0.0, &SWING_K);
    let yearly_swing_k = swing("yearly_swing_k", raw.yearly_swing_k);
    let daily_swing_k = swing("daily_swing_k", raw.daily_swing_k);
    let hottest_hour = checker.optional(
        &at.key("hottest_hour"),
        raw.hottest_hour,
        HOTTEST_HOUR,
        &HOUR,
    );
    let swing = yearly_swing_k + daily_swing_k;
    let (low, high) = (mean_c - swing, mean_c + swing);
    if low < limit.low || high > limit.high {
        checker.outside(
            at,
            format!("a course from {low} to {high} C"),
            limit.allowed(),
            limit.why,
            "Lower the swings or move the mean.",
        );
    }
    Wave {
        mean_c,
        yearly_swing_k,
        hottest_day: hottest_day(checker, at, raw, yearly_swing_k, calendar),
        daily_swing_k,
        hottest_hour,
    }
}

fn hottest_day(
    checker: &mut Checker,
    at: &Address,
    raw: &RawWave,
    yearly_swing_k: f64,
    calendar: &Calendar,
) -> f64 {
    let peak = peak_day(
        checker,
        at,
        raw.hottest_day_of_year,
        raw.hottest_day,
        calendar,
    );
    if peak.is_none() && yearly_swing_k > 0.0 {
        checker.missing(
            &at.key("hottest_day_of_year"),
            "Say when the yearly wave peaks: \"hottest_day_of_year\" (with \"start_date\") or \"hottest_day\".",
        );
    }
    peak.unwrap_or(0.0)
}

/// Day of the run on which a yearly wave peaks, given as a day of the year or of the run; `None` where neither is.
pub(crate) fn peak_day(
    checker: &mut Checker,
    at: &Address,
    day_of_year: Option<f64>,
    day: Option<f64>,
    calendar: &Calendar,
) -> Option<f64> {
    let of_year = at.key("hottest_day_of_year");
    match (day_of_year, day) {
        (None, None) => None,
        (None, Some(day)) => Some(checker.number(&at.key("hottest_day"), day, &HOTTEST_DAY)),
        (Some(_), Some(_)) => {
            checker.wrong(
                &of_year,
                "\"hottest_day_of_year\" and \"hottest_day\" say the same thing twice.",
                "Keep one of the two.",
            );
            Some(0.0)
        }
        (Some(day), None) => {
            let day = checker.number(&of_year, day, &DAY_OF_YEAR);
            match calendar.day_of_year_at_start() {
                Some(start) => Some(day - start),
                None => {
                    calendar.need_start(checker, &of_year);
                    Some(0.0)
                }
            }
        }
    }
}

/// Points of time and their values within a limit.
pub(crate) fn points(
    checker: &mut Checker,
    at: &Address,
    raw: &[RawPoint],
    limit: &Limit,
) -> Vec<(f64, f64)> {
    let mut knots = Vec::new();
    for (i, point) in raw.iter().enumerate() {
        let at = at.index(i);
        let celsius = checker.required(&at.key("temperature_c"), point.temperature_c, limit);
        match point.day {
            None => checker.missing(&at.key("day"), "Give the day, counted from 0."),
            Some(day) if !is_near(day) => checker.wrong_value(
                &at.key("day"),
                day,
                "That day lies more than a century away.",
                "Count days from the start of the run.",
            ),
            Some(day) => knots.push((day, celsius)),
        }
    }
    knots
}

/// Whether a day can be a knot at all.
pub(crate) fn is_near(day: f64) -> bool {
    day.abs() <= FARTHEST_DAY
}

/// Sorts knots, refuses doubles, and warns where they do not cover the run.
pub(crate) fn knotted(
    checker: &mut Checker,
    at: &Address,
    mut knots: Vec<(f64, f64)>,
    calendar: &Calendar,
) -> TemperatureCourse {
    knots.sort_by(|a, b| a.0.total_cmp(&b.0));
    for pair in knots.windows(2) {
        if let [(day, _), (next, _)] = pair
            && day == next
        {
            checker.wrong(
                at,
                format!("Day {day} is given twice."),
                "Keep one temperature for each day.",
            );
        }
    }
    let (Some(first), Some(last)) = (knots.first(), knots.last()) else {
        checker.wrong(
            at,
            "No temperature could be taken from it.",
            "Give at least one day and its temperature.",
        );
        return TemperatureCourse::Constant(f64::NAN);
    };
    let end = calendar.days().map_or(f64::NAN, f64::from);
    // Daily values for every day of the run end one day before its end.
    if first.0 > 1.0 || last.0 < end - 1.0 {
        checker.warn(
            at,
            format!(
                "It covers day {} to day {}, but the run goes from 0 to {end}.",
                first.0, last.0
            ),
            "Outside, the first and the last temperature are held.",
            "Add days, or mind this when you read the result.",
        );
    }
    TemperatureCourse::Table(knots)
}

/// Coldest moment \[C\].
pub(crate) fn coldest(course: &TemperatureCourse) -> f64 {
    match course {
        TemperatureCourse::Constant(celsius) => *celsius,
        TemperatureCourse::Wave(wave) => wave.mean_c - wave.yearly_swing_k - wave.daily_swing_k,
        TemperatureCourse::Table(knots) => knots.iter().map(|k| k.1).fold(f64::INFINITY, f64::min),
    }
}

/// Hottest moment \[C\].
fn hottest(course: &TemperatureCourse) -> f64 {
    match course {
        TemperatureCourse::Constant(celsius) => *celsius,
        TemperatureCourse::Wave(wave) => wave.mean_c + wave.yearly_swing_k + wave.daily_swing_k,
        TemperatureCourse::Table(knots) => {
            knots.iter().map(|k| k.1).fold(f64::NEG_INFINITY, f64::max)
        }
    }
}

/// Mean over whole days from `from` to `to` \[C\].
pub(crate) fn mean_c(course: &TemperatureCourse, from: u32, to: u32) -> f64 {
    // The daily wave has no mean.
    let smooth = match course {
        TemperatureCourse::Wave(wave) => TemperatureCourse::Wave(Wave {
            daily_swing_k: 0.0,
            ..*wave
        }),
        other => other.clone(),
    };
    let days = (from..to.max(from + 1)).map(|day| smooth.at(f64::from(day) + 0.5).0);
    let (sum, count) = days.fold((0.0, 0.0), |(sum, count), c| (sum + c, count + 1.0));
    sum / count
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn means_of_courses() {
        let wave = TemperatureCourse::Wave(Wave {
            mean_c: 11.0,
            yearly_swing_k: 9.0,
            hottest_day: 200.0,
            daily_swing_k: 3.0,
            hottest_hour: 15.0,
        });
        assert!((mean_c(&wave, 0, 1461) - 11.0).abs() < 1e-3);
        assert!((mean_c(&wave, 199, 201) - 20.0).abs() < 1e-3);
        let table = TemperatureCourse::Table(vec![(0.0, 10.0), (10.0, 20.0)]);
        assert!((mean_c(&table, 0, 10) - 15.0).abs() < 1e-12);
        assert_eq!(mean_c(&table, 20, 30), 20.0);
        assert_eq!(mean_c(&TemperatureCourse::Constant(35.0), 5, 5), 35.0);
    }
}
