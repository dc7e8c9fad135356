//! When the gas is used: sessions that leave the pauses of the wish, and the appliance that serves it.

use serde_json::{Value, json};

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
        let line = |from_h: &f64| {
            let mut line =
                json!({"appliance": appliance, "from_h": round(*from_h), "hours": hours});
            if self.each_days > 1 {
                line["weekdays"] = json!(self.weekdays());
            }
            if !months.iter().all(|m| *m) {
                let on = (0..MONTHS).filter(|m| months[*m]);
                line["months"] = on.map(|m| MONTHS_OF_YEAR[m].to_lowercase()).collect();
            }
            line
        };
        self.from_h.iter().map(line).collect()
    }
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
    /// Burners that are lit at once; 1 for anything else.
    pub(super) burners: f64,
}

/// Uses that take all the gas there is whenever the pauses of the wish end: what the store must hold shows.
pub(super) fn all_of_it(wish: &Wish) -> Uses {
    let sessions = Sessions::with_pause(wish.hours_without_use, SESSION_H);
    Uses {
        appliances: json!({"all": {"burner": {"power_kw": MOST_KW.0}}}),
        timetable: sessions.lines("all", SESSION_H, &[true; MONTHS]),
        sessions,
        burners: 1.0,
    }
}

/// Uses that ask for the wish and no more. For a mass to treat, which asks for no gas, burners that take the mean of the
/// year.
pub(super) fn as_wished(wish: &Wish, tried: &Tried) -> Uses {
    let burner_kw = use_table().burner.power_kw.typical();
    let daily = match wish.target {
        Target::BurnerHours(hours) => hours * burner_kw,
        Target::WinterHeat(kwh) => kwh / rules().boiler_share.value / wish.winter_days(),
        Target::WinterCurrent(kwh) => kwh / wish.winter_days(),
        Target::Treat(_) => {
            let net = tried.months.iter().map(|m| m.net_kwh_d.max(0.0));
            net.sum::<f64>() / tried.months.len().max(1) as f64
        }
    };
    // A mass to treat asks for no gas, so its gas is there to be used all year.
    let months = match wish.target {
        Target::Treat(_) => [true; MONTHS],
        _ => wish.months,
    };
    match wish.target {
        Target::BurnerHours(_) | Target::Treat(_) => {
            let sessions = Sessions::with_pause(wish.hours_without_use, SESSION_H);
            let each_kwh = daily * WEEK_D / sessions.a_week();
            // One burner as long as it can, then more of them.
            let longest = LONGEST_BURN_H.min(DAY_H / sessions.from_h.len() as f64);
            let burners = (each_kwh / (burner_kw * longest)).ceil().max(1.0);
            let power_kw = (burners * burner_kw).min(MOST_KW.0);
            let hours = (each_kwh / power_kw).clamp(1.0 / 60.0, longest);
            // Shorter than a burner's own power would ask only where that much is not there.
            let name = if burners > 1.0 {
                format!("{burners:.0} burners")
            } else {
                "burner".to_owned()
            };
            Uses {
                burners: power_kw / burner_kw,
                ..uses(
                    &name,
                    json!({"burner": {"power_kw": power_kw}}),
                    sessions,
                    hours,
                    &months,
                )
            }
        }
        Target::WinterHeat(_) => {
            let sessions = Sessions::with_pause(wish.hours_without_use, SESSION_H);
            let each_kwh = daily * WEEK_D / sessions.a_week();
            let hours = (each_kwh / MOST_KW.0).max(SESSION_H.min(DAY_H / sessions.a_week()));
            let kw = (each_kwh / hours).clamp(1e-3, MOST_KW.0);
            let boiler =
                json!({"burner": {"power_kw": kw, "efficiency": rules().boiler_share.value}});
            uses("boiler", boiler, sessions, hours.min(DAY_H), &months)
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
            uses("engine", engine, sessions, hours.min(DAY_H), &months)
        }
    }
}

fn uses(
    name: &str,
    appliance: Value,
    sessions: Sessions,
    hours: f64,
    months: &[bool; MONTHS],
) -> Uses {
    Uses {
        timetable: sessions.lines(name, hours, months),
        appliances: json!({name: appliance}),
        sessions,
        burners: 1.0,
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
