//! When the gas is used: sessions that leave the pauses of the wish, and the appliance that serves it.

use serde_json::{Map, Value, json};

use super::judge::Tried;
use super::rules::rules;
use super::wish::{Target, Wish};
use super::year::MONTHS;
use crate::plant::Portion;
use crate::plant::uses::{EngineKind, EngineSettings, use_table};
use crate::units::MONTHS as MONTHS_OF_YEAR;

const DAY_H: f64 = 24.0;
const WEEK_D: f64 = 7.0;
/// The first use of a day. Common practice, no source.
const MORNING_H: f64 = 7.0;
/// A burner is not lit for longer at a stretch; more hours take more burners. Assumption of this project.
const LONGEST_BURN_H: f64 = 4.0;
/// A burner is not lit for less at a time \[min\]. Assumption of this project.
const LEAST_BURN_MIN: usize = 5;
/// Share of a week's minutes that may be lost or won for sessions of one length. Assumption of this project.
const EVEN: f64 = 0.015;
const HOUR_MIN: f64 = 60.0;
/// Lines of a timetable up to which each burner gets its own: a scenario takes a hundred.
const MOST_LINES: usize = 60;
/// Gas is used for about so long at a time. Assumption of this project.
const SESSION_H: f64 = 1.0;
/// Strongest appliances that a scenario takes \[kW\]: burner, engine.
const MOST_KW: (f64, f64) = (100.0, 50.0);
const WEEKDAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/// Beginnings of use: hours of a day, and every how many days.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sessions {
    /// Hours after midnight.
    pub(super) from_h: Vec<f64>,
    /// 1: daily.
    pub(super) each_days: usize,
}

impl Sessions {
    /// As few as leave no pause longer than `pause_h`, each `long_h` long: a night of that length, the rest of the day
    /// in equal parts.
    pub(super) fn with_pause(pause_h: f64, long_h: f64) -> Self {
        if pause_h >= DAY_H {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 to 7
            let each_days = (pause_h / DAY_H).floor().clamp(1.0, WEEK_D) as usize;
            return Self {
                from_h: vec![MORNING_H],
                each_days,
            };
        }
        // From beginning to beginning.
        let step = (pause_h + long_h).min(DAY_H);
        let count = (DAY_H / step).ceil().max(1.0);
        let last = (count - 1.0).max(1.0);
        let between = (DAY_H - step) / last;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 to 24
        let from_h = (0..count as usize)
            .map(|k| (MORNING_H + between * k as f64) % DAY_H)
            .collect();
        Self {
            from_h,
            each_days: 1,
        }
    }

    /// Sessions of a week.
    pub(super) fn a_week(&self) -> f64 {
        self.weekdays().len() as f64 * self.from_h.len() as f64
    }

    fn weekdays(&self) -> Vec<&'static str> {
        WEEKDAYS.iter().copied().step_by(self.each_days).collect()
    }

    /// The timetable of an appliance in some months.
    fn lines(&self, appliance: &str, hours: f64, months: &[bool; MONTHS]) -> Vec<Value> {
        let weekdays = self.weekdays();
        let line = |from_h: &f64| line(appliance, *from_h, hours, &weekdays, months);
        self.from_h.iter().map(line).collect()
    }

    /// The same for whole minutes of a week: none shorter than [`LEAST_BURN_MIN`], on fewer days where there are not so many.
    fn lines_of(&self, appliance: &str, week_min: f64, months: &[bool; MONTHS]) -> Vec<Value> {
        let weekdays = self.weekdays();
        let minutes = spread(week_min, weekdays.len() * self.from_h.len());
        let mut out = Vec::new();
        for (k, from_h) in self.from_h.iter().enumerate() {
            let of_days: Vec<usize> = (minutes.iter().skip(k))
                .step_by(self.from_h.len())
                .copied()
                .collect();
            let mut lengths = of_days.clone();
            lengths.sort_unstable();
            lengths.dedup();
            for length in lengths.into_iter().filter(|minutes| *minutes > 0) {
                let days = weekdays.iter().zip(&of_days);
                let days: Vec<&str> = days
                    .filter(|(_, minutes)| **minutes == length)
                    .map(|(day, _)| *day)
                    .collect();
                let hours = length as f64 / HOUR_MIN;
                out.push(line(appliance, *from_h, hours, &days, months));
            }
        }
        out
    }
}

