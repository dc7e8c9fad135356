//! The soil beside a vessel: its yearly wave as given, else that of the air.

use std::f64::consts::TAU;

use super::address::Address;
use super::calendar::Calendar;
use super::check::Checker;
use super::limits::SWING_K;
use super::limits_heat::{DIFFUSIVITY, SOIL_C};
use super::schema::RawSoil;
use super::temperature::peak_day;
use crate::case::TemperatureCourse;
use crate::thermal::SoilWave;

/// Diffusivity of moist soil \[mm2/s\]: 0.3 to 0.8 is usual. Handbook value, from memory.
const SOIL_MM2_PER_S: f64 = 0.6;
/// Square metres a day in square millimetres a second.
const M2_PER_D: f64 = 0.0864;
/// From so many days on a table tells the wave of a year: monthly means go from mid January to mid December.
const YEAR_KNOWN_D: f64 = 330.0;
/// A year of daily means goes from the middle of the first day to that of the last \[d\].
const WHOLE_YEAR_D: f64 = 364.0;
const YEAR_D: f64 = 365.25;

/// The yearly wave that the air shows.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Shown {
    mean_c: f64,
    swing_k: f64,
    /// `None` for air without a wave.
    hottest_day: Option<f64>,
}

/// Checks the soil.
pub(crate) fn check(
    checker: &mut Checker,
    at: &Address,
    raw: Option<&RawSoil>,
    air: &TemperatureCourse,
    calendar: &Calendar,
) -> SoilWave {
    let nothing = RawSoil::default();
    let raw = raw.unwrap_or(&nothing);
    let shown = match air {
        TemperatureCourse::Constant(c) => Shown {
            mean_c: *c,
            swing_k: 0.0,
            hottest_day: None,
        },
        TemperatureCourse::Wave(w) => Shown {
            mean_c: w.mean_c,
            swing_k: w.yearly_swing_k,
            hottest_day: (w.yearly_swing_k > 0.0).then_some(w.hottest_day),
        },
        TemperatureCourse::Table(knots) => of_table(checker, at, raw, knots),
    };
    let own = peak_day(
        checker,
        at,
        raw.hottest_day_of_year,
        raw.hottest_day,
        calendar,
    );
    let mean_c = checker.optional(&at.key("mean_c"), raw.mean_c, shown.mean_c, &SOIL_C);
    let swing_k = checker.optional(
        &at.key("yearly_swing_k"),
        raw.yearly_swing_k,
        shown.swing_k,
        &SWING_K,
    );
    let hottest = own.or(shown.hottest_day);
    if swing_k > 0.0 && hottest.is_none() {
        checker.missing(
            &at.key("hottest_day_of_year"),
            "The air tells no yearly wave that the soil could follow. Say when the surface of the soil is warmest: \
             \"hottest_day_of_year\" (with \"start_date\") or \"hottest_day\".",
        );
    }
    SoilWave::new(
        mean_c,
        swing_k,
        hottest.unwrap_or(0.0),
        M2_PER_D
            * checker.optional(
                &at.key("diffusivity_mm2_per_s"),
                raw.diffusivity_mm2_per_s,
                SOIL_MM2_PER_S,
                &DIFFUSIVITY,
            ),
    )
}

/// What a table shows, with a warning where that is less than a year and the soil leans on it.
fn of_table(checker: &mut Checker, at: &Address, raw: &RawSoil, knots: &[(f64, f64)]) -> Shown {
    let span = match (knots.first(), knots.last()) {
        (Some(first), Some(last)) => last.0 - first.0,
        _ => 0.0,
    };
    let leans = raw.yearly_swing_k.is_none() || raw.mean_c.is_none();
    if let Some(shown) = year_of(knots) {
        if span < WHOLE_YEAR_D && leans {
            checker.warn(
                at,
                format!("The air is known for {span:.0} days, less than a full year."),
                "The yearly wave of the soil is fitted to these days alone.",
                "Give \"soil\": { \"mean_c\": ..., \"yearly_swing_k\": ..., \"hottest_day_of_year\": ... }, or a whole year \
                 of air.",
            );
        }
        return shown;
    }
    if leans {
        let seen = match raw.mean_c {
            None => "The air is known for less than a year, and the soil is not given.",
            Some(_) => {
                "The air is known for less than a year, and of the soil only the mean is given."
            }
        };
        checker.warn(
            at,
            seen,
            "The soil is taken without a yearly wave, which is wrong by several kelvin in summer and winter.",
            "Give \"soil\": { \"mean_c\": ..., \"yearly_swing_k\": ..., \"hottest_day_of_year\": ... }, or a whole year of \
             air.",
        );
    }
    Shown {
        mean_c: mean_of(knots),
        swing_k: 0.0,
        hottest_day: None,
    }
}

