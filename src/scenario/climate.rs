//! Weather of the place: air, sun, wind, soil.

use std::f64::consts::TAU;
use std::path::Path;

use super::address::Address;
use super::calendar::Calendar;
use super::check::Checker;
use super::limits::{DAY_OF_YEAR, HOTTEST_DAY, HOUR, SWING_K};
use super::limits_heat::{AIR_C, DIFFUSIVITY, SOIL_C, SUN_KWH, SUN_W, WIND};
use super::schema::{RawAir, RawClimate, RawSoil, RawSun};
use super::table::{self, Wanted};
use super::temperature::{knotted, points, wave};
use crate::case::{TemperatureCourse, Wave};
use crate::thermal::{SoilWave, Sun, Weather};

/// Wind where none is given \[m/s\]: a sheltered yard. Common practice, no source.
const WIND_M_PER_S: f64 = 2.0;
/// Diffusivity of moist soil \[mm2/s\]: 0.3 to 0.8 is usual. Handbook value, from memory.
const SOIL_MM2_PER_S: f64 = 0.6;
/// Square metres a day in square millimetres a second.
const M2_PER_D: f64 = 0.0864;
/// The northern solstice.
const BRIGHTEST_DAY_OF_YEAR: f64 = 172.0;
/// From so many days on a table tells the wave of a year.
const YEAR_KNOWN_D: f64 = 330.0;
const YEAR_D: f64 = 365.25;
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
    let soil = soil(checker, &at.key("soil"), raw.soil.as_ref(), &air);
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
    Weather {
        air,
        sun,
        wind,
        soil,
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

fn soil(
    checker: &mut Checker,
    at: &Address,
    raw: Option<&RawSoil>,
    air: &TemperatureCourse,
) -> SoilWave {
    let nothing = RawSoil::default();
    let raw = raw.unwrap_or(&nothing);
    let (mean, swing, hottest) = match year_of(air) {
        Some(year) => year,
        None => {
            if raw.mean_c.is_none() {
                checker.warn(
                    at,
                    "The air is known for less than a year, and the soil is not given.",
                    "The soil is taken at the mean of the air without a wave, which is wrong by several kelvin in \
                     summer and winter.",
                    "Give \"soil\": { \"mean_c\": ... }, or a whole year of air.",
                );
            }
            (mean_of(air), 0.0, 0.0)
        }
    };
    SoilWave::new(
        checker.optional(&at.key("mean_c"), raw.mean_c, mean, &SOIL_C),
        checker.optional(
            &at.key("yearly_swing_k"),
            raw.yearly_swing_k,
            swing,
            &SWING_K,
        ),
        hottest,
        M2_PER_D
            * checker.optional(
                &at.key("diffusivity_mm2_per_s"),
                raw.diffusivity_mm2_per_s,
                SOIL_MM2_PER_S,
                &DIFFUSIVITY,
            ),
    )
}

fn mean_of(air: &TemperatureCourse) -> f64 {
    match air {
        TemperatureCourse::Constant(c) => *c,
        TemperatureCourse::Wave(w) => w.mean_c,
        TemperatureCourse::Table(knots) => {
            knots.iter().map(|k| k.1).sum::<f64>() / knots.len() as f64
        }
    }
}

/// (mean \[C\], swing \[K\], hottest day) of the air's yearly wave; `None` where too little is known of it.
fn year_of(air: &TemperatureCourse) -> Option<(f64, f64, f64)> {
    match air {
        TemperatureCourse::Constant(c) => Some((*c, 0.0, 0.0)),
        TemperatureCourse::Wave(w) => Some((w.mean_c, w.yearly_swing_k, w.hottest_day)),
        TemperatureCourse::Table(knots) => {
            let (first, last) = (knots.first()?, knots.last()?);
            if last.0 - first.0 < YEAR_KNOWN_D {
                return None;
            }
            // Sums over whole years of even rows are the least-squares wave.
            let years = ((last.0 - first.0) / YEAR_D).floor().max(1.0);
            let end = first.0 + years * YEAR_D;
            let whole = || knots.iter().filter(|k| k.0 < end);
            let n = whole().count() as f64;
            let mean = whole().map(|k| k.1).sum::<f64>() / n;
            let sum = |of: fn(f64) -> f64| {
                let part = |k: &(f64, f64)| (k.1 - mean) * of(TAU * k.0 / YEAR_D);
                2.0 / n * whole().map(part).sum::<f64>()
            };
            let (c, s) = (sum(f64::cos), sum(f64::sin));
            Some((mean, c.hypot(s), s.atan2(c) * YEAR_D / TAU))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_wave_of_a_table_is_found_again() {
        let wave = |t: f64| 11.0 + 9.0 * (TAU * (t - 200.0) / YEAR_D).cos();
        let knots: Vec<(f64, f64)> = (0..731)
            .map(|d| (f64::from(d), wave(f64::from(d))))
            .collect();
        let (mean, swing, hottest) = year_of(&TemperatureCourse::Table(knots)).unwrap();
        assert!((mean - 11.0).abs() < 0.02, "{mean}");
        assert!((swing - 9.0).abs() < 0.03, "{swing}");
        assert!(
            (hottest.rem_euclid(YEAR_D) - 200.0).abs() < 0.5,
            "{hottest}"
        );
    }
}