/// One line of a timetable.
fn line(
    appliance: &str,
    from_h: f64,
    hours: f64,
    weekdays: &[&str],
    months: &[bool; MONTHS],
) -> Value {
    let mut line = json!({"appliance": appliance, "from_h": round(from_h), "hours": hours});
    if weekdays.len() < WEEKDAYS.len() {
        line["weekdays"] = json!(weekdays);
    }
    if !months.iter().all(|m| *m) {
        let on = (0..MONTHS).filter(|m| months[*m]);
        line["months"] = on.map(|m| MONTHS_OF_YEAR[m].to_lowercase()).collect();
    }
    line
}

/// Minutes of a week spread over its sessions: whole, none but 0 below [`LEAST_BURN_MIN`]; equal, where the week's sum stays
/// within [`EVEN`] so, else nearly.
fn spread(week_min: f64, sessions: usize) -> Vec<usize> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    // a week's minutes; NaN becomes 0
    let whole = (week_min.round() as usize).max(LEAST_BURN_MIN);
    let each = (week_min / sessions.max(1) as f64).round();
    let even = (each * sessions as f64 - week_min).abs() <= EVEN * week_min;
    if even && each >= LEAST_BURN_MIN as f64 {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        // minutes of a week at most
        return vec![each as usize; sessions];
    }
    let lit = sessions.min(whole / LEAST_BURN_MIN);
    // The k-th of `of` equal shares of a whole number, in whole numbers.
    let share = |whole: usize, of: usize, k: usize| (k + 1) * whole / of - k * whole / of;
    let mut before = 0;
    (0..sessions)
        .map(|session| {
            if share(lit, sessions, session) == 0 {
                return 0;
            }
            before += 1;
            share(whole, lit, before - 1)
        })
        .collect()
}

/// A minute is fine enough.
fn round(hours: f64) -> f64 {
    (hours * 60.0).round() / 60.0
}

/// `appliances` and `timetable` of a scenario.
pub(super) struct Uses {
    pub(super) appliances: Value,
    pub(super) timetable: Vec<Value>,
    /// When it is used.
    pub(super) sessions: Sessions,
    /// Months in which it is used.
    pub(super) months: [bool; MONTHS],
    /// Burners that are lit at once; 1 for anything else.
    pub(super) burners: f64,
    /// Of these, as many as one line of the timetable stands for.
    pub(super) a_line: f64,
}

/// Months in which gas is wanted: those of the wish; for a mass to treat, which asks for no gas, those in which it is fed.
pub(super) fn used_in(wish: &Wish, tried: &Tried) -> [bool; MONTHS] {
    let fed: [bool; MONTHS] = std::array::from_fn(|m| {
        tried
            .months
            .get(m)
            .is_some_and(|row| row.feed.kg_per_day > 0.0)
    });
    match wish.target {
        Target::Treat(_) if fed.contains(&true) => fed,
        Target::Treat(_) => [true; MONTHS],
        _ => wish.months,
    }
}

/// Uses that take all the gas there is whenever the pauses of the wish end: what the store must hold shows.
///
/// It is used all year, so that no month of those that count begins with a store that is full from before.
pub(super) fn all_of_it(wish: &Wish, tried: &Tried) -> Uses {
    let sessions = Sessions::with_pause(wish.hours_without_use, SESSION_H);
    Uses {
        appliances: json!({"all": {"burner": {"power_kw": MOST_KW.0}}}),
        timetable: sessions.lines("all", SESSION_H, &[true; MONTHS]),
        sessions,
        months: used_in(wish, tried),
        burners: 1.0,
        a_line: 1.0,
    }
}

