//! Appliances, timetable, flare.

use super::{Desk, name, within};
use crate::plant::PlantFault;
use crate::plant::uses::{
    Appliance, BurnerSettings, Demand, EngineKind, EngineSettings, FlareSettings, LampSettings,
    NamedAppliance, check_demands, use_table,
};
use crate::scenario::address::Address;
use crate::scenario::calendar::Calendar;
use crate::scenario::limits::Limit;
use crate::scenario::months::months;
use crate::scenario::near::nearest;
use crate::scenario::schema::{
    RawAppliance, RawDemand, RawEngine, RawEngineKind, RawFlare, RawWeekday,
};

/// Most appliances, and most lines of the timetable: every hour asks each.
const MOST_APPLIANCES: usize = 50;
const MOST_DEMANDS: usize = 100;
/// Priority: a rank.
const PRIORITY: Limit = Limit::new(
    1.0,
    1000.0,
    "",
    "It is a rank: 1 is served before 2; ranks are whole numbers.",
);

/// Checks the appliances.
pub(super) fn appliances(
    desk: &mut Desk<'_>,
    at: &Address,
    raw: &[(String, RawAppliance)],
) -> Vec<NamedAppliance> {
    if !desk.checker.is_short(at, raw.len(), MOST_APPLIANCES) {
        return Vec::new();
    }
    raw.iter()
        .filter_map(|(key, raw)| {
            let at = at.key(key);
            desk.checker.name(&at, Some(key));
            Some(NamedAppliance {
                name: key.clone(),
                appliance: appliance(desk, &at, raw)?,
            })
        })
        .collect()
}

fn appliance(desk: &mut Desk<'_>, at: &Address, raw: &RawAppliance) -> Option<Appliance> {
    let table = use_table();
    let (at, appliance) = match raw {
        RawAppliance::Burner(raw) => {
            let at = at.key("burner");
            let settings = BurnerSettings {
                power_kw: desk.or_figure(&at.key("power_kw"), raw.power_kw, &table.burner.power_kw),
                efficiency: desk.or_figure(
                    &at.key("efficiency"),
                    raw.efficiency,
                    &table.burner.efficiency,
                ),
            };
            (at, Appliance::Burner(settings))
        }
        RawAppliance::Lamp(raw) => {
            let at = at.key("lamp");
            let settings = LampSettings {
                power_kw: desk.or_figure(&at.key("power_kw"), raw.power_kw, &table.lamp.power_kw),
            };
            (at, Appliance::Lamp(settings))
        }
        RawAppliance::Engine(raw) => {
            let at = at.key("engine");
            let settings = engine(desk, &at, raw)?;
            (at, Appliance::Engine(settings))
        }
    };
    desk.pass(appliance.check(&at.to_string()));
    Some(appliance)
}

fn engine(desk: &mut Desk<'_>, at: &Address, raw: &RawEngine) -> Option<EngineSettings> {
    let kind = match raw.kind {
        Some(RawEngineKind::External) => EngineKind::External,
        Some(RawEngineKind::Piston) | None => EngineKind::Piston,
    };
    let row = kind.row();
    let rated_kw = desk.needed(
        &at.key("rated_kw"),
        raw.rated_kw,
        "Give the current on its plate in kilowatts.",
    )?;
    let mut or = |name: &str, given, figure| desk.or_figure(&at.key(name), given, figure);
    Some(EngineSettings {
        kind,
        rated_kw,
        electric_efficiency: or(
            "electric_efficiency",
            raw.electric_efficiency,
            &row.electric_efficiency,
        ),
        idle_share: or("idle_share", raw.idle_share, &row.idle_share),
        heat_share: or("heat_share", raw.heat_share, &row.heat_share),
        loss_per_co2: or("loss_per_co2", raw.loss_per_co2, &row.loss_per_co2),
        power_loss_ch4: or("power_loss_ch4", raw.power_loss_ch4, &row.power_loss_ch4),
        power_loss_per_co2: or(
            "power_loss_per_co2",
            raw.power_loss_per_co2,
            &row.power_loss_per_co2,
        ),
        co2_limit: or("co2_limit", raw.co2_limit, &row.co2_limit),
        h2s_limit_ppm: or("h2s_limit_ppm", raw.h2s_limit_ppm, &row.h2s_limit_ppm),
    })
}

