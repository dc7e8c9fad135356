//! Weather of the place: air, sun, wind, soil.

use std::path::Path;

use super::address::Address;
use super::calendar::Calendar;
use super::check::Checker;
use super::limits::{DAY_OF_YEAR, HOTTEST_DAY, HOUR};
use super::limits_heat::{AIR_C, LATITUDE_DEG, SUN_KWH, SUN_W, WIND};
use super::schema::{RawAir, RawClimate, RawSun};
use super::soil;
use super::table::{self, Wanted};
use super::temperature::{knotted, points, wave};
use crate::case::{TemperatureCourse, Wave};
use crate::thermal::{Sun, Weather};

/// Wind where none is given \[m/s\]: a sheltered yard. Common practice, no source.
const WIND_M_PER_S: f64 = 2.0;
/// The northern solstice.
const BRIGHTEST_DAY_OF_YEAR: f64 = 172.0;
const HOURS: f64 = 24.0;
/// Hours are told apart from days by this much \[d\].
const WHOLE: f64 = 1e-9;

/// What a table of the weather holds, in this order.
const COLUMNS: [&str; 5] = [
    "air_c",
    "hour",
    "sun_w_per_m2",
    "sun_kwh_per_m2_d",
    "wind_m_per_s",
];

/// Checks the weather.
pub(crate) fn check(
    checker: &mut Checker,
    raw: &RawClimate,
    calendar: &Calendar,
    folder: Option<&Path>,
) -> Weather {
    let at = Address::default().key("climate");
    let air_at = at.key("air");
    let mut from_table = FromTable::default();
    let air = match &raw.air {
        None => {
            checker.missing(
                &air_at,
                "Choose one course of the air: \"wave\", \"table\", \"points\" or \"constant_c\".",
            );
            TemperatureCourse::Constant(f64::NAN)
        }
        Some(RawAir::ConstantC(celsius)) => {
            TemperatureCourse::Constant(checker.number(&air_at.key("constant_c"), *celsius, &AIR_C))
        }
        Some(RawAir::Wave(raw)) => {
            TemperatureCourse::Wave(wave(checker, &air_at.key("wave"), raw, calendar, &AIR_C))
        }
        Some(RawAir::Points(raw)) => {
            let at = air_at.key("points");
            let knots = points(checker, &at, raw, &AIR_C);
            knotted(checker, &at, knots, calendar)
        }
        Some(RawAir::Table(raw)) => {
            let at = air_at.key("table").key("file");
            match &raw.file {
                None => {
                    checker.missing(&at, "Name a CSV file with the columns day and air_c.");
                    TemperatureCourse::Constant(f64::NAN)
                }
                Some(file) => {
                    from_table = read(checker, &at, file, calendar, folder);
                    let knots = std::mem::take(&mut from_table.air);
                    knotted(checker, &at, knots, calendar)
                }
            }
        }
    };
    let soil = soil::check(checker, &at.key("soil"), raw.soil.as_ref(), &air, calendar);
    let sun = match (from_table.sun, &raw.sun) {
        (Some(sun), None) => sun,
        (Some(sun), Some(_)) => {
            twice(checker, &at.key("sun"));
            sun
        }
        (None, Some(raw)) => sun(checker, &at.key("sun"), raw, calendar),
        (None, None) => Sun::Daily(TemperatureCourse::Constant(0.0)),
    };
    let wind_at = at.key("wind_m_per_s");
    let wind = match (from_table.wind, raw.wind_m_per_s) {
        (Some(wind), None) => wind,
        (Some(wind), Some(_)) => {
            twice(checker, &wind_at);
            wind
        }
        (None, value) => {
            TemperatureCourse::Constant(checker.optional(&wind_at, value, WIND_M_PER_S, &WIND))
        }
    };
    let latitude_deg = raw
        .latitude_deg
        .map(|degrees| checker.number(&at.key("latitude_deg"), degrees, &LATITUDE_DEG));
    Weather {
        air,
        sun,
        wind,
        soil,
        latitude_deg,
    }
}