/// Uses that ask for the wish and no more. For a mass to treat, which asks for no gas, burners that take the mean of the
/// months in which it is fed.
pub(super) fn as_wished(wish: &Wish, tried: &Tried) -> Uses {
    let burner_kw = use_table().burner.power_kw.typical();
    let months = used_in(wish, tried);
    let daily = match wish.target {
        Target::BurnerHours(hours) => hours * burner_kw,
        Target::WinterHeat(kwh) => kwh / rules().boiler_share.value / wish.winter_days(),
        Target::WinterCurrent(kwh) => kwh / wish.winter_days(),
        Target::Treat(_) => {
            let used = tried.months.iter().filter(|row| months[row.month - 1]);
            let net: Vec<f64> = used.map(|row| row.net_kwh_d.max(0.0)).collect();
            net.iter().sum::<f64>() / net.len().max(1) as f64
        }
    };
    match wish.target {
        Target::BurnerHours(_) | Target::Treat(_) => {
            let sessions = Sessions::with_pause(wish.hours_without_use, SESSION_H);
            let each_kwh = daily * WEEK_D / sessions.a_week();
            // One burner as long as it can, then more of them.
            let longest = LONGEST_BURN_H.min(DAY_H / sessions.from_h.len() as f64);
            let burners = (each_kwh / (burner_kw * longest)).ceil().max(1.0);
            let burners = burners.min(MOST_KW.0 / burner_kw);
            let each_h = (each_kwh / (burners * burner_kw)).min(longest);
            let week_min = HOUR_MIN * sessions.a_week() * each_h;
            lit(burners, burner_kw, week_min, sessions, months)
        }
        Target::WinterHeat(_) => {
            let sessions = Sessions::with_pause(wish.hours_without_use, SESSION_H);
            let each_kwh = daily * WEEK_D / sessions.a_week();
            let hours = (each_kwh / MOST_KW.0).max(SESSION_H.min(DAY_H / sessions.a_week()));
            let kw = (each_kwh / hours).clamp(1e-3, MOST_KW.0);
            let boiler =
                json!({"burner": {"power_kw": kw, "efficiency": rules().boiler_share.value}});
            uses("boiler", boiler, sessions, hours.min(DAY_H), months)
        }
        Target::WinterCurrent(_) => {
            let sessions = Sessions::with_pause(wish.hours_without_use, SESSION_H);
            let each_kwh = daily * WEEK_D / sessions.a_week();
            // The set whose full load on this gas makes a session's current within the hour.
            let gas = tried
                .months
                .iter()
                .fold(Portion::default(), |sum, m| sum.plus(m.gas));
            let of_plate = EngineSettings::of(EngineKind::Piston, 1.0)
                .most_kw(&gas)
                .max(0.05);
            let hours = SESSION_H.max(each_kwh / (MOST_KW.1 * of_plate));
            let rated_kw = (each_kwh / hours / of_plate).clamp(1e-3, MOST_KW.1);
            let engine = json!({"engine": {"rated_kw": rated_kw}});
            uses("engine", engine, sessions, hours.min(DAY_H), months)
        }
    }
}

fn uses(
    name: &str,
    appliance: Value,
    sessions: Sessions,
    hours: f64,
    months: [bool; MONTHS],
) -> Uses {
    Uses {
        timetable: sessions.lines(name, hours, &months),
        appliances: json!({name: appliance}),
        sessions,
        months,
        burners: 1.0,
        a_line: 1.0,
    }
}

