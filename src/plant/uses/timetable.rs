//! The timetable of the week and the year: who wants gas when, and who gets it.

use serde::{Deserialize, Serialize};

use crate::plant::stream::Portion;
use crate::plant::{PlantFault, above_zero, within};

use super::appliance::{Appliance, Refusal};

const HOURS_PER_DAY: f64 = 24.0;

/// An appliance with its name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NamedAppliance {
    /// Name, by which the timetable calls it.
    pub name: String,
    /// What it is.
    pub appliance: Appliance,
}

/// One line of the timetable.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Demand {
    /// Name of the appliance.
    pub appliance: String,
    /// Monday to Sunday.
    pub weekdays: [bool; 7],
    /// January to December.
    pub months: [bool; 12],
    /// When it begins \[h after midnight\], 0 to 24.
    pub from_h: f64,
    /// How long it lasts \[h\]; above 0, up to 24; it may run past midnight.
    pub hours: f64,
    /// Share of full power. Above 0, up to 1.
    pub load_share: f64,
    /// Who is served first when gas is short: 1 before 2.
    pub priority: u32,
}

/// An hour of the week and of the year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clock {
    /// 0 Monday to 6 Sunday.
    pub weekday: usize,
    /// Its beginning \[h after midnight\].
    pub hour_h: f64,
    /// Month of this day and of the day before, 0 January to 11; `None` where no date is known, and all months count.
    pub months: Option<[usize; 2]>,
}

impl Clock {
    /// An hour of a week of no known month.
    #[must_use]
    pub const fn of_week(weekday: usize, hour_h: f64) -> Self {
        Self {
            weekday,
            hour_h,
            months: None,
        }
    }
}

impl Demand {
    /// Hours of this demand within the hour that begins at `clock`. What runs past midnight belongs to the day, and to
    /// the month, in which it began.
    #[must_use]
    pub fn within_hour(&self, clock: &Clock) -> f64 {
        let hour_h = clock.hour_h;
        let overlap = |begin: f64| {
            let from = hour_h.max(begin);
            let to = (hour_h + 1.0).min(begin + self.hours);
            (to - from).max(0.0)
        };
        let on = |day: usize, back: usize| {
            let month = clock.months.map(|months| months[back]);
            self.weekdays.get(day % 7).copied().unwrap_or(false)
                && month.is_none_or(|m| self.months.get(m).copied().unwrap_or(false))
        };
        let today = if on(clock.weekday, 0) {
            overlap(self.from_h)
        } else {
            0.0
        };
        let night = if on(clock.weekday + 6, 1) {
            overlap(self.from_h - HOURS_PER_DAY)
        } else {
            0.0
        };
        today + night
    }
}

/// What is wrong with a timetable.
///
/// # Errors
/// [`PlantFault`] for a value out of range, an unknown appliance, two of one name.
pub fn check_demands(appliances: &[NamedAppliance], demands: &[Demand]) -> Result<(), PlantFault> {
    for (i, named) in appliances.iter().enumerate() {
        named
            .appliance
            .check(&format!("appliances[{i}] ({})", named.name))?;
        if appliances[..i].iter().any(|other| other.name == named.name) {
            return Err(PlantFault::Unfit {
                field: format!("appliances[{i}].name"),
                why: format!("there are two appliances named {}", named.name),
                mend: "Give each its own name.".into(),
            });
        }
    }
    for (i, demand) in demands.iter().enumerate() {
        let at = |name: &str| format!("demands[{i}].{name}");
        within(
            &at("from_h"),
            demand.from_h,
            (0.0, HOURS_PER_DAY),
            "h",
            "18.5 is half past six.",
        )?;
        above_zero(
            &at("hours"),
            demand.hours,
            HOURS_PER_DAY,
            "h",
            "A whole day is 24.",
        )?;
        above_zero(
            &at("load_share"),
            demand.load_share,
            1.0,
            "",
            "Full power is 1.",
        )?;
        if !appliances
            .iter()
            .any(|named| named.name == demand.appliance)
        {
            let names: Vec<&str> = appliances.iter().map(|named| named.name.as_str()).collect();
            return Err(PlantFault::Unfit {
                field: at("appliance"),
                why: format!("there is no appliance named {}", demand.appliance),
                mend: format!("Use one of: {}.", names.join(", ")),
            });
        }
    }
    Ok(())
}

/// What one demand got in one hour.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Served {
    /// Wanted \[h\].
    pub wanted_h: f64,
    /// Served \[h\].
    pub served_h: f64,
    /// Not served for want of gas \[h\].
    pub short_h: f64,
    /// Not served because the gas does not burn \[h\].
    pub no_flame_h: f64,
    /// Not served because the engine refuses the gas \[h\].
    pub refused_h: f64,
    /// Gas drawn \[dry norm litres\].
    pub gas_nl: f64,
    /// Heat that was used \[kWh\].
    pub heat_kwh: f64,
    /// Current \[kWh\].
    pub electric_kwh: f64,
}

/// Shares the drawable gas of one hour among the demands by priority; equal ones in the order of the timetable.
///
/// A demand that finds too little runs for a part of its time. The demands must have passed [`check_demands`].
#[must_use]
pub fn serve(
    appliances: &[NamedAppliance],
    demands: &[Demand],
    clock: &Clock,
    drawable: &Portion,
) -> Vec<Served> {
    let mut left_nl = drawable.dry_nl();
    let energy_per_nl = if left_nl > 0.0 {
        drawable.dry().energy_kwh() / left_nl
    } else {
        0.0
    };
    let mut order: Vec<usize> = (0..demands.len()).collect();
    order.sort_by_key(|&i| demands[i].priority);
    let mut result = vec![Served::default(); demands.len()];
    for i in order {
        let demand = &demands[i];
        let wanted_h = demand.within_hour(clock);
        let appliance = appliances
            .iter()
            .find(|named| named.name == demand.appliance);
        let (Some(named), true) = (appliance, wanted_h > 0.0) else {
            continue;
        };
        let mut served = Served {
            wanted_h,
            ..Served::default()
        };
        if energy_per_nl > 0.0 {
            match named.appliance.draw(drawable, demand.load_share) {
                Ok(draw) => {
                    let need_nl = draw.fuel_kw * wanted_h / energy_per_nl;
                    let share = if need_nl > left_nl {
                        left_nl / need_nl
                    } else {
                        1.0
                    };
                    served.gas_nl = need_nl * share;
                    left_nl = (left_nl - served.gas_nl).max(0.0);
                    served.served_h = wanted_h * share;
                    served.short_h = wanted_h - served.served_h;
                    served.heat_kwh = draw.heat_kw * served.served_h;
                    served.electric_kwh = draw.electric_kw * served.served_h;
                }
                Err(Refusal::NoFlame) => served.no_flame_h = wanted_h,
                Err(Refusal::TooLean) => served.refused_h = wanted_h,
            }
        } else if left_nl > 0.0 {
            served.no_flame_h = wanted_h;
        } else {
            served.short_h = wanted_h;
        }
        result[i] = served;
    }
    result
}