fn twice(checker: &mut Checker, at: &Address) {
    checker.wrong(
        at,
        "The table of the air has a column for this already.",
        "Keep one of the two.",
    );
}

/// Sun and wind that a table may bring besides the air.
#[derive(Default)]
struct FromTable {
    air: Vec<(f64, f64)>,
    sun: Option<Sun>,
    wind: Option<TemperatureCourse>,
}

fn read(
    checker: &mut Checker,
    at: &Address,
    file: &str,
    calendar: &Calendar,
    folder: Option<&Path>,
) -> FromTable {
    let wanted = [
        Wanted::must(COLUMNS[0], &AIR_C),
        Wanted::may(COLUMNS[1], &HOUR),
        Wanted::may(COLUMNS[2], &SUN_W),
        Wanted::may(COLUMNS[3], &SUN_KWH),
        Wanted::may(COLUMNS[4], &WIND),
    ];
    let mut read = table::read(checker, at, file, calendar, folder, &wanted);
    let hours = read.values.get_mut(1).and_then(Option::take);
    match hours {
        Some(hours) => {
            for (day, hour) in read.days.iter_mut().zip(hours) {
                *day += hour / HOURS;
            }
        }
        None if read.days.iter().all(|d| (d - d.round()).abs() < WHOLE) => {
            // A day's mean belongs to its middle.
            read.days.iter_mut().for_each(|day| *day += 0.5);
        }
        None => {}
    }
    let course = |i| {
        let mut knots = read.course(i)?;
        knots.sort_by(|a, b| a.0.total_cmp(&b.0));
        Some(knots)
    };
    let air = course(0).unwrap_or_default();
    let some = |knots: Option<Vec<(f64, f64)>>| {
        knots
            .filter(|k| !k.is_empty())
            .map(TemperatureCourse::Table)
    };
    let (power, daily, wind) = (some(course(2)), some(course(3)), some(course(4)));
    if power.is_some() && daily.is_some() {
        checker.wrong(
            at,
            "There is a column sun_w_per_m2 and a column sun_kwh_per_m2_d.",
            "Keep one of the two.",
        );
    }
    FromTable {
        air,
        sun: power.map(Sun::Power).or(daily.map(Sun::Daily)),
        wind,
    }
}

fn sun(checker: &mut Checker, at: &Address, raw: &RawSun, calendar: &Calendar) -> Sun {
    let mean = checker.required(
        &at.key("mean_kwh_per_m2_d"),
        raw.mean_kwh_per_m2_d,
        &SUN_KWH,
    );
    let swing_at = at.key("yearly_swing_kwh_per_m2_d");
    let swing = checker.optional(&swing_at, raw.yearly_swing_kwh_per_m2_d, 0.0, &SUN_KWH);
    if swing > mean {
        checker.outside(
            &swing_at,
            swing,
            format!("0 to {mean} kWh per m2 and day"),
            "The darkest day would have less than no sun.",
            "Lower the swing or raise the mean.",
        );
    }
    let of_year = at.key("brightest_day_of_year");
    let brightest = match (raw.brightest_day_of_year, raw.brightest_day) {
        (Some(_), Some(_)) => {
            checker.wrong(
                &of_year,
                "\"brightest_day_of_year\" and \"brightest_day\" say the same thing twice.",
                "Keep one of the two.",
            );
            0.0
        }
        (None, Some(day)) => checker.number(&at.key("brightest_day"), day, &HOTTEST_DAY),
        (of, None) => {
            let day = checker.optional(&of_year, of, BRIGHTEST_DAY_OF_YEAR, &DAY_OF_YEAR);
            match calendar.day_of_year_at_start() {
                Some(start) => day - start,
                None => {
                    if swing > 0.0 || of.is_some() {
                        calendar.need_start(checker, &of_year);
                    }
                    0.0
                }
            }
        }
    };
    Sun::Daily(TemperatureCourse::Wave(Wave {
        mean_c: mean,
        yearly_swing_k: swing,
        hottest_day: brightest,
        daily_swing_k: 0.0,
        hottest_hour: 0.0,
    }))
}