/// Burners lit together for so many minutes of a week, each with lines of its own, so that an hour of two counts as two;
/// in one line where they are too many for that.
fn lit(
    burners: f64,
    burner_kw: f64,
    week_min: f64,
    sessions: Sessions,
    months: [bool; MONTHS],
) -> Uses {
    let lines = |name: &str| sessions.lines_of(name, week_min, &months);
    let one = json!({"burner": {"power_kw": burner_kw}});
    let (mut appliances, mut timetable) = (Map::new(), Vec::new());
    let mut a_line = 1.0;
    if burners <= 1.0 {
        timetable = lines("burner");
        appliances.insert("burner".to_owned(), one);
    } else if burners * lines("").len() as f64 <= MOST_LINES as f64 && burners.fract() == 0.0 {
        let mut number = 1.0;
        while number <= burners {
            let name = format!("burner {number:.0}");
            timetable.extend(lines(&name));
            appliances.insert(name, one.clone());
            number += 1.0;
        }
    } else {
        let name = format!("{burners:.0} burners");
        timetable = lines(&name);
        appliances.insert(name, json!({"burner": {"power_kw": burners * burner_kw}}));
        a_line = burners;
    }
    Uses {
        appliances: Value::Object(appliances),
        timetable,
        sessions,
        months,
        burners,
        a_line,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Longest pause of a week without use, by walking through its minutes.
    fn longest_pause(sessions: &Sessions, long_h: f64) -> f64 {
        let minutes = 2 * 7 * 24 * 60;
        let days: Vec<usize> = (0..7).step_by(sessions.each_days).collect();
        let used = |minute: i64| {
            (-1..14).any(|day: i64| {
                let on = days.contains(&(day.rem_euclid(7) as usize));
                on && sessions.from_h.iter().any(|from| {
                    let begin = day as f64 * 1440.0 + from * 60.0;
                    (minute as f64) + 0.5 > begin && (minute as f64) < begin + long_h * 60.0 - 0.5
                })
            })
        };
        let (mut longest, mut now) = (0_i64, 0_i64);
        for minute in 0..minutes {
            now = if used(minute) { 0 } else { now + 1 };
            longest = longest.max(now);
        }
        longest as f64 / 60.0
    }

    #[test]
    fn minutes_of_a_week_are_whole_and_none_is_shorter_than_five() {
        for sessions in [1, 3, 7, 14, 28] {
            for week in [0.0, 4.2, 5.0, 21.0, 30.66, 63.0, 126.0, 1000.4] {
                let all = spread(week, sessions);
                assert_eq!(all.len(), sessions);
                assert!(all.iter().all(|m| *m == 0 || *m >= 5), "{all:?}");
                let sum: usize = all.iter().sum();
                let off = (sum as f64 - week.max(5.0)).abs();
                assert!(off <= (EVEN * week).max(0.5), "{week}: {all:?}");
                let lit = || all.iter().filter(|m| **m > 0);
                let (least, most) = (lit().min().unwrap(), lit().max().unwrap());
                assert!(most - least <= 1, "{all:?}");
            }
        }
        // 0.073 h twice a day are an hour of a week and 1.3 minutes: eleven and a bit of five minutes.
        let sessions = Sessions::with_pause(14.0, 1.0);
        assert_eq!(sessions.a_week(), 14.0);
        let lines = sessions.lines_of("burner", 14.0 * 0.073 * 60.0, &[true; MONTHS]);
        let hours = |line: &Value| {
            let days = line["weekdays"].as_array().map_or(7, Vec::len);
            (line["hours"].as_f64().unwrap(), days as f64)
        };
        assert!(lines.iter().all(|line| hours(line).0 >= 5.0 / 60.0));
        let week: f64 = lines.iter().map(|line| hours(line).0 * hours(line).1).sum();
        assert!((week * 60.0 - 61.0).abs() < 1e-9, "{week} {lines:?}");
    }

    #[test]
    fn the_longest_pause_is_that_of_the_wish() {
        for pause in [1.0, 2.5, 6.0, 10.0, 14.0, 20.0, 23.0] {
            let found = longest_pause(&Sessions::with_pause(pause, 1.0), 1.0);
            assert!((found - pause).abs() < 0.06, "{pause}: {found}");
        }
        for (pause, most) in [(24.0, 24.0), (50.0, 48.0), (168.0, 168.0)] {
            let found = longest_pause(&Sessions::with_pause(pause, 1.0), 1.0);
            assert!(found <= most && found > most - 2.0, "{pause}: {found}");
        }
    }
}