/// Checks the flare.
pub(super) fn flare(desk: &mut Desk<'_>, at: &Address, raw: &RawFlare) -> FlareSettings {
    let settings = FlareSettings {
        power_kw: desk.or_figure(
            &at.key("power_kw"),
            raw.power_kw,
            &use_table().flare.power_kw,
        ),
    };
    desk.pass(settings.check(&at.to_string()));
    settings
}

/// Checks the timetable.
pub(super) fn demands(
    desk: &mut Desk<'_>,
    at: &Address,
    raw: Option<&[RawDemand]>,
    known: (&[(String, RawAppliance)], &[NamedAppliance]),
    calendar: &Calendar,
) -> Vec<Demand> {
    let raw = raw.unwrap_or_default();
    if !desk.checker.is_short(at, raw.len(), MOST_DEMANDS) {
        return Vec::new();
    }
    raw.iter()
        .enumerate()
        .filter_map(|(i, raw)| demand(desk, &at.index(i), raw, known, calendar))
        .collect()
}

fn demand(
    desk: &mut Desk<'_>,
    at: &Address,
    raw: &RawDemand,
    (named, appliances): (&[(String, RawAppliance)], &[NamedAppliance]),
    calendar: &Calendar,
) -> Option<Demand> {
    let from_h = desk.needed(
        &at.key("from_h"),
        raw.from_h,
        "Give the hour at which it begins.",
    );
    let hours = desk.needed(&at.key("hours"), raw.hours, "Give how many hours it lasts.");
    let priority = match raw.priority {
        Some(rank) if rank.fract() != 0.0 => {
            desk.checker.outside(
                &at.key("priority"),
                rank,
                PRIORITY.allowed(),
                PRIORITY.why,
                "",
            );
            1.0
        }
        rank => desk
            .checker
            .optional(&at.key("priority"), rank, 1.0, &PRIORITY),
    };
    let appliance = known(desk, at, raw.appliance.as_deref(), named);
    let months_at = at.key("months");
    let months = months(desk.checker, &months_at, raw.months.as_deref());
    if raw.months.is_some() && calendar.start().is_none() {
        calendar.need_start(desk.checker, &months_at);
    }
    let demand = Demand {
        appliance: appliance?,
        weekdays: weekdays(desk, at, raw.weekdays.as_deref()),
        months,
        from_h: from_h?,
        hours: hours?,
        load_share: raw.load_share.unwrap_or(1.0),
        // Whole and at most 1000 by the limit; 0 after a problem.
        priority: priority as u32,
    };
    if let Err(fault) = check_demands(appliances, std::slice::from_ref(&demand)) {
        // The appliances have been looked at on their own, and so has their name.
        match &fault {
            PlantFault::OutOfRange { field, .. } | PlantFault::Unfit { field, .. }
                if field.starts_with("demands[0].") && field != "demands[0].appliance" =>
            {
                desk.tell(within(renamed(fault), at));
            }
            _ => {}
        }
    }
    Some(demand)
}

/// The fault with its field named without the list.
fn renamed(fault: PlantFault) -> PlantFault {
    fault.renamed(|field| field.trim_start_matches("demands[0].").to_owned())
}

fn known(
    desk: &mut Desk<'_>,
    at: &Address,
    given: Option<&str>,
    named: &[(String, RawAppliance)],
) -> Option<String> {
    let at = at.key("appliance");
    // One that is named and does not hold is told at its own place, not again wherever it is called.
    let names = || named.iter().map(|(name, _)| name.as_str());
    let Some(given) = given else {
        desk.checker
            .missing(&at, "Name an appliance of \"plant.appliances\".");
        return None;
    };
    if names().any(|known| known == given) {
        return Some(given.to_owned());
    }
    let near = nearest(given, names()).map(name);
    desk.checker
        .unknown(&at, given, "appliance", near.as_deref(), names());
    None
}

fn weekdays(desk: &mut Desk<'_>, at: &Address, given: Option<&[RawWeekday]>) -> [bool; 7] {
    let Some(given) = given else {
        return [true; 7];
    };
    if given.is_empty() {
        desk.checker.wrong(
            &at.key("weekdays"),
            "This list is empty.",
            "Name some days, or leave it out for every day.",
        );
    }
    let order = [
        RawWeekday::Mon,
        RawWeekday::Tue,
        RawWeekday::Wed,
        RawWeekday::Thu,
        RawWeekday::Fri,
        RawWeekday::Sat,
        RawWeekday::Sun,
    ];
    let daily = given.contains(&RawWeekday::Daily);
    order.map(|day| daily || given.contains(&day))
}