/// Mean over time of straight lines between knots.
fn mean_of(knots: &[(f64, f64)]) -> f64 {
    let (mut area, mut span) = (0.0, 0.0);
    for pair in knots.windows(2) {
        let days = pair[1].0 - pair[0].0;
        area += 0.5 * days * (pair[0].1 + pair[1].1);
        span += days;
    }
    match knots.first() {
        Some(first) if span <= 0.0 => first.1,
        _ => area / span,
    }
}

/// Mean, cosine and sine that follow the straight lines between the knots best, squared and summed over time, not over
/// knots: over as many whole years as there are. `None` where too little is known.
fn year_of(knots: &[(f64, f64)]) -> Option<Shown> {
    let (first, last) = (knots.first()?, knots.last()?);
    let span = last.0 - first.0;
    if span < YEAR_KNOWN_D {
        return None;
    }
    let years = ((span + YEAR_D - WHOLE_YEAR_D) / YEAR_D).floor().max(1.0);
    let end = last.0.min(first.0 + years * YEAR_D);
    let w = TAU / YEAR_D;
    let mut right = [0.0; 3];
    for pair in knots.windows(2) {
        let ((a, from), (b, to)) = (pair[0], pair[1]);
        let b_cut = b.min(end);
        if b_cut <= a {
            continue;
        }
        let slope = (to - from) / (b - a);
        // Antiderivatives of f, f cos wt and f sin wt for a straight f.
        let at = |t: f64| {
            let f = from + slope * (t - a);
            let (s, c) = (w * t).sin_cos();
            [
                0.5 * (f + from) * (t - a),
                (f * s + slope * c / w) / w,
                (slope * s / w - f * c) / w,
            ]
        };
        let (low, high) = (at(a), at(b_cut));
        for (sum, (low, high)) in right.iter_mut().zip(low.into_iter().zip(high)) {
            *sum += high - low;
        }
    }
    // Antiderivatives of 1, cos, sin, cos2, sin cos, sin2.
    let at = |t: f64| {
        let (s, c) = (w * t).sin_cos();
        let double = s * c / w;
        [
            t,
            s / w,
            -c / w,
            0.5 * (t + double),
            0.5 * s * s / w,
            0.5 * (t - double),
        ]
    };
    let (low, high) = (at(first.0), at(end));
    let [n, c, s, cc, sc, ss]: [f64; 6] = std::array::from_fn(|i| high[i] - low[i]);
    let [mean_c, cosine, sine] = solved([[n, c, s], [c, cc, sc], [s, sc, ss]], right)?;
    let swing_k = cosine.hypot(sine);
    Some(Shown {
        mean_c,
        swing_k,
        hottest_day: (swing_k > 0.0).then(|| sine.atan2(cosine) / w),
    })
}

/// Three equations by Cramer's rule; `None` where they are not independent.
fn solved(m: [[f64; 3]; 3], right: [f64; 3]) -> Option<[f64; 3]> {
    let det = |m: &[[f64; 3]; 3]| {
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
            - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
            + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    };
    let whole = det(&m);
    if !whole.is_finite() || whole == 0.0 {
        return None;
    }
    Some(std::array::from_fn(|i| {
        let mut with = m;
        for (row, value) in with.iter_mut().zip(right) {
            row[i] = value;
        }
        det(&with) / whole
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(t: f64) -> f64 {
        11.0 + 9.0 * (TAU * (t - 200.0) / YEAR_D).cos()
    }

    fn found(days: impl Iterator<Item = f64>) -> (f64, f64, f64) {
        let knots: Vec<(f64, f64)> = days.map(|d| (d, wave(d))).collect();
        let shown = year_of(&knots).unwrap();
        (
            shown.mean_c,
            shown.swing_k,
            shown.hottest_day.unwrap().rem_euclid(YEAR_D),
        )
    }

    #[test]
    fn the_wave_of_a_table_is_found_again_however_its_rows_lie() {
        let even = || (0..731).map(f64::from);
        // Daily in summer, every tenth day else: a mean over the rows would lean to the summer.
        let summers =
            || even().filter(|d| d % 365.0 > 150.0 && d % 365.0 < 240.0 || d % 10.0 == 0.0);
        let short = || even().filter(|d| *d <= 334.0);
        for (what, (mean, swing, hottest)) in [
            ("even", found(even())),
            ("summers", found(summers())),
            ("short", found(short())),
            ("a year and a half", found(even().filter(|d| *d <= 547.0))),
        ] {
            assert!((mean - 11.0).abs() < 0.02, "{what}: {mean}");
            assert!((swing - 9.0).abs() < 0.03, "{what}: {swing}");
            assert!((hottest - 200.0).abs() < 0.2, "{what}: {hottest}");
        }
        assert_eq!(year_of(&[(0.0, 1.0), (300.0, 2.0)]), None);
    }

    #[test]
    fn means_count_time_and_not_rows() {
        assert_eq!(mean_of(&[(0.0, 0.0), (9.0, 0.0), (10.0, 10.0)]), 0.5);
        assert_eq!(mean_of(&[(3.0, 7.0)]), 7.0);
    }
}
