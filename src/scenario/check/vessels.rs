//! Checks of the vessels.

use std::path::Path;

use super::Checker;
use crate::case::{TemperatureCourse, Vessel};
use crate::scenario::address::Address;
use crate::scenario::calendar::Calendar;
use crate::scenario::limits::{
    GAS_TRANSFER, HEADSPACE_L, HELD_BACK_PCT, LEAK_L_PER_D, LIQUID_L, MOST_VESSELS,
    SHORT_CIRCUIT_PCT,
};
use crate::scenario::problem::shown;
use crate::scenario::schema::{RawScenario, RawStirring, RawTemperature, RawVessel};
use crate::scenario::{heat, temperature};
use crate::thermal::Weather;
use crate::units::{GIVEN_DIGITS, repeated, told};

const L_PER_M3: f64 = 1000.0;
const PERCENT: f64 = 100.0;
/// Least gas space for each volume of liquid: a tenth of a millimetre on a metre of liquor. Assumption of this project.
const LEAST_HEADSPACE: f64 = 1e-4;
/// Gas transfer coefficient by stirring \[1/d\]. Assumption of this project: 200 is the stirred plant of Rosen and
/// Jeppsson 2006, and a still drum lies an order below it.
const TRANSFER: [(RawStirring, f64); 3] = [
    (RawStirring::None, 20.0),
    (RawStirring::Daily, 60.0),
    (RawStirring::Steady, 200.0),
];

/// All vessels, in the order of the flow.
pub(crate) fn check(
    checker: &mut Checker,
    raw: &RawScenario,
    calendar: &Calendar,
    folder: Option<&Path>,
    weather: Option<&Weather>,
) -> Vec<Vessel> {
    let at = Address::default().key("vessels");
    let Some(list) = &raw.vessels else {
        checker.missing(&at, "Describe at least one vessel in [ ].");
        return Vec::new();
    };
    if list.is_empty() {
        checker.wrong(&at, "There is no vessel.", "Describe at least one.");
    }
    if !checker.is_short(&at, list.len(), MOST_VESSELS) {
        return Vec::new();
    }
    let mut vessels: Vec<Vessel> = Vec::new();
    for (i, raw) in list.iter().enumerate() {
        let at = at.index(i);
        let vessel = vessel(
            checker,
            &at,
            raw,
            i,
            &Place {
                calendar,
                folder,
                weather,
            },
        );
        if vessels.iter().any(|other| other.name == vessel.name) {
            checker.wrong_value(
                &at.key("name"),
                format!("\"{}\"", shown(&vessel.name)),
                "Another vessel has that name.",
                "Give every vessel its own.",
            );
        }
        vessels.push(vessel);
    }
    vessels
}

/// What a vessel's temperature may need to know.
struct Place<'a> {
    calendar: &'a Calendar,
    folder: Option<&'a Path>,
    weather: Option<&'a Weather>,
}

fn vessel(
    checker: &mut Checker,
    at: &Address,
    raw: &RawVessel,
    place: usize,
    place_of: &Place<'_>,
) -> Vessel {
    let name = match &raw.name {
        Some(name) => checker.name(&at.key("name"), Some(name)),
        None => format!("vessel {}", place + 1),
    };
    let liquid_m3 = checker.required(&at.key("liquid_l"), raw.liquid_l, &LIQUID_L) / L_PER_M3;
    let headspace_m3 =
        checker.required(&at.key("headspace_l"), raw.headspace_l, &HEADSPACE_L) / L_PER_M3;
    let least_m3 = LEAST_HEADSPACE * liquid_m3;
    if headspace_m3 < least_m3 {
        checker.outside(
            &at.key("headspace_l"),
            repeated(headspace_m3 * L_PER_M3),
            format!("at least {} L", told(least_m3 * L_PER_M3, GIVEN_DIGITS)),
            "No vessel of that size is that full: its liquor swells by more with every bubble in it, and there has to be \
             some gas for the pressure to be that of a gas.",
            "Enlarge it, or give the vessel less liquid.",
        );
    }
    let warmth_at = at.key("temperature");
    let Place {
        calendar,
        folder,
        weather,
    } = *place_of;
    let heat = match &raw.temperature {
        Some(RawTemperature::Heat(raw)) => {
            let at = warmth_at.key("heat");
            heat::check(
                checker,
                &at,
                raw,
                weather,
                calendar,
                liquid_m3 + headspace_m3,
            )
        }
        _ => None,
    };
    let temperature = match (&heat, &raw.temperature) {
        (Some(heat), _) => {
            let days = calendar.days().unwrap_or_default();
            let course = heat::first_course(checker, &warmth_at, heat, liquid_m3, days);
            TemperatureCourse::Table(course)
        }
        // Its problems are noted already.
        (None, Some(RawTemperature::Heat(_))) => TemperatureCourse::Constant(f64::NAN),
        (None, raw) => temperature::check(checker, &warmth_at, raw.as_ref(), calendar, folder),
    };
    Vessel {
        name,
        liquid_m3,
        headspace_m3,
        temperature,
        heat,
        kla_per_d: gas_transfer(checker, at, raw),
        solids_held_back: checker.optional(
            &at.key("solids_held_back_pct"),
            raw.solids_held_back_pct,
            0.0,
            &HELD_BACK_PCT,
        ) / PERCENT,
        short_circuit: checker.optional(
            &at.key("short_circuit_pct"),
            raw.short_circuit_pct,
            0.0,
            &SHORT_CIRCUIT_PCT,
        ) / PERCENT,
        leak_m3_per_d: checker.optional(
            &at.key("leak_l_per_d"),
            raw.leak_l_per_d,
            0.0,
            &LEAK_L_PER_D,
        ) / L_PER_M3,
    }
}

fn gas_transfer(checker: &mut Checker, at: &Address, raw: &RawVessel) -> f64 {
    let key = at.key("gas_transfer_per_d");
    if raw.stirring.is_some() && raw.gas_transfer_per_d.is_some() {
        checker.wrong(
            &key,
            "\"stirring\" and \"gas_transfer_per_d\" say the same thing twice.",
            "Keep one of the two.",
        );
    }
    let stirring = raw.stirring.unwrap_or(RawStirring::Daily);
    let of_stirring = TRANSFER
        .iter()
        .find(|(kind, _)| *kind == stirring)
        .map_or(TRANSFER[1].1, |(_, kla)| *kla);
    checker.optional(&key, raw.gas_transfer_per_d, of_stirring, &GAS_TRANSFER)
}
